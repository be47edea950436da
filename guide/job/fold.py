"""Entries of the record, folded into a state: the only place where a state changes.

`apply` is told what happened and never asks whether it should have: that is the engine's. It refuses only what
no state can bear (`IllegalEvent`), so that a record which was written by something else is found out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from guide.job import events as ev
from guide.job.figures import places_of
from guide.job.recheck import disturb, in_the_way, make_stale, to_read, unfinished
from guide.job.state import RoundMade, State, StepState, Taken, fresh_state
from guide.procedure.model import Procedure


class IllegalEvent(ValueError):
    """The entry can't have happened in this state; the message says why."""


def replay(procedure: Procedure, entries: Iterable[ev.Entry]) -> State:
    """The state after all entries; raises `IllegalEvent` with the number of the first that doesn't fit."""
    state = fresh_state(procedure)
    for entry in entries:
        apply(procedure, state, entry)
    return state


def apply(procedure: Procedure, state: State, entry: ev.Entry) -> State:
    """Fold one entry into the state, in place, and return it; raises `IllegalEvent` and leaves the state unsure."""
    event = entry.event
    if entry.seq != state.seq + 1:
        raise IllegalEvent(f"entry {entry.seq} comes after entry {state.seq}")
    if (entry.seq == 0) != isinstance(event, ev.Started):
        raise IllegalEvent(f"entry {entry.seq} is {event.kind}: a job starts once, at entry 0")
    _refuse_unknown_steps(procedure, entry)
    handler = _HANDLERS.get(type(event))
    if handler is not None:
        handler(procedure, state, entry, event)
    state.seq = entry.seq
    state.at = entry.at
    if state.status == "finished" and isinstance(event, _REOPENS):
        state.status = "running"
    return state


def _refuse_unknown_steps(procedure: Procedure, entry: ev.Entry) -> None:
    event = entry.event
    named = getattr(event, "doubts", ())
    if hasattr(event, "step") and not (isinstance(event, ev.Noted) and not event.step):
        named = (event.step, *named)
    for step in named:
        if step not in procedure.steps:
            raise IllegalEvent(f'entry {entry.seq}: there is no step "{step}"')


_REOPENS = (ev.Corrected, ev.Disturbed, ev.Reopened, ev.Chosen)


def _started(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Started) -> None:
    if event.sha256 != procedure.sha256:
        raise IllegalEvent("the procedure is not the one the job was started with")
    state.pretended = event.pretended


def _spoke(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Spoke) -> None:
    state.speaker = event.person
    state.people[event.person.name] = event.person


def _chosen(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Chosen) -> None:
    choice = procedure.choices.get(event.choice)
    if choice is None or event.option not in choice.options:
        raise IllegalEvent(f'entry {entry.seq}: "{event.option}" is no option of "{event.choice}"')
    state.choices[event.choice] = event.option
    state.chosen_at[event.choice] = entry.seq
    _put_in_doubt(procedure, state, event.doubts, entry.seq)


def _begun(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Begun) -> None:
    blocked = in_the_way(procedure, state, procedure.steps[event.step])
    if blocked:
        raise IllegalEvent(f'entry {entry.seq}: "{event.step}" began before {", ".join(blocked)}')
    state.steps[event.step].begun = True
    state.last_step = event.step
    _work_goes_on(state)
    _under_way(procedure, state, event.step, entry.seq)


def _work_goes_on(state: State) -> None:
    """Braces come off: what was made safe has to be made safe again before the next stop."""
    state.safe.clear()
    state.safe_for_wait = False


def _under_way(procedure: Procedure, state: State, name: str, seq: int) -> None:
    """A step leaves its hazard from the moment the crew may set to it, not only when it is done."""
    step, now = procedure.steps[name], state.steps[name]
    if (now.acknowledged or not step.cautions) and (now.crew_ready or step.crew < 2):
        for hazard in step.leaves:
            if hazard not in state.hazards:
                state.hazards[hazard] = name
                _secure_again(procedure, state, hazard, seq)


def _acknowledged(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Acknowledged) -> None:
    state.steps[event.step].acknowledged = True
    _under_way(procedure, state, event.step, entry.seq)


def _crew_ready(procedure: Procedure, state: State, entry: ev.Entry, event: ev.CrewReady) -> None:
    state.steps[event.step].crew_ready = True
    _under_way(procedure, state, event.step, entry.seq)


def _looked(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Looked) -> None:
    state.steps[event.step].looked = event.by if event.passed else None
    state.people[event.by.name] = event.by


def _took(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Took) -> None:
    step = procedure.steps[event.step]
    if step.take != event.reading or event.place not in places_of(procedure.readings[event.reading]):
        raise IllegalEvent(f'entry {entry.seq}: step "{event.step}" takes no "{event.reading}" at "{event.place}"')
    now = state.steps[event.step]
    taken = Taken(entry.seq, entry.at, event.value, event.verdict, event.round, event.heard)
    now.current[event.place] = now.last[event.place] = taken
    now_set = state.set_of(procedure, step.name)
    if now_set is not None:
        now_set.plan = None
    _work_goes_on(state)
    _put_in_doubt(procedure, state, event.doubts, entry.seq)


def _corrected(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Corrected) -> None:
    now = state.steps[event.step]
    if procedure.steps[event.step].take != event.reading:
        raise IllegalEvent(f'entry {entry.seq}: step "{event.step}" takes no "{event.reading}"')
    replaced = now.last.get(event.place)
    if replaced is None or replaced.seq != event.replaces:
        raise IllegalEvent(f"entry {entry.seq} replaces entry {event.replaces}, which is not the latest reading there")
    asked = _read_again(procedure, state, event.step, event.place)
    taken = Taken(entry.seq, entry.at, event.value, event.verdict, event.round, event.heard, int(asked))
    now.last[event.place] = taken
    if event.place in now.current:
        now.current[event.place] = taken
        _withdraw_judgement(now, procedure.steps[event.step].rounds)
    _put_in_doubt(procedure, state, event.doubts, entry.seq)


def _withdraw_judgement(now: StepState, limit: int) -> None:
    """A reading of this round was replaced: what was made of the round is judged anew by what follows."""
    if now.awaiting:
        now.awaiting = ""
        now.rounds = max(0, now.rounds - 1)
    if now.concession is not None:
        now.concession = None
        now.done = False
        now.rounds = max(now.rounds, limit - 1)


def _advised(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Advised) -> None:
    now = state.steps[event.step]
    now.done = False
    now.stale = None
    now.rounds += 1
    now.advice = entry.seq
    now.awaiting = "lead" if now.rounds >= procedure.steps[event.step].rounds else "adjust"


def _read_again(procedure: Procedure, state: State, step: str, place: str) -> bool:
    """A reading of a set stands otherwise, or twice: its plan no longer holds. Whether it was asked for again."""
    now = state.set_of(procedure, step)
    if now is None:
        return False
    now.plan = None
    asked = ev.Spot(step, place) in now.again
    now.again = [spot for spot in now.again if spot != ev.Spot(step, place)]
    return asked


def _repeated(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Repeated) -> None:
    now = state.steps[event.step]
    taken = now.current.get(event.place)
    asked = _read_again(procedure, state, event.step, event.place)
    if taken is None or not asked or taken.value != event.value:
        raise IllegalEvent(f'entry {entry.seq}: "{event.step}" was not to be read again at "{event.place}" so')
    now.current[event.place] = now.last[event.place] = replace(taken, repeats=taken.repeats + 1)


def _planned(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Planned) -> None:
    one = procedure.together.get(event.set)
    out = [] if one is None else [name for name in one.checks if state.steps[name].awaiting]
    if one is None or not out or to_read(procedure, state, one) is not None:
        raise IllegalEvent(f'entry {entry.seq}: the set "{event.set}" is not one to plan for')
    if any(spot.step not in one.checks or spot.place not in state.steps[spot.step].current for spot in event.again):
        raise IllegalEvent(f"entry {entry.seq}: a place to read again has not been read")
    now = state.sets[event.set]
    now.plan = event
    now.again = list(event.again)
    now.asked_again += bool(event.again)
    if event.what in ("cannot", "lead"):
        for name in out:
            state.steps[name].awaiting = "lead"


def _adjusted(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Adjusted) -> None:
    if not state.steps[event.step].awaiting:
        raise IllegalEvent(f'entry {entry.seq}: "{event.step}" has nothing to correct')
    if event.move is not None:
        _first_move(procedure, state, entry, event, event.move)
    else:
        make_stale(procedure, state, event.step, entry.seq)
        disturb(procedure, state, event.states, entry.seq)
    _work_goes_on(state)


def _first_move(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Adjusted, move: ev.Move) -> None:
    """The first move of the plan of the check's set: what was read is kept with it, then all of it is stale."""
    one = procedure.set_of.get(event.step)
    now = state.set_of(procedure, event.step)
    if one is None or now is None or now.plan is None or now.plan.moves[:1] != (move,):
        raise IllegalEvent(f"entry {entry.seq}: the move is not the first of a plan")
    read = state.read(one)
    readings = {spot: taken.value for spot, taken in read.items()}
    repeated = tuple(spot for spot, taken in read.items() if taken.repeats)
    rounds = (*now.rounds, RoundMade(readings, repeated, (move,)))
    to_make = now.plan.moves[1:]
    make_stale(procedure, state, event.step, entry.seq)
    disturb(procedure, state, event.states, entry.seq)
    now.rounds, now.to_make, now.making, now.moving = rounds, to_make, event.step, event.states


def _move_made(procedure: Procedure, state: State, entry: ev.Entry, event: ev.MoveMade) -> None:
    now = state.set_of(procedure, event.step)
    if now is None or now.to_make[:1] != (event.move,):
        raise IllegalEvent(f"entry {entry.seq}: the move is not the next of a plan")
    rounds = (*now.rounds[:-1], replace(now.rounds[-1], moves=(*now.rounds[-1].moves, event.move)))
    to_make = now.to_make[1:]
    disturb(procedure, state, event.states, entry.seq)
    now.rounds, now.to_make = rounds, to_make
    _work_goes_on(state)


def _ruled_out(procedure: Procedure, state: State, entry: ev.Entry, event: ev.RuledOut) -> None:
    now = state.sets.get(event.set)
    if now is None:
        raise IllegalEvent(f'entry {entry.seq}: there is no set "{event.set}"')
    now.ruled_out = event.points
    now.to_make = tuple(move for move in now.to_make if move.point not in event.points)
    if now.plan is not None and not now.again:
        now.plan = None
        for name in procedure.together[event.set].checks:
            check = state.steps[name]
            if check.awaiting and check.rounds < procedure.steps[name].rounds:
                check.awaiting = "adjust"


def _disturbed(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Disturbed) -> None:
    disturb(procedure, state, event.states, entry.seq)


def _done(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Done) -> None:
    step = procedure.steps[event.step]
    now = state.steps[event.step]
    if not now.begun:
        raise IllegalEvent(f'entry {entry.seq}: "{event.step}" was done without being begun')
    if step.take is not None and now.concession is None:
        here = places_of(procedure.readings[step.take])
        if any(place not in now.current or now.current[place].verdict == "out" for place in here):
            raise IllegalEvent(f'entry {entry.seq}: check "{event.step}" is not good')
    if step.hold is not None and now.looked is None:
        raise IllegalEvent(f'entry {entry.seq}: nobody looked at hold point "{event.step}"')
    now.done = True
    now.stale = now.doubt = now.reopened = None
    now.awaiting = ""
    if now.concession is None:
        now.rounds = 0
    now.wait_until = event.until
    disturb(procedure, state, step.disturbs, entry.seq)
    for hazard in step.secures:
        state.hazards.pop(hazard, None)
    for hazard in step.leaves:
        state.hazards[hazard] = step.name
        _secure_again(procedure, state, hazard, entry.seq)
    _work_goes_on(state)


def _secure_again(procedure: Procedure, state: State, hazard: str, seq: int) -> None:
    """A hazard that is there again has to be ended again by the steps that end it."""
    for name, step in procedure.steps.items():
        if hazard in step.secures and state.steps[name].done:
            _reopen(procedure, state, name, seq)


def _wait_over(procedure: Procedure, state: State, entry: ev.Entry, event: ev.WaitOver) -> None:
    until = state.steps[event.step].wait_until
    if until is None or entry.at < until:
        raise IllegalEvent(f'entry {entry.seq}: the wait of "{event.step}" is not over')
    state.steps[event.step].wait_until = None
    state.safe_for_wait = False


def _decided(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Decided) -> None:
    now = state.steps[event.step]
    state.people[event.by.name] = event.by
    if event.decision == "go on":
        now.rounds = 0
        now.awaiting = "adjust" if now.awaiting else ""
    elif event.decision == "concede":
        if procedure.steps[event.step].safety or not now.awaiting:
            raise IllegalEvent(f'entry {entry.seq}: "{event.step}" takes no concession')
        now.concession = event
        now.awaiting = ""
    elif event.decision == "stands":
        now.doubt = None


def _reopened(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Reopened) -> None:
    if procedure.steps[event.step].take is not None:
        make_stale(procedure, state, event.step, entry.seq)
    else:
        _reopen(procedure, state, event.step, entry.seq)


def _reopen(procedure: Procedure, state: State, name: str, seq: int) -> None:
    now = state.steps[name]
    if procedure.steps[name].take is not None:
        make_stale(procedure, state, name, seq)
        return
    now.reopened = seq
    _start_afresh(now)


def _put_in_doubt(procedure: Procedure, state: State, steps: Iterable[str], seq: int) -> None:
    for name in steps:
        if procedure.steps[name].take is not None:
            make_stale(procedure, state, name, seq)
        else:
            state.steps[name].doubt = seq
            _start_afresh(state.steps[name])


def _start_afresh(now: StepState) -> None:
    now.begun = now.acknowledged = now.crew_ready = False
    now.looked = None


def _made_safe(procedure: Procedure, state: State, entry: ev.Entry, event: ev.MadeSafe) -> None:
    if event.hazard not in state.hazards:
        raise IllegalEvent(f'entry {entry.seq}: nothing is left "{event.hazard}"')
    state.safe.add(event.hazard)
    state.safe_for_wait = state.status == "running" and not state.unsafe()
    disturb(procedure, state, procedure.make_safe[event.hazard].disturbs, entry.seq)


def _stopping(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Stopping) -> None:
    state.status = "stopping"


def _stopped(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Stopped) -> None:
    if event.left != state.unsafe():
        raise IllegalEvent(
            f"entry {entry.seq} does not say what was left unsafe: {', '.join(state.unsafe()) or 'nothing'}"
        )
    state.status = "stopped"
    state.unsafe_stop = event.left


def _resumed(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Resumed) -> None:
    cut_off = state.status not in {"stopped", "finished"}
    left = state.unsafe() if cut_off else state.unsafe_stop
    state.unsafe_stop = left
    if state.status != "finished":
        state.status = "hurt" if state.hurt else "found" if left else "running"


def _go_on(procedure: Procedure, state: State, entry: ev.Entry, event: ev.WentOn) -> None:
    state.status = "running"


def _found(procedure: Procedure, state: State, entry: ev.Entry, event: ev.FoundAsLeft) -> None:
    if not event.untouched:
        for hazard in state.unsafe_stop:
            disturb(procedure, state, procedure.make_safe[hazard].disturbs, entry.seq)
    state.unsafe_stop = ()
    state.status = "running"


def _hurt(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Hurt) -> None:
    state.hurt = True
    state.status = "hurt"


def _all_clear(procedure: Procedure, state: State, entry: ev.Entry, event: ev.AllClear) -> None:
    state.hurt = False
    state.people[event.by.name] = event.by
    state.unsafe_stop = state.unsafe()
    state.status = "found" if state.unsafe_stop else "running"


def _pretended(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Pretended) -> None:
    state.pretended = True


def _finished(procedure: Procedure, state: State, entry: ev.Entry, event: ev.Finished) -> None:
    unmade = tuple(choice for choice in procedure.choices if choice not in state.choices)
    left = unmade + unfinished(procedure, state) + tuple(state.hazards)
    if left:
        raise IllegalEvent(f"entry {entry.seq}: the job can't be finished: {', '.join(left)}")
    conceded = state.concessions(procedure)
    if event.concessions != conceded or event.verdict != ("conceded" if conceded else "good"):
        raise IllegalEvent(
            f"entry {entry.seq}: the job was finished with other concessions: {', '.join(conceded) or 'none'}"
        )
    state.status = "finished"


_HANDLERS: Mapping[type[ev.Event], Callable[[Procedure, State, ev.Entry, Any], None]] = {
    ev.Started: _started,
    ev.Spoke: _spoke,
    ev.Chosen: _chosen,
    ev.Begun: _begun,
    ev.Acknowledged: _acknowledged,
    ev.CrewReady: _crew_ready,
    ev.Looked: _looked,
    ev.Took: _took,
    ev.Corrected: _corrected,
    ev.Advised: _advised,
    ev.Planned: _planned,
    ev.Repeated: _repeated,
    ev.Adjusted: _adjusted,
    ev.MoveMade: _move_made,
    ev.RuledOut: _ruled_out,
    ev.Disturbed: _disturbed,
    ev.Done: _done,
    ev.WaitOver: _wait_over,
    ev.Decided: _decided,
    ev.Reopened: _reopened,
    ev.MadeSafe: _made_safe,
    ev.Stopping: _stopping,
    ev.Stopped: _stopped,
    ev.Resumed: _resumed,
    ev.WentOn: _go_on,
    ev.FoundAsLeft: _found,
    ev.Hurt: _hurt,
    ev.AllClear: _all_clear,
    ev.Pretended: _pretended,
    ev.Finished: _finished,
}
