"""What a session says: plain turns, the same for every screen and for a program."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

TurnKind = Literal["say", "ask", "understood", "accepted", "refused", "stale", "advice", "wait", "finished", "stopped"]

Expects = Literal["number", "choice", "yes-no", "done", "name", "text"]


@dataclass(frozen=True, slots=True)
class Turn:
    """One thing said: its kind, the sentence, and what a program needs of it (JSON values only)."""

    kind: TurnKind
    text: str
    data: Mapping[str, object] = field(default_factory=dict)

    def as_data(self) -> dict[str, object]:
        """The turn as one JSON object: `kind`, `text`, then the data."""
        return {"kind": self.kind, "text": self.text, **self.data}


@dataclass(frozen=True, slots=True)
class Ask:
    """A request put to the crew. Amounts are exact strings such as "1/16 in"; None where there is none."""

    text: str
    expects: Expects
    about: str = ""
    """What kind of thing is asked: a reading, cautions, crew, done, adjust, a form's field ..."""
    step: str | None = None
    reading: str | None = None
    place: str | None = None
    unit: str | None = None
    low: str | None = None
    high: str | None = None
    likely: tuple[str, str] | None = None
    sign: str | None = None
    choices: tuple[str, ...] = ()
    labels: tuple[str, ...] = ()
    wanted: str | None = None
    round: int = 1
    instrument: str | None = None
    again: bool = False
    even: str | None = None
    """The most that the places may differ."""
    move: Mapping[str, object] | None = None
    """The move asked for: point, direction, by, and how many more there are."""
    value: str | None = None
    """The reading as it was understood, while it is asked whether it is right or which side it has."""
    secret: bool = False
    """The answer is not to be shown or kept (a PIN)."""

    def turn(self) -> Turn:
        """The request as a turn."""
        data: dict[str, object] = {
            "step": self.step,
            "reading": self.reading,
            "place": self.place,
            "expects": self.expects,
            "about": self.about,
            "unit": self.unit,
            "low": self.low,
            "high": self.high,
            "likely": list(self.likely) if self.likely else None,
            "sign": self.sign,
            "choices": list(self.choices),
            "labels": list(self.labels),
            "wanted": self.wanted,
            "round": self.round,
            "with": self.instrument,
            "again": self.again,
            "even": self.even,
        }
        if self.move is not None:
            data["move"] = dict(self.move)
        if self.value is not None:
            data["value"] = self.value
        return Turn("ask", self.text, data)
