"""What the texts say of a doorway, at their very figures."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from guide.trade import doorway

BIT = F(1, 64)


def test_widths_and_heights() -> None:
    for finding, figure in ((doorway.exit_width, 32), (doorway.exit_height, 78), (doorway.access_width, 32)):
        assert finding(F(figure)).meets
        assert not finding(F(figure) - BIT).meets
        assert finding(F(figure)).source


@pytest.mark.parametrize(
    ("height", "vertical", "slope", "meets"),
    [
        ("1/4", None, None, True),
        ("1/2", "1/4", "1/2", True),
        ("1/2", "1/4", "51/100", False),
        ("1/2", "17/64", "1/2", False),
        ("1/2", "17/64", None, False),
        ("1/2", None, "1/2", None),
        ("1/2", "1/4", None, None),
        ("33/64", "0", "1/10", False),
        ("33/64", None, None, False),
    ],
)
def test_thresholds(height: str, vertical: str | None, slope: str | None, meets: bool | None) -> None:
    found = doorway.threshold(F(height), None if vertical is None else F(vertical), None if slope is None else F(slope))
    assert found.meets is meets


@pytest.mark.parametrize(
    ("step", "outside", "swings_over", "meets"),
    [
        ("3/2", True, True, True),
        ("97/64", True, True, False),
        ("31/4", True, False, True),
        ("497/64", True, False, False),
        ("3/2", False, False, True),
        ("2", False, False, False),
    ],
)
def test_landings(step: str, outside: bool, swings_over: bool, meets: bool) -> None:
    assert doorway.landing(F(step), outside, swings_over).meets is meets


@pytest.mark.parametrize(
    ("distance", "bottom", "safety", "meets"),
    [
        (24, 59, True, True),
        (24, 59, False, False),
        (24, 59, None, None),
        (25, 0, False, True),
        (0, 60, None, True),
    ],
)
def test_glass_beside(distance: int, bottom: int, safety: bool | None, meets: bool | None) -> None:
    assert doorway.glass_beside(F(distance), F(bottom), safety).meets is meets
