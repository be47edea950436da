"""The only door to scipy's HiGHS: linear and integer programmes, quiet, with a time limit.

Floats live here; whoever asks verifies what comes back in exact fractions.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

Rows = Sequence[Sequence[float]]

INFINITY = float("inf")


class SolverMissing(RuntimeError):
    """scipy isn't installed; the message says how to get it."""


@dataclass(frozen=True, slots=True)
class Programme:
    """Least `cost` · x with `low` <= rows · x <= `high` and `least` <= x <= `most`; `whole` marks integer unknowns."""

    cost: Sequence[float]
    rows: Rows
    low: Sequence[float]
    high: Sequence[float]
    least: Sequence[float]
    most: Sequence[float]
    whole: Sequence[int]


@dataclass(frozen=True, slots=True)
class Found:
    """What the solver came back with: the unknowns (None: it has none), and whether that is settled for good."""

    x: tuple[float, ...] | None
    proven: bool


def solve(programme: Programme, seconds: float) -> Found:
    """Solve within a time limit; an answer that is not proven is the best met in time. Raises SolverMissing."""
    try:
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csc_array
    except ImportError:
        raise SolverMissing("working out moves needs scipy, which is not installed") from None
    rows = csc_array(np.array(programme.rows, dtype=float).reshape(-1, len(programme.cost)))
    constraints: list[Any] = [LinearConstraint(rows, programme.low, programme.high)] if programme.low else []
    with _quiet():
        result = milp(
            np.array(programme.cost, dtype=float),
            constraints=constraints,
            integrality=np.array(programme.whole),
            bounds=Bounds(programme.least, programme.most),
            options={"time_limit": seconds, "mip_rel_gap": 0.0},
        )
    settled = result.status in (0, 2)
    return Found(None if result.x is None else tuple(float(value) for value in result.x), settled)


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Send what the solver's own C++ prints to standard output nowhere: a program may be reading there."""
    try:
        sys.stdout.flush()
        kept = os.dup(1)
    except (OSError, ValueError, AttributeError):
        yield
        return
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.close(nowhere)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
