"""Sound brought to the ears' rate block by block: the same as in one piece, and as a library does it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.voice.resample import Resampler
from guide.voice.wav import RATE

RATES = (8_000, 11_025, 16_000, 22_050, 32_000, 44_100, 48_000, 96_000)


def tone(rate: int, hertz: float, seconds: float = 1.0) -> bytes:
    return (8000 * np.sin(2 * np.pi * hertz * np.arange(int(seconds * rate)) / rate)).astype("<i2").tobytes()


@pytest.mark.parametrize("rate", RATES)
def test_a_tone_stays_a_tone(rate: int) -> None:
    made = Resampler(rate).take(tone(rate, 440))
    true = 8000 * np.sin(2 * np.pi * 440 * np.arange(len(made)) / RATE)
    assert abs(len(made) - RATE) < 40
    assert np.abs(made - true)[400:-400].max() < 3


@pytest.mark.parametrize("rate", [44_100, 48_000, 96_000])
def test_what_the_ears_rate_cannot_hold_is_taken_out(rate: int) -> None:
    assert np.abs(Resampler(rate).take(tone(rate, 9_000))[400:-400]).max() < 4


@pytest.mark.parametrize("rate", RATES)
@settings(max_examples=10)
@given(cuts=st.lists(st.integers(0, 3_000), max_size=12))
def test_blocks_make_the_same_as_one_piece(rate: int, cuts: list[int]) -> None:
    sound = np.random.default_rng(len(cuts)).integers(-9000, 9000, 6_000).astype("<i2").tobytes()
    blocks, resampler, at = [], Resampler(rate), 0
    for cut in (*cuts, len(sound)):
        blocks.append(resampler.take(sound[at : at + 2 * cut]))
        at += 2 * cut
    assert np.array_equal(np.concatenate(blocks), Resampler(rate).take(sound))


def test_it_keeps_no_more_than_it_needs() -> None:
    resampler = Resampler(48_000)
    for _ in range(200):
        resampler.take(tone(48_000, 440, 0.03))
    assert len(resampler._kept) < 2_000


def test_no_rate() -> None:
    with pytest.raises(ValueError, match="0 samples a second"):
        Resampler(0)
