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
    """It is no difference, or not one of these files; the message says which, without naming the file."""


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
    """A difference whose numbers are still compressed."""

    note: str
    changes: Mapping[str, Change]
    packed: bytes


def read(data: bytes) -> Difference:
    """A difference from the bytes of its file; raises `DifferenceError`."""
    try:
        if not data.startswith(FIRST):
            raise DifferenceError("does not begin as a difference does")
        line, _, packed = data[len(FIRST) :].partition(b"\n")
        head = json.loads(line)
        changes = {
            str(name): Change(one["base"], one["result"], tuple(Part(*part) for part in one["parts"]))
            for name, one in head["files"].items()
        }
        return Difference(str(head["note"]), changes, packed)
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        raise DifferenceError(f"is damaged: {error}") from error


def _numbers(difference: Difference) -> bytes:
    wanted = sum(part.count for change in difference.changes.values() for part in change.parts)
    if wanted > MOST:
        raise DifferenceError("holds more numbers than any ear has")
    try:
        numbers = lzma.LZMADecompressor(lzma.FORMAT_RAW, filters=FILTERS).decompress(difference.packed, wanted)
    except lzma.LZMAError as error:
        raise DifferenceError(f"is damaged: {error}") from error
    if len(numbers) != wanted:
        raise DifferenceError(f"holds {len(numbers)} numbers of {wanted}")
    return numbers


def applied(difference: Difference, files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The files with the difference on top; raises `DifferenceError` if it is not for these, or comes out wrong."""
    import numpy as np

    numbers = _numbers(difference)
    found, at = {}, 0
    for name, change in difference.changes.items():
        if name not in files or sha256(files[name]) != change.base:
            raise DifferenceError(f"was not made for this {name}")
        made = bytearray(files[name])
        for part in change.parts:
            some = numbers[at : at + part.count]
            at += part.count
            if not 0 <= part.start <= len(made) - part.count * (4 if part.step else 1):
                raise DifferenceError(f"goes beyond the end of {name}")
            if part.step:
                values = np.frombuffer(made, "<f4", part.count, part.start)
                values += np.frombuffer(some, np.int8).astype(np.float32) * np.float32(part.step)
            else:
                levels = np.frombuffer(made, np.uint8, part.count, part.start)
                levels += np.frombuffer(some, np.uint8)
        if sha256(made) != change.result:
            raise DifferenceError(f"makes another {name} than it did where it was made")
        found[name] = bytes(made)
    return found


def sha256(data: bytes | bytearray) -> str:
    """SHA-256, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()
