"""Keys of a reading that do not go together: the exact words and place of each fault."""

from __future__ import annotations

import pytest
from faulty import Expected, assert_faults, assert_remarks, good

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "never taken": (
        """
readings:
  ▸gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  a: {say: Do it.}
""",
        [
            ('reading "gap" is never taken', 'Add "take: gap" to a step, or take it out.'),
        ],
    ),
    "taken twice": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  a: {take: gap}
  b: {after: a, take: ▸gap}
""",
        [
            (
                'reading "gap" is taken by step "a" and by step "b"',
                "Give the second a reading of its own; a check that goes stale is taken again by itself.",
            ),
        ],
    ),
    "no likely": (
        """
readings:
  ▸x: {ask: Width}
steps:
  read: {take: x}
""",
        [
            (
                'reading "x" has no "likely", and step "read" takes it without "within"',
                'Say what is likely, such as "likely: 24 in to 120 in": a slip is then asked about.',
            ),
        ],
    ),
    "no likely even": (
        """
readings:
  ▸x: {ask: W, at: [l, r]}
steps:
  a: {take: x, even: 1/8 in}
""",
        [
            (
                'reading "x" has no "likely", and step "a" takes it without "within"',
                'Say what is likely, such as "likely: 24 in to 120 in": a slip is then asked about.',
            ),
        ],
    ),
    "no sign": (
        """
readings:
  x: {ask: Lean, about: ▸plumb, likely: 0 in to 1 in}
steps:
  read: {take: x}
""",
        [
            (
                'reading "x" is about plumb, which has two sides, and has no "sign"',
                'Say what + and − mean: "sign: {plus: …, minus: …}".',
            ),
        ],
    ),
    "below zero without sign": (
        """
readings:
  ▸x: {ask: Lean, likely: -1 in to 1 in}
steps:
  read: {take: x}
""",
        [
            ('reading "x" can be below zero and has no "sign"', 'Say what + and − mean: "sign: {plus: …, minus: …}".'),
        ],
    ),
    "limit below zero without sign": (
        """
readings:
  ▸x: {ask: W}
steps:
  a: {take: x, within: 0 in ± 1/8 in}
""",
        [
            ('reading "x" can be below zero and has no "sign"', 'Say what + and − mean: "sign: {plus: …, minus: …}".'),
        ],
    ),
    "sides both": (
        """
readings:
  x:
    {ask: Lean, about: plumb, likely: 0 in to 1 in,
     sign: {plus: right, minus: left, toward: [right, in], away: [▸in, left]}}
steps:
  read: {take: x}
""",
        [
            ('"in" is both "toward" and "away" in "sign" of reading "x"', "Each side goes with one sign."),
        ],
    ),
    "sign without minus": (
        """
readings:
  x: {ask: Lean, about: plumb, likely: 0 in to 1 in, ▸sign: {plus: right}}
steps:
  read: {take: x}
""",
        [
            ('"sign" of reading "x" has no "minus"', 'Add "minus": words.'),
        ],
    ),
    "unit of about": (
        """
readings:
  x: {ask: Gap, about: gap, unit: ▸lb, likely: 1 lb to 2 lb}
steps:
  read: {take: x}
""",
        [
            ('reading "x" is about gap, and "lb" is no unit of that', 'Write "about: amount", or another unit.'),
        ],
    ),
    "key of a number": (
        """
readings:
  x: {ask: Is it, answer: yes-no, likely: ▸1 in to 2 in}
steps:
  read: {take: x}
""",
        [
            ('"likely" means nothing in reading "x": its answer is yes-no', "Take it out."),
        ],
    ),
    "choice without options": (
        """
readings:
  x: {ask: Which, answer: ▸choice}
steps:
  read: {take: x}
""",
        [
            ('reading "x" is a choice and has no "options"', 'List them: "options: {name: words, …}".'),
        ],
    ),
    "options of a number": (
        """
readings:
  x: {ask: Which, likely: 1 in to 2 in, options: ▸{a: a thing, b: b thing}}
steps:
  read: {take: x}
""",
        [
            (
                '"options" means nothing in reading "x": its answer is number',
                'Take them out, or write "answer: choice".',
            ),
        ],
    ),
    "good of a number": (
        """
readings:
  x: {ask: Which, likely: 1 in to 2 in, good: ▸[some]}
steps:
  read: {take: x}
""",
        [
            (
                '"good" means nothing in reading "x": its answer is number',
                'Give the step that takes it a tolerance: "within".',
            ),
        ],
    ),
    "good of text": (
        """
readings:
  x: {ask: Which, answer: text, good: ▸[some]}
steps:
  read: {take: x}
""",
        [
            ('"good" means nothing in reading "x": its answer is text', "Take it out."),
        ],
    ),
    "good unknown": (
        """
readings:
  x: {ask: Is it, answer: yes-no, good: ▸yess}
steps:
  read: {take: x}
""",
        [
            ('"yess" in "good" of reading "x" is none of its answers', 'Did you mean "yes"?'),
        ],
    ),
    "good unknown option": (
        """
readings:
  x: {ask: Is it, answer: choice, options: {left: l h, right: r h}, good: [▸lift]}
steps:
  read: {take: x}
""",
        [
            ('"lift" in "good" of reading "x" is none of its answers', 'Did you mean "left"?'),
        ],
    ),
    "measures nothing known": (
        """
readings:
  x: {ask: W, likely: 1 in to 2 in, measures: ▸opening widht}
steps:
  read: {take: x}
""",
        [
            (
                '"measures" of reading "x" must be "opening width", "opening height", "opening diagonal", "stud lean", '
                '"wall lean", "sill fall", "wall depth", "floor bearing", "unit width", "unit height", "frame depth" '
                'or "hinge side", not "opening widht"',
                'Did you mean "opening width" or "opening height"?',
            ),
        ],
    ),
    "measures without its places": (
        """
readings:
  x: {ask: W, likely: 1 in to 2 in, measures: ▸opening width}
steps:
  read: {take: x}
""",
        [
            ('reading "x" measures "opening width" and has no places', "Its places are bottom, middle, top."),
        ],
    ),
    "measures at another place": (
        """
readings:
  x: {ask: W, at: [top, ▸sill, ▸botom], likely: 1 in to 2 in, measures: opening width}
steps:
  read: {take: x}
""",
        [
            ('"sill" in reading "x" is no place of "opening width"', "Known are bottom, middle, top."),
            ('"botom" in reading "x" is no place of "opening width"', 'Did you mean "bottom"?'),
        ],
    ),
    "measures one place twice": (
        """
readings:
  x:
    {ask: W, at: [bottom left to top right, ▸top right to bottom left], likely: 1 in to 2 in,
     measures: opening diagonal}
steps:
  read: {take: x}
""",
        [
            (
                '"top right to bottom left" in reading "x" is a second name for a place of "opening diagonal"',
                "Leave one of the two out.",
            ),
        ],
    ),
    "measures at a place what has none": (
        """
readings:
  x: {ask: H, at: ▸left, likely: 1 in to 2 in, measures: unit height}
steps:
  read: {take: x}
""",
        [
            ('"left" in reading "x" is no place of "unit height"', "It has one place."),
        ],
    ),
    "measures with the other sign": (
        """
readings:
  x:
    {ask: Fall, about: level, likely: -1 in to 1 in, measures: sill fall,
     sign: {plus: left high, minus: right high, toward: ▸left, away: right}}
steps:
  read: {take: x}
""",
        [
            (
                'reading "x" measures "sill fall": its plus must stand for "right"',
                'Write "toward: [right]", and turn plus and minus.',
            ),
        ],
    ),
    "measures in another unit": (
        """
readings:
  x: {ask: W, unit: ▸lb, likely: 1 lb to 2 lb, measures: wall depth}
steps:
  read: {take: x}
""",
        [
            ('reading "x" measures "wall depth", which is a length', "Give it a unit of length."),
        ],
    ),
    "measures words": (
        """
readings:
  x: {ask: Is it, answer: yes-no, measures: ▸unit width}
steps:
  read: {take: x}
""",
        [
            (
                'reading "x" measures "unit width", which is a number',
                "Measure something else, or change its answer.",
            ),
        ],
    ),
    "measures a side by other names": (
        """
readings:
  x: {ask: Which, answer: choice, options: ▸{inside: i, left: l}, measures: hinge side}
steps:
  read: {take: x}
""",
        [
            (
                'reading "x" measures "hinge side", which is left or right',
                "Its options are left and right, seen from inside.",
            ),
        ],
    ),
    "measures the same twice": (
        """
readings:
  x: {ask: W, likely: 1 in to 2 in, measures: unit width}
  y: {ask: V, likely: 1 in to 2 in, measures: ▸unit width}
steps:
  read: {take: x}
  more: {take: y}
""",
        [
            ('reading "y" and reading "x" both measure "unit width"', "Only one reading can be it."),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])


REMARKS: dict[str, tuple[str, list[str]]] = {
    "keep with one place": (
        """
readings: {x: {ask: W, keep: ▸smallest, likely: 0 in to 1 in}}
steps: {a: {take: x}}
""",
        ['"keep" of reading "x" has only one place to choose from'],
    ),
    "a sign without its sides": (
        """
readings: {x: {ask: W, about: plumb, likely: -1 in to 1 in, ▸sign: {plus: right, minus: left}}}
steps: {a: {take: x}}
""",
        ['"sign" of reading "x" has no "toward" and "away": a crew can\'t say the side in words'],
    ),
    "a check that can't fail": (
        """
readings: {x: {ask: Is it, answer: yes-no, good: ▸[yes, no]}}
steps: {a: {take: x}}
""",
        ['every answer of reading "x" is "good": the check can\'t fail'],
    ),
}


@pytest.mark.parametrize("name", REMARKS)
def test_remark(name: str) -> None:
    assert_remarks(*REMARKS[name])


def test_a_number_with_a_tolerance_at_every_step_needs_nothing_likely() -> None:
    assert good("readings: {x: {ask: W}}\nsteps: {a: {take: x, within: at most 1 in}}\n").readings["x"].likely is None


def test_flush_has_a_sign_of_its_own() -> None:
    text = "readings: {x: {ask: Step, about: flush, likely: -1 in to 1 in}}\nsteps: {a: {take: x}}\n"
    sign = good(text).readings["x"].sign
    assert sign is not None
    assert (sign.plus, sign.minus) == ("proud of the wall", "behind the wall")


def test_a_level_may_measure_in_its_own_unit() -> None:
    text = """readings:
  x:
    {ask: Fall, about: level, unit: mm/m, over: 48 in, likely: -9 mm/m to 9 mm/m, measures: sill fall,
     sign: {plus: right high, minus: left high, toward: right, away: left}}
  y: {ask: D, at: [here, there], likely: 1 in to 9 in, measures: wall depth}
steps: {a: {take: x}, b: {take: y}}
"""
    assert {one.measures for one in good(text).readings.values()} == {"sill fall", "wall depth"}
