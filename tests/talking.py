"""A whole session in memory, for tests: load a procedure from text, talk to it, look at turns and entries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from fakes import FakeClock, FakePeople, MemoryJournal

from guide.job import events as ev
from guide.job.fold import replay
from guide.procedure import load, load_text
from guide.procedure.model import Procedure
from guide.session import Job, Session, Turn
from guide.talk.phrases import Phrases
from guide.talk.wording import Wording

WORDING = Wording.load("en")
PHRASES = Phrases.load("en")


@dataclass
class Talk:
    """One conversation; `say` returns the turns and keeps them all in `turns`."""

    procedure: Procedure
    journal: MemoryJournal
    session: Session
    clock: FakeClock
    turns: list[Turn] = field(default_factory=list)

    def say(self, *lines: str) -> list[Turn]:
        """Say lines one after the other; the turns that answered the last one."""
        last: list[Turn] = []
        for line in lines:
            last = self.session.hear(line)
            self.turns += last
        return last

    @property
    def ask(self) -> dict[str, object]:
        """What is asked now, as a program sees it."""
        return next(turn.as_data() for turn in reversed(self.turns) if turn.kind == "ask")

    @property
    def events(self) -> list[ev.Event]:
        """Everything in the record."""
        return [entry.event for entry in self.journal.entries]

    def of(self, kind: str) -> list[Turn]:
        """All turns of one kind so far."""
        return [turn for turn in self.turns if turn.kind == kind]

    def again(self) -> Talk:
        """The same job taken up by a new session from the record alone."""
        return _talk(self.procedure, self.journal, self.clock, self.session.dialogues.people, new=False)


def talk(text_or_name: str, who: str = "Bo", pretended: bool = False, people: FakePeople | None = None) -> Talk:
    """Start a job from YAML text, or from a shipped procedure's name."""
    procedure = load_text("test.yaml", text_or_name) if "\n" in text_or_name else load(text_or_name)
    clock = FakeClock(pretended=pretended)
    journal = MemoryJournal(clock)
    sources = tuple(ev.Source(source.name, source.text) for source in procedure.sources)
    started = ev.Started(ev.FORMAT, "0", procedure.name, procedure.title, procedure.sha256, sources, pretended)
    journal.append([started], who)
    if who:
        journal.append([ev.Spoke(ev.Person(who, "crew", "claimed"))], who)
    return _talk(procedure, journal, clock, people or FakePeople(), new=True)


def _talk(procedure: Procedure, journal: MemoryJournal, clock: FakeClock, people: object, new: bool) -> Talk:
    state = replay(procedure, journal.entries)
    session = Session(Job(procedure, state, journal, clock, WORDING), PHRASES, people)  # type: ignore[arg-type]
    talk = Talk(procedure, journal, session, clock)
    talk.turns += session.open() if new else session.reopen()
    return talk


def obliging(ask: Mapping[str, Any], number: int = 0) -> str:
    """The answer of a crew to whom everything goes right; `number` picks the option of a choice."""
    if ask["expects"] == "number":
        return str(ask["high"] or ask["low"] or ask["likely"][0])
    if ask["expects"] == "choice":
        return str(ask["choices"][number])
    return {"yes-no": str(ask["wanted"]), "done": "done", "name": "Ana", "text": "as agreed"}[ask["expects"]]


def to_the_end(job: Talk, choices: Mapping[str, str] | None = None) -> list[str]:
    """Answer obligingly until the job is over; the steps in the order they were asked about."""
    steps: list[str] = []
    for _ in range(2000):
        if job.session.over:
            return steps
        ask = job.ask
        if not steps or steps[-1] != ask["step"]:
            steps.append(str(ask["step"]))
        wanted = (choices or {}).get(str(ask["step"]))
        job.say(wanted if wanted is not None else obliging(ask))
    raise AssertionError(f"the job does not end: {job.ask}")
