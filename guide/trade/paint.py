"""Old paint: the area a job disturbs against the rule for lead-safe work. Before 1978 the answer is never "no need".

Areas are exact square feet. Source: 40 CFR 745.82–83; the cautions are common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

YEAR = 1978
INSIDE, OUTSIDE = Fraction(6), Fraction(20)
"""Square feet above which the rule asks for lead-safe work: a room inside, the outside."""
DAYS = 30
"""Work on one room, or the outside, within so many days counts together."""

Where = Literal["inside", "outside"]
Tested = Literal["no", "lead", "free"]
Advice = Literal["lead-safe work", "assume lead", "tested free of lead", "built after the rule's date"]

WHO_MAY_TEST = (
    "a certified inspector or risk assessor, or a certified renovator with a test kit that the agency recognises "
    "(40 CFR 745.82, from memory)"
)
WORKERS = "Rules for the protection of workers from lead hold whatever the area is."
ASBESTOS = (
    "Old putty, sealant and board may hold asbestos: the same caution, and another rule; the local office knows it."
)


@dataclass(frozen=True, slots=True)
class Disturbed:
    """Paint that one piece of work disturbs: where ("outside", or a room inside), how much, how many days ago."""

    room: str
    where: Where
    area: Fraction
    days_ago: int = 0


def face_area(width: Fraction, height: Fraction, faces: int = 1) -> Fraction:
    """Square feet of so many faces of a part in inches; a part taken out counts whole, whatever was broken of it."""
    return width * height * faces / 144


@dataclass(frozen=True, slots=True)
class Space:
    """All that counts together in one room, or outside, with its limit."""

    room: str
    where: Where
    area: Fraction

    @property
    def limit(self) -> Fraction:
        """Square feet that the rule allows without lead-safe work."""
        return INSIDE if self.where == "inside" else OUTSIDE

    @property
    def over(self) -> bool:
        """Whether the area is over the limit; exactly at it is not."""
        return self.area > self.limit


def spaces(disturbed: Sequence[Disturbed]) -> list[Space]:
    """What counts together, by room in the order given: the outside is one, and work over 30 days ago drops out."""
    totals: dict[tuple[str, Where], Fraction] = {}
    for one in disturbed:
        if one.days_ago <= DAYS:
            key: tuple[str, Where] = ("outside" if one.where == "outside" else one.room, one.where)
            totals[key] = totals.get(key, Fraction(0)) + one.area
    return [Space(room, where, area) for (room, where), area in totals.items()]


def advice(built: int | None, tested: Tested, window: bool, found: Sequence[Space]) -> Advice:
    """What to do: `built` is the year, None when nobody knows it, which counts as before 1978.

    A window that is replaced, or an area over its limit, asks for lead-safe work; a smaller area before 1978 is still
    taken for lead unless a test by somebody certified says otherwise.
    """
    if built is not None and built >= YEAR:
        return "built after the rule's date"
    if tested == "free":
        return "tested free of lead"
    if window or any(space.over for space in found):
        return "lead-safe work"
    return "assume lead"
