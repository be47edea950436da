"""What is to be put right, exactly: where each reading stands, what each point does to it, and what is allowed."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from guide.trade.frame import Point, Spot

SHIM = Fraction(1, 16)
"""The step shims are made in, in inches (common practice)."""

GIVEN_UP = Fraction(2)
"""What it costs to give up the whole margin of one reading, counted in moves."""

TRAVEL = Fraction(1, 400)
"""What each step of a move costs, counted in moves: of two answers alike the one that moves less."""


@dataclass(frozen=True, slots=True)
class Task:
    """Lengths in inches. `at` is where each reading stands; `effect` has a row a reading and a column a point.

    `low` and `high` are the tolerance, `margin` what is wanted inside each end of it (never more than half of it);
    `room` is how far each point may go, + and −; `step` what shims are made in.
    """

    spots: tuple[Spot, ...]
    at: tuple[Fraction, ...]
    effect: tuple[tuple[Fraction, ...], ...]
    low: tuple[Fraction, ...]
    high: tuple[Fraction, ...]
    margin: tuple[Fraction, ...]
    points: tuple[Point, ...]
    room: tuple[tuple[Fraction, Fraction], ...]
    step: Fraction = SHIM

    def after(self, moves: Sequence[Fraction]) -> tuple[Fraction, ...]:
        """Where the readings stand once every point has been moved by its amount."""
        return tuple(
            at + sum((e * m for e, m in zip(row, moves, strict=True) if m), Fraction(0))
            for at, row in zip(self.at, self.effect, strict=True)
        )

    def given_up(self, after: Sequence[Fraction]) -> tuple[Fraction, ...] | None:
        """How much of its margin each reading gives up; None when one is out of tolerance. Exact."""
        found = []
        for value, low, high, margin in zip(after, self.low, self.high, self.margin, strict=True):
            if not low <= value <= high:
                return None
            found.append(max(Fraction(0), low + margin - value, value - (high - margin)))
        return tuple(found)

    def allowed(self, moves: Sequence[Fraction]) -> bool:
        """Whether every move is a whole number of steps and within the room its point has."""
        return all(
            m == 0 or ((m / self.step).denominator == 1 and low <= m <= high)
            for m, (low, high) in zip(moves, self.room, strict=True)
        )

    def cost(self, moves: Sequence[Fraction]) -> Fraction | None:
        """The moves counted, and the margin they give up; None when they may not be made or leave a reading out."""
        given_up = self.given_up(self.after(moves)) if self.allowed(moves) else None
        if given_up is None:
            return None
        lost = sum((g / m for g, m in zip(given_up, self.margin, strict=True) if m), Fraction(0))
        steps = sum((abs(move) for move in moves), Fraction(0)) / self.step
        return sum(1 for move in moves if move) + GIVEN_UP * lost + TRAVEL * steps

    def without(self, ruled_out: Collection[str]) -> Task:
        """The same task with these points left as they are."""
        stay = (Fraction(0), Fraction(0))
        room = tuple(stay if p.name in ruled_out else r for p, r in zip(self.points, self.room, strict=True))
        return replace(self, room=room)

    def stepped(self, step: Fraction) -> Task:
        """The same task with shims in another step."""
        return replace(self, step=step)

    def parts(self) -> list[tuple[list[int], list[int]]]:
        """Readings and points that have nothing to do with each other, apart: (readings, points), readings first met.

        A reading that no point changes is a part without points.
        """
        left, found = list(range(len(self.spots))), []
        while left:
            readings, points, more = [left.pop(0)], list[int](), True
            while more:
                touched = [j for j in range(len(self.points)) if any(self.effect[i][j] for i in readings)]
                joined = [i for i in left if any(self.effect[i][j] for j in touched)]
                more = bool(joined) or touched != points
                points = touched
                readings += joined
                left = [i for i in left if i not in joined]
            found.append((sorted(readings), points))
        return found

    def part(self, readings: Sequence[int], points: Sequence[int]) -> Task:
        """The task of these readings and points alone."""
        return Task(
            tuple(self.spots[i] for i in readings),
            tuple(self.at[i] for i in readings),
            tuple(tuple(self.effect[i][j] for j in points) for i in readings),
            tuple(self.low[i] for i in readings),
            tuple(self.high[i] for i in readings),
            tuple(self.margin[i] for i in readings),
            tuple(self.points[j] for j in points),
            tuple(self.room[j] for j in points),
            self.step,
        )


def by_point(task: Task, moves: Sequence[Fraction]) -> Mapping[str, Fraction]:
    """The moves that are not nothing, by the name of their point."""
    return {point.name: move for point, move in zip(task.points, moves, strict=True) if move}
