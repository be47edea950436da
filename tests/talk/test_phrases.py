"""What a crew can say: every phrase means one thing, and the same set gives parser, help and vocabulary."""

from __future__ import annotations

import string
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.talk.phrases import Phrases
from guide.talk.templates import MOST_PHRASES, Slot, TemplateError, spread
from guide.talk.understand import understand

PHRASES = Phrases.load("en")


def test_every_phrase_is_understood_as_its_own_intent() -> None:
    wrong = [(text, intent) for text, intent in PHRASES.examples() if understand(text, PHRASES).intent != intent]
    assert wrong == []


def test_no_phrase_belongs_to_two_intents() -> None:
    seen: dict[str, str] = {}
    for text, intent in PHRASES.examples():
        assert seen.setdefault(text, intent) == intent, f"{text!r}: {seen[text]} and {intent}"


def test_there_are_many_ways() -> None:
    assert sum(1 for _ in PHRASES.examples()) > 1000
    assert all(len(intent.ways) >= 2 for intent in PHRASES.intents.values())


@pytest.mark.parametrize(
    ("said", "intent", "slots"),
    [
        ("Hey guide, what's next please?", "whats-next", {}),
        ("WHAT’S NEXT", "whats-next", {}),
        ("ok done", "done", {}),
        ("No, make that 74 3/8", "correct", {"text": "74 3/8"}),
        ("Actually it's 36-3/16\"", "correct", {"text": '36-3/16"'}),
        ("this is Ana Lopez", "speaker", {"name": "Ana Lopez"}),
        ("Note: the wall is DAMP here.", "note", {"text": "the wall is DAMP here"}),
        ("what did we get for the head", "what-did-we-get", {"thing": "the head"}),
        ("we bumped the frame", "moved", {"state": "the frame"}),
        ("go back to the sill", "redo", {"step": "the sill"}),
        ("how much is that in millimetres", "in-millimetres", {}),
        ("how much is the top width in mm", "in-millimetres", {"thing": "the top width"}),
    ],
)
def test_understood(said: str, intent: str, slots: dict[str, str]) -> None:
    found = understand(said, PHRASES)
    assert (found.intent, dict(found.slots)) == (intent, slots)


HURT = [
    "someone is hurt",
    "Somebody's hurt!",
    "I'm hurt",
    "he's bleeding",
    "she is badly injured",
    "Bo cut his hand on the glass",
    "call an ambulance",
    "call 911",
    "get us an ambulance quick",
    "he fell off the ladder",
    "I think he fell off the ladder",
    "there's been an accident",
    "man down",
    "he isn't breathing",
    "she passed out",
    "I smashed my thumb",
    "he broke his wrist",
    "got a shock from the drill",
    "something in my eye",
    "there's foam in his eyes",
    "his hand is trapped",
    "he's trapped under the unit",
    "my finger is caught",
    "they're hurt",
    "someone got hurt over here",
    "emergency",
    "she cut her finger off",
    "I've cut myself on the sash and it's bleeding",
    "he nailed his foot",
    "someone got really hurt",
]


@pytest.mark.parametrize("said", HURT)
def test_someone_is_hurt_is_understood_inside_sentences(said: str) -> None:
    assert understand(said, PHRASES).intent == "hurt"


HARMLESS = [
    "nobody is hurt",
    "does it hurt the paint",
    "it won't hurt the finish",
    "it doesn't hurt to check",
    "no one got hurt",
    "so nobody gets hurt",
    "what if someone gets hurt",
    "that's the emergency exit",
    "cut the shims",
    "shoot the nails",
    "the hinge is broken",
    "the leaf is stuck",
    "the sealant is bleeding out",
    "the tape fell down",
    "the frame is caught on the sill",
]


@pytest.mark.parametrize("said", HARMLESS)
def test_harmless_sentences_raise_no_alarm(said: str) -> None:
    assert understand(said, PHRASES).intent != "hurt"


def test_a_near_miss_is_offered_and_not_guessed() -> None:
    found = understand("wat is next", PHRASES)
    assert found.intent == ""
    assert "what is next" in found.near
    assert understand("36 3/16 in", PHRASES).near == ()


def test_help_shows_every_group() -> None:
    text = PHRASES.help_text()
    for group in {intent.group for intent in PHRASES.intents.values()}:
        assert f"{group}:" in text
    assert '"someone is hurt"' in text


def test_the_vocabulary_is_lower_case_words() -> None:
    assert all(word == word.lower() and " " not in word for word in PHRASES.words())


def test_a_template_spreads_into_phrases() -> None:
    assert spread("[please] (go|move) on {step}") == (
        ("go", "on", Slot("step")),
        ("move", "on", Slot("step")),
        ("please", "go", "on", Slot("step")),
        ("please", "move", "on", Slot("step")),
    )


@pytest.mark.parametrize("template", ["", "[a", "a)", "(a|b", "[]", "{Big}", "(a|b)" * 20])
def test_a_bad_template_says_so(template: str) -> None:
    with pytest.raises(TemplateError):
        spread(template)
    assert MOST_PHRASES < 2**20


@given(st.text(max_size=400))
def test_anything_can_be_said(text: str) -> None:
    understand(text, PHRASES)


@settings(max_examples=200)
@given(st.lists(st.sampled_from(sorted(PHRASES.words())), max_size=120).map(" ".join))
def test_any_words_of_its_own_are_read_fast(text: str) -> None:
    start = time.perf_counter()
    understand(text, PHRASES)
    assert time.perf_counter() - start < 1.0, "a hang"


def test_a_megabyte_is_read_fast() -> None:
    start = time.perf_counter()
    understand("next " * 250_000, PHRASES)
    understand(string.printable * 10_000, PHRASES)
    assert time.perf_counter() - start < 1.0, "a hang"
