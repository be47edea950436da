"""What a site, a room and a microphone do to speech, a whole batch at once, on whatever device it lies. Needs torch.

Every row has its own luck: a room (or none), noise of one to three kinds (coloured and swelling, motors, impacts, other
voices) from -5 to 24 dB below or above the speech, or nearly none; a microphone's band and colour; a gain; sometimes
clipping. Noise fills the whole row: the model's first norm runs over all time, and silence put behind would change it.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

import torch
from torch import Tensor

RATE = 16_000
BLOCK = 4096
"""Rows are a multiple of this many samples long, so that their transforms are fast."""
ROOM = 6400
"""Samples of an echo, or of an impact's ringing."""
TABLE = 512


@dataclass(frozen=True, slots=True)
class Loudness:
    """How loud the noise is."""

    low: float = -5.0
    high: float = 24.0
    """Decibels of speech above noise, any between."""
    clean: float = 0.2
    """Share of rows with almost no noise."""


class Luck:
    """Random numbers of one row each, from one seed."""

    def __init__(self, rows: int, generator: torch.Generator, chance: random.Random) -> None:
        self.rows, self.generator, self.device = rows, generator, generator.device
        self.chance = chance
        """For what one number says of all rows: nothing has to be fetched from the device."""

    def between(self, low: float, high: float, *shape: int) -> Tensor:
        """Any between, evenly; (rows, 1) or (rows, *shape)."""
        return low + (high - low) * torch.rand(
            self.rows, *(shape or (1,)), generator=self.generator, device=self.device
        )

    def scale(self, low: float, high: float, *shape: int) -> Tensor:
        """Any between, evenly in its logarithm."""
        return self.between(math.log(low), math.log(high), *shape).exp()

    def normal(self, *shape: int) -> Tensor:
        """Of the normal distribution."""
        return torch.randn(self.rows, *shape, generator=self.generator, device=self.device)

    def often(self, share: float) -> Tensor:
        """True in that share of rows; (rows, 1)."""
        return self.between(0.0, 1.0) < share

    def order(self) -> Tensor:
        """The rows in any order."""
        return torch.rand(self.rows, generator=self.generator, device=self.device).argsort()


def transform_size(length: int) -> int:
    """The next length whose transform is fast."""
    size = -(-length // 1024)
    while any(size % prime == 0 for prime in (11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61)):
        size += 1
    return 1024 * size


def convolved(x: Tensor, kernel: Tensor) -> Tensor:
    """Each row with its own kernel, as long as before."""
    size = transform_size(x.shape[1] + kernel.shape[1])
    found = torch.fft.irfft(torch.fft.rfft(x, size) * torch.fft.rfft(kernel, size), size)
    return found[:, : x.shape[1]]


def unit(x: Tensor) -> Tensor:
    """Of root mean square 1, each row."""
    return x / (x.square().mean(1, keepdim=True).sqrt() + 1e-6)


def spoken_level(x: Tensor) -> Tensor:
    """Root mean square where a row is loud; (rows, 1)."""
    power = x[:, : x.shape[1] // 320 * 320].unflatten(1, (-1, 320)).square().mean(2)
    loud = (power > 0.03 * power.amax(1, keepdim=True)).to(power)
    return ((power * loud).sum(1, keepdim=True) / loud.sum(1, keepdim=True).clamp(min=1)).sqrt()


def echo(luck: Luck) -> Tensor:
    """A decaying echo behind what comes straight; (rows, ROOM). Some rows have no room."""
    t = torch.arange(ROOM, device=luck.device) / RATE
    late = luck.normal(ROOM) * torch.exp(-6.9 * t / luck.scale(0.06, 0.7)) * (t > luck.between(0.0, 0.012))
    late = late / (late.square().sum(1, keepdim=True).sqrt() + 1e-6) * luck.scale(0.05, 1.1) * luck.often(0.65)
    late[:, 0] = 1.0
    return late


def swelling(luck: Luck, length: int, deepest: float) -> Tensor:
    """A loudness that goes up and down, slowly or in bursts; (rows, length), positive."""
    t = torch.arange(length, device=luck.device) / RATE
    wave = torch.zeros(luck.rows, length, device=luck.device)
    for low, high in ((0.15, 1.5), (1.0, 9.0), (6.0, 25.0)):
        wave += luck.between(0, 1) * torch.sin(6.2832 * (luck.scale(low, high) * t + luck.between(0, 1)))
    bursts = torch.where(luck.often(0.3), torch.sigmoid(20 * (wave + luck.between(-0.6, 0.6))), 1.0)
    return torch.exp(luck.between(0, deepest) * wave) * (bursts + 0.02)


def coloured(luck: Luck, length: int) -> Tensor:
    """Hiss of any colour, with bands of its own, swelling."""
    size = transform_size(length)
    at = torch.arange(size // 2 + 1, device=luck.device) * (RATE / size) + 20.0
    shape = (at / 1000) ** luck.between(-1.4, 0.3)
    for _ in range(2):
        centre, width = luck.scale(80, 7000), luck.between(0.05, 0.8)
        shape = shape * (1 + luck.scale(0.1, 12) * torch.exp(-((at / centre).log() / width).square()))
    found = torch.fft.irfft(torch.fft.rfft(luck.normal(size)) * shape, size)[:, :length]
    return found * swelling(luck, length, 1.0)


def motor(luck: Luck, length: int) -> Tensor:
    """A hum or whine with its overtones, whose pitch runs up, sags under load, and trembles; with some hiss."""
    t = torch.arange(length, device=luck.device) / RATE
    run = 1 + luck.between(-0.5, 0.5) * torch.exp(-t / luck.scale(0.1, 1.5))
    load = 1 - luck.between(0, 0.35) * torch.sigmoid(
        30 * torch.sin(6.2832 * (luck.scale(0.1, 1.2) * t + luck.between(0, 1)))
    )
    pitch = luck.scale(35, 900) * run * load * (1 + 0.03 * torch.sin(6.2832 * luck.scale(2, 40) * t))
    phase = (torch.cumsum(pitch / RATE, 1) + luck.between(0, 1)) % 1.0
    tones = torch.arange(TABLE // 2 + 1, device=luck.device).clamp(min=1) ** -luck.between(0.3, 1.6)
    tones = tones * luck.normal(TABLE // 2 + 1) * (torch.arange(TABLE // 2 + 1, device=luck.device) < luck.scale(3, 60))
    turn = torch.exp(6.2832j * luck.between(0, 1, TABLE // 2 + 1))
    tones[:, 0] = 0
    table = unit(torch.fft.irfft(tones * turn, TABLE))
    place = phase * TABLE
    low = place.long() % TABLE
    part = place - place.floor()
    wave = table.gather(1, low) * (1 - part) + table.gather(1, (low + 1) % TABLE) * part
    return unit(wave * swelling(luck, length, 0.5)) + luck.scale(0.02, 0.7) * unit(coloured(luck, length))


def impacts(luck: Luck, length: int) -> Tensor:
    """Blows, some in a rhythm, each with the same ringing."""
    t = torch.arange(length, device=luck.device) / RATE
    hits = (luck.between(0, 1, length) < luck.scale(0.4, 8) / RATE).float()
    beat = luck.scale(0.8, 12)
    rhythm = torch.diff(
        torch.floor(beat * t + luck.between(0, 1)), dim=1, prepend=torch.zeros(luck.rows, 1, device=luck.device)
    )
    blows = torch.where(luck.often(0.5), rhythm.clamp(0, 1), hits) * torch.exp(0.5 * luck.normal(length))
    t = t[:ROOM]
    ring = torch.sin(6.2832 * luck.scale(150, 4000) * t) * torch.exp(-t * luck.scale(15, 150))
    crack = luck.normal(len(t)) * torch.exp(-t * luck.scale(40, 400))
    return convolved(blows, luck.between(0, 1) * ring + crack) + 0.003 * luck.normal(length)


def voices(luck: Luck, speech: Tensor) -> Tensor:
    """Other rows' speech at other times, two to six at once."""
    found = torch.zeros_like(speech)
    for number in range(6):
        moved = speech[luck.order()].roll(luck.chance.randrange(speech.shape[1]), 1)
        share = luck.scale(0.3, 1.5) if number < 2 else luck.scale(0.1, 1.0) * luck.often(0.5)
        found = found + unit(moved) * share
    return found


def noise(luck: Luck, speech: Tensor) -> Tensor:
    """Noise of one to three kinds, of root mean square 1."""
    length = speech.shape[1]
    kinds = [
        unit(made)
        for made in (coloured(luck, length), motor(luck, length), impacts(luck, length), voices(luck, speech))
    ]
    share = luck.scale(0.05, 1.0, 4) * (luck.between(0, 1, 4) < 0.3)
    first = torch.multinomial(
        torch.tensor([0.4, 0.25, 0.15, 0.2], device=luck.device), luck.rows, True, generator=luck.generator
    )
    share = share.scatter(1, first[:, None], 1.0)
    return unit(sum(made * share[:, one : one + 1] for one, made in enumerate(kinds)))


def microphone(luck: Luck, x: Tensor) -> Tensor:
    """A microphone's band and colour."""
    size = transform_size(x.shape[1] + 1024)
    at = torch.arange(size // 2 + 1, device=luck.device) * (RATE / size) + 1.0
    narrow = luck.often(0.12)
    low = torch.where(narrow, luck.scale(200, 400), luck.scale(20, 200))
    high = torch.where(narrow, luck.scale(2800, 3800), luck.scale(4500, 12000))
    shape = (
        torch.rsqrt(1 + (low / at) ** 4) * torch.rsqrt(1 + (at / high) ** 8) * (at / 1000) ** luck.between(-0.25, 0.35)
    )
    for _ in range(3):
        shape = shape * torch.exp(
            luck.between(-0.8, 0.8) * torch.exp(-((at / luck.scale(100, 7000)).log() / luck.between(0.2, 1)).square())
        )
    return torch.fft.irfft(torch.fft.rfft(x, size) * shape, size)[:, : x.shape[1]]


def site(speech: Tensor, luck: Luck, loudness: Loudness) -> tuple[Tensor, Tensor]:
    """Speech as a site's microphone brings it, and how many decibels it is above the noise (-99: nothing is said)."""
    heard = convolved(speech, echo(luck))
    ratio = luck.between(loudness.low, loudness.high)
    ratio = torch.where(luck.often(loudness.clean), luck.between(30, 60), ratio)
    level = spoken_level(heard)
    there = level > 1e-4
    wanted = torch.where(there, level * 10 ** (-ratio / 20), luck.scale(0.01, 0.3))
    mixed = microphone(luck, heard + noise(luck, speech) * wanted)
    mixed = mixed / (mixed.abs().amax(1, keepdim=True) + 1e-6)
    over = torch.where(luck.often(0.1), luck.scale(1.2, 5), 1.0)
    mixed = torch.nan_to_num((mixed * over).clamp(-1, 1) * luck.scale(0.04, 1.0))
    return mixed, torch.where(there, ratio, -99.0)[:, 0]
