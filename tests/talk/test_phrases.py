"""What a crew can say: every phrase means one thing, and the same set gives parser, help and vocabulary."""

from __future__ import annotations

import copy
import tomllib
from importlib.resources import files
from typing import Any

import pytest

from guide.session.intents import INTENTS
from guide.talk.phrases import Phrases
from guide.talk.templates import TemplateError
from guide.talk.understand import understand

PHRASES = Phrases.load("en")
DATA = tomllib.loads(files("guide.talk").joinpath("en", "phrases.toml").read_text(encoding="utf-8"))
CHANGE_NOTHING = {
    *("repeat", "why", "how", "show-me", "mistake", "whats-next", "progress", "what-did-we-get", "tolerance"),
    *("in-millimetres", "in-inches", "what-is-stale", "who-is-here", "wait-left", "help", "already-did", "cant"),
    *("skip", "go-back", "undo", "all-clear", "lead-is", "lead-decides"),
}
"""Intents that are only answered: a wrong hearing costs a sentence."""
ASKS_FIRST = {"correct", "redo"}
"""Their bare words ("correction", "redo") only bring a question."""


def data() -> dict[str, Any]:
    return copy.deepcopy(DATA)


def test_every_phrase_is_understood_as_its_own_intent() -> None:
    wrong = [(text, intent) for text, intent in PHRASES.examples() if understand(text, PHRASES).intent != intent]
    assert wrong == []


def test_no_phrase_belongs_to_two_intents() -> None:
    seen: dict[str, str] = {}
    for text, intent in PHRASES.examples():
        assert seen.setdefault(text, intent) == intent, f"{text!r}: {seen[text]} and {intent}"


def test_there_are_many_ways() -> None:
    assert sum(1 for _ in PHRASES.examples()) > 2000
    assert all(len((*intent.ways, *intent.whole)) >= 2 for intent in PHRASES.intents.values())


def test_every_intent_is_answered_by_the_session() -> None:
    assert set(PHRASES.intents) - set(INTENTS) == {"hurt"}, "understood before anything else"
    assert set(INTENTS) - set(PHRASES.intents) == set()


def test_no_bare_word_commits_by_voice() -> None:
    for intent in PHRASES.intents.values():
        if intent.name in CHANGE_NOTHING | ASKS_FIRST | {"hurt"}:
            continue
        bare = [way for way in intent.ways if len(way) == 1 and intent.safe_by_voice(way)]
        assert bare == [], intent.name


def test_hurt_is_safe_by_voice_whatever_the_word() -> None:
    assert all(PHRASES.intents["hurt"].safe_by_voice(way) for way in PHRASES.intents["hurt"].ways)


def test_help_shows_every_group_and_the_first_way_of_each() -> None:
    text = PHRASES.help_text()
    for intent in PHRASES.intents.values():
        assert f"{intent.group}:" in text
        assert f": {intent.help}" in text or not intent.help
    assert '"someone is hurt"' in text
    assert '"note …"' in text


def test_every_intent_that_help_leaves_out_is_plain_talk() -> None:
    hidden = {intent.name for intent in PHRASES.intents.values() if not intent.help}
    assert hidden == {"yes", "no", "good", "go-on", "already-did", "undo", "lead-is", "lead-decides"}


def test_the_vocabulary_holds_every_word_of_every_phrase_and_no_marks() -> None:
    words = PHRASES.words()
    assert all(word == word.lower() and not set(word) & set(" <>{}[]()|") for word in words)
    assert {"done", "millimetres", "ambulance", "ladder", "thumb", "bleeding"} <= words


def test_a_slot_of_no_kind_is_a_fault_of_the_file() -> None:
    wrong = data()
    wrong["done"]["ways"].append("done with {nonsense}")
    with pytest.raises(TemplateError, match="nonsense"):
        Phrases(wrong)


@pytest.mark.parametrize("pattern", ["<nonsense> fell", "{name} fell"])
def test_a_pattern_of_no_class_is_a_fault_of_the_file(pattern: str) -> None:
    wrong = data()
    wrong["hurt"]["anywhere"].append(pattern)
    with pytest.raises(TemplateError, match="no class"):
        Phrases(wrong)


def test_a_way_by_voice_that_is_no_way_is_a_fault_of_the_file() -> None:
    wrong = data()
    wrong["done"]["voice"].append("that is doner")
    with pytest.raises(TemplateError, match="doner"):
        Phrases(wrong)
