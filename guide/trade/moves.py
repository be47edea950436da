"""The fewest moves that put every reading right at once, and an answer at once while that is worked out.

The programme: least (moves + 4 x margin given up / margin wanted), every reading inside its tolerance. The tolerance is
never given up, the margin for noise may be. Solved by an integer programme; what comes back is rounded to whole steps
and verified in exact fractions. Of answers that cost the same, the one that moves less.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from guide.trade.solver import INFINITY, Programme, solve
from guide.trade.task import GIVEN_UP, TRAVEL, Task

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

TIGHTER = Fraction(1, 10**6)
"""How much a tolerance is drawn in when the solver's own rounding let a reading slip over its edge (in)."""

TRIES = 3
EDGE = 1e-9

OUT = 40.0
"""What it costs, in moves, to leave a reading out by half its tolerance where it can't be brought inside."""

OUT_COSTS = 50.0
MOVE_COSTS = 0.05
"""For the answer at once: what a half tolerance out costs, and a move, against the fourth power of what is left."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Moves by point (in, + and − as the point says), where the readings stand afterwards, and how good that is.

    `inside` says whether every reading is within its tolerance; `proven` that nothing costs less; `cost` is None when
    a reading is out.
    """

    moves: tuple[Fraction, ...]
    after: tuple[Fraction, ...]
    inside: bool
    proven: bool
    cost: Fraction | None

    @property
    def count(self) -> int:
        """How many points are moved."""
        return sum(1 for move in self.moves if move)


def plan_of(task: Task, moves: Sequence[Fraction], proven: bool = False) -> Plan:
    """These moves judged exactly."""
    cost = task.cost(moves)
    return Plan(tuple(moves), task.after(moves), cost is not None, proven and cost is not None, cost)


def at_once(task: Task) -> Plan:
    """A good answer without a programme: least squares over all points, in whole steps, then one step here and there.

    Each reading counts by its tolerance. The answer is judged like any other; it may leave a reading out.
    """
    import numpy as np

    step = float(task.step)
    effect = np.array([[float(e) for e in row] for row in task.effect])
    ends = list(zip(task.low, task.high, strict=True))
    half = np.array([float(high - low) / 2 or 1.0 for low, high in ends])
    off = np.array([float(a - (low + high) / 2) for a, (low, high) in zip(task.at, ends, strict=True)]) / half
    least = np.array([math.ceil(float(low) / step - EDGE) for low, _ in task.room])
    most = np.array([math.floor(float(high) / step + EDGE) for _, high in task.room])
    scaled = effect * step / half[:, None]
    free = most > least
    steps = np.zeros(len(task.points))
    if free.any() and len(off):
        damped = np.vstack([scaled[:, free], 1e-3 * np.eye(int(free.sum()))])
        wanted = np.concatenate([-off, np.zeros(int(free.sum()))])
        steps[free] = np.linalg.lstsq(damped, wanted, rcond=None)[0]
    steps = np.clip(np.round(steps), least, most)

    def cost(candidates: Array) -> Array:
        after = np.abs(off + candidates @ scaled.T)
        out, moved = np.maximum(0, after - 1 + EDGE).sum(axis=1), (candidates != 0).sum(axis=1)
        found: Array = OUT_COSTS * out + (after**4).sum(axis=1) + MOVE_COSTS * moved
        return found

    ways = _ways(len(task.points))
    for _ in range(60):
        tried = np.concatenate([steps[None] + ways, steps * (1 - np.eye(len(steps)))])
        tried = tried[((tried >= least) & (tried <= most)).all(axis=1)]
        costs = cost(tried)
        best = int(costs.argmin()) if len(costs) else 0
        if not len(costs) or costs[best] >= cost(steps[None])[0] - EDGE:
            break
        steps = tried[best]
    return plan_of(task, [int(n) * task.step for n in steps])


def _ways(points: int) -> Array:
    """Steps to try: one point by one, or two points by one each."""
    import numpy as np

    one = np.eye(points)
    single = [sign * one[i] for i in range(points) for sign in (1, -1)]
    double = [
        a * one[i] + b * one[j] for i, j in itertools.combinations(range(points), 2) for a in (1, -1) for b in (1, -1)
    ]
    return np.array(single + double)


def fewest(task: Task, seconds: float = 2.0) -> Plan | None:
    """The moves that cost least, or None when no moves in these steps bring every reading inside its tolerance.

    `seconds` is the time for the programme; what is found in time but not proven says so. Raises SolverMissing, and
    TimeoutError when the time was too short for any answer.
    """
    moves, proven = [Fraction(0)] * len(task.points), True
    for readings, points in task.parts():
        found = _fewest(task.part(readings, points), seconds)
        if found is None:
            return None
        proven = proven and found.proven
        for j, move in zip(points, found.moves, strict=True):
            moves[j] = move
    return plan_of(task, moves, proven)


def _fewest(task: Task, seconds: float) -> Plan | None:
    nothing = plan_of(task, [Fraction(0)] * len(task.points))
    if nothing.cost == 0:
        return replace(nothing, proven=True)
    if not task.points:
        return nothing if nothing.inside else None
    drawn_in = [Fraction(0)] * len(task.spots)
    for _ in range(TRIES):
        found = solve(_programme(task, drawn_in), seconds)
        if found.x is None:
            if found.proven:
                return None
            raise TimeoutError("no answer in time")
        moves = [round(value) * task.step for value in found.x[: len(task.points)]]
        plan = plan_of(task, moves, found.proven)
        if plan.inside:
            return plan
        drawn_in = [
            tighter + (TIGHTER if not low <= value <= high else 0)
            for tighter, value, low, high in zip(drawn_in, plan.after, task.low, task.high, strict=True)
        ]
    raise TimeoutError("the solver's rounding can't be told from the tolerance")


def possible(task: Task, seconds: float = 2.0) -> bool:
    """Whether some moves in these steps are known to bring every reading inside; no matter how many.

    False when none do, or none were found in time. Raises SolverMissing.
    """
    for readings, points in task.parts():
        part = task.part(readings, points)
        rows = [[float(e * task.step) for e in row] for row in part.effect]
        low = [float(a - at) for a, at in zip(part.low, part.at, strict=True)]
        high = [float(b - at) for b, at in zip(part.high, part.at, strict=True)]
        least = [float(math.ceil(a / task.step)) for a, _ in part.room]
        most = [float(math.floor(b / task.step)) for _, b in part.room]
        found = solve(Programme([0.0] * len(points), rows, low, high, least, most, [1] * len(points)), seconds)
        if found.x is None or not plan_of(part, [round(n) * task.step for n in found.x]).inside:
            return False
    return True


def least_excess(task: Task, seconds: float = 2.0) -> Plan:
    """The best that can be done where not every reading can be brought inside: as `fewest`, but a reading may be out.

    Being out by half a tolerance costs as much as `OUT` moves. Raises SolverMissing.
    """
    moves = [Fraction(0)] * len(task.points)
    for readings, points in task.parts():
        part = task.part(readings, points)
        if points:
            found = solve(_programme(part, [Fraction(0)] * len(readings), soft=True), seconds)
            best = at_once(part).moves if found.x is None else [round(n) * task.step for n in found.x[: len(points)]]
            for j, move in zip(points, best, strict=True):
                moves[j] = move
    return plan_of(task, moves)


def _programme(task: Task, drawn_in: Sequence[Fraction], soft: bool = False) -> Programme:
    """Unknowns: steps at each point, whether it is moved, how far it goes, and the margin each reading gives up.

    When `soft`, each reading may also be out of its tolerance, at a price.
    """
    points, readings = len(task.points), len(task.spots)
    least = [math.ceil(low / task.step) for low, _ in task.room]
    most = [math.floor(high / task.step) for _, high in task.room]
    size = 3 * points + readings * (2 if soft else 1)
    rows: list[list[float]] = []
    low: list[float] = []
    high: list[float] = []

    def row(parts: dict[int, float], at_least: float, at_most: float) -> None:
        line = [0.0] * size
        for at, value in parts.items():
            line[at] = value
        rows.append(line)
        low.append(at_least)
        high.append(at_most)

    for i in range(readings):
        effect = {j: float(task.effect[i][j] * task.step) for j in range(points) if task.effect[i][j]}
        slack = [3 * points + i, *([3 * points + readings + i] if soft else [])]
        margin = task.margin[i]
        top, bottom = task.high[i] - drawn_in[i] - margin, task.low[i] + drawn_in[i] + margin
        row({**effect, **dict.fromkeys(slack, -1.0)}, -INFINITY, float(top - task.at[i]))
        row({**effect, **dict.fromkeys(slack, 1.0)}, float(bottom - task.at[i]), INFINITY)
    for j in range(points):
        row({j: 1.0, points + j: -float(most[j])}, -INFINITY, 0.0)
        row({j: 1.0, points + j: -float(least[j])}, 0.0, INFINITY)
        row({j: 1.0, 2 * points + j: -1.0}, -INFINITY, 0.0)
        row({j: 1.0, 2 * points + j: 1.0}, 0.0, INFINITY)
    cost = [0.0] * points + [1.0] * points + [float(TRAVEL)] * points
    cost += [float(GIVEN_UP / margin) if margin else 0.0 for margin in task.margin]
    bounds_low = [float(n) for n in least] + [0.0] * (size - points)
    bounds_high = [float(n) for n in most] + [1.0] * points + [INFINITY] * points + [float(m) for m in task.margin]
    if soft:
        cost += [OUT / (float(h - a) / 2 or 1.0) for a, h in zip(task.low, task.high, strict=True)]
        bounds_high += [INFINITY] * readings
    whole = [1] * (2 * points) + [0] * (size - 2 * points)
    return Programme(cost, rows, low, high, bounds_low, bounds_high, whole)


def in_order(task: Task, moves: Sequence[Fraction]) -> tuple[int, ...]:
    """The points that move, in the order that leaves the readings out by least on the way; ties as the points stand.

    Every order is looked at (over subsets) up to a dozen moves; beyond, the best next move each time.
    """
    import numpy as np

    moving = [j for j, move in enumerate(moves) if move]
    if not moving:
        return ()
    at = np.array([float(value) for value in task.at])
    change = np.array([[float(row[j] * moves[j]) for row in task.effect] for j in moving])
    low, high = np.array([float(value) for value in task.low]), np.array([float(value) for value in task.high])

    def out(stand: Array) -> Array:
        beyond: Array = np.maximum(0.0, np.maximum(low - stand, stand - high)).sum(axis=-1).round(9)
        return beyond

    if len(moving) > 12:
        order: list[int] = []
        while len(order) < len(moving):
            left = [n for n in range(len(moving)) if n not in order]
            at_last = out(at + change[order].sum(axis=0) + change[left])
            order.append(left[int(at_last.argmin())])
        return tuple(moving[n] for n in order)
    bits = np.arange(len(moving))
    done = np.arange(1 << len(moving))
    made = (done[:, None] >> bits & 1).astype(bool)
    here = out(at + made @ change)
    ahead = np.zeros(len(done))
    for count in range(len(moving) - 1, -1, -1):
        subsets = done[made.sum(axis=1) == count]
        then = subsets[:, None] | 1 << bits
        ahead[subsets] = np.where(made[subsets], np.inf, here[then] + ahead[then]).min(axis=1)
    taken, subset = list[int](), 0
    while len(taken) < len(moving):
        then = subset | 1 << bits
        n = int(np.where(made[subset], np.inf, here[then] + ahead[then]).round(9).argmin())
        taken.append(moving[n])
        subset |= 1 << n
    return tuple(taken)
