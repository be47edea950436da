"""What an opening leaves, against independent geometry."""

from __future__ import annotations

import random
from dataclasses import dataclass
from fractions import Fraction as F

import pytest
from shapely import LineString, Polygon, box
from shapely.affinity import translate

from guide.trade import fit
from guide.trade.fit import Unit
from guide.trade.opening import UNKNOWNS, Opening

LOOSE = 0.02
"""How much more than it says an opening may leave, in inches: a unit stands on the sill's highest point all along,
though the point may lie beside it."""


@dataclass
class Corners:
    """A true opening in inches, each member with its bow in the middle."""

    wb: float
    wt: float
    hl: float
    hr: float
    lean: float
    sill: float
    narrow: float
    low: float

    def polygon(self, stud: float, floor: float) -> Polygon:
        """Its outline, these shares of the bows being the left stud's and the floor's."""
        top = (self.lean + self.wt, self.sill + self.hr)
        return Polygon(
            [
                (0, 0),
                (self.wb / 2, self.sill / 2 + floor * self.low),
                (self.wb, self.sill),
                ((self.wb + top[0]) / 2 - (1 - stud) * self.narrow, (self.sill + top[1]) / 2),
                top,
                ((self.lean + top[0]) / 2, (self.hl + top[1]) / 2 - (1 - floor) * self.low),
                (self.lean, self.hl),
                (self.lean / 2 + stud * self.narrow, self.hl / 2),
            ]
        )

    def opening(self) -> Opening:
        """The same as if it had been surveyed without any error."""
        middle = (self.wb + self.wt) / 2 - self.narrow, (self.hl + self.hr) / 2 - self.low
        values = (self.wb, middle[0], self.wt, self.hl, middle[1], self.hr, self.lean, self.sill)
        none = tuple((0.0,) * len(UNKNOWNS) for _ in UNKNOWNS)
        return Opening(tuple(F(v) for v in values), none, (), {}, (), 0, None, ())


def some(rng: random.Random) -> Corners:
    """An opening as true or untrue as one meets."""
    wide, tall = rng.uniform(26, 100), rng.uniform(70, 110)
    bad = rng.choice([0.05, 0.2, 0.5])
    off = [rng.gauss(0, bad) for _ in range(8)]
    return Corners(
        wide + off[0], wide + off[1], tall + off[2], tall + off[3], off[4], off[5] / 2, off[6] / 3, off[7] / 3
    )


def holds(outline: Polygon, width: float, height: float) -> bool:
    """Whether a plumb rectangle of this size has any place in the outline: where its corners may go, less the places
    in which a corner of the outline would stick into it."""
    where = outline
    for across, up in ((width, 0.0), (0.0, height), (width, height)):
        where = where.intersection(translate(outline, -across, -up))
    for x, y in outline.exterior.coords[:-1]:
        where = where.difference(box(x - width + 1e-7, y - height + 1e-7, x - 1e-7, y - 1e-7))
    return bool(where.area > 0)


@pytest.mark.outside("shapely: intersections of the opening's outline", "computed")
@pytest.mark.parametrize("count", [300, pytest.param(3000, marks=pytest.mark.slow)])
def test_the_largest_plumb_rectangle(count: int) -> None:
    """The clear rectangle of thousands of random openings has a place in each, and one a little larger has none"""
    rng = random.Random(5)
    for _ in range(count):
        true = some(rng)
        found = fit.clear_width(true.opening()), fit.clear_height(true.opening())
        width, height = (float(bound.value) for bound in found if bound is not None)
        outlines = [true.polygon(stud, floor) for stud in (0, 1) for floor in (0, 1)]
        assert all(holds(one, width - 1e-4, height - 1e-4) for one in outlines), true
        assert not all(holds(one, width + LOOSE, height - 1e-4) for one in outlines), true
        assert not all(holds(one, width - LOOSE, height + 2 * LOOSE) for one in outlines), true


@pytest.mark.outside("shapely: intersections of the opening's outline", "computed")
@pytest.mark.parametrize("count", [300, pytest.param(3000, marks=pytest.mark.slow)])
def test_whether_a_unit_fits(count: int) -> None:
    """Units from too large to too small in thousands of random openings: each that fits has a place, no other has"""
    rng = random.Random(6)
    fitted = 0
    for _ in range(count):
        true = some(rng)
        opening = true.opening()
        clear = fit.clear_width(opening), fit.clear_height(opening)
        width, height = (float(bound.value) + rng.gauss(-0.1, 0.3) for bound in clear if bound is not None)
        found = fit.fit(opening, Unit(F(width), F(height)))
        outlines = [true.polygon(stud, floor) for stud in (0, 1) for floor in (0, 1)]
        if found.fits:
            fitted += 1
            assert all(holds(one, width - 1e-4, height - 1e-4) for one in outlines), true
        else:
            assert not all(holds(one, width + LOOSE, height + LOOSE) for one in outlines), true
    assert 0.3 * count < fitted < 0.7 * count


@pytest.mark.outside("shapely: lines across the opening's outline", "computed")
def test_the_thickness_of_every_shim() -> None:
    """The shims of random openings fill exactly what a line across the opening leaves beside the unit"""
    rng = random.Random(7)
    for _ in range(100):
        true = some(rng)
        opening, outline = true.opening(), true.polygon(0.5, 0.5)
        bound = fit.clear_width(opening), fit.clear_height(opening)
        width, height = (float(one.value) - 0.5 for one in bound if one is not None)
        unit = Unit(F(width), F(height), hinges=(F(8), F(height / 2), F(height - 8)))
        found = fit.fit(opening, unit)
        assert found.fits
        foot = max(0.0, true.sill, true.sill / 2 + true.low / 2)
        left = {one.at: float(one.thick) for one in found.shims if one.side == "left"}
        right = {one.at: float(one.thick) for one in found.shims if one.side == "right"}
        for at in left:
            across = outline.intersection(LineString([(-50, foot + float(at)), (200, foot + float(at))]))
            assert across.length == pytest.approx(left[at] + width + right[at], abs=1e-4)
        start = min(across_left(outline, foot + float(at)) + thick for at, thick in left.items())
        for at, thick in left.items():
            assert across_left(outline, foot + float(at)) + thick == pytest.approx(start, abs=1e-4)
        for one in found.shims:
            if one.side == "head":
                upright = outline.intersection(LineString([(start + float(one.at), -50), (start + float(one.at), 200)]))
                assert upright.bounds[3] == pytest.approx(foot + height + float(one.thick), abs=1e-4)
            if one.side == "sill":
                upright = outline.intersection(LineString([(start + float(one.at), -50), (start + float(one.at), 200)]))
                assert upright.bounds[1] == pytest.approx(foot - float(one.thick), abs=1e-4)


def across_left(outline: Polygon, up: float) -> float:
    """How far right the left stud is at a height."""
    return float(outline.intersection(LineString([(-50, up), (200, up)])).bounds[0])
