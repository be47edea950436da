"""Words to exact readings: the trade's ways of typing and saying them, with all they can mean."""

from __future__ import annotations

import time
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.procedure.model import Sign
from guide.quantity import Quantity, quantity
from guide.talk.say import spoken, ways, written
from guide.talk.words import Expect, Said, example, hear, settle, why_not

LENGTH = Expect(likely_low=quantity("20 in"), likely_high=quantity("120 in"), places=("top", "middle", "bottom"))
ANY = Expect()
LEVEL = Expect(
    about="level",
    sign=Sign("the right end is high", "the left end is high", ("right", "lock side"), ("left", "hinge side")),
)
PLUMB = Expect(about="plumb", sign=Sign("the top leans in", "the top leans out", ("in", "inside"), ("out", "outside")))
PLANE = Expect(about="plumb", sign=Sign("the top leans right", "the top leans left", ("right",), ("left",)))
FLUSH = Expect(about="flush", sign=Sign("proud", "behind"), places=("top left", "top right"))
SQUARE = Expect(about="square", sign=Sign("open at the top", "open at the bottom", ("top",), ("bottom",)))
GAP = Expect(about="gap", places=("top hinge", "middle hinge", "bottom hinge"))


def values(said: tuple[Said, ...]) -> list[str]:
    assert len(said) == 1, said
    return [str(meaning.value) for meaning in said[0].meanings]


@pytest.mark.parametrize(
    ("text", "meanings"),
    [
        ("thirty six and three sixteenths", ["36 3/16 in"]),
        ("36 3/16", ["36 3/16 in"]),
        ('36-3/16"', ["36 3/16 in"]),
        ("36 3/16 in", ["36 3/16 in"]),
        ("36 3 / 16", ["36 3/16 in"]),
        ("36 and 3/16", ["36 3/16 in"]),
        ("36 ¾", ["36 3/4 in"]),
        ("36¾", ["36 3/4 in"]),
        ("an eighth", ["1/8 in"]),
        ("one eighth inch", ["1/8 in"]),
        ("1/8", ["1/8 in"]),
        ("⅛", ["1/8 in"]),
        (".125", ["1/8 in"]),
        ('0.125"', ["1/8 in"]),
        ("36,5", ["36 1/2 in"]),
        ("six foot eight and a quarter", ["80 1/4 in"]),
        ("6' 8 1/4\"", ["80 1/4 in"]),
        ("6'-8 1/4\"", ["80 1/4 in"]),
        ("6’ 8 1/4”", ["80 1/4 in"]),
        ("6ft 8 1/4in", ["80 1/4 in"]),
        ("3ft", ["3 ft"]),
        ("3 foot", ["3 ft"]),
        ("nine hundred fourteen millimetres", ["914 mm"]),
        ("nine hundred and fourteen millimeters", ["914 mm"]),
        ("914 mm", ["914 mm"]),
        ("914mm", ["914 mm"]),
        ("91.4 cm", ["91.4 cm"]),
        ("0.914 m", ["0.914 m"]),
        ("1,250 mm", ["1250 mm", "1.25 mm"]),
        ("thirty six sixteenths", ["30 3/8 in", "2 1/4 in"]),
        ("twenty one eighths", ["20 1/8 in", "2 5/8 in"]),
        ("one hundred and one eighth", ["100 1/8 in", "12 5/8 in"]),
        ("thirty six three sixteenths", ["36 3/16 in", "22 11/16 in"]),
        ("one thirty second", ["1/32 in"]),
        ("five thirty seconds", ["5/32 in"]),
        ("two forty", ["240 in", "2 2/5 in", "64 in"]),
        ("eight two and a quarter", ["82 1/4 in", "98 1/4 in"]),
        ("six eight and a quarter", ["68 1/4 in", "80 1/4 in"]),
        ("nine fourteen millimetres", ["914 mm", "9.14 mm"]),
        ("half an inch", ["1/2 in"]),
        ("three sixteenths of an inch", ["3/16 in"]),
        ("an inch and a half", ["1 1/2 in"]),
        ("inch and a quarter", ["1 1/4 in"]),
        ("a quarter inch", ["1/4 in"]),
        ("three quarters", ["3/4 in"]),
        ("thirty six even", ["36 in"]),
        ("thirty six on the nose", ["36 in"]),
        ("it's thirty-six and a half", ["36 1/2 in"]),
        ("okay I get 36 1/2 inches", ["36 1/2 in"]),
        ("thirty six point five", ["36 1/2 in"]),
        ("point one two five", ["1/8 in"]),
        ("3/7", ["3/7 in"]),
        ("-1/16", ["-1/16 in"]),
        ("36 3/16 in.", ["36 3/16 in"]),
    ],
)
def test_every_way_of_typing_and_saying_a_length(text: str, meanings: list[str]) -> None:
    assert values(hear(text, ANY)) == meanings


@pytest.mark.parametrize(
    "text",
    [
        "",
        "banana",
        "36 3/16 36",
        "36 lb",
        "5 deg",
        "1/0",
        "thirty banana",
        "thirty six and",
        "and a half",
        "12:30",
        "36 3/16 and then some",
        "top 74, top 75",
        "six foot thirty",
        "1/",
        "/16",
        "--1/16",
        "36''''",
        "nan",
        "inf",
        "1e9",
        "0x10",
    ],
)
def test_what_is_not_wholly_a_reading_is_none(text: str) -> None:
    assert hear(text, LENGTH) == ()


@pytest.mark.parametrize(
    ("text", "hair", "unsure"),
    [
        ("82 5/8 strong", 1, False),
        ("eighty two and five eighths shy", -1, False),
        ("just over 82 5/8", 1, False),
        ("shy of 82 5/8", -1, False),
        ("a strong eighth", 1, False),
        ("a scant eighth", -1, False),
        ("about 82 5/8", 0, True),
        ("82 5/8 I think", 0, True),
        ("82 5/8", 0, False),
    ],
)
def test_a_hair_and_how_sure(text: str, hair: int, unsure: bool) -> None:
    (said,) = hear(text, ANY)
    assert (said.meanings[0].hair, said.meanings[0].unsure) == (hair, unsure)


@pytest.mark.parametrize(
    ("text", "expect", "value"),
    [
        ("a sixteenth low on the left", LEVEL, "1/16 in"),
        ("low on the left, a sixteenth", LEVEL, "1/16 in"),
        ("low on the left a sixteenth", LEVEL, "1/16 in"),
        ("1/16 high on the right", LEVEL, "1/16 in"),
        ("1/16 high on the hinge side", LEVEL, "-1/16 in"),
        ("low on the lock side by 1/16", LEVEL, "-1/16 in"),
        ("-1/16 in", LEVEL, "-1/16 in"),
        ("minus a sixteenth", LEVEL, "-1/16 in"),
        ("minus 1/16", LEVEL, "-1/16 in"),
        ("+1/16", LEVEL, "1/16 in"),
        ("level", LEVEL, "0 in"),
        ("dead on", LEVEL, "0 in"),
        ("dead level", LEVEL, "0 in"),
        ("0", LEVEL, "0 in"),
        ("leans in an eighth at the top", PLUMB, "1/8 in"),
        ("an eighth out at the bottom", PLUMB, "1/8 in"),
        ("leans out 1/8", PLUMB, "-1/8 in"),
        ("1/8 in inside at the top", PLUMB, "1/8 in"),
        ("plumb", PLUMB, "0 in"),
        ("kicked left an eighth", PLANE, "-1/8 in"),
        ("right at the bottom 1/8", PLANE, "-1/8 in"),
        ("proud a sixteenth", FLUSH, "1/16 in"),
        ("a sixteenth shy", FLUSH, "-1/16 in"),
        ("stands out 1/32", FLUSH, "1/32 in"),
        ("behind 1/16", FLUSH, "-1/16 in"),
        ("flush", FLUSH, "0 in"),
        ("open at the top a thirty second", SQUARE, "1/32 in"),
        ("open 1/32 at the bottom", SQUARE, "-1/32 in"),
        ("square", SQUARE, "0 in"),
        ("touching", GAP, "0 in"),
    ],
)
def test_directions_as_crews_say_them(text: str, expect: Expect, value: str) -> None:
    (said,) = hear(text, expect)
    assert [str(meaning.value) for meaning in said.meanings] == [value]
    assert said.meanings[0].side in ("said", "typed", "zero", "none")


@pytest.mark.parametrize(
    ("text", "expect"),
    [
        ("1/16", LEVEL),
        ("1/16 in", PLUMB),
        ("1/8 out", PLUMB),
        ("a sixteenth in", PLUMB),
        ("1/16", FLUSH),
        ("1/16 right", LEVEL),
    ],
)
def test_a_size_without_its_side_says_so(text: str, expect: Expect) -> None:
    (said,) = hear(text, expect)
    assert [meaning.side for meaning in said.meanings] == ["missing"]


@pytest.mark.parametrize(
    ("text", "expect", "state"),
    [
        ("good", GAP, "good"),
        ("tight", GAP, "tight"),
        ("tight at the middle hinge", GAP, "tight"),
        ("stands out", FLUSH, "stands out"),
    ],
)
def test_a_state_without_a_number(text: str, expect: Expect, state: str) -> None:
    (said,) = hear(text, expect)
    assert (said.meanings, said.without_number) == ((), state)


@pytest.mark.parametrize(
    "text",
    [
        "top 74 1/2, middle 74 3/8, bottom 74 7/16",
        "top seventy four and a half middle seventy four and three eighths bottom seventy four and seven sixteenths",
        "74 1/2 at the top, 74 3/8 in the middle, 74 7/16 at the bottom",
        "bottom 74 7/16; top 74 1/2; middle 74 3/8",
        "74 1/2, 74 3/8, 74 7/16",
        "top 74 1/2, middle 74 3/8 and bottom 74 7/16",
        "74 1/2 top 74 3/8 middle 74 7/16 bottom",
    ],
)
def test_several_readings_by_place(text: str) -> None:
    found = {said.place: [str(m.value) for m in said.meanings] for said in hear(text, LENGTH)}
    assert found == {"top": ["74 1/2 in"], "middle": ["74 3/8 in"], "bottom": ["74 7/16 in"]}


def test_places_of_two_words() -> None:
    found = hear("1/16 back at the top left corner, top right flush", FLUSH)
    assert [(said.place, str(said.meanings[0].value)) for said in found] == [
        ("top left", "-1/16 in"),
        ("top right", "0 in"),
    ]


def test_a_correction_by_place() -> None:
    (said,) = hear("the middle one was a quarter", LENGTH)
    assert (said.place, str(said.meanings[0].value)) == ("middle", "1/4 in")


def test_what_is_expected_settles_only_when_just_one_meaning_is_likely() -> None:
    (said,) = hear("eight two and a quarter", LENGTH)
    assert settle(said, LENGTH) is None
    (said,) = hear("thirty six three sixteenths", LENGTH)
    assert settle(said, LENGTH) is None
    (said,) = hear("twenty one eighths", LENGTH)
    chosen = settle(said, LENGTH)
    assert chosen is not None
    assert chosen.value == quantity("20 1/8 in")
    assert settle(said, ANY) is None


@pytest.mark.parametrize(
    ("text", "expect", "why"),
    [
        ("36 lb", LENGTH, "unit"),
        ("5 deg", LEVEL, "unit"),
        ("1/0", LENGTH, "zero-denominator"),
        ("9" * 400, LENGTH, "too-long"),
        ("-1/16 high on the right", LEVEL, "contradiction"),
        ("1/16 proud behind", FLUSH, "contradiction"),
        ("banana", LENGTH, None),
        ("36", LENGTH, None),
    ],
)
def test_why_words_are_no_reading(text: str, expect: Expect, why: str | None) -> None:
    assert why_not(text, expect) == why


@pytest.mark.parametrize("expect", [LENGTH, LEVEL, PLUMB, FLUSH, SQUARE, GAP])
def test_the_example_is_itself_a_reading(expect: Expect) -> None:
    assert all(hear(one, expect) for one in example(expect).split(" or "))


SIXTEENTHS = [Quantity(Fraction(n, 16), "in") for n in range(1, 12 * 12 * 16 + 1)]
THIRTY_SECONDS = [Quantity(Fraction(n, 32), "in") for n in range(1, 36 * 32 + 1)]
MILLIMETRES = [Quantity(Fraction(n), "mm") for n in range(1, 4001)]


def comes_back(value: Quantity) -> None:
    for text in ways(value):
        said = hear(text, Expect(unit=value.unit))
        assert len(said) == 1, (text, said)
        assert value in [meaning.value for meaning in said[0].meanings], (text, said)


@pytest.mark.parametrize(
    "values_", [SIXTEENTHS[::37], THIRTY_SECONDS[::29], MILLIMETRES[::61]], ids=["1/16", "1/32", "mm"]
)
def test_what_is_said_reads_back(values_: list[Quantity]) -> None:
    for value in values_:
        comes_back(value)


@pytest.mark.slow
@pytest.mark.parametrize("values_", [SIXTEENTHS, THIRTY_SECONDS, MILLIMETRES], ids=["1/16", "1/32", "mm"])
def test_every_length_that_is_said_reads_back(values_: list[Quantity]) -> None:
    for value in values_:
        comes_back(value)


@given(st.fractions(min_value=0, max_value=144, max_denominator=64).filter(lambda f: f.denominator in (1, 2, 4, 8, 16)))
def test_words_around_a_number_change_nothing(number: Fraction) -> None:
    text = str(Quantity(number, "in"))
    (plain,) = hear(text, ANY)
    (carried,) = hear(f"okay it's {text}", ANY)
    assert plain.meanings == carried.meanings


@given(st.sampled_from(["low on the left", "high on the left", "low on the right", "high on the lock side"]))
def test_swapping_the_sides_flips_the_sign(words: str) -> None:
    assert LEVEL.sign is not None
    swapped = Expect(about="level", sign=Sign("l", "r", LEVEL.sign.away, LEVEL.sign.toward))
    (one,) = hear(f"1/16 {words}", LEVEL)
    (other,) = hear(f"1/16 {words}", swapped)
    assert one.meanings[0].value == -other.meanings[0].value


@settings(max_examples=300)
@given(st.text(max_size=320), st.sampled_from([LENGTH, LEVEL, PLUMB, FLUSH, SQUARE, GAP]))
def test_anything_may_be_said(text: str, expect: Expect) -> None:
    for said in hear(text, expect):
        for meaning in said.meanings:
            assert isinstance(meaning.value.magnitude, Fraction)
    why_not(text, expect)


WORDS = [
    "one",
    "two",
    "six",
    "eight",
    "thirty",
    "hundred",
    "thousand",
    "and",
    "a",
    "half",
    "quarter",
    "eighth",
    "sixteenths",
    "second",
    "point",
    "foot",
    "inch",
    "in",
    "mm",
    "left",
    "high",
    "top",
    ",",
    "3/16",
    "36",
]


@settings(max_examples=300, deadline=None)
@given(st.lists(st.sampled_from(WORDS), max_size=60).map(" ".join))
def test_any_heap_of_number_words_is_read_fast(text: str) -> None:
    start = time.perf_counter()
    hear(text, LENGTH)
    assert time.perf_counter() - start < 1.0, "a hang"


def test_written_and_spoken() -> None:
    assert written(quantity("36 3/16 in")) == "36 3/16 in"
    assert written(quantity("-1/16 in"), "level", LEVEL.sign) == "1/16 in, the left end is high"
    assert spoken(quantity("36 3/16 in")) == "thirty six and three sixteenths"
    assert spoken(quantity("1/8 in")) == "an eighth"
    assert spoken(quantity("914 mm")) == "nine hundred fourteen millimetres"
    assert spoken(quantity("1/16 in"), "level", LEVEL.sign) == "a sixteenth, the right end is high"


@pytest.mark.parametrize(
    ("text", "expect", "value"),
    [
        ("all flush", FLUSH, "0 in"),
        ("both 1/16 proud", FLUSH, "1/16 in"),
        ("1/8 all round", GAP, "1/8 in"),
        ("all 1/8", GAP, "1/8 in"),
    ],
)
def test_one_reading_for_every_place(text: str, expect: Expect, value: str) -> None:
    found = hear(text, expect)
    assert tuple(said.place for said in found) == expect.places
    assert {str(said.meanings[0].value) for said in found} == {value}


def test_both_words_of_a_place_in_any_order() -> None:
    assert [said.place for said in hear("hinge top 1/8", GAP)] == ["top hinge"]


def test_a_stretch_of_meaning_is_asked_about_even_if_only_it_is_likely() -> None:
    (said,) = hear("two forty", Expect(likely_low=quantity("48 in"), likely_high=quantity("102 in")))
    assert settle(said, Expect(likely_low=quantity("48 in"), likely_high=quantity("102 in"))) is None
