"""From words to what is meant: the whole utterance or nothing, slots as they were typed, near misses only offered."""

from __future__ import annotations

import string
import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from guide.talk.phrases import Phrases
from guide.talk.understand import LONGEST, NEAR_MOST, Understanding, normal, understand

PHRASES = Phrases.load("en")
NUMBERS = ["74 3/8", "74½", '36-3/16"', "6' 8 1/4\"", "6′ 8 1/4″", "−1/8", "-1/8", "+1/8", ".125", "36,5", "914 mm"]


@pytest.mark.parametrize(
    ("said", "intent", "slots"),
    [
        ("Hey guide, what's next please?", "whats-next", {}),
        ("WHAT’S NEXT", "whats-next", {}),
        ("whats next", "whats-next", {}),
        ("ok done", "done", {}),
        ("uh, okay, next please, guide", "done", {}),
        ("“that's done”", "done", {}),
        ("done 👍", "done", {}),
        ("do\u200bne", "done", {}),
        ("\u202edone\u202c", "done", {}),
        ("all-clear", "all-clear", {}),
        ("stop for today", "stop", {}),
        ("knock off", "stop", {}),
        ("go to lunch", "stop", {}),
        ("we'll live with it", "concede", {}),
        ("accept it as it is", "concede", {}),
        ("keep trying", "lead-decides", {}),
        ("can't do that", "cant", {}),
        ("we already did that", "already-did", {}),
        ("take that back", "undo", {}),
        ("what do we have to recheck", "what-is-stale", {}),
        ("how close", "tolerance", {}),
        ("what's the tolerance in mm", "tolerance", {}),
        ("what's wrong here", "mistake", {}),
        ("I nudged it", "moved", {"state": "it"}),
        ("the frame has moved a bit", "moved", {"state": "the frame"}),
        ("we bumped the frame", "moved", {"state": "the frame"}),
        ("go back to the sill", "redo", {"step": "the sill"}),
        ("do that again", "redo", {}),
        ("redo square please", "redo", {"step": "square"}),
        ("what did we get for the head", "what-did-we-get", {"thing": "the head"}),
        ("how much is that in millimetres", "in-millimetres", {}),
        ("how much is that in millimeters", "in-millimetres", {}),
        ("how much is the top width in mm", "in-millimetres", {"thing": "the top width"}),
        ("this is Ana Lopez", "speaker", {"name": "Ana Lopez"}),
        ("Ben here", "speaker", {"name": "Ben"}),
        ("ben speaking", "speaker", {"name": "ben"}),
        ("it's Ben", "speaker", {"name": "Ben"}),
        ("I'm Sterling", "speaker", {"name": "Sterling"}),
        ("this is Ana, the lead", "speaker", {"name": "Ana", "role": "lead"}),
        ("the lead is Ana", "lead-is", {"name": "Ana", "role": "lead"}),
        ("Ana is our inspector", "lead-is", {"name": "Ana", "role": "inspector"}),
        ("the middle one was a quarter", "correct", {"text": "the middle one was a quarter"}),
        ("it was 74, not 47", "correct", {"text": "it was 74, not 47"}),
        ("scratch that, 74 1/2", "correct", {"text": "74 1/2"}),
        ("correction: top 74 1/2, middle 74 3/8", "correct", {"text": "top 74 1/2, middle 74 3/8"}),
        ("I meant the left one", "correct", {"text": "the left one"}),
        ("no, seventy four and three eighths", "correct", {"text": "seventy four and three eighths"}),
        ("change the top width to 74 3/8", "change", {"text": "the top width to 74 3/8"}),
    ],
)
def test_understood(said: str, intent: str, slots: dict[str, str]) -> None:
    found = understand(said, PHRASES)
    assert (found.intent, dict(found.slots)) == (intent, slots)


@pytest.mark.parametrize("number", NUMBERS)
@pytest.mark.parametrize("way", ["no, make that {}", "correction {}", "Correction: {}.", "make it {} please", "no {}"])
def test_a_corrected_number_comes_back_as_it_was_typed(way: str, number: str) -> None:
    found = understand(way.format(number), PHRASES)
    assert (found.intent, dict(found.slots)) == ("correct", {"text": number})


@pytest.mark.parametrize(
    "words",
    [
        "the wall is DAMP here",
        "width 36,5; height 80 (approx.)",
        "don't touch — it's wet!",
        "he said thank you",
        "screws 🔩 are short",
        "- two shims left",
    ],
)
def test_a_note_keeps_its_words_and_marks(words: str) -> None:
    kept = words.removeprefix("- ")
    assert understand(f"note: {words}", PHRASES) == Understanding("note", {"text": kept})


@pytest.mark.parametrize(
    "said",
    [
        "it's tight",
        "it's out a sixteenth",
        "it's low on the left",
        "I'm not sure",
        "I'm freezing",
        "i am stuck",
        "this is wrong",
        "this is too heavy",
        "this is the wrong one",
        "nothing here",
        "Water here",
        "a crack here",
        "everybody here",
        "is anyone here",
        "it's a mess",
        "we moved on",
        "we moved the ladder",
        "no it's stuck",
        "no that's fine",
        "no one here",
        "it should be fine",
        "the old door was 80 inches",
        "measure twice",
        "set it down",
        "I think it's done",
        "it's not done",
        "is it done",
        "we're done here but the tape is lost",
        "don't know",
        "not sure",
    ],
)
def test_what_is_no_phrase_is_not_guessed(said: str) -> None:
    found = understand(said, PHRASES)
    assert (found.intent, dict(found.slots)) == ("", {})


def test_a_near_miss_is_offered_and_not_guessed() -> None:
    found = understand("wat is next", PHRASES)
    assert (found.intent, found.near) == ("", ("what is next",))
    assert "someone is hurt" in understand("somone is hrt", PHRASES).near
    assert understand("36 3/16 in", PHRASES).near == ()
    assert understand("qwertz", PHRASES).near == ()


def test_a_near_miss_keeps_what_was_said_in_the_slot() -> None:
    assert "correction 74 3/8" in understand("corection 74 3/8", PHRASES).near
    assert "remeasure the Sill" in understand("remesure the Sill", PHRASES).near


def test_a_near_miss_is_itself_understood() -> None:
    for text, intent in list(PHRASES.examples())[::7]:
        slip = text[:2] + text[3:]
        for near in understand(slip, PHRASES).near:
            assert understand(near, PHRASES).intent, (intent, slip, near)


def test_a_listed_person_is_known_however_it_is_spelt() -> None:
    assert understand("it's bo", PHRASES).intent == ""
    assert understand("it's bo", PHRASES, {"name": ["Bo"]}).slots == {"name": "bo"}
    assert understand("King here", PHRASES).intent == ""
    assert understand("King here", PHRASES, {"name": ["King"]}).slots == {"name": "King"}
    assert understand("this is Cy", PHRASES, {"name": ["Bo"]}).slots == {"name": "Cy"}, "somebody new may come"


def test_a_state_or_step_must_be_listed_if_its_list_is_given() -> None:
    known = {"state": ["frame", "sill pan"], "step": ["level it"]}
    assert understand("we bumped the frame", PHRASES, known).slots == {"state": "the frame"}
    assert understand("we bumped the sill-pan", PHRASES, known).slots == {"state": "the sill-pan"}
    assert understand("we bumped the neighbour", PHRASES, known).intent == ""
    assert understand("redo level it", PHRASES, known).slots == {"step": "level it"}
    assert understand("redo everything", PHRASES, known).intent == ""


def test_a_listed_person_counts_in_an_alarm() -> None:
    assert understand("ben fell", PHRASES).intent == ""
    assert understand("ben fell", PHRASES, {"name": ["Ben"]}).intent == "hurt"


@pytest.mark.parametrize(
    ("said", "safe"),
    [
        ("done", False),
        ("that's done", True),
        ("yes", False),
        ("yes it is", True),
        ("stop", False),
        ("stop for today", True),
        ("good", False),
        ("looks good", True),
        ("make that 74 3/8", True),
        ("why", True),
        ("emergency", True),
    ],
)
def test_what_may_commit_when_it_was_heard(said: str, safe: bool) -> None:
    found = understand(said, PHRASES)
    assert found.intent
    assert found.safe is safe


def test_normal() -> None:
    assert normal("  The Left-hand, “LEAF”! ") == "the left hand leaf"
    assert normal("🚪") == ""


@given(st.text(max_size=400))
@example("\u0645" * 400)
@example("\ufdfa" * 400)
@example("''''\"\"''")
@example("note \U000e0001")
def test_anything_can_be_said(text: str) -> None:
    found = understand(text, PHRASES)
    assert len(found.near) <= NEAR_MOST
    assert all(held.strip() == held for held in found.slots.values() if found.intent != "hurt")


@given(st.text(max_size=200), st.lists(st.text(max_size=20), max_size=4))
def test_anything_can_be_listed(text: str, listed: list[str]) -> None:
    understand(text, PHRASES, {"name": listed, "state": listed, "step": listed})


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from(sorted(PHRASES.words())), max_size=150).map(" ".join))
def test_any_words_of_its_own_are_read_fast(text: str) -> None:
    start = time.perf_counter()
    understand(text, PHRASES)
    assert time.perf_counter() - start < 1.0, "a hang"


@settings(max_examples=200)
@given(st.sampled_from(sorted({text for text, _ in PHRASES.examples()})), st.data())
def test_case_space_and_courtesy_change_nothing(text: str, data: st.DataObject) -> None:
    meant = understand(text, PHRASES).intent
    first = data.draw(st.sampled_from(["", "hey guide, ", "Okay ", "um  "]))
    last = data.draw(st.sampled_from(["", ".", " please", ", thanks!", " \u200f"]))
    assert understand(f"{first}{text}{last}", PHRASES).intent == meant
    assert understand(text.upper().replace(" ", "  "), PHRASES).intent in (meant, "")


@pytest.mark.parametrize("text", ["next " * 250_000, string.printable * 10_000, "a" * 1_000_000, "hurt his " * 100_000])
def test_a_megabyte_is_read_fast(text: str) -> None:
    start = time.perf_counter()
    understand(text, PHRASES)
    assert time.perf_counter() - start < 1.0, "a hang"


def test_an_alarm_at_the_front_of_a_very_long_utterance_is_heard() -> None:
    assert understand("he is bleeding " + "and then " * LONGEST, PHRASES).intent == "hurt"
