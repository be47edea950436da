"""How far a reading may be from the truth, where the record says enough: a known instrument, and the length it is over.

The record keeps no uncertainty. The procedure in it names the instrument of each reading; what such an instrument is
trusted to stands in `guide.trade.instruments`, each figure with its source. That is the instrument alone: not how the
wall gives, nor the hand.
"""

from __future__ import annotations

import math
from fractions import Fraction
from functools import lru_cache

from guide.job.events import Value
from guide.procedure.model import Reading
from guide.quantity import LENGTH, Quantity
from guide.trade.instruments import named

_BY_ITS_LENGTH = ("tape", "rule")
"""Instruments that are laid along what they read; the others are read over the length that the procedure names."""


def expanded(reading: Reading, value: Value) -> float | None:
    """U = 2 u of one reading in inches (some 95 %), or None where the record does not say enough to work it out."""
    if reading.instrument is None or not isinstance(value, Quantity):
        return None
    magnitude = value.magnitude
    return _expanded(reading.instrument, reading.over, magnitude.numerator, magnitude.denominator, value.unit)


@lru_cache(maxsize=65_536)
def _expanded(words: str, over: Quantity | None, numerator: int, denominator: int, unit: str) -> float | None:
    instrument, value = named(words), Quantity(Fraction(numerator, denominator), unit)
    if instrument is None or value.dimension != LENGTH:
        return None
    if instrument.name.startswith(_BY_ITS_LENGTH):
        length = abs(value.base)
    elif over is not None and over.dimension == LENGTH:
        length = over.base
    else:
        return None
    variance = instrument.variance(length)
    return None if variance is None else 2 * math.sqrt(variance)
