"""Places named in an utterance, one reading or several in one breath, and every reading of the shipped procedures."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.procedure import load, shipped
from guide.procedure.model import Reading
from guide.quantity import Quantity, quantity
from guide.talk.say import written
from guide.talk.words import Expect, example, hear, why_not

HEIGHTS = ("bottom", "middle", "top")
CORNERS = ("top left", "bottom left", "top right", "bottom right")
SIDES = ("left side", "right side", "head")
HINGES = ("left top", "left middle", "left bottom", "right top", "right middle", "right bottom")
DIAGONALS = ("bottom left to top right", "bottom right to top left")
PLANES = ("left side, in the wall's plane", "right side, across the wall")


def by_place(text: str, places: tuple[str, ...], **more: Quantity) -> dict[str | None, list[str]]:
    found = hear(text, Expect(about="gap", places=places, **more))  # type: ignore[arg-type]
    return {said.place: [str(meaning.value) for meaning in said.meanings] for said in found}


@pytest.mark.parametrize(
    ("text", "places", "place"),
    [
        ("top 1/8", HEIGHTS, "top"),
        ("1/8 top", HEIGHTS, "top"),
        ("TOP 1/8", HEIGHTS, "top"),
        ("top: 1/8", HEIGHTS, "top"),
        ("top = 1/8", HEIGHTS, "top"),
        ("top - 1/8", HEIGHTS, "top"),
        ("top-1/8", HEIGHTS, "top"),
        ("top, 1/8", HEIGHTS, "top"),
        ("top - an eighth", HEIGHTS, "top"),
        ("1/8 - top", HEIGHTS, "top"),
        ("1/8 at the top", HEIGHTS, "top"),
        ("1/8 in the middle", HEIGHTS, "middle"),
        ("1/8 @ top", HEIGHTS, "top"),
        ("1/8 up top", HEIGHTS, "top"),
        ("the top is an eighth", HEIGHTS, "top"),
        ("the top's an eighth", HEIGHTS, "top"),
        ("the middle one was an eighth", HEIGHTS, "middle"),
        ("the middle reading is 1/8", HEIGHTS, "middle"),
        ("middle one eighth", HEIGHTS, "middle"),
        ("centre 1/8", HEIGHTS, "middle"),
        ("top at the top 1/8", HEIGHTS, "top"),
        ("top left 1/8", CORNERS, "top left"),
        ("left top 1/8", CORNERS, "top left"),
        ("the top left corner is 1/8", CORNERS, "top left"),
        ("1/8 at the bottom right", CORNERS, "bottom right"),
        ("upper left 1/8", CORNERS, "top left"),
        ("top, left 1/8", CORNERS, "top left"),
        ("left side 1/8", SIDES, "left side"),
        ("left 1/8", SIDES, "left side"),
        ("on the left 1/8", SIDES, "left side"),
        ("on the left hand side 1/8", SIDES, "left side"),
        ("lefthand side 1/8", SIDES, "left side"),
        ("head 1/8", SIDES, "head"),
        ("top left 1/8", HINGES, "left top"),
        ("bottom left to top right 1/8", DIAGONALS, "bottom left to top right"),
        ("bottom right to top left 1/8", DIAGONALS, "bottom right to top left"),
        ("bottom right 1/8", DIAGONALS, "bottom right to top left"),
        ("left side, in the wall's plane, 1/8", PLANES, "left side, in the wall's plane"),
        ("right side across the wall 1/8", PLANES, "right side, across the wall"),
        ("left 1/8", PLANES, "left side, in the wall's plane"),
    ],
)
def test_a_place_is_known_by_its_name(text: str, places: tuple[str, ...], place: str) -> None:
    assert by_place(text, places) == {place: ["1/8 in"]}


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("left 1/8", CORNERS),
        ("top 1/8", CORNERS),
        ("left 1/8", HINGES),
        ("wall 1/8", PLANES),
        ("bottom 1/8", DIAGONALS),
        ("left 1/8, right 1/8", CORNERS),
    ],
)
def test_a_name_that_several_places_have_is_not_guessed(text: str, places: tuple[str, ...]) -> None:
    expect = Expect(about="gap", places=places)
    assert hear(text, expect) == ()
    assert why_not(text, expect) == "place"


@pytest.mark.parametrize(
    "text", ["sill 1/8", "1/8 at the sill", "top of the door 1/8", "top bottom 1/8", "top 1/8 bottom"]
)
def test_what_is_no_place_is_not_dropped(text: str) -> None:
    assert by_place(text, HEIGHTS) == {}


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("top one ten", "110 in"),
        ("middle one and a half", "1 1/2 in"),
        ("middle one inch", "1 in"),
        ("the middle one, ten", "10 in"),
        ("the middle one is ten", "10 in"),
    ],
)
def test_one_is_a_number_or_the_place(text: str, found: str) -> None:
    (values,) = by_place(text, HEIGHTS).values()
    assert values[0] == found


@pytest.mark.parametrize("text", ["all 36", "36 all round", "both 36", "36 everywhere"])
def test_one_place_is_not_called_all_of_them(text: str) -> None:
    assert by_place(text, ("sill",)) == {}


def test_a_number_alone_is_no_place() -> None:
    hinges = ("hinge 1", "hinge 2", "half landing")
    assert by_place("1 1/8", hinges) == {None: ["1 1/8 in"]}
    assert by_place("hinge 1 1/8", hinges) == {"hinge 1": ["1/8 in"]}
    assert by_place("half", hinges) == {None: ["1/2 in"]}
    assert by_place("landing 1/2", hinges) == {"half landing": ["1/2 in"]}


def test_in_is_a_word_before_a_place_and_a_unit_elsewhere() -> None:
    metric = Expect(unit="mm", places=HEIGHTS)
    (said,) = hear("12 in the middle", metric)
    assert [(said.place, str(one.value), one.unit_given) for one in said.meanings] == [("middle", "12 mm", False)]
    (said,) = hear("1/2 in in the middle", metric)
    assert [(said.place, str(one.value), one.unit_given) for one in said.meanings] == [("middle", "1/2 in", True)]


ROW = {"bottom": ["1/8 in"], "middle": ["3/32 in"], "top": ["1/4 in"]}


@pytest.mark.parametrize(
    "text",
    [
        "bottom 1/8, middle 3/32, top 1/4",
        "bottom 1/8 middle 3/32 top 1/4",
        "top 1/4; bottom 1/8; middle 3/32",
        "bottom 1/8\nmiddle 3/32\ntop 1/4",
        "1/8 at the bottom, 3/32 in the middle, 1/4 at the top",
        "1/8 bottom 3/32 middle 1/4 top",
        "bottom 1/8, middle 3/32 and top 1/4",
        "bottom 1/8 then middle 3/32 then top 1/4",
        "bottom - 1/8, middle - 3/32, top - 1/4",
        "bottom 1/8 - middle 3/32 - top 1/4",
        "okay so bottom an eighth, middle's three thirty seconds and the top is a quarter",
        "bottom an eighth middle three thirty seconds top a quarter",
        "1/8, 3/32, 1/4",
        "1/8,3/32,1/4",
        "1/8 3/32 1/4",
        "1/8; 3/32; 1/4",
        "1/8, 3/32 and 1/4",
        "an eighth, three thirty seconds, a quarter",
        "an eighth three thirty seconds a quarter",
        "an eighth and three thirty seconds and a quarter",
    ],
)
def test_several_in_one_breath(text: str) -> None:
    assert by_place(text, HEIGHTS) == ROW


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("top and bottom an eighth", {"top": ["1/8 in"], "bottom": ["1/8 in"]}),
        ("an eighth at the top and the bottom", {"top": ["1/8 in"], "bottom": ["1/8 in"]}),
        ("top and bottom 1/8, middle 3/32", {"top": ["1/8 in"], "bottom": ["1/8 in"], "middle": ["3/32 in"]}),
        ("1/8 all round", {place: ["1/8 in"] for place in HEIGHTS}),
        ("all 1/8", {place: ["1/8 in"] for place in HEIGHTS}),
        ("both 1/8", {}),
        ("1/8, 3/32", {None: ["3/32 in"]}),
        ("top 1/8, 3/32, 1/4", {}),
        ("top 1/8, top 1/4", {}),
        ("1/8 1/4", {}),
        ("1/8 3/32 1/4 1/2", {}),
        ("6 2 1/2", {}),
        ("twenty four seven", {}),
        ("top and 1/8", {}),
        ("top 1/8 and", {}),
        ("1/8 and top and", {}),
    ],
)
def test_places_together_and_rows_that_do_not_fit(text: str, found: dict[str | None, list[str]]) -> None:
    assert by_place(text, HEIGHTS) == found


def test_both_of_two_places() -> None:
    assert by_place("both 1/8", DIAGONALS) == {place: ["1/8 in"] for place in DIAGONALS}


def test_places_with_a_state_and_with_a_number() -> None:
    found = hear("top tight, middle an eighth, bottom touching", Expect(about="gap", places=HEIGHTS))
    assert [(said.place, said.without_number, [str(one.value) for one in said.meanings]) for said in found] == [
        ("top", "tight", []),
        ("middle", None, ["1/8 in"]),
        ("bottom", None, ["0 in"]),
    ]
    assert hear("good, good, 1/8", Expect(about="gap", places=HEIGHTS)) == ()


@pytest.mark.parametrize(
    ("text", "likely", "found"),
    [
        ("11,112", None, {None: ["11112 in", "11 14/125 in"]}),
        ("111,112", ("88 in", "150 in"), {}),
        ("111,112", ("111 1/16 in", "111 1/8 in"), {None: ["111 14/125 in"]}),
        ("12,30", ("5 in", "20 in"), {None: ["12 3/10 in"]}),
        ("8,12", ("5 in", "20 in"), {}),
        ("8, 12", ("5 in", "20 in"), dict(zip(DIAGONALS, (["8 in"], ["12 in"]), strict=True))),
        ("8,12", ("8 1/16 in", "20 in"), {None: ["8 3/25 in"]}),
        ("8,12", ("11 in", "20 in"), {}),
    ],
)
def test_a_comma_between_digits_is_one_number_or_parts_two_by_what_is_likely(
    text: str, likely: tuple[str, str] | None, found: dict[str | None, list[str]]
) -> None:
    known = {"likely_low": quantity(likely[0]), "likely_high": quantity(likely[1])} if likely else {}
    assert by_place(text, DIAGONALS, **known) == found


SMALL = st.fractions(min_value=0, max_value=90, max_denominator=32).filter(lambda f: 32 % f.denominator == 0)


@given(
    st.lists(SMALL, min_size=3, max_size=3),
    st.sampled_from(list(permutations(HEIGHTS))),
    st.sampled_from([", ", "; ", " "]),
)
def test_any_numbers_in_any_order_of_places(numbers: list[Fraction], order: tuple[str, ...], between: str) -> None:
    wanted = {place: [str(Quantity(number))] for place, number in zip(order, numbers, strict=True)}
    first = between.join(f"{place} {value[0]}" for place, value in wanted.items())
    last = between.join(f"{value[0]} {place}" for place, value in wanted.items())
    assert by_place(first, HEIGHTS) == wanted
    assert by_place(last, HEIGHTS) == wanted


NUMBERS = [
    (f"{name}: {reading.name}", reading)
    for name in shipped()
    for reading in load(name).readings.values()
    if reading.answer == "number"
]


def expect_of(reading: Reading) -> Expect:
    return Expect(unit=reading.unit, about=reading.about, sign=reading.sign, places=reading.places)


@pytest.mark.parametrize("reading", [reading for _, reading in NUMBERS], ids=[name for name, _ in NUMBERS])
def test_every_reading_of_a_shipped_procedure_takes_its_example_at_each_place(reading: Reading) -> None:
    expect = expect_of(reading)
    for text in example(expect).split(" or "):
        (plain,) = hear(text, expect)
        assert len(plain.meanings) == 1
        assert plain.meanings[0].side != "missing"
        for place in reading.places:
            for said in (f"{place}, {text}", f"{text}, {place}", f"{place} {text}"):
                (found,) = hear(said, expect)
                assert (found.place, found.meanings) == (place, plain.meanings), said
        if reading.places:
            row = hear("; ".join(f"{place} {text}" for place in reading.places), expect)
            assert [said.place for said in row] == list(reading.places)
        if reading.sign is not None:
            for value in (plain.meanings[0].value, -plain.meanings[0].value):
                (shown,) = hear(written(value, reading.about, reading.sign), expect)
                assert [meaning.value for meaning in shown.meanings] == [value]
