"""What a lift may weigh: the revised NIOSH lifting equation, its customary and its metric set kept apart.

RWL = LC x HM x VM x DM x AM x FM x CM. Customary: inches and pounds; metric: centimetres and kilograms. The metric
constants are their own rounded set, so a lift is worked in the set its figures are given in, never converted.
Everything is an exact fraction. Source: NIOSH 94-110; the frequency table and the two-person rule are from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Literal

NOT_COVERED: tuple[str, ...] = (
    "lifting by two or more people",
    "carrying, pushing or pulling",
    "cramped places, kneeling or sitting",
    "loads that are unstable or shift, such as a door that swings in its frame",
    "a slippery floor, ladders and steps, great heat or cold",
    "one-handed lifts and quick ones",
)
"""What the equation does not cover (NIOSH 94-110)."""

PAIR_SHARE = Fraction(2, 3)
"""Of the sum of what each of two people could lift alone, what they can lift together (ISO 11228-1, from memory)."""


@dataclass(frozen=True, slots=True)
class Units:
    """One set of the equation's constants, in its own units."""

    length: str
    mass: str
    constant: Fraction
    near: Fraction
    """H up to which the horizontal multiplier is 1, and its numerator."""
    far: Fraction
    knuckle: Fraction
    """V at which the vertical multiplier is 1."""
    per_height: Fraction
    highest: Fraction
    per_travel: Fraction
    short: Fraction
    longest: Fraction


CUSTOMARY = Units(
    "in",
    "lb",
    Fraction(51),
    Fraction(10),
    Fraction(25),
    Fraction(30),
    Fraction(75, 10_000),
    Fraction(70),
    Fraction(18, 10),
    Fraction(10),
    Fraction(70),
)
METRIC = Units(
    "cm",
    "kg",
    Fraction(23),
    Fraction(25),
    Fraction(63),
    Fraction(75),
    Fraction(3, 1000),
    Fraction(175),
    Fraction(45, 10),
    Fraction(25),
    Fraction(175),
)
PER_DEGREE = Fraction(32, 10_000)
MOST_DEGREES = Fraction(135)
TRAVEL = Fraction(82, 100)


@dataclass(frozen=True, slots=True)
class Lift:
    """One lift: hands out from the ankles (h), up from the floor (v), travel up or down (d), twist (a, degrees)."""

    h: Fraction
    v: Fraction
    d: Fraction
    a: Fraction = Fraction(0)
    fm: Fraction = Fraction(1)
    cm: Fraction = Fraction(1)
    units: Units = CUSTOMARY

    def __post_init__(self) -> None:
        for name, value in (("H", self.h), ("V", self.v), ("D", self.d), ("A", self.a)):
            if value < 0:
                raise ValueError(f"{name} can't be negative")
        for name, value in (("FM", self.fm), ("CM", self.cm)):
            if not 0 <= value <= 1:
                raise ValueError(f"{name} lies between 0 and 1")


def multipliers(lift: Lift) -> Mapping[str, Fraction]:
    """The six multipliers, each from 0 (not to be lifted so) to 1."""
    units = lift.units
    return MappingProxyType(
        {
            "HM": Fraction(0) if lift.h > units.far else units.near / max(lift.h, units.near),
            "VM": Fraction(0) if lift.v > units.highest else 1 - units.per_height * abs(lift.v - units.knuckle),
            "DM": Fraction(0)
            if lift.d > units.longest
            else Fraction(1)
            if lift.d <= units.short
            else TRAVEL + units.per_travel / lift.d,
            "AM": Fraction(0) if lift.a > MOST_DEGREES else 1 - PER_DEGREE * lift.a,
            "FM": lift.fm,
            "CM": lift.cm,
        }
    )


def weight_limit(factors: Mapping[str, Fraction], units: Units = CUSTOMARY) -> Fraction:
    """The recommended weight limit from the multipliers, in pounds or kilograms."""
    limit = units.constant
    for factor in factors.values():
        limit *= factor
    return limit


def recommended_limit(lift: Lift) -> Fraction:
    """The recommended weight limit (RWL) of a lift by one person, in pounds or kilograms."""
    return weight_limit(multipliers(lift), lift.units)


def lifting_index(load: Fraction, limit: Fraction) -> Fraction | None:
    """Load over limit (LI): up to 1 is the aim; None when the limit is zero, so that nothing may be lifted so."""
    return None if limit == 0 else load / limit


def pair_limit(first: Fraction, second: Fraction) -> Fraction:
    """What two people together can lift: two thirds of the sum of what each could alone; not the equation's own."""
    return PAIR_SHARE * (first + second)


_FREQUENCY: Mapping[Fraction, tuple[Fraction, Fraction, Fraction]] = MappingProxyType(
    {
        Fraction(1, 5): (Fraction(100, 100), Fraction(95, 100), Fraction(85, 100)),
        Fraction(1): (Fraction(94, 100), Fraction(88, 100), Fraction(75, 100)),
        Fraction(2): (Fraction(91, 100), Fraction(84, 100), Fraction(65, 100)),
        Fraction(4): (Fraction(84, 100), Fraction(72, 100), Fraction(45, 100)),
    }
)
_HOURS = (Fraction(1), Fraction(2), Fraction(8))


def frequency_multiplier(per_minute: Fraction, hours: Fraction) -> Fraction | None:
    """FM for so many lifts a minute over so many hours, by the next higher row of the table; None beyond it.

    Rows: up to 0.2, 1, 2 and 4 lifts a minute; columns: up to 1, 2 and 8 hours. Source: NIOSH 94-110, from memory.
    """
    row = next((row for rate, row in _FREQUENCY.items() if per_minute <= rate), None)
    column = next((at for at, most in enumerate(_HOURS) if hours <= most), None)
    return None if row is None or column is None else row[column]


GRIPS = ("good", "fair", "poor")


def coupling_multiplier(grip: str, v: Fraction, units: Units = CUSTOMARY) -> Fraction:
    """CM for a grip: good 1; fair 0.95 with the hands under the knuckles' height, else 1; poor 0.90."""
    if grip == "fair":
        return Fraction(95, 100) if v < units.knuckle else Fraction(1)
    return {"good": Fraction(1), "poor": Fraction(90, 100)}[grip]


@dataclass(frozen=True, slots=True)
class Way:
    """One change that makes a lift acceptable: the figure that changes, to what, and the limit it can reach."""

    what: Literal["H", "V", "D", "A", "FM", "CM"]
    to: Fraction
    """As near to the present figure as the load allows."""
    limit: Fraction
    """The limit with this figure at its best."""


def ideal(units: Units) -> Lift:
    """The lift whose limit is the whole constant: near, at knuckle height, short, straight, seldom, a good grip."""
    return Lift(units.near, units.knuckle, units.short, units=units)


def ways(lift: Lift, load: Fraction) -> list[Way]:
    """Every single change that alone brings the load within the limit; none when the lift already is, or can't be."""
    if load <= recommended_limit(lift):
        return []
    best = ideal(lift.units)
    alone: list[tuple[Literal["H", "V", "D", "A", "FM", "CM"], Lift]] = [
        ("H", replace(lift, h=best.h)),
        ("V", replace(lift, v=best.v)),
        ("D", replace(lift, d=best.d)),
        ("A", replace(lift, a=best.a)),
        ("FM", replace(lift, fm=best.fm)),
        ("CM", replace(lift, cm=best.cm)),
    ]
    found = []
    for what, changed in alone:
        limit = recommended_limit(changed)
        if limit >= load:
            found.append(Way(what, _least_change(lift, what, load / limit), limit))
    return found


def _least_change(lift: Lift, what: str, need: Fraction) -> Fraction:
    """The figure nearest to the present one whose multiplier is `need` (at most 1)."""
    units = lift.units
    if what == "H":
        return min(units.far, units.near / need)
    if what == "V":
        away = (1 - need) / units.per_height
        above = lift.v > units.knuckle
        return min(units.highest, units.knuckle + away) if above else max(Fraction(0), units.knuckle - away)
    if what == "D":
        return units.longest if need <= TRAVEL else min(units.longest, units.per_travel / (need - TRAVEL))
    if what == "A":
        return min(MOST_DEGREES, (1 - need) / PER_DEGREE)
    return need
