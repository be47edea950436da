"""An alarm inside longer sentences: heard in what people say when somebody is hurt, and not in plain site talk."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.talk.alarm import Alarm, written_out
from guide.talk.phrases import Phrases
from guide.talk.templates import spread
from guide.talk.understand import understand

PHRASES = Phrases.load("en")
HERE = Path(__file__).parent
NOT_HEARD = {
    "Ben fell",
    "he got the nail gun in the leg",
    "I think it's broken, my wrist",
    "is he breathing I don't think so",
    "he's shaking and sweating",
}
"""Real alarms that no pattern catches: each is told apart from site talk only by knowing more than words."""
HEARD_FOR_NOTHING = {"the plumb is knocked out", "get a doctor bolt"}


def lines(name: str) -> list[str]:
    return [line for line in (HERE / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]


def test_someone_is_hurt_is_understood_inside_sentences() -> None:
    said = lines("hurt.txt")
    assert len(said) > 250
    assert {one for one in said if understand(one, PHRASES).intent != "hurt"} == NOT_HEARD


def test_harmless_sentences_raise_no_alarm() -> None:
    said = lines("harmless.txt")
    assert len(said) > 250
    assert {one for one in said if understand(one, PHRASES).intent == "hurt"} == HEARD_FOR_NOTHING


@pytest.mark.parametrize("around", ["{}", "listen, {} right now!", "OKAY {}", "no {}, stop the job", "note {}"])
def test_an_alarm_is_heard_wherever_it_stands(around: str) -> None:
    for said in ("he is bleeding", "she cut her hand", "there's been an accident", "call an ambulance"):
        found = understand(around.format(said), PHRASES)
        assert (found.intent, found.slots) == ("hurt", {"text": around.format(said)})


def test_nothing_a_crew_says_to_the_guide_raises_it() -> None:
    wrong = [text for text, intent in PHRASES.examples() if understand(text, PHRASES).intent == "hurt" != intent]
    assert wrong == []


def test_what_takes_one_alarm_back_leaves_the_next_one() -> None:
    assert understand("nobody is hurt", PHRASES).intent == "all-clear"
    assert understand("nobody else is hurt but Ben is bleeding", PHRASES).intent == "hurt"
    assert understand("the paint is bleeding and so is my hand, it is bleeding", PHRASES).intent == "hurt"


ALARM = Alarm(
    spread("<who> [has] fell") + spread("is hurt"), spread("nobody is hurt"), {"who": frozenset({"he", "ada"})}
)


@pytest.mark.parametrize(
    ("said", "raised"),
    [
        ("ada fell", True),
        ("oh he has fell down", True),
        ("it fell", False),
        ("he's hurt", True),
        ("he isn't hurt", False),
        ("nobody's hurt", False),
        ("nobody is hurt he is hurt", True),
        ("", False),
    ],
)
def test_patterns_classes_and_contractions(said: str, raised: bool) -> None:
    assert ALARM.raised(said.split()) is raised


@given(st.lists(st.sampled_from(["he", "has", "fell", "is", "hurt", "nobody"]), max_size=30))
def test_an_alarm_is_a_pattern_that_no_other_overlaps(words: list[str]) -> None:
    text = f" {' '.join(words)} "
    plain = any(f" {one} " in text for one in ("he fell", "he has fell", "is hurt"))
    if "nobody is hurt" not in text:
        assert ALARM.raised(words) is plain
    elif " he fell " in text or " he has fell " in text:
        assert ALARM.raised(words)


@pytest.mark.parametrize(
    ("word", "parts"),
    [
        ("he's", ("he", "is")),
        ("isn't", ("is", "not")),
        ("can't", ("can", "not")),
        ("cannot", ("can", "not")),
        ("i've", ("i", "have")),
        ("'s", ("'s",)),
        ("door", ("door",)),
    ],
)
def test_contractions_are_written_out(word: str, parts: tuple[str, ...]) -> None:
    assert written_out(word) == parts
