"""Cries for help: every alarm of the phrases is in their graph, and nothing that is none is heard as one."""

from __future__ import annotations

import re
from functools import cache
from math import inf
from pathlib import Path

import pytest

from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.voice.embedded.automaton import Graph
from guide.voice.embedded.cries import cries, is_cry
from guide.voice.embedded.ear import Evidence, Form, nothing_else, weighed
from guide.voice.embedded.meanings import Meanings
from guide.voice.embedded.model import find_weights
from guide.voice.embedded.tokens import Pieces

PHRASES = Phrases.load("en")
SAID = (
    "his hand is bleeding", "call an ambulance", "he put a nail through his thumb", "She fell off the ladder.",
    "someone is hurt", "he's not breathing", "I cut my finger with the saw", "the door fell on him",
)  # fmt: skip


@cache
def graph() -> Graph:
    return cries(Pieces.load(find_weights() / "tokenizer.bin"), PHRASES)


@pytest.mark.parametrize("said", SAID)
def test_a_cry_is_in_the_graph_and_is_one(said: str) -> None:
    assert graph().accepts(said) and is_cry(said.strip("."), PHRASES)


def test_most_sentences_that_raise_an_alarm_are_in_the_graph() -> None:
    lines = (Path(__file__).parents[2] / "talk" / "hurt.txt").read_text().splitlines()
    said = [line.lower().strip(" .!?") for line in lines if line and not line.startswith("#")]
    raised = [one for one in said if is_cry(one, PHRASES) and len(one.split()) <= 6]
    share = sum(graph().accepts(re.sub(r"\bi\b", "I", one)) for one in raised) / len(raised)
    assert len(raised) > 100 and share > SHARE


SHARE = 0.6
"""Of the short sentences; the others hold words that no pattern has."""


def evidence(free: str, weight: float, *cried: str, forms: tuple[Form, ...] = ()) -> Evidence:
    return Evidence(
        forms, Form((free,), weight), (), -20.0, -inf, 2.0, tuple(Form((one,), weight - 1) for one in cried)
    )


def first(one: Evidence) -> str | None:
    hearings = weighed(one, Meanings(PHRASES, Expect(), None)).hearings
    return hearings[0].command if hearings else None


def test_a_cry_heard_freely_or_looked_for_is_a_hearing() -> None:
    assert first(evidence("His hand is leading.", -2.0, "his hand is bleeding")) == "hurt"
    assert first(evidence("She fell off the ladder.", -2.0)) == "hurt"
    assert first(evidence("The weather is fine.", -2.0)) is None
    assert first(evidence("Nobody is hurt.", -2.0, forms=(Form(("nobody is hurt",), -2.0),))) == "all-clear"


def test_a_cry_is_looked_for_only_when_it_was_nothing_else() -> None:
    sure = (Form(("thirty six",), -1.0),)
    assert not nothing_else(sure, Form(("36",), -1.0))
    assert nothing_else(sure, Form(("His hand",), 2.0))
    assert nothing_else((), Form(("His hand",), -1.0))
    assert nothing_else((Form(("ten",), -9.0),), Form(("Ten",), -9.5))
