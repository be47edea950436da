"""What an opening leaves for a unit: the largest plumb rectangle, whether a unit fits, its shims, and what to order.

Seen from inside; lengths are inches and exact fractions, verdicts compare them exactly. A unit is set plumb and
level, on the highest point of the sill, in the middle of what the studs leave. The bow that a middle reading shows is
laid to whichever member leaves less, since it can't be told which one is bowed.

Every bound is the least of some linear combinations of the opening's unknowns (a stud at one height against the other
at one height, the header against the sill): its value is exact, and its variance is that of the combination that
binds, or of a looser one that noise could make bind. Rules of sizing are common practice (`guide.trade.sizing`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from typing import Literal

from guide.trade import decision
from guide.trade.decision import Limits, Measured, Outcome, Rule
from guide.trade.fixings import END, shim_points
from guide.trade.opening import NOTHING, Opening, Term
from guide.trade.sizing import RULES, SIDES, Rules, Side, frame_depth

Line = tuple[Term, Term, Term]
"""A member that may be bowed: where it is at one end, in the middle and at the other end."""

_HALF = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Bound:
    """The least of some combinations: its value and variance, and where it binds; `at_most` when part is not known."""

    value: Fraction
    variance: Fraction
    where: tuple[str, str]
    at_most: bool = False

    @property
    def u(self) -> float:
        """The standard uncertainty, for showing."""
        return math.sqrt(self.variance)


@dataclass(frozen=True, slots=True)
class Unit:
    """A frame in inches, outside to outside; hinges and strikes are heights from its bottom."""

    width: Fraction
    height: Fraction
    depth: Fraction | None = None
    hinges: tuple[Fraction, ...] = ()
    strikes: tuple[Fraction, ...] = ()
    hinged: tuple[Side, ...] = SIDES
    """Sides with hinges; the others have the strikes."""


@dataclass(frozen=True, slots=True)
class Shim:
    """The packing behind one point of a frame: where, what is there, how thick, and its standard uncertainty."""

    side: str
    """left, right, head or sill."""
    at: Fraction
    """From the frame's bottom, or along its head and sill from its left end."""
    name: str
    thick: Fraction
    u: float


@dataclass(frozen=True, slots=True)
class Fitting:
    """A unit in an opening: room left over in width and in height, the verdict on both, and the shims.

    `width` and `height` are None where the opening is not known well enough to tell; the verdict is then None too,
    unless what is known already says no.
    """

    width: Bound | None
    height: Bound | None
    outcome: Outcome | None
    shims: tuple[Shim, ...]

    @property
    def fits(self) -> bool | None:
        """Whether it goes in plumb and level, by the rule asked for."""
        return None if self.outcome is None else decision.accepted(self.outcome)


def _members(opening: Opening, what: str, ends: tuple[str, str], slant: str, share: Fraction) -> tuple[Line, Line]:
    """Two members that face each other, from the corner at the foot of the left stud.

    The first begins at that corner and its other end is `slant` away from straight; the second is a width or height
    further on. `share` of the bow between them is the first's.
    """
    near, far = (opening.term(f"{what} {end}") for end in ends)
    end = opening.term(slant)
    beyond = end + far
    narrow = (near + far).times(_HALF) - opening.term(f"{what} middle")
    first = (NOTHING, end.times(_HALF) + narrow.times(share), end)
    return first, (near, (near + beyond).times(_HALF) - narrow.times(1 - share), beyond)


def _studs(opening: Opening, share: Fraction) -> tuple[Line, Line]:
    """Left and right stud, upward: how far to the right of the left stud's foot."""
    return _members(opening, "width", ("bottom", "top"), "lean", share)


def _levels(opening: Opening, share: Fraction) -> tuple[Line, Line]:
    """Sill and header, to the right: how high above the left stud's foot."""
    return _members(opening, "height", ("left", "right"), "sill", share)


def _on(line: Line, at: Fraction) -> Term:
    """A member at a place along it, from 0 to 1: a broken line through its three points."""
    if at in _MARKS:
        return line[_MARKS[at]]
    first, second = line[:2] if at < _HALF else line[1:]
    part = 2 * at if at < _HALF else 2 * at - 1
    return first + (second - first).times(part)


_MARKS: Mapping[Fraction, int] = {Fraction(0): 0, _HALF: 1, Fraction(1): 2}
_FINE = 2**24
_UP = ("at the bottom", "in the middle", "at the top")
_ALONG = ("at the left", "in the middle", "at the right")


def _part(length: Fraction, whole: Fraction) -> Fraction:
    """A length as a part of the whole, to about seven decimals, which is far finer than it matters."""
    return Fraction(round(length / whole * _FINE), _FINE)


_Pair = tuple[Term, tuple[str, str]]


def _pairs(opening: Opening, low: Fraction, high: Fraction) -> Iterator[_Pair]:
    """One stud against the other between two heights, with the bow laid to either."""
    for share in _EITHER:
        left, right = _at_heights(opening, share, low, high)
        for (i, one), (j, other) in product(enumerate(left), enumerate(right)):
            yield other - one, (f"the left stud {_UP[i]}", f"the right stud {_UP[j]}")


def _at_heights(opening: Opening, share: Fraction, low: Fraction, high: Fraction) -> tuple[list[Term], list[Term]]:
    """Left and right stud at a low height, in the middle and at a high one, above the left stud's foot."""
    left, right = _studs(opening, share)
    feet = (Fraction(0), opening.term("sill").value)
    tall = (opening.term("height left").value, opening.term("height right").value)
    marks = [(_part(low - foot, up), _HALF, _part(high - foot, up)) for foot, up in zip(feet, tall, strict=True)]
    return [_on(left, at) for at in marks[0]], [_on(right, at) for at in marks[1]]


def _stories(opening: Opening, left: Fraction, right: Fraction) -> Iterator[_Pair]:
    """The header between two places across against the sill all along, with the bow laid to either."""
    start, wide = opening.term("lean").value, opening.term("width top").value
    marks = (_part(left - start, wide), _HALF, _part(right - start, wide))
    for share in _EITHER:
        sill, head = _levels(opening, share)
        for (i, one), (j, other) in product(enumerate(sill), enumerate([_on(head, at) for at in marks])):
            yield other - one, (f"the sill {_ALONG[i]}", f"the header {_ALONG[j]}")


_EITHER = (Fraction(0), Fraction(1))
_REACH = 4
"""Variances of a difference within which a looser bound could be the one that binds (two standard deviations)."""


def _least(opening: Opening, pairs: Iterator[_Pair]) -> Bound | None:
    """The least of the pairs; only those that are known count, and `at_most` says that some are not."""
    every = list(pairs)
    known = [pair for pair in every if opening.knows(pair[0])]
    if not known:
        return None
    least, where = min(known, key=lambda pair: (pair[0].value, _ends(pair[1])))
    near = [t for t, _ in known if float(t.value - least.value) ** 2 <= _REACH * opening.variance(t - least)]
    return Bound(least.value, max(map(opening.variance, near)), where, len(known) < len(every))


def _ends(where: tuple[str, str]) -> bool:
    """Whether the two places are at different ends: of two pairs alike the one straight across is named."""
    return where[0].split()[-1] != where[1].split()[-1]


def _stand(opening: Opening, share: Fraction) -> tuple[Fraction, Fraction]:
    """How high a unit stands that rests on the sill's highest point, and how low the header comes."""
    sill, head = _levels(opening, share)
    return max(map(_value, sill)), min(map(_value, head))


def _channel(opening: Opening, share: Fraction, low: Fraction, high: Fraction) -> tuple[Term, Term]:
    """Where the left stud reaches furthest right between two heights, and the right stud furthest left."""
    left, right = _at_heights(opening, share, low, high)
    return max(left, key=_value), min(right, key=_value)


def _value(term: Term) -> Fraction:
    return term.value


def clear_width(opening: Opening) -> Bound | None:
    """The width of the largest plumb rectangle between sill and header, in inches; None if no width is known."""
    low, high = zip(*(_stand(opening, share) for share in _EITHER), strict=True)
    tall = clear_height(opening)
    top = max(*high, max(low) + tall.value) if tall is not None else max(high)
    return _least(opening, _pairs(opening, min(low), top))


def clear_height(opening: Opening) -> Bound | None:
    """The height that a plumb rectangle of the clear width has, in inches; None if no height is known."""
    channels = [_channel(opening, stud, *_stand(opening, floor)) for stud, floor in product(_EITHER, _EITHER)]
    left, right = min(one.value for one, _ in channels), max(other.value for _, other in channels)
    return _least(opening, _stories(opening, left, right))


def fit(opening: Opening, unit: Unit, rule: Rule = "plain", guard: Fraction = decision.GUARD) -> Fitting:
    """The unit set plumb and level in the opening: room left, verdict by the rule, shims at every shim point.

    Raises ValueError for a size that is not above zero, and as `fixings.shim_points` does.
    """
    if min(unit.width, unit.height) <= 0:
        raise ValueError("a unit has a width and a height above zero")
    low = [_stand(opening, share)[0] for share in _EITHER]
    width = _room(_least(opening, _pairs(opening, min(low), max(low) + unit.height)), unit.width)
    starts = [_place(opening, unit, *shares).value - unit.width / 2 for shares in product(_EITHER, _EITHER)]
    height = _room(_least(opening, _stories(opening, min(starts), max(starts) + unit.width)), unit.height)
    outcome = _verdict([width, height], rule, guard)
    roomy = all(bound is not None and bound.value >= 0 for bound in (width, height))
    return Fitting(width, height, outcome, tuple(_shims(opening, unit)) if roomy and outcome is not None else ())


def _place(opening: Opening, unit: Unit, stud: Fraction, floor: Fraction) -> Term:
    """Where the middle of a unit stands that is set in the middle of what the studs leave; the bows shared so."""
    low, _ = _stand(opening, floor)
    left, right = _channel(opening, stud, low, low + unit.height)
    return (left + right).times(_HALF)


def _room(bound: Bound | None, size: Fraction) -> Bound | None:
    return None if bound is None else Bound(bound.value - size, bound.variance, bound.where, bound.at_most)


_RANK: tuple[Outcome, ...] = ("pass", "conditional pass", "conditional fail", "fail")


def _verdict(rooms: Sequence[Bound | None], rule: Rule, guard: Fraction) -> Outcome | None:
    """The worse of the two; None while one that could still say no is not known."""
    nothing = Limits(Fraction(0), None)
    found = [decision.outcome(Measured(b.value, b.variance), nothing, rule, guard) for b in rooms if b is not None]
    worst = max(found, key=_RANK.index, default=None)
    open_ = len(found) < len(rooms) or any(b is not None and b.at_most for b in rooms)
    return None if open_ and worst != "fail" else worst


def _shims(opening: Opening, unit: Unit) -> Iterator[Shim]:
    """Every shim point's packing, the bow being halved between the members it may be of."""
    place, (low, _) = _place(opening, unit, _HALF, _HALF), _stand(opening, _HALF)
    feet = (Fraction(0), opening.term("sill").value)
    tall = (opening.term("height left").value, opening.term("height right").value)
    for side, stud, foot, up in zip(SIDES, _studs(opening, _HALF), feet, tall, strict=True):
        hinges = unit.hinges if side in unit.hinged else ()
        strikes = () if side in unit.hinged else unit.strikes
        points = shim_points(unit.height, hinges, strikes)
        for at in points:
            there = _on(stud, _part(low + at - foot, up))
            gap = place - there if side == "left" else there - place
            yield _shim(opening, side, at, _called(at, points, hinges, strikes), gap, -unit.width / 2)
    sill, head = _levels(opening, _HALF)
    high = max(sill, key=_value)
    start = place.value - unit.width / 2
    for name, at in (("left", END), ("center", unit.width / 2), ("right", unit.width - END)):
        over = _on(head, _part(start + at - opening.term("lean").value, opening.term("width top").value))
        yield _shim(opening, "head", at, f"head {name}", over - high, -unit.height)
        if name != "center":
            under = _on(sill, _part(start + at, opening.term("width bottom").value))
            yield _shim(opening, "sill", at, f"sill {name}", high - under, Fraction(0))


def _shim(opening: Opening, side: str, at: Fraction, name: str, gap: Term, more: Fraction) -> Shim:
    return Shim(side, at, name, gap.value + more, math.sqrt(opening.variance(gap)))


_HINGES: Mapping[int, tuple[str, ...]] = {
    1: ("hinge",),
    2: ("bottom hinge", "top hinge"),
    3: ("bottom hinge", "middle hinge", "top hinge"),
}


def _called(at: Fraction, points: Sequence[Fraction], hinges: Sequence[Fraction], strikes: Sequence[Fraction]) -> str:
    """What a shim point is called: by its hinge or strike, as an end, or by its height."""
    if at in hinges:
        place = sorted(hinges).index(at)
        names = _HINGES.get(len(hinges))
        return names[place] if names else f"hinge {place + 1} from the bottom"
    if at in strikes:
        return "strike"
    if at == points[0]:
        return "bottom"
    return "top" if at == points[-1] else "between"


@dataclass(frozen=True, slots=True)
class Order:
    """The size to order, in inches, None where a reading is missing; what it goes by, and how it stands in the wall."""

    width: Fraction | None
    height: Fraction | None
    depth: Fraction | None
    by: Literal["smallest reading", "clear rectangle"]
    stocked: bool
    """Whether the depth is a stock depth; else the frame is made to measure, or built out to it."""


def order(opening: Opening, wall: Fraction | None = None, rules: Rules = RULES) -> Order:
    """The unit to order: by the smallest readings, or by the clear rectangle where that would leave no room to shim.

    `wall` is the wall's depth over sheathing, stud and board. Common practice.
    """
    narrow, short = opening.smallest("width"), opening.smallest("height")
    width = None if narrow is None else narrow - rules.width_less
    height = None if short is None else short - rules.height_less
    by: Literal["smallest reading", "clear rectangle"] = "smallest reading"
    clear = (clear_width(opening), clear_height(opening))
    if width is not None and clear[0] is not None and clear[0].value - width < 2 * rules.shim_room:
        width, by = _down(clear[0].value - rules.width_less, rules.order_step), "clear rectangle"
    if height is not None and clear[1] is not None and clear[1].value - height < rules.shim_room:
        height, by = _down(clear[1].value - rules.height_less, rules.order_step), "clear rectangle"
    depth = None if wall is None else frame_depth(wall, rules)
    return Order(width, height, depth, by, depth in rules.stock_depths)


def _down(value: Fraction, step: Fraction) -> Fraction:
    return value // step * step
