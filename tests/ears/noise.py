"""Noise of a site, rooms and microphones, made by computation and mixed with speech."""

from __future__ import annotations

import random

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, sosfilt

from guide.voice.wav import RATE

Floats = NDArray[np.float32]
KINDS = ("saw", "hammer", "compressor", "drill", "chatter", "wind")


def _rng(chance: random.Random) -> np.random.Generator:
    return np.random.default_rng(chance.randrange(2**32))


def _band(samples: NDArray[np.float64], low: float, high: float) -> NDArray[np.float64]:
    return np.asarray(sosfilt(butter(2, [low, high], "bandpass", fs=RATE, output="sos"), samples))


def make(kind: str, length: int, chance: random.Random, babble: list[Floats]) -> Floats:
    """Noise of one kind; chatter is made of other voices' talk."""
    rng = _rng(chance)
    t = np.arange(length) / RATE
    white = rng.standard_normal(length)
    if kind == "saw":
        pitch = chance.uniform(90, 220) * (1 + 0.04 * np.sin(2 * np.pi * chance.uniform(0.3, 1.5) * t))
        phase = 2 * np.pi * np.cumsum(pitch) / RATE
        found = sum(np.sin(k * phase + chance.uniform(0, 6)) / k**0.7 for k in range(1, 30)) + 2 * _band(
            white, 1500, 7000
        )
        found = found * (1 + 0.5 * np.sin(2 * np.pi * chance.uniform(0.5, 3) * t))
    elif kind == "hammer":
        found = 0.02 * white
        at = chance.uniform(0, 0.3)
        while at < length / RATE:
            start = int(at * RATE)
            tail = np.arange(length - start) / RATE
            ring = np.sin(2 * np.pi * chance.uniform(300, 2500) * tail) + rng.standard_normal(len(tail))
            found[start:] += chance.uniform(0.6, 1.4) * ring * np.exp(-tail * chance.uniform(20, 60))
            at += chance.uniform(0.25, 0.7)
    elif kind == "compressor":
        hum = sum(np.sin(2 * np.pi * 50 * k * t + k) / k for k in range(1, 12))
        found = hum * (1 + 0.4 * np.sin(2 * np.pi * chance.uniform(8, 18) * t)) + 0.6 * _band(white, 60, 2500)
    elif kind == "drill":
        pitch = chance.uniform(300, 700) * np.minimum(1, 0.5 + t / 0.5)
        phase = 2 * np.pi * np.cumsum(pitch) / RATE
        found = np.sign(np.sin(phase)) * 0.6 + _band(white, 800, 6000)
    elif kind == "chatter" and babble:
        found = np.zeros(length)
        for _ in range(4):
            voice = chance.choice(babble)
            found += np.resize(np.roll(voice, chance.randrange(len(voice))), length)
    else:
        found = _band(white, 30, 400) * (1 + 0.8 * np.sin(2 * np.pi * chance.uniform(0.1, 0.6) * t))
    return np.asarray(found, np.float32)


def level(samples: Floats) -> float:
    """Loudness of what is spoken: root mean square of the louder half of 20 ms pieces."""
    pieces = samples[: len(samples) // 320 * 320].reshape(-1, 320)
    powers = np.sort((pieces**2).mean(axis=1))
    return float(np.sqrt(powers[len(powers) // 2 :].mean())) + 1e-9


def room(samples: Floats, chance: random.Random) -> Floats:
    """A room and a microphone some way off: a decaying echo, and a band."""
    rng = _rng(chance)
    decay = chance.uniform(0.08, 0.35)
    t = np.arange(int(RATE * decay)) / RATE
    echo = rng.standard_normal(len(t)) * np.exp(-6.9 * t / decay)
    echo *= chance.uniform(0.05, 0.5) / np.sqrt((echo**2).sum())
    echo[0] = 1.0
    found = fftconvolve(samples, echo)[: len(samples) + int(RATE * 0.1)]
    return np.asarray(_band(found, chance.uniform(60, 180), chance.uniform(5000, 7600)), np.float32)


def mixed(speech: Floats, kind: str, ratio: float | None, chance: random.Random, babble: list[Floats]) -> Floats:
    """Speech in noise, `ratio` decibels louder than it; None is a quiet room. At some gain, never clipped."""
    noise = make(kind, len(speech), chance, babble)
    wanted = level(speech) * 10 ** (-(60.0 if ratio is None else ratio) / 20)
    found = speech + noise * wanted / (np.sqrt((noise**2).mean()) + 1e-9)
    return np.asarray(found / np.abs(found).max() * chance.uniform(0.1, 0.9), np.float32)
