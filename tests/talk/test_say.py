"""Readings in words and back: what is said can mean nothing else, and every way of saying a reading reads back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction

import pytest

from guide.procedure.model import About, Sign
from guide.quantity import Quantity, quantity
from guide.talk.say import spoken, ways, whole, written
from guide.talk.words import Expect, hear

LEVEL = Sign("the right end is high", "the left end is high", ("right", "lock side"), ("left", "hinge side"))
PLUMB = Sign("the top leans to the outside", "the top leans to the inside", ("outside",), ("inside",))
PLANE = Sign("the top leans to the right", "the top leans to the left", ("right",), ("left",))
FLUSH = Sign("proud of the wall", "behind the wall")
SQUARE = Sign("open at the far end of the leg", "open in the corner", ("far end", "end"), ("corner",))
TWIST = Sign("the top left corner is forward", "the top right corner is forward", ("top left",), ("top right",))
ALL_SIGNED: list[tuple[About, Sign]] = [
    ("level", LEVEL),
    ("plumb", PLUMB),
    ("plumb", PLANE),
    ("flush", FLUSH),
    ("square", SQUARE),
    ("twist", TWIST),
]

SIXTEENTHS = [Quantity(Fraction(n, 16), "in") for n in range(1, 12 * 12 * 16 + 1)]
THIRTY_SECONDS = [Quantity(Fraction(n, 32), "in") for n in range(1, 36 * 32 + 1)]
MILLIMETRES = [Quantity(Fraction(n), "mm") for n in range(1, 4001)]


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("36 3/16 in", "thirty six and three sixteenths"),
        ("36 in", "thirty six inches"),
        ("1 in", "one inch"),
        ("1/8 in", "an eighth"),
        ("1/2 in", "a half"),
        ("1/32 in", "a thirty second"),
        ("21/32 in", "twenty one thirty seconds of an inch"),
        ("36 9/32 in", "thirty six and nine thirty seconds"),
        ("100 3/16 in", "one hundred inches and three sixteenths"),
        ("112 3/16 in", "one hundred twelve and three sixteenths"),
        ("36.4 in", "thirty six point four inches"),
        ("3/7 in", "three over seven inches"),
        ("914 mm", "nine hundred fourteen millimetres"),
        ("1 mm", "one millimetre"),
        ("12.5 mm", "twelve point five millimetres"),
        ("91.4 cm", "ninety one point four centimetres"),
        ("3 ft", "three feet"),
        ("40 lb", "forty pounds"),
        ("24 h", "twenty four hours"),
        ("-1/16 in", "minus a sixteenth"),
        ("0 in", "zero inches"),
        ("12", "twelve"),
        ("2 mm/m", "two millimetres per metre"),
    ],
)
def test_spoken(value: str, words: str) -> None:
    assert spoken(quantity(value)) == words


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("80 1/4 in", "six foot eight and a quarter"),
        ("72 in", "six foot even"),
        ("72 1/2 in", "six foot and a half inch"),
        ("72 3/16 in", "six foot and three sixteenths inches"),
        ("11 1/2 in", "eleven and a half"),
        ("914 mm", "nine hundred fourteen millimetres"),
        ("72.1 in", "seventy two point one inches"),
    ],
)
def test_spoken_in_feet(value: str, words: str) -> None:
    assert spoken(quantity(value), feet=True) == words


@pytest.mark.parametrize(
    ("value", "about", "sign", "said", "shown"),
    [
        ("1/16 in", "level", LEVEL, "a sixteenth, high on the right", "1/16 in, the right end is high"),
        ("-1/16 in", "level", LEVEL, "a sixteenth, high on the left", "1/16 in, the left end is high"),
        ("-1/8 in", "plumb", PLUMB, "an eighth, the top leans to the inside", "1/8 in, the top leans to the inside"),
        ("2 mm", "flush", FLUSH, "two millimetres, proud of the wall", "2 mm, proud of the wall"),
        ("0 in", "level", LEVEL, "zero inches", "0 in"),
    ],
)
def test_sides_are_in_words(value: str, about: About, sign: Sign, said: str, shown: str) -> None:
    assert spoken(quantity(value), about, sign) == said
    assert written(quantity(value), about, sign) == shown


def test_written() -> None:
    assert written(quantity("36 3/16 in")) == "36 3/16 in"


def comes_back(values: Sequence[Quantity]) -> int:
    """How many ways were tried; every one of them reads back as its value, and what is said back as nothing else."""
    tried = 0
    for value in values:
        expect = Expect(unit=value.unit)
        for text in ways(value):
            said = hear(text, expect)
            assert len(said) == 1, (text, said)
            assert value in [meaning.value for meaning in said[0].meanings], (text, said)
            tried += 1
        for feet in (False, True):
            text = spoken(value, feet=feet)
            assert [meaning.value for said in hear(text, expect) for meaning in said.meanings] == [value], text
    return tried


@pytest.mark.parametrize(
    ("values", "least"),
    [(SIXTEENTHS[::61], 2500), (THIRTY_SECONDS[::47], 1200), (MILLIMETRES[::71], 1200)],
    ids=["1/16", "1/32", "mm"],
)
def test_every_way_of_saying_a_length_reads_back(values: list[Quantity], least: int) -> None:
    assert comes_back(values) > least


@pytest.mark.parametrize(
    "value", ["-1/16 in", "-36 1/2 in", "12.5 mm", "40 lb", "2.5 kg", "24 h", "91.4 cm", "2 m", "3 ft"]
)
def test_other_amounts_read_back(value: str) -> None:
    wanted = quantity(value)
    tried = list(ways(wanted))
    assert len(tried) >= 2
    for text in tried:
        said = hear(text, Expect(unit=wanted.unit))
        assert len(said) == 1, text
        assert wanted in [meaning.value for meaning in said[0].meanings], text


@pytest.mark.slow
@pytest.mark.parametrize(
    ("values", "least"),
    [(SIXTEENTHS, 200_000), (THIRTY_SECONDS, 80_000), (MILLIMETRES, 100_000)],
    ids=["every 1/16 to 12 ft", "every 1/32 to 3 ft", "every mm to 4,000"],
)
def test_every_length_reads_back(values: list[Quantity], least: int) -> None:
    assert comes_back(values) > least


@pytest.mark.parametrize(("about", "sign"), ALL_SIGNED)
def test_every_way_of_saying_a_side_reads_back(about: About, sign: Sign) -> None:
    expect = Expect(about=about, sign=sign)
    for size in ("1/16 in", "-1/16 in", "3/32 in", "-1 1/8 in", "2 mm", "-2 mm"):
        value = quantity(size)
        tried = list(ways(value, about, sign))
        assert len(tried) > 10
        for text in (*tried, spoken(value, about, sign), written(value, about, sign)):
            said = hear(text, expect)
            assert [(meaning.value, meaning.side != "missing") for one in said for meaning in one.meanings] == [
                (value, True)
            ], text


def test_what_two_lengths_are_both_called_is_heard_as_both() -> None:
    called: dict[str, set[Quantity]] = defaultdict(set)
    for value in SIXTEENTHS[: 70 * 16]:
        for text in ways(value):
            called[text].add(value)
    shared = {text: values for text, values in called.items() if len(values) > 1}
    assert len(shared) > 50
    for text, values in shared.items():
        meanings = {meaning.value for said in hear(text, Expect()) for meaning in said.meanings}
        assert values <= meanings, text


def test_figures_mean_one_thing_unless_a_comma_is_among_them() -> None:
    for value in SIXTEENTHS[::67]:
        for text in ways(value):
            if not any(c.isalpha() for c in text) and "," not in text:
                assert [meaning.value for said in hear(text, Expect()) for meaning in said.meanings] == [value], text


@pytest.mark.parametrize("number", [0, 7, 19, 20, 21, 99, 100, 101, 999, 1000, 12_345, 999_999])
def test_whole_numbers_have_no_and(number: int) -> None:
    assert " and " not in whole(number)
