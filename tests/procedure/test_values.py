"""Values of the wrong kind, and what YAML takes for something else; the exact words and place of each fault."""

from __future__ import annotations

import pytest
from faulty import HEAD, Expected, assert_faults, examined, good

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "count is words": (
        """
cautions: {w: It is heavy.}
steps:
  a: {say: Do it., crew: ▸two, caution: w}
""",
        [
            ('"crew" of step "a" must be a whole number from 1 to 20, not "two"', None),
        ],
    ),
    "count too large": (
        """
steps:
  a: {say: Do it., crew: ▸400}
""",
        [
            ('"crew" of step "a" must be a whole number from 1 to 20, not "400"', None),
        ],
    ),
    "count in base eight": (
        """
steps:
  a: {say: Do it., crew: ▸010}
""",
        [
            (
                '"crew" of step "a" must be a whole number from 1 to 20, not "010"',
                "Write 10: YAML takes a number that begins with 0 for an octal one.",
            ),
        ],
    ),
    "count with a fraction": (
        """
steps:
  a: {say: Do it., crew: ▸1.5}
""",
        [
            ('"crew" of step "a" must be a whole number from 1 to 20, not "1.5"', None),
        ],
    ),
    "yes is true": (
        """
steps:
  a: {say: Do it., undo: ▸false}
""",
        [
            ('"undo" of step "a" must be "yes" or "no", not "false"', "Write no."),
        ],
    ),
    "yes is words": (
        """
steps:
  a: {say: Do it., undo: ▸maybe}
""",
        [
            ('"undo" of step "a" must be "yes" or "no", not "maybe"', None),
        ],
    ),
    "one of": (
        """
readings:
  x: {ask: Which, answer: ▸yesno}
steps:
  read: {take: x}
""",
        [
            (
                '"answer" of reading "x" must be "number", "yes-no", "choice", "text" or "name", not "yesno"',
                'Did you mean "yes-no"?',
            ),
        ],
    ),
    "words are no": (
        """
steps:
  a: {say: Do it., why: ▸no}
""",
        [
            ('"why" of step "a" must be words; "no" without quotes is yes or no to YAML', 'Put it in quotes: "no".'),
        ],
    ),
    "words are null": (
        """
steps:
  a: {say: Do it., why: ▸null}
""",
        [
            ('"why" of step "a" must be words; "null" without quotes is nothing to YAML', 'Put it in quotes: "null".'),
        ],
    ),
    "words are a number": (
        """
steps:
  a: {say: ▸42}
""",
        [
            ('"say" of step "a" must be words; "42" without quotes is a number to YAML', 'Put it in quotes: "42".'),
        ],
    ),
    "words are a time": (
        """
steps:
  a: {say: Do it., why: ▸12:30}
""",
        [
            (
                '"why" of step "a" must be words; "12:30" without quotes is a number in base sixty to YAML',
                'Put it in quotes: "12:30".',
            ),
        ],
    ),
    "words are octal": (
        """
steps:
  a: {say: Do it., why: ▸010}
""",
        [
            (
                '"why" of step "a" must be words; "010" without quotes is a number in base eight to YAML',
                'Put it in quotes: "010".',
            ),
        ],
    ),
    "words are hexadecimal": (
        """
steps:
  a: {say: Do it., why: ▸0x1F}
""",
        [
            (
                '"why" of step "a" must be words; "0x1F" without quotes is a number in another base to YAML',
                'Put it in quotes: "0x1F".',
            ),
        ],
    ),
    "words are a date": (
        """
steps:
  a: {say: Do it., why: ▸2026-05-04}
""",
        [
            (
                '"why" of step "a" must be words; "2026-05-04" without quotes is a date to YAML',
                'Put it in quotes: "2026-05-04".',
            ),
        ],
    ),
    "words are a float": (
        """
steps:
  a: {say: Do it., why: ▸1.5}
""",
        [
            ('"why" of step "a" must be words; "1.5" without quotes is a number to YAML', 'Put it in quotes: "1.5".'),
        ],
    ),
    "words cut short": (
        """
steps:
  a:
    say: Use the ▸#10 screws.
""",
        [
            (
                '"#10 screws." is a comment to YAML, and not part of the text before it',
                'Put the whole text in quotes; if it is a comment, put a space after the "#".',
            ),
        ],
    ),
    "braces where no figure goes": (
        """
about: The ▸{span} job.
steps:
  a: {say: Do it.}
""",
        [
            ('no figures are put into "about" of the file', "Leave out the braces."),
        ],
    ),
    "place is a number": (
        """
readings:
  x: {ask: Width, at: [▸1, 2], likely: 1 in to 2 in}
steps:
  read: {take: x}
""",
        [
            ('"at" of reading "x" must be words; "1" without quotes is a number to YAML', 'Put it in quotes: "1".'),
        ],
    ),
    "place is on": (
        """
readings:
  x: {ask: Width, at: [▸on, under], likely: 1 in to 2 in}
steps:
  read: {take: x}
""",
        [
            ('"at" of reading "x" must be words; "on" without quotes is yes or no to YAML', 'Put it in quotes: "on".'),
        ],
    ),
    "place with signs": (
        """
readings:
  x: {ask: Width, at: [▸Top, bottom], likely: 1 in to 2 in}
steps:
  read: {take: x}
""",
        [
            ('"Top" can\'t be a place of reading "x"', "Use lower-case words, without signs."),
        ],
    ),
    "place twice": (
        """
readings:
  x: {ask: Width, at: [top left, ▸top_left], likely: 1 in to 2 in}
steps:
  read: {take: x}
""",
        [
            ('"top_left" is there twice in "at" of reading "x"', "Keep one of them."),
        ],
    ),
    "option is no": (
        """
readings:
  x: {ask: Which, answer: choice, options: {▸no: none, some: some}}
steps:
  read: {take: x}
""",
        [
            ('"no" without quotes is yes or no to YAML; here it names an option', 'Write it in quotes: "no".'),
        ],
    ),
    "one option": (
        """
readings:
  x: {ask: Which, answer: choice, options: ▸{some: some}}
steps:
  read: {take: x}
""",
        [
            ('"options" of reading "x" leaves nothing to choose', "Write two options or more."),
        ],
    ),
    "options are a list": (
        """
readings:
  x: {ask: Which, answer: choice, options: ▸[a, b]}
steps:
  read: {take: x}
""",
        [
            ('"options" of reading "x" must be a table of two or more options and their words, not a list', None),
        ],
    ),
    "unit": (
        """
readings:
  x: {ask: Weight, unit: ▸stone, likely: 1 lb to 2 lb}
steps:
  read: {take: x}
""",
        [
            ('"unit" of reading "x" must be a unit, such as "in", "mm", "lb", "deg" or "none", not "stone"', None),
        ],
    ),
    "amount": (
        """
facts:
  x: {value: ▸a bit, standing: common practice}
steps:
  a: {say: 'Do it to {x}.'}
""",
        [
            ('"value" of fact "x" must be a figure with its unit, such as "1/8 in", not "a bit"', None),
        ],
    ),
    "amount octal": (
        """
facts:
  x: {value: ▸010, standing: common practice}
steps:
  a: {say: 'Do it to {x}.'}
""",
        [
            (
                (
                    '"value" of fact "x" must be a figure with its unit, such as "1/8 in"; "010" is a '
                    "number in base eight to YAML"
                ),
                "Write a plain number with its unit.",
            ),
        ],
    ),
    "amount of another kind": (
        """
readings:
  x: {ask: Level, over: ▸24 lb, likely: 0 in to 1 in}
steps:
  read: {take: x}
""",
        [
            ('"over" of reading "x" must be a length; 24 lb is a weight', 'Write it with its unit, such as "24 in".'),
        ],
    ),
    "amount without unit": (
        """
steps:
  a: {say: Do it., wait: {time: ▸24, for: the glue}}
""",
        [
            (
                '"time" of "wait" of step "a" must be a time; 24 is a plain number',
                'Write it with its unit, such as "24 h".',
            ),
        ],
    ),
    "amount below zero": (
        """
steps:
  a: {say: Do it., wait: {time: ▸-1 h, for: the glue}}
""",
        [
            ('"time" of "wait" of step "a" can\'t be -1 h', "It must be above zero."),
        ],
    ),
    "amount absurd": (
        """
steps:
  a: {say: Do it., wait: {time: ▸99999999999 h, for: the glue}}
""",
        [
            ('"time" of "wait" of step "a" can\'t be 99999999999 h', "It is far too large, or far too long."),
        ],
    ),
    "limits": (
        """
readings:
  x: {ask: Width, likely: ▸24 in}
steps:
  read: {take: x}
""",
        [
            (
                '"likely" of reading "x" must be "LOW to HIGH" or "MIDDLE ± HALF", not "24 in"',
                'Write it so: "24 in to 120 in".',
            ),
        ],
    ),
    "limits open": (
        """
readings:
  x: {ask: Width, likely: ▸at most 24 in}
steps:
  read: {take: x}
""",
        [
            (
                '"likely" of reading "x" must be "LOW to HIGH" or "MIDDLE ± HALF", not "at most 24 in"',
                'Write it so: "24 in to 120 in".',
            ),
        ],
    ),
    "within": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
  y: {ask: Y, likely: 0 in to 1 in}
steps:
  set: {say: Set it., disturbs: [shelf]}
  gap: {after: set, take: gap, within: 0 in to 1/8 in, watches: [shelf]}
  b: {after: gap, take: y, within: ▸1/8 in}
""",
        [
            (
                (
                    '"within" of step "b" must be "LOW to HIGH", "at most HIGH", "at least LOW" or '
                    '"MIDDLE ± HALF", not "1/8 in"'
                ),
                'Write it so: "at most 1/8 in".',
            ),
        ],
    ),
    "arithmetic": (
        """
facts:
  x: {value: 1 in, standing: common practice}
worked:
  y: 2 ▸× x
steps:
  a: {say: 'Do it to {y}.'}
""",
        [
            ('"×" can\'t be read here, in worked figure "y"', 'Write "*" for times.'),
        ],
    ),
    "arithmetic unit spelt out": (
        """
facts:
  x: {value: 1 in, standing: common practice}
worked:
  y: x + 2 ▸inches
steps:
  a: {say: 'Do it to {y}.'}
""",
        [
            ('"inches" can\'t be read here, in worked figure "y"', 'Write the unit as "in", right after a number.'),
        ],
    ),
    "arithmetic bracket": (
        """
facts:
  x: {value: 1 in, standing: common practice}
worked:
  y: (x + 2 in▸
steps:
  a: {say: 'Do it to {y}.'}
""",
        [
            (
                'a ")" is missing, in worked figure "y"',
                ("Arithmetic is made of names, numbers with their unit, + - * / ( ), min( , ), max( , ) and abs( )."),
            ),
        ],
    ),
    "arithmetic ends": (
        """
facts:
  x: {value: 1 in, standing: common practice}
worked:
  y: x +▸
steps:
  a: {say: 'Do it to {y}.'}
""",
        [
            (
                'something is missing at the end, in worked figure "y"',
                ("Arithmetic is made of names, numbers with their unit, + - * / ( ), min( , ), max( , ) and abs( )."),
            ),
        ],
    ),
    "arithmetic octal": (
        """
worked:
  y: ▸010
steps:
  a: {say: 'Do it {y} times.'}
""",
        [
            (
                (
                    'worked figure "y" must be arithmetic, such as "span - 2 * side_gap"; "010" is a '
                    "number in base eight to YAML"
                ),
                "Write a plain number with its unit.",
            ),
        ],
    ),
    "arithmetic sexagesimal": (
        """
worked:
  y: ▸12:30
steps:
  a: {say: 'Do it {y} times.'}
""",
        [
            (
                (
                    'worked figure "y" must be arithmetic, such as "span - 2 * side_gap"; "12:30" is a '
                    "number in base sixty to YAML"
                ),
                "Write a plain number with its unit.",
            ),
        ],
    ),
    "limits both halves": (
        """
readings:
  x: {ask: Width, likely: 1 ▸$ in to 2 ▸$ in}
steps:
  read: {take: x}
""",
        [
            (
                '"$" can\'t be read here, in "likely" of reading "x"',
                ("Arithmetic is made of names, numbers with their unit, + - * / ( ), min( , ), max( , ) and abs( )."),
            ),
            (
                '"$" can\'t be read here, in "likely" of reading "x"',
                ("Arithmetic is made of names, numbers with their unit, + - * / ( ), min( , ), max( , ) and abs( )."),
            ),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])


def test_numbers_that_are_too_long_are_refused_and_not_printed_whole() -> None:
    nines = "9" * 5000
    _, faults, _ = examined(
        HEAD
        + f"facts: {{x: {{value: {nines} in, standing: common practice}}}}\nworked: {{y: {nines} in}}\n"
        + f"steps: {{a: {{say: 'It is {{x}} or {{y}}.', crew: {nines}}}}}\n"
    )
    assert [fault.code for fault in faults] == ["shape", "arithmetic", "shape"]
    assert all(len(fault.message) < 200 for fault in faults)


def test_a_list_of_one_needs_no_brackets() -> None:
    plain = good("steps: {a: {say: A b., disturbs: top}, b: {after: a, say: A b., disturbs: [top]}}\n")
    assert plain.steps["a"].disturbs == plain.steps["b"].disturbs == ("top",)


def test_words_in_quotes_are_words_whatever_they_look_like() -> None:
    procedure = good("steps: {a: {say: 'no', why: \"12:30\", mistake: '010', how: 'null'}}\n")
    step = procedure.steps["a"]
    assert (step.say, step.why, step.mistake, step.how) == ("no", "12:30", "010", "null")


SENTENCES = """
readings: {{gap: {{ask: Gap, likely: 0 in to 1 in}}}}
steps:
  set: {{say: Set it., disturbs: [s]}}
  gap: {{after: set, take: gap, within: 0 in to 1/8 in, watches: [s], out: {{say: {say}}}}}
"""


@pytest.mark.parametrize(
    ("say", "message"),
    [
        ("[Up., Down.]", '"say" of "out" of step "gap" must be words, or {plus: words, minus: words}, not a list'),
        ("{}", '"say" of "out" of step "gap" must be words, or {plus: words, minus: words}, not a table'),
        ("{up: Up.}", 'unknown key "up" in "say" of "out" of step "gap"'),
        (
            "no",
            '"say" of "out" of step "gap" must be words, or {plus: words, minus: words}; '
            '"no" without quotes is yes or no to YAML',
        ),
    ],
)
def test_words_of_a_correction(say: str, message: str) -> None:
    _, faults, _ = examined(HEAD + SENTENCES.format(say=say))
    assert [fault.message for fault in faults] == [message]


def test_a_choice_that_is_there_twice_in_a_condition() -> None:
    _, faults, _ = examined(
        f"""{HEAD}choices: {{pan: {{ask: Is there a pan, options: {{metal: a metal pan, none: no pan}}}}}}
steps:
  a: {{say: A b.}}
  b: {{say: A b., when: {{pan: metal, pan: none}}}}
"""
    )
    assert [fault.message for fault in faults] == ['choice "pan" is there twice in "when" of step "b"']


def test_one_reading_is_taken_at_a_time() -> None:
    _, faults, _ = examined(HEAD + SENTENCES.format(say="Up.").replace("take: gap", "take: [gap, gap_2]"))
    assert faults[-1].message == '"take" of step "gap" must be the name of a reading, not a list'


def test_division_is_written_with_a_stroke() -> None:
    _, faults, _ = examined(HEAD + "worked: {half: 1 in ÷ 2}\nsteps: {a: {say: 'It is {half}.'}}\n")
    assert [(fault.message, fault.hint) for fault in faults] == [
        ('"÷" can\'t be read here, in worked figure "half"', 'Write "/" for divided by.')
    ]
