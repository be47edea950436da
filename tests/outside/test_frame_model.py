"""The frame's model and its tests for blunders against scipy."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.stats import norm

from guide.trade import fault, learn
from guide.trade.beam import through


@pytest.mark.outside("scipy.interpolate.CubicSpline, natural", "computed")
def test_a_member_between_its_points() -> None:
    """A thin member held at some points takes the shape of the natural cubic spline."""
    rng = np.random.default_rng(1)
    for _ in range(60):
        points = tuple(Fraction(int(n), 4) for n in sorted(rng.choice(400, int(rng.integers(2, 7)), replace=False)))
        held = rng.uniform(-1, 1, len(points))
        x = np.array([float(p) for p in points])
        natural = CubicSpline(x, held, bc_type="natural") if len(points) > 2 else None
        for share in (0, 0.01, 0.3, 0.5, 0.77, 1):
            at = points[0] + (points[-1] - points[0]) * Fraction(share)
            mine = sum(float(w) * h for w, h in zip(through(points, at), held, strict=True))
            straight = float(np.interp(float(at), x, held))
            theirs = straight if natural is None else float(natural(float(at)))
            assert mine == pytest.approx(theirs, abs=1e-9)


@pytest.mark.outside("scipy.stats.norm: 3.29 is 1 in 1,000, two-sided, for one reading", "computed")
def test_the_critical_value() -> None:
    """W. Baarda's critical value, and what trying some fifteen causes at once makes of it."""
    assert norm.isf(0.0005) == pytest.approx(learn.CRITICAL, abs=0.005)
    tried = 15
    assert 2 * norm.sf(fault.CRITICAL) * tried < 0.01
