"""What an ear hands over: everything an utterance may have been, each with its weight, as plain data.

An ear decides nothing. `Heard` goes through JSON and back unchanged, for ears that run in a process of their own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from fractions import Fraction
from math import inf, log
from typing import Any, Literal

Kind = Literal["reading", "command", "answer"]
"""A reading; a phrase of the conversation; a choice, or whether a thing works, where that is asked for."""


@dataclass(frozen=True, slots=True)
class Amount:
    """One reading in an utterance: its place if it was named, and its exact value."""

    value: str
    """As the guide writes it ("36 3/16 in"), its side in words."""
    inches: Fraction | None = None
    """The signed size if it is a length."""
    place: str | None = None
    hair: int = 0
    unsure: bool = False
    side_missing: bool = False
    unit_given: bool = False


@dataclass(frozen=True, slots=True)
class Hearing:
    """One thing the utterance may have been."""

    kind: Kind
    words: str
    """The words heard."""
    probability: float
    """Among everything it may have been."""
    weight: float
    """Log-probability of the sound's text, all forms together, before what was expected counts."""
    amounts: tuple[Amount, ...] = ()
    command: str | None = None
    answer: str | None = None
    """What an answer stands for: the choice, "yes" or "no"."""
    by_place: tuple[tuple[str, str], ...] = ()
    """Yes and no by place, where an answer names places."""
    urgent: bool = False
    """A command that is rather asked about than missed: somebody is hurt, stop."""
    question: bool = False
    """A command that changes nothing."""
    safe: bool = True
    """False for a command that noise can say: it commits nothing by itself."""
    ambiguous: bool = False
    """These words also bear another meaning."""
    likely: bool = True
    """Within what the step says the reading may be at all."""

    def written(self) -> str:
        """What is handed to the conversation when it is taken: values as they are written, a command as heard."""
        if self.kind != "reading":
            return self.words
        return "; ".join(f"{one.place} {one.value}" if one.place else one.value for one in self.amounts)


@dataclass(frozen=True, slots=True)
class Partner:
    """A value that sounds almost the same as the first hearing ("fifteen", "fifty"), and how far behind it is."""

    words: str
    nats: float


@dataclass(frozen=True, slots=True)
class Heard:
    """What an ear made of one utterance."""

    ear: str
    hearings: tuple[Hearing, ...]
    """The likeliest first; empty when nothing that could be said here was heard."""
    garbage: float
    """How much less likely the first hearing is than speech of any kind, in nats; larger is worse."""
    free: str
    """What it sounds like when nothing is expected."""
    seconds: float
    """How long the sound was."""
    ms: int
    """How long the ear took."""
    cut_off: bool = False
    """The ear was closed in the middle of speech."""
    partners: tuple[Partner, ...] = ()
    stops: bool = False
    """The sound ends as loud as its speech, though nothing is known to have cut it."""
    goes_on: float = -inf
    """Log-probability that the first hearing goes on ("thirty six and …"): speech that was cut."""
    unfinished: float = -inf
    """Log-odds that the ear writes no stop behind the first hearing, which it does of whole sentences."""

    @property
    def margin(self) -> float:
        """How much likelier the first hearing is than the second, in nats; infinite without a second one."""
        if len(self.hearings) < 2:
            return inf
        first, second = (max(one.probability, 1e-300) for one in self.hearings[:2])
        return log(first) - log(second)

    def as_data(self) -> dict[str, Any]:
        """As JSON values."""
        data = asdict(self)
        for hearing in data["hearings"]:
            for amount in hearing["amounts"]:
                amount["inches"] = None if amount["inches"] is None else str(amount["inches"])
        return data

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Heard:
        """Back from JSON values; raises `KeyError`, `TypeError` or `ValueError` on anything else."""
        hearings = []
        for one in data["hearings"]:
            amounts = tuple(
                Amount(**{**part, "inches": None if part["inches"] is None else Fraction(part["inches"])})
                for part in one["amounts"]
            )
            by_place = tuple((place, answer) for place, answer in one["by_place"])
            hearings.append(Hearing(**{**one, "amounts": amounts, "by_place": by_place}))
        partners = tuple(Partner(**one) for one in data["partners"])
        return cls(**{**data, "hearings": tuple(hearings), "partners": partners})
