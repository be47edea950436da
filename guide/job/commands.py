"""What a crew can ask of a job: one frozen class a command. The engine decides each into events or a refusal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from guide.job.events import UNSAID, Event, Heard, Left, Person, Planned, Value


@dataclass(frozen=True, slots=True)
class Choose:
    """Answer a choice, or change it; a change that touches work done needs a lead and a reason."""

    choice: str
    option: str
    heard: Heard = UNSAID
    by: Person | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Begin:
    """Put the step to the crew (the session does so by itself when the step's turn comes)."""

    step: str


@dataclass(frozen=True, slots=True)
class Acknowledge:
    """The cautions of the step were understood."""

    step: str


@dataclass(frozen=True, slots=True)
class CrewIsThere:
    """The people the step needs are there."""

    step: str


@dataclass(frozen=True, slots=True)
class Take:
    """A reading at a place of the step."""

    step: str
    place: str
    value: Value
    heard: Heard = UNSAID
    surprising: bool = False


@dataclass(frozen=True, slots=True)
class Finish:
    """The crew did the step."""

    step: str


@dataclass(frozen=True, slots=True)
class Adjust:
    """The crew made the correction that was advised; of a plan, the move that was asked for."""

    step: str


@dataclass(frozen=True, slots=True)
class Plan:
    """What was worked out for a whole set of checks that has been read (the session does so by itself)."""

    planned: Planned


@dataclass(frozen=True, slots=True)
class RuleOut:
    """These points of a set, and no others, can't be moved."""

    set: str
    points: tuple[str, ...]
    said: str = ""


@dataclass(frozen=True, slots=True)
class Look:
    """A named person looked at the hold point."""

    step: str
    by: Person
    passed: bool
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Decide:
    """A lead decides on a check that is out, or on a step in doubt."""

    step: str
    decision: Literal["go on", "concede", "stop", "stands"]
    by: Person
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Correct:
    """The latest reading of the step at this place was mistaken; this is the right one."""

    step: str
    place: str
    value: Value
    heard: Heard = UNSAID
    surprising: bool = False


@dataclass(frozen=True, slots=True)
class Redo:
    """Do a step, or take a check, again."""

    step: str
    said: str = ""


@dataclass(frozen=True, slots=True)
class Moved:
    """Something moved outside any step."""

    states: tuple[str, ...]
    said: str = ""


@dataclass(frozen=True, slots=True)
class Stop:
    """The crew wants to stop; what is unsafe is made safe first."""


@dataclass(frozen=True, slots=True)
class GoOn:
    """The crew does not stop after all."""


@dataclass(frozen=True, slots=True)
class MakeSafe:
    """The hazard was made safe, and who stays with it."""

    hazard: str
    stays: str = ""


@dataclass(frozen=True, slots=True)
class Leave:
    """Nobody is there to answer any more: end of input, a closed window, a signal."""

    how: Left


@dataclass(frozen=True, slots=True)
class Resume:
    """Take the job up again."""

    torn: bool = False


@dataclass(frozen=True, slots=True)
class Find:
    """Whether the work was found as it was left."""

    untouched: bool


@dataclass(frozen=True, slots=True)
class SomeoneHurt:
    """Somebody is hurt."""

    said: str = ""


@dataclass(frozen=True, slots=True)
class Clear:
    """A named person decides that work goes on."""

    by: Person


@dataclass(frozen=True, slots=True)
class Speak:
    """Another person speaks from here on."""

    person: Person


@dataclass(frozen=True, slots=True)
class Note:
    """Words to keep with the job."""

    text: str
    step: str = ""


@dataclass(frozen=True, slots=True)
class PassTime:
    """Look at the clock: a wait whose time has come is over."""


@dataclass(frozen=True, slots=True)
class PretendClock:
    """From here on waits are jumped over, and the record says so."""


@dataclass(frozen=True, slots=True)
class Close:
    """Finish the job, if everything is good."""


Command = (
    Choose
    | Begin
    | Acknowledge
    | CrewIsThere
    | Take
    | Finish
    | Adjust
    | Plan
    | RuleOut
    | Look
    | Decide
    | Correct
    | Redo
    | Moved
    | Stop
    | GoOn
    | MakeSafe
    | Leave
    | Resume
    | Find
    | SomeoneHurt
    | Clear
    | Speak
    | Note
    | PassTime
    | PretendClock
    | Close
)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a command changes nothing: a code, what it is about, and what would be legal now."""

    code: str
    step: str = ""
    names: tuple[str, ...] = ()
    """Steps, checks, hazards or figures that stand in the way."""
    legal: tuple[str, ...] = ()


Outcome = list[Event] | Refusal
"""What a command comes to."""
