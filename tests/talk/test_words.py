"""Words to exact readings: the trade's ways of typing and saying them, with all they can mean."""

from __future__ import annotations

import time
from dataclasses import replace
from fractions import Fraction
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.procedure.model import Sign
from guide.quantity import quantity
from guide.talk.expect import WhyNot
from guide.talk.numbers import number_words
from guide.talk.vocabulary import language, table
from guide.talk.wording import Wording
from guide.talk.words import Expect, Said, example, hear, settle, why_not

LENGTH = Expect(likely_low=quantity("20 in"), likely_high=quantity("120 in"), places=("top", "middle", "bottom"))
ANY = Expect()
MM = Expect(unit="mm", metric=True)
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
        ('36" 3/16', ["36 3/16 in"]),
        ("36 in 3/16", ["36 3/16 in"]),
        ("36''", ["36 in"]),
        ("6'8", ["80 in"]),
        ("6' 8-1/4\"", ["80 1/4 in"]),
        ("6 ft 8 in", ["80 in"]),
        ("6ft-8", ["80 in"]),
        ("6-8", ["80 in"]),
        ("6-8 1/4", ["80 1/4 in"]),
        ("3-0", ["36 in"]),
        ("6' 12\"", []),
        ("21-3", []),
        ("5' 0\"", ["60 in"]),
        ("6′ 8¼″", ["80 1/4 in"]),
        ("1,250.5 mm", ["1250.5 mm"]),
        ("1.250,5 mm", ["1250.5 mm"]),
        ("1.250 mm", ["1.25 mm", "1250 mm"]),
        ("1.250 in", ["1 1/4 in"]),
        ("1 250 mm", ["1250 mm"]),
        ("914 mil", ["914 mm"]),
        ("91,4 cm", ["91.4 cm"]),
        ("1 m 20", ["1.2 m"]),
        ("1 m 250 mm", ["1.25 m"]),
        ("one metre twenty", ["1.2 m"]),
        ("two metres and five millimetres", ["2.005 m"]),
        ("two metre five", []),
        ("36 - 3/16", ["36 3/16 in", "35 13/16 in"]),
        ("36+3/16", ["36 3/16 in"]),
        ("36 & 3/16", ["36 3/16 in"]),
        ("a 1/16", ["1/16 in"]),
        ("3 16ths", ["3/16 in"]),
        ("5/3", ["1 2/3 in"]),
        ("-1/16 in", ["-1/16 in"]),
        ("minus 1/16", ["-1/16 in"]),
        ("-a sixteenth", ["-1/16 in"]),
        ("- thirty six", ["-36 in"]),
        ("+1/16", ["1/16 in"]),
        ("three oh", ["30 in", "36 in"]),
        ("six eight", ["68 in", "80 in"]),
        ("six twelve", ["612 in", "6 3/25 in", "84 in"]),
        ("ten four and a half", ["124 1/2 in"]),
        ("twenty one and a half", ["21 1/2 in"]),
        ("one oh four", ["104 in"]),
        ("one sixty fourth", ["1/64 in"]),
        ("six foot", ["6 ft"]),
        ("six foot even", ["6 ft"]),
        ("six foot, eight and a quarter", ["80 1/4 in"]),
        ("six and a half foot", ["6 1/2 ft"]),
        ("six foot and a half", ["72 1/2 in", "6 1/2 ft"]),
        ("six foot three sixteenths", ["72 3/16 in"]),
        ("six foot and a half inch", ["72 1/2 in"]),
        ("thirty six inches and a half", ["36 1/2 in"]),
        ("an inch", ["1 in"]),
        ("a foot and a half", ["12 1/2 in", "1 1/2 ft"]),
        ("one and a half inches", ["1 1/2 in"]),
        ("half inch", ["1/2 in"]),
        ("quarter of an inch", ["1/4 in"]),
        ("three quarter inch", ["3/4 in"]),
        ("half a sixteenth", ["1/32 in"]),
        ("thirty six less a sixteenth", ["35 15/16 in"]),
        ("36 minus 1/16", ["35 15/16 in"]),
        ("a sixteenth shy of thirty six", ["35 15/16 in"]),
        ("a sixteenth over thirty six", ["36 1/16 in"]),
        ("an eighth under six foot eight", ["79 7/8 in"]),
        ("thirty-six and a half, please", ["36 1/2 in"]),
        ("thirty six in", ["36 in"]),
        ("6' 1.250\"", ["73 1/4 in"]),
    ],
)
def test_every_way_of_typing_and_saying_a_length(text: str, meanings: list[str]) -> None:
    found = hear(text, ANY)
    assert len(found) == bool(meanings)
    assert [str(meaning.value) for said in found for meaning in said.meanings] == meanings


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
        "36 by 80",
        "36 or 37",
        "36 to 37",
        "not 36",
        "no, 36",
        "make that 36",
        "actually 36",
        "sorry, 36",
        "I meant 36",
        "36 not 37",
        "over 36",
        "less than 36",
        "plus or minus a sixteenth",
        "±1/16",
        "two of those",
        "36 of them",
        "36 by hand",
        "half past",
        "double 36",
        "half of 36",
        "36 3 16",
        "5 16",
        "36 36",
        "74 1/2 3/8",
        "1/2/3",
        "36'' 3'",
        "is 36",
        "is that 36",
        "next",
        "stop",
        "wait",
        "what did we get for the head",
        "36 on the left",
        "top of the morning",
        ",",
        "-",
        "and",
        "the",
        "it's",
        "about",
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
        ("82 5/8+", 1, False),
        ("82 5/8 -", -1, False),
        ("82 5/8 plus", 1, False),
        ("82 5/8 minus", -1, False),
        ("an eighth heavy", 1, False),
        ("a fat eighth", 1, False),
        ("a full eighth", 1, False),
        ("a good eighth", 1, False),
        ("an eighth light", -1, False),
        ("a bare eighth", -1, False),
        ("a tight eighth", -1, False),
        ("82 5/8 and a hair", 1, False),
        ("a hair over 82 5/8", 1, False),
        ("a touch under 82 5/8", -1, False),
        ("82 5/8, a hair shy", -1, False),
        ("just shy of 82 5/8", -1, False),
        ("barely an eighth", -1, False),
        ("nearly 82 5/8", -1, True),
        ("not quite 82 5/8", -1, True),
        ("82 5/8 ish", 0, True),
        ("82 5/8-ish", 0, True),
        ("82 5/8 or so", 0, True),
        ("82 5/8 give or take", 0, True),
        ("maybe 82 5/8", 0, True),
        ("roughly 82 5/8", 0, True),
        ("~82 5/8", 0, True),
        ("82 5/8?", 0, True),
        ("it's 82 5/8 strong?", 1, True),
        ("probably about 82 5/8", 0, True),
        ("about a strong eighth", 1, True),
        ("82 5/8 even", 0, False),
        ("82 5/8 on the nose", 0, False),
        ("bang on 82 5/8", 0, False),
        ("exactly 82 5/8", 0, False),
    ],
)
def test_a_hair_and_how_sure(text: str, hair: int, unsure: bool) -> None:
    (said,) = hear(text, ANY)
    assert (said.meanings[0].hair, said.meanings[0].unsure) == (hair, unsure)


def test_a_correction_by_place() -> None:
    (said,) = hear("the middle one was a quarter", LENGTH)
    assert (said.place, str(said.meanings[0].value)) == ("middle", "1/4 in")


def test_what_is_expected_settles_only_when_just_one_meaning_is_likely() -> None:
    (said,) = hear("36 3/16", LENGTH)
    assert settle(said, LENGTH) == settle(said, ANY) == said.meanings[0]
    (said,) = hear("300", LENGTH)
    assert settle(said, LENGTH) == said.meanings[0]
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
    "expect",
    [
        LENGTH,
        LEVEL,
        PLUMB,
        FLUSH,
        SQUARE,
        GAP,
        MM,
        Expect(unit="mm", about="flush"),
        Expect(unit="lb", about="amount"),
        Expect(unit="", about="amount"),
        Expect(about="length", sign=Sign("right", "left", ("right",), ("left",))),
        Expect(about="twist", sign=Sign("one way", "the other way")),
    ],
)
def test_the_example_is_itself_a_reading(expect: Expect) -> None:
    assert all(hear(one, expect) for one in example(expect).split(" or "))


@pytest.mark.parametrize(
    ("expect", "words"),
    [
        (LENGTH, "36 3/16 or 914 mm"),
        (LEVEL, "1/16, high on the right"),
        (PLUMB, "1/16 in at the top"),
        (FLUSH, "1/16 proud"),
        (SQUARE, "1/16, open at the top"),
        (GAP, "1/16"),
        (MM, "914 mm"),
        (Expect(unit="mm", about="flush"), "12 mm proud"),
        (Expect(unit="cm"), "12 cm"),
        (Expect(unit="lb", about="amount"), "12 lb"),
        (Expect(unit="", about="amount"), "12"),
        (Expect(about="length", sign=Sign("right", "left", ("right",), ("left",))), "36 3/16 or 914 mm"),
        (Expect(unit="mm", about="length", sign=Sign("right", "left", ("right",), ("left",))), "914 mm right"),
        (Expect(about="twist", sign=Sign("one way", "the other way")), "+1/16"),
        (Expect(about="square", sign=Sign("wide", "tight")), "+1/16"),
    ],
)
def test_the_example_goes_with_what_is_asked(expect: Expect, words: str) -> None:
    assert example(expect) == words


def test_a_size_without_its_side_is_likely_if_it_is_on_either_side() -> None:
    expect = replace(LEVEL, likely_low=quantity("-40 in"), likely_high=quantity("-20 in"))
    (said,) = hear("thirty six sixteenths", expect)
    settled = settle(said, expect)
    assert settled is not None
    assert (str(settled.value), settled.side) == ("30 3/8 in", "missing")
    assert settle(said, replace(expect, likely_high=quantity("0 in"))) is None


@pytest.mark.parametrize(
    ("text", "hair", "unsure", "given"),
    [
        ("an eighth strong", 1, False, False),
        ("3 mm shy", -1, False, True),
        ("about 3 mm", 0, True, True),
    ],
)
def test_what_was_said_with_a_size_without_its_side_is_kept(text: str, hair: int, unsure: bool, given: bool) -> None:
    (said,) = hear(text, LEVEL)
    assert [(one.side, one.hair, one.unsure, one.unit_given) for one in said.meanings] == [
        ("missing", hair, unsure, given)
    ]


@pytest.mark.parametrize(
    ("text", "expect"),
    [
        ("nothing", ANY),
        ("nothing", GAP),
        ("36 at the top and", LENGTH),
        ("1/16 high on the right and", LEVEL),
        ("minus at the top 36", LENGTH),
        ("minus um 36", ANY),
        ("minus um", ANY),
        ("um 36 um 3/16", ANY),
        ("tight all round", GAP),
    ],
)
def test_what_is_cut_off_or_parts_a_number_is_no_reading(text: str, expect: Expect) -> None:
    assert hear(text, expect) == ()


@pytest.mark.parametrize(
    ("text", "expect", "place", "value"),
    [
        ("none", LEVEL, None, "0 in"),
        ("um 36 um", ANY, None, "36 in"),
        ("right, 36", ANY, None, "36 in"),
        ("right so 36", ANY, None, "36 in"),
        ("right so 1/8", Expect(about="gap", places=("left side", "right side")), "right side", "1/8 in"),
        ("left leans right 1/8", replace(PLANE, places=("left", "right")), "left", "1/8 in"),
        ("left leans left 1/8", replace(PLANE, places=("left", "right")), "left", "-1/8 in"),
        ("leans to the left 1/8", replace(PLANE, places=("left", "right")), None, "-1/8 in"),
    ],
)
def test_words_that_may_mean_nothing_a_place_or_a_side(
    text: str, expect: Expect, place: str | None, value: str
) -> None:
    (said,) = hear(text, expect)
    assert (said.place, [str(one.value) for one in said.meanings]) == (place, [value])


def test_a_comma_that_may_part_two_likely_numbers_or_belong_to_one_is_asked_about() -> None:
    expect = replace(TWO, likely_low=quantity("20 in"), likely_high=quantity("120 in"))
    assert hear("74,75", expect) == ()
    assert why_not("74,75", expect) == "count"


def test_so_many_readings_in_one_breath_and_no_more() -> None:
    for count, readings in ((24, 24), (25, 0)):
        expect = Expect(places=tuple(f"point {number}" for number in range(count)))
        assert len(hear(", ".join(str(number) for number in range(1, count + 1)), expect)) == readings


def test_a_sign_that_was_typed_is_known_as_such() -> None:
    assert [hear(text, ANY)[0].meanings[0].side for text in ("-1/16", "+1/16", "1/16")] == ["typed", "typed", "none"]


TWO = Expect(places=("top", "bottom"))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("top 36 bottom 37", {"top": "36 in", "bottom": "37 in"}),
        ("36 at the bottom 37 at the top", {"bottom": "36 in", "top": "37 in"}),
        ("36 then 37", {"top": "36 in", "bottom": "37 in"}),
        ("36, 37 and 38", {}),
        ("36 3/16 37 1/4", {}),
        ("then 36", {None: "36 in"}),
    ],
)
def test_two_places_in_one_breath(text: str, found: dict[str | None, str]) -> None:
    assert {said.place: str(said.meanings[0].value) for said in hear(text, TWO)} == found


@pytest.mark.parametrize(
    ("text", "expect", "why"),
    [
        ("36 lb", LENGTH, "unit"),
        ("5 deg", LEVEL, "unit"),
        ("0.5 mm/m low on the left", LEVEL, "unit"),
        ("half a percent", LEVEL, "unit"),
        ("half an hour", LENGTH, "unit"),
        ("36 in", Expect(unit="lb", about="amount"), "unit"),
        ("1/0", LENGTH, "zero-denominator"),
        ("36 3/0", LENGTH, "zero-denominator"),
        ("top 1⁄0", LENGTH, "zero-denominator"),
        ("9" * 400, LENGTH, "too-long"),
        ("-1/16 high on the right", LEVEL, "contradiction"),
        ("1/16 proud behind", FLUSH, "contradiction"),
        ("1/16 at the hinge", GAP, "place"),
        ("1/16 low at the back", LEVEL, "side"),
        ("top 74, top 75", LENGTH, "count"),
        ("top 74, 75", LENGTH, "count"),
        ("banana", LENGTH, None),
        ("36 bananas", LENGTH, None),
        ("", LENGTH, None),
        ("36", LENGTH, None),
    ],
)
def test_why_words_are_no_reading(text: str, expect: Expect, why: str | None) -> None:
    assert why_not(text, expect) == why


def test_every_reason_has_its_sentence() -> None:
    wording = Wording.load("en")
    for why in get_args(WhyNot):
        assert wording.say(f"why-not.{why}", words="36 lb", unit="in", example="36 3/16")


@pytest.mark.parametrize(
    ("text", "expect", "values"),
    [
        ("nine fourteen", MM, ["914 mm", "9.14 mm"]),
        ("six eight", MM, ["68 mm"]),
        ("36 3/16", MM, ["36.1875 mm", "36 3/16 in"]),
        ("three sixteenths", MM, ["3/16 mm", "3/16 in"]),
        ("a half", MM, ["0.5 mm", "1/2 in"]),
        ("twelve and a half", MM, ["12.5 mm"]),
        ("12.5", MM, ["12.5 mm"]),
        ("36 3/16 in", MM, ["36 3/16 in"]),
        ("thirty seconds", Expect(unit="s", about="amount"), ["30 s"]),
        ("an hour and a half", Expect(unit="min", about="amount"), ["1 1/2 h"]),
        ("a hundred and fifty pounds", Expect(unit="lb", about="amount"), ["150 lb"]),
        ("20 square feet", Expect(unit="ft2", about="amount"), ["20 ft2"]),
        ("20 sq ft", Expect(unit="ft2", about="amount"), ["20 ft2"]),
        ("two percent", Expect(unit="%", about="amount"), ["2 %"]),
        ("2 mm/m", Expect(unit="mm/m", about="level"), ["2 mm/m"]),
        ("half a degree", Expect(unit="deg", about="amount"), ["0.5 deg"]),
        ("twelve", Expect(unit="", about="amount"), ["12"]),
        ("a sixteenth over four feet", Expect(about="gap"), []),
    ],
)
def test_other_units(text: str, expect: Expect, values: list[str]) -> None:
    found = [str(meaning.value) for said in hear(text, expect) for meaning in said.meanings]
    assert [value.replace("3/16 mm", "0.1875 mm") for value in values] == found or values == found


@pytest.mark.parametrize("text", ["36 3/16", "-1/16 in", "914 mm", "2.5 m", "6' 8\""])
def test_whether_a_unit_was_given(text: str) -> None:
    (said,) = hear(text, ANY)
    assert said.meanings[0].unit_given == any(c.isalpha() or c in "'\"" for c in text)


def test_the_words_of_a_reading_are_as_they_were_typed() -> None:
    assert [said.words for said in hear("Top:  74¾ STRONG; middle 74 3 / 8.", LENGTH)] == [
        "Top:  74¾ STRONG",
        "middle 74 3 / 8",
    ]
    assert hear("  OK, it's 36½ ", ANY)[0].words == "OK, it's 36½"


AROUND = language()["around"]
NUMBERS = [
    "36 3/16",
    "36",
    "thirty six and three sixteenths",
    "an eighth",
    "914 mm",
    "six foot eight and a quarter",
    ".125",
]


@pytest.mark.parametrize("number", NUMBERS)
def test_words_around_a_number_change_nothing(number: str) -> None:
    (plain,) = hear(number, ANY)
    for words in (*AROUND["before"], *AROUND["anywhere"], *AROUND["before-unless-side"], "okay so it's", "um, I get"):
        assert [said.meanings for said in hear(f"{words} {number}", ANY)] == [plain.meanings], words
    for words in (*AROUND["behind"], *AROUND["anywhere"], *AROUND["exact"], "it is, mate"):
        assert [said.meanings for said in hear(f"{number} {words}", ANY)] == [plain.meanings], words
    for words in AROUND["unsure"]:
        for text in (f"{words} {number}", f"{number} {words}", f"it's {words} {number}"):
            (unsure,) = hear(text, ANY)
            assert unsure.meanings == tuple(replace(one, unsure=True) for one in plain.meanings), text


@pytest.mark.parametrize(
    ("text", "expect"),
    [
        ("it's thirty six and three sixteenths strong", ANY),
        ("top 74 1/2, middle 74 3/8, bottom 74 7/16", LENGTH),
        ("the middle one was a quarter", LENGTH),
        ("a sixteenth low on the left", LEVEL),
        ("leans in an eighth at the top", PLUMB),
        ("1/16 proud of the wall at the top left", FLUSH),
        ("six foot eight and a quarter", ANY),
        ("dead on", LEVEL),
        ("tight at the middle hinge", GAP),
    ],
)
def test_no_word_is_passed_over(text: str, expect: Expect) -> None:
    assert hear(text, expect) != ()
    words = text.split()
    for strange in ("banana", "no", "not", "times", "7'7'7"):
        for at in range(len(words) + 1):
            assert hear(" ".join([*words[:at], strange, *words[at:]]), expect) == (), (strange, at)


@settings(max_examples=300)
@given(st.text(max_size=320), st.sampled_from([LENGTH, LEVEL, PLUMB, FLUSH, SQUARE, GAP]))
def test_anything_may_be_said(text: str, expect: Expect) -> None:
    for said in hear(text, expect):
        for meaning in said.meanings:
            assert isinstance(meaning.value.magnitude, Fraction)
    why_not(text, expect)


HEAP = sorted({*table("around", "before").words(), *table("hair", "over-behind").words(), *number_words()})
HEAP += [
    "left",
    "right",
    "high",
    "low",
    "in",
    "out",
    "at",
    "top",
    "bottom",
    "leans",
    "proud",
    "shy",
    "mm",
    "foot",
    "inch",
]
HEAP += [",", ";", "36", "3/16", "36,5", "-1/8", "6'", "both", "all", "tight", "flush"]


@settings(max_examples=300, deadline=None)
@given(
    st.lists(st.sampled_from(HEAP), max_size=60).map(" ".join),
    st.sampled_from([LENGTH, LEVEL, PLUMB, PLANE, FLUSH, SQUARE, GAP, MM]),
)
def test_any_heap_of_words_is_read_fast(text: str, expect: Expect) -> None:
    start = time.process_time()
    for said in hear(text, expect):
        assert all(type(meaning.value.magnitude) is Fraction for meaning in said.meanings)
        assert len({meaning.value for meaning in said.meanings}) == len(said.meanings)
    why_not(text, expect)
    assert time.process_time() - start < 2


HOSTILE = [
    "left ",
    "left and ",
    "in ",
    "out at the bottom ",
    "thirty six ",
    "one ",
    "1/8 ",
    "a ",
    "and a half ",
    "a hair ",
]


@pytest.mark.parametrize("words", HOSTILE)
@pytest.mark.parametrize("expect", [LENGTH, LEVEL, PLUMB, PLANE, FLUSH, GAP])
def test_what_is_said_over_and_over_is_refused_fast(words: str, expect: Expect) -> None:
    text = (words * 300)[:300]
    start = time.process_time()
    assert all(not said.meanings for said in hear(text, expect))
    assert time.process_time() - start < 1


def test_more_ways_than_are_looked_at_are_no_reading(monkeypatch: pytest.MonkeyPatch) -> None:
    assert hear("a sixteenth low on the left", LEVEL) != ()
    monkeypatch.setattr("guide.talk.reading.STEPS_MOST", 2)
    assert hear("a sixteenth low on the left", LEVEL) == ()
    assert why_not("a sixteenth low on the left", LEVEL) == "too-long"


def test_usual_words_take_a_small_part_of_what_the_search_may() -> None:
    start = time.process_time()
    for _ in range(20):
        hear("top seventy four and a half, middle seventy four and three eighths, bottom 74 7/16 strong", LENGTH)
        hear("it's a strong sixteenth low on the left", LEVEL)
    assert (time.process_time() - start) / 40 < 0.02


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
