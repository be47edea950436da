"""The inner side of a supervised process: messages in and out, and nothing of it on the terminal.

A message is one JSON object a line, with its `kind`. Whatever a C library prints goes to the error output, which the
supervisor keeps out of the terminal. When the other end goes away the process ends, even if its work hangs.
"""

from __future__ import annotations

import json
import os
import queue
import signal
import threading
import time
from collections.abc import Mapping

Message = Mapping[str, object]

GRACE = 1.0
"""Seconds a process may still work after its other end has gone."""


class Closed(Exception):
    """The supervisor asked for an end, or is gone."""


class Channel:
    """Messages to and from the supervisor, over what were the standard input and output."""

    def __init__(self) -> None:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        self._out = os.dup(1)
        os.dup2(2, 1)
        self._lock = threading.Lock()
        self._inbox: queue.SimpleQueue[Message | None] = queue.SimpleQueue()
        threading.Thread(target=self._read, daemon=True).start()

    def send(self, kind: str, **data: object) -> None:
        """Send one message; raises `Closed` when nobody is there to read it."""
        line = json.dumps({"kind": kind, **data}).encode() + b"\n"
        try:
            with self._lock:
                rest = memoryview(line)
                while rest:
                    rest = rest[os.write(self._out, rest) :]
        except OSError:
            raise Closed from None

    def missing(self, why: str, hint: str = "") -> None:
        """Say that something this process can't do without is not there: it is not started again."""
        self.send("missing", why=why, hint=hint)

    def receive(self, wait: float | None = None) -> Message | None:
        """The next message, or None after `wait` seconds; raises `Closed` at the end.

        Pings are answered here, by the loop that does the work, so that a hanging one is noticed.
        """
        end = None if wait is None else time.monotonic() + wait
        while True:
            try:
                left = None if end is None else max(0.0, end - time.monotonic())
                message = self._inbox.get(timeout=left)
            except queue.Empty:
                return None
            if message is None or message.get("kind") == "stop":
                raise Closed
            if message.get("kind") == "ping":
                self.send("pong", n=message.get("n"))
                continue
            return message

    def _read(self) -> None:
        with os.fdopen(os.dup(0), "rb") as lines:
            for line in lines:
                try:
                    message = json.loads(line)
                except ValueError:
                    continue
                if isinstance(message, dict):
                    self._inbox.put(message)
        self._inbox.put(None)
        time.sleep(GRACE)
        os._exit(1)
