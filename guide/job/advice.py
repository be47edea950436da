"""What to do about a check that is out: worked out once, from the readings of the round, and stored.

The words come from the procedure (`out: {say: ...}`); the figures are exact: {by} to the aim, {over} beyond the
limit. Where the procedure has no words, `say` stays empty and the figures speak.
"""

from __future__ import annotations

from dataclasses import dataclass

from guide.job.events import Advised
from guide.job.figures import Limits, Lookup, fill, shown, spread
from guide.job.state import StepState, Taken
from guide.procedure.model import Out, Step
from guide.quantity import Quantity


@dataclass(frozen=True, slots=True)
class _Fault:
    place: str
    taken: Taken
    by: Quantity | None
    over: Quantity | None
    side: str


def out_of(step: Step) -> Out:
    """The step's correction; without one it disturbs what the check watches."""
    return step.out or Out(adjust=step.watches)


def advise(step: Step, now: StepState, within: Limits, even: Quantity | None, value_of: Lookup) -> Advised:
    """The advice for a round that failed, with everything it was worked out from."""
    faults = [_fault(place, taken, within) for place, taken in now.current.items() if taken.verdict == "out"]
    faults += _uneven(now, even, within, {fault.place for fault in faults})
    correction = out_of(step)
    apart = spread(taken.value for taken in now.current.values())
    figures: dict[str, str] = {}
    if even is not None and apart is not None and apart > even:
        figures = {"uneven": str(apart), "even": str(even)}
    said: list[str] = []
    for fault in faults:
        words = correction.say.get(fault.side) or correction.say.get("any")
        by = shown(fault.by) if fault.by is not None else ""
        over = shown(fault.over) if fault.over is not None else ""
        value = fault.taken.value
        extra = {
            "by": by,
            "over": over,
            "place": fault.place,
            "value": shown(value) if isinstance(value, Quantity) else value,
        }
        if words:
            sentence = fill(words, value_of, extra)
            if sentence not in said:
                said.append(sentence)
        for name, figure in (("by", fault.by), ("over", fault.over)):
            if figure is not None:
                figures[f"{fault.place}: {name}" if fault.place else name] = str(figure)
    return Advised(
        step.name,
        now.round,
        tuple(now.current),
        tuple(taken.value for taken in now.current.values()),
        tuple(said),
        correction.adjust,
        figures,
    )


def _fault(place: str, taken: Taken, within: Limits) -> _Fault:
    if not isinstance(taken.value, Quantity):
        return _Fault(place, taken, None, None, "any")
    aim = within.aim()
    by = abs(taken.value - aim) if aim is not None else None
    side = "any" if aim is None else "plus" if taken.value > aim else "minus"
    return _Fault(place, taken, by, within.beyond(taken.value), side)


def _uneven(now: StepState, even: Quantity | None, within: Limits, known: set[str]) -> list[_Fault]:
    """When the places differ too much: the one furthest from the aim, unless it is out by itself already."""
    apart = spread(taken.value for taken in now.current.values())
    if even is None or apart is None or apart <= even:
        return []
    amounts = {place: t.value for place, t in now.current.items() if isinstance(t.value, Quantity)}
    aim = within.aim()
    if aim is None:
        total = sum((value.base for value in amounts.values()), start=next(iter(amounts.values())).base * 0)
        furthest = max(amounts, key=lambda place: abs(amounts[place].base * len(amounts) - total))
    else:
        furthest = max(amounts, key=lambda place: abs(amounts[place] - aim))
    if furthest in known:
        return []
    fault = _fault(furthest, now.current[furthest], within)
    side = fault.side if aim is not None else "any"
    return [_Fault(furthest, fault.taken, fault.by if fault.by else apart, apart - even, side)]
