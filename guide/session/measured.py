"""Readings of a job as the input of a computation: by what the procedure says that each of them measures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from guide.job.figures import latest
from guide.job.state import State, Taken
from guide.procedure.model import Procedure, Reading
from guide.quantity import Quantity
from guide.talk.answers import Spot
from guide.trade.measures import MEASURES, Measure


@dataclass(slots=True)
class Measured:
    """What a job has read of quantities that a computation knows."""

    data: dict[str, object] = field(default_factory=dict)
    """The input of a computation, as plain data."""
    values: dict[tuple[str, str], str] = field(default_factory=dict)
    """Reading and place -> the value, as it stands."""
    spots: dict[str, Spot] = field(default_factory=dict)
    """What a survey calls a reading -> the step and place of it."""


def measured(procedure: Procedure, state: State) -> Measured:
    """Every reading of the job that measures a known quantity.

    Left out is what something has disturbed since, and of the opening what was read only after it was corrected: it is
    of another opening than the other readings.
    """
    found = Measured()
    for reading, measure in _measuring(procedure):
        for place, taken in latest(procedure, state, reading.name).items():
            step = _taker(procedure, state, reading.name, taken)
            if step is None or (measure.survey and taken.round > 1):
                continue
            found.values[reading.name, place] = str(taken.value)
            _put(found.data, measure, place, taken)
            if measure.survey:
                found.spots[measure.name(place)] = Spot(step, place)
            if measure.over and reading.over is not None:
                _at(found.data, measure.over[:-1])[measure.over[-1]] = str(reading.over)
    return found


def takes_opening(procedure: Procedure, step: str) -> bool:
    """Whether the step takes a reading of the opening, in the wall's plane or across it."""
    take = procedure.steps[step].take
    quantity = procedure.readings[take].measures if take is not None else None
    return quantity is not None and MEASURES[quantity].path[0] != "unit"


def relying(procedure: Procedure) -> tuple[str, ...]:
    """Steps that were worked out from a surveyed reading."""
    surveyed = [reading.name for reading, measure in _measuring(procedure) if measure.survey]
    return tuple(dict.fromkeys(step for name in surveyed for step in procedure.used_by.get(name, ())))


def _measuring(procedure: Procedure) -> Iterator[tuple[Reading, Measure]]:
    for reading in procedure.readings.values():
        if reading.measures is not None:
            yield reading, MEASURES[reading.measures]


def _taker(procedure: Procedure, state: State, reading: str, taken: Taken) -> str | None:
    """The step that took the reading, if nothing has disturbed it since."""
    for name, step in procedure.steps.items():
        now = state.steps[name]
        if step.take == reading and taken in now.last.values():
            return name if now.stale is None else None
    return None


def _put(data: dict[str, object], measure: Measure, place: str, taken: Taken) -> None:
    above, key = _at(data, measure.path[:-1]), measure.path[-1]
    value = taken.value if measure.choice else _written(taken)
    if measure.places:
        _at(data, measure.path)[measure.places[place]] = value
    elif place:
        listed = above.setdefault(key, [])
        assert isinstance(listed, list)
        listed.append(value)
    else:
        above[key] = value


def _at(data: dict[str, object], path: tuple[str, ...]) -> dict[str, object]:
    for key in path:
        inner = data.setdefault(key, {})
        assert isinstance(inner, dict)
        data = inner
    return data


def _written(taken: Taken) -> str:
    return str(taken.value) if isinstance(taken.value, Quantity) else taken.value
