"""Phrase templates: what they spread into, what they match, and what is no template."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.talk.templates import MOST_PHRASES, Slot, TemplateError, match, sample, slotted, spread, vocabulary

STEP = Slot("step", "step")
WORDS = st.lists(st.sampled_from(["go", "on", "to", "the", "end"]), max_size=12)


def test_a_template_spreads_into_phrases() -> None:
    assert spread("[please] (go|move) on {step}") == (
        ("go", "on", STEP),
        ("move", "on", STEP),
        ("please", "go", "on", STEP),
        ("please", "move", "on", STEP),
    )


def test_brackets_nest_and_each_phrase_comes_once() -> None:
    assert spread("(a|b [c|d])") == (("a",), ("b",), ("b", "c"), ("b", "d"))
    assert spread("[a] [a]") == (("a",), ("a", "a"))


def test_a_slot_may_name_its_kind() -> None:
    assert spread("it is {text:figure}") == (("it", "is", Slot("text", "figure")),)


@pytest.mark.parametrize(
    ("template", "why"),
    [
        ("", "0 phrases"),
        ("[]", "0 phrases"),
        ("[a", "not closed"),
        ("(a|b", "not closed"),
        ("(a]", "not closed"),
        ("a)", "bracket too many"),
        ("{Big}", "no word, bracket or slot"),
        ("{a:}", "no word, bracket or slot"),
        ("{one} {two}", "side by side"),
        ("a {one} [b] {two}", "side by side"),
        ("(a|b)" * 20, "more than"),
    ],
)
def test_a_bad_template_says_why(template: str, why: str) -> None:
    with pytest.raises(TemplateError, match=why):
        spread(template)
    assert MOST_PHRASES < 2**20


def test_a_slot_takes_one_word_or_more_and_the_rest_must_be_the_phrase() -> None:
    (phrase,) = spread("go to {step} now")
    assert match(phrase, ["go", "to", "the", "end", "now"]) == ((STEP, 2, 4),)
    assert match(phrase, ["go", "to", "now"]) is None
    assert match(phrase, ["go", "to", "the", "end"]) is None
    assert match(phrase, ["please", "go", "to", "the", "end", "now"]) is None


def test_slots_take_as_few_words_as_they_can_and_the_last_the_rest() -> None:
    (phrase,) = spread("set {thing} to {text}")
    found = match(phrase, ["set", "the", "gap", "to", "an", "eighth", "to", "the", "left"])
    assert found == ((Slot("thing", "thing"), 1, 3), (Slot("text", "text"), 4, 9))
    assert match(phrase, ["set", "the", "gap", "to"]) is None


@given(WORDS, st.sampled_from(["go [on] to {step}", "{step} (to|on) {text} end", "go on", "{text}"]))
def test_what_matches_is_the_utterance_put_together_again(words: list[str], template: str) -> None:
    for phrase in spread(template):
        found = match(phrase, words)
        if found is None:
            continue
        held = iter(found)
        again: list[str] = []
        for part in phrase:
            if isinstance(part, Slot):
                slot, start, end = next(held)
                assert slot == part
                assert start == len(again)
                assert end > start
                again += words[start:end]
            else:
                again.append(part)
        assert again == words


def test_matching_is_fast_however_the_words_repeat() -> None:
    (phrase,) = spread("a {x} a b {y} a c {z} d")
    start = time.perf_counter()
    assert match(phrase, ["a"] * 5000) is None
    assert time.perf_counter() - start < 1.0, "a hang"


def test_samples_and_vocabulary() -> None:
    phrases = spread("go to {step} [now]")
    assert list(sample(phrases, lambda slot: "square")) == ["go to square", "go to square now"]
    assert vocabulary(phrases) == {"go", "to", "now"}
    assert [slotted(phrase) for phrase in (*phrases, ("go",))] == [True, True, False]
