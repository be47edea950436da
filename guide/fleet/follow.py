"""A record as rows, worked out in the same pass in which it is verified: nothing is folded twice."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from fractions import Fraction
from functools import lru_cache
from typing import Any

from guide.fleet.rows import Row, own
from guide.job import events as ev
from guide.quantity import Quantity
from guide.record.oddities import oddities
from guide.record.verification import Kept, Verification
from guide.report.found import standing_of
from guide.report.sureness import expanded

DAY_ZERO = datetime(2000, 1, 1, tzinfo=UTC)
_NOT_WORK = (ev.Resumed, ev.WaitOver, ev.FoundAsLeft, ev.ClockBack)
"""The time before these was a pause, a wait, or nobody knows."""
_REPLACED_BY = own("readings").index("replaced_by")
_STEP, _DECISION, _STANDS = (own("decisions").index(name) for name in ("step", "decision", "stands"))


@dataclass(slots=True)
class _Way:
    """How a step went so far."""

    seconds: float = 0.0
    times: int = 0
    out: int = 0
    rounds: int | None = None
    first_try: bool | None = None
    pending: bool = False
    """Its last round was out, and no new one was begun."""
    done_at: datetime | None = None
    waited: float | None = None


@dataclass(slots=True)
class Following(Kept):
    """What verifying keeps, and the rows that follow from it; they count only if the record turns out to be whole."""

    readings: list[list[object]] = field(default_factory=list)
    moves: list[Row] = field(default_factory=list)
    decisions: list[list[object]] = field(default_factory=list)
    _ways: dict[str, _Way] = field(default_factory=lambda: defaultdict(_Way))
    _at: dict[int, int] = field(default_factory=dict)
    """Entry -> where its reading stands in the list."""
    _last: dict[tuple[str, str], int] = field(default_factory=dict)
    """Step and place -> the entry of its latest reading."""
    _before: datetime | None = None

    def keep(self, entry: ev.Entry) -> None:
        """Take one entry; the state is that behind it."""
        Kept.keep(self, entry)
        event = entry.event
        step = getattr(event, "step", "")
        if step and self._before is not None and not isinstance(event, _NOT_WORK):
            self._ways[step].seconds += max(0.0, (entry.at - self._before).total_seconds())
        self._before = entry.at
        handle = _HANDLERS.get(type(event))
        if handle is not None:
            handle(self, entry, event)

    def _reading(self, entry: ev.Entry, event: ev.Took | ev.Corrected) -> None:
        replaces = event.replaces if isinstance(event, ev.Corrected) else None
        if replaces is not None and replaces in self._at:
            self.readings[self._at[replaces]][_REPLACED_BY] = entry.seq
        self._add(entry, event, event.verdict, event.low, event.high, event.round, replaces, again=False)
        self._at[entry.seq] = len(self.readings) - 1
        self._last[event.step, event.place] = entry.seq
        way, state = self._ways[event.step], self.state
        assert state is not None
        now = state.steps[event.step]
        if replaces is None:
            way.pending = False
        elif way.pending and event.place in now.current and not now.awaiting:
            way.pending = False  # what was out in this round had only been mistaken
            way.out -= 1

    def _repeated(self, entry: ev.Entry, event: ev.Repeated) -> None:
        earlier = self.entries[self._last[event.step, event.place]].event
        assert isinstance(earlier, ev.Took | ev.Corrected)
        self._add(entry, event, earlier.verdict, earlier.low, earlier.high, earlier.round, None, again=True)

    def _add(
        self,
        entry: ev.Entry,
        event: ev.Took | ev.Corrected | ev.Repeated,
        verdict: str,
        low: Quantity | None,
        high: Quantity | None,
        number: int,
        replaces: int | None,
        again: bool,
    ) -> None:
        assert self.procedure is not None
        step = self.procedure.steps[event.step]
        assert step.take is not None
        reading = self.procedure.readings[step.take]
        value, heard = event.value, event.heard
        text, amount, unit = _plain(value)
        low_text, low_number, _ = _plain(low)
        high_text, high_number, _ = _plain(high)
        self.readings.append(
            [
                entry.seq,
                entry.at,
                (entry.at - DAY_ZERO).total_seconds() / 86_400,
                entry.who,
                event.step,
                step.part,
                reading.name,
                reading.ask,
                event.place,
                reading.instrument,
                reading.about if amount is not None else None,
                text,
                amount,
                unit,
                low_text,
                high_text,
                low_number,
                high_number,
                expanded(reading, value),
                verdict,
                _small(number),
                (event.step, event.place) not in self._last,
                again,
                getattr(event, "surprising", False),
                replaces,
                None,
                heard.by,
                heard.said,
                "\n".join(heard.others) if heard.others else None,
                _share(heard.confidence),
                heard.confirmed,
                heard.unsure,
                _small(heard.hair),
            ]
        )

    def _advised(self, entry: ev.Entry, event: ev.Advised) -> None:
        way, before = self._ways[event.step], self.entries[-2].event
        if isinstance(before, ev.Corrected) and before.step == event.step and (way.times, way.rounds) == (1, 1):
            way.times, way.rounds, way.first_try = 0, None, False  # it had been good by a mistaken reading
        way.out += 1
        way.pending = True

    def _done(self, entry: ev.Entry, event: ev.Done) -> None:
        assert self.procedure is not None and self.state is not None
        way = self._ways[event.step]
        way.done_at = entry.at
        conceded = self.state.steps[event.step].concession is not None
        if not conceded:
            way.times += 1
        if self.procedure.is_check(self.procedure.steps[event.step]):
            if way.first_try is None:
                way.first_try = not way.out and not conceded
            if way.rounds is None and not conceded:
                way.rounds = way.out + 1
        way.pending = False

    def _wait_over(self, entry: ev.Entry, event: ev.WaitOver) -> None:
        way = self._ways[event.step]
        if way.done_at is not None:
            way.waited = (way.waited or 0.0) + max(0.0, (entry.at - way.done_at).total_seconds())

    def _moved(self, entry: ev.Entry, event: ev.Adjusted | ev.MoveMade) -> None:
        assert self.procedure is not None
        move, one = event.move, self.procedure.set_of.get(event.step)
        if move is not None:
            text, number, _ = _plain(move.by)
            name = one.name if one is not None else ""
            self.moves.append((entry.seq, entry.at, name, event.step, move.point, text, number, move.direction))

    def _decided(self, entry: ev.Entry, event: ev.Decided | ev.Looked) -> None:
        if isinstance(event, ev.Decided):
            said, why = str(event.decision), event.reason
        else:
            said, why = "passed" if event.passed else "not passed", event.remark
        by = event.by
        self.decisions.append([entry.seq, entry.at, event.step, said, by.name, by.role, by.proof, why, False])

    def tables(self, found: Verification) -> dict[str, list[Row]]:
        """The rows of a whole record, by table, without those of the job itself."""
        assert self.procedure is not None and self.state is not None
        for name, now in self.state.steps.items():
            if now.concession is not None:
                newest = [row for row in self.decisions if (row[_STEP], row[_DECISION]) == (name, "concede")][-1]
                newest[_STANDS] = True
        odd = oddities(self.procedure, self.entries)
        return {
            "readings": [tuple(row) for row in self.readings],
            "steps": [self._step(name, way, found.pretended) for name, way in self._ways.items()],
            "moves": self.moves,
            "decisions": [tuple(row) for row in self.decisions],
            "oddities": [(one.code, one.text, len(one.entries), min(one.entries)) for one in odd],
        }

    def _step(self, name: str, way: _Way, pretended: bool) -> Row:
        assert self.procedure is not None and self.state is not None
        step = self.procedure.steps[name]
        check = self.procedure.is_check(step)
        if check and way.first_try is None and way.out:
            way.first_try = False
        return (
            name,
            step.part,
            check,
            step.safety,
            (standing_of(self.state, name) or "") if check else None,
            way.first_try if check else None,
            way.rounds if check else None,
            way.out,
            way.times,
            None if pretended else way.seconds,
            None if pretended else way.waited,
        )

    @property
    def started(self) -> ev.Started:
        """The first event."""
        return ev.started(self.entries)

    @property
    def crew(self) -> str:
        """Who spoke first; "" if nobody was named."""
        spoke = (entry.event for entry in self.entries if isinstance(entry.event, ev.Spoke))
        first = next(spoke, None)
        return first.person.name if first is not None else ""

    @property
    def lead(self) -> str:
        """The first named as lead; "" for nobody."""
        assert self.state is not None
        return next((one.name for one in self.state.people.values() if one.role == "lead"), "")


@lru_cache(maxsize=65_536)
def _amount(numerator: int, denominator: int, unit: str) -> tuple[str, float, str]:
    value = Quantity(Fraction(numerator, denominator), unit)
    return str(value), float(value.base), value.base_unit


def _plain(value: ev.Value | None) -> tuple[str | None, float | None, str | None]:
    """A value as text, and if it is an amount as a number and its base unit."""
    if isinstance(value, Quantity):
        return _amount(value.magnitude.numerator, value.magnitude.denominator, value.unit)
    return value, None, None


def _small(number: int) -> int:
    """A number that a column holds; raises OverflowError for what nobody counts to."""
    if not -(2**31) < number < 2**31:
        raise OverflowError
    return number


def _share(text: str | None) -> float | None:
    """A confidence as a number; None for words that are none."""
    try:
        share = float(Fraction(text)) if text is not None else None
    except (ValueError, ZeroDivisionError, OverflowError):
        return None
    return share if share is not None and math.isfinite(share) else None


_HANDLERS: Mapping[type[ev.Event], Callable[[Following, ev.Entry, Any], None]] = {
    ev.Took: Following._reading,
    ev.Corrected: Following._reading,
    ev.Repeated: Following._repeated,
    ev.Advised: Following._advised,
    ev.Done: Following._done,
    ev.WaitOver: Following._wait_over,
    ev.Adjusted: Following._moved,
    ev.MoveMade: Following._moved,
    ev.Decided: Following._decided,
    ev.Looked: Following._decided,
}
