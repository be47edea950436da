"""Stand-ins for what the guide is given from outside: a clock to set, a journal in memory, people with PINs."""

from __future__ import annotations

from collections.abc import Generator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from guide.job import events as ev
from guide.problems import Problem, ProblemError
from guide.voice.sound import SoundError

NOON = datetime(2026, 5, 4, 12, 0, tzinfo=UTC)


@dataclass
class FakeClock:
    """A clock that stands until it is moved; `pretended` lets waits be jumped over."""

    at: datetime = NOON
    pretended: bool = False

    def now(self) -> datetime:
        return self.at

    def jump_to(self, when: datetime) -> bool:
        if self.pretended:
            self.at = max(self.at, when)
        return self.pretended

    def pass_time(self, **time: float) -> None:
        self.at += timedelta(**time)


@dataclass
class MemoryJournal:
    """A journal that keeps its entries in a list; `fails` makes the next append fail like a full disk."""

    clock: FakeClock
    entries: list[ev.Entry] = field(default_factory=list)
    fails: bool = False

    def append(self, events: Sequence[ev.Event], who: str, at: datetime | None = None) -> list[ev.Entry]:
        if self.fails:
            raise ProblemError([Problem("disk-full", "The disk is full.", hint="Free some space and say it again.")])
        new = [ev.Entry(len(self.entries) + i, at or self.clock.at, who, event) for i, event in enumerate(events)]
        self.entries += new
        return new


@dataclass
class FakePeople:
    """People on the list: name -> (role, PIN)."""

    listed: Mapping[str, tuple[str, str]] = field(default_factory=dict)

    def role(self, name: str) -> str | None:
        return self.listed[name][0] if name in self.listed else None

    def proves(self, name: str, pin: str) -> bool:
        return name in self.listed and self.listed[name][1] == pin


@dataclass
class Ticks:
    """Seconds that pass only when they are told to."""

    at: float = 100.0

    def __call__(self) -> float:
        return self.at


class FakeSpeaker:
    """A loudspeaker that takes what a test pulls out of it; `there` False is a machine without a sound card."""

    def __init__(self) -> None:
        self.there = True
        self.opened = 0
        self.rate = 0
        self.running = False
        self._source: Generator[bytes, int, None] | None = None

    def open(self, rate: int) -> FakeSpeaker:
        if not self.there:
            raise SoundError("there is no sound card to play on")
        self.opened += 1
        self.rate = rate
        return self

    def start(self, source: Generator[bytes, int, None]) -> None:
        self._source, self.running = source, True

    def stop(self) -> None:
        self.running = False

    def close(self) -> None:
        self.running = False

    def pull(self, frames: int) -> bytes:
        """What the device would play next."""
        assert self._source is not None
        return self._source.send(frames)
