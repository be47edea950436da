"""Sound as arrays: rates, warps, silence, and whole numbers of 16 bits."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from numpy.typing import NDArray
from scipy.signal import resample_poly

RATE = 16_000
LOUDEST = 30_000
"""The highest peak that is written."""
Floats = NDArray[np.float32]


def at_rate(samples: Floats, rate: int, wanted: int = RATE) -> Floats:
    """The same sound at another rate."""
    if rate == wanted:
        return np.asarray(samples, np.float32)
    ratio = Fraction(wanted, rate).limit_denominator(1000)
    return np.asarray(resample_poly(samples, ratio.numerator, ratio.denominator), np.float32)


def warped(samples: Floats, by: float) -> Floats:
    """Played faster (`by` over 1) or slower: pitch, formants and pace move together."""
    return at_rate(samples, 1000, round(1000 / by)) if by != 1 else samples


FRAME, STEP = 512, 128
_SMOOTH = 24
"""Cepstral numbers that make the envelope of a voice: finer than its formants, coarser than its pitch."""


def throat(samples: Floats, by: float) -> Floats:
    """The same pitch and pace from a shorter throat (`by` over 1) or a longer one: formants move, and nothing else.

    The envelope of each short spectrum, smoothed in its cepstrum, is stretched along the frequencies.
    """
    if abs(by - 1) < 0.01 or len(samples) < 2 * FRAME:
        return samples
    window = np.hanning(FRAME + 1)[:-1].astype(np.float32)
    padded = np.pad(samples, (FRAME, FRAME + (-len(samples)) % STEP))
    frames = np.lib.stride_tricks.sliding_window_view(padded, FRAME)[::STEP] * window
    spectra = np.fft.rfft(frames, axis=1)
    cepstra = np.fft.irfft(np.log(np.abs(spectra) + 1e-5), axis=1)
    cepstra[:, _SMOOTH : FRAME - _SMOOTH + 1] = 0
    envelope = np.fft.rfft(cepstra, axis=1).real
    bins = np.arange(envelope.shape[1])
    at = np.minimum(bins / by, bins[-1])
    low = np.minimum(at.astype(int), bins[-1] - 1)
    part = at - low
    moved = envelope[:, low] * (1 - part) + envelope[:, low + 1] * part
    frames = np.fft.irfft(spectra * np.exp(np.clip(moved - envelope, -4, 4)), axis=1) * window
    out = np.zeros(len(padded) + FRAME)
    for offset in range(0, FRAME, STEP):
        piece = frames[offset // STEP :: FRAME // STEP].reshape(-1)
        out[offset : offset + len(piece)] += piece
    found = out[FRAME : FRAME + len(samples)] / (np.square(window).sum() / STEP)
    return np.asarray(found, np.float32)


def spoken(samples: Floats) -> tuple[int, int]:
    """From where to where something is said; (0, 0) for silence."""
    if not len(samples):
        return 0, 0
    loud = np.flatnonzero(np.abs(samples) > max(0.01 * float(np.abs(samples).max()), 1e-4))
    return (int(loud[0]), int(loud[-1]) + 1) if len(loud) else (0, 0)


def trimmed(samples: Floats, keep: int = 320) -> Floats:
    """Without the silence around it, but for a fiftieth of a second."""
    start, end = spoken(samples)
    return samples[max(0, start - keep) : end + keep]


def silence(seconds: float) -> Floats:
    """Nothing for a while."""
    return np.zeros(int(seconds * RATE), np.float32)


def whole_numbers(samples: Floats, peak: float) -> NDArray[np.int16]:
    """As 16 bits, its highest peak at `peak` (0 to 1) of the loudest that is written."""
    most = float(np.abs(samples).max()) if len(samples) else 0.0
    return np.asarray(np.round(samples * (LOUDEST * peak / most if most else 0.0)), "<i2")
