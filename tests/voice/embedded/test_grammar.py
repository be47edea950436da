"""The grammar of pieces takes what the reader takes, written as the model writes it."""

from __future__ import annotations

import random
from collections.abc import Iterator
from fractions import Fraction
from functools import cache

import pytest
from states_said import ALL_OR_THE_REST, EACH_PLACE, EITHER_PLACE, HEADS, NO_PLACE, THREE, TWO

from guide.procedure import load, shipped
from guide.procedure.model import Sign
from guide.quantity import Quantity
from guide.talk.answered import ASKED, answered
from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.talk.say import ways
from guide.talk.understand import understand
from guide.talk.words import hear
from guide.talk.yes_no import yes_or_no
from guide.voice.embedded.grammar import Grammar
from guide.voice.embedded.meanings import Meanings
from guide.voice.embedded.model import find_weights
from guide.voice.embedded.tokens import END, Pieces

PIECES = Pieces.load(find_weights() / "tokenizer.bin")
PHRASES = Phrases.load("en")
LEVEL = Sign("the left end is high", "the right end is high", ("left",), ("right",))


@cache
def grammar(expect: Expect | None) -> Grammar:
    return Grammar(PIECES, PHRASES, expect)


def meanings(expect: Expect) -> Meanings:
    return Meanings(PHRASES, expect, None)


def spoken(value: Quantity, expect: Expect) -> Iterator[str]:
    for way in ways(value, expect.about, expect.sign):
        if not any(char.isdigit() or char in "+-−¼½¾⅛⅜⅝⅞'\"" for char in way):
            yield way


def lengths() -> Iterator[Quantity]:
    chance = random.Random(4)
    yield from (Quantity(Fraction(part, 32), "in") for part in range(1, 64))
    yield from (Quantity(Fraction(chance.randrange(64, 16 * 144), 16), "in") for _ in range(250))
    yield from (Quantity(Fraction(chance.randrange(1, 4000)), "mm") for _ in range(250))


def test_every_way_of_saying_a_length_is_in_the_grammar() -> None:
    missing = []
    for value in lengths():
        expect = Expect(unit=value.unit)
        missing += [way for way in spoken(value, expect) if not grammar(Expect()).graph.accepts(way)]
    assert not missing, missing[:20]


def test_every_way_of_saying_a_level_is_in_the_grammar() -> None:
    expect = Expect(about="level", sign=LEVEL)
    found = grammar(expect).graph
    for part in (Fraction(1, 16), Fraction(-3, 8), Fraction(1, 2)):
        for way in spoken(Quantity(part, "in"), expect):
            assert found.accepts(way), way


def test_every_phrase_is_in_the_grammar_whatever_is_asked() -> None:
    for expect in (None, Expect()):
        found = grammar(expect).graph
        missing = [phrase for phrase in PHRASES.plain if not found.accepts(phrase)]
        assert not missing, missing[:20]


@pytest.mark.parametrize(
    ("shown", "said"),
    [
        ("36 and 3/16 inches.", "thirty six and three sixteenths inches"),
        ("Thirty-six, and three-sixteenths.", "thirty six and three sixteenths"),
        ("36 and 316", "thirty six and three sixteenths"),
        ("36 and 58", "thirty six and five eighths"),
        ("36 and 15, 16.", "thirty six and fifteen sixteenths"),
        ("82 and 5 eight", "eighty two and five eighths"),
        ("6'8 1/4", "six foot eight one quarter"),
        ("It's 74 and a half.", "it is seventy four and a half"),
        ("914 millimeters.", "nine hundred fourteen millimeters"),
        ("1,204 millimeters", "one thousand two hundred four millimeters"),
        ("96.78", "ninety six and seven eighths"),
        ("No, make that 5/8.", "no make that five eighths"),
        ("An 8th", "an eighth"),
    ],
)
def test_the_models_own_spellings_are_read(shown: str, said: str) -> None:
    assert said in grammar(Expect()).graph.read(PIECES.encode(shown))


@pytest.mark.parametrize(
    "shown", ["Thirty six and", "and a half dozen eggs", "The weather is fine.", "36 and 35", "Thirty three of those"]
)
def test_what_is_no_reading_is_not_in_it(shown: str) -> None:
    meanings = Meanings(PHRASES, Expect(), None)
    assert not [way for text in grammar(Expect()).graph.read(PIECES.encode(shown)) for way in meanings.of(text)]


def test_feet_without_the_word_stop_at_twelve() -> None:
    """From thirteen on a teen would stand where a ten was meant: "seventeen nine" for seventy nine."""
    assert grammar(Expect()).graph.accepts("eleven nine and a half")
    assert not grammar(Expect()).graph.accepts("seventeen nine and a half")


STATES = (
    "it latches",
    "The door closes fine.",
    "binds at the head",
    "It won't throw",
    "it's stuck",
    "No, it sticks at the top",
)


@pytest.mark.parametrize("said", STATES)
def test_whether_a_thing_works_is_in_the_grammar_where_that_is_asked(said: str) -> None:
    asked = grammar(Expect(states=True)).graph
    assert asked.accepts(said)
    found = [way for text in asked.read(PIECES.encode(said)) for way in meanings(Expect(states=True)).of(text)]
    assert {way.hearing.answer for way in found} == {yes_or_no(said)}
    assert not grammar(Expect()).graph.accepts("it won't throw")


def meant(said: str, places: tuple[str, ...]) -> tuple[set[tuple[tuple[str, str], ...]], bool]:
    """Every answer that pieces stand for at these places, and whether the grammar lets the words through."""
    expect = Expect(states=True, places=places)
    graph = grammar(expect).graph
    found = {
        way.hearing.by_place or ((ASKED, way.hearing.answer or ""),)
        for text in graph.read(PIECES.encode(said))
        for way in meanings(expect).of(text)
        if way.hearing.kind == "answer"
    }
    return found, graph.accepts(said)


SAID = [(said, places) for said, places, _ in (*EACH_PLACE, *ALL_OR_THE_REST, *NO_PLACE) if not set(said) & set(":;=/")]


@pytest.mark.parametrize(("said", "places"), [*SAID, ("the rest are fine", HEADS), ("the other one binds", HEADS)])
def test_what_is_said_by_place_is_in_the_grammar_and_means_what_it_does_at_the_keyboard(
    said: str, places: tuple[str, ...]
) -> None:
    found, let_through = meant(said, places)
    assert let_through
    if said not in PHRASES.plain:
        assert found == set(answered(said, places))


@pytest.mark.parametrize(("said", "places"), [(said, places) for said, places, _ in EITHER_PLACE])
def test_what_may_be_meant_of_two_places_is_heard_as_one_thing_that_is_asked_about(
    said: str, places: tuple[str, ...]
) -> None:
    expect = Expect(states=True, places=places)
    assert grammar(expect).graph.accepts(said)
    (way,) = meanings(expect).of(said)
    assert way.hearing.ambiguous and not way.hearing.by_place


def test_every_answer_to_every_shipped_check_by_place_is_in_the_grammar() -> None:
    for places in {
        reading.places
        for name in shipped()
        for reading in load(name).readings.values()
        if reading.answer == "yes-no" and reading.places
    }:
        for said in (
            " ".join(f"{place} yes" for place in places),
            ", ".join(f"{place} won't shut" for place in places),
            f"binds at the {places[-1]}",
            " and ".join(places) + " work",
        ):
            found, let_through = meant(said, places)
            assert let_through, said
            assert found == set(answered(said, places)), said


def test_places_are_heard_only_where_a_state_of_them_is_asked_for() -> None:
    assert not grammar(Expect(states=True)).graph.accepts("latch works sill binds")
    assert not grammar(Expect(states=True, places=TWO)).graph.accepts("sill works")
    assert not grammar(None).graph.accepts("top works bottom binds")
    assert not grammar(Expect(places=TWO)).graph.accepts("top works bottom binds")


@pytest.mark.parametrize(
    "said", ["top works middle", "top", "top works, top binds", "all work but the middle", "top and bottom", "all good"]
)
def test_what_is_no_answer_by_place_means_nothing_though_it_be_let_through(said: str) -> None:
    assert not meant(said, THREE)[0]


CHOICES = Expect(
    answers=(("two", "2"), ("number two", "2"), ("the second one", "2"), ("20 1/2 in", "1"), ("no back", "2"))
)


@pytest.mark.parametrize(
    ("shown", "choice"),
    [
        ("2", "2"), ("Number 2.", "2"), ("The 2nd one", "2"), ("the second one", "2"), ("No back.", "2"),
        ("20 and a half", "1"), ("Twenty and a half inches", "1"), ("to", "2"), ("20 and a quarter", None),
    ],
)  # fmt: skip
def test_a_choice_is_in_the_grammar_as_the_model_writes_it(shown: str, choice: str | None) -> None:
    found = {
        way.hearing.answer
        for text in grammar(CHOICES).graph.read(PIECES.encode(shown))
        for way in meanings(CHOICES).of(text)
    }
    assert found == ({choice} if choice else set())


def walks(expect: Expect, count: int) -> Iterator[tuple[int, ...]]:
    """Rows of pieces by chance, each of them let through."""
    chance = random.Random(9)
    graph = grammar(expect).graph
    while count:
        row: tuple[int, ...] = ()
        places = graph.start()
        while len(row) < 24:
            following = graph.after(places)
            at = chance.randrange(len(following.pieces))
            if END in following.pieces and chance.random() < 0.5:
                count -= 1
                yield row
                break
            if following.pieces[at] != END:
                row, places = (*row, following.pieces[at]), following.sets[at]


def test_what_is_read_from_pieces_is_wholly_consumed_or_dropped() -> None:
    expect = Expect()
    meanings = Meanings(PHRASES, expect, None)
    kept = 0
    for row in walks(expect, 400):
        for text in grammar(expect).graph.read(row):
            for way in meanings.of(text):
                kept += 1
                if way.hearing.kind == "command":
                    assert understand(text, PHRASES).intent == way.hearing.command
                else:
                    assert all(said.meanings for said in hear(text, expect))
    assert kept > 100
