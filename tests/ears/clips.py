"""The clips of a set: their lines, their sound, and what a step asks for when one of them is said.

A set is a folder of `voice_models/training` (shards and `lines.jsonl`) or of `ears.render` (WAV files and `set.jsonl`).
"""

from __future__ import annotations

import json
import random
from dataclasses import dataclass
from fractions import Fraction
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from guide.procedure.model import About, Sign
from guide.quantity import Quantity
from guide.talk.expect import Expect
from guide.voice.wav import read_wav

Line = dict[str, Any]
FOR_NOBODY = frozenset({"talk", "ordinary", "noise"})
"""Kinds that are no reading and no command."""


def lines_of(folder: Path) -> list[Line]:
    """The set's lines, those of one utterance together, in an order that makes any beginning stand for the whole."""
    path = folder / "lines.jsonl"
    found = [json.loads(line) for line in (path if path.exists() else folder / "set.jsonl").read_text().splitlines()]
    for line in found:
        line.setdefault("id", line.get("file"))
        line.setdefault("utterance", line["id"].rpartition("-")[0])
    return sorted(found, key=lambda line: (sha256(line["utterance"].encode()).digest(), line["id"]))


class Sounds:
    """The sound of a set's clips; shards are read where they lie."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._shards: dict[str, NDArray[np.int16]] = {}

    def of(self, line: Line) -> NDArray[np.float32]:
        """One clip: 16,000 samples a second, -1 to 1."""
        if "file" in line:
            return read_wav(self._folder / line["file"])
        shard = line["shard"]
        if shard not in self._shards:
            self._shards[shard] = np.memmap(self._folder / shard, "<i2", "r")
        part = self._shards[shard][line["start"] : line["start"] + line["samples"]]
        return np.asarray(part, np.float32) / np.float32(32768)


@dataclass(frozen=True)
class Shape:
    """What is asked for, without its range."""

    unit: str = "in"
    about: About = "length"
    sign: Sign | None = None
    places: tuple[str, ...] = ()


def _shape(line: Line) -> Shape:
    asked = line.get("asked") or {}
    sign = asked.get("sign")
    return Shape(
        line["expect"][0] if line.get("expect") else "in",
        asked.get("about", "length"),
        Sign(sign[0], sign[1], tuple(sign[2]), tuple(sign[3])) if sign else None,
        tuple(asked.get("places", ())),
    )


def expected(line: Line, with_range: bool = True) -> Expect:
    """What the step asks for when a clip is said; `with_range`: it also says where the reading is likely to lie.

    What is said for nobody is heard while some reading is asked for, its range by chance.
    """
    shape = _shape(line)
    low: Quantity | None = None
    high: Quantity | None = None
    if with_range and (line["expect"] or line["kind"] != "reading"):
        first, last = line["expect"][1:] if line["expect"] else _some_range(line)
        low, high = Quantity(Fraction(first), shape.unit), Quantity(Fraction(last), shape.unit)
    return Expect(
        unit=shape.unit,
        about=shape.about,
        sign=shape.sign,
        places=shape.places,
        metric=shape.unit == "mm",
        likely_low=low,
        likely_high=high,
    )


def _some_range(line: Line) -> tuple[Fraction, Fraction]:
    """Three inches of a door's sizes, or one of gaps: always the same of the same utterance."""
    chance = random.Random(line["utterance"])
    if chance.random() < 0.6:
        low = Fraction(chance.randrange(18 * 8, 97 * 8), 8)
        return low, low + 3
    return Fraction(0), Fraction(1)


def batches(lines: list[Line], size: int) -> list[list[Line]]:
    """Some lines at a time that ask for the same kind of reading, in an order by chance that is always the same."""
    by_shape: dict[Shape, list[Line]] = {}
    for line in lines:
        by_shape.setdefault(_shape(line), []).append(line)
    found = [alike[at : at + size] for alike in by_shape.values() for at in range(0, len(alike), size)]
    return sorted(found, key=lambda batch: sha256(batch[0]["id"].encode()).digest())
