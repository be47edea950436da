"""Yes and no by place: by voice as at the keyboard, the rest asked for, said otherwise, put right, and what is kept."""

from __future__ import annotations

from dataclasses import replace

import pytest
from fakes import FakePeople
from talking import PHRASES, Talk, talk

from guide.job import events as ev
from guide.session import Turn
from guide.session.spoken import SpokenSession
from guide.voice.embedded.meanings import Meanings, weigh
from guide.voice.hearing import Heard

GATE = """
format: 1
title: A gate
about: Invented, for tests.
readings:
  latches: {ask: "Does it latch", at: [head, latch, sill], answer: yes-no, good: "yes"}
  free: {ask: "Does it swing free", at: [left door, right door], answer: yes-no, good: "yes"}
steps:
  latch: {say: "Try each latch.", take: latches, out: {say: "Plane it."}}
  free: {after: latch, say: "Swing both.", take: free, out: {say: "Plane it."}}
"""
TO_THE_DOORS = "all three work"


class Voiced:
    """A crew that speaks: each utterance is heard as some texts, each with its weight in nats."""

    def __init__(self, *lines: str) -> None:
        self.talk = talk(GATE)
        self.session = SpokenSession(self.talk.session.job, PHRASES, FakePeople())
        self.turns = self.session.open()
        for line in lines:
            self.say(line)

    def heard(self, *texts: tuple[str, float]) -> Heard:
        expect, lists = self.session.expecting()
        meanings = Meanings(PHRASES, expect, lists)
        found = weigh([(way, weight) for text, weight in texts for way in meanings.of(text)])
        return Heard("embedded", found, 0.0, texts[0][0], 1.0, 10)

    def say(self, *texts: str | tuple[str, float], garbage: float = 0.0, cut: bool = False) -> list[Turn]:
        heard = self.heard(*((text, -1.0) if isinstance(text, str) else text for text in texts))
        _, self.turns = self.session.heard([replace(heard, garbage=garbage)], cut)
        return self.turns

    @property
    def ask(self) -> dict[str, object]:
        return next(turn.as_data() for turn in reversed(self.turns) if turn.kind == "ask")


def typed(*lines: str) -> Talk:
    job = talk(GATE)
    job.say(*lines)
    return job


def answers(job: Talk) -> list[tuple[str, str, object]]:
    """Everything taken and put right: the kind of entry, its place and its value."""
    return [(e.kind, e.place, e.value) for e in job.events if isinstance(e, ev.Took | ev.Corrected)]


def given(job: Talk, step: str = "latch") -> dict[str, object]:
    return {place: taken.value for place, taken in job.session.job.state.steps[step].last.items()}


SENTENCES = (
    ("head works, latch binds, sill works",),
    ("head works latch binds sill works",),
    ("yes at the head no at the sill",),
    ("binds at the head",),
    ("only binds at the head", "the rest are fine"),
    ("won't throw",),
    ("it latches", "it latches", "binds"),
    ("sill binds", "it latches"),
    ("head and sill work but the latch binds",),
    ("head binds, the others work",),
    (TO_THE_DOORS,),
    (TO_THE_DOORS, "both doors swing free"),
    (TO_THE_DOORS, "left works right binds"),
    (TO_THE_DOORS, "binds on the right side", "1"),
    (TO_THE_DOORS, "binds on the right side", "2", "swings free"),
    (TO_THE_DOORS, "left swings free", "the other one binds"),
    ("the rest are fine", "it latches", "the other one binds"),
    (TO_THE_DOORS, "binds on the left side", "it runs free"),
    ("head works", "head works, latch binds"),
    ("head works", "head binds, latch binds"),
)


@pytest.mark.parametrize("lines", SENTENCES)
def test_by_voice_as_at_the_keyboard(lines: tuple[str, ...]) -> None:
    typing, crew = typed(*lines), Voiced()
    for line in lines:
        crew.say({"1": "the first one", "2": "two"}.get(line, line))
    assert answers(crew.talk) == answers(typing)
    assert crew.session.job.wants == typing.session.job.wants
    assert crew.session.asking.last == typing.session.asking.last
    took = [event for event in crew.talk.events if isinstance(event, ev.Took)]
    assert took and all(event.heard.by == "voice" and event.heard.confidence for event in took)


def test_what_was_named_is_taken_and_said_back_by_place_and_the_rest_asked_for() -> None:
    job = typed()
    turns = job.say("sill binds, head works")
    assert given(job) == {"head": "yes", "sill": "no"}
    assert [turn.text for turn in turns if turn.kind == "accepted"] == ["head: yes. Good.", "sill: no. Out."]
    assert (job.ask["step"], job.ask["place"]) == ("latch", "latch")
    job.say("it latches")
    assert given(job) == {"head": "yes", "latch": "yes", "sill": "no"}
    assert job.ask["about"] == "adjust"


def test_the_failing_place_that_is_named_leaves_the_others_unknown() -> None:
    job = typed("binds at the sill")
    assert given(job) == {"sill": "no"}
    assert job.ask["place"] == "head"


def test_the_rest_is_what_had_no_answer_in_this_round() -> None:
    job = typed("binds at the latch")
    job.say("the rest are fine")
    assert given(job) == {"head": "yes", "latch": "no", "sill": "yes"}
    assert job.ask["about"] == "adjust"
    for words in ("the rest are fine", "the other one works"):
        assert answers(typed(words)) == [] == answers(typed("the sill", words))
    job = typed("head works")
    job.say("the other one works")
    assert given(job) == {"head": "yes"}


def test_what_can_not_wholly_be_understood_is_taken_for_no_place() -> None:
    for words in (
        "head works, latch binds, sill banana",
        "all work but the sill",
        "not sure about the head",
        "not sure",
    ):
        job = typed(words)
        assert answers(job) == [], words
        assert "head yes, sill no" in job.turns[-2].text
        assert job.ask["place"] == "head"


def test_which_place_is_meant_is_asked() -> None:
    job = typed(TO_THE_DOORS)
    job.say("no, it binds on the right side")
    assert job.ask["choices"] == ["right door no", "left door no"]
    assert given(job, "free") == {}
    job.say("left")
    took = next(event for event in reversed(job.events) if isinstance(event, ev.Took))
    assert (took.place, took.value, took.heard.confirmed) == ("left door", "no", "choice")
    assert job.ask["place"] == "right door"


def test_a_place_said_otherwise_than_before_takes_nothing() -> None:
    job = typed("head works")
    turns = job.say("head binds, latch works")
    assert turns[0].kind == "refused" and "correction" in turns[0].text
    assert given(job) == {"head": "yes"} and job.ask["place"] == "latch"


@pytest.mark.parametrize(
    ("words", "after"),
    [
        ("no, make that no", {"head": "no"}),
        ("no, make that head no", {"head": "no"}),
        ("correction, the head binds", {"head": "no"}),
        ("no it was binding", {"head": "no"}),
        ("actually make it no", {"head": "no"}),
    ],
)
def test_an_answer_is_put_right_at_its_place(words: str, after: dict[str, object]) -> None:
    job = typed("head works", words)
    assert given(job) == after
    assert isinstance(job.events[-1], ev.Corrected) and job.ask["place"] == "latch"
    crew = Voiced("head works", words.replace(",", ""))
    assert given(crew.talk) == {"head": "yes"}
    crew.say("yes it is")
    assert given(crew.talk) == after
    mended = crew.talk.events[-1]
    assert isinstance(mended, ev.Corrected)
    assert (mended.heard.by, mended.heard.confirmed, mended.heard.said) == ("voice", "yes", words.replace(",", ""))


def test_several_places_are_put_right_at_once_and_what_was_right_stays() -> None:
    job = typed("head works, latch works", "correction head binds latch works")
    assert given(job) == {"head": "no", "latch": "yes"}
    assert [event.place for event in job.events if isinstance(event, ev.Corrected)] == ["head"]
    job = typed("head works", "correction sill binds")
    assert given(job) == {"head": "yes"}
    assert job.turns[-2].kind == "refused"


def test_a_first_no_is_an_answer_and_puts_nothing_right() -> None:
    for words in ("no it was binding", "no, make that no"):
        assert answers(typed(words)) == [("took", "head", "no")]


def test_by_voice_the_record_keeps_the_words_and_how_likely_they_were() -> None:
    crew = Voiced("head works latch binds")
    took = [event for event in crew.talk.events if isinstance(event, ev.Took)]
    assert [(one.place, one.value) for one in took] == [("head", "yes"), ("latch", "no")]
    assert {one.heard for one in took} == {ev.Heard("head works latch binds", "voice", confidence="1.00")}


def test_by_voice_a_place_in_doubt_is_a_question_by_place_and_the_record_keeps_the_other() -> None:
    crew = Voiced()
    crew.say(("head works latch binds", -1.0), ("head works latch works", -1.3))
    assert answers(crew.talk) == []
    assert crew.ask["choices"] == ["head yes; latch no", "head yes; latch yes", "none"]
    crew.say("the second one")
    took = [event for event in crew.talk.events if isinstance(event, ev.Took)]
    assert [(one.place, one.value) for one in took] == [("head", "yes"), ("latch", "yes")]
    heard = took[0].heard
    assert (heard.said, heard.by, heard.confirmed) == ("head works latch binds", "voice", "choice")
    assert (heard.others, heard.confidence) == (("head yes; latch no",), "0.57")


def test_by_voice_none_of_these_takes_nothing() -> None:
    crew = Voiced()
    crew.say(("head works", -1.0), ("head won't work", -1.3))
    crew.say("three")
    assert answers(crew.talk) == [] and crew.ask["place"] == "head"


def test_by_voice_one_meaning_in_doubt_is_said_back_by_place_and_takes_a_yes() -> None:
    crew = Voiced()
    heard = replace(crew.heard(("head works sill binds", -1.0)), stops=True)
    _, crew.turns = crew.session.heard([heard])
    assert answers(crew.talk) == []
    assert str(crew.ask["text"]).startswith("head yes; sill no: is it right?")
    crew.say("yes it is")
    took = [event for event in crew.talk.events if isinstance(event, ev.Took)]
    assert [(one.place, one.value, one.heard.confirmed) for one in took] == [
        ("head", "yes", "yes"),
        ("sill", "no", "yes"),
    ]


@pytest.mark.parametrize(("words", "answer"), [("the door closes fine", "yes"), ("binds at the head", "no")])
def test_by_voice_what_may_be_a_place_misheard_is_said_back_with_the_place_asked_for(words: str, answer: str) -> None:
    crew = Voiced(TO_THE_DOORS)
    crew.say(words)
    assert given(crew.talk, "free") == {}
    assert str(crew.ask["text"]).startswith(f"left door {answer}: is it right?")
    crew.say("yes it is")
    assert given(crew.talk, "free") == {"left door": answer} == given(typed(TO_THE_DOORS, words), "free")


def test_by_voice_what_no_ear_can_tell_from_its_opposite_is_asked_about() -> None:
    for words, meant in (("head runs", "yes"), ("head rubs", "no")):
        crew = Voiced()
        crew.say(words)
        assert answers(crew.talk) == [] and str(crew.ask["text"]).startswith(f"head {meant}: is it right?")
        crew.say("yes it is")
        assert answers(crew.talk) == [("took", "head", meant)]
    assert answers(Voiced("head runs free").talk) == [("took", "head", "yes")] == answers(typed("head runs"))


def test_by_voice_a_bare_yes_is_asked_about_as_ever_and_a_yes_with_its_place_is_not() -> None:
    crew = Voiced()
    crew.say("yes")
    assert answers(crew.talk) == [] and 'Did you say "yes"?' in str(crew.ask["text"])
    crew = Voiced("yes at the head")
    assert answers(crew.talk) == [("took", "head", "yes")]


def test_by_voice_talk_noise_and_what_was_cut_take_nothing() -> None:
    crew = Voiced()
    assert crew.say("pass me the bottom shims from the sill") == []
    assert crew.say("head works latch binds", garbage=50.0) == []
    crew.say("head works latch binds", cut=True)
    assert "only a part" in crew.turns[0].text
    assert answers(crew.talk) == []


def test_two_ears_that_hear_another_place_are_a_question() -> None:
    crew = Voiced()
    second = replace(crew.heard(("sill binds", -1.0)), ear="vosk")
    _, crew.turns = crew.session.heard([crew.heard(("head binds", -1.0)), second])
    assert answers(crew.talk) == []
    assert crew.ask["choices"] == ["head no", "sill no", "none"]


def test_the_ears_are_told_the_places_only_where_a_state_is_asked_for() -> None:
    crew = Voiced()
    expect, _ = crew.session.expecting()
    assert expect is not None and expect.states and expect.places == ("head", "latch", "sill")
    crew.say(("head works", -1.0), ("head won't work", -1.3))
    expect, _ = crew.session.expecting()
    assert expect is not None and not expect.states and not expect.places
