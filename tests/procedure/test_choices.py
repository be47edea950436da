"""Holes that choices leave: the exact words and place of each fault."""

from __future__ import annotations

import pytest
from faulty import Expected, assert_faults

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "needs switched off": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
readings:
  slope: {ask: Slope}
steps:
  set: {say: Set it., disturbs: [pan], when: {wall: [wood, brick]}}
  slope: {after: set, when: {pan: metal}, take: slope, within: 0 in to 1 in, watches: [pan]}
  bed: {after: set, needs: ▸slope, say: Lay it.}
""",
        [
            (
                'step "bed" needs "slope", which is not in the job when "pan" is "none"',
                'Give "bed" the same "when", and a twin for the rest; or put "slope" in "after".',
            ),
        ],
    ),
    "order lost": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: A b., when: {wall: [wood, brick]}}
  b: {after: a, when: {pan: metal}, say: A b.}
  x: {say: A b.}
  c: {after: [▸b, x], say: A b.}
""",
        [
            (
                (
                    'step "c" comes behind "b", which is not in the job when "pan" is "none"; then '
                    'nothing keeps it behind "a"'
                ),
                'Add "a" to "after" of "c".',
            ),
        ],
    ),
    "nothing before": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: A b., when: {wall: wood}}
  b: {when: {pan: metal}, say: A b.}
  c: {after: ▸a, say: A b.}
""",
        [
            (
                'nothing of what step "c" comes behind ("a") is in the job when "wall" is "brick"',
                'Name in "after" of "c" a step that is in the job then as well.',
            ),
        ],
    ),
    "never together": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: A b., when: {wall: wood}}
  b: {say: A b., when: {pan: metal}}
  c: {after: ▸b, when: {pan: none}, say: A b.}
""",
        [
            (
                'step "c" names "b" in "after", and the two are never in the same job',
                'Take it out of "after", or look at the "when" of both.',
            ),
        ],
    ),
    "reading switched off": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
readings:
  x: {ask: X, likely: 0 in to 1 in}
steps:
  z: {say: A b., when: {wall: wood}}
  a: {take: x, when: {pan: metal}}
  y: {say: A b.}
  b: {after: [a, y], say: 'Trim it to ▸{x}.'}
""",
        [
            (
                'step "b" uses "x", which is not taken when "pan" is "none"',
                'Give "b" the same "when", or take the reading in a step that is always in the job.',
            ),
        ],
    ),
    "reading never together": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
readings:
  x: {ask: X, likely: 0 in to 1 in}
steps:
  z: {say: A b., when: {wall: wood}}
  a: {take: x, when: {pan: metal}}
  b: {say: 'Trim it to ▸{x}.', when: {pan: none}}
""",
        [
            (
                'step "b" uses "x", and the step that takes it is never in the same job',
                'Give "b" the same "when", or take the reading in a step that is always in the job.',
            ),
        ],
    ),
    "hazard switched off": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
make-safe: {open: {say: Shut it.}}
steps:
  z: {say: A b., when: {wall: wood}}
  a: {say: A b., leaves: ▸open}
  b: {after: a, say: A b., secures: open, when: {pan: metal}}
""",
        [
            ('step "a" leaves "open", and no step secures it when "pan" is "none"', "Add a step that ends it then."),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])
