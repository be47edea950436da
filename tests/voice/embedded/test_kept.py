"""What the ear keeps of what it has heard has an end: hours of noise and talk bring ever new words, sounds and sets."""

from __future__ import annotations

import gc
import random
import weakref

import pytest
from made_up_model import every_row, small

from guide.talk import tokens
from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.talk.words import hear
from guide.voice.embedded import automaton
from guide.voice.embedded.automaton import Graph
from guide.voice.embedded.grammar import Grammar
from guide.voice.embedded.meanings import Meanings
from guide.voice.embedded.model import Model, find_weights
from guide.voice.embedded.tokens import END, Pieces

PIECES = Pieces.load(find_weights() / "tokenizer.bin")
PHRASES = Phrases.load("en")


def reached(graph: Graph, walks: int) -> list[frozenset[int]]:
    """The sets of places that rows of pieces by chance lead past, as the graph hands them out."""
    chance = random.Random(3)
    found: list[frozenset[int]] = []
    for _ in range(walks):
        places = graph.start()
        for _ in range(12):
            following = graph.after(places)
            found += following.sets
            at = chance.randrange(len(following.pieces))
            if following.pieces[at] == END:
                break
            places = following.sets[at]
    return found


def test_equal_sets_of_places_are_kept_once() -> None:
    found = reached(Grammar(PIECES, PHRASES, Expect()).graph, 60)
    assert len(found) > 10_000
    assert len({id(places) for places in found}) == len(set(found))


def test_a_graph_keeps_no_more_sets_than_it_may(monkeypatch: pytest.MonkeyPatch) -> None:
    whole, few = (Grammar(PIECES, PHRASES, Expect(states=True)).graph for _ in range(2))
    found = set(reached(whole, 100))
    monkeypatch.setattr(automaton, "SETS_MOST", 20)
    assert set(reached(few, 100)) == found, "what is forgotten is made again, the same"
    assert len(few._known) <= 20 < len(whole._known)
    assert len(few._same) < len(whole._same)


def test_a_graph_that_is_done_lets_the_same_through_and_holds_nothing_of_its_building() -> None:
    graph, done = small(), small()
    done.done()
    assert every_row(done, 4) == every_row(graph, 4)
    assert not done._inside and not done._spellings
    assert not Grammar(PIECES, PHRASES, None).graph._inside


def test_what_is_given_up_is_freed_at_once_and_not_when_the_collector_comes() -> None:
    grammar, meanings = Grammar(PIECES, PHRASES, Expect()), Meanings(PHRASES, Expect(), None)
    reached(grammar.graph, 2)
    assert meanings.of("thirty six")
    kept = [weakref.ref(one) for one in (grammar.graph, grammar, meanings)]
    gc.disable()
    try:
        del grammar, meanings
        assert [one() for one in kept] == [None] * 3
    finally:
        gc.enable()


def test_a_text_is_read_once() -> None:
    meanings = Meanings(PHRASES, Expect(), None)
    first = meanings.of("thirty six")
    assert first
    assert meanings.of("thirty six") is first


def test_words_that_nobody_ever_says_again_are_not_kept_for_good() -> None:
    words = [f"wx{number:b}".translate(str.maketrans("01", "oi")) for number in range(2 * tokens.WORDS_MOST)]
    for at in range(0, len(words), 10):
        hear(" ".join(words[at : at + 10]), Expect())
    assert tokens._spelt.cache_info().currsize <= tokens.WORDS_MOST


def test_the_model_keeps_no_plan_for_every_length_of_sound() -> None:
    model = Model(find_weights(), threads=1)
    for session in (model.decoder, model._encoder):
        assert not session.get_session_options().enable_mem_pattern
