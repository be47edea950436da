"""What published texts say of a doorway: exit, access, landing, threshold, glass beside it. Never a verdict in law.

Lengths are exact fractions of an inch. Each finding quotes the text's figure and source; the local office decides.
Sources: IRC R311.2, R311.3, R308.4.2; 2010 ADA Standards 303, 404.2.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

ASK = "Ask the local office: its code, and its reading of it, come before any text quoted here."

EXIT_WIDTH, EXIT_HEIGHT = Fraction(32), Fraction(78)
ACCESS_WIDTH = Fraction(32)
LANDING, LANDING_CLEAR = Fraction(3, 2), Fraction(31, 4)
THRESHOLD, THRESHOLD_SQUARE = Fraction(1, 2), Fraction(1, 4)
BEVEL = Fraction(1, 2)
GLASS_ARC, GLASS_BOTTOM = Fraction(24), Fraction(60)


@dataclass(frozen=True, slots=True)
class Finding:
    """One point: whether the figures given meet the text (None when the text leaves it open), what it says, source."""

    topic: str
    meets: bool | None
    says: str
    source: str


def exit_width(clear: Fraction) -> Finding:
    """Clear width of the required exit door, from the face of the leaf to the stop, the leaf open 90 degrees."""
    says = "at least 32 in clear, from the face of the leaf to the stop, with the leaf open 90 degrees"
    return Finding("exit width", clear >= EXIT_WIDTH, says, "IRC R311.2 (published)")


def exit_height(clear: Fraction) -> Finding:
    """Clear height of the required exit door, from the top of the threshold to the bottom of the stop."""
    says = "at least 78 in clear, from the top of the threshold to the bottom of the stop"
    return Finding("exit height", clear >= EXIT_HEIGHT, says, "IRC R311.2 (published)")


def access_width(clear_by_one_leaf: Fraction) -> Finding:
    """Clear width for wheelchair access: one leaf alone must give it."""
    says = "at least 32 in clear by one leaf alone"
    return Finding("access width", clear_by_one_leaf >= ACCESS_WIDTH, says, "2010 ADA Standards 404.2.2–3 (published)")


def landing(step: Fraction, outside: bool, swings_over: bool) -> Finding:
    """The landing of the required exit door, `step` inches below the top of the threshold."""
    source = "IRC R311.3.1 (published)"
    topic = "landing outside" if outside else "landing inside"
    if outside and not swings_over:
        says = "at most 7-3/4 in below the top of the threshold, as the door does not swing over the landing"
        return Finding(topic, step <= LANDING_CLEAR, says, source)
    why = ", as the door swings over the landing" if outside else ""
    says = f"at most 1-1/2 in below the top of the threshold{why}"
    return Finding(topic, step <= LANDING, says, source)


def threshold(height: Fraction, vertical: Fraction | None, slope: Fraction | None) -> Finding:
    """A threshold's height, the part of it that rises straight up, and the slope (rise over run) of its bevel.

    None where nobody has measured: what then can't be told is left open.
    """
    source = "2010 ADA Standards 303, 404.2.5 (published)"
    says = "at most 1/2 in high; up to 1/4 in may rise straight up, from there to 1/2 in bevelled no steeper than 1:2"
    steps = (vertical is None or vertical <= THRESHOLD_SQUARE, slope is None or slope <= BEVEL)
    meets: bool | None
    if height > THRESHOLD:
        meets = False
    elif height <= THRESHOLD_SQUARE:
        meets = True
    else:
        meets = False if False in steps else None if None in (vertical, slope) else True
    return Finding("threshold", meets, says, source)


def glass_beside(distance: Fraction, bottom: Fraction, safety: bool | None) -> Finding:
    """Glass beside a door: from the shut leaf's edge to the pane, the pane's bottom edge above the floor, and its kind.

    `safety` says whether it is marked as safety glass; None when nobody has looked.
    """
    source = "IRC R308.4.2 (published)"
    if distance > GLASS_ARC or bottom >= GLASS_BOTTOM:
        says = "safety glass is asked for within 24 in of the shut leaf's edge and under 60 in; this pane is beyond"
        return Finding("glass beside the door", True, says, source)
    says = "safety glass: an edge is within 24 in of the shut leaf's edge and the bottom under 60 in (exceptions exist)"
    return Finding("glass beside the door", safety, says, source)
