"""Rendered speech on the training device, and batches of it: rows of about one length, at several speeds. Needs torch.

Folders may still be rendered while training runs: a folder counts when its `made.json` is there.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor

from guide.voice.embedded.tokens import END, START, Pieces
from training.augment import BLOCK, RATE, Luck

LEAST_SHARES = {"ordinary": 0.12, "talk": 0.12, "command": 0.08, "cut": 0.08}
"""Shares of the rows that these kinds have at least, however few of them were rendered."""
FOR_NOBODY = frozenset({"ordinary", "talk"})
NATURAL, NATURAL_SHARE = "kokoro", 0.4
"""The engine with many natural speakers, and the share of rows that it has: no more than five times its own."""
LONGEST = 14 * RATE
OWN_MOST = 16
"""Batches of a folder that the shipped model writes itself: more would keep the training waiting."""
POOL = 48
"""Batches' worth of clips drawn at once, sorted by length, and cut into batches."""


@dataclass(slots=True)
class Clip:
    """One clip in the store."""

    start: int
    samples: int
    kind: str
    target: list[int]
    natural: bool = False
    """Of an engine that sounds like people."""
    own: bool = False
    """The target is what the shipped model itself writes: it is held to its own probabilities too."""


@dataclass(frozen=True, slots=True)
class Batch:
    """Rows that are trained on together."""

    speech: Tensor
    """(rows, samples), without noise."""
    pieces: Tensor
    """(rows, length): the start and the target."""
    wanted: Tensor
    """(rows, length): the target and the end; -1 behind it."""
    own: Tensor
    """Rows for which the shipped model's own probabilities count."""


class Store:
    """All clips so far."""

    def __init__(self, parent: Path, pieces: Pieces, device: torch.device, only: str = "train") -> None:
        self._parent, self._device, self._only = parent, device, only
        self._word = cache(pieces.word)
        self._seen: set[Path] = set()
        self._sounds: list[Tensor] = []
        self.sound = torch.zeros(0, dtype=torch.int16, device=device)
        self.clips: list[Clip] = []

    def refresh(self) -> list[Clip]:
        """Take in the folders that have been finished since; returns their clips."""
        found: list[Clip] = []
        for made in sorted(self._parent.glob("**/made.json")):
            if made.parent not in self._seen:
                self._seen.add(made.parent)
                found += self._read(made.parent)
        if found:
            self.sound = torch.cat([self.sound, *self._sounds])
            self._sounds = []
            self.clips += found
        return found

    def _read(self, folder: Path) -> Iterator[Clip]:
        begins: dict[str, int] = {}
        size = len(self.sound) + sum(len(one) for one in self._sounds)
        for path in sorted(folder.glob("*.i16")):
            begins[path.name] = size
            self._sounds.append(torch.from_numpy(np.fromfile(path, "<i2")).to(self._device))
            size += len(self._sounds[-1])
        for text in (folder / "lines.jsonl").read_text().splitlines():
            line: dict[str, Any] = json.loads(text)
            if line["split"] == self._only and 800 < line["samples"] <= LONGEST:
                target = [piece for word in line["target"].split() for piece in self._word(word)]
                natural = line.get("engine") == NATURAL
                yield Clip(begins[line["shard"]] + line["start"], line["samples"], line["kind"], target, natural)

    def cut(self, clips: Sequence[Clip], length: int, speeds: Tensor, firsts: Tensor) -> Tensor:
        """Clips at their speeds in rows of one length, each from its first sample on; silence around them."""
        starts, counts = (
            torch.tensor([getattr(clip, name) for clip in clips], device=self._device)[:, None]
            for name in ("start", "samples")
        )
        at = (torch.arange(length, device=self._device) - firsts) * speeds
        inside = (at >= 0) & (at < counts - 1)
        low = at.floor()
        part = (at - low).float()
        place = (low.long() + starts).clamp(0, len(self.sound) - 2)
        found = self.sound[place].float() * (1 - part) + self.sound[place + 1].float() * part
        return found * inside / 32768


def drawn(store: Store, rows: int, longest: float, chance: random.Random) -> list[list[Clip]]:
    """Batches of clips of about one length, in any order; `longest` is the seconds of sound that a batch may have."""
    kinds: dict[tuple[str, bool], list[Clip]] = {}
    for clip in store.clips:
        kinds.setdefault((clip.kind, clip.natural), []).append(clip)
    counts = Counter(clip.kind for clip in store.clips)
    natural = sum(clip.natural for clip in store.clips) / len(store.clips)
    shares = {True: max(natural, min(NATURAL_SHARE, 5 * natural)) or 1.0}
    shares[False] = 1 - shares[True] or 1.0
    names = list(kinds)
    weights = [
        max(counts[kind] / len(store.clips), LEAST_SHARES.get(kind, 0.0)) * shares[sounds] for kind, sounds in names
    ]
    picked = chance.choices(names, weights, k=POOL * rows)
    pool = sorted((chance.choice(kinds[name]) for name in picked), key=lambda clip: clip.samples)
    found: list[list[Clip]] = []
    at = 0
    while at < len(pool):
        size = rows
        while size > 1 and pool[min(at + size, len(pool)) - 1].samples * size > longest * RATE:
            size -= max(1, size // 16)
        found.append(pool[at : at + size])
        at += size
    chance.shuffle(found)
    return found


def batch_of(store: Store, clips: Sequence[Clip], luck: Luck, empty: float = 0.04) -> Batch:
    """A batch: speeds a tenth up or down (some more: other voices), a share of rows without any speech."""
    device = luck.device
    speeds = torch.where(luck.often(0.2), luck.between(0.82, 1.25), luck.between(0.9, 1.1)).double()
    counts = torch.tensor([clip.samples for clip in clips], device=device)[:, None] / speeds
    length = int(max(clip.samples for clip in clips) / 0.94) // BLOCK * BLOCK + BLOCK
    free = (length - counts).clamp(min=0)
    cut = torch.tensor([clip.kind == "cut" for clip in clips], device=device)[:, None]
    flush = cut & luck.often(0.7)  # most of what is cut off ends where the sound ends
    firsts = torch.where(flush, length - counts, (luck.between(0, 1) * free)).floor()
    speech = store.cut(clips, length, speeds, firsts)
    nothing = [luck.chance.random() < empty for _ in clips]
    speech = speech * (1 - torch.tensor(nothing, device=device).float())[:, None]
    targets = [[] if none else clip.target for none, clip in zip(nothing, clips, strict=True)]
    own = [row for row, clip in enumerate(clips) if clip.own and not nothing[row]]
    return Batch(speech, *padded(targets, device), torch.tensor(own, dtype=torch.long, device=device))


def padded(targets: Sequence[list[int]], device: torch.device) -> tuple[Tensor, Tensor]:
    """What the decoder is given, and what it should come to."""
    longest = max(len(target) for target in targets) + 1
    pieces = [[START, *target] + [END] * (longest - 1 - len(target)) for target in targets]
    wanted = [[*target, END] + [-1] * (longest - 1 - len(target)) for target in targets]
    return torch.tensor(pieces, device=device), torch.tensor(wanted, device=device)


def with_own_words(
    store: Store, clips: Sequence[Clip], write: Callable[[Tensor], list[list[int]]], pieces: Pieces, rows: int
) -> int:
    """Give talk that is for nobody the words that the shipped model writes, where they are nearly what was said.

    Returns how many got them.
    """
    found = 0
    speech = [clip for clip in clips if clip.kind in FOR_NOBODY][: OWN_MOST * rows]
    speech.sort(key=lambda clip: clip.samples)
    for at in range(0, len(speech), rows):
        part = speech[at : at + rows]
        ones = torch.ones(len(part), 1, device=store.sound.device)
        sound = store.cut(part, max(clip.samples for clip in part), ones.double(), 0 * ones)
        sound = sound + 1e-4 * torch.randn_like(sound)
        for clip, own in zip(part, write(sound), strict=True):
            if alike(pieces.decode(own), pieces.decode(clip.target)):
                clip.target, clip.own = own, True
                found += 1
    return found


def alike(one: str, two: str, most: float = 0.2) -> bool:
    """Whether two texts differ in few words, capitals and marks aside."""
    first, second = (
        ["".join(char for char in word if char.isalnum()) for word in text.lower().replace("-", " ").split()]
        for text in (one, two)
    )
    row = list(range(len(second) + 1))
    for i, word in enumerate(first, 1):
        before, row[0] = row[0], i
        for j, other in enumerate(second, 1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + (word != other))
    return row[-1] <= most * max(len(second), 1)
