"""Yes and no by place: one meaning, several, or none; what is not wholly understood is never taken for a place."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.procedure import load, shipped
from guide.talk.answered import ASKED, answered, example_by_place, told
from guide.talk.vocabulary import language

THREE = ("top", "middle", "bottom")
TWO = ("top", "bottom")
DOORS = ("left door", "right door")
SIDES = ("hinge side", "lock side")
ROOMS = ("from inside", "from outside")
HEADS = ("head", "latch", "sill")
HINGES = ("left top", "left middle", "left bottom", "right top", "right middle", "right bottom")
LATCHES = ("top latch", "bottom latch")


def plain(text: str, places: tuple[str, ...]) -> str:
    """The one meaning: y, n or - for each place, "?" for the one asked for; what has several is parted by "|"."""
    return "|".join(
        "".join({"yes": "y", "no": "n"}.get(dict(way).get(place, ""), "-") for place in places)
        if ASKED not in dict(way)
        else f"?{dict(way)[ASKED][0]}"
        for way in answered(text, places)
    )


@pytest.mark.parametrize(
    ("text", "places", "meaning"),
    [
        ("top works, middle binds, bottom works", THREE, "yny"),
        ("top works middle binds bottom works", THREE, "yny"),
        ("top works and the middle binds and the bottom works", THREE, "yny"),
        ("Top works. Middle binds. Bottom works.", THREE, "yny"),
        ("works at the top, binds in the middle, works at the bottom", THREE, "yny"),
        ("works at the top binds in the middle works at the bottom", THREE, "yny"),
        ("yes at the top, no at the bottom", THREE, "y-n"),
        ("yes at the top no at the bottom", THREE, "y-n"),
        ("top yes middle no bottom yes", THREE, "yny"),
        ("yes top no middle yes bottom", THREE, "yny"),
        ("top, yes; bottom: no", TWO, "yn"),
        ("top=yes / bottom=no", TWO, "yn"),
        ("top is good, bottom's binding", TWO, "yn"),
        ("top gap bottom fine", TWO, "ny"),
        ("gap at the top, bottom touches evenly", TWO, "ny"),
        ("top latches and locks, bottom won't lock", TWO, "yn"),
        ("top latches but won't lock", TWO, "n-"),
        ("top and bottom work, middle binds", THREE, "yny"),
        ("top and bottom work but the middle binds", THREE, "yny"),
        ("middle binds top and bottom work", THREE, "yny"),
        ("top, middle and bottom work", THREE, "yyy"),
        ("no at the top and bottom works", TWO, "ny"),
        ("works at the bottom not at the top", THREE, "n-y"),
        ("left yes, right no", DOORS, "yn"),
        ("left door works right door binds", DOORS, "yn"),
        ("right binds", DOORS, "-n"),
        ("works on the left, binds on the right", DOORS, "yn"),
        ("hinge touches, lock side bulges", SIDES, "yn"),
        ("gap on the hinge side", SIDES, "n-"),
        ("locks from inside, won't lock from the outside", ROOMS, "yn"),
        ("inside yes outside no", ROOMS, "yn"),
        ("opening is fine, shutting it sticks", ("opening", "shutting"), "yn"),
        ("left top binds", HINGES, "n-----"),
        ("binds at the head", HEADS, "n--"),
        ("won't throw at the latch", HEADS, "-n-"),
        ("it latches at the head, sill binds", HEADS, "y-n"),
        ("okay so top works", THREE, "y--"),
        ("yeah top binds", THREE, "n--"),
    ],
)
def test_each_place_gets_what_is_said_of_it(text: str, places: tuple[str, ...], meaning: str) -> None:
    assert plain(text, places) == meaning


@pytest.mark.parametrize(
    ("text", "places", "meaning"),
    [
        ("both work", DOORS, "yy"),
        ("both latch", DOORS, "yy"),
        ("both doors swing free", DOORS, "yy"),
        ("they both stick", DOORS, "nn"),
        ("yes to both", TWO, "yy"),
        ("no at both", TWO, "nn"),
        ("all yes", THREE, "yyy"),
        ("all three work", THREE, "yyy"),
        ("all of them latch", THREE, "yyy"),
        ("each one works", THREE, "yyy"),
        ("neither works", TWO, "nn"),
        ("neither door latches", DOORS, "nn"),
        ("none of them work", THREE, "nnn"),
        ("top binds, the rest are fine", THREE, "nyy"),
        ("top binds the others work", THREE, "nyy"),
        ("top binds, middle binds, the other one works", THREE, "nny"),
        ("left binds, the other works", DOORS, "ny"),
    ],
)
def test_all_of_them_or_the_rest(text: str, places: tuple[str, ...], meaning: str) -> None:
    assert plain(text, places) == meaning


@pytest.mark.parametrize(
    ("text", "places", "meaning"),
    [
        ("it latches", HEADS, "?y"),
        ("won't throw", HEADS, "?n"),
        ("yes", HEADS, "?y"),
        ("binds at the head", THREE, "?n"),
        ("the door closes fine", DOORS, "?y"),
        ("the latch works", LATCHES, "?y"),
        ("it latches and locks", TWO, "?y"),
        ("it touches evenly all round", SIDES, "?y"),
        ("binds at the head", (), "?n"),
    ],
)
def test_what_names_no_place_is_for_the_one_asked_for(text: str, places: tuple[str, ...], meaning: str) -> None:
    assert plain(text, places) == meaning


def test_the_others_stay_unknown_whatever_a_word_may_hint() -> None:
    assert plain("only binds at the top", THREE) == "n--"
    assert plain("only the top works", THREE) == "y--"
    assert plain("just the middle one binds", THREE) == "-n-"


@pytest.mark.parametrize(
    ("text", "places", "meanings"),
    [
        ("no, it binds on the right side", DOORS, {"-n", "?n"}),
        ("gap on the right", DOORS, {"-n", "?n"}),
        ("won't lock outside", ROOMS, {"-n", "?n"}),
        ("swings free on the left", DOORS, {"y-", "?y"}),
    ],
)
def test_part_of_a_name_behind_may_be_where_on_the_thing_it_is(
    text: str, places: tuple[str, ...], meanings: set[str]
) -> None:
    assert set(plain(text, places).split("|")) == meanings


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("top works, middle binds, bottom banana", THREE),
        ("top works middle", THREE),
        ("top", THREE),
        ("top works, top binds", THREE),
        ("top binds at the bottom", TWO),
        ("no the top works", THREE),
        ("top works not sure about the middle", THREE),
        ("top works i think", THREE),
        ("maybe the top binds", THREE),
        ("all work but the middle", THREE),
        ("all but the top work", THREE),
        ("works everywhere but the sill", HEADS),
        ("both work", THREE),
        ("all four work", THREE),
        ("none of them bind", THREE),
        ("the others work", THREE),
        ("top binds and the other one works", THREE),
        ("all good", THREE),
        ("binds at the top", HINGES),
        ("the latch binds at the head", HEADS),
        ("pass me the top one", THREE),
        ("put the bottom shims on the sill plate", HEADS),
        ("not sure", THREE),
        ("don't know", ()),
        ("36", THREE),
        ("", THREE),
    ],
)
def test_what_is_not_wholly_understood_is_no_answer(text: str, places: tuple[str, ...]) -> None:
    assert answered(text, places) == ()


def by_place() -> list[tuple[str, ...]]:
    """The places of every check by place without a number in what is shipped."""
    found = [
        reading.places
        for name in shipped()
        for reading in load(name).readings.values()
        if reading.answer == "yes-no" and reading.places
    ]
    assert len(found) > 3
    return sorted(set(found))


@pytest.mark.parametrize("places", by_place())
def test_every_answer_to_every_shipped_check_by_place(places: tuple[str, ...]) -> None:
    for said in product(("yes", "no", "-"), repeat=len(places)):
        want = tuple((place, one) for place, one in zip(places, said, strict=True) if one != "-")
        if not want:
            continue
        for works, binds in (("yes", "no"), ("works", "binds"), ("is fine", "won't shut")):
            words = [f"{place} {works if one == 'yes' else binds}" for place, one in want]
            for text in (", ".join(words), " ".join(words), " and ".join(words), "; ".join(reversed(words))):
                assert answered(text, places) == (want,), text
        assert answered(told(want), places) == (want,)


def test_the_example_is_itself_an_answer() -> None:
    for places in (*by_place(), THREE, HINGES):
        assert answered(example_by_place(places), places) == (((places[0], "yes"), (places[-1], "no")),)


WORDS = sorted(
    {"top", "middle", "bottom", "the", "at", ",", "one", "other", "banana"}
    | {
        word
        for key in ("works", "trouble", "not", "every", "rest", "none")
        for one in language()["yes-no"][key]
        for word in one.split()
    }
)


@given(st.lists(st.sampled_from(WORDS), max_size=40))
def test_nothing_is_named_that_was_not_said(words: list[str]) -> None:
    text = " ".join(words)
    named = {place for way in answered(text, THREE) for place, _ in way if place != ASKED}
    all_of_them = {"all", "each", "every", "rest", "others", "other", "none", "not", "everywhere"} & set(words)
    assert all_of_them or named <= set(words)
    for way in answered(text, THREE):
        assert [place for place, _ in way] == [place for place in (ASKED, *THREE) if place in dict(way)]


@given(st.text(max_size=400))
def test_no_text_is_too_much(text: str) -> None:
    answered(text, THREE)
    answered(f"top works, {text}", THREE)
