"""When shims can't do it: which tolerances contradict each other whatever is moved, by how much, and what would help.

A sum of readings that no move changes (a row of the dual: its weights times the effects are nothing) either fits into
the same sum of tolerances or does not, and that is a proof anybody can check with a pencil. The smallest set of
tolerances is found by leaving out one at a time (a deletion filter over linear programmes); its weights and its sums
are then worked out in exact fractions. Source: J. Farkas's lemma; deletion filters are J. Chinneck's (from memory).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from guide.trade.beam import null_row
from guide.trade.frame import Fault, Frame, Spot
from guide.trade.moves import possible
from guide.trade.solver import INFINITY, Programme, solve
from guide.trade.task import Task

SECONDS = 1.0
SLACK = 1e-7
"""An excess this small (in) is the solver's rounding."""

NEARLY = 0.95
"""How much of what would make it possible the tolerances are opened by, to find the set that stands out most."""

SURE = Fraction(329, 100)
"""Standard deviations of a sum beyond which its gap is no chance: 1 in 1,000, two-sided."""

ACTIVE = 1e-6
"""A limit nearer than this (in) is met."""

FINER = (2, 4)
"""How many times thinner the shims are tried."""


@dataclass(frozen=True, slots=True)
class Row:
    """A sum of readings that no move within its room can bring into the sum of the tolerances.

    `weights` has the largest at 1; `sum` is what the readings add up to, `allowed` the most (or, negative gap turned
    round, the least) that the tolerances and the rooms of `points` allow. `short_by` is the gap: no single one of the
    tolerances, opened by less than that, would make it possible.
    """

    weights: Mapping[Spot, Fraction]
    points: Mapping[str, Fraction]
    sum: Fraction
    allowed: Fraction

    @property
    def short_by(self) -> Fraction:
        """How far the sum is beyond what is allowed (in)."""
        return self.sum - self.allowed


@dataclass(frozen=True, slots=True)
class Cure:
    """Something besides shims that would make it possible: a fault of the unit taken away, or a point freed."""

    what: Literal["fault", "point"]
    name: str
    by: Fraction
    how: str


@dataclass(frozen=True, slots=True)
class Cannot:
    """Why no moves do it. `row` is the proof; None when only the steps of the shims are too coarse.

    `sure` says that the gap is more than noise could make of readings that fit; `step` is the shim step that would do
    (in), when thinner shims would.
    """

    row: Row | None
    sure: bool
    step: Fraction | None
    cures: tuple[Cure, ...]


def reachable(task: Task, readings: Collection[int] | None = None, rooms: Collection[int] | None = None) -> bool:
    """Whether moves of any size bring these readings (all, unless said) inside, points in `rooms` kept to theirs."""
    rows, low, high = [], [], []
    for i in range(len(task.spots)) if readings is None else readings:
        rows.append([float(e) for e in task.effect[i]])
        low.append(float(task.low[i] - task.at[i]) - SLACK)
        high.append(float(task.high[i] - task.at[i]) + SLACK)
    kept = range(len(task.points)) if rooms is None else rooms
    least, most = [-INFINITY] * len(task.points), [INFINITY] * len(task.points)
    for j in kept:
        least[j], most[j] = float(task.room[j][0]), float(task.room[j][1])
    nothing = [0.0] * len(task.points)
    found = solve(Programme(nothing, rows, low, high, least, most, [0] * len(task.points)), SECONDS)
    return found.x is not None


def contradiction(task: Task, variance: Mapping[Spot, Fraction] | None = None) -> Row | None:
    """A smallest set of tolerances (and rooms) met that can't all be kept; None when moves of some size can do it.

    With `variance` (in², of each reading) the set whose gap is largest against its noise, nearly; without, any.
    Exact: the weights, the sums and the gap are fractions, checked against every effect.
    """
    if reachable(task):
        return None
    opened, readings, rooms = _opened(task, variance)
    if not reachable(opened, readings, ()):
        rooms = []
    for kept in (rooms, readings):
        for one in list(kept):
            kept.remove(one)
            if reachable(opened, readings, rooms):
                kept.append(one)
    return _row(task, sorted(readings), sorted(rooms))


def _opened(task: Task, variance: Mapping[Spot, Fraction] | None) -> tuple[Task, list[int], list[int]]:
    """The task with tolerances opened, each by its reading's noise, by nearly as much as would make it possible.

    And the readings and rooms that stand at their limits when all are opened just enough: only they can be in the way.
    """
    count = len(task.points)
    noise = [1.0 if variance is None else float(variance[spot]) ** 0.5 for spot in task.spots]
    rows, low, high = [], [], []
    for i, one in enumerate(noise):
        effect = [float(e) for e in task.effect[i]]
        rows += [[*effect, -one], [*effect, one]]
        low += [-INFINITY, float(task.low[i] - task.at[i])]
        high += [float(task.high[i] - task.at[i]), INFINITY]
    least, most = [float(a) for a, _ in task.room] + [0.0], [float(b) for _, b in task.room] + [INFINITY]
    found = solve(Programme([0.0] * count + [1.0], rows, low, high, least, most, [0] * (count + 1)), SECONDS)
    every = list(range(len(task.spots))), list(range(count))
    if found.x is None:
        return task, *every
    stands = [sum(e * x for e, x in zip(row, found.x, strict=True)) for row in rows]
    met = [min(high[n] - stands[n], stands[n + 1] - low[n + 1]) < ACTIVE for n in range(0, len(rows), 2)]
    shut = [min(x - a, b - x) < ACTIVE for x, a, b in zip(found.x[:count], least, most, strict=False)]
    limits = [i for i in every[0] if met[i]], [j for j in every[1] if shut[j]]
    wider = [Fraction(NEARLY * found.x[count] * one if variance is not None else 0) for one in noise]
    opened = replace(
        task,
        low=tuple(a - by for a, by in zip(task.low, wider, strict=True)),
        high=tuple(b + by for b, by in zip(task.high, wider, strict=True)),
    )
    if not reachable(opened, *limits):
        return opened, *limits
    return (task, *every) if reachable(opened) else (opened, *every)


def _row(task: Task, readings: Sequence[int], rooms: Sequence[int]) -> Row | None:
    """The weights that take every effect out of the sum of these readings, and what the sums are."""
    effects = [list(task.effect[i]) for i in readings]
    effects += [[Fraction(1) if n == j else Fraction(0) for n in range(len(task.points))] for j in rooms]
    weights = null_row(effects)
    if weights is None:
        return None
    largest = max((abs(w) for w in weights[: len(readings)]), default=Fraction(0))
    if not largest:
        return None
    weights = [w / largest for w in weights]
    for sign in (1, -1):
        found = _sums(task, readings, rooms, [sign * w for w in weights])
        if found.short_by > 0:
            return found
    return None


def _sums(task: Task, readings: Sequence[int], rooms: Sequence[int], weights: Sequence[Fraction]) -> Row:
    own, others = weights[: len(readings)], weights[len(readings) :]
    total = sum((w * task.at[i] for w, i in zip(own, readings, strict=True)), Fraction(0))
    most = [w * (task.high[i] if w > 0 else task.low[i]) for w, i in zip(own, readings, strict=True)]
    most += [w * task.room[j][1 if w > 0 else 0] for w, j in zip(others, rooms, strict=True)]
    return Row(
        {task.spots[i]: w for w, i in zip(own, readings, strict=True) if w},
        {task.points[j].name: w for w, j in zip(others, rooms, strict=True) if w},
        total,
        sum(most, Fraction(0)),
    )


def cannot(task: Task, frame: Frame, variance: Mapping[Spot, Fraction], freed: Task | None = None) -> Cannot:
    """Why no moves in the task's steps do it, and what would. Raises SolverMissing.

    `variance` is how sure each reading is (standard uncertainty squared, in²); `freed` is the same task without what
    the crew has ruled out. To be asked when `fewest` has found nothing.
    """
    row = contradiction(task, variance)
    if row is None:
        for finer in FINER:
            thinner = task.stepped(task.step / finer)
            if possible(thinner, SECONDS):
                return Cannot(None, True, thinner.step, ())
        return Cannot(None, True, None, ())
    noise = sum((weight**2 * variance[spot] for spot, weight in row.weights.items()), Fraction(0))
    sure = row.short_by**2 > SURE**2 * noise
    return Cannot(row, sure, None, _cures(task, frame, freed))


def _cures(task: Task, frame: Frame, freed: Task | None) -> tuple[Cure, ...]:
    """Points that need not stay as they are, then the smallest change of the unit, smallest first."""
    found: list[Cure] = []
    if freed is not None and freed.room != task.room and reachable(freed):
        for j, point in enumerate(task.points):
            if freed.room[j] != task.room[j]:
                room = tuple(freed.room[j] if n == j else r for n, r in enumerate(task.room))
                one = Task(
                    task.spots, task.at, task.effect, task.low, task.high, task.margin, task.points, room, task.step
                )
                if reachable(one):
                    found.append(Cure("point", point.name, Fraction(0), "let it be moved after all"))
    changes = [change for fault in frame.faults for change in [_change(task, fault)] if change is not None]
    return (*found, *sorted(changes, key=lambda cure: (abs(cure.by), cure.name)))


def _change(task: Task, fault: Fault) -> Cure | None:
    """The least of this fault that has to be taken away; None when none of it helps."""
    points = len(task.points)
    rows, low, high = [], [], []
    for i, spot in enumerate(task.spots):
        way = float(fault.effect.get(spot, 0))
        rows.append([*(float(e) for e in task.effect[i]), -way, way])
        low.append(float(task.low[i] - task.at[i]))
        high.append(float(task.high[i] - task.at[i]))
    least = [float(a) for a, _ in task.room] + [0.0, 0.0]
    most = [float(b) for _, b in task.room] + [INFINITY, INFINITY]
    found = solve(Programme([0.0] * points + [1.0, 1.0], rows, low, high, least, most, [0] * (points + 2)), SECONDS)
    if found.x is None:
        return None
    over = Fraction(found.x[points] - found.x[points + 1])
    step = Fraction(1, 64)
    steps = -(-abs(over) // step)
    return Cure("fault", fault.name, (step * steps) * (1 if over > 0 else -1), fault.plus if over > 0 else fault.minus)
