"""Where an utterance ends: pauses inside a reading, patience after an open one, and everything cut off marked."""

from __future__ import annotations

import numpy as np
import pytest
from fakes import LoudIsSpeech
from numpy.typing import NDArray

from guide.voice.endpoint import FRAME, SECONDS, Endpointer, Gate, Patience, Utterance, frames_of, load_detector
from guide.voice.wav import RATE

P = Patience()


def speech(seconds: float) -> NDArray[np.int16]:
    return np.full(round(seconds * RATE), 5000, np.int16)


def quiet(seconds: float) -> NDArray[np.int16]:
    return np.zeros(round(seconds * RATE), np.int16)


def heard(endpointer: Endpointer, *parts: NDArray[np.int16]) -> list[Utterance]:
    found = []
    for number, frame in enumerate(frames_of(iter(parts))):
        utterance = endpointer.frame(frame, number * SECONDS)
        if utterance is not None:
            found.append(utterance)
    return found


def test_an_utterance_from_quiet_to_quiet_is_whole() -> None:
    (one,) = heard(Endpointer(LoudIsSpeech()), quiet(1), speech(1.5), quiet(2))
    assert one.cut == ""
    assert one.seconds == pytest.approx(P.before + 1.5 + P.after, abs=3 * SECONDS)
    assert (one.samples != 0).sum() == 1.5 * RATE
    assert one.ended == pytest.approx(1 + 1.5 + P.silence, abs=3 * SECONDS)


def test_a_short_pause_is_inside_the_reading() -> None:
    (one,) = heard(Endpointer(LoudIsSpeech()), quiet(1), speech(0.5), quiet(0.5), speech(0.5), quiet(2))
    assert (one.samples != 0).sum() == 1.0 * RATE


def test_two_utterances() -> None:
    assert len(heard(Endpointer(LoudIsSpeech()), quiet(1), speech(0.5), quiet(1), speech(0.5), quiet(1))) == 2


def test_an_open_reading_is_given_time_to_go_on() -> None:
    asked: list[float] = []

    def open_at_first(samples: NDArray[np.int16]) -> bool:
        asked.append((samples != 0).sum() / RATE)
        return len(asked) == 1

    endpointer = Endpointer(LoudIsSpeech(), open_at_first)
    (one,) = heard(endpointer, quiet(1), speech(0.5), quiet(1.2), speech(0.7), quiet(2))
    assert (one.samples != 0).sum() == pytest.approx(1.2 * RATE)
    assert asked == [pytest.approx(0.5), pytest.approx(1.2)]


@pytest.mark.parametrize(("seconds", "early"), [(1.0, True), (P.early + 1, False)])
def test_what_was_said_is_looked_at_before_the_silence_is_over(seconds: float, early: bool) -> None:
    """So that it is known when the utterance ends, and of the very sound that it has."""
    looked: list[NDArray[np.int16]] = []

    def look(samples: NDArray[np.int16]) -> bool:
        looked.append(samples)
        return False

    endpointer = Endpointer(LoudIsSpeech(), look)
    silence = (P.after + P.silence) / 2
    assert heard(endpointer, quiet(1), speech(seconds), quiet(silence)) == []
    assert len(looked) == early
    (one,) = heard(endpointer, quiet(1))
    assert len(looked) == 1
    assert np.array_equal(looked[0], one.samples)


def test_a_pause_is_looked_at_and_cuts_nothing() -> None:
    looked: list[int] = []

    def look(samples: NDArray[np.int16]) -> bool:
        looked.append(len(samples))
        return False

    endpointer = Endpointer(LoudIsSpeech(), look)
    pause = (P.after + P.silence) / 2
    (one,) = heard(endpointer, quiet(1), speech(0.5), quiet(pause), speech(0.5), quiet(1))
    assert (one.samples != 0).sum() == 1.0 * RATE
    assert len(looked) == 2 and looked[1] == len(one.samples)


def test_patience_with_an_open_reading_ends() -> None:
    (one,) = heard(Endpointer(LoudIsSpeech(), lambda samples: True), quiet(1), speech(0.5), quiet(3))
    assert one.ended == pytest.approx(1.5 + P.open_silence, abs=3 * SECONDS)


def test_a_click_is_nothing() -> None:
    assert heard(Endpointer(LoudIsSpeech()), quiet(1), speech(0.03), quiet(2)) == []


def test_speech_that_had_begun_before_is_marked() -> None:
    (one,) = heard(Endpointer(LoudIsSpeech()), speech(1), quiet(1))
    assert one.cut == "begun before"


def test_speech_without_end_is_cut_and_what_follows_is_not_an_utterance_of_its_own() -> None:
    found = heard(Endpointer(LoudIsSpeech()), quiet(1), speech(P.longest + 5), quiet(2), speech(1), quiet(1))
    assert [one.cut for one in found] == ["too long", ""]
    assert found[0].seconds == pytest.approx(P.longest, abs=2 * SECONDS)
    assert found[1].seconds < 2


@pytest.mark.parametrize("why", ["shut", "lost"])
def test_what_is_interrupted_is_cut_off(why: str) -> None:
    endpointer = Endpointer(LoudIsSpeech())
    assert heard(endpointer, quiet(1), speech(1)) == []
    cut = endpointer.interrupt(why)  # type: ignore[arg-type]
    assert cut is not None and cut.cut == why and (cut.samples != 0).sum() == RATE
    assert endpointer.interrupt(why) is None
    (one,) = heard(endpointer, speech(1), quiet(1))
    assert one.cut == "begun before"


def test_a_shut_ear_is_shut_by_when_a_sound_was_taken() -> None:
    gate = Gate()
    assert not gate.closed(0, 1)
    gate.shut(10)
    assert not gate.closed(9, 10)
    assert gate.closed(9.99, 10.01) and gate.closed(50, 51)
    gate.shut(12)
    gate.open(20)
    assert gate.closed(19.99, 20.01)  # read late, but taken while it was shut
    assert not gate.closed(20, 21)
    gate.open(15)
    assert gate.closed(19, 19.5)


def test_frames_of_any_parts_are_the_same_sound() -> None:
    sound = np.arange(3000, dtype=np.int16)
    frames = list(frames_of(iter([sound[:10], sound[10:10], sound[10:2000], sound[2000:]])))
    assert all(len(frame) == FRAME for frame in frames)
    assert np.array_equal(np.concatenate(frames)[:3000], sound)


def test_the_real_detector_hears_no_speech_in_silence_and_noise() -> None:
    rng = np.random.default_rng(1)
    for loud in (0, 30, 300, 3000):
        noise = np.clip(rng.normal(0, loud, 10 * RATE), -32768, 32767).astype(np.int16)
        assert heard(Endpointer(load_detector()), noise) == []
