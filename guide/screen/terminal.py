"""A job in a terminal, or through a pipe: lines in, turns out, and every way of leaving decided.

End of input, a signal and a closed pipe all leave the job in the record so that it can be resumed. Signals are
only acted on while waiting for a line, never in the middle of writing the record. At a keyboard the first Ctrl-C
means "stop", which makes the work safe first; the second leaves at once.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import sys
import time
from collections.abc import Iterator
from types import FrameType
from typing import Protocol, TextIO

from guide.job.events import Left
from guide.screen.draw import Drawing, JsonLines
from guide.screen.lines import LineReader
from guide.session import Conversation, Session, Turn

TICK = 1.0
"""Seconds between looks at the clock while waiting for a line."""

CODES: dict[Left, int] = {"said": 0, "input ended": 0, "interrupted": 130, "terminated": 143}
"""Exit code for each way of leaving."""
CLOSED_PIPE = 141
NOT_KEPT = 3


class Screen(Protocol):
    """What a job is drawn on."""

    def turns(self, turns: list[Turn]) -> None:
        """Show turns."""

    def crew(self, line: str) -> None:
        """Show what the crew said."""

    def prompt(self) -> None:
        """Invite a line."""


class Voice(Screen, Protocol):
    """A screen that also speaks and listens, beside the keyboard."""

    descriptor: int
    """Readable while there is news."""

    def news(self) -> bool:
        """Take what was heard and what became of the voice, and show it; whether anything was shown."""

    def typed(self, line: str) -> bool:
        """A line was typed: stop speaking; whether that was all it was for."""


class _Signalled(Exception):
    def __init__(self, how: Left) -> None:
        super().__init__(how)
        self.how = how


class _Signals:
    """Signals, held back except while a line is waited for."""

    def __init__(self) -> None:
        self.waiting = False
        self.held: Left | None = None

    @contextlib.contextmanager
    def caught(self) -> Iterator[None]:
        """Handle the signals that end a program, and put the old handlers back afterwards."""
        numbers = [signal.SIGINT, signal.SIGTERM, signal.SIGHUP]
        old = {number: signal.signal(number, self._on_signal) for number in numbers}
        try:
            yield
        finally:
            for number, handler in old.items():
                signal.signal(number, handler)

    @contextlib.contextmanager
    def may_interrupt(self) -> Iterator[None]:
        """From here on a signal, or one held back, breaks in."""
        self.waiting = True
        try:
            if self.held is not None:
                self._raise(self.held)
            yield
        finally:
            self.waiting = False

    def _on_signal(self, number: int, frame: FrameType | None) -> None:
        how: Left = "interrupted" if number == signal.SIGINT else "terminated"
        if self.waiting:
            self._raise(how)
        self.held = how

    def _raise(self, how: Left) -> None:
        self.held = None
        self.waiting = False
        raise _Signalled(how)


def screen_for(session: Session, out: TextIO, as_json: bool) -> Screen:
    """JSON lines, or text as wide as the terminal, in colour only where that is wanted."""
    with contextlib.suppress(AttributeError, ValueError):
        out.reconfigure(errors="backslashreplace")  # type: ignore[attr-defined]
    if as_json:
        return JsonLines(out)
    colour = out.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM", "dumb") != "dumb"
    return Drawing(Conversation(session), out, shutil.get_terminal_size((80, 24)).columns, colour)


def run(session: Session, screen: Screen, opening: list[Turn], stdin: int = 0, voice: Voice | None = None) -> int:
    """Talk until the job is finished or left; returns the exit code. With a voice, `screen` is that."""
    signals = _Signals()
    with signals.caught():
        try:
            screen.turns(opening)
            return _talk(session, screen, LineReader(stdin), signals, os.isatty(stdin), voice)
        except BrokenPipeError:
            session.leave("input ended")
            _let_go_of(sys.stdout)
            return CLOSED_PIPE


def _talk(
    session: Session, screen: Screen, reader: LineReader, signals: _Signals, at_keyboard: bool, voice: Voice | None
) -> int:
    asked_to_stop = False
    while not session.over:
        if at_keyboard:
            screen.prompt()
        try:
            line = _line(session, screen, reader, signals, at_keyboard, voice)
        except EOFError:
            return _left(session, screen, "input ended")
        except _Signalled as left:
            if left.how == "interrupted" and at_keyboard and not asked_to_stop:
                asked_to_stop = True
                screen.crew("stop")
                screen.turns(session.hear("stop"))
                continue
            return _left(session, screen, left.how)
        if line is None:
            continue
        if not at_keyboard and not session.secret:
            screen.crew(line)
        screen.turns(session.hear(line))
        asked_to_stop = False
    return CODES["said"]


def _left(session: Session, screen: Screen, how: Left) -> int:
    """Leave the job in the record; the exit code, which says so if even that could not be kept."""
    screen.turns(session.leave(how))
    return CODES[how] if session.over or session.looking_back else NOT_KEPT


def _line(
    session: Session, screen: Screen, reader: LineReader, signals: _Signals, at_keyboard: bool, voice: Voice | None
) -> str | None:
    """The next line, or None when the job came to its end without one."""
    with _unseen(at_keyboard and session.secret):
        while True:
            with signals.may_interrupt():
                line = reader.next(TICK, voice.descriptor if voice else None)
            cut = line is not None and voice is not None and voice.typed(line)
            if line is not None and not cut:
                return line
            news = session.tick()
            if news:
                screen.turns(news)
            told = voice is not None and voice.news()
            if session.over:
                return None
            if (news or told or cut) and at_keyboard:
                screen.prompt()


@contextlib.contextmanager
def _unseen(hide: bool) -> Iterator[None]:
    """Type without being seen (a PIN)."""
    if not hide:
        yield
        return
    import termios

    before = termios.tcgetattr(0)
    hidden = termios.tcgetattr(0)
    hidden[3] &= ~termios.ECHO
    termios.tcsetattr(0, termios.TCSADRAIN, hidden)
    try:
        yield
    finally:
        termios.tcsetattr(0, termios.TCSADRAIN, before)


def _let_go_of(out: TextIO) -> None:
    """Nobody reads any more: keep Python's exit from complaining about it."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), out.fileno())


def play(session: Session, screen: Screen, opening: list[Turn], lines: list[str], pace: float) -> int:
    """Play a crew's lines on the real session; `pace` seconds a word are waited, none if 0."""
    screen.turns(opening)
    for line in lines:
        if session.over:
            break
        if pace:
            time.sleep(pace * (2 + len(line.split())))
        screen.crew(line)
        turns = session.hear(line)
        screen.turns(turns)
        if pace:
            time.sleep(pace * sum(len(turn.text.split()) for turn in turns) / 4)
    if session.over:
        return 0
    screen.turns(session.leave("input ended"))
    return 1
