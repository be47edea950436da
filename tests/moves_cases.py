"""Small tasks for tests: points that move by steps, readings they change, and every combination tried."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from hypothesis import strategies as st

from guide.trade.frame import Point, Spot
from guide.trade.moves import OUT
from guide.trade.task import GIVEN_UP, TRAVEL, Task

STEP = Fraction(1, 16)

TURNED = ("plumb_along", "sill_level", "head_level", "twist", "string_gap")
"""Readings whose + is − in the mirror."""


def mirror_name(name: str) -> str:
    """The name of the same thing on the other side."""
    swap = {"left": "right", "right": "left"}
    return " ".join(swap.get(word, word) for word in name.split())


def mirrored(readings: Mapping[Spot, Fraction]) -> dict[Spot, Fraction]:
    """The readings of the mirrored frame."""
    return {(name, mirror_name(place)): (-by if name in TURNED else by) for (name, place), by in readings.items()}


def task_of(
    at: Sequence[Fraction | int],
    effect: Sequence[Sequence[Fraction | int]],
    half: Fraction = Fraction(1, 16),
    margin: Fraction = Fraction(1, 32),
    room: int = 2,
) -> Task:
    """A task whose readings should be 0 ± `half` with `margin` inside; every point has so many steps to each side."""
    points = len(effect[0]) if effect else 0
    count, reach = len(at), room * STEP
    return Task(
        tuple(("reading", str(n)) for n in range(count)),
        tuple(Fraction(value) for value in at),
        tuple(tuple(Fraction(e) for e in row) for row in effect),
        (-half,) * count,
        (half,) * count,
        (margin,) * count,
        tuple(Point(f"point {n}", "along", "right", "left", -reach, reach) for n in range(points)),
        ((-reach, reach),) * points,
    )


@st.composite
def tasks(draw: st.DrawFn, most_points: int = 4) -> Task:
    """Small tasks; readings and effects on sixteenths and halves, so that edges are met exactly."""
    points = draw(st.integers(1, most_points))
    readings = draw(st.integers(1, 5))
    room = 1 if points > 3 else 2
    shares = [Fraction(0), Fraction(1), Fraction(-1), Fraction(2), Fraction(1, 2), Fraction(-1, 2), Fraction(1, 3)]
    effects = st.sampled_from(shares)
    effect = draw(st.lists(st.lists(effects, min_size=points, max_size=points), min_size=readings, max_size=readings))
    at = [Fraction(n, 32) for n in draw(st.lists(st.integers(-8, 8), min_size=readings, max_size=readings))]
    margin = draw(st.sampled_from([Fraction(0), Fraction(1, 64), Fraction(1, 32)]))
    return task_of(at, effect, Fraction(1, 16), margin, room)


def combinations(task: Task) -> Iterator[tuple[Fraction, ...]]:
    """Every set of moves that the task allows."""
    ways = [
        [n * task.step for n in range(-(-low // task.step), high // task.step + 1)]
        for low, high in ((low / 1, high / 1) for low, high in task.room)
    ]
    yield from itertools.product(*ways)


def least_cost(task: Task) -> Fraction | None:
    """The least cost over every combination; None when none brings all readings inside."""
    costs = [cost for moves in combinations(task) if (cost := task.cost(moves)) is not None]
    return min(costs, default=None)


def elastic_cost(task: Task, moves: Sequence[Fraction]) -> Fraction:
    """What these moves cost when readings may be out, at a price; worked out apart from the programme."""
    total = Fraction(sum(1 for move in moves if move))
    total += TRAVEL * sum((abs(move) for move in moves), Fraction(0)) / task.step
    for value, low, high, margin in zip(task.after(moves), task.low, task.high, task.margin, strict=True):
        beyond = max(low + margin - value, value - (high - margin), Fraction(0))
        given_up = min(beyond, margin)
        out = beyond - given_up
        total += (GIVEN_UP * given_up / margin if margin else 0) + Fraction(OUT) * out / ((high - low) / 2)
    return total
