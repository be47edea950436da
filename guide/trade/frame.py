"""The frame and its leaves as one linear model: what every shim point does to every reading.

Lengths are inches; x runs across the opening to the right as seen from inside, y from the wall toward the room, z up.
Everything is a small change from the nominal place, so that effects add. What is taken as true:

* Head and sill keep their length: both tops of the side frames move along the wall together, and so do both bottoms.
* A side frame bends between its shim points as a thin beam that is held only there, and is straight across the wall.
* A leaf is a rigid rectangle. Its hinge edge is the straight line that lies best among its hinges; it rises with its
  end of the sill, and as it leans its top tips.
* The head is a beam on the two side frames, pushed up or down in the middle.

Two combinations of moves change no reading at all: the whole frame sideways, and both ends of the sill together.
Source: small rigid motions and Euler-Bernoulli beams; the tolerances are common practice.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import Literal

from guide.trade.beam import through

Side = Literal["left", "right"]
Kind = Literal["along", "across", "up"]
Spot = tuple[str, str]
"""A reading and its place: ("square", "top left")."""

SIDES: tuple[Side, Side] = ("left", "right")
ENDS = ("bottom", "top")
CORNERS = tuple(f"{end} {side}" for end in ENDS for side in SIDES)
THREE = ("bottom", "middle", "top")


class FrameError(ValueError):
    """A unit that can't be: the message says what is wrong with it, `key` which of its figures."""

    def __init__(self, key: str, message: str) -> None:
        self.key = key
        super().__init__(message)


@dataclass(frozen=True, slots=True)
class Unit:
    """A hinged unit: one leaf or two in a frame. Lengths in inches, heights from the bottom of the side frames.

    `width` is that of the head between the side frames, `height` that of the side frames. `hinges` are the heights of
    the hinges of each leaf. On the lock side of a single door, `lock_side` are the heights of its shim points.
    `hinge_side` is a single door's, seen from inside. `square` is the leg of the square, `level` the length the side
    frames are plumbed over, its middle at theirs, `edge` how far from a corner of a leaf its reveal is taken.
    Raises FrameError for a unit that can't be.
    """

    width: Fraction
    height: Fraction
    leaves: int = 2
    hinges: tuple[Fraction, ...] = ()
    hinge_side: Side = "left"
    lock_side: tuple[Fraction, ...] = ()
    square: Fraction = Fraction(24)
    level: Fraction = Fraction(0)
    edge: Fraction = Fraction(2)

    def __post_init__(self) -> None:
        for key, value in (("width", self.width), ("height", self.height)):
            if value <= 0:
                raise FrameError(key, f"the unit's {key} must be more than nothing")
        if self.leaves not in (1, 2):
            raise FrameError("leaves", "a unit has one leaf or two")
        if not self.hinges:
            object.__setattr__(self, "hinges", (self.height / 8, self.height / 2, self.height * 7 / 8))
        if not self.lock_side:
            object.__setattr__(self, "lock_side", (self.height / 8, self.height / 2, self.height * 7 / 8))
        if not self.level:
            object.__setattr__(self, "level", self.height - 2)
        for key in ("hinges", "lock_side"):
            points: tuple[Fraction, ...] = getattr(self, key)
            object.__setattr__(self, key, tuple(sorted(points)))
            if len(points) < 2 or len(set(points)) < len(points):
                raise FrameError(key, "a side frame needs two different points or more between its ends")
            if min(points) <= 0 or max(points) >= self.height:
                raise FrameError(key, "a point lies beyond the ends of the side frame")
        if not 0 < self.level <= self.height:
            raise FrameError("level", "the level is longer than the side frame")
        if not 0 < self.square <= min(self.width, self.height):
            raise FrameError("square", "the square's leg is longer than a member")
        if not 0 <= self.edge < self.leaf_width / 2:
            raise FrameError("edge", "the reveal is taken nearer the corner than the middle of the leaf")

    @property
    def leaf_width(self) -> Fraction:
        """From the hinge edge to the far edge; the small gaps around it count for nothing here."""
        return self.width / self.leaves

    @property
    def hung(self) -> tuple[Side, ...]:
        """The sides that leaves hang on."""
        return SIDES if self.leaves == 2 else (self.hinge_side,)

    def points_of(self, side: Side) -> tuple[Fraction, ...]:
        """Heights of the shim points of a side frame between its ends."""
        return self.hinges if side in self.hung else self.lock_side


@dataclass(frozen=True, slots=True)
class Point:
    """A shim point: its name, the way it moves, what + and − are called there, and how far it can go (in).

    `low` and `high` are the room to either side; a sill end goes down only by what lies under it.
    """

    name: str
    kind: Kind
    plus: str
    minus: str
    low: Fraction
    high: Fraction

    def direction(self, amount: Fraction) -> str:
        """What this way is called at this point."""
        return self.plus if amount > 0 else self.minus


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong with the unit itself: its name, what an inch of it does to each reading, and what would cure it.

    A positive amount means longer, wider or taller; for a rack, that the far top corner of the leaf stands high; for a
    taper, wider at the top than at the bottom. Width and taper are those of both leaves of a pair together: nobody can
    tell from the gap between them which leaf has it.
    """

    name: str
    effect: Mapping[Spot, Fraction]
    plus: str
    minus: str


@dataclass(frozen=True, slots=True)
class Frame:
    """The model of a unit: its shim points, the readings it knows, what an inch at each point does to each reading."""

    unit: Unit
    points: tuple[Point, ...]
    spots: tuple[Spot, ...]
    effect: Mapping[Spot, tuple[Fraction, ...]]
    faults: tuple[Fault, ...]

    def after(self, readings: Mapping[Spot, Fraction], moves: Sequence[Fraction]) -> dict[Spot, Fraction]:
        """The readings once every point has been moved by its amount (in), exactly."""
        return {
            spot: value + sum((e * m for e, m in zip(self.effect[spot], moves, strict=True) if m), Fraction(0))
            for spot, value in readings.items()
        }


Row = dict[str, Fraction]
"""A figure as a sum of point amounts and fault amounts, by name."""


def _plus(*terms: tuple[Fraction | int, Row]) -> Row:
    found: Row = {}
    for factor, row in terms:
        for name, value in row.items():
            found[name] = found.get(name, Fraction(0)) + factor * value
    return found


_HINGE_NAMES = {2: ("bottom", "top"), 3: THREE, 4: ("bottom", "lower", "upper", "top")}


def _inner_names(unit: Unit, side: Side) -> tuple[str, ...]:
    heights = unit.points_of(side)
    names = _HINGE_NAMES.get(len(heights), tuple(str(at) for at in range(1, len(heights) + 1)))
    what = "hinge" if side in unit.hung else "lock-side point"
    return tuple(f"{side} {name} {what}" for name in names)


class _Geometry:
    """Where things are, each as a sum of point amounts and fault amounts."""

    def __init__(self, unit: Unit) -> None:
        self.unit = unit
        self.head = {side: self._ends(side) for side in SIDES}

    def _ends(self, side: Side) -> Row:
        """How high the head's end is: the sill's end under it and the length of the side frame."""
        return {f"{side} sill end": Fraction(1), f"{side} side frame": Fraction(1)}

    def member(self, side: Side, z: Fraction) -> Row:
        """x of a side frame at the height z."""
        unit, half = self.unit, Fraction(1 if side == "right" else -1, 2)
        bottom: Row = {"sill": Fraction(1), "sill length": half}
        top: Row = {"head": Fraction(1), "head length": half}
        inner: list[Row] = [{name: Fraction(1)} for name in _inner_names(unit, side)]
        weights = through((Fraction(0), *unit.points_of(side), unit.height), z)
        return _plus(*zip(weights, [bottom, *inner, top], strict=True))

    def head_at(self, x: Fraction) -> Row:
        """How high the underside of the head is at x from its left end."""
        width = self.unit.width
        left, middle, right = through((Fraction(0), width / 2, width), x)
        centre = _plus((Fraction(1, 2), self.head["left"]), (Fraction(1, 2), self.head["right"]), (1, _ONE_CENTRE))
        return _plus((left, self.head["left"]), (middle, centre), (right, self.head["right"]))

    def leaf_edge(self, side: Side, z: Fraction) -> Row:
        """x of the leaf's hinge edge at the height z: the straight line that fits its hinges best."""
        heights = self.unit.hinges
        mean = sum(heights, Fraction(0)) / len(heights)
        spread = sum(((h - mean) ** 2 for h in heights), Fraction(0))
        weights = [Fraction(1, len(heights)) + (h - mean) * (z - mean) / spread for h in heights]
        return _plus(*((weight, {name: Fraction(1)}) for weight, name in zip(weights, self._hinges(side), strict=True)))

    def _hinges(self, side: Side) -> tuple[str, ...]:
        return _inner_names(self.unit, side)

    def leaf_lean(self, side: Side) -> Row:
        """How far the leaf leans to the right over an inch of height."""
        return _plus((1, self.leaf_edge(side, Fraction(1))), (-1, self.leaf_edge(side, Fraction(0))))

    def leaf_far(self, side: Side, z: Fraction) -> Row:
        """x of the leaf's edge away from its hinges at the height z."""
        away, height, share = (1 if side == "left" else -1), self.unit.height, Fraction(1, self.unit.leaves)
        wider = {"leaf width": share, "leaf taper": share * (z - height / 2) / height}
        return _plus((1, self.leaf_edge(side, z)), (away, wider))

    def leaf_top(self, side: Side, off: Fraction) -> Row:
        """How high the leaf's top is, `off` inches from its hinge edge."""
        away = 1 if side == "left" else -1
        rack = {f"{side} leaf rack": off / self.unit.leaf_width}
        own = {f"{side} sill end": Fraction(1), f"{side} leaf height": Fraction(1)}
        return _plus((1, own), (-away * off, self.leaf_lean(side)), (1, rack))

    def room_at(self, side: Side, end: str) -> Row:
        """y of a corner of the frame."""
        return {f"{end} {side} corner": Fraction(1)}


_ONE_CENTRE: Row = {"head centre": Fraction(1)}


def _readings(unit: Unit) -> dict[Spot, Row]:
    at = _Geometry(unit)
    width, height, leg = unit.width, unit.height, unit.square
    found: dict[Spot, Row] = {}
    for side in SIDES:
        inward = 1 if side == "left" else -1
        near, far = (Fraction(0), leg) if side == "left" else (width, width - leg)
        sill = _plus((leg / width, {"right sill end": Fraction(1)}), (-leg / width, {"left sill end": Fraction(1)}))
        lean = _plus((1, at.member(side, leg)), (-1, at.member(side, Fraction(0))))
        found["square", f"bottom {side}"] = _plus((-inward, lean), (-1, _plus((inward, sill))))
        lean = _plus((1, at.member(side, height)), (-1, at.member(side, height - leg)))
        rise = _plus((1, at.head_at(far)), (-1, at.head_at(near)))
        found["square", f"top {side}"] = _plus((inward, lean), (1, rise))
        low, high = (height - unit.level) / 2, (height + unit.level) / 2
        found["plumb_along", f"{side} side"] = _plus((1, at.member(side, high)), (-1, at.member(side, low)))
        share = unit.level / height
        bottom, top = at.room_at(side, "bottom"), at.room_at(side, "top")
        found["plumb_across", f"{side} side"] = _plus((share, bottom), (-share, top))
        for end in ENDS:
            found["flush", f"{end} {side}"] = at.room_at(side, end)
    found["sill_level", ""] = {"right sill end": Fraction(1), "left sill end": Fraction(-1)}
    found["head_level", ""] = _plus((1, at.head["right"]), (-1, at.head["left"]))
    crossed = [(at.room_at("left", "top"), 1), (at.room_at("right", "bottom"), 1)]
    crossed += [(at.room_at("left", "bottom"), -1), (at.room_at("right", "top"), -1)]
    found["twist", ""] = _plus(*((sign, row) for row, sign in crossed))
    found["string_gap", ""] = _plus((Fraction(1, 2), found["twist", ""]))
    _reveals(unit, at, found)
    return found


def _reveals(unit: Unit, at: _Geometry, found: dict[Spot, Row]) -> None:
    width, height = unit.width, unit.height
    offs = {"near": unit.edge, "far": unit.leaf_width - unit.edge}
    three = (min(unit.hinges[0], height / 2), height / 2, max(unit.hinges[-1], height / 2))
    for side in unit.hung:
        other: Side = "right" if side == "left" else "left"
        names = {"near": side, "far": f"{side} meeting" if unit.leaves == 2 else other}
        for which, off in offs.items():
            x = off if side == "left" else width - off
            found["head_reveal", names[which]] = _plus((1, at.head_at(x)), (-1, at.leaf_top(side, off)))
        inward = 1 if side == "left" else -1
        for name, z in zip(_inner_names(unit, side), unit.hinges, strict=True):
            gap = _plus((1, at.leaf_edge(side, z)), (-1, at.member(side, z)))
            place = name.removesuffix(" hinge")
            found["hinge_reveal", place if unit.leaves == 2 else place.removeprefix(f"{side} ")] = _plus((inward, gap))
    if unit.leaves == 2:
        for place, z in zip(THREE, three, strict=True):
            found["meeting_gap", place] = _plus((1, at.leaf_far("right", z)), (-1, at.leaf_far("left", z)))
        return
    side = unit.hinge_side
    other = "right" if side == "left" else "left"
    outward = 1 if side == "left" else -1
    for place, z in zip(THREE, three, strict=True):
        gap = _plus((1, at.member(other, z)), (-1, at.leaf_far(side, z)))
        found["lock_reveal", place] = _plus((outward, gap))


ALONG_ROOM = Fraction(1, 2)
ACROSS_ROOM = Fraction(1, 2)
SILL_ROOM = Fraction(1, 4)
HEAD_ROOM = Fraction(1, 8)
"""How far a point goes unless the opening says otherwise (common practice: half an inch of shim space a side)."""


def _points(unit: Unit) -> tuple[Point, ...]:
    found = [Point(f"{side} sill end", "up", "up", "down", Fraction(0), SILL_ROOM) for side in SIDES]
    found += [Point(name, "along", "right", "left", -ALONG_ROOM, ALONG_ROOM) for name in ("sill", "head")]
    for side in SIDES:
        ways = ("in", "out") if side == "left" else ("out", "in")
        found += [Point(name, "along", *ways, -ALONG_ROOM, ALONG_ROOM) for name in _inner_names(unit, side)]
    found.append(Point("head centre", "up", "up", "down", -HEAD_ROOM, HEAD_ROOM))
    ways = ("toward the room", "toward the outside")
    found += [Point(f"{corner} corner", "across", *ways, -ACROSS_ROOM, ACROSS_ROOM) for corner in CORNERS]
    return tuple(found)


def _fault_names(unit: Unit) -> dict[str, tuple[str, str]]:
    """Faults of the unit, and what would cure each when it is over and when it is under."""
    back = "send the unit back, or have the joints taken apart and recut"
    found = {f"{side} side frame": ("cut its foot", "pack under its foot") for side in SIDES}
    found |= {"head length": (back, back), "sill length": (back, back)}
    for side in unit.hung:
        found[f"{side} leaf rack"] = ("square the leaf up, plane its top or send it back",) * 2
        found[f"{side} leaf height"] = ("plane its top", "send the leaf back")
    found["leaf width"] = ("plane the far edge", "send the leaf back")
    found["leaf taper"] = ("plane the far edge toward the top", "plane the far edge toward the bottom")
    return found


@lru_cache(maxsize=16)
def frame_of(unit: Unit) -> Frame:
    """The linear model of a unit, worked out exactly; the same unit gives the same object."""
    points, rows = _points(unit), _readings(unit)
    effect = {spot: tuple(row.get(point.name, Fraction(0)) for point in points) for spot, row in rows.items()}
    faults = tuple(
        Fault(name, MappingProxyType({spot: row[name] for spot, row in rows.items() if row.get(name)}), *cures)
        for name, cures in _fault_names(unit).items()
    )
    return Frame(unit, points, tuple(rows), MappingProxyType(effect), faults)


def places_known(leaves: int) -> dict[str, tuple[str, ...]]:
    """The readings that the model of a unit with so many leaves knows, each with its places."""
    found: dict[str, tuple[str, ...]] = {}
    for reading, place in frame_of(Unit(Fraction(36 * leaves), Fraction(80), leaves)).spots:
        found[reading] = (*found.get(reading, ()), place)
    return found


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a reading should be: nominal, how far it may be off either way, its standard uncertainty (all in)."""

    nominal: Fraction
    low: Fraction
    high: Fraction
    u: Fraction


_KINDS: Mapping[str, tuple[Fraction, Fraction, Fraction]] = MappingProxyType(
    {
        "square": (Fraction(0), Fraction(1, 16), Fraction(1, 100)),
        "plumb_along": (Fraction(0), Fraction(1, 8), Fraction(1, 48)),
        "plumb_across": (Fraction(0), Fraction(1, 8), Fraction(1, 48)),
        "sill_level": (Fraction(0), Fraction(1, 8), Fraction(1, 54)),
        "head_level": (Fraction(0), Fraction(1, 8), Fraction(1, 54)),
        "flush": (Fraction(0), Fraction(1, 16), Fraction(1, 56)),
        "twist": (Fraction(0), Fraction(1, 8), Fraction(1, 60)),
        "string_gap": (Fraction(0), Fraction(1, 16), Fraction(1, 60)),
        "head_reveal": (Fraction(1, 8), Fraction(1, 16), Fraction(1, 60)),
        "hinge_reveal": (Fraction(1, 8), Fraction(1, 16), Fraction(1, 60)),
        "lock_reveal": (Fraction(1, 8), Fraction(1, 16), Fraction(1, 60)),
        "meeting_gap": (Fraction(1, 8), Fraction(1, 16), Fraction(1, 60)),
    }
)
"""Nominal, tolerance either way and standard uncertainty of each kind of reading, in inches (common practice)."""


TOUCHING_U = Fraction(1, 16)
"""Standard uncertainty of a gap that is shut: nobody sees how much further it would go (in)."""


def wanted(spots: Sequence[Spot], change: Callable[[Spot, Wanted], Wanted] | None = None) -> dict[Spot, Wanted]:
    """The tolerances of common practice for these readings; `change` may put others in their place."""
    found = {}
    for spot in spots:
        nominal, half, u = _KINDS[spot[0]]
        usual = Wanted(nominal, nominal - half, nominal + half, u)
        found[spot] = usual if change is None else change(spot, usual)
    return found
