"""Rings, figures used too early, hazards not ended: the exact words and place of each fault."""

from __future__ import annotations

import pytest
from faulty import HEAD, Expected, assert_faults, examined, good

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "cycle": (
        """
steps:
  a: {after: ▸c, say: A b.}
  b: {after: a, say: A b.}
  c: {after: b, say: A b.}
  d: {after: c, say: A b.}
""",
        [
            (
                "these steps wait for each other and can't be reached: a → c → b → a",
                'Take one of them out of "after" or "needs".',
            ),
        ],
    ),
    "cycle of one": (
        """
steps:
  a: {after: ▸a, say: A b.}
""",
        [
            ('step "a" waits for itself', "Take it out."),
        ],
    ),
    "checks that need each other": (
        """
readings:
  x: {ask: X, likely: 0 in to 1 in}
  y: {ask: Y, likely: 0 in to 1 in}
steps:
  a: {needs: ▸b, take: x, within: 0 in to 1 in}
  b: {needs: a, take: y, within: 0 in to 1 in}
""",
        [
            (
                "these steps wait for each other and can't be reached: a → b → a",
                'Take one of them out of "after" or "needs".',
            ),
        ],
    ),
    "too early": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
worked:
  w: gap + 1 in
steps:
  a: {take: gap}
  b: {say: 'Trim it to ▸{w}.'}
""",
        [
            (
                (
                    'step "b" uses "w", which needs the reading "gap", and nothing keeps it behind "a", '
                    "where that is taken"
                ),
                'Add "a" to "after" of "b".',
            ),
        ],
    ),
    "taken later": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  b: {say: 'Trim it to ▸{gap}.'}
  a: {after: b, take: gap}
""",
        [
            ('step "b" uses "gap", taken only later, at "a"', "Take the reading in an earlier step."),
        ],
    ),
    "within too early": (
        """
readings:
  x: {ask: X, likely: 0 in to 1 in}
  y: {ask: Y, likely: 0 in to 1 in}
steps:
  a: {take: x}
  b: {take: y, within: 0 in to ▸x}
""",
        [
            ('step "b" uses "x", and nothing keeps it behind "a", where that is taken', 'Add "a" to "after" of "b".'),
        ],
    ),
    "own reading": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  a: {take: gap, within: 0 in to ▸gap}
""",
        [
            ('step "a" uses "gap" in "within" before it has taken it', "Use what an earlier step has taken."),
        ],
    ),
    "never secured": (
        """
make-safe: {open: {say: Shut it.}}
steps:
  a: {say: Do it., leaves: ▸open}
""",
        [
            ('step "a" leaves "open", and no step secures it', 'Add "secures: open" to the step that ends it.'),
        ],
    ),
    "never left": (
        """
make-safe: {open: {say: Shut it.}}
steps:
  a: {say: Do it., secures: ▸open}
""",
        [
            (
                'step "a" secures "open", which no step leaves',
                'Add "leaves: open" to the step that leaves it, or take it out.',
            ),
        ],
    ),
    "secured early": (
        """
make-safe: {open: {say: Shut it.}}
steps:
  a: {say: Do it., leaves: open}
  b: {say: Shut it., secures: ▸open}
""",
        [
            ('step "b" secures "open", and nothing keeps it behind "a", which leaves it', 'Add "a" to "after" of "b".'),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])


def test_a_reading_may_be_used_far_behind_the_step_that_takes_it() -> None:
    text = """
readings: {x: {ask: X, likely: 0 in to 1 in}, y: {ask: Y, likely: 0 in to 2 * x}}
worked: {twice: 2 * x}
steps:
  a: {take: x}
  b: {after: a, say: A b.}
  c: {after: b, take: y, within: 0 in to twice, watches: [s], out: {say: "It is {y} and not {x}."}}
  d: {after: c, say: "It was {x}.", disturbs: [s]}
"""
    assert good(text).used_by == {"x": ("c", "d"), "y": ("c",)}


def test_likely_is_known_before_the_reading_is_taken() -> None:
    text = "readings: {x: {ask: X, likely: 0 in to 1 in}, y: {ask: Y, likely: 0 in to x}}\n"
    _, faults, _ = examined(HEAD + text + "steps: {a: {take: x}, b: {take: y}}\n")
    assert [fault.message for fault in faults] == [
        'step "b" uses "x", and nothing keeps it behind "a", where that is taken'
    ]
    _, faults, _ = examined(HEAD + text.replace("to x}", "to y}") + "steps: {a: {take: x}, b: {take: y}}\n")
    assert [fault.message for fault in faults] == ['step "b" uses "y" in "likely" before it has taken it']


def test_what_could_not_be_read_of_the_links_leads_to_no_further_fault() -> None:
    for after in ("survay", "{a: b}", "[]: x", "*survey"):
        text = f"""
readings: {{x: {{ask: X, likely: 0 in to 1 in}}}}
steps:
  survey: {{take: x}}
  b: {{after: {after}, say: "It is {{x}}."}}
"""
        _, faults, _ = examined(HEAD + text)
        assert len(faults) == 1, [fault.message for fault in faults]
