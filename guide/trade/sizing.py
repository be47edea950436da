"""Sizing rules of the trade: the unit for an opening, the frame for a wall, the split of a wall out of plumb.

Lengths are exact fractions of an inch. All of it is common practice; a unit's own instructions come first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")


@dataclass(frozen=True, slots=True)
class Rules:
    """Sizing rules, in inches; all common practice."""

    width_less: Fraction = Fraction(1)
    """A unit's width is the opening's less this."""
    height_less: Fraction = Fraction(1, 2)
    """A unit's height is the opening's less this."""
    shim_room: Fraction = Fraction(1, 4)
    """Room that shims want on each side and at the head."""
    shims_most: Fraction = Fraction(3, 4)
    """Thicker shims than this make screws too long."""
    frame_over_wall: Fraction = Fraction(1, 8)
    """A frame is deeper than the wall by this: 4-9/16 for the 4-7/16 of a 2x4 wall, 6-9/16 for 6-7/16."""
    stock_depths: tuple[Fraction, ...] = (Fraction(73, 16), Fraction(105, 16))
    trim_covers: Fraction = Fraction(3, 16)
    """The step between frame and wall face that trim covers."""
    bearing_over_frame: Fraction = Fraction(23, 16)
    """Subfloor under a sill, more than the frame's depth: 6 in for 4-9/16, 8 in for 6-9/16."""
    order_step: Fraction = Fraction(1, 16)
    """Units are ordered in whole multiples of this, downward."""


RULES = Rules()


def size(widths: Sequence[Fraction], heights: Sequence[Fraction], rules: Rules = RULES) -> tuple[Fraction, Fraction]:
    """Unit width and height from the smallest of the opening's widths and heights, in inches (common practice)."""
    return min(widths) - rules.width_less, min(heights) - rules.height_less


def frame_depth(wall: Fraction, rules: Rules = RULES) -> Fraction:
    """The frame's depth for a wall's, in inches: a stock depth if trim covers what that is off by, else to measure."""
    wanted = wall + rules.frame_over_wall
    stock = min(rules.stock_depths, key=lambda one: abs(one - wanted))
    return stock if abs(stock - wanted) <= rules.trim_covers else wanted


def bearing(depth: Fraction, rules: Rules = RULES) -> Fraction:
    """How deep the subfloor under a frame of this depth is wanted, in inches (common practice)."""
    return depth + rules.bearing_over_frame


@dataclass(frozen=True, slots=True)
class Step:
    """A plumb side frame in a leaning wall, the lean split between top and bottom.

    `step` is how far it stands proud of the wall's inside face at one end and behind it at the other, in inches.
    `build_out` is 0 when trim covers that; else the frame is set as far proud as trim covers, and this is the least
    that its other end must be built out by.
    """

    side: Side
    step: Fraction
    proud: Literal["top", "bottom", "neither"]
    build_out: Fraction


def split(lean: Fraction, side: Side, rules: Rules = RULES) -> Step:
    """The split of a wall's lean at one side (plus: its top leans to the outside), in inches. Common practice."""
    step = abs(lean) / 2
    proud: Literal["top", "bottom", "neither"] = "neither" if not lean else "top" if lean > 0 else "bottom"
    return Step(side, step, proud, max(Fraction(0), 2 * (step - rules.trim_covers)))


def plumb_depth(walls: Sequence[Fraction], leans: Sequence[Fraction]) -> Fraction:
    """The depth that stays inside both faces of the wall from sill to head, in inches; below zero if none does.

    The wall's smallest depth less its largest lean: a frame may turn with the wall, but it stands plumb.
    """
    return min(walls) - max((abs(lean) for lean in leans), default=Fraction(0))
