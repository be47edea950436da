"""Why a reading may be off by just so much: slips with a tape or a level, as data.

Lengths are inches, plus where the reading is too long. All of them common practice: known slips of the trade, without
a published source.
"""

from __future__ import annotations

import math
from fractions import Fraction

NEAR = Fraction(3, 16)
"""How close to a slip's own amount counts as it, at most, in inches."""

SPREADS = 3
"""The same in standard uncertainties of what the reading is off by, where that is less."""

FOOT = 12
CASES = (Fraction(3), Fraction(13, 4), Fraction(7, 2))
"""Lengths of tape cases, where the case's own is not known: it is printed on it."""

MOST_INCHES = 11
MOST_FEET = 4


def slip(off: float, u: float, reading: Fraction, taped: bool, case: Fraction | None = None) -> tuple[str, ...]:
    """What may be behind a reading that is `off` by so much with standard uncertainty `u`; the likeliest first.

    `taped` says it is a tape's and not a level's; `case` is the length of the tape's case, None where nobody looked.
    """
    near = min(float(NEAR), SPREADS * u)
    if not taped:
        turned = abs(reading) >= 2 * Fraction(near) and abs(off - 2 * float(reading)) <= near
        return ("its side may be the wrong way round",) if turned else ()
    found = []
    if off < 0 and any(abs(-off - float(one)) <= near for one in ((case,) if case is not None else CASES)):
        found.append("the length of the tape's case may have been left out")
    inches = math.floor(abs(off) + 0.5)
    if inches and abs(abs(off) - inches) <= near:
        if inches % FOOT == 0 and inches <= MOST_FEET * FOOT:
            found.insert(0, "a foot may have been miscounted")
        elif inches == 1 and off > 0:
            found.append("the tape may have been held at the one-inch mark")
        elif inches <= MOST_INCHES:
            found.append("an inch may have been miscounted" if inches == 1 else f"{inches} inches may be miscounted")
    return tuple(found)
