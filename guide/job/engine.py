"""The rules of a job, in one table: what each command does in each status, or why it can't be done.

`decide` is pure: procedure, state, command and time in; events, or a refusal that changes nothing and says what
would be legal, out. The events are then written to the record and folded (`guide.job.fold`). How it works:

* `TABLE` names, for each status of a job, the commands that can be decided there, each with its rule. A command
  that is not in the table for the status is refused; `legal` reads the same table.
* A rule looks at the state and returns events or a `Refusal`. The event that ends a step is `Done`, whatever
  ended it: the last reading, a look, a concession, a word. Only `Done`, `Adjusted`, `Disturbed`, `MadeSafe` and
  `FoundAsLeft` disturb the work, and the fold makes stale what watches it. No rule clears staleness: only a
  new round of readings does.
* A round is all places of a check. A round that is out brings advice; after the set number the lead decides.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.advice import advise, out_of
from guide.job.commands import Command, Refusal
from guide.job.figures import Limits, Lookup, limits, lookup, places_of, spread, uses_of, verdict
from guide.job.recheck import due, in_the_way, unfinished
from guide.job.request import request
from guide.job.state import State, Status, StepState, Taken
from guide.procedure.model import Procedure, Reading, Step
from guide.procedure.worked import Missing, evaluate
from guide.quantity import Quantity, QuantityError

Outcome = list[ev.Event] | Refusal


def decide(procedure: Procedure, state: State, command: Command, now: datetime) -> Outcome:
    """The events that the command brings about at this time, or a refusal; the state is left as it is."""
    rule = TABLE[state.status].get(type(command))
    outcome = Refusal(f"while-{state.status}") if rule is None else rule(procedure, state, command, now)
    if isinstance(outcome, Refusal) and not outcome.legal:
        return replace(outcome, legal=legal(procedure, state))
    return outcome


def legal(procedure: Procedure, state: State) -> tuple[str, ...]:
    """What would be legal now: what is asked for first, then what the status allows at any moment."""
    wanted = request(procedure, state).want
    table = [c for c in TABLE[state.status] if c is not cmd.Resume or state.status == "stopped"]
    always = [_OPEN_DOORS[command] for command in table if command in _OPEN_DOORS]
    return tuple(dict.fromkeys(([wanted] if wanted not in _NOT_ASKED else []) + always))


_NOT_ASKED = {"begin", "close", "over", "stopped"}
_OPEN_DOORS: Mapping[type[Command], str] = MappingProxyType(
    {
        cmd.Correct: "correct",
        cmd.Redo: "redo",
        cmd.Moved: "moved",
        cmd.Note: "note",
        cmd.Stop: "stop",
        cmd.GoOn: "go-on",
        cmd.Resume: "resume",
        cmd.SomeoneHurt: "hurt",
    }
)


# Choices


def _choose(procedure: Procedure, state: State, command: cmd.Choose, now: datetime) -> Outcome:
    choice = procedure.choices.get(command.choice)
    if choice is None:
        return Refusal("no-such-choice", names=(command.choice,))
    if command.option not in choice.options:
        return Refusal("no-such-option", names=(command.option, *choice.options))
    before = state.choices.get(command.choice)
    if before is None:
        return [ev.Chosen(command.choice, command.option, command.heard)]
    if before == command.option:
        return Refusal("already-chosen", names=(command.choice, command.option))
    return _choose_otherwise(procedure, state, command)


def _choose_otherwise(procedure: Procedure, state: State, command: cmd.Choose) -> Outcome:
    """Change a choice: freely while nothing hangs on it, later only by a lead, never past a check not good."""
    depends = [step for step in procedure.steps.values() if command.choice in step.when]
    begun = [s for s in depends if state.steps[s.name].begun and state.active(s)]
    otherwise = {**state.choices, command.choice: command.option}

    def active_then(step: Step) -> bool:
        return all(otherwise.get(choice) in options for choice, options in step.when.items())

    lost = [s.name for s in begun if procedure.is_check(s) and not active_then(s) and not state.good(s)]
    if lost:
        return Refusal("choice-drops-check", names=tuple(lost))
    left = [h for h, by in state.hazards.items() if not _secured_later(procedure, active_then, h)]
    if left:
        return Refusal("choice-leaves-hazard", names=tuple(left))
    new = {s.name for s in depends if active_then(s) and not state.active(s)}
    doubts = _done_behind(procedure, state, new, active_then)
    if begun or doubts:
        if command.by is None or command.by.role != "lead":
            return Refusal("choice-needs-lead", names=tuple(s.name for s in begun) or doubts)
        if not command.reason.strip():
            return Refusal("reason-missing")
    replaced = state.chosen_at[command.choice]
    return [
        ev.Chosen(command.choice, command.option, command.heard, replaced, command.by, command.reason.strip(), doubts)
    ]


def _secured_later(procedure: Procedure, active: Callable[[Step], bool], hazard: str) -> bool:
    return any(hazard in step.secures and active(step) for step in procedure.steps.values())


def _done_behind(procedure: Procedure, state: State, new: set[str], active: Callable[[Step], bool]) -> tuple[str, ...]:
    """Done steps that come, directly or not, behind steps that a changed choice brings in."""
    behind = set(new)
    for name in procedure.order:
        step = procedure.steps[name]
        if behind.intersection(step.after) or behind.intersection(step.needs):
            behind.add(name)
    return tuple(
        name
        for name in procedure.order
        if name in behind - new and state.steps[name].done and active(procedure.steps[name])
    )


# Steps


def _step_in_turn(procedure: Procedure, state: State, name: str) -> Refusal | None:
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
    return Refusal("not-yet", name, blocked or ((asked.step,) if asked.step else ()))


def _begin(procedure: Procedure, state: State, command: cmd.Begin, now: datetime) -> Outcome:
    """Start a step: its turn, or another that may start while nothing is due again."""
    wrong = _step_in_turn(procedure, state, command.step)
    asked = request(procedure, state)
    if wrong is None:
        return [ev.Begun(command.step)] if asked.want == "begin" else Refusal("already-begun", command.step)
    if wrong.code != "not-yet":
        return wrong
    step = procedure.steps[command.step]
    blocked = in_the_way(procedure, state, step)
    first = [s.name for s in due(procedure, state)] + [n for n, s in state.steps.items() if s.awaiting]
    if blocked or first:
        return Refusal("not-yet", command.step, tuple(dict.fromkeys((*first, *blocked))))
    return [ev.Begun(command.step)]


def _acknowledge(procedure: Procedure, state: State, command: cmd.Acknowledge, now: datetime) -> Outcome:
    return _answer(procedure, state, command.step, "cautions") or [
        ev.Acknowledged(command.step, procedure.steps[command.step].cautions)
    ]


def _crew(procedure: Procedure, state: State, command: cmd.CrewIsThere, now: datetime) -> Outcome:
    return _answer(procedure, state, command.step, "crew") or [
        ev.CrewReady(command.step, procedure.steps[command.step].crew)
    ]


def _finish(procedure: Procedure, state: State, command: cmd.Finish, now: datetime) -> Outcome:
    return _answer(procedure, state, command.step, "done") or [_done(procedure, state, command.step, now)]


def _look(procedure: Procedure, state: State, command: cmd.Look, now: datetime) -> Outcome:
    refused = _answer(procedure, state, command.step, "look")
    if refused is not None:
        return refused
    step = procedure.steps[command.step]
    if not command.by.name.strip():
        return Refusal("name-missing", command.step)
    if step.hold is not None and command.by.role != step.hold.by:
        return Refusal("wrong-role", command.step, (step.hold.by,))
    if not command.passed and not command.remark.strip():
        return Refusal("reason-missing", command.step)
    looked: list[ev.Event] = [ev.Looked(command.step, command.by, command.passed, command.remark.strip())]
    return looked + [_done(procedure, state, command.step, now)] if command.passed else looked


def _answer(procedure: Procedure, state: State, step: str, want: str) -> Refusal | None:
    """None if just this is asked of just this step."""
    wrong = _step_in_turn(procedure, state, step)
    if wrong is not None:
        return wrong
    asked = request(procedure, state)
    return None if asked.want == want else Refusal("something-else-first", step, (asked.want,))


def _done(procedure: Procedure, state: State, name: str, now: datetime) -> ev.Done:
    wait = procedure.steps[name].wait
    until = now + timedelta(microseconds=int(wait.time.base * 1_000_000)) if wait is not None else None
    return ev.Done(name, state.steps[name].done, until)


def _redo(procedure: Procedure, state: State, command: cmd.Redo, now: datetime) -> Outcome:
    step = procedure.steps.get(command.step)
    if step is None:
        return Refusal("no-such-step", command.step)
    then = state.steps[command.step]
    if not state.active(step):
        return Refusal("not-in-this-job", command.step)
    if then.doubt is not None or then.reopened is not None or then.stale is not None:
        return Refusal("due-anyway", command.step)
    if not then.done and not then.current and not then.awaiting:
        return Refusal("not-done-yet", command.step)
    if step.cannot_undo:
        return Refusal("cannot-undo", command.step)
    return [ev.Reopened(command.step, command.said)]


# Readings


def _take(procedure: Procedure, state: State, command: cmd.Take, now: datetime) -> Outcome:
    wrong = _step_in_turn(procedure, state, command.step)
    if wrong is not None:
        return wrong
    asked = request(procedure, state)
    if asked.want != "reading":
        return Refusal("something-else-first", command.step, (asked.want,))
    reading = procedure.readings[asked.reading]
    here = state.steps[command.step]
    if command.place in here.current:
        return Refusal("already-read", command.step, (command.place,))
    judged = _judge(procedure, state, procedure.steps[command.step], reading, command)
    if isinstance(judged, Refusal):
        return judged
    verdict_now, within, value = judged
    earlier = here.last.get(command.place)
    doubts: tuple[str, ...] = ()
    if earlier is not None and earlier.value != value:
        doubts = _relied_on(procedure, state, command.step, reading.name, command.place, value)
    took = ev.Took(
        command.step,
        reading.name,
        command.place,
        value,
        verdict_now,
        within.low,
        within.high,
        here.round,
        command.heard,
        command.surprising,
        doubts,
    )
    taken = Taken(state.seq + 1, now, value, verdict_now, here.round, command.heard)
    current = {**here.current, command.place: taken}
    return [took, *_round_over(procedure, state, command.step, current, now)]


Judged = tuple[ev.Verdict, Limits, ev.Value]


def _judge(
    procedure: Procedure, state: State, step: Step, reading: Reading, command: cmd.Take | cmd.Correct
) -> Judged | Refusal:
    """The verdict on a value here and now, with the limits; the value in the reading's own unit if it is bare."""
    if command.place not in places_of(reading):
        return Refusal("no-such-place", step.name, (command.place, *reading.places))
    value = command.value
    if reading.answer == "number":
        if not isinstance(value, Quantity):
            return Refusal("not-a-number", step.name)
        if value.dimension != Quantity(value.magnitude * 0, reading.unit).dimension:
            return Refusal("wrong-unit", step.name, (value.unit, reading.unit))
    elif isinstance(value, Quantity) or not value.strip():
        return Refusal("not-words", step.name)
    elif reading.answer == "yes-no" and value not in ("yes", "no"):
        return Refusal("not-yes-or-no", step.name)
    elif reading.answer == "choice" and value not in reading.options:
        return Refusal("no-such-option", step.name, (value, *reading.options))
    try:
        within = limits(step.within, lookup(procedure, state), reading.unit)
    except Missing as missing:
        return Refusal("figure-missing", step.name, (missing.name.name,))
    except QuantityError as fault:
        return Refusal("figure-fails", step.name, (str(fault),))
    if isinstance(value, Quantity) and value.magnitude < 0 and reading.sign is None and reading.about != "flush":
        low = within.low or limits(reading.likely, lookup(procedure, state), reading.unit).low
        if low is None or low.magnitude >= 0:
            return Refusal("negative", step.name)
    judged = step.within is not None or step.even is not None
    return verdict(reading, judged, value, within, command.heard.hair), within, value


def _round_over(
    procedure: Procedure, state: State, name: str, current: Mapping[str, Taken], now: datetime
) -> list[ev.Event]:
    """What follows once every place of the round is read: done, or advice; nothing while a place is missing."""
    step = procedure.steps[name]
    if step.take is None:
        return []
    reading = procedure.readings[step.take]
    if any(place not in current for place in places_of(reading)):
        return []
    after = replace(state.steps[name], current=dict(current), last={**state.steps[name].last, **current})
    value_of = _lookup_with(procedure, state, reading, current)
    even = evaluate(step.even, value_of) if step.even is not None else None
    apart = spread(taken.value for taken in current.values())
    uneven = even is not None and apart is not None and apart > even
    if uneven or any(taken.verdict == "out" for taken in current.values()):
        within = limits(step.within, value_of, reading.unit)
        return [advise(procedure, step, after, within, even, value_of)]
    return [] if step.hold is not None else [_done(procedure, state, name, now)]


def _lookup_with(procedure: Procedure, state: State, reading: Reading, current: Mapping[str, Taken]) -> Lookup:
    return lookup(procedure, state, {(reading.name, place): taken.value for place, taken in current.items()})


def _relied_on(
    procedure: Procedure, state: State, taken_by: str, reading: str, place: str, value: ev.Value
) -> tuple[str, ...]:
    """Done steps whose figures change with this value."""
    instead = {(reading, place): value}
    return tuple(
        name
        for name in procedure.used_by.get(reading, ())
        if name != taken_by
        and _counts(state.steps[name])
        and state.active(procedure.steps[name])
        and uses_of(procedure, state, procedure.steps[name])
        != uses_of(procedure, state, procedure.steps[name], instead)
    )


def _counts(now: StepState) -> bool:
    return now.done or bool(now.current) or bool(now.awaiting)


def _correct(procedure: Procedure, state: State, command: cmd.Correct, now: datetime) -> Outcome:
    step = procedure.steps.get(command.step)
    if step is None or step.take is None:
        return Refusal("no-such-step", command.step)
    reading = procedure.readings[step.take]
    here = state.steps[command.step]
    replaced = here.last.get(command.place)
    if replaced is None:
        return Refusal("nothing-to-correct", command.step, (command.place,))
    judged = _judge(procedure, state, step, reading, command)
    if isinstance(judged, Refusal):
        return judged
    verdict_now, within, value = judged
    if value == replaced.value and command.heard.hair == replaced.heard.hair:
        return Refusal("same-value", command.step, (command.place,))
    doubts = _relied_on(procedure, state, command.step, reading.name, command.place, value)
    follows: list[ev.Event] = []
    if command.place in here.current and here.stale is None:
        taken = Taken(state.seq + 1, now, value, verdict_now, replaced.round, command.heard)
        current = {**here.current, command.place: taken}
        follows = _judged_anew(procedure, state, command.step, current, now)
        if any(isinstance(event, ev.Advised) for event in follows) and here.done:
            doubts = tuple(dict.fromkeys(doubts + _done_trusting(procedure, state, command.step)))
    elif command.place in here.current:
        taken = Taken(state.seq + 1, now, value, verdict_now, replaced.round, command.heard)
        follows = _judged_anew(procedure, state, command.step, {**here.current, command.place: taken}, now)
    corrected = ev.Corrected(
        replaced.seq,
        command.step,
        reading.name,
        command.place,
        value,
        verdict_now,
        within.low,
        within.high,
        replaced.round,
        command.heard,
        doubts,
        command.surprising,
    )
    return [corrected, *follows]


def _judged_anew(
    procedure: Procedure, state: State, name: str, current: Mapping[str, Taken], now: datetime
) -> list[ev.Event]:
    """What a corrected round comes to: a check that stays good says nothing more."""
    follows = _round_over(procedure, state, name, current, now)
    here = state.steps[name]
    was_good = here.done and not here.awaiting and here.concession is None and here.stale is None
    return [] if was_good and all(isinstance(event, ev.Done) for event in follows) else follows


def _done_trusting(procedure: Procedure, state: State, check: str) -> tuple[str, ...]:
    """Done steps that were started because this check was good."""
    return tuple(
        name
        for name, step in procedure.steps.items()
        if check in step.needs and step.take is None and state.steps[name].done and state.active(step)
    )


# A check that is out, a step in doubt


def _adjust(procedure: Procedure, state: State, command: cmd.Adjust, now: datetime) -> Outcome:
    return _answer(procedure, state, command.step, "adjust") or [
        ev.Adjusted(command.step, out_of(procedure, procedure.steps[command.step]).adjust)
    ]


def _lead(procedure: Procedure, state: State, command: cmd.Decide, now: datetime) -> Outcome:
    step = procedure.steps.get(command.step)
    if step is None:
        return Refusal("no-such-step", command.step)
    here = state.steps[command.step]
    if not command.by.name.strip():
        return Refusal("name-missing", command.step)
    if command.by.role != "lead":
        return Refusal("wrong-role", command.step, ("lead",))
    if command.decision in ("concede", "stands"):
        refused = _may_accept(step, here, command)
        if refused is not None:
            return refused
    elif not here.awaiting and here.doubt is None:
        return Refusal("nothing-to-decide", command.step)
    decided: list[ev.Event] = [
        ev.Decided(command.step, command.decision, command.by, command.reason.strip()),
    ]
    if command.decision == "concede" and step.hold is None:
        decided.append(_done(procedure, state, command.step, now))
    if command.decision == "stop":
        decided += _stop_events(state)
    return decided


def _may_accept(step: Step, here: StepState, command: cmd.Decide) -> Refusal | None:
    if command.decision == "concede":
        if step.safety:
            return Refusal("safety", step.name)
        if here.stale is not None:
            return Refusal("stale-first", step.name)
        if not here.awaiting:
            return Refusal("nothing-to-concede", step.name)
    elif here.doubt is None:
        return Refusal("nothing-to-decide", step.name)
    return None if command.reason.strip() else Refusal("reason-missing", step.name)


def _moved(procedure: Procedure, state: State, command: cmd.Moved, now: datetime) -> Outcome:
    known = set(procedure.watchers)
    unknown = [name for name in command.states if name not in known]
    if unknown or not command.states:
        return Refusal("no-such-state", names=(*unknown, *sorted(known)))
    return [ev.Disturbed(command.states, command.said)]


# Stopping, resuming, somebody hurt


def _stop_events(state: State) -> list[ev.Event]:
    unsafe = state.unsafe()
    return [ev.Stopping(unsafe)] if unsafe else [ev.Stopped("said")]


def _stop(procedure: Procedure, state: State, command: cmd.Stop, now: datetime) -> Outcome:
    return _stop_events(state)


def _stop_while_hurt(procedure: Procedure, state: State, command: cmd.Stop, now: datetime) -> Outcome:
    return [ev.Stopped("said", state.unsafe())]


def _go_on(procedure: Procedure, state: State, command: cmd.GoOn, now: datetime) -> Outcome:
    return [ev.WentOn()]


def _make_safe(procedure: Procedure, state: State, command: cmd.MakeSafe, now: datetime) -> Outcome:
    asked = request(procedure, state)
    if asked.want != "make-safe" or asked.name != command.hazard:
        return Refusal("nothing-to-make-safe", names=(command.hazard,))
    if procedure.make_safe[command.hazard].stays and not command.stays.strip():
        return Refusal("name-missing")
    made: list[ev.Event] = [ev.MadeSafe(command.hazard, command.stays.strip())]
    if state.status == "stopping" and state.unsafe() == (command.hazard,):
        made.append(ev.Stopped("said"))
    return made


def _leave(procedure: Procedure, state: State, command: cmd.Leave, now: datetime) -> Outcome:
    return [ev.Stopped(command.how, state.unsafe())]


def _leave_finished(procedure: Procedure, state: State, command: cmd.Leave, now: datetime) -> Outcome:
    return []


def _resume(procedure: Procedure, state: State, command: cmd.Resume, now: datetime) -> Outcome:
    return [ev.Resumed(command.torn)]


def _find(procedure: Procedure, state: State, command: cmd.Find, now: datetime) -> Outcome:
    return [ev.FoundAsLeft(command.untouched)]


def _hurt(procedure: Procedure, state: State, command: cmd.SomeoneHurt, now: datetime) -> Outcome:
    return [ev.Hurt(command.said)]


def _clear(procedure: Procedure, state: State, command: cmd.Clear, now: datetime) -> Outcome:
    return [ev.AllClear(command.by)] if command.by.name.strip() else Refusal("name-missing")


# At any moment


def _speak(procedure: Procedure, state: State, command: cmd.Speak, now: datetime) -> Outcome:
    if not command.person.name.strip():
        return Refusal("name-missing")
    return [ev.Spoke(command.person)]


def _note(procedure: Procedure, state: State, command: cmd.Note, now: datetime) -> Outcome:
    return [ev.Noted(command.text, command.step)] if command.text.strip() else Refusal("nothing-to-note")


def _pass_time(procedure: Procedure, state: State, command: cmd.PassTime, now: datetime) -> Outcome:
    return [
        ev.WaitOver(name)
        for name in procedure.order
        if (until := state.steps[name].wait_until) is not None and until <= now
    ]


def _pretend(procedure: Procedure, state: State, command: cmd.PretendClock, now: datetime) -> Outcome:
    return [] if state.pretended else [ev.Pretended()]


def _close(procedure: Procedure, state: State, command: cmd.Close, now: datetime) -> Outcome:
    missing = [choice for choice in procedure.choices if choice not in state.choices]
    if missing:
        return Refusal("choose-first", names=tuple(missing))
    left = unfinished(procedure, state)
    if left:
        return Refusal("not-finished", names=left)
    if state.hazards:
        return Refusal("hazards-left", names=tuple(state.hazards))
    conceded = state.concessions(procedure)
    return [ev.Finished("conceded" if conceded else "good", conceded)]


Rule = Callable[[Procedure, State, Any, datetime], Outcome]

_ALWAYS: dict[type[Command], Rule] = {
    cmd.SomeoneHurt: _hurt,
    cmd.Speak: _speak,
    cmd.Note: _note,
    cmd.PretendClock: _pretend,
    cmd.Leave: _leave,
    cmd.Resume: _resume,
}

_LOOKING_BACK: dict[type[Command], Rule] = {
    cmd.Choose: _choose,
    cmd.Correct: _correct,
    cmd.Redo: _redo,
    cmd.Moved: _moved,
}

TABLE: Mapping[Status, Mapping[type[Command], Rule]] = MappingProxyType(
    {
        "running": {
            **_ALWAYS,
            **_LOOKING_BACK,
            cmd.Begin: _begin,
            cmd.Acknowledge: _acknowledge,
            cmd.CrewIsThere: _crew,
            cmd.Take: _take,
            cmd.Finish: _finish,
            cmd.Adjust: _adjust,
            cmd.Look: _look,
            cmd.Decide: _lead,
            cmd.MakeSafe: _make_safe,
            cmd.PassTime: _pass_time,
            cmd.Stop: _stop,
            cmd.Close: _close,
        },
        "stopping": {**_ALWAYS, cmd.MakeSafe: _make_safe, cmd.GoOn: _go_on, cmd.PassTime: _pass_time},
        "found": {**_ALWAYS, cmd.Find: _find},
        "stopped": {cmd.Resume: _resume, cmd.SomeoneHurt: _hurt},
        "hurt": {**_ALWAYS, cmd.Clear: _clear, cmd.Stop: _stop_while_hurt},
        "finished": {**_ALWAYS, **_LOOKING_BACK, cmd.Leave: _leave_finished, cmd.Stop: _leave_finished},
    }
)
"""Status -> command -> rule: every transition there is."""
