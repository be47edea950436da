"""Whose turn it is: whether just this is asked of just this step, or why not; and the event that ends a step."""

from __future__ import annotations

from datetime import datetime, timedelta

from guide.job import events as ev
from guide.job.commands import Refusal
from guide.job.recheck import in_the_way
from guide.job.request import request
from guide.job.state import State
from guide.procedure.model import Procedure


def step_in_turn(procedure: Procedure, state: State, name: str) -> Refusal | None:
    """None if it is this step's turn; else why not."""
    step = procedure.steps.get(name)
    if step is None:
        return Refusal("no-such-step", name)
    asked = request(procedure, state)
    if asked.step == name and asked.want != "wait":
        return None
    if asked.want == "choice":
        return Refusal("choose-first", name, (asked.name,))
    if not state.active(step):
        return Refusal("not-in-this-job", name)
    if state.steps[name].stands:
        return Refusal("already-done", name)
    waiting = [n for n in step.after if state.steps[n].wait_until is not None]
    if waiting:
        return Refusal("waiting", name, tuple(waiting))
    blocked = in_the_way(procedure, state, step)
    return Refusal("not-yet", name, blocked or (asked.step,))


def asked_of(procedure: Procedure, state: State, step: str, want: str) -> Refusal | None:
    """None if just this is asked of just this step."""
    wrong = step_in_turn(procedure, state, step)
    if wrong is not None:
        return wrong
    asked = request(procedure, state)
    return None if asked.want == want else Refusal("something-else-first", step, (asked.want,))


def done(procedure: Procedure, state: State, name: str, now: datetime) -> ev.Done:
    """The event that ends a step now, with the end of its wait if it has one."""
    wait = procedure.steps[name].wait
    until = now + timedelta(microseconds=int(wait.time.base * 1_000_000)) if wait is not None else None
    return ev.Done(name, state.steps[name].done, until)
