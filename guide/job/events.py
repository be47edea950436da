"""What happened on a job: one frozen class a kind, each with an exact, stable form in the record.

The record is the only truth. An `Entry` is an event with its number, time and speaker; `guide.job.codec` turns
events into plain JSON data and back without loss. Kinds and keys are never renamed: a newer format adds.
"""

from __future__ import annotations

import typing
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import ClassVar, Literal

from guide.quantity import Quantity

FORMAT = 1
"""The record format this guide writes; every older one is read for ever, a newer one refused."""

Value = Quantity | str
"""A reading's value: an amount, or the words (yes, no, an option, a name, free text)."""

Verdict = Literal["good", "out", "noted"]
"""Inside its tolerance, outside it, or nothing to judge."""

Proof = Literal["pin", "claimed"]
"""A name typed is a name claimed; a PIN proves it."""

Left = Literal["said", "input ended", "interrupted", "terminated"]
"""How a job came to stop."""


@dataclass(frozen=True, slots=True)
class Heard:
    """How a value was given: the words, by which way, and what else they could have been."""

    said: str = ""
    by: Literal["typed", "voice", "touch"] = "typed"
    hair: int = 0
    """+1 a hair over ("strong"), -1 a hair under ("shy")."""
    unsure: bool = False
    """Said with "about" or "maybe"."""
    others: tuple[str, ...] = ()
    confidence: str | None = None
    confirmed: Literal["", "yes", "choice", "side", "again"] = ""


UNSAID = Heard()
"""Nothing known of how it was given."""


@dataclass(frozen=True, slots=True)
class Person:
    """Who did something that not everybody may: name, role, and how the name was proved."""

    name: str
    role: str
    proof: Proof


@dataclass(frozen=True, slots=True)
class Source:
    """One file of the procedure, whole."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Started:
    """The first event: format, procedure with its hash and full text, whether the clock is pretended."""

    kind: ClassVar[str] = "started"
    format: int
    guide: str
    procedure: str
    title: str
    sha256: str
    sources: tuple[Source, ...]
    pretended: bool = False
    invented: bool = False
    """The job is made up (a demo)."""


@dataclass(frozen=True, slots=True)
class Spoke:
    """From here on this person speaks."""

    kind: ClassVar[str] = "spoke"
    person: Person


@dataclass(frozen=True, slots=True)
class Chosen:
    """A choice was made, or changed (then `replaces` is the entry of the earlier one, `by` who allowed it)."""

    kind: ClassVar[str] = "chosen"
    choice: str
    option: str
    heard: Heard = UNSAID
    replaces: int | None = None
    by: Person | None = None
    reason: str = ""
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Begun:
    """A step was started: its request was put to the crew for the first time."""

    kind: ClassVar[str] = "begun"
    step: str


@dataclass(frozen=True, slots=True)
class Acknowledged:
    """The step's cautions were shown and acknowledged."""

    kind: ClassVar[str] = "acknowledged"
    step: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CrewReady:
    """The people the step needs are there."""

    kind: ClassVar[str] = "crew-ready"
    step: str
    count: int


@dataclass(frozen=True, slots=True)
class Looked:
    """A named person looked at a hold point, and passed it or not."""

    kind: ClassVar[str] = "looked"
    step: str
    by: Person
    passed: bool
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Done:
    """A step was done. `again` when it had been done before; `until` when a wait runs from here."""

    kind: ClassVar[str] = "done"
    step: str
    again: bool = False
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class WaitOver:
    """The time a step had to wait has passed on the record's clock."""

    kind: ClassVar[str] = "wait-over"
    step: str


@dataclass(frozen=True, slots=True)
class Took:
    """A reading was taken; verdict and limits as they stood at that moment."""

    kind: ClassVar[str] = "took"
    step: str
    reading: str
    place: str
    value: Value
    verdict: Verdict
    low: Quantity | None = None
    high: Quantity | None = None
    round: int = 1
    heard: Heard = UNSAID
    surprising: bool = False
    """Outside its likely range, and confirmed."""
    doubts: tuple[str, ...] = ()
    """Steps done on the earlier value of this reading, which this one changed."""


@dataclass(frozen=True, slots=True)
class Advised:
    """A check was out: the advice as it was worked out then, with what it was worked out from."""

    kind: ClassVar[str] = "advised"
    step: str
    round: int
    places: tuple[str, ...]
    values: tuple[Value, ...]
    say: tuple[str, ...]
    """One sentence for each thing to do, as it was said."""
    adjust: tuple[str, ...]
    figures: Mapping[str, str] = field(default_factory=dict)
    """What was worked out, by name, exact."""


@dataclass(frozen=True, slots=True)
class Move:
    """One move of a plan: the point, how far (+ and − as the point's two directions go), which way, the sentence."""

    point: str
    by: Quantity
    direction: str
    say: str


@dataclass(frozen=True, slots=True)
class Spot:
    """A place of a check's reading."""

    step: str
    place: str


@dataclass(frozen=True, slots=True)
class Planned:
    """What to do about a set of checks, worked out from all its readings; the newest plan of a set holds."""

    kind: ClassVar[str] = "planned"
    set: str
    what: Literal["move", "each", "read again", "cannot", "lead"]
    """Moves for all at once; each check's own correction; read first; no moves do it; a person must decide."""
    readings: Mapping[str, str]
    """What it was worked out from, "check: place" to the exact amount."""
    say: tuple[str, ...]
    """One sentence for each thing to say, as it was said; a move's sentence is its own."""
    moves: tuple[Move, ...] = ()
    """In the order to make them."""
    again: tuple[Spot, ...] = ()
    after: Mapping[str, str] = field(default_factory=dict)
    """Where the readings should then stand, in the same form."""
    proven: bool = False
    """No fewer moves do it."""


@dataclass(frozen=True, slots=True)
class Repeated:
    """A reading was taken again with nothing moved between, and came out the same."""

    kind: ClassVar[str] = "repeated"
    step: str
    reading: str
    place: str
    value: Value
    heard: Heard = UNSAID


@dataclass(frozen=True, slots=True)
class Adjusted:
    """The crew made the correction that was advised for this check; its states are disturbed."""

    kind: ClassVar[str] = "adjusted"
    step: str
    states: tuple[str, ...]
    move: Move | None = None
    """With a plan for the check's whole set: its first move, which was made; the others are still to make."""


@dataclass(frozen=True, slots=True)
class MoveMade:
    """The next move of a plan was made; the states are disturbed again."""

    kind: ClassVar[str] = "move-made"
    step: str
    states: tuple[str, ...]
    move: Move


@dataclass(frozen=True, slots=True)
class RuledOut:
    """From here on these points of a set, and no others, can't be moved, because the crew said so."""

    kind: ClassVar[str] = "ruled-out"
    set: str
    points: tuple[str, ...]
    said: str = ""


@dataclass(frozen=True, slots=True)
class Disturbed:
    """The crew said that something moved, outside any step."""

    kind: ClassVar[str] = "disturbed"
    states: tuple[str, ...]
    said: str = ""


@dataclass(frozen=True, slots=True)
class Decided:
    """What a lead decided: on a check that won't come good, or on a step in doubt that can't be undone."""

    kind: ClassVar[str] = "decided"
    step: str
    decision: Literal["go on", "concede", "stop", "stands"]
    by: Person
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Corrected:
    """A reading was mistaken: this value replaces the entry named; the steps that relied on it are in doubt."""

    kind: ClassVar[str] = "corrected"
    replaces: int
    step: str
    reading: str
    place: str
    value: Value
    verdict: Verdict
    low: Quantity | None = None
    high: Quantity | None = None
    round: int = 1
    heard: Heard = UNSAID
    doubts: tuple[str, ...] = ()
    surprising: bool = False


@dataclass(frozen=True, slots=True)
class Reopened:
    """A done step is to be done again, because the crew said so."""

    kind: ClassVar[str] = "reopened"
    step: str
    said: str = ""


@dataclass(frozen=True, slots=True)
class MadeSafe:
    """Before a stop or a long wait: the work was braced or closed, and who stays with it."""

    kind: ClassVar[str] = "made-safe"
    hazard: str
    stays: str = ""


@dataclass(frozen=True, slots=True)
class Stopping:
    """The crew wants to stop while the work is left so; it is made safe first."""

    kind: ClassVar[str] = "stopping"
    hazards: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WentOn:
    """The crew did not stop after all."""

    kind: ClassVar[str] = "went-on"


@dataclass(frozen=True, slots=True)
class Stopped:
    """The job was left; `left` names what was not made safe. Seals the record: count and hash so far."""

    kind: ClassVar[str] = "stopped"
    how: Left
    left: tuple[str, ...] = ()
    count: int = 0
    hash: str = ""


@dataclass(frozen=True, slots=True)
class Resumed:
    """Work goes on. After a stop without making safe, whether everything was found as it was left."""

    kind: ClassVar[str] = "resumed"
    torn: bool = False
    """A last line that was never acknowledged was found torn and dropped."""


@dataclass(frozen=True, slots=True)
class FoundAsLeft:
    """After a stop that was not made safe: whether the work was found untouched."""

    kind: ClassVar[str] = "found"
    untouched: bool


@dataclass(frozen=True, slots=True)
class Hurt:
    """Somebody is hurt; everything else waits."""

    kind: ClassVar[str] = "hurt"
    said: str = ""


@dataclass(frozen=True, slots=True)
class AllClear:
    """A named person decided that work goes on after someone was hurt."""

    kind: ClassVar[str] = "all-clear"
    by: Person


@dataclass(frozen=True, slots=True)
class Noted:
    """Words kept with the job: a note, or an answer without a number ("good")."""

    kind: ClassVar[str] = "noted"
    text: str
    step: str = ""


@dataclass(frozen=True, slots=True)
class ClockBack:
    """The clock showed an earlier time than the entry before."""

    kind: ClassVar[str] = "clock-back"
    was: datetime


@dataclass(frozen=True, slots=True)
class Pretended:
    """From here on times are pretended: waits are jumped over."""

    kind: ClassVar[str] = "pretended"


@dataclass(frozen=True, slots=True)
class Finished:
    """The job is finished: every check good and fresh, or conceded. Seals the record."""

    kind: ClassVar[str] = "finished"
    verdict: Literal["good", "conceded"]
    concessions: tuple[str, ...] = ()
    count: int = 0
    hash: str = ""


Event = (
    Started
    | Spoke
    | Chosen
    | Begun
    | Acknowledged
    | CrewReady
    | Looked
    | Done
    | WaitOver
    | Took
    | Advised
    | Planned
    | Repeated
    | Adjusted
    | MoveMade
    | RuledOut
    | Disturbed
    | Decided
    | Corrected
    | Reopened
    | MadeSafe
    | Stopping
    | WentOn
    | Stopped
    | Resumed
    | FoundAsLeft
    | Hurt
    | AllClear
    | Noted
    | ClockBack
    | Pretended
    | Finished
)

KINDS: Mapping[str, type[Event]] = {cls.kind: cls for cls in typing.get_args(Event)}


@dataclass(frozen=True, slots=True)
class Entry:
    """An event in the record: its number from 0, when (with offset), who spoke, and its chain hash."""

    seq: int
    at: datetime
    who: str
    event: Event
    hash: str = ""


def started(entries: Sequence[Entry]) -> Started:
    """The start of a record that is known to be whole: its first event."""
    first = entries[0].event
    assert isinstance(first, Started)
    return first
