"""Keys of a step that do not go together: the exact words and place of each fault."""

from __future__ import annotations

import pytest
from faulty import Expected, assert_faults

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "within without take": (
        """
steps:
  a: {say: Do it., within: ▸0 in to 1 in}
""",
        [
            ('"within" means nothing in step "a": it takes no reading', 'Add "take" with the name of a reading.'),
        ],
    ),
    "within of yes no": (
        """
readings:
  x: {ask: Is it, answer: yes-no, good: yes}
steps:
  a: {take: x, within: ▸0 in to 1 in}
""",
        [
            (
                '"within" means nothing in step "a": the answer of reading "x" is yes-no',
                'Say in the reading which answer is "good".',
            ),
        ],
    ),
    "even of one place": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  a: {take: gap, even: ▸1/8 in}
""",
        [
            (
                '"even" of step "a" has nothing to compare: reading "gap" has one place',
                'Give the reading its places with "at".',
            ),
        ],
    ),
    "watches without a reading": (
        """
steps:
  a: {say: Look at it., watches: ▸[shelf]}
  b: {after: a, say: Do it., disturbs: [shelf]}
""",
        [
            (
                '"watches" means nothing in step "a": it takes no reading',
                'A step that takes a reading takes it again when what it watches was disturbed: add "take".',
            ),
        ],
    ),
    "safety without check": (
        """
steps:
  a: {say: Do it., safety: ▸yes}
""",
        [
            (
                '"safety" means nothing in step "a": it is not a check',
                'A check takes a reading and has "within", "even" or a "good" answer.',
            ),
        ],
    ),
    "needs no check": (
        """
steps:
  a: {say: Do it.}
  b: {needs: ▸a, say: Do that.}
""",
        [
            (
                'step "b" needs "a", which is not a check',
                'Name it in "after"; or give it a reading with "within", "even" or a "good" answer.',
            ),
        ],
    ),
    "plus without middle": (
        """
readings:
  x: {ask: Is it, answer: yes-no, good: yes}
steps:
  a: {take: x, out: {adjust: shelf, say: {plus: ▸Up., minus: Down.}}, watches: [shelf]}
""",
        [
            (
                '"plus" and "minus" of "out" of step "a" are never said: without "within" there is no middle',
                'Write one sentence: "say: …".',
            ),
        ],
    ),
    "by of yes no": (
        """
readings:
  x: {ask: Is it, answer: yes-no, good: yes}
steps:
  a: {take: x, out: {adjust: shelf, say: 'Move it ▸{by}.'}, watches: [shelf]}
""",
        [
            ('"{by}" in "out" of step "a" stays empty: reading "x" is not a number', "Leave it out."),
        ],
    ),
    "place of one": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  a: {take: gap, within: 0 in to 1/8 in, out: {adjust: shelf, say: 'Move ▸{place}.'}, watches: [shelf]}
""",
        [
            (
                '"{place}" in "out" of step "a" stays empty: reading "gap" has one place, without a name',
                "Leave it out.",
            ),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])
