"""The rules of a job, in one table: what each command does in each status, or why it can't be done.

`decide` is pure: procedure, state, command and time in; events, or a refusal that changes nothing and says what
would be legal, out. The events are then written to the record and folded (`guide.job.fold`). How it works:

* `TABLE` names, for each status of a job, the commands that can be decided there, each with its rule. A command
  that is not in the table for the status is refused; `legal` reads the same table.
* A rule looks at the state and returns events or a `Refusal`. The event that ends a step is `Done`, whatever
  ended it: the last reading, a look, a concession, a word. Only `Done`, `Adjusted`, `Disturbed`, `MadeSafe` and
  `FoundAsLeft` disturb the work, and the fold makes stale what watches it. No rule clears staleness: only a
  new round of readings does.
* Rules of choices stand in `guide.job.choices`, those of readings in `guide.job.readings`, whose turn it is in
  `guide.job.turn`; all others here.
* A round is all places of a check. A round that is out brings advice; after the set number the lead decides.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType
from typing import Any

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.advice import out_of
from guide.job.choices import choose
from guide.job.commands import Command, Outcome, Refusal
from guide.job.readings import correct, take
from guide.job.recheck import due, in_the_way, unfinished
from guide.job.request import request
from guide.job.state import State, Status, StepState
from guide.job.turn import asked_of, done, step_in_turn
from guide.procedure.model import Procedure, Step


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


# Steps


def _begin(procedure: Procedure, state: State, command: cmd.Begin, now: datetime) -> Outcome:
    """Start a step: its turn, or another that may start while nothing is due again."""
    wrong = step_in_turn(procedure, state, command.step)
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
    return asked_of(procedure, state, command.step, "cautions") or [
        ev.Acknowledged(command.step, procedure.steps[command.step].cautions)
    ]


def _crew(procedure: Procedure, state: State, command: cmd.CrewIsThere, now: datetime) -> Outcome:
    return asked_of(procedure, state, command.step, "crew") or [
        ev.CrewReady(command.step, procedure.steps[command.step].crew)
    ]


def _finish(procedure: Procedure, state: State, command: cmd.Finish, now: datetime) -> Outcome:
    return asked_of(procedure, state, command.step, "done") or [done(procedure, state, command.step, now)]


def _look(procedure: Procedure, state: State, command: cmd.Look, now: datetime) -> Outcome:
    refused = asked_of(procedure, state, command.step, "look")
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
    return looked + [done(procedure, state, command.step, now)] if command.passed else looked


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


# A check that is out, a step in doubt


def _adjust(procedure: Procedure, state: State, command: cmd.Adjust, now: datetime) -> Outcome:
    """Correct the check, or make the moves of its set's plan, which disturb what any check of it would."""
    refused = asked_of(procedure, state, command.step, "adjust")
    if refused is not None:
        return refused
    one = procedure.set_of.get(command.step)
    now_set = state.set_of(procedure, command.step)
    if now_set is not None and now_set.to_make:
        return [ev.MoveMade(command.step, now_set.moving, now_set.to_make[0])]
    if one is None or now_set is None or now_set.plan is None or not now_set.plan.moves:
        return [ev.Adjusted(command.step, out_of(procedure.steps[command.step]).adjust)]
    states = dict.fromkeys(
        name for check in one.checks if state.steps[check].awaiting for name in out_of(procedure.steps[check]).adjust
    )
    return [ev.Adjusted(command.step, tuple(states), now_set.plan.moves[0])]


def _plan(procedure: Procedure, state: State, command: cmd.Plan, now: datetime) -> Outcome:
    """Keep what was worked out for a set, once all of it has been read and something of it is to be corrected."""
    asked = request(procedure, state)
    one = procedure.set_of.get(asked.step)
    corrects = asked.want in ("adjust", "lead") and state.steps[asked.step].awaiting
    if one is None or one.name != command.planned.set or not corrects:
        return Refusal("nothing-to-plan", names=(command.planned.set,))
    for spot in command.planned.again:
        if spot.step not in one.checks or spot.place not in state.steps[spot.step].current:
            return Refusal("nothing-to-correct", spot.step, (spot.place,))
    return [command.planned]


def _rule_out(procedure: Procedure, state: State, command: cmd.RuleOut, now: datetime) -> Outcome:
    one = procedure.together.get(command.set)
    if one is None or one.moves is None:
        return Refusal("nothing-to-plan", names=(command.set,))
    return [ev.RuledOut(command.set, command.points, command.said)]


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
        decided.append(done(procedure, state, command.step, now))
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
    cmd.Choose: choose,
    cmd.Correct: correct,
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
            cmd.Take: take,
            cmd.Finish: _finish,
            cmd.Adjust: _adjust,
            cmd.Plan: _plan,
            cmd.RuleOut: _rule_out,
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
