"""Where a job stands: what the record's events add up to.

The fold (`guide.job.fold`) is the only writer. A state belongs to one job; `copy` gives an independent one.
Everything that a question of the engine needs is kept here ready, so that a decision costs the same however
long the record is.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from guide.job.events import Decided, Heard, Move, Person, Planned, Spot, Value, Verdict
from guide.procedure.model import Procedure, Step, Together

Status = Literal["running", "stopping", "found", "stopped", "hurt", "finished"]
"""found: left without being made safe, and it is not yet known whether it was found untouched."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading as it stands: its entry, value and verdict, and how it was given."""

    seq: int
    at: datetime
    value: Value
    verdict: Verdict
    round: int
    heard: Heard
    repeats: int = 0
    """How often it was read again, with nothing moved between."""


@dataclass(slots=True)
class StepState:
    """How far one step is."""

    begun: bool = False
    acknowledged: bool = False
    crew_ready: bool = False
    looked: Person | None = None
    done: bool = False
    """Finished at least once; whether it still counts is for `stale`, `doubt` and `reopened` to say."""
    reopened: int | None = None
    """The entry by which it is to be done again."""
    doubt: int | None = None
    """The entry that put in doubt what it was done on."""
    stale: int | None = None
    """The entry that disturbed what it watches, or asked for it to be taken again."""
    current: dict[str, Taken] = field(default_factory=dict)
    """This round's readings by place."""
    last: dict[str, Taken] = field(default_factory=dict)
    """The latest reading by place, of whatever round."""
    rounds: int = 0
    """Failed rounds in a row."""
    awaiting: Literal["", "adjust", "lead"] = ""
    advice: int | None = None
    concession: Decided | None = None
    conceded_at: int | None = None
    wait_until: datetime | None = None

    @property
    def round(self) -> int:
        """The number of the round being taken, from 1."""
        return self.rounds + 1

    @property
    def stands(self) -> bool:
        """Done, and nothing has called it in question since."""
        return self.done and self.reopened is None and self.doubt is None and self.stale is None


@dataclass(frozen=True, slots=True)
class RoundMade:
    """A round of a set that was put right: what was read, and the moves that were then made."""

    readings: Mapping[Spot, Value]
    repeated: tuple[Spot, ...]
    """Those that were read again, with nothing moved between."""
    moves: tuple[Move, ...]


@dataclass(slots=True)
class SetState:
    """How far a set of checks is that are read together."""

    plan: Planned | None = None
    """What was worked out from the readings as they stand."""
    again: list[Spot] = field(default_factory=list)
    """Places to read again before anything is moved."""
    asked_again: int = 0
    """How often that was asked since anything moved."""
    rounds: tuple[RoundMade, ...] = ()
    """Rounds since anything moved but by a plan."""
    to_make: tuple[Move, ...] = ()
    """Moves of a plan that are still to make, now that its first was."""
    making: str = ""
    """The check that the plan was begun for."""
    moving: tuple[str, ...] = ()
    """The states that the plan's moves disturb."""
    ruled_out: tuple[str, ...] = ()
    """Points that the crew can't move."""

    @property
    def left(self) -> tuple[Move, ...]:
        """The moves still to make, the next one first; of a plan that was not begun, all of them."""
        return self.to_make or (self.plan.moves if self.plan is not None else ())


@dataclass(slots=True)
class State:
    """A job: status, choices, steps, hazards left, who speaks."""

    status: Status = "running"
    seq: int = -1
    at: datetime | None = None
    speaker: Person = field(default_factory=lambda: Person("", "crew", "claimed"))
    people: dict[str, Person] = field(default_factory=dict)
    choices: dict[str, str] = field(default_factory=dict)
    chosen_at: dict[str, int] = field(default_factory=dict)
    steps: dict[str, StepState] = field(default_factory=dict)
    sets: dict[str, SetState] = field(default_factory=dict)
    hazards: dict[str, str] = field(default_factory=dict)
    """Hazard -> the step that left it."""
    safe: set[str] = field(default_factory=set)
    """Hazards made safe, until work goes on."""
    safe_for_wait: bool = False
    """All was made safe because there was only waiting left: it stays so until a wait is over."""
    unsafe_stop: tuple[str, ...] = ()
    """What the last stop left without making it safe."""
    hurt: bool = False
    wants_stop: bool = False
    last_step: str = ""
    pretended: bool = False

    def step(self, name: str) -> StepState:
        """The state of one step."""
        return self.steps[name]

    def set_of(self, procedure: Procedure, step: str) -> SetState | None:
        """How far the set is that the check is read with."""
        one = procedure.set_of.get(step)
        return self.sets[one.name] if one is not None else None

    def read(self, one: Together) -> dict[Spot, Taken]:
        """What was read in this round of the checks of a set."""
        return {Spot(name, place): taken for name in one.checks for place, taken in self.steps[name].current.items()}

    def active(self, step: Step) -> bool:
        """Whether the choices made so far have the step in the job."""
        return all(self.choices.get(choice) in options for choice, options in step.when.items())

    def good(self, step: Step) -> bool:
        """Done and nothing has called it in question since, its wait over; as a check good and fresh, or conceded.

        A step that the choices leave out is good as well.
        """
        if not self.active(step):
            return True
        now = self.steps[step.name]
        return now.stands and now.wait_until is None

    def due_again(self, procedure: Procedure) -> Iterator[Step]:
        """Active steps that were done or taken and must be done or taken again, in the file's order."""
        for name in procedure.order:
            now = self.steps[name]
            called = now.stale is not None or now.doubt is not None or now.reopened is not None
            if called and self.active(procedure.steps[name]):
                yield procedure.steps[name]

    def unsafe(self) -> tuple[str, ...]:
        """Hazards that are there and not made safe, the one left last first."""
        return tuple(h for h in reversed(self.hazards) if h not in self.safe)

    def concessions(self, procedure: Procedure) -> tuple[str, ...]:
        """Checks of this job that stand by a concession."""
        return tuple(
            name
            for name in procedure.order
            if self.steps[name].concession is not None and self.active(procedure.steps[name])
        )

    def copy(self) -> State:
        """An independent copy."""
        return copy.deepcopy(self)


def fresh_state(procedure: Procedure) -> State:
    """The state of a job of which nothing has happened."""
    return State(
        steps={name: StepState() for name in procedure.steps}, sets={name: SetState() for name in procedure.together}
    )
