"""What a computation answers, and what it is called by: plain data, ready for a screen or for JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from guide.quantity import Quantity, nearest
from guide.trade.given import Given


@dataclass(frozen=True, slots=True)
class Answer:
    """The result (plain JSON values by name), how sure it is, how it was worked out, and the sources."""

    result: Mapping[str, object]
    uncertainty: str
    working: tuple[str, ...]
    source: tuple[str, ...]

    def as_data(self, name: str) -> dict[str, object]:
        """Everything as one JSON object: `work`, the result's own keys, `uncertainty`, `working`, `source`."""
        return {
            "work": name,
            **self.result,
            "uncertainty": self.uncertainty,
            "working": list(self.working),
            "source": list(self.source),
        }


@dataclass(frozen=True, slots=True)
class Work:
    """One computation by name: a line on what it answers, an example input (YAML) that runs as it is, and itself.

    `answer` reads its input from a `Given` and calls its `finish` before it computes.
    """

    name: str
    summary: str
    example: str
    answer: Callable[[Given], Answer]


def decimal(value: Fraction, places: int = 2) -> float:
    """A figure for JSON or a sentence, rounded (halves away from zero) to so many decimals."""
    return float(nearest(Quantity(value, ""), "", Fraction(1, 10**places))[0].magnitude)


def in_words(value: Fraction, unit: str, places: int = 2) -> str:
    """A figure for a sentence: rounded to so many decimals, and without a useless ".0"."""
    shown = f"{decimal(value, places):,.{places}f}"
    if "." in shown:
        shown = shown.rstrip("0").rstrip(".")
    return f"{shown} {unit}".rstrip()


def by_tape(value: Fraction, step: Fraction = Fraction(1, 16)) -> str:
    """A length in inches as a tape shows it; "about" when it is not a whole number of steps."""
    shown, exact = nearest(Quantity(value, "in"), "in", step)
    return str(shown) if exact else f"about {shown}"


def counted(number: int, noun: str) -> str:
    """ "1 cartridge", "5 cartridges"."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
