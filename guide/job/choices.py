"""Choices: answered once, changed freely while nothing hangs on them, later only by a lead."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Outcome, Refusal
from guide.job.state import State
from guide.procedure.model import Procedure, Step


def choose(procedure: Procedure, state: State, command: cmd.Choose, now: datetime) -> Outcome:
    """Answer a choice for the first time, or change it."""
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
