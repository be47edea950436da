"""What the microphone's sound is like, and what to do about it."""

from __future__ import annotations

import io
import wave

import numpy as np
import pytest
from numpy.typing import NDArray

from guide.voice.endpoint import load_detector
from guide.voice.levels import CURES, Advice, Levels, measure
from guide.voice.mouth import Speech, Voice
from guide.voice.resample import Resampler
from guide.voice.wav import RATE

Sound = NDArray[np.float64]


@pytest.fixture(scope="module")
def said() -> Sound:
    """A reading said in a silent room."""
    data = Voice().make(Speech((("thirty six and three sixteenths", True),), 150, 1.0, "gmw/en-us"))
    with wave.open(io.BytesIO(data)) as file:
        made = Resampler(file.getframerate()).take(file.readframes(file.getnframes()))
    return np.concatenate([np.zeros(RATE), made, np.zeros(RATE)]).astype(np.float64)


def measured(sound: Sound) -> Levels:
    return measure(np.clip(sound, -32768, 32767).astype(np.int16), load_detector())


def noise(sound: Sound, decibels: float) -> Sound:
    return np.random.default_rng(3).normal(0, 32768 * 10 ** (decibels / 20), len(sound))


def on_and_off(sound: Sound) -> Sound:
    return (np.sin(2 * np.pi * 0.7 * np.arange(len(sound)) / RATE) > 0).astype(np.float64)


@pytest.mark.parametrize(
    ("gain", "level", "saw", "advice"),
    [
        (1.0, -75, False, ("good",)),
        (0.02, -75, False, ("too far",)),
        (8.0, -75, False, ("clipping",)),
        (0.5, -40, False, ("fan noise",)),
        (0.3, -26, True, ("noisy",)),
        (0.0, -40, False, ("no speech", "fan noise")),
        (0.0, -70, False, ("no speech",)),
        (0.0, -200, False, ("no sound",)),
    ],
)
def test_advice(said: Sound, gain: float, level: float, saw: bool, advice: tuple[Advice, ...]) -> None:
    around = noise(said, level) * (on_and_off(said) if saw else 1)
    assert measured(gain * said + around).advice == advice
    assert all(one in CURES for one in advice)


def test_levels_are_decibels_below_full_scale(said: Sound) -> None:
    found = measured(said + noise(said, -50))
    assert found.noise == pytest.approx(-50, abs=1)
    assert found.seconds == pytest.approx(len(said) / RATE)
    assert found.loudest == pytest.approx(20 * np.log10(31_000 / 32_768), abs=0.5)


def test_no_sound_at_all() -> None:
    assert measured(np.zeros(0)).advice == ("no sound",)
