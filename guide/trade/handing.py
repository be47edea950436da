"""Which hand a door is, from what the crew sees, in both ways of naming it.

Sources: ANSI/BHMA A156.115 (from memory): seen from outside, hinges left or right and opening in or out. DIN 107 and
EN 12519: seen from the side where the hinges show, which is the side that the door opens to.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Side = Literal["left", "right"]
Face = Literal["outside", "inside"]
Swing = Literal["in", "out"]
Code = Literal["LH", "RH", "LHR", "RHR"]

_NAMES: dict[Code, str] = {
    "LH": "left hand",
    "RH": "right hand",
    "LHR": "left hand reverse",
    "RHR": "right hand reverse",
}


@dataclass(frozen=True, slots=True)
class Hand:
    """A door's hand: hinges as seen from outside, and where it opens to."""

    hinges: Side
    opens: Swing

    @property
    def code(self) -> Code:
        """LH, RH, LHR or RHR."""
        if self.opens == "in":
            return "LH" if self.hinges == "left" else "RH"
        return "LHR" if self.hinges == "left" else "RHR"

    @property
    def name(self) -> str:
        """The code in words."""
        return _NAMES[self.code]

    @property
    def din(self) -> Side:
        """Left or right by DIN 107: the side of the hinges, seen from where they show."""
        return self.hinges if self.opens == "out" else other_side(self.hinges)


def other_side(side: Side) -> Side:
    """Left for right, right for left."""
    return "right" if side == "left" else "left"


def hand(hinges: Side, opens: Swing, seen_from: Face = "outside") -> Hand:
    """The hand of a door whose hinges are on that side for somebody standing there; of a pair, its active leaf's."""
    return Hand(hinges if seen_from == "outside" else other_side(hinges), opens)


def sketch(found: Hand, pair: bool = False) -> str:
    """A plan to send with an order: wall, hinge (o) and leaf, inside above, outside below."""
    at_left = found.hinges == "left"
    lines = {at: [" "] * 31 for at in range(-4, 5)}
    lines[0] = list("#######" + " " * 17 + "#######")
    direction = 1 if found.opens == "in" else -1
    _leaf(lines, 7, 1, direction, 4 if pair or at_left else 0)
    _leaf(lines, 23, -1, direction, 4 if pair or not at_left else 0)
    if pair:
        lines[0][15] = "|"
    drawn = ["".join(lines[at]).rstrip() for at in range(4, -5, -1)]
    active = f"   active leaf on the {found.hinges}, seen from outside" if pair else ""
    return "\n".join(["INSIDE", *(line for line in drawn if line), f"OUTSIDE{active}"])


def _leaf(lines: dict[int, list[str]], hinge: int, inward: int, direction: int, length: int) -> None:
    """Draw one open leaf from its hinge."""
    if length:
        lines[0][hinge] = "o"
    stroke = "/" if inward * direction > 0 else "\\"
    for at in range(1, length + 1):
        lines[at * direction][hinge + at * inward] = stroke
