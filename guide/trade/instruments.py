"""What instruments can be trusted to: tape classes, levels and squares as data, each with its source.

Lengths are fractions of an inch unless a name says millimetres. A limit of error counts as a rectangular
distribution: its variance is limit**2 / 3; reading to the nearest division adds (division / 2)**2 / 3 (JCGM 100).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

MM = Fraction(10, 254)
"""One millimetre in inches (NIST SP 811)."""

_MID: Mapping[str, tuple[Fraction, Fraction, Fraction]] = MappingProxyType(
    {
        "I": (Fraction(1, 10), Fraction(1, 10), Fraction(1, 10)),
        "II": (Fraction(3, 10), Fraction(2, 10), Fraction(2, 10)),
        "III": (Fraction(6, 10), Fraction(4, 10), Fraction(3, 10)),
    }
)
"""Class: a, b of the error a + b L in mm, L in m; and what a hook adds, in mm (2014/32/EU, Annex X)."""

_HB44: tuple[tuple[Fraction, Fraction], ...] = (
    (Fraction(6 * 12), Fraction(1, 32)),
    (Fraction(30 * 12), Fraction(1, 16)),
    (Fraction(50 * 12), Fraction(1, 8)),
    (Fraction(100 * 12), Fraction(1, 4)),
)
"""Up to this length in inches, this tolerance in inches (NIST Handbook 44, 5.52)."""


def mid_tape_limit(tape_class: str, length_mm: Fraction, hook: bool = False) -> Fraction:
    """The most a tape of class I, II or III may err over a length in mm, in mm: ±(a + b L), L in whole metres upward.

    From the hook, its own error is added. Source: 2014/32/EU, Annex X (MID). Raises ValueError for a negative length.
    """
    if length_mm < 0:
        raise ValueError("a length can't be negative")
    a, b, of_hook = _MID[tape_class]
    metres = math.ceil(length_mm / 1000)
    return a + b * metres + (of_hook if hook else 0)


def hb44_tape_limit(length: Fraction) -> Fraction | None:
    """The most a tape may err over a length in inches, in inches; None beyond 100 ft (NIST Handbook 44, 5.52)."""
    if length < 0:
        raise ValueError("a length can't be negative")
    return next((limit for reach, limit in _HB44 if length <= reach), None)


def slope_of(degrees: Fraction) -> Fraction:
    """Rise over run of an angle, to twelve decimals, upward: the only figure here that is not exact."""
    return Fraction(math.ceil(math.tan(math.radians(abs(degrees))) * 10**12), 10**12)


@dataclass(frozen=True, slots=True)
class Instrument:
    """What an instrument may be out by over a length, to which division it is read, and where that is from."""

    name: str
    limit: Callable[[Fraction], Fraction | None]
    """The limit of error in inches over a length in inches; None where the source gives none."""
    division: Fraction
    """What it is read to, in inches (for a level: at the far end of the length)."""
    source: str
    proved_by: str

    def calibration(self, length: Fraction) -> Fraction | None:
        """Variance that all its readings over this length share, in square inches; None where no limit is known."""
        limit = self.limit(length)
        return None if limit is None else limit**2 / 3

    def reading(self) -> Fraction:
        """Variance of reading it to the nearest division, in square inches, new with each reading."""
        return (self.division / 2) ** 2 / 3

    def variance(self, length: Fraction) -> Fraction | None:
        """Variance of one reading over this length, in square inches; None where no limit is known."""
        shared = self.calibration(length)
        return None if shared is None else shared + self.reading()


def _mid(tape_class: str) -> Callable[[Fraction], Fraction | None]:
    return lambda length: mid_tape_limit(tape_class, length / MM, hook=True) * MM


def _slope(slope: Fraction) -> Callable[[Fraction], Fraction | None]:
    return lambda length: abs(length) * slope


_TAPE = "the hook against a known length"
_REVERSAL = "reversal: turn it end for end and read again; half the difference is its error"
_ALL = (
    Instrument("tape class I", _mid("I"), Fraction(1, 32), "2014/32/EU, Annex X (published)", _TAPE),
    Instrument("tape class II", _mid("II"), Fraction(1, 16), "2014/32/EU, Annex X (published)", _TAPE),
    Instrument("tape class III", _mid("III"), Fraction(1, 16), "2014/32/EU, Annex X (published)", _TAPE),
    Instrument("tape", hb44_tape_limit, Fraction(1, 16), "NIST Handbook 44, 5.52 (published)", _TAPE),
    Instrument("spirit level", _slope(Fraction(1, 2000)), Fraction(1, 64), "0.5 mm/m (common practice)", _REVERSAL),
    Instrument(
        "digital level", _slope(slope_of(Fraction(1, 10))), Fraction(1, 64), "±0.1° (common practice)", _REVERSAL
    ),
    Instrument(
        "square",
        _slope(Fraction(1, 64) / 24),
        Fraction(1, 64),
        "1/64 in over 2 ft, once proved by reversal (common practice)",
        "reversal: draw along it, turn it over, draw again; half the gap is its error",
    ),
    Instrument(
        "rule",
        lambda _: Fraction(1, 128),
        Fraction(1, 64),
        "a steel rule or stepped gauge read to 1/64 in (common practice)",
        "another rule",
    ),
)
INSTRUMENTS: Mapping[str, Instrument] = MappingProxyType({one.name: one for one in _ALL})
"""Instruments by name. "tape" is one sold by NIST Handbook 44, where it carries no class mark."""


def named(words: str | None) -> Instrument | None:
    """The instrument that a procedure's words end with ("the two-foot square"); None where they leave open which it is.

    "A level" is None: a spirit level and a digital one are trusted to different figures.
    """
    said = " ".join((words or "").lower().split())
    fits = [one for name, one in INSTRUMENTS.items() if f" {said}".endswith(f" {name.lower()}")]
    return max(fits, key=lambda one: len(one.name), default=None)
