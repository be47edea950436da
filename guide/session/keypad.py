"""Keys for thumbs: which fit what is asked, and what a press makes of the answer so far. Plain data, the same anywhere.

The answer is put together as the words a crew would type ("36 3/16", `6' 8 1/4"`, "914 mm"); what it means is decided
where typed words are read, and nowhere else.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from guide.quantity import LENGTH, Quantity
from guide.session.turns import Ask
from guide.talk.wording import Wording

Kind = Literal["inches", "millimetres", "digits", "choice", "yes-no", "done", "name", "text", "secret", "none"]
Does = Literal["type", "say", "send"]

SIXTEENTHS = tuple(Fraction(part, 16) for part in range(1, 16))
FINER = Fraction(1, 32)
COLUMNS = 5
LONGEST = 12
"""Digits of one figure that keys put together."""

_TYPED = re.compile(
    r"(?P<side>[+-]?)(?:(?P<feet>\d+)')?\s*(?:(?P<whole>[\d.]+)(?=\s|\"|mm|$))?\s*"
    r"(?P<part>\d+/\d+)?\s*(?P<unit>\"|mm)?",
    re.ASCII,
)


@dataclass(frozen=True, slots=True)
class Key:
    """One key: its label, whether it types, says or sends, and what it types or says; `words` tell more of it."""

    label: str
    does: Does
    text: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Keypad:
    """The keys that fit what is asked, in blocks of rows; a screen may put blocks beside or below each other."""

    kind: Kind
    blocks: tuple[tuple[Key, ...], ...] = ()
    columns: int = 1
    """Keys in a row of a block."""


def keypad(ask: Ask | None, sign: tuple[str, str] | None, people: Iterable[str], wording: Wording) -> Keypad:
    """The keys for a request; `sign` is what + and - mean, in a word or two, for a reading that has a side."""
    if ask is None:
        return Keypad("none")
    if ask.secret:
        skip = Key(wording.say("keys.skip"), "say", "skip")
        return Keypad("secret", (_digits((skip, _back(wording), _send(wording))),), COLUMNS)
    if ask.expects == "number":
        return _number(ask.unit or "", sign, wording)
    if ask.expects == "choice":
        labels = ask.labels or ask.choices
        return Keypad("choice", (tuple(Key(f"{n}", "say", f"{n}", label) for n, label in enumerate(labels, 1)),))
    if ask.expects == "yes-no":
        answers = (Key(wording.say("keys.yes"), "say", "yes"), Key(wording.say("keys.no"), "say", "no"))
        return Keypad("yes-no", (answers,), 2)
    if ask.expects == "done":
        label, say = ("keys.understood", "understood") if ask.about == "cautions" else ("keys.done", "done")
        return Keypad("done", ((Key(wording.say(label), "say", say),),))
    if ask.expects == "name":
        return Keypad("name", (tuple(Key(name, "say", name) for name in people),), 2)
    return Keypad("text")


def _number(unit: str, sign: tuple[str, str] | None, wording: Wording) -> Keypad:
    sides = () if sign is None else (Key("+", "type", "+", sign[0]), Key("−", "type", "-", sign[1]))
    millimetres = Key(wording.say("keys.millimetres"), "type", "mm")
    back, send = _back(wording), _send(wording)
    if not unit or Quantity(Fraction(1), unit).dimension != LENGTH:
        return Keypad("digits", (_digits((*sides, Key(".", "type", "."), back, send)),), COLUMNS)
    if unit in ("mm", "cm", "m"):
        return Keypad("millimetres", (_digits((*sides, Key(".", "type", "."), back, send)),), COLUMNS)
    if sides:
        last = (*sides, millimetres, back, send)
    else:
        last = (Key(wording.say("keys.feet"), "type", "ft"), Key("+1/32", "type", "+1/32"), millimetres, back, send)
    fractions = tuple(Key(str(part), "type", str(part)) for part in SIXTEENTHS)
    return Keypad("inches", (_digits(last), fractions), COLUMNS)


def _digits(last: tuple[Key, ...]) -> tuple[Key, ...]:
    return tuple(Key(digit, "type", digit) for digit in "1234567890") + last


def _back(wording: Wording) -> Key:
    return Key(wording.say("keys.back"), "type", "back")


def _send(wording: Wording) -> Key:
    return Key(wording.say("keys.send"), "send")


@dataclass(slots=True)
class _Figure:
    """A figure in the making."""

    side: str = ""
    feet: str = ""
    whole: str = ""
    part: Fraction | None = None
    metric: bool = False

    def text(self) -> str:
        inches = " ".join(filter(None, [self.whole, str(self.part) if self.part else ""]))
        if self.metric:
            return f"{self.side}{self.whole} mm"
        if self.feet:
            return f"{self.side}{self.feet}' {inches}\"" if inches else f"{self.side}{self.feet}'"
        return self.side + inches


def press(text: str, key: str, secret: bool = False) -> str:
    """The answer with one more key pressed ("3" and "6" and "3/16" make "36 3/16"); other words are begun anew.

    Of a `secret` the digits are put one behind the other, whatever they look like.
    """
    if secret and key.isdigit():
        return text + key
    found = _TYPED.fullmatch(text.strip())
    figure = _figure(found) if found is not None else _Figure()
    if key == "back":
        return text.strip()[:-1] if found is None else _without_last(figure).text()
    if key in ("+", "-"):
        figure.side = "" if figure.side == key else key
    elif key == "mm":
        figure.metric = not figure.metric
        figure.feet, figure.part = "", None
    elif key == "ft":
        if figure.whole.isdigit() and not figure.feet:
            figure.feet, figure.whole, figure.metric = figure.whole, "", False
    elif key == "+1/32":
        figure.part, figure.metric = (figure.part or Fraction(0)) + FINER, False
        if figure.part == 1:
            figure.part, figure.whole = None, str(int(figure.whole.partition(".")[0] or 0) + 1)
    elif "/" in key:
        part = Fraction(key)
        figure.part, figure.metric = (None if figure.part == part else part), False
    elif len(figure.whole) < LONGEST and not (key == "." and "." in figure.whole):
        figure.whole += key
    return figure.text()


def _figure(found: re.Match[str]) -> _Figure:
    part = found["part"]
    divides = part is not None and int(part.partition("/")[2])
    return _Figure(
        found["side"],
        found["feet"] or "",
        found["whole"] or "",
        Fraction(part) if divides else None,
        found["unit"] == "mm",
    )


def _without_last(figure: _Figure) -> _Figure:
    """What was put last into the figure, taken out again."""
    if figure.metric and not figure.whole:
        figure.metric = False
    elif figure.part is not None:
        figure.part = None
    elif figure.whole:
        figure.whole = figure.whole[:-1]
    elif figure.feet:
        figure.whole, figure.feet = figure.feet, ""
    else:
        figure.side = ""
    return figure
