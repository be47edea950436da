"""Checks that are never fresh: the exact words and place of each fault."""

from __future__ import annotations

import pytest
from faulty import Expected, assert_faults, assert_remarks, good

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "watches what it disturbs": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  a: {take: gap, within: 0 in to 1 in, watches: [shelf], disturbs: [▸shelf]}
""",
        [
            (
                'step "a" watches "shelf" and disturbs it each time it is done: it is never fresh',
                'Take it out of "disturbs"; if the correction disturbs it, write "out: {adjust: shelf}".',
            ),
        ],
    ),
    "ring": (
        """
readings:
  x: {ask: X, likely: 0 in to 1 in}
  y: {ask: Y, likely: 0 in to 1 in}
steps:
  a: {take: x, within: 0 in to 1 in, watches: [p], disturbs: [▸q]}
  b: {after: a, take: y, within: 0 in to 1 in, watches: [q], disturbs: [p]}
""",
        [
            (
                "these make each other due again for ever: a → b → a",
                "One of them must not disturb what the next one watches when it is done.",
            ),
        ],
    ),
    "leaves and secures": (
        """
make-safe: {open: {say: Shut it.}}
steps:
  a: {say: A b., leaves: open}
  b: {after: a, say: A b., leaves: ▸open, secures: open}
""",
        [
            ('step "b" leaves "open" and secures it: it is never done', "Another step must end what this one leaves."),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])


REMARKS: dict[str, tuple[str, list[str]]] = {
    "a state that is only watched, and one that is only disturbed": (
        """
readings: {gap: {ask: Gap, likely: 0 in to 1 in}}
steps:
  set: {say: Set it., disturbs: [▸fram]}
  gap: {after: set, take: gap, within: 0 in to 1 in, watches: [▸frame]}
""",
        [
            'no check watches "fram", which is disturbed here',
            'nothing in the file disturbs "frame", which is watched here',
        ],
    ),
    "a state of the table that nobody names": (
        """
states:
  ▸frame: the frame
steps: {a: {say: A b.}}
""",
        ['state "frame" is never used'],
    ),
}


@pytest.mark.parametrize("name", REMARKS)
def test_remark(name: str) -> None:
    assert_remarks(*REMARKS[name])


FRESH_AGAIN = {
    "corrections that disturb each other": """
  a: {take: x, within: 0 in to 1 in, watches: [p], out: {adjust: [p, q]}}
  b: {after: a, take: y, within: 0 in to 1 in, watches: [q], out: {adjust: [p, q]}}
""",
    "a check that disturbs an earlier one": """
  a: {take: x, within: 0 in to 1 in, watches: [p]}
  b: {after: a, take: y, within: 0 in to 1 in, watches: [q], disturbs: [p]}
  c: {needs: [a, b], say: A b., disturbs: [q]}
""",
    "a step that disturbs what it came behind": """
  a: {take: x, within: 0 in to 1 in, watches: [p]}
  b: {needs: a, take: y}
  c: {after: b, needs: a, say: A b., disturbs: [p]}
""",
}


@pytest.mark.parametrize("name", FRESH_AGAIN)
def test_no_fault(name: str) -> None:
    readings = "readings: {x: {ask: X, likely: 0 in to 1 in}, y: {ask: Y, likely: 0 in to 1 in}}\n"
    assert good(f"{readings}steps:{FRESH_AGAIN[name]}")
