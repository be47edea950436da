"""A thin member held at some points: where it is between them, as a share of each point. Exact.

Between its points a member takes the shape of least bending: the natural cubic spline, straight beyond the ends.
Source: Euler-Bernoulli beam on knife edges.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache


@lru_cache(maxsize=256)
def through(points: tuple[Fraction, ...], at: Fraction) -> tuple[Fraction, ...]:
    """How much of each point's displacement the member has at the place `at`: one weight a point, their sum 1.

    `points` are two or more rising places, `at` any place between the first and the last (same unit).
    Raises ValueError for points that don't rise or a place beyond them.
    """
    if len(points) < 2 or any(a >= b for a, b in itertools.pairwise(points)):
        raise ValueError("a member needs two points or more, in rising order")
    if not points[0] <= at <= points[-1]:
        raise ValueError(f"{at} lies beyond the member's ends")
    span = next(n for n in range(len(points) - 1) if at <= points[n + 1])
    left, right = points[span], points[span + 1]
    length = right - left
    a, b = (right - at) / length, (at - left) / length
    bends = _bends(points)
    bow_a, bow_b = (a**3 - a) * length**2 / 6, (b**3 - b) * length**2 / 6
    weights = [bow_a * bends[span][n] + bow_b * bends[span + 1][n] for n in range(len(points))]
    weights[span] += a
    weights[span + 1] += b
    return tuple(weights)


@lru_cache(maxsize=64)
def _bends(points: tuple[Fraction, ...]) -> tuple[tuple[Fraction, ...], ...]:
    """The second derivative at each point as a share of each point's displacement; zero at the ends."""
    count = len(points)
    steps = [points[n + 1] - points[n] for n in range(count - 1)]
    rows: list[list[Fraction]] = []
    for n in range(1, count - 1):
        row = [Fraction(0)] * (count - 2) + [Fraction(0)] * count
        for m, weight in ((n - 1, steps[n - 1]), (n, 2 * (steps[n - 1] + steps[n])), (n + 1, steps[n])):
            if 1 <= m <= count - 2:
                row[m - 1] = weight
        slopes = {n - 1: 6 / steps[n - 1], n: -6 / steps[n - 1] - 6 / steps[n], n + 1: 6 / steps[n]}
        for m, slope in slopes.items():
            row[count - 2 + m] = slope
        rows.append(row)
    solved = solve(rows, count - 2)
    nothing = (Fraction(0),) * count
    return (nothing, *(tuple(row) for row in solved), nothing)


def solve(rows: Sequence[Sequence[Fraction]], unknowns: int) -> list[list[Fraction]]:
    """The right-hand sides of a square system after elimination; each row is `unknowns` coefficients, then the rest.

    Raises ZeroDivisionError when the system has no single answer.
    """
    work = [list(row) for row in rows]
    for n in range(unknowns):
        best = next((m for m in range(n, unknowns) if work[m][n]), n)
        work[n], work[best] = work[best], work[n]
        scale = work[n][n]
        work[n] = [value / scale for value in work[n]]
        for m in range(unknowns):
            if m != n and work[m][n]:
                factor = work[m][n]
                work[m] = [value - factor * top for value, top in zip(work[m], work[n], strict=True)]
    return [row[unknowns:] for row in work]


def null_row(rows: Sequence[Sequence[Fraction]]) -> list[Fraction] | None:
    """Weights of the rows whose weighted sum is nothing in every column, exactly; None when only zeros do that.

    When there is more than one such combination, one of them.
    """
    work = [[*row, *(Fraction(int(n == m)) for m in range(len(rows)))] for n, row in enumerate(rows)]
    columns = len(rows[0]) if rows else 0
    done = 0
    for column in range(columns):
        best = next((n for n in range(done, len(work)) if work[n][column]), None)
        if best is None:
            continue
        work[done], work[best] = work[best], work[done]
        for n in range(done + 1, len(work)):
            if work[n][column]:
                factor = work[n][column] / work[done][column]
                work[n] = [value - factor * top for value, top in zip(work[n], work[done], strict=True)]
        done += 1
    return work[done][columns:] if done < len(work) else None
