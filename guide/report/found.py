"""A record as its readers need it: verified, replayed, its readings and checks followed through the job."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import Literal

from guide.job import events as ev
from guide.job.fold import apply
from guide.job.state import State, fresh_state
from guide.problems import ProblemError
from guide.procedure.model import Procedure, Step
from guide.quantity import Quantity
from guide.record.keys import Keys
from guide.record.oddities import Oddity, oddities
from guide.record.signatures import Signed, examine, weigh
from guide.record.verification import Kept, Verification
from guide.record.verify import verify

Standing = Literal["fresh", "stale", "out", "conceded"]


@dataclass(frozen=True, slots=True)
class Given:
    """One reading as it was given; `replaces` and `replaced` are the entries of a correction's two ends."""

    entry: ev.Entry
    step: str
    reading: str
    place: str
    value: ev.Value
    verdict: ev.Verdict
    low: Quantity | None
    high: Quantity | None
    round: int
    heard: ev.Heard
    surprising: bool = False
    replaces: int | None = None
    replaced: int | None = None
    again: bool = False
    """Read again with nothing moved between, and the same."""


@dataclass(frozen=True, slots=True)
class Span:
    """How a check stood from one entry up to another (None: to the end)."""

    standing: Standing
    begins: int
    ends: int | None = None


@dataclass(slots=True)
class Found:
    """All that a report is made of."""

    directory: Path
    verification: Verification
    signed: Signed
    oddities: list[Oddity]
    procedure: Procedure
    state: State
    entries: list[ev.Entry]
    given: list[Given] = field(default_factory=list)
    spans: dict[str, list[Span]] = field(default_factory=dict)

    @property
    def started(self) -> ev.Started:
        """The first event."""
        return ev.started(self.entries)

    @property
    def began(self) -> datetime:
        """When the job began."""
        return self.entries[0].at

    @property
    def ended(self) -> datetime:
        """When its last entry was made."""
        return self.entries[-1].at

    def checks(self) -> list[Step]:
        """The checks of this job, in the procedure's order."""
        steps = (self.procedure.steps[name] for name in self.procedure.order)
        return [step for step in steps if self.procedure.is_check(step) and self.state.active(step)]

    def events(self, *kinds: type[ev.Event]) -> Iterable[ev.Entry]:
        """The entries of these kinds."""
        return (entry for entry in self.entries if isinstance(entry.event, kinds))


def find(directory: Path, keys: Keys | None = None) -> Found:
    """Verify and follow a record; raises `ProblemError` with all that is wrong with one that is not whole."""
    kept = Kept()
    verification = verify(directory, kept)
    if not verification.ok or kept.procedure is None or kept.state is None or not kept.entries:
        raise ProblemError(verification.problems)
    signed = examine(directory, verification, keys if keys is not None else Keys())
    weigh(verification, signed)
    odd = oddities(kept.procedure, kept.entries)
    found = Found(directory, verification, signed, odd, kept.procedure, kept.state, kept.entries)
    found.given = _given(kept.entries)
    found.spans = _spans(found)
    return found


def _given(entries: Iterable[ev.Entry]) -> list[Given]:
    """Every reading in order; one that was corrected names its correction."""
    taken: list[Given] = []
    replaced: dict[int, int] = {}
    for entry in entries:
        event = entry.event
        if isinstance(event, ev.Took | ev.Corrected):
            replaces = event.replaces if isinstance(event, ev.Corrected) else None
            if replaces is not None:
                replaced[replaces] = entry.seq
            taken.append(
                Given(
                    entry,
                    event.step,
                    event.reading,
                    event.place,
                    event.value,
                    event.verdict,
                    event.low,
                    event.high,
                    event.round,
                    event.heard,
                    event.surprising,
                    replaces,
                )
            )
        elif isinstance(event, ev.Repeated):
            last = next(one for one in reversed(taken) if (one.step, one.place) == (event.step, event.place))
            taken.append(
                Given(
                    entry,
                    event.step,
                    event.reading,
                    event.place,
                    event.value,
                    last.verdict,
                    last.low,
                    last.high,
                    last.round,
                    event.heard,
                    again=True,
                )
            )
    return [replace(one, replaced=replaced.get(one.entry.seq)) for one in taken]


def _spans(found: Found) -> dict[str, list[Span]]:
    """How every check stood, entry by entry, worked out by folding the record once more."""
    procedure, state = found.procedure, fresh_state(found.procedure)
    checks = [step.name for step in found.checks()]
    spans: dict[str, list[Span]] = {name: [] for name in checks}
    now: dict[str, Standing | None] = dict.fromkeys(checks)
    for entry in found.entries:
        apply(procedure, state, entry)
        for name in checks:
            standing = standing_of(state, name)
            if standing == now[name]:
                continue
            if now[name] is not None:
                last = spans[name].pop()
                spans[name].append(Span(last.standing, last.begins, entry.seq))
            if standing is not None:
                spans[name].append(Span(standing, entry.seq))
            now[name] = standing
    return spans


def standing_of(state: State, name: str) -> Standing | None:
    """How a check stands; None if it was not finished yet."""
    step = state.steps[name]
    if step.awaiting:
        return "out"
    if step.stale is not None or step.doubt is not None:
        return "stale"
    if step.concession is not None:
        return "conceded"
    return "fresh" if step.done else None
