"""Yes and no by place: one meaning, several, or none; what is not wholly understood is never taken for a place."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from states_said import (
    ALL_OR_THE_REST,
    EACH_PLACE,
    EITHER_PLACE,
    HEADS,
    HINGES,
    NO_PLACE,
    THREE,
    TWO,
)

from guide.procedure import load, shipped
from guide.talk.answered import ASKED, OTHER, REST, answered, example_by_place, told
from guide.talk.vocabulary import language


def plain(text: str, places: tuple[str, ...]) -> str:
    """The one meaning: y, n or - for each place, "?" for the one asked for; what has several is parted by "|"."""
    return "|".join(
        "".join({"yes": "y", "no": "n"}.get(dict(way).get(place, ""), "-") for place in places)
        if ASKED not in dict(way)
        else f"?{dict(way)[ASKED][0]}"
        for way in answered(text, places)
    )


@pytest.mark.parametrize(("text", "places", "meaning"), EACH_PLACE)
def test_each_place_gets_what_is_said_of_it(text: str, places: tuple[str, ...], meaning: str) -> None:
    assert plain(text, places) == meaning


@pytest.mark.parametrize(("text", "places", "meaning"), ALL_OR_THE_REST)
def test_all_of_them_or_the_rest(text: str, places: tuple[str, ...], meaning: str) -> None:
    assert plain(text, places) == meaning


@pytest.mark.parametrize(("text", "places", "meaning"), NO_PLACE)
def test_what_names_no_place_is_for_the_one_asked_for(text: str, places: tuple[str, ...], meaning: str) -> None:
    assert plain(text, places) == meaning


def test_the_rest_alone_is_for_what_had_no_answer_before() -> None:
    assert answered("the others work", THREE) == answered("the rest are fine", THREE) == (((REST, "yes"),),)
    assert answered("the other one binds", THREE) == (((OTHER, "no"),),)
    assert answered(told(((REST, "yes"),)), THREE) == (((REST, "yes"),),)


def test_the_others_stay_unknown_whatever_a_word_may_hint() -> None:
    assert plain("only binds at the top", THREE) == "n--"
    assert plain("only the top works", THREE) == "y--"
    assert plain("just the middle one binds", THREE) == "-n-"


@pytest.mark.parametrize(("text", "places", "meanings"), EITHER_PLACE)
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
        ("top swing sticks", THREE),
        ("top works sticks", THREE),
        ("top works not sure about the middle", THREE),
        ("top works i think", THREE),
        ("maybe the top binds", THREE),
        ("all work but the middle", THREE),
        ("all but the top work", THREE),
        ("works everywhere but the sill", HEADS),
        ("both work", THREE),
        ("all four work", THREE),
        ("none of them bind", THREE),
        ("top binds and the other one works", THREE),
        ("the rest work, the other one binds", THREE),
        ("top binds middle binds bottom binds the rest work", THREE),
        ("all good", THREE),
        ("bottom right", TWO),
        ("top works bottom is", TWO),
        ("top yes bottom right", TWO),
        ("sure at the top", TWO),
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
