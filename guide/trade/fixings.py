"""Screws through a frame and its shims into the stud: reach, size, pilot hole, withdrawal, and how many.

Lengths are exact fractions of an inch, loads pounds. Sources: NDS (withdrawal, penetration), USDA Wood Handbook
(diameters, pilot holes); shim spacing, the 1-1/2 in into the stud and stocked lengths are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from types import MappingProxyType

LEAST_IN_STUD = Fraction(3, 2)
"""Into the stud at least (common practice)."""

STOCKED: tuple[Fraction, ...] = tuple(Fraction(n, 4) for n in (4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 24))
"""Lengths of wood screws that are stocked, in inches (common practice)."""

THREADED = Fraction(2, 3)
"""The threaded share of a wood screw's length (common practice)."""

SOFT_ROOT, HARD_ROOT = Fraction(7, 10), Fraction(9, 10)
"""A pilot hole as a share of the root diameter, soft and hard wood (USDA Wood Handbook)."""

HARD_ABOVE = Fraction(3, 5)
"""Specific gravity above which a wood takes the hard pilot hole (NDS, from memory)."""

_PILOT: Mapping[int, tuple[Fraction, Fraction]] = MappingProxyType(
    {
        6: (Fraction(1, 16), Fraction(5, 64)),
        8: (Fraction(5, 64), Fraction(3, 32)),
        10: (Fraction(3, 32), Fraction(7, 64)),
        12: (Fraction(7, 64), Fraction(1, 8)),
    }
)
"""Gauge: pilot hole in soft, in hard wood (handbook table on the basis of the USDA Wood Handbook)."""

SPECIFIC_GRAVITY: Mapping[str, Fraction] = MappingProxyType(
    {
        "spruce-pine-fir": Fraction(42, 100),
        "hem-fir": Fraction(43, 100),
        "poplar": Fraction(43, 100),
        "douglas fir-larch": Fraction(50, 100),
        "southern pine": Fraction(55, 100),
        "maple": Fraction(63, 100),
        "red oak": Fraction(67, 100),
        "white oak": Fraction(73, 100),
    }
)
"""Specific gravity of stud and frame woods (NDS, from memory)."""


def diameter(gauge: int) -> Fraction:
    """A wood screw's diameter in inches by its gauge number: 0.060 + 0.013 gauge; raises ValueError outside 0 to 24."""
    if not 0 <= gauge <= 24:
        raise ValueError(f"wood screws run from gauge 0 to 24, not {gauge}")
    return Fraction(60 + 13 * gauge, 1000)


def pilot_hole(gauge: int, hard: bool) -> Fraction | None:
    """The pilot hole's diameter in inches, from the table; None for a gauge that the table lacks."""
    row = _PILOT.get(gauge)
    return None if row is None else row[hard]


def gauges() -> tuple[int, ...]:
    """The gauges of the pilot-hole table."""
    return tuple(_PILOT)


def in_stud(length: Fraction, layers: Sequence[Fraction]) -> Fraction:
    """What is left of a screw for the stud after the layers it passes (frame, shim), in inches; never below zero."""
    return max(Fraction(0), length - sum(layers, Fraction(0)))


def screw_length(layers: Sequence[Fraction], penetration: Fraction) -> Fraction:
    """The shortest screw that reaches so far into the stud through the layers, in inches."""
    return sum(layers, Fraction(0)) + penetration


def stocked(length: Fraction) -> Fraction | None:
    """The shortest stocked screw of at least this length, in inches; None when none is so long."""
    return next((size for size in STOCKED if size >= length), None)


def least_penetration(gauge: int) -> Fraction:
    """Penetration below which a screw counts for nothing: 6 diameters, in inches (NDS)."""
    return 6 * diameter(gauge)


def full_penetration(gauge: int) -> Fraction:
    """Penetration that design tables assume: 10 diameters, in inches (NDS)."""
    return 10 * diameter(gauge)


def withdrawal(gravity: Fraction, gauge: int, end_grain: bool = False) -> Fraction:
    """Withdrawal design value in pounds for an inch of thread: 2850 G**2 D in side grain, none in end grain (NDS)."""
    return Fraction(0) if end_grain else 2850 * gravity**2 * diameter(gauge)


def thread_in_stud(length: Fraction, embedded: Fraction) -> Fraction:
    """Inches of thread in the stud: what is embedded, and no more than the screw's threaded part."""
    return min(embedded, length * THREADED)


TALLEST = Fraction(480)
END = Fraction(5)
MOST_APART = Fraction(24)
_NEAR = Fraction(4)


def shim_points(
    height: Fraction, hinges: Sequence[Fraction] = (), strikes: Sequence[Fraction] = ()
) -> tuple[Fraction, ...]:
    """Heights of the shim pairs of a side frame: near both ends, at each hinge and strike, none over 24 in apart.

    An end pair within 4 in of a hinge is left to the hinge. All in inches from the bottom. Common practice.
    Raises ValueError for a hinge or strike that is not on the frame, a frame too short for two pairs, or over 40 ft.
    """
    wanted = sorted({*hinges, *strikes})
    if not 4 * END <= height <= TALLEST:
        raise ValueError(f"a side frame of {height} in is too {'short' if height < TALLEST else 'tall'}")
    if wanted and not 0 < wanted[0] <= wanted[-1] < height:
        raise ValueError("a hinge or strike lies beyond the ends of the frame")
    ends = [end for end in (END, height - END) if all(abs(end - one) > _NEAR for one in wanted)]
    fixed = sorted({*wanted, *ends})
    points = [fixed[0]]
    for above in fixed[1:]:
        gap = above - points[-1]
        parts = math.ceil(gap / MOST_APART)
        points += [points[-1] + gap * part / parts for part in range(1, parts + 1)]
    return tuple(points)


def screw_count(points: int, hinges: int, per_point: int = 1) -> tuple[int, int]:
    """Screws for a frame with so many shim points and hinges: those at the shims, and one longer one a hinge.

    Common practice. Raises ValueError for a negative number.
    """
    if min(points, hinges, per_point) < 0:
        raise ValueError("a number of screws can't be negative")
    return points * per_point, hinges


def screws_for(load: Fraction, each: Fraction) -> int | None:
    """How many screws carry a withdrawal load, each so much, in pounds; None when one carries nothing."""
    return None if each <= 0 else math.ceil(load / each)
