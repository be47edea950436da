"""From what is shown to what is said: figures as the trade says them, apart from the words around them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from guide.quantity import SPELLINGS, UNITS, Quantity, QuantityError, quantity
from guide.talk.say import spoken

LONGEST = 2000
"""Characters that are said at once; what comes after is only shown."""

_GLYPHS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_UNIT_WORDS = sorted({one for one in (*UNITS, *SPELLINGS) if one}, key=len, reverse=True)
_NUMBER = r"\d{1,6}[ -]\d{1,4}/\d{1,4}|\d{1,4}/\d{1,4}|\d{1,6}\.\d{1,6}|\d{1,6}"
_FIGURE = re.compile(
    rf"""
    (?<![\w.,/:\#-]) (?P<sign>[-−±]?)
    (?: (?P<feet>\d{{1,4}}) \s? (?:'|′|ft\b) [\s-]? (?P<inches>{_NUMBER}) \s? (?:"|″|in\b)
      | (?P<number>{_NUMBER}) (?: \s? (?P<unit>{"|".join(map(re.escape, _UNIT_WORDS))}) (?![\w/]) )?
    ) (?![\w/]|[.,:-]\d)
    """,
    re.VERBOSE,
)
_IN_A_SENTENCE = re.compile(r"\s+(?:the|this|that|these|a|an|all|each|every|front|turn|order|case|time|place)\b")
"""What follows "in" where it is a word and no unit."""
_ONE_OF_THEM = re.compile(r"\b[Aa] $")
""" "a 3 in screw" is a three inch screw."""
_RANGE = re.compile(r"(?<=\d)\s?[–—]\s?(?=\d)")


@dataclass(frozen=True, slots=True)
class Part:
    """Some words to say in one go; figures are said slower, with a pause around them."""

    words: str
    figure: bool = False


def parts(text: str) -> tuple[Part, ...]:
    """What is said for a text that is shown, in order."""
    plain = _plain(text)
    found: list[Part] = []
    at = 0
    for match in _FIGURE.finditer(plain):
        words = _figure(match, plain)
        if words is None:
            continue
        found += _words(plain[at : match.start()])
        found.append(Part(words, figure=True))
        at = match.end()
    return (*found, *_words(plain[at:]))


def said(text: str) -> str:
    """The same as one line of words."""
    line = " ".join(part.words for part in parts(text))
    return re.sub(r" (?=[.,;:!?])", "", line)


def _plain(text: str) -> str:
    """One line of what can be said: no control characters, fraction signs as figures, ranges as words."""
    for glyph, figures in _GLYPHS.items():
        text = re.sub(rf"(?<=\d){glyph}", f" {figures}", text).replace(glyph, figures)
    seen = "".join(c if c.isprintable() else " " for c in text[:LONGEST])
    return _RANGE.sub(" to ", " ".join(seen.split())).replace("…", ", ")


def _words(text: str) -> list[Part]:
    return [Part(" ".join(text.split()))] if any(c.isalnum() for c in text) else []


def _figure(match: re.Match[str], text: str) -> str | None:
    """The figure in words; None for a number that is none of the trade's."""
    if match["number"] is not None and match["unit"] is None and "/" not in match["number"]:
        return None
    if match["unit"] == "in" and _IN_A_SENTENCE.match(text, match.end()) and "/" not in match["number"]:
        return None
    unit = match["unit"]
    if unit == '"' and text[: match.start()].count('"') % 2:
        unit = None  # it closes a quotation
    if unit is None and match["number"] is not None and "/" not in match["number"]:
        return None
    value = _value(match, unit)
    if value is None:
        return None
    sign = {"-": "minus ", "−": "minus ", "±": "plus or minus ", "": ""}[match["sign"]]
    words = spoken(value)
    if _ONE_OF_THEM.search(text, 0, match.start()):
        words = words.removesuffix("es") if words.endswith("inches") else words
    return sign + words


def _value(match: re.Match[str], unit: str | None) -> Quantity | None:
    try:
        if match["feet"] is not None:
            return quantity(f"{match['feet']} ft {match['inches']} in")
        found = quantity(f"{match['number']} {unit or 'in'}")
    except QuantityError:
        return None
    return found if found.magnitude < Fraction(10**6) else None
