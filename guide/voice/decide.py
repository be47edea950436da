"""One decision from all that the ears heard: take it, ask which of these, ask to say it again, or leave it alone.

A wrong number taken silently is the worst that can happen, so each doubt by itself is enough to ask. The thresholds are
data (`thresholds.toml`), chosen on voices that are not reported on.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files
from math import inf, log
from typing import Literal

from guide.talk.expect import Expect
from guide.voice.hearing import Amount, Heard, Hearing, Kind

Outcome = Literal["taken", "asked", "again", "command", "none"]
"""Taken as a reading; asked, with choices; to be said again another way; taken as a command; nothing for the guide."""

Doubt = Literal[
    "margin", "garbage", "partner", "ambiguous", "unsure", "unlikely", "odd", "unit", "side", "cut-off", "noise-prone"
]
"""Why it was not taken: another meaning is near; it may be no speech for the guide; a teen or a ten sounds alike; the
words mean several things; the crew was not sure; outside what is likely; a size that no tape shows; a unit that the job
does not use; its side was not said; speech was cut; a command or a bare number that noise can say."""


ON_A_TAPE = frozenset({1, 2, 4, 8, 16, 32, 64})
"""Parts of an inch."""
MM_IN_AN_INCH = Fraction(254, 10)
LONGEST = 400
"""Inches: longer than what doors and their openings are measured by."""


@dataclass(frozen=True, slots=True)
class Take:
    """When a reading is taken, in nats."""

    margin: float
    slope: float
    garbage: float
    partner: float
    faint: float = 0.0

    def needed(self, garbage: float, weight: float) -> float:
        """How much likelier than the second the first meaning must be, whose text has this log-probability."""
        return self.margin + self.slope * max(0.0, garbage - 1) + self.faint * max(0.0, -weight - 1)

    def lacking(self, heard: Heard) -> Iterator[Doubt]:
        """What keeps anything at all from being taken within these: a rival near, or garbage.

        What names its places is long and of rare words, and no fainter for it.
        """
        first = heard.hearings[0]
        if heard.margin < self.needed(heard.garbage, 0.0 if first.by_place else first.weight):
            yield "margin"
        if heard.garbage > self.garbage:
            yield "garbage"


@dataclass(frozen=True, slots=True)
class Thresholds:
    """When what is done, in nats."""

    urgent: Take
    """For a cry that somebody is hurt, or to stop: at once within these, asked about within the next ones."""
    urgent_chance: float
    urgent_garbage: float
    expected: Take
    """For a reading that lies where the step says it may be."""
    unexpected: Take
    """For any other."""
    command: Take
    question: Take
    """For a command that changes nothing."""
    command_asked: float
    """Garbage up to which a command in doubt is asked about; beyond it was none."""
    goes_on: float
    unfinished: float
    """Log-probability of going on, and log-odds of no stop, above which a reading was cut short."""
    none_expected: float
    none_unexpected: float
    none_faint: float
    """Garbage, and how unlikely a text by itself, beyond which it was neither a reading nor a command."""
    choices: int
    within: float

    @classmethod
    @cache
    def load(cls, ear: str = "") -> Thresholds:
        """The calibrated ones of an ear; where it has none of its own, those of the embedded ear as it is shipped."""
        data = tomllib.loads(files("guide.voice").joinpath("thresholds.toml").read_text(encoding="utf-8"))
        for name, own in data.get(ear, {}).items():
            data[name] |= own
        return cls(
            urgent=Take(**data["urgent"]),
            urgent_chance=data["urgent-asked"]["chance"],
            urgent_garbage=data["urgent-asked"]["garbage"],
            expected=Take(**data["expected"]),
            unexpected=Take(**data["unexpected"]),
            command=Take(**data["command"]),
            question=Take(**data["question"]),
            command_asked=data["command-asked"]["garbage"],
            goes_on=data["cut"]["goes-on"],
            unfinished=data["cut"]["unfinished"],
            none_expected=data["none"]["expected"],
            none_unexpected=data["none"]["unexpected"],
            none_faint=data["none"]["faint"],
            choices=data["choices"]["most"],
            within=data["choices"]["within"],
        )

    def take(self, reading: Hearing, expect: Expect | None) -> Take:
        """Those for this reading of a step."""
        bounded = expect is not None and expect.likely_low is not None and expect.likely_high is not None
        return self.expected if bounded and reading.likely else self.unexpected


@dataclass(frozen=True, slots=True)
class Decision:
    """What is done about an utterance, and why."""

    outcome: Outcome
    hearing: Hearing | None = None
    """What was taken, or the likeliest."""
    choices: tuple[Hearing, ...] = ()
    """When asked: what it may have been, the likeliest first."""
    doubts: tuple[Doubt, ...] = ()


def decide(heard: Heard, expect: Expect | None = None, by: Thresholds | None = None) -> Decision:
    """Decide on one utterance; `expect` is what the step asks for, None when it asks for no reading."""
    by = by or Thresholds.load(heard.ear)
    if not heard.hearings:
        return Decision("none")
    first = heard.hearings[0]
    urgent = _urgent(heard, by)
    if urgent is not None:
        return urgent
    likely = first.kind == "answer" or (first.kind == "reading" and by.take(first, expect) is by.expected)
    if heard.garbage > (by.none_expected if likely else by.none_unexpected) or _faint(first) > by.none_faint:
        return Decision("none")
    if first.kind == "command":
        return _command(heard, first, by)
    if first.kind == "answer":
        return _answer(heard, first, by)
    doubts = tuple(_doubts(heard, first, expect, by))
    if not doubts:
        return Decision("taken", first)
    choices = _choices(heard, by)
    return Decision("asked" if choices else "again", first, choices, doubts)


def _faint(hearing: Hearing) -> float:
    """How unlikely its text is by itself; of several places the mean."""
    return -hearing.weight / max(1, len(hearing.by_place))


def _urgent(heard: Heard, by: Thresholds) -> Decision | None:
    """What is done about a cry that somebody is hurt, or to stop: asked about too often rather than missed."""
    for at, one in enumerate(heard.hearings):
        if one.urgent and one.probability >= by.urgent_chance and heard.garbage <= by.urgent_garbage:
            sure = not at and not any(by.urgent.lacking(heard))
            doubt: Doubt = "margin" if not sure else "noise-prone"
            return Decision("command", one) if sure and one.safe else Decision("asked", one, (), (doubt,))
    return None


def _command(heard: Heard, first: Hearing, by: Thresholds) -> Decision:
    take = by.question if first.question else by.command
    doubts = list(take.lacking(heard))
    if not first.safe:
        doubts.append("noise-prone")
    if heard.unfinished > by.unfinished:
        doubts.append("cut-off")
    if not doubts:
        return Decision("command", first)
    if heard.garbage > by.command_asked:
        return Decision("none", first, (), tuple(doubts))
    return Decision("asked", first, _choices(heard, by), tuple(doubts))


def _answer(heard: Heard, first: Hearing, by: Thresholds) -> Decision:
    """A choice, or whether a thing works: it is one of few, as an expected reading is.

    What works and sounds like what does not ("runs", "rubs") must be as far ahead as a reading that nothing bounds.
    """
    doubts, works = list(by.expected.lacking(heard)), first.answer in ("yes", "no")
    near = by.unexpected.partner if works else by.expected.partner
    if any(partner.nats < near for partner in heard.partners):
        doubts.append("partner")
    if first.ambiguous:
        doubts.append("ambiguous")
    if _cut(heard, by) or (works and heard.stops):
        doubts.append("cut-off")
    choices = _choices(heard, by, "answer") if doubts else ()
    return Decision("asked" if doubts else "taken", first, choices, tuple(doubts))


def _doubts(heard: Heard, first: Hearing, expect: Expect | None, by: Thresholds) -> Iterator[Doubt]:
    """Every reason not to take a reading unasked."""
    take = by.take(first, expect)
    yield from take.lacking(heard)
    if any(partner.nats < take.partner for partner in heard.partners):
        yield "partner"
    if first.ambiguous:
        yield "ambiguous"
    if any(one.unsure for one in first.amounts):
        yield "unsure"
    if not first.likely:
        yield "unlikely"
    if any(_odd(one) for one in first.amounts):
        yield "odd"
    if any(one.side_missing for one in first.amounts):
        yield "side"
    if expect is not None and not expect.metric and any(_metric(one.value) for one in first.amounts):
        yield "unit"
    if take is by.unexpected and _bare(first):
        yield "noise-prone"
    if _cut(heard, by) or (_open(first) and (heard.stops or heard.goes_on > by.goes_on)):
        yield "cut-off"


def _cut(heard: Heard, by: Thresholds) -> bool:
    """Whether the speech was cut short, whatever was heard."""
    return heard.cut_off or heard.unfinished > by.unfinished


def _odd(amount: Amount) -> bool:
    """Whether a length is none that a tape shows: a decimal of an inch, less than half a millimetre, very long."""
    if amount.inches is None:
        return False
    if abs(amount.inches) > LONGEST:
        return True
    if _metric(amount.value):
        return (amount.inches * MM_IN_AN_INCH).denominator > 2
    return amount.inches.denominator not in ON_A_TAPE


def _bare(hearing: Hearing) -> bool:
    """Whether it is a whole number and nothing says of what: words that talk and noise are full of."""
    return all(one.inches is not None and one.inches.denominator == 1 and not one.unit_given for one in hearing.amounts)


def _open(hearing: Hearing) -> bool:
    """Whether more might have followed: a whole number, unless a metric unit closes it."""
    last = hearing.amounts[-1]
    if _metric(last.value):
        return not last.unit_given
    return last.inches is None or last.inches.denominator == 1


def _metric(value: str) -> bool:
    return value.split(",")[0].endswith((" mm", " cm", " m"))


def _choices(heard: Heard, by: Thresholds, kind: Kind = "reading") -> tuple[Hearing, ...]:
    """Readings, or answers, that it may have been, the likeliest first."""
    best = heard.hearings[0].probability
    near = [
        one
        for one in heard.hearings
        if one.kind == kind and one.probability > 0 and log(best / one.probability) < (by.within or inf)
    ]
    return tuple(near[: by.choices])
