"""What the job asks of the crew now: worked out from the state alone, the same after every resume."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from guide.job.figures import places_of
from guide.job.recheck import next_step
from guide.job.state import State
from guide.procedure.model import Procedure, Step

Want = Literal[
    "choice",
    "begin",
    "cautions",
    "crew",
    "reading",
    "done",
    "adjust",
    "lead",
    "doubt",
    "look",
    "make-safe",
    "found",
    "clear",
    "wait",
    "close",
    "over",
    "stopped",
]
"""What is wanted. "begin" and "close" are the session's own doing; "over" and "stopped" ask for nothing."""


@dataclass(frozen=True, slots=True)
class Request:
    """One thing asked: of which step, reading, place; or which choice or hazard."""

    want: Want
    step: str = ""
    reading: str = ""
    place: str = ""
    round: int = 1
    again: bool = False
    """The step or check was done before and is due again."""
    name: str = ""
    """The choice or hazard asked about."""
    until: datetime | None = None


def request(procedure: Procedure, state: State) -> Request:
    """The one thing to ask now."""
    special = _outside_the_steps(procedure, state)
    if special is not None:
        return special
    turn = next_step(procedure, state)
    if turn.step is not None:
        return _of_step(procedure, state, procedure.steps[turn.step])
    if turn.until is not None:
        unsafe = state.unsafe()
        if unsafe:
            return Request("make-safe", name=unsafe[0])
        return Request("wait", step=turn.waiting or "", until=turn.until)
    return Request("close")


def _outside_the_steps(procedure: Procedure, state: State) -> Request | None:
    if state.status == "hurt":
        return Request("clear")
    if state.status == "stopping":
        unsafe = state.unsafe()
        return Request("make-safe", name=unsafe[0]) if unsafe else Request("stopped")
    if state.status == "found":
        return Request("found", name=state.unsafe_stop[0])
    if state.status == "stopped":
        return Request("stopped")
    if state.status == "finished":
        return Request("over")
    for name in procedure.choices:
        if name not in state.choices:
            return Request("choice", name=name)
    return None


def _of_step(procedure: Procedure, state: State, step: Step) -> Request:
    now = state.steps[step.name]
    again = now.stale is not None or now.doubt is not None or now.reopened is not None

    def ask(want: Want, reading: str = "", place: str = "") -> Request:
        return Request(want, step.name, reading, place, now.round, again)

    now_set = state.set_of(procedure, step.name)
    if now_set is not None:
        if now_set.to_make:
            return ask("adjust")
        for spot in now_set.again:
            if spot.step == step.name:
                return ask("reading", step.take or "", spot.place)
    if now.awaiting == "lead":
        return ask("lead")
    if now.awaiting == "adjust":
        return ask("adjust")
    if now.doubt is not None and step.cannot_undo:
        return ask("doubt")
    if not now.begun:
        return ask("begin")
    if step.cautions and not now.acknowledged:
        return ask("cautions")
    if step.crew > 1 and not now.crew_ready:
        return ask("crew")
    if step.take is not None:
        for place in places_of(procedure.readings[step.take]):
            if place not in now.current and now.concession is None:
                return ask("reading", step.take, place)
    if step.hold is not None:
        return ask("look")
    return ask("done")
