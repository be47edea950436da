"""What a door unit weighs, from its size, its make and its glass: an estimate, with how far it may be off.

Sizes are exact fractions of an inch, weights pounds. Glass is a handbook table (2,500 kg/m³ for other thicknesses,
computed); the makes of leaf are estimates from the densities beside them (common practice).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

GLASS: Mapping[Fraction, Fraction] = MappingProxyType(
    {
        Fraction(1, 8): Fraction(164, 100),
        Fraction(3, 16): Fraction(245, 100),
        Fraction(1, 4): Fraction(327, 100),
        Fraction(1, 2): Fraction(654, 100),
    }
)
"""Thickness in inches: pounds a square foot (handbook table)."""

_POUND = Fraction(45359237, 100_000_000)
_FOOT = Fraction(3048, 10_000)
_INCH = Fraction(254, 10_000)
GLASS_DENSITY = Fraction(2500)
"""Kilograms a cubic metre."""


def glass_weight(thickness: Fraction) -> Fraction:
    """Pounds a square foot of glass: the handbook's figure, or 2,500 kg/m³ for a thickness it lacks (inches)."""
    if thickness <= 0:
        raise ValueError("glass has a thickness")
    return GLASS.get(thickness) or GLASS_DENSITY * thickness * _INCH * _FOOT**2 / _POUND


@dataclass(frozen=True, slots=True)
class Make:
    """How a leaf is made: pounds a square foot at a thickness of 1-3/4 in, and what the estimate rests on."""

    name: str
    per_foot: Fraction
    basis: str

    def weight(self, area: Fraction, thickness: Fraction) -> Fraction:
        """Pounds for so many square feet at this thickness in inches; skins don't grow with it, solid wood does."""
        return area * self.per_foot * (thickness / LEAF_THICKNESS if self.name.startswith("solid") else 1)


LEAF_THICKNESS = Fraction(7, 4)
MAKES: Mapping[str, Make] = MappingProxyType(
    {
        make.name: make
        for make in (
            Make("solid softwood", Fraction(43, 10), "29 lb/ft³"),
            Make("solid hardwood", Fraction(64, 10), "44 lb/ft³"),
            Make("solid core", Fraction(50, 10), "particle board, 34 lb/ft³"),
            Make("steel, foam core", Fraction(30, 10), "two 0.024 in skins, wood edges, foam"),
            Make("fibreglass, foam core", Fraction(28, 10), "two 0.08 in skins, wood edges, foam"),
        )
    }
)
SPREAD = Fraction(1, 5)
"""How far such an estimate may be off, as a share of it (common practice)."""

FRAME_DENSITY = Fraction(29)
"""Softwood frame, pounds a cubic foot."""
FRAME_THICKNESS = Fraction(5, 4)
SILL_PER_FOOT = Fraction(2)
"""Sill with its threshold, pounds a foot of width (common practice)."""


@dataclass(frozen=True, slots=True)
class Pane:
    """Glass in a leaf: width and height in inches, thickness of one sheet, how many sheets."""

    width: Fraction
    height: Fraction
    thickness: Fraction
    sheets: int = 1

    @property
    def area(self) -> Fraction:
        """Square feet."""
        return self.width * self.height / 144

    @property
    def weight(self) -> Fraction:
        """Pounds."""
        return self.area * self.sheets * glass_weight(self.thickness)


@dataclass(frozen=True, slots=True)
class Weight:
    """An estimate in pounds, which may be off by SPREAD: one leaf, all leaves, the frame with its sill."""

    leaf: Fraction
    leaves: Fraction
    frame: Fraction

    @property
    def unit(self) -> Fraction:
        """Everything together."""
        return self.leaves + self.frame


def unit_weight(
    width: Fraction,
    height: Fraction,
    make: Make,
    leaves: int = 1,
    panes: tuple[Pane, ...] = (),
    thickness: Fraction = LEAF_THICKNESS,
    frame_depth: Fraction | None = None,
) -> Weight:
    """The weight of a unit whose leaves measure width x height each, `panes` in each; without frame if depth is None.

    Raises ValueError for a size that is not more than zero, or more glass than leaf.
    """
    if min(width, height, thickness) <= 0 or leaves < 1:
        raise ValueError("a leaf has a width, a height and a thickness")
    area = width * height / 144
    glazed = sum((pane.area for pane in panes), Fraction(0))
    if glazed > area:
        raise ValueError("there is more glass than leaf")
    leaf = make.weight(area - glazed, thickness) + sum((pane.weight for pane in panes), Fraction(0))
    frame = Fraction(0)
    if frame_depth is not None:
        run = 2 * height + leaves * width
        frame = run * frame_depth * FRAME_THICKNESS / 1728 * FRAME_DENSITY + leaves * width / 12 * SILL_PER_FOOT
    return Weight(leaf, leaves * leaf, frame)
