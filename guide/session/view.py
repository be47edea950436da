"""One view of a conversation as plain frozen data: whatever draws it, terminal, tablet or page, only draws.

Every word in it comes from the wording or the procedure; every value is of JSON's kinds (`as_data`). The view is worked
out by `guide.session.conversation`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Literal

from guide.session.keypad import Key, Keypad
from guide.session.spots import Mark, Outline

EarState = Literal["off", "listening", "speaking", "trouble"]
Tone = Literal["", "out", "caution", "part", "banner"]


@dataclass(frozen=True, slots=True)
class Line:
    """One turn of the conversation; `number` counts them from 1, `kind` is the turn's, or "crew"."""

    number: int
    kind: str
    text: str
    tone: Tone = ""
    by: str = ""
    """For the crew's: typed, voice or touch."""


@dataclass(frozen=True, slots=True)
class Pinned:
    """What is asked now: the question or the work, then the details that go with it."""

    about: str
    headline: str
    details: tuple[str, ...] = ()
    step: str = ""
    place: str = ""
    expects: str = ""
    move: Mapping[str, object] | None = None
    outline: Outline = ""
    marks: tuple[Mark, ...] = ()
    number: int = 0
    """Goes up whenever something else is asked."""

    @property
    def text(self) -> str:
        """All of it."""
        return " ".join([self.headline, *self.details])


@dataclass(frozen=True, slots=True)
class Understood:
    """A reading as it was understood, or a move's size, in parts that can be drawn big, and in words."""

    text: str
    """The exact value, its side in words."""
    whole: str
    """Whole units, or all the digits of a decimal; empty for a fraction alone."""
    part: str
    """The fraction, "3/16"; or empty."""
    unit: str
    place: str = ""
    verdict: str = ""
    """good, out, noted; asked while it is to be confirmed; move for a move; empty while it is being typed."""
    words: str = ""
    """The verdict in words; of a move, its direction."""


@dataclass(frozen=True, slots=True)
class Stale:
    """Checks to be read or done again, and why; `text` has the whole of it, the count and the reason first."""

    text: str
    checks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far along the job is: steps done of those in it, and where."""

    done: int
    all: int
    part: str
    text: str


@dataclass(frozen=True, slots=True)
class Ear:
    """The ear: its state, that in words, what it heard last and what was made of that."""

    state: EarState
    words: str
    heard: str = ""
    made: str = ""


@dataclass(frozen=True, slots=True)
class View:
    """Everything a screen draws."""

    title: str
    lines: tuple[Line, ...]
    request: Pinned
    keypad: Keypad
    helps: tuple[Key, ...]
    """What can be asked beside any request."""
    reading: Understood | None
    stale: tuple[Stale, ...]
    progress: Progress
    crew: str
    """Who must be there; empty if one will do."""
    cautions: tuple[str, ...]
    """To be acknowledged now."""
    ear: Ear
    banner: str
    hint: str
    """What stands in the empty line for words."""
    answer: int
    """The number of the last turn that is to be read beside what is asked; 0 for none since that was put."""
    secret: bool
    over: bool

    def as_data(self) -> dict[str, object]:
        """The view as one JSON object."""
        return asdict(self)
