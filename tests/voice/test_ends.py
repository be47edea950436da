"""Whether a recording stops in speech."""

import numpy as np
import pytest

from guide.voice.ends import stops_in_speech

RATE = 16_000


def speech(seconds: float) -> np.ndarray[tuple[int], np.dtype[np.float32]]:
    t = np.arange(round(RATE * seconds)) / RATE
    syllables = 0.5 + 0.5 * np.sin(2 * np.pi * 4 * t)
    return (0.3 * syllables * np.sin(2 * np.pi * 700 * t)).astype(np.float32)


@pytest.mark.parametrize("noise", [0.0001, 0.01])
def test_silence_behind_speech_is_an_end(noise: float) -> None:
    quiet = np.zeros(RATE // 3, np.float32)
    rng = np.random.default_rng(1)
    whole = np.concatenate([quiet, speech(1.5), quiet])
    cut = np.concatenate([quiet, speech(1.3)[: int(RATE * 1.3)]])
    assert not stops_in_speech((whole + noise * rng.standard_normal(len(whole))).astype(np.float32))
    assert stops_in_speech((cut + noise * rng.standard_normal(len(cut))).astype(np.float32))


@pytest.mark.parametrize("length", [0, 100, 3000, RATE])
def test_nothing_but_noise_stops_nowhere(length: int) -> None:
    rng = np.random.default_rng(2)
    assert not stops_in_speech((0.1 * rng.standard_normal(length)).astype(np.float32))
    assert not stops_in_speech(np.zeros(length, np.float32))
