"""A difference file made of trained weights: shipped + scale x difference, brought to the levels they are shipped in.

PYTHONPATH=voice_models:. python -m training.export TRAINED.npz OUT.diff [--scale 0.6] [--weights FOLDER]
"""

from __future__ import annotations

import argparse
import json
import lzma
from collections.abc import Mapping
from math import ceil, floor, log2
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from guide.voice.embedded.difference import FILTERS, FIRST, sha256
from training.weights import Floats, Place, Shipped, to_levels

SMALL = 10_000
"""A float tensor with fewer values is kept as exactly as its largest change allows."""
FINE = 512
"""Steps in the range of a larger one: twice as fine as the levels of the matrices."""


def packed(shipped: Shipped, trained: Mapping[str, Floats], scale: float, note: str = "") -> bytes:
    """The bytes of a difference file."""
    changes: dict[str, list[tuple[int, int, float]]] = {name: [] for name in shipped.files}
    numbers: dict[str, list[NDArray[np.uint8]]] = {name: [] for name in shipped.files}
    made = {name: bytearray(data) for name, data in shipped.files.items()}
    for name in sorted(trained, key=lambda one: (shipped.places[one].file, shipped.places[one].start)):
        place, base = shipped.places[name], shipped.floats(name)
        change = np.float32(scale) * (trained[name].astype(np.float32) - base)
        if place.scale is None:
            step, found, data = _stepped(base, change)
        else:
            step, new = 0.0, to_levels(base + change, place)
            found, data = new - shipped.levels(name), new.tobytes()
        if found.any():
            changes[place.file].append((place.start, place.count, step))
            numbers[place.file].append(found.ravel())
            made[place.file][place.start : place.start + len(data)] = data
    files = {
        name: {"base": sha256(shipped.files[name]), "result": sha256(made[name]), "parts": changes[name]}
        for name in shipped.files
    }
    head = json.dumps({"note": note, "files": files}, separators=(",", ":")).encode()
    every = b"".join(one.tobytes() for name in files for one in numbers[name])
    return FIRST + head + b"\n" + lzma.compress(every, lzma.FORMAT_RAW, filters=list(FILTERS))


def _stepped(base: Floats, change: Floats) -> tuple[float, NDArray[np.uint8], bytes]:
    """A float tensor's change in whole steps: the step, the numbers, and the bytes that come of it."""
    largest = float(np.abs(change).max())
    if not largest:
        return 1.0, np.zeros(base.shape, np.uint8), base.tobytes()
    least = 2.0 ** ceil(log2(largest / 127))
    spread = float(base.max() - base.min())
    step = least if base.size < SMALL or not spread else max(least, 2.0 ** floor(log2(spread / FINE)))
    found = np.rint(change / np.float32(step)).astype(np.int8)
    return step, found.view(np.uint8), (base + found.astype(np.float32) * np.float32(step)).astype("<f4").tobytes()


def in_levels(values: Floats, place: Place) -> Floats:
    """A matrix's values as they will be after they were brought to levels."""
    assert place.scale is not None
    return (to_levels(values, place).astype(np.float32) - place.zero) * np.float32(place.scale)


def main() -> None:
    """Write a difference."""
    parser = argparse.ArgumentParser()
    parser.add_argument("trained", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--scale", type=float, default=0.6)
    parser.add_argument("--weights", type=Path)
    parser.add_argument("--note", default="")
    arguments = parser.parse_args()
    with np.load(arguments.trained) as trained:
        data = packed(Shipped.load(arguments.weights), dict(trained), arguments.scale, arguments.note)
    arguments.out.write_bytes(data)
    print(f"{arguments.out}: {len(data):,} bytes, SHA-256 {sha256(data)}")


if __name__ == "__main__":
    main()
