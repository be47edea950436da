"""Which way a reading lies: the trade's words for it, alone or beside the number, in any order, with their signs."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from guide.procedure.model import Sign
from guide.quantity import quantity
from guide.talk.words import Expect, hear, settle, why_not

LEVEL = Expect(about="level", sign=Sign("the right end is high", "the left end is high", ("right",), ("left",)))
HINGE = Expect(
    about="level", sign=Sign("the lock side is high", "the hinge side is high", ("lock side",), ("hinge side",))
)
ACROSS = Expect(
    about="plumb",
    sign=Sign("the top leans to the outside", "the top leans to the inside", ("outside",), ("inside",)),
    places=("left side", "right side"),
)
ALONG = Expect(
    about="plumb",
    sign=Sign("the top leans to the right", "the top leans to the left", ("right",), ("left",)),
    places=("left side", "right side"),
)
FLUSH = Expect(about="flush", places=("top left", "bottom left", "top right", "bottom right"))
SQUARE = Expect(
    about="square",
    sign=Sign("open at the far end of the leg", "open in the corner", ("far end", "end"), ("corner",)),
    places=("top left", "top right", "bottom left", "bottom right"),
)
TOP_OR_BOTTOM = Expect(about="square", sign=Sign("open at the top", "open at the bottom", ("top",), ("bottom",)))
TWIST = Expect(
    about="twist", sign=Sign("the top left is forward", "the top right is forward", ("top left",), ("top right",))
)
GAP = Expect(about="gap", places=("top hinge", "middle hinge", "bottom hinge"))
OFFSET = Expect(about="length", sign=Sign("to the right", "to the left", ("right",), ("left",)))


def heard(text: str, expect: Expect) -> tuple[str | None, list[tuple[str, str]]] | None:
    found = hear(text, expect)
    if len(found) != 1:
        return None
    return found[0].place, [(str(meaning.value), meaning.side) for meaning in found[0].meanings]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("a sixteenth low on the left", "1/16 in"),
        ("low on the left, a sixteenth", "1/16 in"),
        ("low on the left by a sixteenth", "1/16 in"),
        ("left low a sixteenth", "1/16 in"),
        ("the left's low a sixteenth", "1/16 in"),
        ("the left side is low by 1/16", "1/16 in"),
        ("1/16 low left", "1/16 in"),
        ("left end down 1/16", "1/16 in"),
        ("drops a sixteenth to the left", "1/16 in"),
        ("falls a sixteenth to the left", "1/16 in"),
        ("slopes down to the left 1/16", "1/16 in"),
        ("1/16 high on the right", "1/16 in"),
        ("high right 1/16", "1/16 in"),
        ("up a sixteenth on the right", "1/16 in"),
        ("the right end is high by 1/16", "1/16 in"),
        ("out of level a sixteenth, high on the right", "1/16 in"),
        ("1/16 high on the right and low on the left", "1/16 in"),
        ("high on the right, low on the left, 1/16", "1/16 in"),
        ("right high left low 1/16", "1/16 in"),
        ("1/16 low on the right", "-1/16 in"),
        ("1/16 high on the left", "-1/16 in"),
        ("2 mm high on the left", "-2 mm"),
        ("low left, low on the left, 1/16", "1/16 in"),
        ("low on the left, on the left side, 1/16", "1/16 in"),
        ("a strong sixteenth low on the right", "-1/16 in"),
        ("about a sixteenth low on the right", "-1/16 in"),
    ],
)
def test_level(text: str, value: str) -> None:
    assert heard(text, LEVEL) == (None, [(value, "said")])


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1/16 high on the lock side", "1/16 in"),
        ("1/16 low on the hinge side", "1/16 in"),
        ("high on the latch side 1/16", "1/16 in"),
        ("1/16 high at the hinges", "-1/16 in"),
        ("a sixteenth low on the strike side", "-1/16 in"),
    ],
)
def test_level_by_the_sides_of_a_door(text: str, value: str) -> None:
    assert heard(text, HINGE) == (None, [(value, "said")])


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("leans in an eighth at the top", "-1/8 in"),
        ("an eighth in at the top", "-1/8 in"),
        ("an eighth out at the bottom", "-1/8 in"),
        ("out at the bottom an eighth", "-1/8 in"),
        ("the bottom kicks out 1/8", "-1/8 in"),
        ("kicked out at the bottom an eighth", "-1/8 in"),
        ("leans in 1/8", "-1/8 in"),
        ("tipped in 1/8", "-1/8 in"),
        ("leans to the inside by an eighth", "-1/8 in"),
        ("in at the top, out at the bottom, 1/8", "-1/8 in"),
        ("1/8 out at the top", "1/8 in"),
        ("leans out an eighth", "1/8 in"),
        ("the top is out an eighth", "1/8 in"),
        ("bottom's in an eighth", "1/8 in"),
        ("1/8 outside", "1/8 in"),
        ("1/8 outward at the top", "1/8 in"),
        ("1/8 to the outside", "1/8 in"),
        ("1/8 in in at the top", "-1/8 in"),
        ("1/8 inch in at the top", "-1/8 in"),
    ],
)
def test_plumb_across_the_wall(text: str, value: str) -> None:
    assert heard(text, ACROSS) == (None, [(value, "said")])


@pytest.mark.parametrize(
    ("text", "place", "value"),
    [
        ("kicked left an eighth", None, "-1/8 in"),
        ("leans left an eighth", None, "-1/8 in"),
        ("1/8 left", None, "-1/8 in"),
        ("1/8 to the left", None, "-1/8 in"),
        ("1/8 left at the top", None, "-1/8 in"),
        ("1/8 left at the bottom", None, "1/8 in"),
        ("right at the bottom 1/8", None, "-1/8 in"),
        ("bottom kicked left an eighth", None, "1/8 in"),
        ("left side 1/8 right", "left side", "1/8 in"),
        ("left side, 1/8 left", "left side", "-1/8 in"),
        ("left side left 1/8", "left side", "-1/8 in"),
        ("left leans right 1/8", "left side", "1/8 in"),
        ("left 1/8 right", "left side", "1/8 in"),
        ("the right side leans to the left by an eighth", "right side", "-1/8 in"),
        ("the right one leans left an eighth", "right side", "-1/8 in"),
        ("1/8 right on the left side", "left side", "1/8 in"),
    ],
)
def test_plumb_along_the_wall_where_sides_and_places_have_the_same_names(
    text: str, place: str | None, value: str
) -> None:
    assert heard(text, ALONG) == (place, [(value, "said")])


@pytest.mark.parametrize("text", ["left an eighth", "left, right 1/8", "right, an eighth"])
def test_what_may_be_a_place_or_a_side_is_not_guessed(text: str) -> None:
    assert hear(text, ALONG) == ()
    assert why_not(text, ALONG) in ("place", "contradiction")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("proud a sixteenth", "1/16 in"),
        ("1/16 proud", "1/16 in"),
        ("proud by 1/16", "1/16 in"),
        ("1/16 proud of the wall", "1/16 in"),
        ("stands out 1/16", "1/16 in"),
        ("sticking out a sixteenth", "1/16 in"),
        ("sits proud a sixteenth", "1/16 in"),
        ("shy a sixteenth", "-1/16 in"),
        ("a sixteenth shy", "-1/16 in"),
        ("shy by 1/16", "-1/16 in"),
        ("behind a sixteenth", "-1/16 in"),
        ("1/16 behind the wall", "-1/16 in"),
        ("back a sixteenth", "-1/16 in"),
        ("set back 1/16", "-1/16 in"),
        ("recessed 1/16", "-1/16 in"),
        ("a strong sixteenth proud", "1/16 in"),
        ("a sixteenth strong, shy of the wall", "-1/16 in"),
    ],
)
def test_flush(text: str, value: str) -> None:
    assert heard(text, FLUSH) == (None, [(value, "said")])


def test_shy_is_a_side_of_a_face_and_a_hair_of_a_length() -> None:
    (face,) = hear("1/16 shy", FLUSH)
    (length,) = hear("1/16 shy", Expect())
    assert (str(face.meanings[0].value), face.meanings[0].hair) == ("-1/16 in", 0)
    assert (str(length.meanings[0].value), length.meanings[0].hair) == ("1/16 in", -1)


@pytest.mark.parametrize(
    ("text", "expect", "value"),
    [
        ("open at the far end a thirty second", SQUARE, "1/32 in"),
        ("1/16 gap at the end", SQUARE, "1/16 in"),
        ("1/16 at the far end", SQUARE, "1/16 in"),
        ("daylight at the end 1/16", SQUARE, "1/16 in"),
        ("tight in the corner, 1/16", SQUARE, "1/16 in"),
        ("1/16 open in the corner", SQUARE, "-1/16 in"),
        ("open at the corner 1/16", SQUARE, "-1/16 in"),
        ("open at the top 1/16", TOP_OR_BOTTOM, "1/16 in"),
        ("out 1/16, open at the bottom", TOP_OR_BOTTOM, "-1/16 in"),
        ("1/8, the top left is forward", TWIST, "1/8 in"),
        ("top right 1/8", TWIST, "-1/8 in"),
        ("1/8 right", OFFSET, "1/8 in"),
        ("1/8 to the left", OFFSET, "-1/8 in"),
    ],
)
def test_square_twist_and_others(text: str, expect: Expect, value: str) -> None:
    assert heard(text, expect) == (None, [(value, "said")])


@pytest.mark.parametrize(
    ("text", "place", "side"),
    [
        ("top left corner 1/16", "top left", "missing"),
        ("top left corner 1/16 open at the end", "top left", "said"),
        ("open in the top left corner 1/16", "top left", "missing"),
        ("bottom right open in the corner 1/16", "bottom right", "said"),
    ],
)
def test_the_corner_of_a_place_is_no_side(text: str, place: str, side: str) -> None:
    found = heard(text, SQUARE)
    assert found is not None
    assert (found[0], found[1][0][1]) == (place, side)


@pytest.mark.parametrize(
    ("text", "expect"),
    [
        *[
            (text, LEVEL)
            for text in ("level", "dead level", "it's level", "dead on", "spot on", "0", "zero", "nothing")
        ],
        *[(text, ACROSS) for text in ("plumb", "dead plumb", "bang on", "0 in", "0 at the top")],
        *[(text, FLUSH) for text in ("flush", "dead flush", "even", "flush with the wall", "0")],
        *[(text, SQUARE) for text in ("square", "dead square", "closed", "touching", "no gap")],
        *[(text, TWIST) for text in ("no twist", "touching", "the strings touch", "0")],
        ("about level", LEVEL),
        ("0 high on the right", LEVEL),
    ],
)
def test_zero_needs_no_side(text: str, expect: Expect) -> None:
    found = heard(text, expect)
    assert found is not None
    assert found[1] == [("0 in", "zero")]


@pytest.mark.parametrize(
    ("text", "expect"),
    [
        *[(text, LEVEL) for text in ("1/16", "a sixteenth", "low a sixteenth", "1/16 left", "out 1/16")],
        *[
            (text, ACROSS)
            for text in ("1/8 out", "an eighth in", "1/8 in", "1/8 in at the top", "an eighth out of plumb")
        ],
        *[(text, FLUSH) for text in ("1/16", "1/16 out", "1/16 in", "out a sixteenth")],
        *[(text, SQUARE) for text in ("1/16", "out a thirty second", "1/32 out of square", "1/16 open")],
    ],
)
def test_a_size_without_its_side_says_so(text: str, expect: Expect) -> None:
    found = heard(text, expect)
    assert found is not None
    assert [side for _, side in found[1]] == ["missing"]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("+1/16", "1/16 in"),
        ("-1/16", "-1/16 in"),
        ("−1/16", "-1/16 in"),
        ("minus a sixteenth", "-1/16 in"),
        ("plus a strong sixteenth", "1/16 in"),
        ("+1/16 high on the right", "1/16 in"),
        ("-a sixteenth", "-1/16 in"),
        ("-1/16 - high on the left", "-1/16 in"),
    ],
)
def test_a_sign_typed(text: str, value: str) -> None:
    assert heard(text, LEVEL) == (None, [(value, "typed")])


@pytest.mark.parametrize(
    ("text", "expect"),
    [
        ("-1/16 high on the right", LEVEL),
        ("+1/16 low on the right", LEVEL),
        ("1/16 high on the left and high on the right", LEVEL),
        ("1/16 high low on the left", LEVEL),
        ("level, high on the right", LEVEL),
        ("1/8 in at the top and in at the bottom", replace(ACROSS, unit="mm")),
        ("leans in and leans out 1/8", ACROSS),
        ("1/16 proud and shy", FLUSH),
        ("1/16 proud behind", FLUSH),
        ("-1/16 proud", FLUSH),
        ("open at the end, open in the corner, 1/16", SQUARE),
        ("1/8 strong scant", Expect()),
    ],
)
def test_two_sides_at_once_mean_nothing(text: str, expect: Expect) -> None:
    assert [meaning for said in hear(text, expect) for meaning in said.meanings if meaning.side != "missing"] == []


@pytest.mark.parametrize(
    ("text", "expect", "why"),
    [
        ("-1/16 high on the right", LEVEL, "contradiction"),
        ("1/16 proud behind", FLUSH, "contradiction"),
        ("1/8 strong scant", Expect(), "contradiction"),
        ("a sixteenth low at the hinge side", LEVEL, "side"),
        ("leans left 1/8", ACROSS, "side"),
        ("leans in 1/8", ALONG, "side"),
        ("half a degree low on the left", LEVEL, "unit"),
        ("left 1/16 proud", FLUSH, "place"),
    ],
)
def test_why_a_direction_is_none(text: str, expect: Expect, why: str) -> None:
    assert hear(text, expect) == ()
    assert why_not(text, expect) == why


@pytest.mark.parametrize(
    ("text", "expect", "state"),
    [
        ("low on the left", LEVEL, "low on the left"),
        ("it's high on the right", LEVEL, "high on the right"),
        ("the left is low", LEVEL, "the left is low"),
        ("a hair low on the left", LEVEL, "a hair low on the left"),
        ("out of level", LEVEL, "out of level"),
        ("kicked left", ALONG, "kicked left"),
        ("out at the bottom", ACROSS, "out at the bottom"),
        ("proud", FLUSH, "proud"),
        ("slightly proud", FLUSH, "slightly proud"),
        ("open at the far end", SQUARE, "open at the far end"),
        ("tight", GAP, "tight"),
        ("it's a bit tight", GAP, "a bit tight"),
        ("binding", GAP, "binding"),
        ("strong", GAP, "strong"),
        ("good", LEVEL, "good"),
        ("looks good", GAP, "looks good"),
        ("okay", Expect(), "okay"),
        ("all good", Expect(), "all good"),
    ],
)
def test_a_state_without_its_size(text: str, expect: Expect, state: str) -> None:
    (said,) = hear(text, expect)
    assert (said.meanings, said.without_number) == ((), state)
    assert settle(said, expect) is None


@pytest.mark.parametrize(
    ("text", "place", "value", "hair"),
    [
        ("tight at the middle hinge 1/16", "middle hinge", "1/16 in", 0),
        ("wide at the top, 3/16", "top hinge", "3/16 in", 0),
        ("a strong eighth at the top", "top hinge", "1/8 in", 1),
        ("bottom a scant eighth", "bottom hinge", "1/8 in", -1),
        ("even at an eighth", None, "1/8 in", 0),
        ("touching at the top", "top hinge", "0 in", 0),
        ("no gap", None, "0 in", 0),
        ("the gap is an eighth", None, "1/8 in", 0),
    ],
)
def test_gaps(text: str, place: str | None, value: str, hair: int) -> None:
    (said,) = hear(text, GAP)
    assert [(said.place, str(meaning.value), meaning.hair) for meaning in said.meanings] == [(place, value, hair)]


def test_a_side_as_short_as_one_word_is_no_whole_direction() -> None:
    short = replace(ACROSS, sign=Sign("out", "in", ("outside",), ("inside",)))
    assert heard("out at the bottom 1/8", short) == (None, [("-1/8 in", "said")])
    assert heard("1/8 out", short) == (None, [("1/8 in", "missing")])


def test_sides_are_not_heard_where_a_reading_has_none() -> None:
    assert hear("1/16 low on the left", Expect(about="gap")) == ()
    assert hear("1/16 low on the left", Expect(about="level")) == ()
    assert [str(meaning.value) for said in hear("level", Expect(about="level")) for meaning in said.meanings] == [
        "0 in"
    ]


SIGNED_WAYS = [
    *[
        (text, LEVEL)
        for text in ("low on the left", "high on the left", "low on the right", "right high", "left end down")
    ],
    *[(text, ACROSS) for text in ("leans in", "out at the bottom", "in at the top", "to the outside", "inside")],
    *[(text, ALONG) for text in ("leans left", "to the right", "left at the bottom", "kicked right")],
    *[(text, SQUARE) for text in ("open in the corner", "at the end", "gap at the far end")],
    *[(text, OFFSET) for text in ("right", "to the left")],
]


@given(
    st.sampled_from(SIGNED_WAYS),
    st.sampled_from(["1/16", "a sixteenth", "2 mm", "three thirty seconds"]),
    st.booleans(),
)
def test_swapping_the_sides_flips_the_sign(way: tuple[str, Expect], size: str, behind: bool) -> None:
    words, expect = way
    assume(behind or not (size == "1/16" and words.startswith("in ")))  # typed "1/16 in" is inches
    assert expect.sign is not None
    swapped = replace(expect, sign=Sign("one way", "the other way", expect.sign.away, expect.sign.toward))
    text = f"{words} by {size}" if behind else f"{size} {words}"
    (one,), (other,) = hear(text, expect), hear(text, swapped)
    assert [meaning.value for meaning in one.meanings] == [-meaning.value for meaning in other.meanings]
    assert {meaning.side for meaning in one.meanings} == {"said"}
    assert one.meanings[0].value != quantity("0 in")
