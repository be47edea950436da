"""The engine driven by hand in tests: commands in, events kept, requests looked at. No session, no file."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from fakes import NOON

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Command, Refusal
from guide.job.engine import decide
from guide.job.fold import apply, replay
from guide.job.request import Request, request
from guide.job.state import State, fresh_state
from guide.procedure import load_text
from guide.procedure.model import Procedure
from guide.quantity import quantity

LEAD = ev.Person("Ana", "lead", "claimed")
CREW = ev.Person("Bo", "crew", "claimed")


@dataclass
class Drive:
    """One job: `do` expects the command to be allowed, `refused` expects it not to be."""

    procedure: Procedure
    state: State = field(init=False)
    entries: list[ev.Entry] = field(default_factory=list)
    now: datetime = NOON

    def __post_init__(self) -> None:
        self.state = fresh_state(self.procedure)
        p = self.procedure
        self.keep([ev.Started(ev.FORMAT, "0", p.name, p.title, p.sha256, ())])

    def keep(self, events: list[ev.Event]) -> None:
        for event in events:
            entry = ev.Entry(len(self.entries), self.now, "Bo", event)
            self.entries.append(entry)
            apply(self.procedure, self.state, entry)

    def do(self, *commands: Command) -> list[ev.Event]:
        """Do commands; the events of the last one."""
        events: list[ev.Event] = []
        for command in commands:
            self.now += timedelta(seconds=1)
            outcome = decide(self.procedure, self.state, command, self.now)
            assert not isinstance(outcome, Refusal), f"{command}: {outcome}"
            self.keep(outcome)
            events = outcome
        return events

    def refused(self, command: Command) -> Refusal:
        """The refusal of a command that must change nothing."""
        before = self.state.copy()
        outcome = decide(self.procedure, self.state, command, self.now)
        assert isinstance(outcome, Refusal), f"{command} was allowed: {outcome}"
        assert self.state == before
        return outcome

    def why(self, command: Command) -> tuple[str, str, tuple[str, ...]]:
        """The code, the step and the names of the refusal of a command that must change nothing."""
        refusal = self.refused(command)
        return refusal.code, refusal.step, refusal.names

    @property
    def wants(self) -> Request:
        return request(self.procedure, self.state)

    def stale(self) -> set[str]:
        return {name for name, now in self.state.steps.items() if now.stale is not None}

    def read(self, *values: str) -> list[ev.Event]:
        """Answer the readings asked for, one after the other, beginning steps whose turn has come."""
        events: list[ev.Event] = []
        for value in values:
            self.begin()
            want = self.wants
            assert want.want == "reading", want
            answer = self.procedure.readings[want.reading].answer
            events = self.do(cmd.Take(want.step, want.place, quantity(value) if answer == "number" else value))
        return events

    def all_good(self) -> list[str]:
        """Answer every reading asked for with 0 or the good answer; the steps in the order asked."""
        asked = []
        while self.wants.want == "reading":
            asked.append(self.wants.step)
            good = self.procedure.readings[self.wants.reading].good
            self.read(good[0] if good else "0 in")
        return asked

    def begin(self) -> None:
        """Begin the step whose turn it is, through its cautions and crew."""
        while self.wants.want in ("begin", "cautions", "crew"):
            want = self.wants
            if want.want == "begin":
                self.do(cmd.Begin(want.step))
            elif want.want == "cautions":
                self.do(cmd.Acknowledge(want.step))
            else:
                self.do(cmd.CrewIsThere(want.step))

    def finish(self, step: str) -> list[ev.Event]:
        """Do the step whose turn it is, which must be this one."""
        self.begin()
        assert (self.wants.want, self.wants.step) == ("done", step), self.wants
        return self.do(cmd.Finish(step))

    def replayed(self) -> State:
        """The state folded anew from the entries."""
        return replay(self.procedure, self.entries)


def drive(text: str) -> Drive:
    """A job on a procedure given as YAML text."""
    return Drive(load_text("test.yaml", text))
