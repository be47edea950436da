"""The ear's process: what is sent in, what is told, and a job done by sound through the real processes."""

from __future__ import annotations

import io
import os
import queue
import sys
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import ear_of_files
import numpy as np
import pytest
from fakes import FakeMicrophone, FakePeople, LoudIsSpeech, Ticks
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from small import SHELF, START
from talking import PHRASES, talk

from guide.job import events as ev
from guide.procedure.model import Sign
from guide.quantity import Quantity, quantity
from guide.screen.draw import Drawing
from guide.screen.voiced import VoicedScreen
from guide.session.conversation import Conversation
from guide.session.spoken import SpokenSession
from guide.talk.expect import Expect
from guide.voice.attending import Attending, Level, News, Plugged, Utterance
from guide.voice.child import Channel
from guide.voice.duplex import Duplex
from guide.voice.ear import Ear, wants_more
from guide.voice.expecting import expect_data, expect_from
from guide.voice.hearing import Amount, Heard, Hearing
from guide.voice.mouth import Speech, Voice
from guide.voice.settings import Settings
from guide.voice.supervise import Banner

PATIENCE = 60


def reading(words: str, value: str, unit_given: bool = False, probability: float = 1.0) -> Hearing:
    return Hearing(
        "reading", words, probability, -1.0, (Amount(value, quantity(value).magnitude, unit_given=unit_given),)
    )


def heard(*hearings: Hearing, free: str = "") -> Heard:
    return Heard("embedded", hearings, 0.0, free, 1.0, 1)


@pytest.mark.parametrize(
    ("one", "open_"),
    [
        (heard(reading("thirty six", "36 in")), True),
        (heard(reading("thirty six and", "36 in", unit_given=True)), True),
        (heard(reading("thirty six and a half", "36 1/2 in")), False),
        (heard(reading("thirty six inches", "36 in", unit_given=True)), False),
        (heard(reading("zero", "0 in")), False),
        (heard(reading("thirty six and a half", "36 1/2 in"), reading("thirty six", "36 in", probability=0.05)), True),
        (heard(reading("thirty six and a half", "36 1/2 in"), reading("thirty six", "36 in", probability=0.01)), False),
        (heard(free="Thirty six and."), True),
        (heard(free="Thanks."), False),
        (heard(Hearing("command", "why", 1.0, -1.0, command="why")), False),
    ],
)
def test_what_wants_a_continuation(one: Heard, open_: bool) -> None:
    assert wants_more(one) is open_


def answer(words: str) -> Hearing:
    return Hearing("answer", words, 1.0, -1.0, answer="yes")


@pytest.mark.parametrize(
    ("one", "open_"),
    [
        (heard(answer("top works"), free="Top works, middle."), True),
        (heard(free="The bottom"), True),
        (heard(answer("works at the top"), free="Works at the top."), False),
        (heard(answer("top works bottom binds"), free="Top works, bottom binds."), False),
        (heard(answer("top works"), free="Top works and"), True),
    ],
)
def test_a_place_of_which_nothing_was_said_yet_wants_a_continuation(one: Heard, open_: bool) -> None:
    assert wants_more(one, Expect(states=True, places=("top", "middle", "bottom"))) is open_
    assert wants_more(one, Expect(states=True)) is one.free.endswith("and")


amounts = st.builds(
    lambda n, d, unit: Quantity(quantity(f"{n}/{d}").magnitude, unit),
    st.integers(-999, 999),
    st.integers(1, 64),
    st.sampled_from(["in", "mm", "ft"]),
)
expects = st.builds(
    Expect,
    unit=st.sampled_from(["in", "mm"]),
    about=st.sampled_from(["length", "level", "gap"]),
    sign=st.none() | st.just(Sign("right high", "left high", ("right",), ("left",))),
    places=st.lists(st.text(max_size=5), max_size=3).map(tuple),
    low=st.none() | amounts,
    high=st.none() | amounts,
    likely_low=st.none() | amounts,
    likely_high=st.none() | amounts,
    metric=st.booleans(),
    answers=st.lists(st.tuples(st.text(max_size=5), st.text(max_size=2)), max_size=3).map(tuple),
    states=st.booleans(),
)


@given(expects)
def test_an_expectation_goes_through_the_process_unchanged(expect: Expect) -> None:
    assert expect_from(expect_data(expect)) == expect


class Pipe(Channel):
    """A channel to the test."""

    def __init__(self) -> None:
        self.sent: list[dict[str, Any]] = []

    def send(self, kind: str, **data: object) -> None:
        self.sent.append({"kind": kind, **data})


class Recognised:
    """An ear that hears what it is told to, and keeps what it was asked."""

    def __init__(self, what: Heard) -> None:
        self.what = what
        self.asked: list[tuple[int, Expect | None, bool]] = []

    def hear(
        self, samples: NDArray[np.float32], expect: Expect | None, lists: Mapping[str, Any] | None, cut_off: bool
    ) -> Heard:
        assert samples.dtype == np.float32 and np.abs(samples).max() <= 1
        self.asked.append((len(samples), expect, cut_off))
        return self.what


def bench(what: Heard) -> tuple[Ear, Pipe, FakeMicrophone, Recognised]:
    ticks, pipe, recogniser = Ticks(), Pipe(), Recognised(what)
    microphone = FakeMicrophone(ticks)
    return Ear(pipe, microphone, LoudIsSpeech(), [recogniser], ticks), pipe, microphone, recogniser


def put(ear: Ear, microphone: FakeMicrophone, *seconds: float) -> None:
    """Quiet and speech in turn, so many seconds of each."""
    for number, long in enumerate(seconds):
        microphone.put(np.full(round(long * 16_000), 5000 * (number % 2), "<i2").tobytes())
        ear.look()


def test_an_utterance_is_heard_once_and_told() -> None:
    ear, pipe, microphone, recogniser = bench(heard(reading("a half", "1/2 in")))
    expect = Expect(likely_low=quantity("1 in"))
    ear._take({"kind": "expect", "expect": expect_data(expect), "lists": {"name": ["Bo"]}})
    put(ear, microphone, 1, 1, 2)
    (told,) = [one for one in pipe.sent if one["kind"] == "heard"]
    assert Heard.from_data(told["by"][0]) == recogniser.what
    assert told["cut"] == ""
    assert [asked[1:] for asked in recogniser.asked] == [(expect, False)]


def test_what_takes_time_is_made_when_it_is_expected_and_not_when_it_was_heard() -> None:
    ear, _, _, recogniser = bench(heard())
    made: list[object] = []
    recogniser.grammar = lambda expect, lists=None: made.append((expect, lists))  # type: ignore[attr-defined]
    ear._take({"kind": "expect", "expect": None, "lists": {"name": ["Bo"]}})
    assert made == [(None, {"name": ("Bo",)})]


def test_speech_under_the_mouth_is_told_as_cut_off() -> None:
    ear, pipe, microphone, recogniser = bench(heard(reading("a half", "1/2 in")))
    put(ear, microphone, 1, 1)
    ear._take({"kind": "shut", "at": microphone._ticks.at})
    put(ear, microphone, 0, 1, 1)
    ear._take({"kind": "open", "at": microphone._ticks.at})
    put(ear, microphone, 1, 1, 2)
    assert [one["cut"] for one in pipe.sent if one["kind"] == "heard"] == ["shut", ""]
    assert [asked[2] for asked in recogniser.asked] == [True, False]


def test_the_microphone_and_the_level_are_told() -> None:
    ear, pipe, microphone, _ = bench(heard())
    ear._take({"kind": "meter", "seconds": 0.1})
    put(ear, microphone, 0.2, 0.2)
    microphone.there = False
    ear.look()
    assert [one["there"] for one in pipe.sent if one["kind"] == "microphone"] == [True, False]
    assert any(one["peak"] > 0.1 for one in pipe.sent if one["kind"] == "level")


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, str]:
    """Sentences said by a voice, as files."""
    voice, folder = Voice(), tmp_path_factory.mktemp("said")
    said = {}
    for number, words in enumerate(
        ("twenty and three eighths", "twenty and a half", "why", "understood copy that", "that's done")
    ):
        path = folder / f"{number}.wav"
        path.write_bytes(voice.make(Speech(((words, False),), 140, 1.0, "gmw/en-gb-x-rp")))
        said[words] = str(path)
    return said


ENVIRONMENT_PATH = os.pathsep.join(sys.path)


@pytest.fixture
def path(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", ENVIRONMENT_PATH)


EAR_OF_FILES = (sys.executable, ear_of_files.__file__)


def test_a_file_goes_through_the_real_process(files: Mapping[str, str], path: None) -> None:
    told: queue.Queue[News | Banner] = queue.Queue()
    ears = Attending(told.put, told.put, EAR_OF_FILES)
    ears.start()
    try:
        ears.expect(Expect(likely_low=quantity("10 in"), likely_high=quantity("40 in")), {})
        assert told.get(timeout=PATIENCE) == Banner("ear", "up")
        ears._supervisor.send("play", file=files["twenty and three eighths"])
        while not isinstance(one := told.get(timeout=PATIENCE), Utterance):
            assert isinstance(one, Plugged | Level)
        assert one.cut == "" and one.by[0].hearings[0].written() == "20 3/8 in"
    finally:
        ears.stop()


@pytest.fixture
def duplex(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, path: None) -> Iterator[Duplex]:
    """A mouth on the null device, and an ear that is played files."""
    monkeypatch.setenv("GUIDE_CACHE", str(tmp_path))
    monkeypatch.setenv("GUIDE_SOUND", "null")
    both = Duplex(Settings(rate=300), ear=EAR_OF_FILES)
    both.start()
    yield both
    both.stop()


def test_a_job_by_sound_is_in_the_record_as_it_was_heard(duplex: Duplex, files: Mapping[str, str]) -> None:
    job = talk(SHELF)
    session = SpokenSession(job.session.job, PHRASES, FakePeople())
    out = io.StringIO()
    screen = VoicedScreen(session, Drawing(Conversation(session), out), duplex)
    screen.turns(session.open())
    screen.turns(session.hear(START[0]))
    for words in ("twenty and three eighths", "twenty and a half", "why"):
        _play(duplex, screen, out, files[words])
    took = [event for event in job.events if isinstance(event, ev.Took)]
    assert [(one.place, str(one.value), one.heard.by) for one in took] == [
        ("top", "20 3/8 in", "voice"),
        ("bottom", "20 1/2 in", "voice"),
    ]
    assert took[0].heard.said == "twenty and three eighths" and took[0].heard.confidence is not None
    assert "You: twenty and three eighths" in out.getvalue()
    assert "Cut the shelf to 20 1/8 in." in out.getvalue() or "The frame is heavy" in out.getvalue()


def _play(duplex: Duplex, screen: VoicedScreen, out: io.StringIO, file: str) -> None:
    """Play a file once the mouth has ended, and wait until it was answered."""
    duplex.hush()
    end = time.monotonic() + PATIENCE
    while duplex.speaking or not duplex._attending._supervisor.up:
        assert time.monotonic() < end
        screen.news()
        time.sleep(0.01)
    before = out.getvalue().count("You: ")
    duplex._attending._supervisor.send("play", file=file)
    while out.getvalue().count("You: ") == before:
        assert time.monotonic() < end, out.getvalue()
        screen.news()
        time.sleep(0.01)


def test_an_ear_that_is_killed_in_the_middle_of_a_word_is_a_banner_and_comes_back(
    duplex: Duplex, files: Mapping[str, str]
) -> None:
    job = talk(SHELF)
    session = SpokenSession(job.session.job, PHRASES, FakePeople())
    out = io.StringIO()
    screen = VoicedScreen(session, Drawing(Conversation(session), out), duplex)
    screen.turns(session.open())
    screen.turns(session.hear(START[0]))
    end = time.monotonic() + PATIENCE
    while not duplex._attending._supervisor.up:
        assert time.monotonic() < end
        time.sleep(0.01)
    duplex._attending._supervisor.send("play", file=files["twenty and a half"])
    duplex._attending._supervisor.send("play", file="/nowhere.wav")  # this one is its end
    while "I hear again." not in out.getvalue():
        assert time.monotonic() < end, out.getvalue()
        screen.news()
        time.sleep(0.01)
    assert "My ears failed" in out.getvalue()
    screen.turns(session.hear("20"))  # the keyboard works all the while
    assert isinstance(job.events[-1], ev.Took)
    _play(duplex, screen, out, files["twenty and three eighths"])
    assert [str(event.value) for event in job.events if isinstance(event, ev.Took)] == ["20 in", "20 3/8 in"]
