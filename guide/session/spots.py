"""Where on the door a reading is taken or a move is made: a line or a point on its outline, as seen from inside."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from guide.procedure.model import Procedure, Reading
from guide.trade.measures import MEASURES

Outline = Literal["", "single", "pair"]

LOW, MIDDLE, HIGH = 0, 2, 4
"""Along each edge of the outline: left, middle, right; or bottom, middle, top."""

_ACROSS = {"left": LOW, "right": HIGH}
_UP = {"bottom": LOW, "sill": LOW, "threshold": LOW, "top": HIGH, "head": HIGH}


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the outline: from one point to another, the same for a point; 0 to 4 from the left, from the sill."""

    from_across: int
    from_up: int
    to_across: int
    to_up: int


def outline(procedure: Procedure) -> Outline:
    """What there is to draw: one leaf, two, or nothing for a job without a door."""
    leaves = [one.moves.leaves for one in procedure.together.values() if one.moves is not None]
    return "" if not leaves else "pair" if leaves[0] == 2 else "single"


def mark_of_reading(reading: Reading, place: str, hinges: str = "") -> tuple[Mark, ...]:
    """Where a reading is taken, a single leaf's hinges on that side; empty if it can't be told."""
    at, asked = place.lower(), reading.ask.lower()
    measured = MEASURES[reading.measures].path[-1] if reading.measures is not None else ""
    if reading.answer != "number":
        return ()
    if " to " in at or reading.about == "twist":
        rising, falling = Mark(LOW, LOW, HIGH, HIGH), Mark(LOW, HIGH, HIGH, LOW)
        if reading.about == "twist":
            return rising, falling
        return (rising,) if at.startswith(("bottom left", "top right")) else (falling,)
    if "width" in measured or "width" in asked.split():
        up = _named(at, _UP)
        return (Mark(LOW, MIDDLE if up is None else up, HIGH, MIDDLE if up is None else up),)
    if "height" in measured or "height" in asked.split() and reading.about == "length":
        across = _named(at, _ACROSS)
        return (Mark(MIDDLE if across is None else across, LOW, MIDDLE if across is None else across, HIGH),)
    if reading.about == "level":
        up = _named(asked, _UP)
        return () if up is None or "spot" in asked else (Mark(LOW, up, HIGH, up),)
    if reading.about == "plumb" or at in ("left side", "right side"):
        across = _named(at, _ACROSS)
        return () if across is None else (Mark(across, LOW, across, HIGH),)
    return _point(at, asked, hinges)


def mark_of_move(point: str) -> tuple[Mark, ...]:
    """Where a move is made, by the name of its shim point; empty if it can't be told."""
    name = point.lower()
    if name in ("head", "sill"):
        return (Mark(LOW, _UP[name], HIGH, _UP[name]),)
    return _point(name.replace("head centre", "head middle"), "")


def _point(at: str, asked: str, hinges: str = "") -> tuple[Mark, ...]:
    """One point: of the head where the words ask for that, of a leaf's edge, or a corner."""
    if not at:
        return ()
    words = at.split()
    across: int | None
    if "meeting" in words or "between the two doors" in asked:
        across = {"left": MIDDLE - 1, "right": MIDDLE + 1}.get(words[0], MIDDLE)
    elif "hinge side" in asked or "lock side" in asked:
        hung = _ACROSS.get(hinges)
        on_lock = HIGH - hung if hung is not None else None
        across = _named(at, _ACROSS)
        if across is None:
            across = hung if "hinge side" in asked else on_lock
    else:
        across = _named(at, _ACROSS)
    up = _named(at, _UP)
    if up is None:
        head = "the head" in asked or at == "head"
        up = HIGH if head else MIDDLE if "middle" in words else None
    if across is None and at in ("head", "head middle"):
        across = MIDDLE
    return () if across is None or up is None else (Mark(across, up, across, up),)


def _named(words: str, ends: dict[str, int]) -> int | None:
    found = {end for word, end in ends.items() if word in words.split()}
    return found.pop() if len(found) == 1 else None
