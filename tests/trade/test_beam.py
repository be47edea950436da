"""A thin member between the points that hold it, and the exact elimination behind it."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.trade.beam import null_row, solve, through

places = st.lists(st.integers(0, 400), min_size=2, max_size=6, unique=True).map(
    lambda found: tuple(Fraction(n, 4) for n in sorted(found))
)


@given(places, st.integers(0, 100))
def test_a_straight_member_stays_straight(points: tuple[Fraction, ...], share: int) -> None:
    at = points[0] + (points[-1] - points[0]) * Fraction(share, 100)
    weights = through(points, at)
    assert sum(weights) == 1
    assert sum(w * (3 * p - 7) for w, p in zip(weights, points, strict=True)) == 3 * at - 7
    assert all(type(w) is Fraction for w in weights)


@given(places)
def test_at_a_point_it_is_where_the_point_is(points: tuple[Fraction, ...]) -> None:
    for n, point in enumerate(points):
        assert through(points, point) == tuple(Fraction(int(m == n)) for m in range(len(points)))


def test_three_points_by_hand() -> None:
    # Middle pushed by 1, ends held: quarter points stand at 11/16, the sag of a beam under a load at its middle.
    points = (Fraction(0), Fraction(1), Fraction(2))
    assert through(points, Fraction(1, 2)) == (Fraction(13, 32), Fraction(11, 16), Fraction(-3, 32))


@given(places)
def test_turned_round_it_is_the_same(points: tuple[Fraction, ...]) -> None:
    at = points[0] + (points[-1] - points[0]) / 3
    turned = tuple(-p for p in reversed(points))
    assert through(turned, -at) == tuple(reversed(through(points, at)))


@pytest.mark.parametrize(
    ("points", "at"),
    [((0,), 0), ((0, 0), 0), ((2, 1), 1), ((0, 1), 2), ((0, 1), -1)],
)
def test_what_is_no_member_is_refused(points: tuple[int, ...], at: int) -> None:
    with pytest.raises(ValueError, match=r"rising order|beyond"):
        through(tuple(Fraction(p) for p in points), Fraction(at))


small = st.integers(-4, 4).map(Fraction)


@given(st.lists(st.lists(small, min_size=4, max_size=4), min_size=3, max_size=3))
def test_elimination(rows: list[list[Fraction]]) -> None:
    try:
        (x,), (y,), (z,) = solve(rows, 3)
    except ZeroDivisionError:
        assert null_row([row[:3] for row in rows]) is not None
        return
    for a, b, c, right in rows:
        assert a * x + b * y + c * z == right


@given(st.lists(st.lists(small, min_size=3, max_size=3), min_size=1, max_size=6))
def test_rows_that_cancel(rows: list[list[Fraction]]) -> None:
    weights = null_row(rows)
    if weights is None:
        assert len(rows) <= 3
        return
    assert any(weights)
    assert all(sum(w * row[n] for w, row in zip(weights, rows, strict=True)) == 0 for n in range(3))
    assert len(rows) > 3 or null_row([row for w, row in zip(weights, rows, strict=True) if w]) is not None
