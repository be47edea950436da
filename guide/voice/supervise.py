"""A child process kept running: started, asked for a sign of life, started again within limits, and ended cleanly.

Recognition and sound live in child processes, because a C library may crash, hang or write to the terminal. Whatever
a child does, the guide itself goes on: each failure becomes a `Banner`, and the keyboard is always there.

    starting --ready--> up --crash, hang, flood--> restarting --> starting ... --too often--> down
    starting or up --says that something is missing--> missing
"""

from __future__ import annotations

import contextlib
import json
import os
import selectors
import signal
import subprocess
import threading
import time
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from guide.voice.child import Message

State = Literal["up", "restarting", "down", "missing"]
Why = Literal["", "crash", "hang", "flood", "start", "missing"]

_READ = 65536
_NOTED = 20
"""Lines of error output that are kept."""


@dataclass(frozen=True, slots=True)
class Banner:
    """What became of a child, to be shown for as long as it is so."""

    part: str
    state: State
    why: Why = ""
    detail: str = ""
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a child may do, in seconds unless said otherwise."""

    start: float = 30.0
    """To its first "ready"."""
    beat: float = 2.0
    """From one sign of life that is asked for to the next."""
    hang: float = 10.0
    """To an answer."""
    restarts: int = 3
    """Times it is started again within `window`."""
    window: float = 60.0
    first_wait: float = 0.2
    """Before it is started again; twice as long each further time."""
    grace: float = 1.5
    """To its end once it is asked to end."""
    flood: int = 2000
    """Messages in one second."""
    longest: int = 1_000_000
    """Bytes of one message, and of what waits to be read by it."""


class _Failure(Exception):
    def __init__(self, why: Why, detail: str = "") -> None:
        super().__init__(why)
        self.why: Why = why
        self.detail = detail


class _Missing(Exception):
    def __init__(self, why: str, hint: str) -> None:
        super().__init__(why)
        self.why, self.hint = why, hint


class Supervisor:
    """Keeps one child running. `on_message` and `on_banner` are called from the supervisor's own thread."""

    def __init__(
        self,
        part: str,
        command: Sequence[str],
        on_message: Callable[[Message], None],
        on_banner: Callable[[Banner], None],
        limits: Limits | None = None,
        environment: Mapping[str, str] | None = None,
    ) -> None:
        self.part = part
        self._command = list(command)
        self._on_message = on_message
        self._on_banner = on_banner
        self._limits = limits or Limits()
        self._environment = dict(environment) if environment is not None else None
        self._wake_out, self._wake_in = os.pipe()
        os.set_blocking(self._wake_out, False)
        os.set_blocking(self._wake_in, False)
        self._lock = threading.Lock()
        self._outgoing = bytearray()
        self._closing = False
        self._up = False
        self._thread = threading.Thread(target=self._run, name=f"supervisor of {part}", daemon=True)

    def start(self) -> None:
        """Start the child; returns at once."""
        self._thread.start()

    def send(self, kind: str, **data: object) -> bool:
        """Send a message to the child; False if it is not up, or does not read."""
        line = json.dumps({"kind": kind, **data}).encode() + b"\n"
        with self._lock:
            if not self._up or len(self._outgoing) + len(line) > self._limits.longest:
                return False
            self._outgoing += line
        self._wake()
        return True

    @property
    def up(self) -> bool:
        """Whether the child is ready to work."""
        return self._up

    def stop(self) -> None:
        """End the child and wait until it has ended; does nothing the second time."""
        if self._closing:
            return
        self._closing = True
        self._wake()
        if self._thread.ident is not None:
            self._thread.join()
        os.close(self._wake_in)
        os.close(self._wake_out)

    def _wake(self) -> None:
        with contextlib.suppress(BlockingIOError):
            os.write(self._wake_in, b"\0")

    def _run(self) -> None:
        failures: deque[float] = deque()
        while not self._closing:
            try:
                _Life(self).live()
                return
            except _Missing as one:
                self._on_banner(Banner(self.part, "missing", "missing", one.why, one.hint))
                return
            except _Failure as one:
                now = time.monotonic()
                failures.append(now)
                while failures[0] < now - self._limits.window:
                    failures.popleft()
                if len(failures) > self._limits.restarts:
                    self._on_banner(Banner(self.part, "down", one.why, one.detail))
                    return
                self._on_banner(Banner(self.part, "restarting", one.why, one.detail))
            self._pause(self._limits.first_wait * 2 ** (len(failures) - 1))

    def _pause(self, seconds: float) -> None:
        """Wait, unless an end is asked for."""
        end = time.monotonic() + seconds
        with selectors.DefaultSelector() as selector:
            selector.register(self._wake_out, selectors.EVENT_READ)
            while not self._closing and (left := end - time.monotonic()) > 0:
                if selector.select(left):
                    with contextlib.suppress(BlockingIOError):
                        os.read(self._wake_out, _READ)


class _Life:
    """One run of the child, from its start to its end."""

    def __init__(self, owner: Supervisor) -> None:
        self.owner = owner
        self.limits = owner._limits
        self.partial = b""
        self.noted: deque[str] = deque(maxlen=_NOTED)
        self.pinged: float | None = None
        self.heard = time.monotonic()
        self.beats = 0
        self.second, self.in_second = 0, 0

    def live(self) -> None:
        """Run the child until the owner wants an end; raises `_Failure` or `_Missing` if it ends before."""
        try:
            process = subprocess.Popen(
                self.owner._command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                bufsize=0,
                start_new_session=True,
                env=self.owner._environment,
            )
        except OSError as fault:
            raise _Failure("start", str(fault)) from None
        try:
            self._talk(process)
        finally:
            with self.owner._lock:
                self.owner._up = False
                self.owner._outgoing.clear()
            self._end(process)

    def _talk(self, process: subprocess.Popen[bytes]) -> None:
        assert process.stdin and process.stdout and process.stderr
        outputs = {process.stdout.fileno(): self._messages, process.stderr.fileno(): self._note}
        for descriptor in (*outputs, process.stdin.fileno()):
            os.set_blocking(descriptor, False)
        with selectors.DefaultSelector() as selector:
            for descriptor in (*outputs, self.owner._wake_out):
                selector.register(descriptor, selectors.EVENT_READ)
            while not self.owner._closing:
                self._write(selector, process.stdin.fileno())
                for key, _ in selector.select(self._next_look()):
                    if key.fd == self.owner._wake_out:
                        with contextlib.suppress(BlockingIOError):
                            os.read(key.fd, _READ)
                    elif key.fd in outputs:
                        data = os.read(key.fd, _READ)
                        if not data:
                            selector.unregister(key.fd)
                            if key.fd == process.stdout.fileno():
                                raise _Failure("crash", self._last_words(process))
                        outputs[key.fd](data)
                self._look()

    def _write(self, selector: selectors.BaseSelector, descriptor: int) -> None:
        """Write what waits; be woken when more can be written."""
        with self.owner._lock:
            try:
                while self.owner._outgoing:
                    del self.owner._outgoing[: os.write(descriptor, self.owner._outgoing[:_READ])]
            except BlockingIOError:
                pass
            except OSError:
                self.owner._outgoing.clear()
            waits = bool(self.owner._outgoing)
        known = descriptor in selector.get_map()
        if waits and not known:
            selector.register(descriptor, selectors.EVENT_WRITE)
        elif known and not waits:
            selector.unregister(descriptor)

    def _messages(self, data: bytes) -> None:
        *lines, self.partial = (self.partial + data).split(b"\n")
        if len(self.partial) > self.limits.longest:
            raise _Failure("flood")
        second = int(time.monotonic())
        self.in_second = len(lines) + (self.in_second if second == self.second else 0)
        self.second = second
        if self.in_second > self.limits.flood:
            raise _Failure("flood")
        for line in lines:
            try:
                message = json.loads(line)
            except ValueError:
                continue
            if isinstance(message, dict):
                self._one(message)

    def _one(self, message: Message) -> None:
        kind = message.get("kind")
        if kind == "pong":
            self.pinged, self.heard = None, time.monotonic()
        elif kind == "missing":
            raise _Missing(str(message.get("why", "")), str(message.get("hint", "")))
        elif kind == "ready":
            self.heard = time.monotonic()
            with self.owner._lock:
                self.owner._up = True
            self.owner._on_banner(Banner(self.owner.part, "up"))
            self.owner._on_message(message)
        else:
            self.owner._on_message(message)

    def _note(self, data: bytes) -> None:
        self.noted.extend(line[:200] for line in data.decode("utf-8", "replace").splitlines() if line.strip())

    def _next_look(self) -> float:
        """Seconds until something is due."""
        now = time.monotonic()
        if not self.owner._up:
            return max(0.0, self.heard + self.limits.start - now)
        due = self.heard + self.limits.beat if self.pinged is None else self.pinged + self.limits.hang
        return max(0.0, due - now)

    def _look(self) -> None:
        """Ask for a sign of life, or give up waiting for one."""
        now = time.monotonic()
        if not self.owner._up:
            if now >= self.heard + self.limits.start:
                raise _Failure("hang", self._last_note())
        elif self.pinged is None:
            if now >= self.heard + self.limits.beat:
                self.pinged = now
                self.beats += 1
                if not self.owner.send("ping", n=self.beats):
                    raise _Failure("hang", self._last_note())
        elif now >= self.pinged + self.limits.hang:
            raise _Failure("hang", self._last_note())

    def _last_note(self) -> str:
        return self.noted[-1] if self.noted else ""

    def _last_words(self, process: subprocess.Popen[bytes]) -> str:
        """How a child that ended by itself ended: its signal or code, and the last line it complained with."""
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(self.limits.grace)
        assert process.stderr
        with contextlib.suppress(OSError):
            while data := os.read(process.stderr.fileno(), _READ):
                self._note(data)
        code = process.returncode
        if code is None:
            how = "closed its output"
        else:
            how = f"signal {signal.Signals(-code).name}" if code < 0 else f"exit code {code}"
        return f"{how}: {self._last_note()}" if self.noted else how

    def _end(self, process: subprocess.Popen[bytes]) -> None:
        """Ask the child to end, then make it; nothing of its process group is left behind."""
        assert process.stdin and process.stdout and process.stderr
        if self.owner._closing:
            with contextlib.suppress(OSError):
                os.write(process.stdin.fileno(), b'{"kind": "stop"}\n')
            with contextlib.suppress(OSError):
                process.stdin.close()
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(self.limits.grace)
        with contextlib.suppress(OSError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        for stream in (process.stdin, process.stdout, process.stderr):
            with contextlib.suppress(OSError):
                stream.close()
