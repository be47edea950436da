"""Figures of a job: values of names, limits of checks, verdicts, words filled in. Exact throughout."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from guide.job.events import Value, Verdict
from guide.job.state import State, Taken
from guide.procedure.model import ONE_PLACE, Procedure, Range, Reading, Step
from guide.procedure.worked import Expression, Missing, Name, evaluate
from guide.quantity import Quantity

Lookup = Callable[[Name], Quantity | None]


def places_of(reading: Reading) -> tuple[str, ...]:
    """The reading's places, or the one that has no name."""
    return reading.places or (ONE_PLACE,)


def latest(procedure: Procedure, state: State, reading: str) -> Mapping[str, Taken]:
    """The latest value of a reading by place, from the step that takes it in this job."""
    takers = [step for step in procedure.steps.values() if step.take == reading and state.steps[step.name].last]
    takers.sort(key=lambda step: not state.active(step))
    return state.steps[takers[0].name].last if takers else {}


def lookup(procedure: Procedure, state: State, instead: Mapping[tuple[str, str], Value] | None = None) -> Lookup:
    """Values of names as the job stands; `instead` gives other values for (reading, place)."""

    def value_of(name: Name) -> Quantity | None:
        if name.name in procedure.facts:
            return procedure.facts[name.name].value
        if name.name in procedure.worked:
            return evaluate(procedure.worked[name.name], value_of)
        reading = procedure.readings.get(name.name)
        return None if reading is None else _reading_value(reading, values(reading), name.place)

    def values(reading: Reading) -> dict[str, Value]:
        return _values(procedure, state, reading.name, instead or {})

    return value_of


def _values(
    procedure: Procedure, state: State, reading: str, instead: Mapping[tuple[str, str], Value]
) -> dict[str, Value]:
    found = {place: taken.value for place, taken in latest(procedure, state, reading).items()}
    return found | {place: value for (other, place), value in instead.items() if other == reading}


def _reading_value(reading: Reading, values: Mapping[str, Value], place: str | None) -> Quantity | None:
    numbers = {at: value for at, value in values.items() if isinstance(value, Quantity)}
    if place is not None:
        return next((v for at, v in numbers.items() if at.replace(" ", "_") == place), None)
    if not numbers or any(at not in numbers for at in places_of(reading)):
        return None
    amounts = list(numbers.values())
    if reading.keep == "smallest":
        return min(amounts)
    if reading.keep == "largest":
        return max(amounts)
    if reading.keep == "mean":
        total = amounts[0]
        for amount in amounts[1:]:
            total = total + amount
        return Quantity(total.magnitude / len(amounts), total.unit)
    return amounts[0] if len(amounts) == 1 else None


@dataclass(frozen=True, slots=True)
class Limits:
    """A tolerance as it stands: both ends included; None is open."""

    low: Quantity | None = None
    high: Quantity | None = None

    def aim(self) -> Quantity | None:
        """The middle, or the one limit there is."""
        if self.low is not None and self.high is not None:
            both = self.low + self.high.to(self.low.unit)
            return Quantity(both.magnitude / 2, both.unit)
        return self.low if self.low is not None else self.high

    def beyond(self, value: Quantity) -> Quantity | None:
        """How far a value lies outside, or None if inside."""
        if self.low is not None and value < self.low:
            return self.low - value
        if self.high is not None and value > self.high:
            return value - self.high
        return None


def limits(span: Range | None, value_of: Lookup, unit: str) -> Limits:
    """A range worked out and given in `unit`; raises `Missing` when a reading it needs has not been taken."""
    if span is None:
        return Limits()
    return Limits(_end(span.low, value_of, unit), _end(span.high, value_of, unit))


def _end(expression: Expression | None, value_of: Lookup, unit: str) -> Quantity | None:
    if expression is None:
        return None
    return evaluate(expression, value_of).to(unit)


def verdict(reading: Reading, judged: bool, value: Value, within: Limits, hair: int) -> Verdict:
    """Good, out, or noted when there is nothing to judge by; a hair past a limit is past it."""
    if not isinstance(value, Quantity):
        if not reading.good:
            return "noted"
        return "good" if value in reading.good else "out"
    if within.low is None and within.high is None:
        return "good" if judged else "noted"
    if within.beyond(value) is not None:
        return "out"
    past = (hair > 0 and value == within.high) or (hair < 0 and value == within.low)
    return "out" if past else "good"


def spread(values: Iterable[Value]) -> Quantity | None:
    """The largest less the smallest, or None without two numbers."""
    numbers = [value for value in values if isinstance(value, Quantity)]
    return max(numbers) - min(numbers) if len(numbers) > 1 else None


_FIELD = re.compile(r"\{([a-z_][\w.]*)\}")


def fill(text: str, value_of: Lookup, extra: Mapping[str, str] | None = None) -> str:
    """The words with {names} replaced by figures; a figure not known yet is said to be so."""

    def one(found: re.Match[str]) -> str:
        if extra and found[1] in extra:
            return extra[found[1]]
        name, _, place = found[1].partition(".")
        try:
            value = value_of(Name(name, place or None))
        except Missing:
            value = None
        return shown(value) if value is not None else f"({name.replace('_', ' ')}: not known yet)"

    return _FIELD.sub(one, text)


def fields(text: str) -> tuple[str, ...]:
    """The names in braces, in order."""
    return tuple(_FIELD.findall(text))


def shown(value: Quantity) -> str:
    """An amount for people: exact if it is a sixty-fourth or decimal, else rounded and said to be about."""
    if value.unit in {"in", "ft"} and value.magnitude.denominator not in {1, 2, 4, 8, 16, 32, 64}:
        rounded = Fraction(round(value.magnitude * 64), 64)
        return f"about {Quantity(rounded, value.unit)}"
    return str(value)


def uses_of(
    procedure: Procedure, state: State, step: Step, instead: Mapping[tuple[str, str], Value] | None = None
) -> tuple[object, ...]:
    """What a step relied on comes to; two of these differ when a figure or an answer it relied on changed."""
    return tuple(_used(procedure, state, name, instead or {}) for name in step.uses)


def _used(procedure: Procedure, state: State, name: str, instead: Mapping[tuple[str, str], Value]) -> object:
    bare, _, place = name.partition(".")
    reading = procedure.readings.get(bare)
    if reading is not None and not place and (reading.answer != "number" or reading.keep == "each"):
        return tuple(sorted(_values(procedure, state, bare, instead).items(), key=lambda pair: pair[0]))
    try:
        return lookup(procedure, state, instead)(Name(bare, place or None))
    except Missing:
        return None
