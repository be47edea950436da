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
    return at_rate(samples, round(1000 * by), 1000) if by != 1 else samples


def stretched(samples: Floats, by: float) -> Floats:
    """`by` times as long at the same pitch, by overlapping pieces where they fit best (WSOLA)."""
    if abs(by - 1) < 0.01 or len(samples) < 2000:
        return samples
    size, step, reach = 640, 320, 160
    window = np.hanning(size).astype(np.float32)
    count = int(len(samples) * by / step)
    padded = np.concatenate([np.zeros(reach, np.float32), samples, np.zeros(2 * size + 2 * reach, np.float32)])
    out = np.zeros((count + 3) * step + size, np.float32)
    weight = np.full(len(out), 1e-3, np.float32)
    at = reach
    for number in range(count):
        wanted = reach + int(number * step / by)
        if wanted + size + reach > len(padded):
            break
        if number:
            follows = padded[at + step : at + step + step]
            near = np.lib.stride_tricks.sliding_window_view(padded[wanted - reach : wanted + reach + step - 1], step)
            at = wanted - reach + int(np.argmax(near @ follows)) if len(follows) == step else wanted
        else:
            at = wanted
        piece = padded[at : at + size]
        out[number * step : number * step + len(piece)] += piece * window[: len(piece)]
        weight[number * step : number * step + len(piece)] += window[: len(piece)]
    return (out / weight)[: int(len(samples) * by)]


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
