"""The model's pieces of words: its table read, text cut into pieces and put together again.

The table holds one piece after another: its length (one byte; from 128 up two, `(first - 128) + 128 * second`) and its
bytes, in UTF-8, a blank being "▁". Ids 0 to 2 are special, 3 to 258 stand for single bytes, and the others come in the
order in which pieces are merged: the pair whose union has the lowest id goes first.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path

START, END = 1, 2
_BYTES_FROM, _BYTES_TO = 3, 259
BLANK = "▁"


class TableError(ValueError):
    """The table of pieces can't be read; the message says why."""


class Pieces:
    """The model's table of pieces."""

    def __init__(self, table: bytes) -> None:
        """From the bytes of the table; raises `TableError` where it ends too soon or has no bytes of its own."""
        self.pieces = tuple(_pieces(table))
        if len(self.pieces) <= _BYTES_TO:
            raise TableError(f"the table of pieces has {len(self.pieces)} pieces, too few for one that has all bytes")
        self._id: dict[bytes, int] = {}
        for number, piece in enumerate(self.pieces):
            if number >= _BYTES_TO:
                self._id.setdefault(piece, number)

    @classmethod
    def load(cls, path: Path) -> Pieces:
        """The table in a file."""
        return cls(path.read_bytes())

    def __len__(self) -> int:
        return len(self.pieces)

    def encode(self, text: str) -> list[int]:
        """The pieces of a text, each word cut by itself, as the model writes it."""
        return [piece for word in text.split() for piece in self.word(word)]

    def word(self, word: str, first: bool = True) -> list[int]:
        """The pieces of one word; with `first` a blank stands before it."""
        parts = [char.encode() for char in (BLANK if first else "") + word]
        ids: list[int] = []
        while len(parts) > 1:
            pairs = [(self._id.get(one + two, len(self.pieces)), at) for at, (one, two) in enumerate(pairwise(parts))]
            best, at = min(pairs)
            if best == len(self.pieces):
                break
            parts[at : at + 2] = [parts[at] + parts[at + 1]]
        for part in parts:
            known = self._id.get(part)
            ids += [known] if known is not None else [_BYTES_FROM + byte for byte in part]
        return ids

    def decode(self, ids: Iterable[int]) -> str:
        """The text of a row of pieces; what is no UTF-8 becomes "�"."""
        found = bytearray()
        for number in ids:
            if number >= _BYTES_TO and number < len(self.pieces):
                found += self.pieces[number]
            elif _BYTES_FROM <= number < _BYTES_TO:
                found.append(number - _BYTES_FROM)
        return found.decode(errors="replace").replace(BLANK, " ").strip()


def _pieces(table: bytes) -> Iterable[bytes]:
    at = 0
    while at < len(table):
        length, at = table[at], at + 1
        if length >= 128:
            if at >= len(table):
                raise TableError("the table of pieces ends in the middle of a length")
            length, at = length - 128 + 128 * table[at], at + 1
        if at + length > len(table):
            raise TableError("the table of pieces ends in the middle of a piece")
        yield table[at : at + length]
        at += length
