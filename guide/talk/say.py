"""A reading in words: as the trade writes it, and as it says it, fraction last; and every way to say or type it.

What is said back is chosen so that it can mean nothing else: "one hundred inches and three sixteenths", because
"one hundred and three sixteenths" may be 103/16. `ways` also has what can mean something else besides.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from guide.procedure.model import About, Sign
from guide.quantity import Quantity, format_number
from guide.talk.vocabulary import language

_PARTS = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth", 32: "thirty second", 64: "sixty fourth"}
_NAMED = frozenset({1, *_PARTS})
_GLYPHS = {
    Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾", Fraction(1, 8): "⅛", Fraction(3, 8): "⅜",
    Fraction(5, 8): "⅝", Fraction(7, 8): "⅞",
}  # fmt: skip
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
    "in2": ("square inch", "square inches"),
    "m2": ("square metre", "square metres"),
    "%": ("percent", "percent"),
    "mm/m": ("millimetre per metre", "millimetres per metre"),
    "in/ft": ("inch per foot", "inches per foot"),
}


def written(value: Quantity, about: About = "length", sign: Sign | None = None) -> str:
    """The value as it is shown: exact, its side in words where it has one ("1/16 in, the right end is high")."""
    if sign is None or not value:
        return str(value)
    return f"{abs(value)}, {sign.plus if value.magnitude > 0 else sign.minus}"


def spoken(value: Quantity, about: About = "length", sign: Sign | None = None, feet: bool = False) -> str:
    """The value as it is said: "thirty six and three sixteenths", "a sixteenth, high on the right".

    With `feet` inches from 12 up are said in feet: "six foot eight and a quarter".
    """
    size = abs(value)
    in_feet = feet and size.unit == "in" and size.magnitude >= 12 and size.magnitude.denominator in _NAMED
    words = _feet(size.magnitude) if in_feet else _amount(size)
    if sign is not None and value:
        return f"{words}, {_side(value, about, sign)}"
    return f"minus {words}" if value.magnitude < 0 else words


def _side(value: Quantity, about: About, sign: Sign) -> str:
    plus = value.magnitude > 0
    named = sign.toward if plus else sign.away
    if about == "level" and named:
        return f"high on the {named[0]}"
    return sign.plus if plus else sign.minus


def _amount(value: Quantity) -> str:
    number = value.magnitude
    one, many = _UNITS.get(value.unit, (value.unit, value.unit))
    if value.unit == "in" and number.denominator in _PARTS:
        head, part = int(number // 1), number % 1
        link = " inches and " if head >= 100 and head % 100 == 0 else " and "
        # "twenty one thirty seconds" may be 20 1/32, and "of an inch" keeps it from that
        of_one = " of an inch" if part.numerator > 20 and part.numerator % 10 else ""
        return f"{whole(head)}{link}{_part(part)}" if head else f"{_part(part)}{of_one}"
    if number.denominator == 1:
        return f"{whole(int(number))} {one if number == 1 else many}".strip()
    text = format_number(number, "mm")
    if "/" in text:
        return f"{whole(number.numerator)} over {whole(number.denominator)} {many}".strip()
    head_digits, _, tail = text.partition(".")
    digits = " ".join(whole(int(digit)) for digit in tail)
    return f"{whole(int(head_digits))} point {digits} {many}".strip()


def _feet(inches: Fraction) -> str:
    foot, rest = f"{whole(int(inches // 12))} foot", inches % 12
    if not rest:
        return f"{foot} even"
    if rest < 1:
        return f"{foot} and {_part(rest)} {'inch' if rest.numerator == 1 else 'inches'}"
    return f"{foot} {_mixed(rest)}"


def _mixed(number: Fraction) -> str:
    head, part = int(number // 1), number % 1
    return f"{whole(head)} and {_part(part)}" if part else whole(head)


def _part(part: Fraction) -> str:
    """A part of one: "a half", "an eighth", "three sixteenths"."""
    name = _PARTS[part.denominator]
    if part.numerator == 1:
        return f"{'an' if name == 'eighth' else 'a'} {name}"
    return f"{whole(part.numerator)} {name}s"


def whole(number: int) -> str:
    """A whole number below a million in words, without "and" after hundreds."""
    numbers = language()["numbers"]
    if number < 20:
        return str(numbers["ones"].split()[number])
    if number < 100:
        ten = str(numbers["tens"].split()[number // 10 - 2])
        return f"{ten} {whole(number % 10)}" if number % 10 else ten
    size, name = (100, numbers["hundred"]) if number < 1000 else (1000, numbers["thousand"])
    rest = f" {whole(number % size)}" if number % size else ""
    return f"{whole(number // size)} {name}{rest}"


def ways(value: Quantity, about: About = "length", sign: Sign | None = None) -> Iterator[str]:
    """Ways of saying and typing a reading, each once; each reads back as the value among its meanings.

    Lengths in inches and millimetres have all of them, other units the usual ones. Signed readings take each way of
    saying their side with a few ways of saying their size.
    """
    found: dict[str, None] = {}
    size = abs(value)
    every = {"in": _inch_ways, "mm": _metric_ways}.get(value.unit, _usual_ways)
    if sign is None:
        found.update(dict.fromkeys(every(size)))
        if value.magnitude < 0:
            found = {f"{minus}{way}": None for way in (str(size), spoken(size)) for minus in ("-", "−", "minus ")}
    else:
        sizes = dict.fromkeys(
            (str(size), str(size).replace(" ", "", 1) if value.unit == "mm" else spoken(size), spoken(size))
        )
        for side in _side_ways(value, about, sign):
            for way in sizes:
                found.update(dict.fromkeys((f"{way} {side}", f"{side} {way}", f"{way}, {side}", f"{side} by {way}")))
        found.update(dict.fromkeys((f"{'+' if value.magnitude > 0 else '-'}{size}", spoken(value, about, sign))))
    yield from found


def _side_ways(value: Quantity, about: About, sign: Sign) -> Iterator[str]:
    """Ways of saying on which side a signed reading lies."""
    plus = value.magnitude > 0
    yield sign.plus if plus else sign.minus
    if about == "flush":
        yield from ("proud", "stands out", "sticks out") if plus else ("shy", "behind", "back", "set back")
    toward, away = (sign.toward, sign.away) if plus else (sign.away, sign.toward)
    for side in toward:
        if about == "level":
            yield from (f"high on the {side}", f"{side} high", f"up on the {side}", f"the {side} is high")
        elif about == "plumb":
            yield from (f"leans {side}", f"{side} at the top", f"leaning {side} at the top", f"kicked {side}")
        elif about == "square":
            yield from (f"open at the {side}", f"gap at the {side}")
        elif about != "flush":
            yield from (side, f"on the {side}")
    for side in away:
        if about == "level":
            yield from (f"low on the {side}", f"{side} low", f"down on the {side}", f"the {side} is low")
        elif about == "plumb":
            yield f"{side} at the bottom"


def _usual_ways(value: Quantity) -> Iterator[str]:
    yield str(value)
    yield spoken(value)


def _inch_ways(value: Quantity) -> Iterator[str]:
    number = value.magnitude
    for figures in _figures(number):
        yield from (figures + unit for unit in ("", '"', " in", "in", " inches", "”", "''"))
    for words in _number_words(number):
        yield words
        yield f"{words} {'inch' if number <= 1 else 'inches'}"
    yield spoken(value)
    head, part = int(number // 1), number % 1
    if part and not head:
        yield from (f"{words} of an inch" for words in _part_words(part))
        yield from (["half an inch", "half inch"] if part == Fraction(1, 2) else [])
    elif part:
        yield from (f"{whole(head)} {'inch' if head == 1 else 'inches'} and {words}" for words in _part_words(part))
        yield from ((f"{head} in {part}", f'{head}" {part}') if part.denominator > 1 else ())
    else:
        yield from (f"{whole(head)} even", f"{whole(head)} on the nose", f"{head} inches flat")
    if number >= 12:
        yield from _feet_ways(int(number // 12), number % 12)


def _figures(number: Fraction) -> Iterator[str]:
    """The number typed."""
    head, part = int(number // 1), number % 1
    if not part:
        yield str(head)
        return
    above, below = part.numerator, part.denominator
    yield f"{head} {part}" if head else str(part)
    yield f"{head} {2 * above}/{2 * below}" if head else f"{2 * above}/{2 * below}"
    yield f"{head} {above} / {below}" if head else f"{above} / {below}"
    if head:
        yield from (f"{head}-{part}", f"{head} and {part}", f"{head} {above}⁄{below}")
    if part in _GLYPHS:
        yield from (f"{head}{_GLYPHS[part]}", f"{head} {_GLYPHS[part]}") if head else (_GLYPHS[part],)
    decimal = format_number(number, "mm")
    yield decimal
    yield decimal.replace(".", ",")
    if not head:
        yield decimal.removeprefix("0")


def _feet_ways(feet: int, rest: Fraction) -> Iterator[str]:
    """Inches from 12 up in feet and inches, typed and said."""
    inches, foot = str(Quantity(rest, "in")).removesuffix(" in"), whole(feet)
    if not rest:
        yield from (f"{feet}'", f"{feet} ft", f"{feet}ft", f"{feet} foot", f"{feet} feet", f"{feet}’", f"{feet}' 0\"")
        yield from (f"{foot} foot", f"{foot} feet", f"{foot} foot even", f"{feet}-0", f"{foot} oh")
        return
    yield from (
        f"{feet}' {inches}\"",
        f"{feet}'-{inches}\"",
        f"{feet}' {inches}",
        f"{feet}′ {inches}″",
        f"{feet}’ {inches}”",
    )
    yield from (
        f"{feet} ft {inches} in",
        f"{feet}ft {inches}in",
        f"{feet} feet {inches} inches",
        f"{feet} foot {inches}",
    )
    head, part = int(rest // 1), rest % 1
    if not head:
        yield from (f"{foot} foot {words} inch" for words in _part_words(part))
        yield from (f"{foot} foot and {words}" for words in _part_words(part))
        yield from (f"{foot} oh and {words}" for words in _part_words(part))
        return
    yield f"{feet}-{inches}"
    for words in _number_words(rest, digits=False):
        yield from (f"{foot} foot {words}", f"{foot} feet {words} inches", f"{foot} foot, {words}", f"{foot} {words}")


def _number_words(number: Fraction, digits: bool = True) -> Iterator[str]:
    """The number said: with "and" and without, in eighths or sixteenths where it may be, run together."""
    head, part = int(number // 1), number % 1
    heads = list(_whole_ways(head)) if digits else [whole(head)]
    if not part:
        yield from heads
        return
    parts = list(_part_words(part))
    if head:
        for words in heads:
            yield from (f"{words} and {said}" for said in parts)
            yield from (f"{words} {said}" for said in parts if said.split()[0] != _PARTS.get(part.denominator))
    else:
        yield from parts
    count = number.numerator
    if head and count < 100 and digits:
        yield f"{whole(count)} {_plural(part.denominator)}"
    if digits and part.denominator in (2, 4, 8):
        tail = " ".join(whole(int(digit)) for digit in format_number(number, "mm").partition(".")[2])
        yield f"{whole(head)} point {tail}"
        if not head:
            yield f"point {tail}"


def _part_words(part: Fraction) -> Iterator[str]:
    """A part of one said: "a half", "three sixteenths", "six thirty seconds", "a fourth"."""
    yield _part(part)
    if part.numerator == 1:
        yield f"one {_PARTS[part.denominator]}"
        if part.denominator == 2:
            yield "half"
    if part.denominator == 4:
        yield "a fourth" if part.numerator == 1 else "three fourths"
    if part.denominator in (2, 4, 8):
        yield f"{whole(2 * part.numerator)} {_plural(2 * part.denominator)}"


def _plural(size: int) -> str:
    return "halves" if size == 2 else f"{_PARTS[size]}s"


def _whole_ways(number: int) -> Iterator[str]:
    """A whole number said: "a hundred and twelve", "one twelve", "one oh four", "nineteen hundred"."""
    yield whole(number)
    if 20 < number < 100 and number % 10:
        yield whole(number).replace(" ", "-")
    hundreds, rest = divmod(number, 100)
    if not 100 <= number < 10_000:
        return
    long = whole(number)
    if rest:
        head = long.removesuffix(whole(rest)).rstrip()
        yield f"{head} and {whole(rest)}"
        if rest >= 10:
            yield f"{whole(hundreds)} {whole(rest)}" if hundreds < 100 and hundreds % 10 or hundreds < 10 else long
        elif hundreds < 10:
            yield f"{whole(hundreds)} oh {whole(rest)}"
    if number < 200:
        yield long.replace("one", "a", 1)
        yield " ".join(whole(int(digit)) for digit in str(number))
    if hundreds > 10 and hundreds % 10:
        yield f"{whole(hundreds)} hundred{f' {whole(rest)}' if rest else ''}"


def _metric_ways(value: Quantity) -> Iterator[str]:
    number = value.magnitude
    figures = format_number(number, "mm")
    yield from (figures, f"{figures} mm", f"{figures}mm", f"{figures} millimetres", f"{figures} mil", spoken(value))
    yield figures.replace(".", ",")
    for unit, name in (("cm", "centimetres"), ("m", "metres")):
        there = value.to(unit)
        typed = format_number(there.magnitude, unit)
        yield from (
            f"{typed} {unit}",
            f"{typed}{unit}",
            f"{typed.replace('.', ',')} {unit}",
            f"{typed} {name}",
            spoken(there),
        )
    if number.denominator != 1:
        return
    for words in _whole_ways(int(number)):
        yield from (words, f"{words} {'millimetre' if number == 1 else 'millimetres'}", f"{words} mil")
    metres, rest = divmod(int(number), 1000)
    if metres:
        yield from (f"{metres},{rest:03} mm", f"{metres} {rest:03} mm", f"{metres},{rest:03}")
        yield from (f"{metres} m {rest} mm",) if rest else ()
        if rest >= 100 and rest % 10 == 0:
            yield f"{whole(metres)} metre {whole(rest // 10)}"
