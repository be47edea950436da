"""The readings of an opening and the size of a unit from plain input: lists or places, any unit a level reads in."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from guide.problems import Place
from guide.quantity import ANGLE, NUMBER, UNITS
from guide.trade.fit import Unit
from guide.trade.given import Given, Path
from guide.trade.instruments import INSTRUMENTS
from guide.trade.opening import NAMES, Tools
from guide.trade.sizing import SIDES, Side

LEAST, MOST = Fraction(6), Fraction(480)
"""No opening is narrower or lower than the one, nor wider or higher than the other, in inches."""

STEEPEST = Fraction(1, 10)
"""No stud leans and no sill falls by more than this share of its length."""

TAPES = tuple(name for name in INSTRUMENTS if name.startswith("tape"))
LEVELS = tuple(name for name in INSTRUMENTS if name.endswith("level"))

_SPREAD: Mapping[int, tuple[int, ...]] = MappingProxyType({1: (1,), 2: (0, 2), 3: (0, 1, 2)})
"""Which of first, middle and last a list of so many readings gives: one alone counts as the middle one."""

_LISTS: Mapping[str, tuple[str, tuple[str, ...]]] = MappingProxyType(
    {
        "widths": ("width", ("bottom", "middle", "top")),
        "heights": ("height", ("left", "middle", "right")),
        "diagonals": ("diagonal", ("rising", "falling")),
        "lean": ("lean", SIDES),
        "lean_across": ("lean across", SIDES),
    }
)
"""Key of the input: what its readings are called, and their places in the order of a list."""

HINGE_FROM_END = Fraction(8)
"""Where the outer of three hinges sit from a frame's ends when nobody says, the third between (common practice)."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What was read of an opening, in inches: `readings` for `survey`, the wall's leans and depths, the floor."""

    readings: Mapping[str, Fraction]
    across: Mapping[Side, Fraction]
    walls: tuple[Fraction, ...]
    bearing: Fraction | None
    tools: Tools


def sizes(given: Given, key: str, required: bool = False) -> dict[str, Fraction]:
    """Lengths of an opening by name from a list, a mapping of places, or one amount alone; faults are noted."""
    if required and not given.has(key):
        given.amounts(key, "in")
    part = _by_place(given, key)
    what, places = _LISTS[key]
    return (
        {}
        if part is None
        else {
            f"{what} {place}": part.amount(place, "in", least=LEAST, most=MOST) for place in places if part.has(place)
        }
    )


def _by_place(given: Given, key: str) -> Given | None:
    """What is under the key as a mapping of places: a list has them in order, one amount alone is the middle one."""
    value = given.raw(key)
    if value is None:
        return None
    places = _LISTS[key][1]
    if isinstance(value, Mapping):
        part = given.part(key)
        if not value:
            given.fault(key, f'"{key}" holds nothing', f"Its places are {', '.join(places)}.", "missing")
        return part
    several = isinstance(value, list | tuple)
    items = list(value) if isinstance(value, list | tuple) else [value]
    at = _SPREAD.get(len(items)) if len(places) == 3 else range(2) if len(items) == 2 else None
    if at is None:
        message = f'"{key}" has {len(items)} of the {len(places)} values it takes'
        given.fault(key, message, f"Give {', '.join(places)}, in this order, or each with its name.")
        return None
    listed = [places[i] for i in at]

    def place_of(path: Path) -> Place | None:
        *above, name = path
        return given.place_of((*above, listed.index(str(name))) if several and name in listed else tuple(above))

    return Given(dict(zip(listed, items, strict=True)), place_of, given.problems, (*given.path, key))


def readings(given: Given) -> Taken:
    """Everything that may be known of an opening; impossible figures are noted as faults."""
    tape, level, case = _tools(given)
    found: dict[str, Fraction] = {}
    for key in ("widths", "heights", "diagonals"):
        found |= sizes(given, key)
    wide, tall = _mean(found, "width"), _mean(found, "height")
    lean_over = given.optional("lean_over", "in", above=0, most=MOST)
    sill_over = given.optional("sill_over", "in", above=0, most=MOST)
    found |= _leans(given, "lean", lean_over or tall, "heights", "lean_over")
    across_over = given.optional("lean_across_over", "in", above=0, most=MOST)
    across = _leans(given, "lean_across", across_over or tall, "heights", "lean_across_over")
    stretch = tall / across_over if across_over and tall else Fraction(1)
    if given.has("sill"):
        found["sill"] = _tilt(given, "sill", sill_over or wide, "widths", "sill_over")
    walls = tuple(given.amounts("thickness", "in", above=1, most=48)) if given.has("thickness") else ()
    bearing = given.optional("bearing", "in", above=0, most=MOST)
    _triangles(given, found)
    return Taken(
        MappingProxyType({name: found[name] for name in NAMES if name in found}),
        {side: across[f"lean across {side}"] * stretch for side in SIDES if f"lean across {side}" in across},
        walls,
        bearing,
        Tools(INSTRUMENTS[tape], INSTRUMENTS[level], lean_over, sill_over, case),
    )


def _tools(given: Given) -> tuple[str, str, Fraction | None]:
    part = given.part("instruments")
    if part is None:
        return "tape", "spirit level", None
    tape = part.choice("tape", TAPES, "tape")
    level = part.choice("level", LEVELS, "spirit level")
    return tape, level, part.optional("tape_case", "in", above=0, most=12)


def _mean(found: Mapping[str, Fraction], what: str) -> Fraction | None:
    values = [value for name, value in found.items() if name.startswith(f"{what} ")]
    return sum(values, Fraction(0)) / len(values) if values else None


def _leans(given: Given, key: str, over: Fraction | None, other: str, key_over: str) -> dict[str, Fraction]:
    """Leans of the left and the right stud by name, in inches over `over`."""
    part = _by_place(given, key)
    what, places = _LISTS[key]
    return (
        {}
        if part is None
        else {f"{what} {side}": _tilt(part, side, over, other, key_over) for side in places if part.has(side)}
    )


def _tilt(given: Given, key: str, over: Fraction | None, other: str, key_over: str) -> Fraction:
    """What a level shows, in inches over a length: written as a length, a slope (%, mm/m, in/ft) or an angle."""
    unit = given.unit_of(key)
    dimension = UNITS[unit][1]
    if unit and dimension in (NUMBER, ANGLE):
        if dimension == ANGLE:
            degrees = given.amount(key, "deg", least=-45, most=45)
            slope = Fraction(round(math.tan(math.radians(degrees)) * 10**12), 10**12)
        else:
            slope = given.amount(key, "")
        if over is None:
            message = f'"{key}" is a slope: without a length it tells no inches'
            given.fault(key, message, f'Give "{other}" or "{key_over}" as well.', "missing")
            return Fraction(0)
        tilt = slope * over
    else:
        tilt = given.amount(key, "in")
    if over is not None and abs(tilt) > STEEPEST * over:
        message = f'"{key}" is more than one in ten: no opening leans so'
        given.fault(key, message, "Is the unit, or a digit, wrong?")
    return tilt


def _triangles(given: Given, found: Mapping[str, Fraction]) -> None:
    """Note a diagonal that no corners could have with these widths and heights."""
    wide = [v for name, v in found.items() if name.startswith("width ")]
    tall = [v for name, v in found.items() if name.startswith("height ")]
    for name in ("diagonal rising", "diagonal falling"):
        value = found.get(name)
        if value is None:
            continue
        if wide and tall and value >= max(wide) + max(tall):
            given.fault("diagonals", f"{NAMES[name]} is as long as width and height together: no opening has that")
        elif value <= max(wide + tall, default=Fraction(0)):
            given.fault("diagonals", f"{NAMES[name]} is no longer than a side of the opening: no opening has that")


def unit(given: Given) -> Unit:
    """The unit under the key "unit"; hinges where they commonly sit unless they are given."""
    part = given.part("unit")
    if part is None:
        given.fault(None, '"unit" is missing', "Give it: unit: {width: …, height: …}", "missing")
        return Unit(Fraction(36), Fraction(80))
    width = part.amount("width", "in", least=LEAST, most=MOST)
    height = part.amount("height", "in", least=20, most=MOST)
    depth = part.optional("depth", "in", above=0, most=48)
    side = part.choice("hinge_side", ("left", "right", "both"), "both")
    strikes = part.amounts("strikes", "in", above=0) if part.has("strikes") else []
    hinges = part.amounts("hinges", "in", above=0) if part.has("hinges") else common_hinges(height)
    for key, heights in (("hinges", hinges), ("strikes", strikes)):
        if part.has(key) and any(one >= height for one in heights):
            part.fault(key, f'"unit.{key}" has one beyond the end of the frame', "Heights are from the frame's bottom.")
    hinged: tuple[Side, ...] = SIDES if side == "both" else ("left",) if side == "left" else ("right",)
    return Unit(width, height, depth, tuple(sorted(hinges)), tuple(sorted(strikes)), hinged)


def common_hinges(height: Fraction) -> list[Fraction]:
    """Three hinges where they commonly sit on a frame of this height, from its bottom, in inches (common practice)."""
    return [HINGE_FROM_END, height / 2, height - HINGE_FROM_END]
