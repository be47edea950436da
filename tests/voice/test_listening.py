"""From the microphone to utterances; the ear never hears the mouth, and a lost microphone is opened again."""

from __future__ import annotations

import io
import os
import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from fakes import FakeMicrophone, LoudIsSpeech, Ticks
from numpy.typing import NDArray

from guide.voice.endpoint import Detector, Utterance, load_detector
from guide.voice.listening import REOPEN_EVERY, Listening
from guide.voice.mouth import Speech, Voice
from guide.voice.sound import LOST_AFTER, MOST_BLOCKS, Microphone, SoundError
from guide.voice.wav import RATE


def silence(seconds: float, rate: int = RATE) -> bytes:
    return bytes(2 * round(seconds * rate))


def loud(seconds: float, rate: int = RATE) -> bytes:
    return np.full(round(seconds * rate), 5000, "<i2").tobytes()


class Bench:
    """A fake microphone with an ear behind it."""

    def __init__(self, rate: int = RATE, detector: Detector | None = None) -> None:
        self.ticks = Ticks()
        self.microphone = FakeMicrophone(self.ticks, rate)
        self.listening = Listening(self.microphone, detector or LoudIsSpeech(), now=self.ticks)

    def put(self, *parts: bytes) -> list[Utterance]:
        found = []
        for part in parts:
            self.microphone.put(part)
            found += self.listening.look()
        return found


@pytest.mark.parametrize("rate", [16_000, 44_100, 48_000])
def test_speech_becomes_an_utterance_at_any_rate(rate: int) -> None:
    bench = Bench(rate)
    (one,) = bench.put(silence(1, rate), loud(1, rate), silence(1, rate))
    assert one.cut == ""
    assert (one.samples > 2500).sum() == pytest.approx(RATE, abs=100)


@pytest.fixture(scope="module")
def mouth() -> tuple[bytes, int]:
    """What the mouth says, as samples and their rate: a reading, long enough to be heard as one."""
    data = Voice().make(Speech((("thirty six and three sixteenths", True),), 150, 1.0, "gmw/en-us"))
    with wave.open(io.BytesIO(data)) as file:
        return file.readframes(file.getnframes()), file.getframerate()


def test_the_ear_would_hear_the_mouth_if_it_were_open(mouth: tuple[bytes, int]) -> None:
    samples, rate = mouth
    bench = Bench(rate, load_detector())
    assert bench.put(silence(1, rate), samples, silence(2, rate))


@pytest.mark.parametrize("late", [0.0, 0.4])
def test_the_ear_never_hears_the_mouth(mouth: tuple[bytes, int], late: float) -> None:
    """`late`: the microphone's sound is read that much later than it was taken, a room and a busy machine."""
    samples, rate = mouth
    bench = Bench(rate, load_detector())
    assert bench.put(silence(1, rate)) == []
    bench.listening.gate.shut(bench.ticks.at)
    bench.microphone.put(samples)
    bench.ticks.at += late
    bench.listening.gate.open(bench.ticks.at + 0.3)
    echo = (np.frombuffer(samples[-2 * int(0.2 * rate) :], "<i2") // 8).astype("<i2").tobytes()
    bench.ticks.at -= late
    assert bench.put(echo, silence(3, rate)) == []
    assert bench.put(silence(1, rate), samples, silence(2, rate))


def test_the_mouth_that_begins_cuts_off_who_speaks() -> None:
    bench = Bench()
    assert bench.put(silence(1), loud(1)) == []
    bench.listening.gate.shut(bench.ticks.at)
    (cut,) = bench.put(loud(1))
    assert (cut.cut, round(cut.seconds, 1)) == ("shut", 1.3)
    assert bench.put(loud(1)) == []
    bench.listening.gate.open(bench.ticks.at)
    (late,) = bench.put(loud(1), silence(1))
    assert late.cut == "begun before"


def test_lost_sound_cuts_off_what_was_said() -> None:
    bench = Bench()
    bench.put(silence(1), loud(1))
    bench.microphone.put(loud(1), lost=True)
    assert [one.cut for one in bench.listening.look()] == ["lost"]
    assert [one.cut for one in bench.put(silence(1))] == ["begun before"]


def test_a_microphone_that_is_pulled_out_and_put_in_again() -> None:
    bench = Bench()
    bench.put(silence(1), loud(1))
    bench.microphone.there = False
    assert [one.cut for one in bench.listening.look()] == ["lost"]
    assert not bench.listening.present
    opened = bench.microphone.opened
    for _ in range(5):
        bench.listening.look()
    assert bench.microphone.opened == opened  # not tried at every look
    bench.microphone.there = True
    bench.ticks.at += REOPEN_EVERY
    bench.microphone.there = True
    assert [one.cut for one in bench.put(silence(1), loud(1), silence(1))] == [""]
    assert bench.listening.present


def test_the_level_follows_the_sound() -> None:
    bench = Bench()
    bench.put(silence(0.5))
    assert bench.listening.level == 0
    bench.put(loud(0.5))
    assert bench.listening.level == pytest.approx(5000 / 32768, abs=0.01)


class Device:
    """A device under a microphone that hands over what a test sends."""

    rate = 48_000

    def __init__(self) -> None:
        self.sink: object = None
        self.closed = False

    def start(self, source: object) -> None:
        self.sink = source

    def stop(self) -> None:
        pass

    def close(self) -> None:
        self.closed = True


def test_too_much_waiting_is_lost_sound_and_is_said() -> None:
    device, ticks = Device(), Ticks()
    microphone = Microphone(lambda: device, ticks)
    microphone.open()
    for _ in range(MOST_BLOCKS + 7):
        device.sink.send(b"\1\0")  # type: ignore[attr-defined]
    assert microphone.overflows == 7
    blocks = microphone.take()
    assert len(blocks) == MOST_BLOCKS and not any(block.lost for block in blocks)
    device.sink.send(b"\1\0")  # type: ignore[attr-defined]
    device.sink.send(b"\1\0")  # type: ignore[attr-defined]
    assert [block.lost for block in microphone.take()] == [True, False]


def test_a_block_is_copied_out_of_the_callback() -> None:
    device = Device()
    microphone = Microphone(lambda: device, Ticks())
    microphone.open()
    buffer = bytearray(b"\1\0\2\0")
    device.sink.send(buffer)  # type: ignore[attr-defined]
    buffer[:] = bytes(4)
    (block,) = microphone.take()
    assert (block.samples, block.rate) == (b"\1\0\2\0", 48_000)


def test_a_device_that_hands_over_nothing_is_lost_and_opened_again() -> None:
    made: list[Device] = []
    there = True

    def open_device() -> Device:
        if not there:
            raise SoundError("there is no microphone")
        made.append(Device())
        return made[-1]

    ticks = Ticks()
    microphone = Microphone(open_device, ticks)
    microphone.open()
    assert not microphone.lost
    ticks.at += LOST_AFTER + 0.1
    assert microphone.lost
    there = False
    assert not microphone.reopen() and microphone.lost and made[0].closed
    there = True
    assert microphone.reopen() and not microphone.lost
    made[-1].sink.send(b"\1\0")
    assert [block.lost for block in microphone.take()] == [True]


def _growth(bench: Bench, noise: Callable[[int], bytes], minutes: int) -> int:
    """How many bytes more the process holds after so many minutes of noise than after the first five."""
    for minute in range(5):
        bench.put(noise(minute))
    before = _held()
    for minute in range(minutes):
        bench.put(noise(minute))
    return _held() - before


def _held() -> int:
    """Bytes of memory that this process holds."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")


def _noise(minute: int) -> NDArray[np.int16]:
    rng = np.random.default_rng(minute % 7)
    sound = rng.normal(0, 200 + 4000 * (minute % 3), 60 * RATE)
    sound[:: 3 * RATE] = 20_000  # hammer blows
    return np.clip(sound, -32768, 32767).astype("<i2")


@pytest.mark.slow
def test_eight_hours_of_noise_hold_no_more_memory_than_a_minute() -> None:
    bench = Bench(detector=LoudIsSpeech(above=6000))
    assert _growth(bench, lambda minute: _noise(minute).tobytes(), 8 * 60) < 20_000_000  # the sound is 920 MB


@pytest.mark.slow
def test_a_quarter_of_an_hour_of_noise_before_the_real_detector() -> None:
    bench = Bench(detector=load_detector())
    assert _growth(bench, lambda minute: _noise(minute).tobytes(), 15) < 10_000_000  # the sound is 29 MB
