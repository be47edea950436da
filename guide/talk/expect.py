"""What a step asks for, and what an utterance says to it: plain data between the reader of words and who uses it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from guide.procedure.model import About, Sign
from guide.quantity import Quantity

Side = Literal["said", "typed", "zero", "none", "missing"]
"""How the sign is known: by direction words; by + or -; zero needs none; the reading has none; it was left out."""

WhyNot = Literal["too-long", "zero-denominator", "contradiction", "unit", "place", "side", "count"]
"""Why words are no reading: too many; divided by zero; two sides, or over and under, at once; a unit that doesn't fit;
a name that several places share; a side that this reading doesn't have; not one number for each place."""


@dataclass(frozen=True, slots=True)
class Expect:
    """What the step asks for; amounts may be left out."""

    unit: str = "in"
    """The unit a bare number is read in."""
    about: About = "length"
    sign: Sign | None = None
    """What + and - mean, with the words for their sides."""
    places: tuple[str, ...] = ()
    low: Quantity | None = None
    high: Quantity | None = None
    """The tolerance."""
    likely_low: Quantity | None = None
    likely_high: Quantity | None = None
    """What the reading may be at all."""
    metric: bool = False
    """The crew works in millimetres."""
    answers: tuple[tuple[str, str], ...] = ()
    """A choice is asked for: what can be said, and the choice that it stands for; nothing else is an answer then."""
    states: bool = False
    """Yes or no is asked for, and no number: "it latches", "binds at the head"."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """One meaning: the exact value, signed where its side is known, and what was said with it."""

    value: Quantity
    hair: int = 0
    """+1 a hair over ("strong"), -1 a hair under ("shy")."""
    unsure: bool = False
    side: Side = "none"
    unit_given: bool = False


@dataclass(frozen=True, slots=True)
class Said:
    """One reading in an utterance: its place if named, its words, its meanings, the most usual first."""

    place: str | None
    words: str
    meanings: tuple[Meaning, ...]
    without_number: str | None = None
    """A state said without its size ("good", "tight", "low on the left")."""
    usual: int = 0
    """How many of the meanings, the first ones, are no stretch (as fifteen is of "one five sixteenths")."""
