"""Noise of sites, rooms and microphones by computation, in families; no family is in two splits.

Each family is a generator and the ranges of its numbers (`FAMILIES`), for whoever makes such noise elsewhere, as
training does on a GPU. Babble is of voices of the same split. Sound is at `RATE`; levels are set when it is mixed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, sosfilt

from training.sound import RATE, Floats

Doubles = NDArray[np.float64]
Chance = np.random.Generator
Ranges = Mapping[str, tuple[float, float]]


@dataclass(frozen=True)
class Family:
    """One kind of noise."""

    split: str
    make: Callable[[Chance, int, Ranges, Sequence[Floats]], Doubles]
    ranges: Ranges


def _draw(chance: Chance, ranges: Ranges, name: str) -> float:
    low, high = ranges[name]
    return float(chance.uniform(low, high))


def _seconds(length: int) -> Doubles:
    return np.arange(length) / RATE


def band(samples: Doubles | Floats, low: float, high: float) -> Doubles:
    """What lies between two frequencies."""
    return np.asarray(sosfilt(butter(2, [low, min(high, 7900)], "bandpass", fs=RATE, output="sos"), samples))


def colored(chance: Chance, length: int, slope: float) -> Doubles:
    """Noise whose power falls by `slope` tens of decibels with every tenfold frequency."""
    spectrum = np.fft.rfft(chance.standard_normal(length))
    at = np.fft.rfftfreq(length, 1 / RATE)
    spectrum *= np.maximum(at, 40.0) ** (-slope / 2)
    found = np.fft.irfft(spectrum, length)
    return np.asarray(found / (found.std() + 1e-9))


def _colored(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    return colored(chance, length, _draw(chance, ranges, "slope"))


def _modulated(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    low = _draw(chance, ranges, "low")
    found = band(chance.standard_normal(length), low, low * _draw(chance, ranges, "width"))
    beat = np.sin(2 * np.pi * _draw(chance, ranges, "beat") * _seconds(length) + chance.uniform(0, 6))
    return found * (1 + _draw(chance, ranges, "depth") * beat)


def _motor(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    t = _seconds(length)
    drift = 1 + _draw(chance, ranges, "drift") * np.sin(2 * np.pi * chance.uniform(0.2, 1.5) * t + chance.uniform(0, 6))
    phase = 2 * np.pi * np.cumsum(_draw(chance, ranges, "pitch") * drift) / RATE
    fall = _draw(chance, ranges, "fall")
    found = sum(np.sin(k * phase + chance.uniform(0, 6)) / k**fall for k in range(1, 30))
    return np.asarray(found + _draw(chance, ranges, "hiss") * band(chance.standard_normal(length), 1000, 7000))


def _impacts(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    found = 0.02 * chance.standard_normal(length)
    at = chance.uniform(0, 0.3)
    while at < length / RATE:
        start = int(at * RATE)
        tail = np.arange(min(length - start, RATE)) / RATE
        ring = np.sin(2 * np.pi * _draw(chance, ranges, "ring") * tail) + chance.standard_normal(len(tail))
        found[start : start + len(tail)] += (
            chance.uniform(0.5, 1.5) * ring * np.exp(-tail * _draw(chance, ranges, "decay"))
        )
        at += _draw(chance, ranges, "every")
    return found


def _babble(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    found = np.zeros(length)
    if not babble:
        return colored(chance, length, 1.0)
    for _ in range(int(_draw(chance, ranges, "voices"))):
        voice = babble[int(chance.integers(len(babble)))]
        found += np.resize(np.roll(voice, int(chance.integers(len(voice)))), length) * chance.uniform(0.5, 1.2)
    return found


def _hum(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    t = _seconds(length)
    base = _draw(chance, ranges, "base")
    hum = sum(np.sin(2 * np.pi * base * k * t + chance.uniform(0, 6)) / k for k in range(1, 14))
    beat = 1 + _draw(chance, ranges, "depth") * np.sin(2 * np.pi * _draw(chance, ranges, "beat") * t)
    return np.asarray(hum * beat + _draw(chance, ranges, "hiss") * band(chance.standard_normal(length), 60, 3000))


def _wind(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    gusts = np.abs(band(chance.standard_normal(length + RATE), 0.2, _draw(chance, ranges, "gusts")))[RATE:]
    return np.asarray(colored(chance, length, _draw(chance, ranges, "slope")) * (0.3 + gusts / (gusts.mean() + 1e-9)))


def _rain(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    drops = np.where(
        chance.random(length) < _draw(chance, ranges, "drops") / RATE, chance.exponential(1.0, length), 0.0
    )
    t = np.arange(int(0.006 * RATE)) / RATE
    ring = np.sin(2 * np.pi * _draw(chance, ranges, "ring") * t) * np.exp(-t * 900)
    found = np.asarray(fftconvolve(drops, ring)[:length])
    return np.asarray(found / (found.std() + 1e-9) + 0.6 * band(chance.standard_normal(length), 800, 7500))


def _music(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    found = np.zeros(length)
    step = int(RATE * 60 / _draw(chance, ranges, "tempo") / 2)
    root = _draw(chance, ranges, "root")
    for start in range(0, length, step):
        t = np.arange(min(2 * step, length - start)) / RATE
        for note in chance.choice((0, 3, 4, 5, 7, 9, 12), 3):
            pitch = root * 2 ** (note / 12)
            found[start : start + len(t)] += sum(
                np.sin(2 * np.pi * pitch * k * t) / k**1.5 for k in range(1, 7)
            ) * np.exp(-t * 3)
        if chance.random() < 0.6:
            found[start : start + len(t)] += 2 * chance.standard_normal(len(t)) * np.exp(-t * 40)
    return found


def _saw(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    """Runs up, bites, slows down, runs free; teeth on top of the motor."""
    t = _seconds(length)
    load = (np.sin(2 * np.pi * _draw(chance, ranges, "bites") * t + chance.uniform(0, 6)) > 0.1).astype(float)
    load = np.asarray(fftconvolve(load, np.ones(1600) / 1600, mode="same"))
    pitch = _draw(chance, ranges, "pitch") * (1 - 0.25 * load)
    phase = 2 * np.pi * np.cumsum(pitch) / RATE
    teeth = np.sin(phase * int(_draw(chance, ranges, "teeth")))
    motor = sum(np.sin(k * phase) / k for k in range(1, 12))
    return np.asarray(motor + (0.4 + 1.6 * load) * (teeth + band(chance.standard_normal(length), 1800, 7500)))


def _drill(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    t = _seconds(length)
    phase = 2 * np.pi * np.cumsum(_draw(chance, ranges, "pitch") * np.minimum(1, 0.4 + t / 0.6)) / RATE
    knock = (np.sin(2 * np.pi * _draw(chance, ranges, "knocks") * t) > 0.92) * chance.standard_normal(length)
    return np.asarray(0.6 * np.sign(np.sin(phase)) + band(chance.standard_normal(length), 700, 6000) + 2.5 * knock)


def _compressor(chance: Chance, length: int, ranges: Ranges, babble: Sequence[Floats]) -> Doubles:
    t = _seconds(length)
    stroke = np.maximum(0, np.sin(2 * np.pi * _draw(chance, ranges, "strokes") * t)) ** 4
    hum = sum(np.sin(2 * np.pi * _draw(chance, ranges, "base") * k * t + k) / k for k in range(1, 12))
    return np.asarray(hum * (1 + stroke) + 1.2 * stroke * band(chance.standard_normal(length), 80, 2500))


FAMILIES: Mapping[str, Family] = {
    "colored": Family("train", _colored, {"slope": (-0.5, 2.2)}),
    "modulated": Family(
        "train", _modulated, {"low": (80, 3000), "width": (1.5, 6), "beat": (0.3, 14), "depth": (0.3, 1)}
    ),
    "motor": Family("train", _motor, {"pitch": (60, 420), "drift": (0, 0.08), "fall": (0.4, 1.3), "hiss": (0.3, 2.5)}),
    "impacts": Family("train", _impacts, {"ring": (250, 3500), "decay": (15, 90), "every": (0.12, 0.9)}),
    "babble-train": Family("train", _babble, {"voices": (1, 7)}),
    "music": Family("train", _music, {"tempo": (70, 150), "root": (110, 330)}),
    "hum": Family("choose", _hum, {"base": (45, 62), "depth": (0, 0.6), "beat": (5, 20), "hiss": (0.3, 1.2)}),
    "rain": Family("choose", _rain, {"drops": (80, 900), "ring": (1500, 6000)}),
    "babble-choose": Family("choose", _babble, {"voices": (2, 6)}),
    "saw": Family("report", _saw, {"pitch": (90, 230), "bites": (0.3, 1.2), "teeth": (12, 28)}),
    "drill": Family("report", _drill, {"pitch": (250, 700), "knocks": (18, 45)}),
    "compressor": Family("report", _compressor, {"strokes": (8, 19), "base": (45, 62)}),
    "wind": Family("report", _wind, {"slope": (1.5, 2.6), "gusts": (0.8, 3.0)}),
    "babble-report": Family("report", _babble, {"voices": (3, 6)}),
}
"""Family -> its split, its generator, and the ranges that its numbers are drawn from."""


def of_split(split: str) -> tuple[str, ...]:
    """The families of a split."""
    return tuple(name for name, family in FAMILIES.items() if family.split == split)


def make(name: str, length: int, chance: Chance, babble: Sequence[Floats] = ()) -> Floats:
    """Noise of a family, root mean square 1."""
    family = FAMILIES[name]
    found = family.make(chance, length, family.ranges, babble)
    return np.asarray(found / (np.sqrt((found**2).mean()) + 1e-9), np.float32)


def level(samples: Floats) -> float:
    """Loudness of what is spoken: root mean square of the louder half of 20 ms pieces."""
    pieces = samples[: len(samples) // 320 * 320].reshape(-1, 320)
    powers = np.sort((pieces**2).mean(axis=1))
    return float(np.sqrt(powers[len(powers) // 2 :].mean())) + 1e-9 if len(powers) else 1e-9


def room(samples: Floats, chance: Chance) -> Floats:
    """A room and a microphone some way off: early reflections, a decaying echo, and a band."""
    decay = chance.uniform(0.08, 0.5)
    t = np.arange(int(RATE * decay)) / RATE
    echo = chance.standard_normal(len(t)) * np.exp(-6.9 * t / decay)
    echo *= chance.uniform(0.05, 0.7) / np.sqrt((echo**2).sum())
    echo[: int(0.002 * RATE)] = 0
    for _ in range(int(chance.integers(1, 6))):
        echo[int(chance.uniform(0.001, 0.03) * RATE)] += chance.uniform(-0.4, 0.4)
    echo[0] = 1.0
    found = fftconvolve(samples, echo)[: len(samples)]
    return np.asarray(band(found, chance.uniform(50, 220), chance.uniform(3800, 7600)), np.float32)


def mixed(speech: Floats, name: str, ratio: float | None, chance: Chance, babble: Sequence[Floats] = ()) -> Floats:
    """Speech in noise, `ratio` decibels louder than it; None is a quiet room (50 dB)."""
    noise = make(name, len(speech), chance, babble)
    return speech + noise * np.float32(level(speech) * 10 ** (-(50.0 if ratio is None else ratio) / 20))
