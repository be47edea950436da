"""A frame, its readings, tolerances and rounds, read from plain data into a case for the advice.

Signs are those of the doors' procedures: see `SIGNS`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from guide.problems import did_you_mean
from guide.trade import told
from guide.trade.advice import Case
from guide.trade.answer import by_tape, in_words
from guide.trade.fault import WallLean
from guide.trade.frame import TOUCHING_U, Frame, FrameError, Point, Side, Spot, Unit, Wanted, frame_of, wanted
from guide.trade.given import Given
from guide.trade.instruments import slope_of
from guide.trade.learn import Round
from guide.trade.task import SHIM

MOST_OFF = Fraction(3)
"""No reading is further off than this (in): the model holds for small changes."""

ONE_LEAF_TO = Fraction(48)
"""A unit up to this wide (in) is taken for one leaf when nobody says (common practice)."""

STEEPEST = Fraction(5)
"""The steepest lean that is read, in degrees."""

SIGNS = (
    "Signs, seen from inside: square + open at the far end of the leg; plumb_along + the top leans to the right; "
    "plumb_across + the top leans to the outside; levels + the right end is high; flush + proud of the wall; "
    "string_gap + the string from the top left is nearer to you. string_gap is what is read where crossed strings "
    "meet; twist is that of the frame, twice the gap: give either."
)

_GAPS = ("head_reveal", "hinge_reveal", "lock_reveal", "meeting_gap")
_SLOPED = ("plumb_along", "plumb_across", "sill_level", "head_level")
_FILLER = frozenset(["hinge", "side", "point", "lock", "end", "door", "the", "of", "at", "frame"])


@dataclass(slots=True)
class _Input:
    """The frame and what was given of it; `notes` are lines for the working."""

    frame: Frame
    notes: list[str]

    def span(self, reading: str) -> Fraction:
        """The length a level reads over (in)."""
        return self.frame.unit.level if reading.startswith("plumb") else self.frame.unit.width


def _words(name: str) -> frozenset[str]:
    return frozenset(name.replace("-", " ").replace("_", " ").lower().split())


def _found(name: str, known: Iterable[str], beside: str | None = None) -> str | None:
    """The known name that has these words in any order; `beside` is a word that may be there or not ("left")."""
    extra = _FILLER if beside is None else _FILLER | {beside}
    words, close = _words(name), None
    for one in known:
        other = _words(one)
        if words == other:
            return one
        if close is None and words - extra == other - extra != frozenset():
            close = one
    return close


def _unit(given: Given, notes: list[str]) -> Unit:
    part = given.part("unit")
    if part is None:
        given.fault(None, '"unit" is missing', "Give it: unit: {width: 72 1/2 in, height: 82 in}", "missing")
        part = Given({"width": 72, "height": 82}, given.place_of)
    width, height = part.amount("width", "in", above=0), part.amount("height", "in", above=0)
    leaves = part.whole("leaves", 0, 1, 2)
    side: Side = "right" if part.choice("hinge_side", ("left", "right"), "left") == "right" else "left"
    hinges = tuple(part.amounts("hinges", "in", above=0, fewest=2)) if part.has("hinges") else ()
    points = tuple(part.amounts("lock_side", "in", above=0, fewest=2)) if part.has("lock_side") else ()
    leg = part.amount("square", "in", min(Fraction(24), width, height), above=0)
    level = part.optional("level", "in", above=0) or Fraction(0)
    edge = part.amount("edge", "in", min(Fraction(2), width / 8), least=0)
    given.problems.raise_if_any()
    if not leaves:
        leaves = 1 if width <= ONE_LEAF_TO else 2
        notes.append(
            f"Taken as {'one leaf' if leaves == 1 else 'a pair'}, by its width; say leaves: 1 or leaves: 2 to be sure."
        )
    if leaves == 1 and not part.has("hinge_side"):
        notes.append("Hinges taken to be on the left, seen from inside; say hinge_side if they are not.")
    if not hinges:
        notes.append("Hinges taken at an eighth, a half and seven eighths of the height.")
    try:
        return Unit(width, height, leaves, hinges, side, points, leg, level, edge)
    except FrameError as fault:
        part.fault(fault.key if part.has(fault.key) else None, str(fault))
        given.problems.raise_if_any()
        raise


def _reading(part: Given, name: str, about: _Input) -> str | None:
    """The reading of this name, or a fault."""
    known = list(dict.fromkeys(reading for reading, _ in about.frame.spots))
    found = next((one for one in known if _words(one) == _words(name)), None)
    if found is None:
        hint = did_you_mean(name, known) or f"Known here: {', '.join(known)}."
        part.fault(name, f'no reading of this unit is called "{name}"', hint, "key")
    return found


def _readings(given: Given, key: str, about: _Input) -> dict[Spot, Fraction]:
    """Readings by place, in the model's own terms."""
    part = given.part(key)
    found: dict[Spot, Fraction] = {}
    if part is None:
        return found
    names = part.keys()
    for name in names:
        reading = _reading(part, name, about)
        if reading is None:
            continue
        places = [place for of, place in about.frame.spots if of == reading]
        if places == [""]:
            if part.has(name):
                found[reading, ""] = _one(part, name, reading, about)
            continue
        here = part.part(name)
        if here is None:
            continue
        for spoken in tuple(here.keys()):
            place = _found(spoken, places, about.frame.unit.hinge_side if about.frame.unit.leaves == 1 else None)
            if place is None:
                hint = did_you_mean(spoken, places) or f"Places: {', '.join(places)}."
                here.fault(spoken, f'{told.READINGS[reading]} has no place "{spoken}" on this unit', hint, "key")
            elif (reading, place) in found:
                here.fault(spoken, f"{told.spot_told((reading, place))} is given twice", code="twice")
            elif here.has(spoken):
                found[reading, place] = _one(here, spoken, reading, about)
    return found


def _one(part: Given, key: str, reading: str, about: _Input) -> Fraction:
    unit = part.unit_of(key)
    if reading in _SLOPED and unit in ("deg", "%", "mm/m", "in/ft"):
        return _by_slope(part, key, unit, about, about.span(reading))
    if reading in _GAPS:
        return part.amount(key, "in", least=0, most=MOST_OFF)
    return part.amount(key, "in", least=-MOST_OFF, most=MOST_OFF)


def _by_slope(part: Given, key: str, unit: str, about: _Input, length: Fraction) -> Fraction:
    """What a level that reads a slope or an angle means over this length (in)."""
    if unit == "deg":
        steep = part.amount(key, unit, least=-STEEPEST, most=STEEPEST)
        slope = slope_of(steep) * (1 if steep > 0 else -1)
    else:
        steep = part.amount(key, "%", least=-100 * MOST_OFF / length, most=100 * MOST_OFF / length)
        slope, unit = steep / 100, "%"
    shown = f"{key}: {in_words(steep, unit, 3)} over {by_tape(length)} is {in_words(slope * length, 'in', 4)}."
    about.notes.append(shown)
    return slope * length


def _wanted(given: Given, about: _Input, read: Collection[Spot]) -> dict[Spot, Wanted]:
    """The tolerances of common practice, with what was given in their place; of twist and gap only what is read."""
    left_out = {("twist", "")} if ("twist", "") not in read else {("string_gap", "")} - set(read)
    found = wanted([spot for spot in about.frame.spots if spot not in left_out])
    limits, sure = given.part("tolerances"), given.part("u")
    for part in (limits, sure):
        for name in part.keys() if part is not None else ():
            assert part is not None
            reading = _reading(part, name, about)
            if reading is None or not part.has(name):
                continue
            usual = wanted([(reading, "")])[reading, ""]
            low, high, nominal = _limits(part, name, usual.nominal) if part is limits else (None, None, None)
            u = part.amount(name, "in", above=0, most=1) if part is sure else None
            for spot, one in found.items():
                if spot[0] == reading:
                    changed = {"nominal": nominal, "low": low, "high": high, "u": u}
                    found[spot] = replace(one, **{key: value for key, value in changed.items() if value is not None})
    return found


def _even(given: Given, about: _Input) -> dict[str, Fraction]:
    """How far the places of a reading may differ from each other, by reading."""
    part, found = given.part("even"), dict[str, Fraction]()
    names = part.keys() if part is not None else ()
    for name in names:
        assert part is not None
        reading = _reading(part, name, about)
        if reading is not None and part.has(name):
            found[reading] = part.amount(name, "in", above=0, most=MOST_OFF)
    return found


def _limits(part: Given, name: str, nominal: Fraction) -> tuple[Fraction, Fraction, Fraction]:
    """Low, high and nominal of a tolerance, given as an amount either way or as a list of two: low, high."""
    ends = part.amounts(name, "in", least=-MOST_OFF, most=MOST_OFF)
    if len(ends) > 2:
        part.fault(name, f'"{name}" has {len(ends)} limits; a tolerance has two', "Write it like [1/16 in, 3/16 in].")
    if len(ends) == 1 and ends[0] <= 0:
        part.fault(name, f'"{name}" is {by_tape(ends[0], Fraction(1, 64))} either way; it must be more than nothing')
    low, high = (nominal - ends[0], nominal + ends[0]) if len(ends) == 1 else (ends[0], ends[1])
    if len(ends) == 2 and low >= high:
        part.fault(name, f"the tolerance is empty: from {low} to {high}", "Are the two the wrong way round?")
    return low, high, nominal if low <= nominal <= high else (low + high) / 2


def _point(given: Given, key: str | int, name: str, frame: Frame) -> Point | None:
    """The shim point of this name, or a fault."""
    known = {point.name: point for point in frame.points}
    beside = frame.unit.hinge_side if frame.unit.leaves == 1 else None
    found = _found(name, known, beside)
    if found is None:
        hint = did_you_mean(name, known) or f"There are: {', '.join(known)}."
        given.fault(key, f'this unit has no shim point "{name}"', hint, "key")
        return None
    return known[found]


def _ruled_out(given: Given, frame: Frame) -> frozenset[str]:
    part, names = given.texts("ruled_out")
    points = [_point(part, at, name, frame) for at, name in enumerate(names) if name]
    return frozenset(point.name for point in points if point is not None)


def _room(given: Given, frame: Frame) -> dict[str, tuple[Fraction, Fraction]]:
    """How far points may go, as given: {point: {direction: amount}}; a direction left out keeps what is usual."""
    part, found = given.part("room"), dict[str, tuple[Fraction, Fraction]]()
    for name in part.keys() if part is not None else ():
        assert part is not None
        point, ways = _point(part, name, name, frame), part.part(name)
        if point is not None and ways is not None:
            most = ways.amount(point.plus, "in", point.high, least=0, most=MOST_OFF)
            found[point.name] = -ways.amount(point.minus, "in", -point.low, least=0, most=MOST_OFF), most
    return found


def _rounds(given: Given, about: _Input) -> list[Round]:
    """Each round of moves as they were told, and what was read after it."""
    rounds = []
    for part in given.parts("rounds"):
        moves: dict[str, Fraction] = {}
        for move in part.parts("moves"):
            name = move.text("point")
            point = _point(move, "point", name, about.frame) if name else None
            by = move.amount("by", "in", above=0, most=MOST_OFF)
            if point is not None:
                way = move.choice("direction", (point.plus, point.minus))
                moves[point.name] = moves.get(point.name, Fraction(0)) + (by if way == point.plus else -by)
            else:
                move.has("direction")
        readings = _readings(part, "readings", about)
        if not readings:
            part.fault(None, 'a round needs "readings": what was read after its moves', code="missing")
        rounds.append(Round(readings, moves))
    return rounds


def _wall(given: Given) -> WallLean | None:
    part = given.part("wall_lean")
    if part is None:
        return None
    left, right = (-part.amount(side, "in", least=-MOST_OFF, most=MOST_OFF) for side in ("left", "right"))
    return WallLean(left, right, part.amount("u", "in", Fraction(1, 48), above=0, most=1))


def case_of(given: Given) -> tuple[Case, list[str]]:
    """The case that the input tells of, and lines for the working. Raises `ProblemError` with every fault."""
    notes: list[str] = []
    about = _Input(frame_of(_unit(given, notes)), notes)
    rounds = (Round(_readings(given, "readings", about)), *_rounds(given, about))
    limits = _wanted(given, about, {spot for one in rounds for spot in one.readings})
    for spot in sorted({s for one in rounds for s, by in one.readings.items() if s[0] in _GAPS and not by}):
        limits[spot] = replace(limits[spot], u=max(limits[spot].u, TOUCHING_U))
        notes.append(f"{told.spot_told(spot)}: shut; nobody sees by how much, so it is trusted to 1/16 in.")
    step = given.amount("step", "in", SHIM, above=0, most=1)
    room, ruled_out, wall = _room(given, about.frame), _ruled_out(given, about.frame), _wall(given)
    even = _even(given, about)
    if not rounds[0].readings and not len(given.problems):
        given.fault(None, "there are no readings to go by", "Give them: readings: {head_level: 3/16 in}", "missing")
    given.finish()
    return Case(about.frame, rounds, limits, wall, room, ruled_out, step, even), notes
