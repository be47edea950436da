"""Sealant and foam: how far a cartridge goes, how deep a joint is, how much of each to bring.

Widths and depths are exact fractions of an inch, bead lengths feet, volumes cubic inches.
Sources: NIST SP 811 (the fluid ounce), a handbook table in the spirit of ASTM C1193 (joint depth); waste and the
sealant bed are common practice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

CARTRIDGE_OZ = Fraction(101, 10)
FLUID_OUNCE = Fraction(231, 128)
"""Cubic inches (NIST SP 811)."""

WASTE = Fraction(1, 10)
"""Share of the bead added for nozzles, starts and what is tooled off (common practice)."""

BED_BEADS = 3
BED_BEAD = Fraction(1, 4)
"""A sealant bed is at least three beads of 1/4 in, about 1 in apart, each the length of the sill (common practice)."""

LEAST_DEPTH, MOST_DEPTH = Fraction(1, 4), Fraction(1, 2)
LEAST_WIDTH = Fraction(1, 4)


def cartridge_volume(ounces: Fraction = CARTRIDGE_OZ) -> Fraction:
    """Cubic inches in a cartridge of so many US fluid ounces."""
    return ounces * FLUID_OUNCE


def feet_per_cartridge(width: Fraction, depth: Fraction, ounces: Fraction = CARTRIDGE_OZ) -> Fraction:
    """Feet of bead from one cartridge, without waste; raises ValueError unless width and depth are more than zero."""
    if width <= 0 or depth <= 0:
        raise ValueError("a bead has a width and a depth")
    return cartridge_volume(ounces) / (12 * width * depth)


def cartridges(feet: Fraction, per_cartridge: Fraction, waste: Fraction = WASTE) -> int:
    """Whole cartridges for so many feet of bead and the share of waste."""
    return math.ceil(feet * (1 + waste) / per_cartridge)


def bed_feet(sill: Fraction, beads: int = BED_BEADS) -> Fraction:
    """Feet of bead in a sealant bed under a sill of so many inches."""
    return beads * sill / 12


def joint_depth(width: Fraction) -> Fraction:
    """How deep sealant is in a joint of this width: half of it, never under 1/4 nor over 1/2 in."""
    if width <= 0:
        raise ValueError("a joint has a width")
    return min(MOST_DEPTH, max(LEAST_DEPTH, width / 2))


def perimeter_feet(width: Fraction, height: Fraction, sides: int = 3) -> Fraction:
    """Feet around an opening in inches: both sides and the head (3), or the sill too (4)."""
    if sides not in (3, 4):
        raise ValueError("an opening is sealed on three sides or on four")
    return (2 * height + (sides - 2) * width) / 12


@dataclass(frozen=True, slots=True)
class Foam:
    """The space that foam has to fill, and cans for it when the can's yield is known."""

    volume: Fraction
    """Cubic inches."""
    cans: int | None


def foam(feet: Fraction, gap: Fraction, depth: Fraction, can: Fraction | None, waste: Fraction = WASTE) -> Foam:
    """Foam for a gap along so many feet; `can` is a can's yield, cured, in cubic inches, from its label, or None."""
    volume = 12 * feet * gap * depth
    return Foam(volume, None if can is None else math.ceil(volume * (1 + waste) / can))
