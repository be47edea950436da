"""Computations by name: the fewest moves that put a frame right."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from guide.problems import Problem, ProblemError
from guide.trade import told
from guide.trade.advice import Advice, Case, advise, current, out_of
from guide.trade.answer import Answer, Work, by_tape, counted, decimal, in_words
from guide.trade.frame import Spot
from guide.trade.given import Given
from guide.trade.moves_given import SIGNS, case_of
from guide.trade.proof import Cannot
from guide.trade.solver import SolverMissing


def _if_they_stand(case: Case, said: Advice) -> Advice:
    """What to do when the readings asked for again come out the same and no others are taken."""
    if said.kind != "read again":
        return said
    now = current(case)
    read = {spot: one for spot, one in case.wanted.items() if spot in now}
    return advise(replace(case, wanted=read, doubts=False))


def _by_place(values: Mapping[Spot, Fraction]) -> dict[str, object]:
    """Readings as they are given in: by reading and place, in inches."""
    found: dict[str, object] = {}
    for (reading, place), value in values.items():
        shown = decimal(value, 6)
        if place:
            part = found.setdefault(reading, {})
            assert isinstance(part, dict)
            part[place] = shown
        else:
            found[reading] = shown
    return found


def _places(spots: Iterable[Spot]) -> list[dict[str, str]]:
    return [{"reading": reading, "place": place} for reading, place in spots]


def _cannot(found: Cannot | None) -> dict[str, object] | None:
    """Why shims can't do it, as data."""
    if found is None:
        return None
    row = found.row
    return {
        "why": " ".join(told.cannot_told(found)),
        "short_by": None if row is None else decimal(row.short_by, 6),
        "sum": None if row is None else decimal(row.sum, 6),
        "allowed": None if row is None else decimal(row.allowed, 6),
        "weights": []
        if row is None
        else [
            {"reading": reading, "place": place, "weight": decimal(weight, 6)}
            for (reading, place), weight in row.weights.items()
        ],
        "room_at": [] if row is None else list(row.points),
        "sure": found.sure,
        "thinner_shims": None if found.step is None else decimal(found.step, 6),
        "would_do": [{"what": cure.name, "how": cure.how, "by": decimal(abs(cure.by), 6)} for cure in found.cures],
    }


_MODEL = (
    "Head and sill keep their length, side frames bend as thin beams between their shim points, leaves are rigid "
    "rectangles hung on their hinges: every reading changes by so much for each inch at each point."
)
_COST = (
    "Least: the number of moves, and 2 for the whole margin of a reading given up (margin: twice its standard "
    "uncertainty and the hands'), tolerances never given up; solved as an integer programme, checked in fractions."
)


def _moves(given: Given) -> Answer:
    case, notes = case_of(given)
    now = current(case)
    try:
        said = advise(case)
        then = _if_they_stand(case, said)
    except (SolverMissing, ImportError) as fault:
        raise ProblemError([Problem("work-library", str(fault), hint="pip install scipy")]) from None
    steps, after = then.steps, then.after if then.after is not None else now
    out, unread = out_of(case, now), [spot for spot in case.wanted if spot not in now]
    say = list(said.say)
    if then is not said and steps:
        say.append("If they stand:")
        say += [step.say for step in steps]
    result: dict[str, object] = {
        "next": said.kind,
        "moves": [
            {
                "point": step.point,
                "direction": step.direction,
                "by": decimal(abs(step.by), 6),
                "by_text": by_tape(abs(step.by), case.step),
                "say": step.say,
            }
            for step in steps
        ],
        "proven_fewest": then.proven_fewest if steps else not out,
        "after": _by_place(after),
        "inside": then.inside if steps else not out,
        "out_now": _places(out),
        "read_again": _places(said.again),
        "cannot": _cannot(then.cannot),
        "not_read": _places(unread),
        "say": say,
        "unit": "in",
    }
    if len(case.rounds) > 1:
        learned = then.learned
        result["learned"] = [told.surprise_told(one) for one in learned.surprises] if learned is not None else []
    working = [
        *notes,
        _MODEL,
        f"{counted(len(now), 'reading')} of {len(case.wanted)} known to this unit, {len(out)} out; "
        f"{counted(len(case.frame.points), 'shim point')}, {len(case.ruled_out)} ruled out; "
        f"shims in steps of {by_tape(case.step, Fraction(1, 64))}.",
        _COST,
        SIGNS,
    ]
    if steps:
        proved = "proven: nothing costs less" if then.proven_fewest else "not proven to be the fewest in the time given"
        working.insert(-1, f"{counted(len(steps), 'move')}, {proved}.")
    if unread and steps:
        working.append("What was not read is not looked after: read it before and after.")
    u = max(case.wanted[spot].u for spot in now)
    uncertainty = (
        f"One reading: standard uncertainty up to {in_words(u, 'in', 3)}. A move comes out wrong by about 1/40 in, and "
        "frames bend otherwise than the model by a tenth: read everything again after the moves."
    )
    source = (
        "small rigid motions, Euler-Bernoulli beams, linear and integer programming (computed)",
        "J. Farkas's lemma for what can't be done; W. Baarda's test for what to read again (published, from memory)",
        "tolerances, shim steps and shim space where not given (common practice)",
    )
    return Answer(result, uncertainty, tuple(working), source)


WORKS: tuple[Work, ...] = (
    Work(
        "moves",
        "the fewest shim moves that bring every reading of a frame inside its tolerance, or why none do",
        "unit: {width: 36 in, height: 82 in, leaves: 1, hinge_side: left, hinges: [11 in, 42 in, 74 in]}\n"
        "readings:\n"
        "  square: {top left: 3/32 in, top right: -3/32 in, bottom left: 0 in, bottom right: 0 in}\n"
        "  plumb_along: {left side: 3/16 in, right side: 5/32 in}\n"
        "  head_level: 1/32 in\n"
        "  hinge_reveal: {top: 1/8 in, middle: 3/16 in, bottom: 1/8 in}\n"
        "tolerances: {square: 1/16 in}\n"
        "ruled_out: [left bottom hinge]\n",
        _moves,
    ),
)
