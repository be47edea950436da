"""Every state that commands can reach, breadth first, with the promises asserted after each command."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from fractions import Fraction

from fakes import NOON
from plain_model import PlainModel

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Command, Refusal
from guide.job.engine import decide
from guide.job.figures import limits, lookup, places_of
from guide.job.fold import apply
from guide.job.recheck import unfinished
from guide.job.state import State, fresh_state
from guide.procedure.model import Procedure, Step, Together
from guide.procedure.worked import Missing
from guide.quantity import Quantity

LEAD = ev.Person("Ana", "lead", "claimed")
CREW = ev.Person("Bo", "crew", "claimed")
INSPECTOR = ev.Person("Ines", "inspector", "pin")
MOVES = tuple(
    ev.Move(point, Quantity(Fraction(1, 16), "in"), "in", f"In at the {point}.") for point in ("head", "sill")
)
LATER = timedelta(days=40)


@dataclass
class Explored:
    """How far an exploration came."""

    states: int = 0
    commands: int = 0
    refusals: int = 0
    finished: int = 0
    kinds: set[str] = field(default_factory=set)
    complete: bool = True


def started(procedure: Procedure) -> tuple[State, tuple[ev.Entry, ...]]:
    """A job at its first entry."""
    state = fresh_state(procedure)
    first = ev.Entry(0, NOON, "", ev.Started(ev.FORMAT, "0", procedure.name, procedure.title, procedure.sha256, ()))
    apply(procedure, state, first)
    return state, (first,)


def commands(procedure: Procedure, state: State) -> Iterator[Command]:
    """Every command there is, sensible or not, with a good and a bad value for every reading."""
    for choice, one in procedure.choices.items():
        for option in one.options:
            yield cmd.Choose(choice, option)
            yield cmd.Choose(choice, option, by=LEAD, reason="asked for")
    for step in procedure.steps.values():
        yield cmd.Begin(step.name)
        yield cmd.Acknowledge(step.name)
        yield cmd.CrewIsThere(step.name)
        yield cmd.Finish(step.name)
        yield cmd.Adjust(step.name)
        yield cmd.Redo(step.name)
        yield cmd.Look(step.name, LEAD, True)
        yield cmd.Look(step.name, INSPECTOR, True)
        yield cmd.Look(step.name, LEAD, False, "scratched")
        for decision in ("go on", "concede", "stands"):
            yield cmd.Decide(step.name, decision, LEAD, "good enough")
        yield cmd.Decide(step.name, "concede", CREW, "good enough")
        if step.take is not None:
            for place in places_of(procedure.readings[step.take]):
                for value in values(procedure, state, step):
                    yield cmd.Take(step.name, place, value)
                    yield cmd.Correct(step.name, place, value)
    for group in procedure.together.values():
        yield from (cmd.Plan(plan) for plan in plans(procedure, group))
        yield from (cmd.RuleOut(group.name, ()), cmd.RuleOut(group.name, (MOVES[1].point,)))
    for moved in procedure.watchers:
        yield cmd.Moved((moved,))
    for hazard in procedure.make_safe:
        yield cmd.MakeSafe(hazard, "Bo")
    yield from (cmd.Stop(), cmd.GoOn(), cmd.Leave("input ended"), cmd.Resume(), cmd.Find(True), cmd.Find(False))
    yield from (cmd.SomeoneHurt(), cmd.Clear(CREW), cmd.PassTime(), cmd.Close())


def plans(procedure: Procedure, one: Together) -> Iterator[ev.Planned]:
    """Every kind of plan, with places to read again that may or may not have been read."""
    spot = ev.Spot(one.checks[0], places_of(procedure.readings[procedure.steps[one.checks[0]].take or ""])[0])
    yield ev.Planned(one.name, "move", {}, (), MOVES)
    yield ev.Planned(one.name, "each", {}, ())
    yield ev.Planned(one.name, "read again", {}, (), again=(spot,))
    yield ev.Planned(one.name, "cannot", {}, ())


def values(procedure: Procedure, state: State, step: Step) -> tuple[ev.Value, ...]:
    """A value inside the step's limits and one outside."""
    reading = procedure.readings[step.take or ""]
    if reading.answer == "yes-no":
        return ("yes", "no")
    if reading.answer == "choice":
        return tuple(reading.options)
    if reading.answer != "number":
        return ("words",)
    try:
        within = limits(step.within or reading.likely, lookup(procedure, state), reading.unit)
    except Missing:
        return ()
    inside = within.high if within.high is not None else within.low
    assert inside is not None
    return (inside, inside + Quantity(abs(inside.magnitude) + 1, inside.unit))


def key(state: State) -> object:
    """A state without its times and numbers: two with the same key have the same future."""
    steps = tuple(
        (
            name,
            now.begun,
            now.acknowledged,
            now.crew_ready,
            now.looked,
            now.done,
            now.reopened is not None,
            now.doubt is not None,
            now.stale is not None,
            tuple((place, t.value, bool(t.repeats)) for place, t in sorted(now.current.items())),
            tuple((place, t.value) for place, t in sorted(now.last.items())),
            now.rounds,
            now.awaiting,
            now.concession is not None,
            now.wait_until is not None,
        )
        for name, now in state.steps.items()
    )
    return (
        state.status,
        tuple(sorted(state.choices.items())),
        steps,
        tuple(
            (name, repr(now.plan), tuple(now.again), now.to_make, now.making, now.ruled_out)
            for name, now in state.sets.items()
        ),
        tuple(state.hazards),
        frozenset(state.safe),
        state.unsafe_stop,
        state.hurt,
        state.last_step,
    )


def explore(procedure: Procedure, most: int) -> Explored:
    """Breadth first from the start, at most `most` states; raises AssertionError where a promise is broken."""
    report = Explored()
    first = started(procedure)
    seen = {key(first[0])}
    todo = deque([first])
    while todo:
        state, entries = todo.popleft()
        report.states += 1
        for command in commands(procedure, state):
            report.commands += 1
            now = _time(state, command)
            before = key(state)
            outcome = decide(procedure, state, command, now)
            assert key(state) == before, f"deciding {command} changed the state"
            if isinstance(outcome, Refusal):
                report.refusals += 1
                assert outcome.legal or state.status == "finished", f"{command} was refused without a way on"
                continue
            after, history = state.copy(), entries
            for event in outcome:
                entry = ev.Entry(len(history), now, "", event)
                _before_event(procedure, history, event)
                history = (*history, entry)
                apply(procedure, after, entry)
                report.kinds.add(event.kind)
            _after_command(procedure, after, history)
            report.finished += after.status == "finished"
            there = key(after)
            if there not in seen:
                if len(seen) >= most:
                    report.complete = False
                    continue
                seen.add(there)
                todo.append((after, history))
    return report


def _time(state: State, command: Command) -> datetime:
    assert state.at is not None
    return state.at + (LATER if isinstance(command, cmd.PassTime) else timedelta(seconds=1))


def _before_event(procedure: Procedure, entries: tuple[ev.Entry, ...], event: ev.Event) -> None:
    """Promises 1, 3 and 4, held against the plain model of everything that happened before."""
    plain = PlainModel(procedure, entries)
    if isinstance(event, ev.Begun):
        step = procedure.steps[event.step]
        for name in step.after + step.needs:
            fellow = event.step in procedure.set_of and name in procedure.set_of[event.step].checks
            read = fellow and plain.read(procedure.steps[name])
            assert read or plain.good(procedure.steps[name]), f"{event.step} began while {name} was not good and fresh"
    if isinstance(event, ev.Begun | ev.Took | ev.Done):
        for one in procedure.together.values():
            assert not plain.moves_left(one), f"{event} while moves of {one.name} were still to be made"
    if isinstance(event, ev.Finished):
        assert plain.all_good(), "the job was finished on something that is not good"
    if isinstance(event, ev.Decided) and event.decision == "concede":
        assert not procedure.steps[event.step].safety and event.by.role == "lead" and event.reason
    if isinstance(event, ev.Stopped) and event.how == "said" and not any(isinstance(e.event, ev.Hurt) for e in entries):
        assert not event.left


def _after_command(procedure: Procedure, state: State, entries: tuple[ev.Entry, ...]) -> None:
    """The state says of every step what the plain model says of the whole list of events."""
    plain = PlainModel(procedure, entries)
    for step in procedure.steps.values():
        assert state.good(step) == plain.good(step), f"{step.name}: {[e.event for e in entries]}"
    assert set(state.hazards) == set(plain.hazards())
    assert (not unfinished(procedure, state) and not state.hazards) == plain.all_good()
