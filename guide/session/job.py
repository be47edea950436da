"""A job that is open: procedure, state, journal and clock. Commands in; durable, folded and told events out.

Durable, then folded, then told: nothing is said that is not on disk. Clock, journal and people come in through
protocols, so that nothing here knows of files or time.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from guide.job import events as ev
from guide.job.commands import Command, Refusal
from guide.job.engine import decide
from guide.job.fold import apply
from guide.job.request import Request, request
from guide.job.state import State
from guide.procedure.model import Procedure
from guide.session.tell import Teller
from guide.session.turns import Turn
from guide.talk.wording import Wording


class Clock(Protocol):
    """Tells the time, with its offset."""

    def now(self) -> datetime:
        """The time now."""

    def jump_to(self, when: datetime) -> bool:
        """Move a pretended clock on to `when`; False if the clock is real and can't be moved."""


class Journal(Protocol):
    """Makes events durable before it returns."""

    def append(self, events: Sequence[ev.Event], who: str, at: datetime) -> list[ev.Entry]:
        """Write, sync, and return the entries of that time; raises `ProblemError` with nothing acknowledged."""


class People(Protocol):
    """Who is on the list of people with a PIN."""

    def role(self, name: str) -> str | None:
        """The role of a person on the list, or None."""

    def proves(self, name: str, pin: str) -> bool:
        """Whether this is that person's PIN."""


class Job:
    """A procedure, its state and its journal: commands in, entries out, told."""

    def __init__(self, procedure: Procedure, state: State, journal: Journal, clock: Clock, wording: Wording) -> None:
        self.procedure = procedure
        self.state = state
        self.journal = journal
        self.clock = clock
        self.wording = wording
        self.teller = Teller(procedure, wording)
        self._checks = sorted(procedure.rank, key=lambda name: procedure.rank[name])

    @property
    def wants(self) -> Request:
        """What is asked now."""
        return request(self.procedure, self.state)

    def do(self, command: Command) -> list[Turn] | Refusal:
        """Decide the command; if it is allowed, make it durable, fold it and tell it."""
        now = self.clock.now()
        outcome = decide(self.procedure, self.state, command, now)
        return outcome if isinstance(outcome, Refusal) else self._keep(outcome, now)

    def _keep(self, events: Sequence[ev.Event], at: datetime) -> list[Turn]:
        """Make events durable, fold and tell them; raises `ProblemError` and changes nothing if they can't be kept.

        They are of the time at which they were decided: by now the clock may have been set back.
        """
        if not events:
            return []
        turns: list[Turn] = []
        for entry in self.journal.append(events, self.state.speaker.name, at):
            before = set(self._stale())
            apply(self.procedure, self.state, entry)
            news = [name for name in self._stale() if name not in before]
            turns += self.teller.tell(entry, self.state, news)
        return turns

    def _stale(self) -> list[str]:
        return [name for name in self._checks if self.state.steps[name].stale is not None]
