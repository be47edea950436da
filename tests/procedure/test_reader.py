"""What does not fit the shape of a file: keys, tables, names; the exact words, line and column of each fault."""

from __future__ import annotations

import pytest
from faulty import Expected, assert_faults

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "unknown key": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  set: {say: Set it., disturbs: [shelf]}
  gap: {after: set, take: gap, within: 0 in to 1/8 in, watches: [shelf]}
  cut: {after: gap, say: Trim it., ▸tolerence: 3 mm}
""",
        [
            ('unknown key "tolerence" in step "cut"', 'Did you mean "within"?'),
        ],
    ),
    "unknown key at the top": (
        """
▸stpes: {}
steps:
  a: {say: Do it.}
""",
        [
            ('unknown key "stpes" in the file', 'Did you mean "steps" or "states"?'),
        ],
    ),
    "unknown key nothing near": (
        """
▸colour: red
steps:
  a: {say: Do it.}
""",
        [
            (
                'unknown key "colour" in the file',
                (
                    "Its keys are format, title, about, defers, rounds, shares, states, facts, choices, readings, "
                    "worked, cautions, make-safe, together, steps."
                ),
            ),
        ],
    ),
    "a comma in braces": (
        """
steps:
  a: {say: Measure the span, ▸then write it down.}
""",
        [
            (
                'unknown key "then write it down." in step "a"',
                "A comma ends a text inside { }: put the whole text in quotes.",
            ),
        ],
    ),
    "duplicate key": (
        """
steps:
  a:
    say: Do it.
    ▸say: Do it again.
""",
        [
            ('key "say" is there twice in step "a"', "Keep one of them."),
        ],
    ),
    "duplicate step": (
        """
steps:
  a: {say: Do it.}
  b: {say: Do that.}
  ▸a: {say: Do it again.}
""",
        [
            ('step "a" is there twice', "Keep one of them."),
        ],
    ),
    "missing key": (
        """
readings:
  ▸x: {likely: 1 in to 2 in}
steps:
  a: {take: x}
""",
        [
            ('reading "x" has no "ask"', 'Add "ask": words.'),
        ],
    ),
    "neither say nor take": (
        """
steps:
  ▸a: {why: Because.}
""",
        [
            ('step "a" has neither "say" nor "take"', "Add one of them."),
        ],
    ),
    "no steps": (
        """
▸steps: {}
""",
        [
            ("there are no steps", "Write at least one step."),
        ],
    ),
    "step is words": (
        """
steps:
  a: ▸Do it.
""",
        [
            (
                'step "a" must be a table of keys and values, not "Do it."',
                (
                    "Its keys are say, part, why, mistake, how, after, needs, when, caution, harmless, "
                    "crew, take, within, even, watches, disturbs, out, rounds, safety, hold, wait, "
                    "leaves, secures, undo, uses, shared."
                ),
            ),
        ],
    ),
    "step is empty": (
        """
steps:
  ▸a:
  b: {say: Do it.}
""",
        [
            (
                'step "a" is empty',
                (
                    "Its keys are say, part, why, mistake, how, after, needs, when, caution, harmless, "
                    "crew, take, within, even, watches, disturbs, out, rounds, safety, hold, wait, "
                    "leaves, secures, undo, uses, shared."
                ),
            ),
        ],
    ),
    "table is a list": (
        """
steps:
  ▸- say: Do it.
""",
        [
            ('"steps" of the file must be a table with the name of each step, not a list', None),
        ],
    ),
    "words are a list": (
        """
steps:
  a: {say: ▸[Do it., Do that.]}
""",
        [
            ('"say" of step "a" must be words, not a list', None),
        ],
    ),
    "no value": (
        """
steps:
  a:
    ▸say:
""",
        [
            ('"say" of step "a" has no value', "It must be words."),
        ],
    ),
    "inner unknown key": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  set: {say: Set it., disturbs: [shelf]}
  gap: {after: set, take: gap, within: 0 in to 1/8 in, watches: [shelf]}
  b: {after: gap, say: Look at it., hold: {by: lead, look: at it, ▸whoo: me}}
""",
        [
            ('unknown key "whoo" in "hold" of step "b"', "Its keys are by, look."),
        ],
    ),
    "inner missing key": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  set: {say: Set it., disturbs: [shelf]}
  gap: {after: set, take: gap, within: 0 in to 1/8 in, watches: [shelf]}
  b: {after: gap, say: Wait., ▸wait: {time: 1 h}}
""",
        [
            ('"wait" of step "b" has no "for"', 'Add "for": words.'),
        ],
    ),
    "out is words": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  set: {say: Set it., disturbs: [shelf]}
  gap: {after: set, take: gap, within: 0 in to 1/8 in, watches: [shelf], out: ▸shelf}
""",
        [
            (
                '"out" of step "gap" must be a table of keys and values, not "shelf"',
                "Its keys are adjust, say, caution, crew.",
            ),
        ],
    ),
    "step name": (
        """
steps:
  ▸Level It: {say: Do it.}
""",
        [
            ('"Level It" can\'t name a step', 'Use lower-case words joined by "-": "level-it".'),
        ],
    ),
    "figure name": (
        """
facts:
  ▸side-gap: {value: 1 in, standing: common practice}
steps:
  a: {say: Do it.}
""",
        [
            ('"side-gap" can\'t name a fact', 'Use lower-case words joined by "_": "side_gap".'),
        ],
    ),
    "reserved name": (
        """
facts:
  ▸over: {value: 1 in, standing: common practice}
steps:
  a: {say: A b.}
""",
        [
            ('"over" can\'t name a fact: it means something of its own in arithmetic', "Use a longer name."),
        ],
    ),
    "name that yaml takes for no": (
        """
steps:
  ▸no: {say: Do it.}
""",
        [
            ('"no" without quotes is yes or no to YAML; here it names a step', 'Write it in quotes: "no".'),
        ],
    ),
    "named twice": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
steps:
  set: {say: Set it., disturbs: [shelf]}
  gap: {after: set, take: gap, within: 0 in to 1/8 in, watches: [shelf]}
  b: {after: [gap, set, ▸gap], say: Do it.}
""",
        [
            ('"gap" is named twice in "after" of step "b"', "Keep one of them."),
        ],
    ),
}

WHOLE_FILES: dict[str, tuple[str, list[Expected]]] = {
    "no format": (
        """
▸title: t
steps:
  a: {say: Do it.}
""",
        [
            ('the file has no "format"', 'Add the line "format: 1".'),
        ],
    ),
    "another format": (
        """
format: ▸2
title: t
steps:
  a: {saay: Do it.}
""",
        [
            (
                "the file has format 2, and this guide reads format 1",
                "Nothing else in it was checked. A newer guide may read it.",
            ),
        ],
    ),
    "format of words": (
        """
format: ▸one
title: t
steps:
  a: {say: Do it.}
""",
        [
            ('"format" of the file must be "1", not "one"', None),
        ],
    ),
    "no title": (
        """
▸format: 1
steps:
  a: {say: Do it.}
""",
        [
            ('the file has no "title"', 'Add "title": words.'),
        ],
    ),
    "no steps key": (
        """
▸format: 1
title: Set a shelf
about: Nothing at all.
""",
        [
            ('the file has no "steps"', 'Add "steps": a table with the name of each step.'),
        ],
    ),
    "only words": (
        """
▸just some words
""",
        [
            (
                "the file is not a table of keys and values",
                'Begin it with "format: 1" and "title: …", each on a line of its own.',
            ),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])


@pytest.mark.parametrize("name", WHOLE_FILES)
def test_fault_of_a_whole_file(name: str) -> None:
    assert_faults(*WHOLE_FILES[name], head="")
