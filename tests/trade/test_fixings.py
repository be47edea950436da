"""Screws: reach, sizes, pilots, withdrawal, and where a side frame is shimmed."""

from __future__ import annotations

from fractions import Fraction as F
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.trade import fixings

HINGES = (F(8), F(41), F(74))


def test_a_three_inch_screw_through_frame_and_shim() -> None:
    layers = (F(5, 4), F(1, 2))
    assert fixings.in_stud(F(3), layers) == F(5, 4)
    assert fixings.screw_length(layers, fixings.LEAST_IN_STUD) == F(13, 4)
    assert fixings.stocked(F(13, 4)) == F(7, 2)
    assert fixings.in_stud(F(1), layers) == 0


def test_stocked_lengths_end() -> None:
    assert fixings.stocked(F(3)) == 3
    assert fixings.stocked(F(6)) == 6
    assert fixings.stocked(F(6) + F(1, 64)) is None


@pytest.mark.parametrize(("gauge", "inches"), [(0, "0.060"), (8, "0.164"), (10, "0.190"), (12, "0.216")])
def test_diameters(gauge: int, inches: str) -> None:
    assert fixings.diameter(gauge) == F(inches)
    assert fixings.least_penetration(gauge) == 6 * F(inches)
    assert fixings.full_penetration(gauge) == 10 * F(inches)


@pytest.mark.parametrize("gauge", [-1, 25])
def test_no_such_gauge(gauge: int) -> None:
    with pytest.raises(ValueError, match="gauge"):
        fixings.diameter(gauge)


def test_pilots_are_about_their_share_of_the_root() -> None:
    assert fixings.pilot_hole(7, hard=False) is None
    for gauge in fixings.gauges():
        soft, hard = fixings.pilot_hole(gauge, hard=False), fixings.pilot_hole(gauge, hard=True)
        assert soft is not None
        assert hard is not None
        assert soft < hard < fixings.diameter(gauge)
        assert soft / hard == pytest.approx(float(fixings.SOFT_ROOT / fixings.HARD_ROOT), abs=0.1)


def test_withdrawal() -> None:
    assert fixings.withdrawal(F(45, 100), 10, end_grain=True) == 0
    assert fixings.thread_in_stud(F(3), F(5, 4)) == F(5, 4)
    assert fixings.thread_in_stud(F(3), F(5, 2)) == 2
    assert fixings.screws_for(F(500), F(110)) == 5
    assert fixings.screws_for(F(550), F(110)) == 5
    assert fixings.screws_for(F(0), F(110)) == 0
    assert fixings.screws_for(F(1), F(0)) is None


def test_shim_points_of_a_door() -> None:
    points = fixings.shim_points(F(82), HINGES, (F(36),))
    assert set(HINGES) <= set(points)
    assert F(36) in points
    assert fixings.shim_points(F(82)) == (F(5), F(29), F(53), F(77))


@given(
    st.fractions(20, 120, max_denominator=8),
    st.lists(st.fractions(F(1, 8), F(159, 8), max_denominator=8), max_size=4),
    st.lists(st.fractions(F(1, 8), F(159, 8), max_denominator=8), max_size=2),
)
def test_shim_points_keep_the_rules(height: F, hinges: list[F], strikes: list[F]) -> None:
    points = fixings.shim_points(height, hinges, strikes)
    assert set(hinges) | set(strikes) <= set(points)
    assert all(0 < above - below <= 24 for below, above in pairwise(points))
    assert points[0] <= 9
    assert points[-1] >= height - 9
    assert points[0] > 0
    assert points[-1] < height


def test_impossible_frames() -> None:
    with pytest.raises(ValueError, match="too short"):
        fixings.shim_points(F(19))
    with pytest.raises(ValueError, match="too tall"):
        fixings.shim_points(F(481))
    for hinges in ((F(0),), (F(82),), (F(-1),)):
        with pytest.raises(ValueError, match="beyond the ends"):
            fixings.shim_points(F(82), hinges)


def test_counting() -> None:
    assert fixings.screw_count(5, 3, 2) == (10, 3)
    with pytest.raises(ValueError, match="negative"):
        fixings.screw_count(5, -1)
