"""What goes stale, what is due, and in which order.

A step or an adjustment disturbs states of the work; every check or other reading that watches one of them is
stale from that entry on, wherever it stands in the procedure. What is due comes before anything new: first the
check whose correction was just tried, then by the procedure's recheck rank, each behind what it comes after and needs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from guide.job.state import State
from guide.procedure.model import Procedure, Step, Together


def disturb(procedure: Procedure, state: State, states: Iterable[str], seq: int) -> None:
    """Make stale what watches one of the states; `seq` is the entry that disturbed them."""
    for check in {one for name in states for one in procedure.watchers.get(name, ())}:
        make_stale(procedure, state, check, seq)
        now_set = state.set_of(procedure, check)
        if now_set is not None:
            now_set.rounds = ()


def make_stale(procedure: Procedure, state: State, check: str, seq: int) -> None:
    """Void what was read of the check in this round, and its concession; its rounds are kept."""
    now = state.steps[check]
    if not (now.done or now.current or now.awaiting or now.stale is not None):
        return
    now_set = state.set_of(procedure, check)
    if now_set is not None:
        now_set.plan, now_set.asked_again, now_set.to_make = None, 0, ()
        now_set.again.clear()
    now.stale = seq
    now.current.clear()
    now.awaiting = ""
    now.looked = None
    if now.concession is not None:
        now.concession = None
        now.rounds = max(now.rounds, procedure.steps[check].rounds - 1)


def in_the_way(procedure: Procedure, state: State, step: Step) -> tuple[str, ...]:
    """The steps that must be finished, and checks that must be good, before this step may start.

    Within a set, a check that was read and is out stands in the way of no other check of the set.
    """
    before = dict.fromkeys(step.after + step.needs)
    one = procedure.set_of.get(step.name)
    return tuple(
        name
        for name in before
        if not state.good(procedure.steps[name])
        and not (one is not None and name in one.checks and state.steps[name].awaiting)
    )


def to_read(procedure: Procedure, state: State, one: Together) -> Step | None:
    """The next check of a set that is read before anything of the set is corrected; None when all have been."""
    if state.sets[one.name].again:
        return procedure.steps[state.sets[one.name].again[0].step]
    for name in procedure.order:
        step, now = procedure.steps[name], state.steps[name]
        unread = name in one.checks and state.active(step) and not state.good(step) and not now.awaiting
        if unread and not in_the_way(procedure, state, step):
            return step
    return None


def due(procedure: Procedure, state: State) -> list[Step]:
    """What must be done or taken again, in the order that wastes least; a set is read in its own order."""

    def urgency(step: Step) -> tuple[int, int, int]:
        now = state.steps[step.name]
        doing = now.doubt is not None or now.reopened is not None
        tried = now.rounds and step.name not in procedure.set_of
        return (0 if doing else 1, 0 if tried else 1, procedure.rank.get(step.name, 0))

    return sorted(state.due_again(procedure), key=urgency)


@dataclass(frozen=True, slots=True)
class Next:
    """What comes next: a step, or nothing but waiting (`until` the earliest wait ends)."""

    step: str | None = None
    until: datetime | None = None
    waiting: str | None = None


def next_step(procedure: Procedure, state: State) -> Next:
    """The step whose turn it is.

    First moves that are still to make; then checks that are out and wait for a correction or a decision, each
    behind what is read together with it; then what is due again, then the step last begun, then the first that
    may start. Once all was made safe for a wait, the wait comes first.
    """
    if state.safe_for_wait:
        return _first_wait(state)
    for now_set in state.sets.values():
        if now_set.to_make:
            return Next(now_set.making)
    for name in procedure.order:
        if state.steps[name].awaiting and state.active(procedure.steps[name]):
            one = procedure.set_of.get(name)
            return Next(name if one is None else _of_set(procedure, state, one, name))
    for step in due(procedure, state):
        if not in_the_way(procedure, state, step):
            return Next(step.name)
    last = procedure.steps.get(state.last_step)
    if last is not None and _may_start(procedure, state, last):
        return Next(last.name)
    for step in open_steps(procedure, state):
        if _may_start(procedure, state, step):
            return Next(step.name)
    return _first_wait(state)


def _of_set(procedure: Procedure, state: State, one: Together, awaiting: str) -> str:
    """Whose turn it is in a set of which one check awaits its correction: what is still to read, then the lead's."""
    unread = to_read(procedure, state, one)
    if unread is not None:
        return unread.name
    leads = [name for name in procedure.order if name in one.checks and state.steps[name].awaiting == "lead"]
    return next((name for name in leads if state.active(procedure.steps[name])), awaiting)


def _first_wait(state: State) -> Next:
    waits = [(now.wait_until, name) for name, now in state.steps.items() if now.wait_until is not None]
    if not waits:
        return Next()
    until, name = min(waits)
    return Next(until=until, waiting=name)


def open_steps(procedure: Procedure, state: State) -> Iterator[Step]:
    """Active steps never finished so far, in the procedure's order."""
    for name in procedure.order:
        step = procedure.steps[name]
        if not state.steps[name].done and state.active(step):
            yield step


def _may_start(procedure: Procedure, state: State, step: Step) -> bool:
    return not state.steps[step.name].done and state.active(step) and not in_the_way(procedure, state, step)


def unfinished(procedure: Procedure, state: State) -> tuple[str, ...]:
    """Every step and check that keeps the job from being finished, in the procedure's order."""
    return tuple(
        name
        for name in procedure.order
        if state.active(procedure.steps[name]) and not state.good(procedure.steps[name])
    )
