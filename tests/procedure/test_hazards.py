"""Dangers without their caution: the exact words and place of each fault."""

from __future__ import annotations

import pytest
from faulty import Expected, assert_faults

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "no caution": (
        """
cautions: {weight: It is heavy.}
steps:
  a: {say: ▸Cut it to size.}
  b: {say: A b., caution: weight}
""",
        [
            (
                'step "a" tells of cutting ("Cut") and shows no caution',
                'Name one in "caution", or say in "harmless" why it needs none.',
            ),
        ],
    ),
    "crew of two": (
        """
cautions: {edge: It is a sharp blade.}
steps:
  a: {say: A b., crew: ▸2}
  b: {say: A b., caution: edge}
""",
        [
            (
                'step "a" tells of lifting ("crew: 2") and shows no caution',
                'Name one in "caution", or say in "harmless" why it needs none.',
            ),
        ],
    ),
    "correction": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
cautions: {weight: It is heavy.}
steps:
  a: {take: gap, within: 0 in to 1 in, watches: [s], out: {adjust: s, say: ▸Drill a new hole.}}
  b: {after: a, say: A b., caution: weight, disturbs: [s]}
""",
        [
            (
                '"out" of step "a" tells of drilling ("Drill") and shows no caution',
                'Name one in "caution", or say in "harmless" why it needs none.',
            ),
        ],
    ),
    "make safe": (
        """
cautions: {edge: It is a sharp blade.}
make-safe: {open: {say: ▸Lift the sheet over it.}}
steps:
  a: {say: A b., caution: edge, leaves: open}
  b: {after: a, say: A b., secures: open}
""",
        [
            (
                'hazard "open" tells of lifting ("Lift") and shows no caution',
                'Name one in "caution", or say in "harmless" why it needs none.',
            ),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])
