"""Random walks over a procedure: mostly sensible commands, many odd ones, everything held against the plain model."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from explore import CREW, INSPECTOR, LEAD, _after_command, _before_event, key, plans, started, values

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Command, Refusal
from guide.job.engine import decide
from guide.job.figures import places_of
from guide.job.fold import apply, replay
from guide.job.request import Request, request
from guide.job.state import State
from guide.procedure.model import Procedure


@dataclass
class Walked:
    """What one or several walks did."""

    commands: int = 0
    refused: int = 0
    events: int = 0
    finished: int = 0
    kinds: set[str] = field(default_factory=set)

    def __iadd__(self, other: Walked) -> Walked:
        self.commands += other.commands
        self.refused += other.refused
        self.events += other.events
        self.finished += other.finished
        self.kinds |= other.kinds
        return self


def sensible(procedure: Procedure, state: State, want: Request, draw: random.Random) -> Command:
    """The command that answers what is asked, now and then with a bad reading."""
    step = procedure.steps.get(want.step)
    if want.want == "choice":
        return cmd.Choose(want.name, draw.choice(list(procedure.choices[want.name].options)))
    if want.want == "reading" and step is not None:
        good, *bad = values(procedure, state, step) or ("none",)
        return cmd.Take(step.name, want.place, draw.choice(bad) if bad and draw.random() < 0.03 else good)
    one = procedure.set_of.get(want.step)
    now = state.sets[one.name] if one is not None else None
    if want.want == "adjust" and one and now and now.plan is None and not now.to_make and draw.random() < 0.8:
        read = {ev.Spot(name, place) for name in one.checks for place in state.steps[name].current}
        return cmd.Plan(draw.choice([plan for plan in plans(procedure, one) if read >= set(plan.again)]))
    if want.want == "look" and step is not None and step.hold is not None:
        return cmd.Look(want.step, LEAD if step.hold.by == "lead" else INSPECTOR, draw.random() < 0.9, "scratched")
    simple: dict[str, Command] = {
        "begin": cmd.Begin(want.step),
        "cautions": cmd.Acknowledge(want.step),
        "crew": cmd.CrewIsThere(want.step),
        "done": cmd.Finish(want.step),
        "adjust": cmd.Adjust(want.step),
        "lead": cmd.Decide(want.step, "go on" if step and step.safety else "concede", LEAD, "good enough"),
        "doubt": cmd.Decide(want.step, "stands", LEAD, "it still fits"),
        "make-safe": cmd.MakeSafe(want.name, "Bo"),
        "found": cmd.Find(draw.random() < 0.5),
        "clear": cmd.Clear(CREW),
        "wait": cmd.PassTime(),
        "close": cmd.Close(),
        "stopped": cmd.Resume(),
        "over": cmd.Resume(),
    }
    return simple[want.want]


def odd(procedure: Procedure, state: State, draw: random.Random) -> Command:
    """Any command at all, about anything."""
    step = procedure.steps[draw.choice(list(procedure.steps))]
    moved = draw.choice(list(procedure.watchers) or [""])
    choice = draw.choice(list(procedure.choices) or [""])
    commands: list[Command] = [
        cmd.Begin(step.name),
        cmd.Acknowledge(step.name),
        cmd.CrewIsThere(step.name),
        cmd.Finish(step.name),
        cmd.Adjust(step.name),
        cmd.Redo(step.name),
        cmd.Look(step.name, draw.choice([LEAD, INSPECTOR, CREW]), draw.random() < 0.7, "scratched"),
        cmd.Decide(step.name, "concede", draw.choice([LEAD, CREW]), draw.choice(["", "good enough"])),
        cmd.Decide(step.name, draw.choice(["go on", "stands", "stop"]), LEAD, "good enough"),
        cmd.Moved((moved,)),
        cmd.Stop(),
        cmd.GoOn(),
        cmd.Leave("input ended"),
        cmd.Resume(),
        cmd.Find(draw.random() < 0.5),
        cmd.SomeoneHurt(),
        cmd.Clear(CREW),
        cmd.PassTime(),
        cmd.Close(),
        cmd.Note("a note"),
        cmd.Speak(CREW),
    ]
    for one in procedure.together.values():
        commands += [*map(cmd.Plan, plans(procedure, one)), cmd.RuleOut(one.name, draw.choice(((), ("sill",))))]
    if choice:
        option = draw.choice(list(procedure.choices[choice].options))
        commands.append(cmd.Choose(choice, option, by=draw.choice([None, LEAD]), reason="asked for"))
    if step.take is not None:
        place = draw.choice(places_of(procedure.readings[step.take]))
        for value in values(procedure, state, step):
            commands += [cmd.Take(step.name, place, value), cmd.Correct(step.name, place, value)]
    return draw.choice(commands)


def walk(procedure: Procedure, seed: int, steps: int, oddness: float, every: int) -> Walked:
    """One job of so many commands, a share of them odd; the plain model is asked every so many commands."""
    draw = random.Random(seed)
    state, first = started(procedure)
    entries: list[ev.Entry] = list(first)
    walked = Walked()
    for number in range(steps):
        strange = draw.random() < oddness
        command = (
            odd(procedure, state, draw) if strange else sensible(procedure, state, request(procedure, state), draw)
        )
        now = _time(state, command)
        looks = number % every == 0
        before = key(state) if looks else None
        outcome = decide(procedure, state, command, now)
        walked.commands += 1
        if looks:
            assert key(state) == before, f"deciding {command} changed the state"
        if isinstance(outcome, Refusal):
            walked.refused += 1
            assert strange or state.status == "finished", f"a sensible answer was refused: {command}: {outcome}"
            assert outcome.legal or state.status == "finished"
            continue
        for event in outcome:
            if looks or isinstance(event, ev.Finished):
                _before_event(procedure, tuple(entries), event)
            entry = ev.Entry(len(entries), now, "", event)
            entries.append(entry)
            apply(procedure, state, entry)
            walked.events += 1
            walked.finished += isinstance(event, ev.Finished)
            walked.kinds.add(event.kind)
        if looks:
            _after_command(procedure, state, tuple(entries))
    assert key(replay(procedure, entries)) == key(state)
    return walked


def _time(state: State, command: Command) -> datetime:
    assert state.at is not None
    return state.at + (timedelta(days=40) if isinstance(command, cmd.PassTime) else timedelta(seconds=1))


def walks(procedure: Procedure, seeds: Iterator[int] | range, steps: int, every: int) -> Walked:
    """Several walks, from quite sensible to quite odd."""
    total = Walked()
    for seed in seeds:
        total += walk(procedure, seed, steps, (0.0, 0.02, 0.15, 0.9)[seed % 4], every)
    return total
