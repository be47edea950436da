"""Lines from a file descriptor, with a time limit: no buffer that hides what has arrived, no unbounded line."""

from __future__ import annotations

import os
import select
from collections import deque

LONGEST_LINE = 100_000
"""Bytes of a line that are kept; the rest of a longer one is dropped."""


class LineReader:
    """Reads whole lines from a descriptor; bytes that are not UTF-8 come as replacement characters."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._ready: deque[str] = deque()
        self._partial = b""
        self._ended = False

    def next(self, wait: float | None, also: int | None = None) -> str | None:
        """The next line without its end, or None after `wait` seconds, or when there is something to read in `also`.

        Raises `EOFError` at the end.
        """
        watched = [self._descriptor] if also is None else [self._descriptor, also]
        while not self._ready:
            if self._ended:
                raise EOFError
            readable, _, _ = select.select(watched, [], [], wait)
            if self._descriptor not in readable:
                return None
            self._take(os.read(self._descriptor, 65536))
        return self._ready.popleft()

    def _take(self, data: bytes) -> None:
        if not data:
            self._ended = True
            if self._partial:
                self._ready.append(self._text(self._partial))
                self._partial = b""
            return
        *whole, rest = (self._partial + data).split(b"\n")
        self._ready.extend(self._text(line) for line in whole)
        self._partial = rest[:LONGEST_LINE]

    def _text(self, line: bytes) -> str:
        return line[:LONGEST_LINE].decode("utf-8", "replace").rstrip("\r")
