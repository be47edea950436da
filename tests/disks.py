"""Disks that fail, for tests: file primitives of which chosen calls raise or write short, and what a crash leaves."""

from __future__ import annotations

import os
from collections.abc import Iterator
from itertools import product
from pathlib import Path

from records import Quick

SECTOR = 512


class Failing(Quick):
    """Calls are counted over all primitives; the one numbered `at` fails, and with `lasting` all behind it."""

    def __init__(self, at: int = -1, number: int = 0, lasting: bool = False, short: bool = False) -> None:
        self.at, self.number, self.lasting, self.short = at, number, lasting, short
        self.calls: list[str] = []
        self.failed = 0

    def _fails(self, name: str) -> bool:
        self.calls.append(name)
        here = len(self.calls) - 1
        fails = here == self.at or (self.lasting and 0 <= self.at < here)
        self.failed += fails
        return fails

    def _fail(self, name: str) -> None:
        if self._fails(name):
            raise OSError(self.number, os.strerror(self.number))

    def write(self, handle: int, data: bytes) -> int:
        if self._fails("write"):
            if self.short:
                super().write(handle, data[: len(data) // 2])
            raise OSError(self.number, os.strerror(self.number))
        return super().write(handle, data)

    def sync(self, handle: int) -> None:
        self._fail("sync")
        super().sync(handle)

    def truncate(self, handle: int, size: int) -> None:
        self._fail("truncate")
        super().truncate(handle, size)

    def forget(self, handle: int) -> None:
        self._fail("forget")
        super().forget(handle)

    def remove(self, path: Path) -> None:
        self._fail("remove")
        super().remove(path)

    def sync_folder(self, folder: Path) -> None:
        self._fail("sync_folder")
        super().sync_folder(folder)

    def make_folder(self, folder: Path) -> list[Path]:
        self._fail("make_folder")
        return super().make_folder(folder)

    def lock(self, path: Path) -> int:
        self._fail("lock")
        return super().lock(path)

    def open_record(self, path: Path, create: bool) -> int:
        self._fail("open_record")
        return super().open_record(path, create)


class Sips(Quick):
    """A disk that takes a few bytes at a time."""

    def write(self, handle: int, data: bytes) -> int:
        return super().write(handle, data[:7])


def after_a_crash(durable: bytes, written: bytes) -> Iterator[bytes]:
    """Every state that a crash before the sync can leave: any set of sectors on disk, any length at a sector's end.

    Sectors that did not get there hold zeros, or what they held before.
    """
    first, last = len(durable) // SECTOR, (len(written) - 1) // SECTOR
    for there in product([False, True], repeat=last - first + 1):
        state = bytearray(written)
        for sector, kept in enumerate(there, first):
            if not kept:
                begin, end = max(sector * SECTOR, len(durable)), min((sector + 1) * SECTOR, len(written))
                state[begin:end] = bytes(end - begin)
        for end in [len(durable), *range((first + 1) * SECTOR, len(written), SECTOR), len(written)]:
            yield bytes(state[:end])
