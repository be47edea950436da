"""A reading in words: as the trade writes it, and as it says it, fraction last."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from guide.procedure.model import Sign
from guide.quantity import Quantity, format_number

_ONES = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
_TENS = ["-", "-", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_PARTS = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth", 32: "thirty second", 64: "sixty fourth"}
_UNITS = {
    "in": ("inch", "inches"),
    "ft": ("foot", "feet"),
    "mm": ("millimetre", "millimetres"),
    "cm": ("centimetre", "centimetres"),
    "m": ("metre", "metres"),
    "lb": ("pound", "pounds"),
    "kg": ("kilo", "kilos"),
    "min": ("minute", "minutes"),
    "h": ("hour", "hours"),
    "day": ("day", "days"),
    "s": ("second", "seconds"),
    "deg": ("degree", "degrees"),
    "ft2": ("square foot", "square feet"),
    "%": ("percent", "percent"),
}


def written(value: Quantity, about: str = "length", sign: Sign | None = None) -> str:
    """The value as it is shown: exact, its side in words where it has one ("1/16 in, the right end is high")."""
    if sign is None or not value:
        return str(value)
    return f"{abs(value)}, {sign.plus if value.magnitude > 0 else sign.minus}"


def spoken(value: Quantity, about: str = "length", sign: Sign | None = None) -> str:
    """The value as it is said: "thirty six and three sixteenths", "a sixteenth, the right end is high"."""
    words = _amount(abs(value))
    if sign is not None and value:
        return f"{words}, {sign.plus if value.magnitude > 0 else sign.minus}"
    return f"minus {words}" if value.magnitude < 0 else words


def _amount(value: Quantity) -> str:
    number = value.magnitude
    one, many = _UNITS.get(value.unit, (value.unit, value.unit))
    if value.unit == "in":
        if number.denominator in _PARTS:
            return _mixed(number)
        return f"{whole(number // 1)} {one if number == 1 else many}" if number.denominator == 1 else _odd(number, many)
    if number.denominator == 1:
        return f"{whole(int(number))} {one if number == 1 else many}".strip()
    return _odd(number, many)


def _odd(number: Fraction, unit: str) -> str:
    text = format_number(number, "mm")
    if "/" in text:
        return f"{text} {unit}"
    head, _, tail = text.partition(".")
    return f"{whole(int(head))} point {' '.join(_ONES[int(d)] for d in tail)} {unit}".strip()


def _mixed(number: Fraction) -> str:
    head, part = int(number // 1), number % 1
    if not part:
        return f"{whole(head)} {'inch' if head == 1 else 'inches'}"
    name = _PARTS[part.denominator]
    if part.numerator == 1:
        said = f"{'an' if name == 'eighth' else 'a'} {name}" if part.denominator < 32 else f"one {name}"
    else:
        said = f"{whole(part.numerator)} {name}s"
    return f"{whole(head)} and {said}" if head else said


def whole(number: int) -> str:
    """A whole number below a million in words, without "and" after hundreds."""
    if number < 20:
        return _ONES[number]
    if number < 100:
        return " ".join([_TENS[number // 10], *([_ONES[number % 10]] if number % 10 else [])])
    if number < 1000:
        return " ".join([_ONES[number // 100], "hundred", *([whole(number % 100)] if number % 100 else [])])
    return " ".join([whole(number // 1000), "thousand", *([whole(number % 1000)] if number % 1000 else [])])


def ways(value: Quantity) -> Iterator[str]:
    """Ways of saying and typing a length, each of which reads back as the value among its meanings."""
    yield str(value)
    yield spoken(value)
    number = value.magnitude
    if value.unit == "in":
        yield str(value).replace(" in", '"')
        yield str(value).replace(" in", "")
        if number.denominator in _PARTS:
            yield (
                f"{_mixed(number)} {'inch' if number <= 1 else 'inches'}"
                if number.denominator > 1
                else whole(int(number))
            )
        if number.denominator > 1 and number > 1:
            head, part = int(number // 1), number % 1
            yield f"{head}-{part}"
            yield f"{head} and {part}"
            yield f"{whole(head)} {_mixed(part)}" if part.numerator > 1 else f"{whole(head)} and {_mixed(part)}"
        if number >= 12:
            feet, rest = int(number // 12), number % 12
            inches = Quantity(rest, "in")
            yield f"{feet}' {str(inches).replace(' in', chr(34))}" if rest else f"{feet}'"
            yield f"{feet} ft {inches}" if rest else f"{feet} ft"
            yield (
                f"{whole(feet)} foot {_mixed(rest).removesuffix(' inches').removesuffix(' inch')}"
                if rest
                else f"{whole(feet)} foot"
            )
        if number.denominator in (2, 4, 8, 16, 32, 64):
            yield format_number(number, "mm")
    if value.unit == "mm":
        yield f"{value.magnitude}mm" if number.denominator == 1 else str(value)
        yield str(value.to("cm"))
        yield str(value.to("m"))
        if number.denominator == 1 and 1000 > number > 100 and number % 100:
            yield f"{whole(int(number // 100))} hundred and {whole(int(number % 100))} millimetres"
