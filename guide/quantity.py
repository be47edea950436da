"""Exact lengths, areas, volumes, angles, slopes, masses and times: the only door to pint.

A `Quantity` is a fraction and one of a short list of units. Arithmetic and comparison are exact; nothing
here is ever a float. Conversion factors of all but the everyday units come from pint, built with fractions, and are
asked for once a unit.
Source of the factors: NIST SP 811 (through pint's definitions).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache, total_ordering
from types import MappingProxyType
from typing import Any

Dimension = tuple[int, int, int, int]
"""Exponents of length, time, mass and angle."""

NUMBER: Dimension = (0, 0, 0, 0)
LENGTH: Dimension = (1, 0, 0, 0)
AREA: Dimension = (2, 0, 0, 0)
VOLUME: Dimension = (3, 0, 0, 0)
TIME: Dimension = (0, 1, 0, 0)
MASS: Dimension = (0, 0, 1, 0)
ANGLE: Dimension = (0, 0, 0, 1)

DIMENSION_NAMES = MappingProxyType(
    {
        NUMBER: "a plain number",
        LENGTH: "a length",
        AREA: "an area",
        VOLUME: "a volume",
        TIME: "a time",
        MASS: "a weight",
        ANGLE: "an angle",
    }
)

_UNITS: dict[str, tuple[str, Dimension]] = {
    "": ("dimensionless", NUMBER),
    "%": ("percent", NUMBER),
    "mm/m": ("mm/m", NUMBER),
    "in/ft": ("inch/foot", NUMBER),
    "in": ("inch", LENGTH),
    "ft": ("foot", LENGTH),
    "mm": ("mm", LENGTH),
    "cm": ("cm", LENGTH),
    "m": ("m", LENGTH),
    "in2": ("inch**2", AREA),
    "ft2": ("foot**2", AREA),
    "mm2": ("mm**2", AREA),
    "m2": ("m**2", AREA),
    "in3": ("inch**3", VOLUME),
    "ft3": ("foot**3", VOLUME),
    "mm3": ("mm**3", VOLUME),
    "m3": ("m**3", VOLUME),
    "fl oz": ("fluid_ounce", VOLUME),
    "ml": ("ml", VOLUME),
    "s": ("s", TIME),
    "min": ("min", TIME),
    "h": ("hour", TIME),
    "day": ("day", TIME),
    "lb": ("lb", MASS),
    "kg": ("kg", MASS),
    "deg": ("degree", ANGLE),
}
UNITS = MappingProxyType(_UNITS)
"""Every unit that is understood: its short name, pint's name for it, its dimension."""

_SPELLINGS = {
    '"': "in",
    "''": "in",
    "”": "in",
    "″": "in",
    "inch": "in",
    "inches": "in",
    "ins": "in",
    "'": "ft",
    "’": "ft",
    "′": "ft",
    "foot": "ft",
    "feet": "ft",
    "millimetre": "mm",
    "millimetres": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "centimetre": "cm",
    "centimetres": "cm",
    "centimeter": "cm",
    "centimeters": "cm",
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
    "sec": "s",
    "second": "s",
    "seconds": "s",
    "minute": "min",
    "minutes": "min",
    "hr": "h",
    "hour": "h",
    "hours": "h",
    "days": "day",
    "lbs": "lb",
    "pound": "lb",
    "pounds": "lb",
    "kilogram": "kg",
    "kilograms": "kg",
    "kilo": "kg",
    "kilos": "kg",
    "°": "deg",
    "degree": "deg",
    "degrees": "deg",
    "percent": "%",
    "per cent": "%",
    "sq ft": "ft2",
    "ft²": "ft2",
    "square foot": "ft2",
    "square feet": "ft2",
    "sq in": "in2",
    "in²": "in2",
    "square inch": "in2",
    "square inches": "in2",
    "mm²": "mm2",
    "m²": "m2",
    "sq m": "m2",
    "square metre": "m2",
    "square metres": "m2",
    "square meter": "m2",
    "square meters": "m2",
    "cu in": "in3",
    "in³": "in3",
    "cubic inch": "in3",
    "cubic inches": "in3",
    "cu ft": "ft3",
    "ft³": "ft3",
    "cubic foot": "ft3",
    "cubic feet": "ft3",
    "mm³": "mm3",
    "m³": "m3",
    "fluid ounce": "fl oz",
    "fluid ounces": "fl oz",
    "millilitre": "ml",
    "millilitres": "ml",
    "milliliter": "ml",
    "milliliters": "ml",
}
SPELLINGS = MappingProxyType(_SPELLINGS)
"""Other ways to write a unit, and its short name."""


class QuantityError(ValueError):
    """A quantity can't be read, or two quantities don't fit together; the message says which."""


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(non_int_type=Fraction)


_BASE = {NUMBER: "", LENGTH: "in", AREA: "in2", VOLUME: "in3", TIME: "s", MASS: "lb", ANGLE: "deg"}
_BASES = frozenset(_BASE.values())


_EVERYDAY = MappingProxyType(
    {
        "ft": Fraction(12),
        "mm": Fraction(10, 254),
        "cm": Fraction(100, 254),
        "m": Fraction(10_000, 254),
        "min": Fraction(60),
        "h": Fraction(3_600),
        "day": Fraction(86_400),
    }
)
"""Units that nearly every procedure has, exact by definition (NIST SP 811): pint takes 0.4 s to load."""


@cache
def factor(unit: str) -> Fraction:
    """How many base units (in, in2, in3, s, lb, deg, 1) one `unit` is, exactly."""
    name, dimension = UNITS[unit]
    base = _BASE[dimension]
    if unit == base:
        return Fraction(1)
    if unit in _EVERYDAY:
        return _EVERYDAY[unit]
    return Fraction(_registry().convert(Fraction(1), name, UNITS[base][0]))


def unit_named(word: str) -> str | None:
    """The unit a word stands for ("inches", '"', "mm"), or None."""
    plain = " ".join(word.lower().split())
    return plain if plain in UNITS else _SPELLINGS.get(plain)


@total_ordering
@dataclass(frozen=True, slots=True, eq=False)
class Quantity:
    """An exact amount: a fraction of a unit from `UNITS`.

    Equal and ordered by what it measures, whatever the unit; raises `QuantityError` across dimensions.
    """

    magnitude: Fraction
    unit: str = "in"

    def __post_init__(self) -> None:
        if type(self.magnitude) is not Fraction:
            raise TypeError(f"a quantity's magnitude is a Fraction, not {self.magnitude!r}")
        if self.unit not in UNITS:
            raise QuantityError(f'no unit is called "{self.unit}"')

    @property
    def dimension(self) -> Dimension:
        """Exponents of length, time, mass and angle."""
        return UNITS[self.unit][1]

    @property
    def base(self) -> Fraction:
        """The amount in the base unit of its dimension (in, in2, in3, s, lb, deg, 1)."""
        if self.unit in _BASES:
            return self.magnitude
        return self.magnitude * factor(self.unit)

    @property
    def base_unit(self) -> str:
        """The unit of `base`."""
        return _BASE[self.dimension]

    def to(self, unit: str) -> Quantity:
        """The same amount in another unit, exactly; raises `QuantityError` if the unit doesn't fit."""
        if unit == self.unit:
            return self
        if unit not in UNITS or UNITS[unit][1] != self.dimension:
            raise QuantityError(f"{self} is {kind_of(self)} and can't be given in {unit or 'plain numbers'}")
        return Quantity(self.base / factor(unit), unit)

    def _same(self, other: Quantity) -> None:
        if self.dimension != other.dimension:
            raise QuantityError(f"{self} is {kind_of(self)} and {other} is {kind_of(other)}")

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Quantity):
            return NotImplemented
        if self.unit == other.unit:
            return self.magnitude == other.magnitude
        return self.dimension == other.dimension and self.base == other.base

    def __hash__(self) -> int:
        return hash((self.dimension, self.base))

    def __lt__(self, other: object) -> bool:
        if not isinstance(other, Quantity):
            return NotImplemented
        if self.unit == other.unit:
            return self.magnitude < other.magnitude
        self._same(other)
        return self.base < other.base

    def __gt__(self, other: object) -> bool:
        return other < self if isinstance(other, Quantity) else NotImplemented

    def __neg__(self) -> Quantity:
        return Quantity(-self.magnitude, self.unit)

    def __abs__(self) -> Quantity:
        return Quantity(abs(self.magnitude), self.unit)

    def __add__(self, other: Quantity) -> Quantity:
        self._same(other)
        return Quantity(self.magnitude + other.to(self.unit).magnitude, self.unit)

    def __sub__(self, other: Quantity) -> Quantity:
        return self + -other

    def __mul__(self, other: Quantity) -> Quantity:
        return _product(self, other, 1)

    def __truediv__(self, other: Quantity) -> Quantity:
        if other.magnitude == 0:
            raise QuantityError(f"{self} can't be divided by zero")
        return _product(self, other, -1)

    def __bool__(self) -> bool:
        return self.magnitude != 0

    def __str__(self) -> str:
        """Exact text that `quantity` reads back: "36 3/16 in", "914 mm", "-1/8 in"."""
        return f"{format_number(self.magnitude, self.unit)} {self.unit}".rstrip()


_METRIC = frozenset(["mm", "cm", "m", "mm2", "m2", "mm3", "m3"])


def _product(left: Quantity, right: Quantity, power: int) -> Quantity:
    if right.dimension == NUMBER:
        plain = right.base
        return Quantity(left.magnitude * (plain if power == 1 else 1 / plain), left.unit)
    if left.dimension == NUMBER and power == 1:
        return Quantity(right.magnitude * left.base, right.unit)
    a, b = left.dimension, right.dimension
    dimension = (a[0] + power * b[0], a[1] + power * b[1], a[2] + power * b[2], a[3] + power * b[3])
    if dimension not in _BASE:
        sign = "*" if power == 1 else "/"
        raise QuantityError(f"{left} {sign} {right} is neither a length, an area, a volume nor anything else in use")
    base = left.base * (right.base if power == 1 else 1 / right.base)
    unit = _BASE[dimension]
    if left.unit in _METRIC and dimension[0] > 0 and dimension[1:] == (0, 0, 0):
        unit = {1: "mm", 2: "mm2", 3: "mm3"}[dimension[0]]
    return Quantity(base / factor(unit), unit)


def kind_of(quantity: Quantity) -> str:
    """What the quantity is, in words: "a length", "a time"."""
    return DIMENSION_NAMES[quantity.dimension]


def inches(value: int | str | Fraction) -> Quantity:
    """A length in inches from an integer, a fraction or text such as "3/16"."""
    return Quantity(Fraction(value), "in")


_NUMBER = r"(?:\d+(?:[ \t]+|-)\d+[ \t]*/[ \t]*\d+|\d+[ \t]*/[ \t]*\d+|\d*\.\d+|\d+)"
_WRITTEN = re.compile(rf"([+-]?)\s*({_NUMBER})\s*(.*)", re.DOTALL)
_AND_INCHES = re.compile(rf"(\D+?)\s*({_NUMBER})\s*(\D.*)", re.DOTALL)
_CHARACTERS_MOST = 400
_LARGEST = 10**100
"""Numerators and denominators stay below it, so that what is read can be written and read again."""


def number(text: str) -> Fraction:
    """An exact number from "3", "3/16", "36 3/16", "36-3/16" or ".125"; raises `QuantityError`."""
    plain = text.strip()
    if len(plain) > _CHARACTERS_MOST or not plain.isascii() or re.fullmatch(_NUMBER, plain) is None:
        raise QuantityError(f'"{text}" is not a number')
    above, slash, below = plain.partition("/")
    if not slash:
        return _small(Fraction(plain), text)
    *whole, top = re.split(r"[\s-]+", above.strip())
    if int(below) == 0:
        raise QuantityError(f'"{text}" divides by zero')
    part = Fraction(int(top), int(below))
    if whole and part >= 1:
        raise QuantityError(f'"{text}" is not a number: the fraction after a whole number is less than one')
    return _small(part + int(whole[0]) if whole else part, text)


def _small(value: Fraction, text: str) -> Fraction:
    if value.numerator >= _LARGEST or value.denominator >= _LARGEST:
        raise QuantityError(f'"{text}" has far too many digits')
    return value


def quantity(text: str) -> Quantity:
    """A quantity as written in a file: "36 3/16 in", "6 ft 8 1/4 in", "-1/16 in", "20 sq ft", "30 min", "12".

    Strict on purpose: only feet and inches make one quantity of two figures, and they give inches; what a crew may
    type or say is read by `guide.talk.words`. Raises `QuantityError`.
    """
    plain = text.strip().replace("−", "-")
    if not plain:
        raise QuantityError("nothing to read a quantity from")
    found = _WRITTEN.fullmatch(plain)
    if found is None:
        raise QuantityError(f'"{text}" is not a quantity')
    sign = -1 if found[1] == "-" else 1
    unit = unit_named(found[3])
    if unit is not None:
        return Quantity(sign * number(found[2]), unit)
    more = _AND_INCHES.fullmatch(found[3])
    units = (unit_named(more[1]), unit_named(more[3])) if more else (None, None)
    if more is None or None in units:
        raise QuantityError(f'"{found[3].strip()}" in "{text}" is not a unit')
    if units != ("ft", "in"):
        raise QuantityError(f'"{text}" is not one quantity: only feet and inches go together')
    feet, rest = number(found[2]), number(more[2])
    if feet.denominator != 1 or rest >= 12:
        raise QuantityError(f'"{text}" is not one quantity: whole feet are followed by less than 12 inches')
    return Quantity(sign * _small(12 * feet + rest, text), "in")


_DECIMAL = frozenset(["mm", "cm", "m", "mm2", "m2", "mm3", "m3", "ml", "fl oz", "kg", "lb", "%", "mm/m", "deg"])


def format_number(value: Fraction, unit: str = "") -> str:
    """An exact number the way its unit is written: fractions for inches and feet, decimals for metric if they end."""
    if value.denominator == 1:
        return str(value.numerator)
    if unit in _DECIMAL:
        decimal = _decimal(value)
        if decimal is not None:
            return decimal
    whole, part = divmod(abs(value.numerator), value.denominator)
    sign = "-" if value < 0 else ""
    return f"{sign}{whole} {part}/{value.denominator}" if whole else f"{sign}{part}/{value.denominator}"


def _decimal(value: Fraction) -> str | None:
    rest, places = value.denominator, 0
    while rest % 10 == 0:
        rest, places = rest // 10, places + 1
    for prime in (2, 5):
        while rest % prime == 0:
            rest, places = rest // prime, places + 1
    if rest != 1 or places > 9:
        return None
    digits = str(abs(value.numerator) * 10**places // value.denominator).rjust(places + 1, "0")
    text = f"{digits[:-places]}.{digits[-places:]}".rstrip("0").rstrip(".")
    return f"-{text}" if value < 0 else text


def nearest(amount: Quantity, unit: str, step: Fraction) -> tuple[Quantity, bool]:
    """The amount in `unit` rounded to a multiple of `step` (halves away from zero), and whether that is exact."""
    exact = amount.to(unit).magnitude
    size = ((abs(exact) / step + Fraction(1, 2)) // 1) * step
    rounded = -size if exact < 0 else size
    return Quantity(rounded, unit), rounded == exact
