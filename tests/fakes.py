"""Stand-ins for what the guide is given from outside: a clock to set, a journal in memory, people with PINs."""

from __future__ import annotations

from collections.abc import Generator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from guide.job import events as ev
from guide.problems import Problem, ProblemError
from guide.talk.expect import Expect
from guide.voice.duplex import Inbox
from guide.voice.sound import Block, SoundError

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


class FakeMicrophone:
    """A microphone that holds what a test puts in; `there` False is one that was pulled out."""

    def __init__(self, ticks: Ticks, rate: int = 16_000) -> None:
        self.there = True
        self.opened = 1
        self._ticks = ticks
        self._rate = rate
        self._blocks: list[Block] = []

    def put(self, samples: bytes, lost: bool = False) -> None:
        """Let time pass while these 16-bit samples are taken, in blocks of 30 ms."""
        size = 2 * round(0.03 * self._rate)
        for at in range(0, len(samples), size):
            part = samples[at : at + size]
            self._ticks.at += len(part) / 2 / self._rate
            self._blocks.append(Block(part, self._rate, self._ticks.at, lost and at == 0))

    def take(self) -> list[Block]:
        blocks, self._blocks = self._blocks, []
        return blocks

    @property
    def lost(self) -> bool:
        return not self.there

    def reopen(self) -> bool:
        self.opened += 1
        return self.there


class LoudIsSpeech:
    """A detector for tests: what is loud is speech."""

    def __init__(self, above: int = 1000) -> None:
        self.above = above
        self.resets = 0

    def __call__(self, audio: bytes, /) -> float:
        return 1.0 if max(map(abs, memoryview(audio).cast("h"))) > self.above else 0.0

    def reset(self) -> None:
        self.resets += 1


class FakeDuplex:
    """A voice that writes down what it is to say, and is told what it has heard."""

    def __init__(self) -> None:
        self.inbox = Inbox()
        self.said: list[str] = []
        self.expected: Expect | None = None
        self.speaking = False
        self.stopped = False

    def say(self, text: str) -> bool:
        self.said.append(text)
        return True

    def hush(self) -> bool:
        was, self.speaking = self.speaking, False
        return was

    def expect(self, expect: Expect | None, lists: Mapping[str, Sequence[str]]) -> None:
        self.expected = expect

    def stop(self) -> None:
        self.stopped = True
