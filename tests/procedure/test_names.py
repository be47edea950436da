"""Names that are not there: the exact words and place of each fault."""

from __future__ import annotations

import pytest
from faulty import HEAD, Expected, assert_faults, assert_remarks, examined

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "step": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  set: {say: Set it., disturbs: [shelf]}
  gap: {after: set, take: gap, within: 0 in to 1/8 in, watches: [shelf]}
  b: {after: ▸gapp, say: Do it.}
""",
        [
            ('unknown step "gapp" in "after" of step "b"', 'Did you mean "gap"?'),
        ],
    ),
    "needs": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  set: {say: Set it., disturbs: [shelf]}
  gap: {after: set, take: gap, within: 0 in to 1/8 in, watches: [shelf]}
  b: {needs: [gap, ▸sett], say: Do it.}
""",
        [
            ('unknown step "sett" in "needs" of step "b"', 'Did you mean "set"?'),
        ],
    ),
    "take": (
        """
readings:
  level_it: {ask: L, likely: 0 in to 1 in}
steps:
  a: {take: ▸level-it}
  b: {after: a, take: level_it}
""",
        [
            ('unknown reading "level-it" in "take" of step "a"', 'Did you mean "level_it"?'),
        ],
    ),
    "a reading in after": (
        """
readings:
  width: {ask: W, likely: 0 in to 1 in}
steps:
  a: {take: width}
  b: {after: ▸width, say: Do it.}
""",
        [
            ('unknown step "width" in "after" of step "b"', '"width" is a reading; the step that takes it is "a".'),
        ],
    ),
    "state": (
        """
states: {frame: the frame}
steps:
  a: {say: Do it., disturbs: [▸fram]}
""",
        [
            ('unknown state "fram" in "disturbs" of step "a"', 'Did you mean "frame"?'),
        ],
    ),
    "state name": (
        """
steps:
  a: {say: Do it., disturbs: [▸The Frame]}
""",
        [
            ('"The Frame" in "disturbs" of step "a" can\'t name a state', 'Use lower-case words joined by "-".'),
        ],
    ),
    "caution": (
        """
cautions: {weight: It is heavy.}
steps:
  a: {say: Do it., caution: ▸wieght}
""",
        [
            ('unknown caution "wieght" in "caution" of step "a"', 'Did you mean "weight"?'),
        ],
    ),
    "general caution": (
        """
steps:
  a: {say: Do it., caution: ▸glas}
""",
        [
            ('unknown caution "glas" in "caution" of step "a"', 'Did you mean "glass" or "blades"?'),
        ],
    ),
    "hazard without make safe": (
        """
steps:
  a: {say: Do it., leaves: ▸open}
  b: {after: a, say: Shut it., secures: open}
""",
        [
            (
                'step "a" leaves "open", and "make-safe" does not say what a stop goes through',
                'Add to "make-safe": open: {say: …}.',
            ),
        ],
    ),
    "hazard misspelt": (
        """
make-safe: {open: {say: Shut it.}}
steps:
  a: {say: Do it., leaves: ▸opne}
  b: {after: a, say: Shut it., secures: opne}
""",
        [
            ('step "a" leaves "opne", and "make-safe" does not say what a stop goes through', 'Did you mean "open"?'),
        ],
    ),
    "secures unknown": (
        """
make-safe: {open: {say: Shut it.}}
steps:
  a: {say: Do it., leaves: open}
  b: {after: a, say: Shut it., secures: [open, ▸loose]}
""",
        [
            ('unknown hazard "loose" in "secures" of step "b"', None),
        ],
    ),
    "choice": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: Do it., when: {▸pam: metal}}
  b: {say: x y., when: {wall: wood}}
  c: {say: x y., when: {pan: none}}
""",
        [
            ('unknown choice "pam" in "when" of step "a"', 'Did you mean "pan"?'),
        ],
    ),
    "option": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: Do it., when: {pan: ▸steel, wall: wood}}
""",
        [
            ('choice "pan" has no option "steel", in "when" of step "a"', "Its options are metal, none."),
        ],
    ),
    "option no": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: Do it., when: {pan: ▸no, wall: wood}}
""",
        [
            (
                '"when" of step "a" must be the name of an option; "no" without quotes is yes or no to YAML',
                'Put it in quotes: "no".',
            ),
        ],
    ),
    "when empty": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: Do it., when: {pan: ▸[], wall: wood}}
""",
        [
            ('step "a" can\'t be reached: "when" leaves no option of "pan"', "Name the options."),
        ],
    ),
    "when is words": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: Do it., when: ▸metal}
""",
        [
            ('"when" of step "a" must be a table of choices, such as {pan: metal}, not "metal"', None),
        ],
    ),
    "figure in words": (
        """
worked:
  top_length: 3 in
steps:
  a: {say: 'Trim it to ▸{top_lenght}.'}
  b: {say: 'x {top_length}'}
""",
        [
            ('unknown name "top_lenght" in "say" of step "a"', 'Did you mean "top_length"?'),
        ],
    ),
    "figure in words unquoted": (
        """
worked:
  top_length: 3 in
steps:
  a: {say: Trim it to ▸{top_lenght}.}
  b: {say: 'x {top_length}'}
""",
        [
            ('unknown name "top_lenght" in "say" of step "a"', 'Did you mean "top_length"?'),
        ],
    ),
    "figure in why": (
        """
steps:
  a: {say: Do it., why: 'It is ▸{thick}.'}
""",
        [
            ('unknown name "thick" in "why" of step "a"', None),
        ],
    ),
    "figure of a correction": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  a: {say: 'Move it by ▸{by}.'}
  gap: {take: gap}
""",
        [
            ('"{by}" in "say" of step "a" is known only in the "say" of "out"', None),
        ],
    ),
    "brace open": (
        """
steps:
  a: {say: 'Trim it to ▸{x.'}
""",
        [
            ('a "{" without its other brace in "say" of step "a"', 'Write "{name}" for a figure.'),
        ],
    ),
    "brace not a name": (
        """
steps:
  a: {say: 'Trim it to ▸{The length}.'}
""",
        [
            ('"{The length}" in "say" of step "a" is not the name of a figure', 'Write "{name}" or "{name.place}".'),
        ],
    ),
    "figure in arithmetic": (
        """
worked:
  y: ▸spam + 1 in
readings:
  span: {ask: S, likely: 0 in to 1 in}
steps:
  a: {take: span}
  b: {after: a, say: '{y} or {span}'}
""",
        [
            ('unknown name "spam" in worked figure "y"', 'Did you mean "span"?'),
        ],
    ),
    "figure is a choice": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: 'Take ▸{pan}.', when: {pan: metal, wall: wood}}
""",
        [
            ('unknown name "pan" in "say" of step "a"', '"pan" is a choice; "when" switches steps by it.'),
        ],
    ),
    "figure is no number": (
        """
readings:
  who: {ask: Who, answer: name}
steps:
  a: {take: who}
  b: {after: a, say: 'Ask ▸{who}.'}
""",
        [
            ('reading "who" is no figure, in "say" of step "b"', "Only numbers can stand here."),
        ],
    ),
    "places and no keep": (
        """
readings:
  w: {ask: W, at: [top, bottom], likely: 0 in to 1 in}
steps:
  a: {take: w}
  b: {after: a, say: 'It is ▸{w}.'}
""",
        [
            (
                'reading "w" has 2 places, and "say" of step "b" names none',
                'Name one, such as "w.top", or give the reading "keep: smallest".',
            ),
        ],
    ),
    "unknown place": (
        """
readings:
  w: {ask: W, at: [top left, bottom], likely: 0 in to 1 in}
steps:
  a: {take: w}
  b: {after: a, say: 'It is ▸{w.top_lift}.'}
""",
        [
            ('reading "w" has no place "top_lift", in "say" of step "b"', 'Did you mean "top_left"?'),
        ],
    ),
    "place of a fact": (
        """
facts:
  w: {value: 1 in, standing: common practice}
steps:
  b: {say: 'It is ▸{w.top}.'}
""",
        [
            ('fact "w" has no places, in "say" of step "b"', 'Write "w".'),
        ],
    ),
    "uses": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  a: {take: gap}
  b: {after: a, say: Do it., uses: [▸gip]}
""",
        [
            ('unknown name "gip" in "uses" of step "b"', 'Did you mean "gap"?'),
        ],
    ),
    "two meanings": (
        """
facts:
  w: {value: 1 in, standing: common practice}
worked:
  ▸w: 3 in
steps:
  b: {say: 'It is {w}.'}
""",
        [
            ('"w" is a fact and a worked figure', "Give one of them another name."),
        ],
    ),
    "likely name": (
        """
readings:
  x: {ask: Width, likely: 1 in to ▸mots}
steps:
  read: {take: x}
""",
        [
            ('unknown name "mots" in "likely" of reading "x"', None),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])


REMARKS: dict[str, tuple[str, list[str]]] = {
    "a fact and a worked figure nobody uses": (
        """
facts:
  ▸thick: {value: 1 in, standing: common practice}
  wide: {value: 2 in, standing: common practice}
worked:
  ▸twice: 2 * wide
steps: {a: {say: A b.}}
""",
        ['fact "thick" is never used', 'worked figure "twice" is never used'],
    ),
}


@pytest.mark.parametrize("name", REMARKS)
def test_remark(name: str) -> None:
    assert_remarks(*REMARKS[name])


def test_thousands_of_slips_are_told_without_looking_for_the_nearest_of_each() -> None:
    steps = "".join(f"  s{i}: {{after: z{i}, say: A b.}}\n" for i in range(3000))
    _, faults, _ = examined(f"{HEAD}steps:\n{steps}")
    assert len(faults) == 3000
    assert sum(fault.hint is not None for fault in faults) < 100
