"""Moves, doubts and proofs as sentences a crew can be told; lengths in inches."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from guide.trade.answer import by_tape, counted
from guide.trade.fault import Suspect, Suspicion
from guide.trade.frame import Point, Spot
from guide.trade.learn import Surprise
from guide.trade.proof import Cannot

_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_PARTS = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth", 32: "thirty-second", 64: "sixty-fourth"}

LITTLE = Fraction(1, 20)
"""A smaller share of a reading in a sum is not told by name."""

READINGS: Mapping[str, str] = {
    "square": "the square",
    "plumb_along": "plumb along the wall",
    "plumb_across": "plumb across the wall",
    "sill_level": "the level of the sill",
    "head_level": "the level of the head",
    "flush": "flush",
    "twist": "the twist",
    "string_gap": "the gap between the strings",
    "head_reveal": "the gap under the head",
    "hinge_reveal": "the gap on the hinge side",
    "lock_reveal": "the gap on the lock side",
    "meeting_gap": "the gap between the doors",
}


def spoken(amount: Fraction) -> str:
    """A length as said on a site: "a sixteenth", "three eighths", "an inch and a quarter"; its size only."""
    whole, part = divmod(abs(amount), 1)
    if part and part.denominator not in _PARTS:
        return by_tape(abs(amount), Fraction(1, 64))
    words = []
    if whole:
        words.append("an inch" if whole == 1 else f"{_COUNTS[whole] if whole < len(_COUNTS) else whole} inches")
    if part:
        name, count = _PARTS[part.denominator], part.numerator
        if count == 1:
            words.append(f"{'an' if name[0] in 'aeiou' else 'a'} {name}" if name != "half" or whole else "half an inch")
        else:
            many = _COUNTS[count] if count < len(_COUNTS) else str(count)
            words.append(f"{many} {name}s")
    return " and ".join(words) if words else "nothing"


def move_told(point: Point, amount: Fraction) -> str:
    """One move as one sentence."""
    by, way = spoken(amount), point.direction(amount)
    if point.name in ("sill", "head"):
        return f"Move the {point.name} to the {way}, {by}."
    if point.name == "head centre":
        return f"{'Push' if amount > 0 else 'Let'} the middle of the head {way}, {by}."
    if point.kind == "up":
        return f"{'Raise' if amount > 0 else 'Lower'} the {point.name.removesuffix(' sill end')} end of the sill, {by}."
    if point.kind == "across":
        return f"Move the {point.name} {way}, {by}."
    return f"{way.capitalize()} at the {point.name}, {by}."


def spot_told(spot: Spot) -> str:
    """A reading and its place: "the square, top left"."""
    reading, place = spot
    name = READINGS.get(reading, reading.replace("_", " "))
    return f"{name}, {place}" if place else name


def suspect_told(one: Suspect) -> str:
    """One cause as part of a sentence."""
    size = Fraction(round(abs(one.size) * 32), 32)
    if one.fault is None:
        assert one.spot is not None
        return f"{spot_told(one.spot)}, may be misread by about {spoken(size)}"
    return f"{fault_told(one.fault.name, one.size)} by about {spoken(size)}"


def fault_told(name: str, size: float) -> str:
    """A fault of the unit in words: "the left side frame is too long"."""
    over = size > 0
    if name.endswith("side frame"):
        return f"the {name} is too {'long' if over else 'short'}"
    if name.endswith(" length"):
        return f"the {name.removesuffix(' length')} is too {'long' if over else 'short'}"
    if name.endswith("rack"):
        return f"the {name.removesuffix(' rack')} is racked, its far top corner {'high' if over else 'low'}"
    if name.endswith("height"):
        return f"the {name.removesuffix(' height')} is too {'tall' if over else 'short'}"
    if name.endswith("width"):
        return f"the doors are too {'wide' if over else 'narrow'}"
    return f"the doors are wider at the {'top' if over else 'bottom'}"


def suspicion_told(found: Suspicion) -> list[str]:
    """What no move could explain, and what to read again or measure."""
    if not found.named:
        return []
    misread = [one for one in found.named if one.spot is not None]
    faults = [one for one in found.named if one.fault is not None]
    said = []
    if misread:
        said.append(f"No move explains these readings: {'; or '.join(suspect_told(one) for one in misread)}.")
    if faults:
        said.append(f"{'Or it' if misread else 'It'} may be that {', or that '.join(map(suspect_told, faults))}.")
    if found.settle is not None:
        said.append(f"Read {spot_told(found.settle)}: that tells them apart.")
    return said


def surprise_told(one: Surprise) -> str:
    """What a round of readings says about one move or one figure."""
    if one.spot is not None:
        return f"Read {spot_told(one.spot)} again: the other readings do not go with it."
    assert one.point is not None
    if one.kind == "opposite":
        return f"The move at the {one.point} had the opposite effect: it went the other way."
    if one.kind == "not made":
        return f"The move at the {one.point} does not show: it was not made, or came back."
    return f"The move at the {one.point} was made twice over."


def cannot_told(found: Cannot) -> list[str]:
    """Why shims can't do it, by how much, and what would."""
    if found.row is None:
        if found.step is None:
            return ["Some moves would do it, but not in steps that shims are made in."]
        return [f"It needs thinner shims: steps of {spoken(found.step)} would do it."]
    row = found.row
    large = {spot: weight for spot, weight in row.weights.items() if abs(weight) >= LITTLE}
    names = [f"{_weight(weight)}{spot_told(spot)}" for spot, weight in large.items()]
    if len(large) < len(row.weights):
        names.append(f"+ a little of {counted(len(row.weights) - len(large), 'other reading')}")
    least = Fraction(1, 64)
    gap = by_tape(row.short_by, least) if row.short_by >= least else "less than 1/64 in"
    held = f", with what room there is at the {', the '.join(row.points)}" if row.points else ""
    said = [
        f"Whatever is moved{held}, this sum stays {by_tape(row.sum, least)}: {' '.join(names)}. "
        f"The tolerances allow {by_tape(row.allowed, least)}: short by {gap}."
    ]
    if not found.sure:
        said.append("That is no more than the readings' own noise: it may just be possible.")
    return said + _cures(found)


def _weight(weight: Fraction) -> str:
    sign = "− " if weight < 0 else "+ "
    size = abs(weight)
    return f"{sign}" if size == 1 else f"{sign}{float(size):.2f} × "


def _cures(found: Cannot) -> list[str]:
    """What would help, the three smallest changes."""
    ways = [_cure(cure.name, cure.by, cure.how) for cure in found.cures[:3]]
    return [f"What would do it: {'; or '.join(ways)}."] if ways else []


def _cure(name: str, by: Fraction, how: str) -> str:
    return f"{name}: {how}" + (f" (by {spoken(by)})" if by else "")


def cannot_said(found: Cannot) -> list[str]:
    """The same for the ear: which readings pull against each other, by how much, and what would help."""
    if found.row is None:
        return cannot_told(found)
    row, least = found.row, Fraction(1, 64)
    parts = [spot_told(spot) for spot, weight in row.weights.items() if abs(weight) >= LITTLE]
    which = "; ".join(parts) + (": they pull against each other" if len(parts) > 1 else "")
    short = f"short by {by_tape(max(row.short_by, least), least)}"
    if not found.sure:
        return [f"By these readings shims just miss. {which[0].upper()}{which[1:]}, {short}: no more than noise."]
    said = [f"Shims alone can't do it. {which[0].upper()}{which[1:]}, {short}."]
    return said + _cures(found)
