"""By voice: what is taken, what is asked, what is left alone, and what the record keeps of how it was heard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from fakes import FakePeople
from hypothesis import given, settings
from hypothesis import strategies as st
from small import CUT, SET, SHELF, START, SURVEYED
from talking import PHRASES, talk

from guide.job import events as ev
from guide.quantity import quantity
from guide.session import Turn
from guide.session.spoken import SpokenSession
from guide.voice.embedded.meanings import Meanings, weigh
from guide.voice.hearing import Heard, Partner


class Crew:
    """A crew that speaks: each utterance is heard as some texts, each with its weight in nats."""

    def __init__(self, lines: Sequence[str] = (), procedure: str = SHELF) -> None:
        self.talk = talk(procedure)
        people = FakePeople({"Ana": ("lead", "1234")})
        self.session = SpokenSession(self.talk.session.job, PHRASES, people)
        self.turns = self.session.open()
        for line in lines:
            self.turns = self.session.hear(line)
        self.shown = ""

    def heard(self, *texts: tuple[str, float], ear: str = "embedded", garbage: float = 0.0) -> Heard:
        """What an ear makes of an utterance that may have been any of these texts."""
        expect, lists = self.session.expecting()
        meanings = Meanings(PHRASES, expect, lists)
        found = weigh([(way, weight) for text, weight in texts for way in meanings.of(text)])
        return Heard(ear, found, garbage, texts[0][0] if texts else "", 1.0, 10)

    def say(self, *texts: str | tuple[str, float], cut: bool = False, garbage: float = 0.0) -> list[Turn]:
        """Say something; the turns that answered it."""
        pairs = [(text, -1.0) if isinstance(text, str) else text for text in texts]
        self.shown, self.turns = self.session.heard([self.heard(*pairs, garbage=garbage)], cut)
        return self.turns

    @property
    def last(self) -> ev.Event:
        return self.talk.events[-1]

    @property
    def ask(self) -> dict[str, object]:
        return next(turn.as_data() for turn in reversed(self.turns) if turn.kind == "ask")

    def taken(self) -> ev.Took:
        return next(event for event in reversed(self.talk.events) if isinstance(event, ev.Took))


def test_a_sure_reading_is_taken_with_how_it_was_heard() -> None:
    crew = Crew(START)
    crew.say("twenty and three eighths")
    took = crew.taken()
    assert (took.place, took.value) == ("top", quantity("20 3/8 in"))
    assert took.heard == ev.Heard("twenty and three eighths", "voice", confidence="1.00")
    assert crew.shown == "twenty and three eighths"
    assert "20 3/8 in" in crew.turns[0].text and crew.ask["place"] == "bottom"


def test_a_reading_in_doubt_is_a_question_and_the_record_keeps_the_other() -> None:
    crew = Crew(START)
    crew.say(("twenty and a half", -1.0), ("twenty and a quarter", -1.2))
    assert not any(isinstance(event, ev.Took) for event in crew.talk.events)
    assert crew.ask["choices"] == ["20 1/2 in", "20 1/4 in", "none"]
    assert crew.ask["text"] == "I heard one of these. Which? 1: 20 1/2 in. 2: 20 1/4 in. 3: none of these."
    crew.turns = crew.session.hear("2")
    took = crew.taken()
    assert took.value == quantity("20 1/4 in")
    assert (took.heard.said, took.heard.by, took.heard.others) == ("twenty and a half", "voice", ("20 1/2 in",))
    assert took.heard.confidence == "0.54" and took.heard.confirmed == "choice"


def test_the_choice_can_be_made_by_voice_by_its_number() -> None:
    crew = Crew(START)
    crew.say(("sixteen", -1.0), ("sixteen and a half", -1.2))
    crew.say("one")
    assert crew.taken().value == quantity("16 in")
    assert crew.taken().heard.confirmed == "choice"
    assert crew.ask["place"] == "bottom"
    assert [turn.kind for turn in crew.turns].count("ask") == 1


def test_none_of_these_is_asked_again_and_then_to_be_typed() -> None:
    crew = Crew(START)
    crew.say(("sixteen", -1.0), ("sixteen and a half", -1.2))
    crew.turns = crew.session.hear("3")
    assert "in another way" in crew.turns[0].text and crew.ask["place"] == "top"
    crew.say(("sixteen", -1.0), ("sixteen and a half", -1.2))
    crew.turns = crew.session.hear("none")
    assert "Type it" in crew.turns[0].text


@pytest.mark.parametrize("texts", [("thirty six",), ("someone said something",)])
def test_what_was_heard_in_part_is_never_taken(texts: tuple[str, ...]) -> None:
    crew = Crew(START)
    before = len(crew.talk.events)
    turns = crew.say(*texts, cut=True)
    assert len(crew.talk.events) == before
    if turns:
        assert "only a part" in turns[0].text and crew.ask["place"] == "top"


def test_what_was_not_for_the_guide_is_left_alone() -> None:
    crew = Crew(START)
    assert crew.say("pass me the saw") == []
    assert crew.say("twenty", garbage=50.0) == []
    assert crew.session.heard([]) == ("", [])


def test_a_reading_that_is_out_takes_a_yes() -> None:
    crew = Crew(SET)
    crew.say("a quarter")
    assert crew.ask["about"] == "confirm" and "1/4 in: that is out" in str(crew.ask["text"])
    crew.say("yes it is")
    took = crew.taken()
    assert (took.verdict, took.heard.said, took.heard.by, took.heard.confirmed) == ("out", "a quarter", "voice", "yes")
    assert [turn.kind for turn in crew.turns].count("ask") == 1
    crew = Crew(SET)
    crew.say("a quarter")
    crew.say("no it isn't")
    assert not any(isinstance(event, ev.Took) and event.step == "square" for event in crew.talk.events)
    assert crew.ask["about"] == "reading"


def test_a_hair_past_the_limit_is_out_and_takes_a_yes() -> None:
    crew = Crew(SET)
    crew.say("a sixteenth strong")
    assert crew.ask["about"] == "confirm"
    crew.say("yes it is")
    assert (crew.taken().verdict, crew.taken().heard.hair) == ("out", 1)


def test_a_bare_word_that_noise_can_say_commits_nothing() -> None:
    crew = Crew(CUT[:-1])
    before = len(crew.talk.events)
    crew.say("done")
    assert len(crew.talk.events) == before
    assert 'Did you say "done"?' in str(crew.ask["text"])
    crew.say("yes it is")
    assert isinstance(crew.talk.events[before], ev.Done)


def test_a_phrase_that_noise_does_not_say_commits() -> None:
    crew = Crew(CUT[:-1])
    before = len(crew.talk.events)
    crew.say("that's done")
    assert isinstance(crew.talk.events[before], ev.Done)


def test_a_correction_takes_a_yes() -> None:
    crew = Crew(START)
    crew.say("twenty and three eighths")
    crew.say("no make that twenty and a half")
    assert not any(isinstance(event, ev.Corrected) for event in crew.talk.events)
    crew.say("that's right")
    corrected = crew.talk.events[-1]
    assert isinstance(corrected, ev.Corrected) and corrected.value == quantity("20 1/2 in")
    assert (corrected.heard.by, corrected.heard.confirmed) == ("voice", "yes")
    assert corrected.heard.said == "no make that twenty and a half"


def test_several_places_in_one_breath() -> None:
    crew = Crew(START)
    crew.say("top twenty and a half bottom twenty and three eighths")
    took = [event for event in crew.talk.events if isinstance(event, ev.Took)]
    assert [(one.place, str(one.value)) for one in took] == [("top", "20 1/2 in"), ("bottom", "20 3/8 in")]
    assert all(one.heard.by == "voice" and one.heard.said.startswith("top twenty") for one in took)


def test_a_side_that_was_left_out_is_asked_for() -> None:
    crew = Crew([*SET, "0", "1/16"])
    assert crew.ask["reading"] == "level"
    crew.say("a sixteenth")
    assert crew.ask["about"] in ("heard", "side")


def test_a_choice_of_the_job_by_its_number() -> None:
    crew = Crew()
    crew.say("two")
    assert crew.session.job.state.choices == {"back": "none"}
    crew = Crew()
    crew.say("seven")
    assert crew.session.job.state.choices == {}


@pytest.mark.parametrize(
    "words", ["number two", "the second", "the second one", "option two", "the last one", "no back"]
)
def test_a_choice_is_named_by_its_number_its_place_in_the_row_or_its_words(words: str) -> None:
    crew = Crew()
    crew.say(words)
    assert crew.session.job.state.choices == {"back": "none"}
    assert crew.shown == words


def test_what_two_choices_share_names_none_of_them() -> None:
    crew = Crew()
    crew.say("back")
    assert crew.session.job.state.choices == {}


def test_a_size_among_choices_is_named_by_itself_and_never_where_a_teen_may_be_a_ten() -> None:
    crew = Crew(START)
    crew.say(("fifteen and a half", -1.0), ("fifty and a half", -1.2))
    assert crew.ask["choices"] == ["15 1/2 in", "50 1/2 in", "none"]
    heard = crew.heard(("fifteen and a half", -1.0))
    crew.session.heard([replace(heard, partners=(Partner("fifty and a half", 1.0),))])
    assert not any(isinstance(event, ev.Took) for event in crew.talk.events)
    crew.say("the first one")
    crew.say("yes it is")
    assert crew.taken().value == quantity("15 1/2 in")


def test_about_is_asked_about_once_and_kept_as_at_the_keyboard() -> None:
    crew, typing = Crew(START), Crew(START)
    crew.say("about twenty and a half")
    typing.turns = typing.session.hear("about twenty and a half")
    assert crew.ask == typing.ask and crew.ask["expects"] == "yes-no"
    crew.say("yes it is")
    typing.session.hear("yes it is")
    took, typed = crew.taken(), typing.taken()
    assert took.heard.unsure and typed.heard.unsure and took.value == typed.value == quantity("20 1/2 in")
    assert (took.heard.by, took.heard.confirmed) == ("voice", "yes")


def test_a_surprise_is_one_question() -> None:
    crew = Crew(START)
    crew.say("ninety and a half")
    assert crew.ask["expects"] == "yes-no" and "90 1/2 in" in str(crew.ask["text"])
    crew.say("yes it is")
    assert crew.taken().value == quantity("90 1/2 in") and crew.ask["place"] == "bottom"


def test_a_bare_yes_is_told_how_to_be_sure() -> None:
    crew = Crew(START)
    crew.say("about twenty and a half")
    crew.say("yes")
    assert "yes it is" in crew.turns[0].text
    assert not any(isinstance(event, ev.Took) for event in crew.talk.events)


LATCH = """
format: 1
title: A latch
readings:
  latches: {ask: "Does it latch by itself", answer: yes-no, good: "yes"}
steps:
  latch: {say: "Try the latch.", take: latches}
"""


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("it latches", "yes"), ("yes it does", "yes"), ("the door closes fine", "yes"), ("binds at the head", "no"),
        ("it won't latch", "no"), ("the bolt won't throw", "no"), ("it's stuck at the bottom hinge", "no"),
    ],
)  # fmt: skip
def test_whether_a_thing_works_is_said_in_its_own_words(words: str, value: str) -> None:
    crew = Crew(["Bo"], LATCH)
    crew.say(words)
    assert (crew.taken().value, crew.taken().heard.by) == (value, "voice")


def test_whether_a_thing_works_is_asked_again_when_it_is_in_doubt() -> None:
    crew = Crew(["Bo"], LATCH)
    crew.say(("it latches", -1.0), ("it won't latch", -1.2))
    assert not any(isinstance(event, ev.Took) for event in crew.talk.events)
    crew.say("yes it is")
    assert crew.taken().value == "yes" and crew.taken().heard.confirmed == "yes"


def test_a_whole_number_is_a_whole_choice_though_as_a_reading_it_might_go_on() -> None:
    crew = Crew()
    heard = replace(crew.heard(("two", -1.0)), stops=True)
    crew.session.heard([heard])
    assert crew.session.job.state.choices == {"back": "none"}


def test_questions_are_answered_and_change_nothing() -> None:
    crew = Crew(START)
    before = len(crew.talk.events)
    crew.say("why")
    assert len(crew.talk.events) == before
    assert crew.turns


def test_someone_is_hurt_is_understood_at_every_moment() -> None:
    for lines in (START, SURVEYED, SET):
        crew = Crew(lines)
        crew.say("someone is hurt", cut=True)
        assert any(isinstance(event, ev.Hurt) for event in crew.talk.events)


CRIES = ["he cut his hand", "she fell off the ladder", "call an ambulance", "his hand is bleeding"]


@pytest.mark.parametrize("words", CRIES)
def test_a_cry_in_any_words_is_an_alarm(words: str) -> None:
    crew = Crew(SURVEYED)
    crew.say(words)
    assert isinstance(crew.last, ev.Hurt) or any(isinstance(event, ev.Hurt) for event in crew.talk.events)


def test_a_cry_inside_a_longer_sentence_is_asked_about_first() -> None:
    for words in ("he put a nail through his thumb", "my knee hurts when it rains"):
        crew = Crew(SURVEYED)
        crew.say(words)
        assert "Is somebody hurt?" in str(crew.ask["text"])
    crew = Crew(SURVEYED)
    crew.say("he put a nail through his thumb")
    crew.say("yes it is")
    assert any(isinstance(event, ev.Hurt) for event in crew.talk.events)


def test_a_cry_in_doubt_is_asked_about_at_once_and_cried_again_it_is_sure() -> None:
    for then in ("yes it is", ("someone is hurt", -1.0)):
        crew = Crew(START)
        crew.say(("twenty", -1.0), ("someone is hurt", -2.0))
        assert "Is somebody hurt?" in str(crew.ask["text"])
        crew.say(then, garbage=5.0 if isinstance(then, tuple) else 0.0)
        assert any(isinstance(event, ev.Hurt) for event in crew.talk.events)
        assert [turn.kind for turn in crew.turns].count("ask") == 1


def test_a_bare_stop_is_asked_about_also_inside_a_dialogue_and_said_again_it_is_sure() -> None:
    crew = Crew(SET)
    crew.say(("sixteen", -1.0), ("sixteen and a half", -1.2))
    crew.say("stop")
    assert 'Did you say "stop"?' in str(crew.ask["text"])
    crew.say("stop")
    assert any(isinstance(event, ev.Stopping) for event in crew.talk.events)


def test_a_cry_that_was_none_goes_on_where_it_was() -> None:
    crew = Crew(START)
    crew.say(("someone is hurt", -1.0), garbage=5.0)
    crew.say("no it isn't")
    assert not any(isinstance(event, ev.Hurt) for event in crew.talk.events)
    assert crew.ask["place"] == "top"


def test_a_pin_is_typed_never_spoken() -> None:
    crew = Crew([*SET, "1/2", "0", "leave it as it is", "Ana"])
    assert crew.session.secret
    assert crew.session.expecting()[0] is None
    crew.say("why")
    assert crew.turns[0].text == "A PIN is typed, never spoken."


def test_two_ears_that_disagree_are_a_question() -> None:
    crew = Crew(START)
    one, other = crew.heard(("twenty and a half", -1.0)), crew.heard(("twenty and an eighth", -1.0), ear="vosk")
    _, crew.turns = crew.session.heard([one, other])
    assert crew.ask["choices"] == ["20 1/2 in", "20 1/8 in", "none"]
    crew = Crew(START)
    _, crew.turns = crew.session.heard([crew.heard(("twenty and a half", -1.0)), crew.heard(ear="vosk")])
    assert crew.taken().value == quantity("20 1/2 in")


def test_an_ear_that_was_never_measured_is_asked_about() -> None:
    crew = Crew(START)
    _, crew.turns = crew.session.heard([crew.heard(("twenty and a half", -1.0), ear="vosk")])
    assert crew.ask["choices"] == ["20 1/2 in", "none"]


def test_the_ears_are_told_what_is_asked() -> None:
    crew = Crew(START)
    expect, lists = crew.session.expecting()
    assert expect is not None and expect.places == ("top", "bottom") and "Bo" in lists["name"]
    crew.session.hear("stop")
    assert crew.session.expecting()[0] is None


WORDS = [
    "twenty", "twenty and a half", "top twenty bottom twenty and an eighth", "a sixteenth", "zero", "level", "one",
    "a sixteenth high on the left", "done", "that's done", "yes", "yes it is", "no it isn't", "why", "stop", "good",
    "understood", "copy that", "no make that twenty", "correction a half", "the frame moved", "never mind",
    "someone is hurt", "two", "leave it as it is", "undo that", "what did we get", "about a half",
    "nine hundred millimetres", "twenty strong", "a sixteenth shy",
]  # fmt: skip
LINES = ["", "2", "20", "0", "done", "yes", "Ana", "stop", "1/2", "1234", "because"]
utterances = st.tuples(
    st.lists(st.tuples(st.sampled_from(WORDS), st.floats(-6, 0)), max_size=3),
    st.booleans(),
    st.sampled_from(["embedded", "vosk"]),
    st.floats(-2, 12),
)


@settings(max_examples=60)
@given(st.lists(utterances | st.sampled_from(LINES), max_size=25), st.sampled_from([START, SURVEYED, SET]))
def test_whatever_is_heard_and_typed_every_reading_is_one_that_was_given(
    crew_says: list[tuple[list[tuple[str, float]], bool, str, float] | str], begun: list[str]
) -> None:
    crew = Crew(begun)
    for one in crew_says:
        before = len(crew.talk.events)
        if isinstance(one, str):
            crew.session.hear(one)
            continue
        texts, cut, ear, garbage = one
        heard = crew.heard(*texts, ear=ear, garbage=garbage)
        crew.session.heard([heard], cut)
        new = crew.talk.events[before:]
        if cut:
            assert all(isinstance(event, ev.Hurt) for event in new)
        for event in new:
            if isinstance(event, ev.Took | ev.Corrected) and not event.heard.confirmed:
                assert event.heard.by == "voice" and event.heard.said == heard.hearings[0].words
                assert event.verdict != "out" and ear == "embedded"


def test_what_cannot_be_kept_is_not_taken() -> None:
    crew = Crew(START)
    crew.talk.journal.fails = True
    crew.say("twenty and three eighths")
    assert "disk is full" in crew.turns[0].text
    assert crew.session.readings.spoken is None


NICHE = """format: 1
title: Fit a unit into a niche
readings:
  wide: {ask: Width, at: [bottom, middle, top], likely: 24 in to 60 in, measures: opening width}
  tall: {ask: Height, at: [left, right], likely: 60 in to 100 in, measures: opening height}
  slant:
    {ask: Diagonal, at: [bottom left to top right, bottom right to top left], likely: 60 in to 120 in,
     measures: opening diagonal}
  edge:
    {ask: Lean, at: [left stud, right stud], about: plumb, likely: -1 in to 1 in, measures: stud lean,
     sign: {plus: to the right, minus: to the left, toward: right, away: left}}
steps:
  widths: {take: wide}
  heights: {take: tall}
  slants: {take: slant}
  edges: {take: edge}
  done: {say: Go on., after: [widths, heights, slants, edges]}
"""
READ = ("36, 36, 38", "80, 80", "87 3/4, 87 3/4", "0, 0")


def test_a_reading_asked_for_once_more_is_given_by_voice_with_a_yes() -> None:
    crew = Crew(READ, NICHE)
    assert (crew.ask["about"], crew.ask["place"]) == ("take-again", "top")
    crew.say("thirty six")
    assert crew.ask["expects"] == "yes-no"
    assert not any(isinstance(event, ev.Corrected) for event in crew.talk.events)
    crew.say("no it isn't")
    assert (crew.ask["about"], crew.ask["place"]) == ("take-again", "top")
    crew.say("thirty six")
    crew.say("yes it is")
    corrected = next(event for event in crew.talk.events if isinstance(event, ev.Corrected))
    assert (corrected.value, corrected.heard.by, corrected.heard.said) == (quantity("36 in"), "voice", "thirty six")
    assert crew.ask["step"] == "done"


def test_a_reading_asked_for_once_more_that_is_heard_in_doubt_is_to_be_said_again() -> None:
    crew = Crew(READ, NICHE)
    crew.say(("thirty six", -1.0), ("thirty six and a half", -1.5))
    assert (crew.ask["about"], crew.ask["place"]) == ("take-again", "top")
    assert not any(isinstance(event, ev.Corrected) for event in crew.talk.events)
