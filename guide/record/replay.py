"""What a record tells, gone through again: whether it can have happened, and whether every figure follows.

The procedure must be the one that the record names, every limit and verdict must come out as written, every seal
must be true, and each entry must be possible in the state it found, so that a finish was reached with every check
good, fresh or conceded. Advice is not worked out again: what was said then is what was said.
"""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache

from guide.job import events as ev
from guide.job.figures import Limits, limits, lookup
from guide.job.fold import IllegalEvent, apply
from guide.job.state import State, fresh_state
from guide.problems import ProblemError
from guide.procedure import load_sources
from guide.procedure.model import Procedure, Reading, SourceFile
from guide.procedure.worked import Expression
from guide.quantity import UNITS, Quantity
from guide.record.verification import Kept, Verification, Wrong

_SEALS = (ev.Stopped, ev.Finished)
_READINGS = (ev.Took, ev.Corrected)
_WORK = (ev.Took, ev.Done)
_RIGHT_MOST = 16_384


def replay(entries: Iterator[ev.Entry], found: Verification, kept: Kept | None = None) -> None:
    """Fold every entry, and work out every limit, verdict and seal again; raises `Wrong` at the first that is wrong.

    With `kept`, what was read is put there.
    """
    first = next(entries, None)
    if first is None:
        return
    started = first.event
    if not isinstance(started, ev.Started):
        raise Wrong("no-start", "the record does not begin with a start.", 1)
    found.title, found.pretended, found.invented = started.title, started.pretended, started.invented
    procedure, fixed = _procedure(started)
    state = fresh_state(procedure)
    if kept is not None:
        kept.procedure, kept.state = procedure, state
    before = "0" * 64
    for entry in itertools.chain((first,), entries):
        line = entry.seq + 1
        try:
            _check(procedure, state, entry.event, line, fixed)
            apply(procedure, state, entry)
        except (IllegalEvent, LookupError, ValueError) as fault:
            raise Wrong("replay", f"the line can't have happened there: {fault}.", line) from None
        found.sealed = _sealed(entry, before)
        if kept is not None:
            kept.keep(entry)
        before = entry.hash
    found.pretended = state.pretended
    if found.ok:
        found.status = state.status
        found.concessions = state.concessions(procedure)


def _procedure(started: ev.Started) -> tuple[Procedure, _Fixed]:
    digest = hashlib.sha256()
    for source in started.sources:
        for part in (source.name.encode("utf-8", "replace"), source.text.encode("utf-8", "replace")):
            digest.update(b"%d:%s" % (len(part), part))
    if digest.hexdigest() != started.sha256:
        raise Wrong("procedure-hash", "the procedure in the record is not the one its hash names.", 1)
    try:
        return _loaded(tuple(SourceFile(source.name, source.text) for source in started.sources))
    except ProblemError as fault:
        why = f"the procedure in the record has {len(fault.problems)} faults, first: {fault.problems[0].message}."
        raise Wrong("procedure", why, 1) from None


@dataclass(frozen=True, slots=True)
class _Fixed:
    """What is the same however a job stands."""

    limits: Mapping[str, Limits]
    """Limits in which no reading stands, by step."""
    right: dict[int, ev.Event] = field(default_factory=dict)
    """Readings held against such limits and found right, by identity: many a line tells what another told."""


@lru_cache(maxsize=16)
def _loaded(sources: tuple[SourceFile, ...]) -> tuple[Procedure, _Fixed]:
    """A procedure never changes, and many jobs have the same text."""
    procedure = load_sources(sources)
    known = lookup(procedure, fresh_state(procedure))
    fixed: dict[str, Limits] = {}
    for name, step in procedure.steps.items():
        ends = (step.within.low, step.within.high) if step.within is not None else ()
        if step.take is not None and all(end is None or _is_constant(procedure, end) for end in ends):
            with suppress(LookupError, ValueError):  # then it is told where a reading is judged
                fixed[name] = limits(step.within, known, procedure.readings[step.take].unit)
    return procedure, _Fixed(fixed)


def _is_constant(procedure: Procedure, expression: Expression) -> bool:
    """Whether nothing but figures and facts stands in it, which no job changes."""
    return all(
        one.name in procedure.facts
        or (one.name in procedure.worked and _is_constant(procedure, procedure.worked[one.name]))
        for one in expression.names()
    )


def _sealed(entry: ev.Entry, before: str) -> int:
    """How many lines a seal seals; 0 if the entry is none; raises `Wrong` if what it says is not so."""
    event = entry.event
    if not isinstance(event, _SEALS):
        return 0
    if (event.count, event.hash) != (entry.seq, before):
        raise Wrong("seal", "what the line says of the record before it is not so.", entry.seq + 1)
    return entry.seq


def _check(procedure: Procedure, state: State, event: ev.Event, line: int, fixed: _Fixed) -> None:
    """What must be so in the state before the event, beyond what the fold itself refuses; raises `Wrong`."""
    if isinstance(event, _READINGS):
        _judge(procedure, state, event, line, fixed)
    if isinstance(event, _WORK):
        _prepared(procedure, state, event.step, line)


def _prepared(procedure: Procedure, state: State, name: str, line: int) -> None:
    step, now = procedure.steps[name], state.steps[name]
    if not now.begun:
        raise Wrong("replay", f'"{name}" was not begun.', line)
    if step.cautions and not now.acknowledged:
        raise Wrong("caution", f'nobody acknowledged the cautions of "{name}" before it.', line)
    if step.crew > 1 and not now.crew_ready:
        raise Wrong("crew", f'nobody said that the crew for "{name}" was there.', line)


def _judge(procedure: Procedure, state: State, event: ev.Took | ev.Corrected, line: int, fixed: _Fixed) -> None:
    """Limits must be those of the procedure as the job stood, and the verdict must follow from them."""
    if fixed.right.get(id(event)) is event:
        return
    step, reading = procedure.steps[event.step], procedure.readings[event.reading]
    value, hair = event.value, event.heard.hair
    if not _answers(reading, value):
        raise Wrong("value", f'the value is no answer to "{event.reading}".', line)
    within = constant = fixed.limits.get(step.name)
    if within is None:
        within = limits(step.within, lookup(procedure, state), reading.unit)
    low, high = within.low, within.high
    if (event.low, event.high) != (low, high):
        raise Wrong("limits", "the limits are not those of the procedure as the job stood.", line)
    if isinstance(value, Quantity):
        judged = step.within is not None or step.even is not None
        below = low is not None and (value < low or (value == low and hair < 0))
        above = high is not None and (value > high or (value == high and hair > 0))
        out = below or above
    else:
        judged = bool(reading.good)
        out = judged and value not in reading.good
    if event.verdict != ("out" if out else "good" if judged else "noted"):
        raise Wrong("verdict", "the verdict does not follow from the value and its limits.", line)
    if constant is not None:
        if len(fixed.right) >= _RIGHT_MOST:
            fixed.right.clear()
        fixed.right[id(event)] = event


def _answers(reading: Reading, value: ev.Value) -> bool:
    """Whether a value is of the kind that the reading asks for."""
    if reading.answer == "number":
        return isinstance(value, Quantity) and value.dimension == UNITS[reading.unit][1]
    if isinstance(value, Quantity):
        return False
    if reading.answer == "yes-no":
        return value in ("yes", "no")
    return value in reading.options if reading.answer == "choice" else bool(value.strip())
