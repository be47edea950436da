"""What training changed in the shipped weights, as a file: read, and put on top of them byte by byte.

The file: a first line that names it, a second that is a JSON object, then whole numbers of one byte, compressed (LZMA).

    {"note": text, "files": {NAME: {"base": SHA-256, "result": SHA-256, "parts": [[start, count, step], ...]}}}

A part is `count` values from byte `start` of the file. Where `step` is 0 they are bytes, and the numbers are added to
them, 256 being 0 again. Else they are float32, and get the number (-128 to 127) times the step, a power of two. Nothing
in it is rounded twice, so the result is the same on every machine, and is checked.
"""

from __future__ import annotations

import hashlib
import json
import lzma
from collections.abc import Mapping
from dataclasses import dataclass

FIRST = b"guide ear difference 1\n"
FILTERS = ({"id": lzma.FILTER_LZMA2, "dict_size": 1 << 20, "lc": 0, "lp": 0, "pb": 0, "mf": lzma.MF_HC3, "depth": 4},)
"""Numbers near 0 in no order: there are no repeats worth looking for."""
MOST = 1 << 26
"""Numbers that a file may hold."""


class DifferenceError(ValueError):
    """It is no difference, or not one of these files; the message says which."""


@dataclass(frozen=True, slots=True)
class Part:
    """Some values that lie together."""

    start: int
    count: int
    step: float


@dataclass(frozen=True, slots=True)
class Change:
    """What is done to one file."""

    base: str
    """SHA-256 of the file as shipped."""
    result: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """A difference, read."""

    note: str
    changes: Mapping[str, Change]
    numbers: bytes


def read(data: bytes) -> Difference:
    """A difference from the bytes of its file; raises `DifferenceError`."""
    try:
        if not data.startswith(FIRST):
            raise DifferenceError("it does not begin as a difference does")
        line, _, packed = data[len(FIRST) :].partition(b"\n")
        head = json.loads(line)
        changes = {
            str(name): Change(one["base"], one["result"], tuple(Part(*part) for part in one["parts"]))
            for name, one in head["files"].items()
        }
        wanted = sum(part.count for change in changes.values() for part in change.parts)
        if wanted > MOST:
            raise DifferenceError("it holds more numbers than any ear has")
        numbers = lzma.LZMADecompressor(lzma.FORMAT_RAW, filters=FILTERS).decompress(packed, wanted)
        if len(numbers) != wanted:
            raise DifferenceError(f"it holds {len(numbers)} numbers of {wanted}")
        return Difference(str(head["note"]), changes, numbers)
    except (KeyError, TypeError, AttributeError, ValueError, lzma.LZMAError) as error:
        raise DifferenceError(f"it is damaged: {error}") from error


def applied(difference: Difference, files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The files with the difference on top; raises `DifferenceError` if it is not for these, or comes out wrong."""
    import numpy as np

    found, at = {}, 0
    for name, change in difference.changes.items():
        if name not in files or sha256(files[name]) != change.base:
            raise DifferenceError(f"it was not made for this {name}")
        made = bytearray(files[name])
        for part in change.parts:
            numbers = difference.numbers[at : at + part.count]
            at += part.count
            if not 0 <= part.start <= len(made) - part.count * (4 if part.step else 1):
                raise DifferenceError(f"it goes beyond the end of {name}")
            if part.step:
                values = np.frombuffer(made, "<f4", part.count, part.start)
                values += np.frombuffer(numbers, np.int8).astype(np.float32) * np.float32(part.step)
            else:
                levels = np.frombuffer(made, np.uint8, part.count, part.start)
                levels += np.frombuffer(numbers, np.uint8)
        if sha256(made) != change.result:
            raise DifferenceError(f"what comes of {name} is not what was made when it was trained")
        found[name] = bytes(made)
    return found


def sha256(data: bytes | bytearray) -> str:
    """SHA-256, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()
