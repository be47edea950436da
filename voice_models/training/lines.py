"""What is said, and the line that is written of it."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from typing import Any

from guide.procedure.model import Sign
from guide.quantity import Quantity
from guide.talk.expect import Expect

Value = tuple[str | None, str, str, str | None]
"""Place, exact value, unit, and a hair over or under."""


@dataclass(frozen=True)
class Said:
    """One utterance."""

    kind: str
    text: str
    """In words, as it is handed to a voice."""
    target: str
    """What the ear should write."""
    truth: str = ""
    values: tuple[Value, ...] = ()
    expect: tuple[str, str, str] | None = None
    """Unit, and between what it is likely."""
    asked: Asked | None = None
    texts: str = "closed"
    pair: str | None = None
    usual: bool = False
    """A single reading in the way that crews mostly put it, no hair over or under."""

    def cut(self, words: int) -> Said:
        """The same, of which only so many words were wholly heard."""
        said = " ".join(self.text.split()[:words])
        return replace(self, kind="cut", target=target_of(said, cut=True), values=(), pair=None, usual=False)


@dataclass(frozen=True)
class Asked:
    """What a step asks for besides its unit."""

    about: str = "length"
    sign: tuple[str, str, tuple[str, ...], tuple[str, ...]] | None = None
    places: tuple[str, ...] = ()


def target_of(text: str, cut: bool = False) -> str:
    """The one spelling: as it is said, in words, with a capital first and a full stop at the end.

    What was cut short has no stop.
    """
    words = text.replace("-", " ").split()
    found = " ".join(_SPELT.get(word, word) for word in words).rstrip(",;")
    if not found:
        return ""
    found = found[:1].upper() + found[1:]
    if cut or found[-1] in ".?!":
        return found
    return f"{found}{'?' if words[0].lower() in _ASKING else '.'}"


_ASKING = frozenset(
    {"what", "what's", "how", "who", "who's", "where", "where's", "when", "why", "which"}
    | {"can", "could", "does", "do", "will", "did", "has"}
)
_SPELT = {
    "millimetres": "millimeters",
    "millimetre": "millimeter",
    "i": "I",
    "i'm": "I'm",
    "i've": "I've",
    "i'll": "I'll",
}


def expect_of(line: dict[str, Any]) -> Expect:
    """What the step asks for when a line is said."""
    asked = line.get("asked") or {}
    sign = asked.get("sign")
    found = Expect(
        about=asked.get("about", "length"),
        sign=Sign(sign[0], sign[1], tuple(sign[2]), tuple(sign[3])) if sign else None,
        places=tuple(asked.get("places", ())),
    )
    if line.get("expect") is None:
        return found
    unit, low, high = line["expect"]
    return replace(
        found,
        unit=unit,
        metric=unit == "mm",
        likely_low=Quantity(Fraction(low), unit),
        likely_high=Quantity(Fraction(high), unit),
    )


def said_line(said: Said) -> dict[str, Any]:
    """The part of a line that tells what was said."""
    return asdict(said)
