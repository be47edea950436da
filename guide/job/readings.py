"""Readings taken and corrected: the verdict here and now, what a full round comes to, and who relied on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.advice import advise
from guide.job.commands import Outcome, Refusal
from guide.job.figures import Limits, Lookup, limits, lookup, places_of, spread, uses_of, verdict
from guide.job.request import Request, request
from guide.job.state import State, StepState, Taken
from guide.job.turn import done, step_in_turn
from guide.procedure.model import Procedure, Reading, Step
from guide.procedure.worked import Missing, evaluate
from guide.quantity import Quantity, QuantityError

_Judged = tuple[ev.Verdict, Limits, ev.Value]


def take(procedure: Procedure, state: State, command: cmd.Take, now: datetime) -> Outcome:
    """Take a reading asked for: its verdict, what it puts in doubt, and what the round comes to if it is full."""
    wrong = step_in_turn(procedure, state, command.step)
    if wrong is not None:
        return wrong
    asked = request(procedure, state)
    if asked.want != "reading":
        return Refusal("something-else-first", command.step, (asked.want,))
    reading = procedure.readings[asked.reading]
    here = state.steps[command.step]
    if command.place in here.current:
        return _take_again(procedure, state, command, asked, now)
    judged = _judge(procedure, state, procedure.steps[command.step], reading, command)
    if isinstance(judged, Refusal):
        return judged
    verdict_now, within, value = judged
    earlier = here.last.get(command.place)
    doubts: tuple[str, ...] = ()
    if earlier is not None and earlier.value != value:
        doubts = _relied_on(procedure, state, command.step, reading.name, command.place, value)
    took = ev.Took(
        command.step,
        reading.name,
        command.place,
        value,
        verdict_now,
        within.low,
        within.high,
        here.round,
        command.heard,
        command.surprising,
        doubts,
    )
    taken = Taken(state.seq + 1, now, value, verdict_now, here.round, command.heard)
    current = {**here.current, command.place: taken}
    return [took, *_round_over(procedure, state, command.step, current, now)]


def _take_again(procedure: Procedure, state: State, command: cmd.Take, asked: Request, now: datetime) -> Outcome:
    """A place of a set that was to be read again: the same value is kept as such, another one corrects it."""
    if command.place != asked.place:
        return Refusal("already-read", command.step, (command.place,))
    step, reading = procedure.steps[command.step], procedure.readings[asked.reading]
    judged = _judge(procedure, state, step, reading, command)
    if isinstance(judged, Refusal):
        return judged
    earlier = state.steps[command.step].current[command.place]
    if judged[2] == earlier.value and command.heard.hair == earlier.heard.hair:
        return [ev.Repeated(command.step, reading.name, command.place, judged[2], command.heard)]
    corrected = cmd.Correct(command.step, command.place, command.value, command.heard, command.surprising)
    return correct(procedure, state, corrected, now)


def _judge(
    procedure: Procedure, state: State, step: Step, reading: Reading, command: cmd.Take | cmd.Correct
) -> _Judged | Refusal:
    """The verdict on a value here and now, with the limits; the value in the reading's own unit if it is bare."""
    if command.place not in places_of(reading):
        return Refusal("no-such-place", step.name, (command.place, *reading.places))
    value = command.value
    if reading.answer == "number":
        if not isinstance(value, Quantity):
            return Refusal("not-a-number", step.name)
        if value.dimension != Quantity(value.magnitude * 0, reading.unit).dimension:
            return Refusal("wrong-unit", step.name, (value.unit, reading.unit))
    elif isinstance(value, Quantity) or not value.strip():
        return Refusal("not-words", step.name)
    elif reading.answer == "yes-no" and value not in ("yes", "no"):
        return Refusal("not-yes-or-no", step.name)
    elif reading.answer == "choice" and value not in reading.options:
        return Refusal("no-such-option", step.name, (value, *reading.options))
    try:
        within = limits(step.within, lookup(procedure, state), reading.unit)
    except Missing as missing:
        return Refusal("figure-missing", step.name, (missing.name.name,))
    except QuantityError as fault:
        return Refusal("figure-fails", step.name, (str(fault),))
    if isinstance(value, Quantity) and value.magnitude < 0 and reading.sign is None and reading.about != "flush":
        low = within.low or limits(reading.likely, lookup(procedure, state), reading.unit).low
        if low is None or low.magnitude >= 0:
            return Refusal("negative", step.name)
    judged = step.within is not None or step.even is not None
    return verdict(reading, judged, value, within, command.heard.hair), within, value


def _round_over(
    procedure: Procedure, state: State, name: str, current: Mapping[str, Taken], now: datetime
) -> list[ev.Event]:
    """What follows once every place of the round is read: done, or advice; nothing while a place is missing."""
    step = procedure.steps[name]
    if step.take is None:
        return []
    reading = procedure.readings[step.take]
    if any(place not in current for place in places_of(reading)):
        return []
    after = replace(state.steps[name], current=dict(current))
    value_of = _lookup_with(procedure, state, reading, current)
    even = evaluate(step.even, value_of) if step.even is not None else None
    apart = spread(taken.value for taken in current.values())
    uneven = even is not None and apart is not None and apart > even
    if uneven or any(taken.verdict == "out" for taken in current.values()):
        within = limits(step.within, value_of, reading.unit)
        return [advise(step, after, within, even, value_of)]
    return [] if step.hold is not None else [done(procedure, state, name, now)]


def _lookup_with(procedure: Procedure, state: State, reading: Reading, current: Mapping[str, Taken]) -> Lookup:
    return lookup(procedure, state, {(reading.name, place): taken.value for place, taken in current.items()})


def _relied_on(
    procedure: Procedure, state: State, taken_by: str, reading: str, place: str, value: ev.Value
) -> tuple[str, ...]:
    """Done steps whose figures change with this value."""
    instead = {(reading, place): value}
    return tuple(
        name
        for name in procedure.used_by[reading]
        if name != taken_by
        and _counts(state.steps[name])
        and state.active(procedure.steps[name])
        and uses_of(procedure, state, procedure.steps[name])
        != uses_of(procedure, state, procedure.steps[name], instead)
    )


def _counts(now: StepState) -> bool:
    return now.done or bool(now.current)


def correct(procedure: Procedure, state: State, command: cmd.Correct, now: datetime) -> Outcome:
    """Replace the latest reading at a place; a round it belongs to is judged anew."""
    step = procedure.steps.get(command.step)
    if step is None or step.take is None:
        return Refusal("no-such-step", command.step)
    reading = procedure.readings[step.take]
    here = state.steps[command.step]
    replaced = here.last.get(command.place)
    if replaced is None:
        return Refusal("nothing-to-correct", command.step, (command.place,))
    judged = _judge(procedure, state, step, reading, command)
    if isinstance(judged, Refusal):
        return judged
    verdict_now, within, value = judged
    if value == replaced.value and command.heard.hair == replaced.heard.hair:
        return Refusal("same-value", command.step, (command.place,))
    doubts = _relied_on(procedure, state, command.step, reading.name, command.place, value)
    follows: list[ev.Event] = []
    if command.place in here.current:
        current = {**here.current, command.place: replace(replaced, value=value, verdict=verdict_now)}
        follows = _judged_anew(procedure, state, command.step, current, now)
        out = any(isinstance(event, ev.Advised) for event in follows)
        if out and here.done and here.stale is None:
            doubts = tuple(dict.fromkeys(doubts + _done_trusting(procedure, state, command.step)))
    corrected = ev.Corrected(
        replaced.seq,
        command.step,
        reading.name,
        command.place,
        value,
        verdict_now,
        within.low,
        within.high,
        replaced.round,
        command.heard,
        doubts,
        command.surprising,
    )
    return [corrected, *follows]


def _judged_anew(
    procedure: Procedure, state: State, name: str, current: Mapping[str, Taken], now: datetime
) -> list[ev.Event]:
    """What a corrected round comes to: a check that stays good says nothing more."""
    follows = _round_over(procedure, state, name, current, now)
    here = state.steps[name]
    was_good = here.done and not here.awaiting and here.concession is None and here.stale is None
    return [] if was_good and all(isinstance(event, ev.Done) for event in follows) else follows


def _done_trusting(procedure: Procedure, state: State, check: str) -> tuple[str, ...]:
    """Done steps that were started because this check was good."""
    return tuple(
        name
        for name, step in procedure.steps.items()
        if check in step.needs and step.take is None and state.steps[name].done and state.active(step)
    )
