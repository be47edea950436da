"""What is good, fresh and finished, recomputed from the whole list of events each time: plain, slow, written apart.

Shares nothing with the fold or the engine but the events and the procedure's data. It is what they are held against.
"""

from __future__ import annotations

from collections.abc import Sequence

from guide.job import events as ev
from guide.procedure.model import Procedure, Step, Together
from guide.procedure.worked import Name, evaluate
from guide.quantity import Quantity


class PlainModel:
    """The truth about a job, from its entries alone."""

    def __init__(self, procedure: Procedure, entries: Sequence[ev.Entry]) -> None:
        self.procedure = procedure
        self.entries = entries
        self.events = [entry.event for entry in entries]
        self._hazards()
        self.disturbed = self._disturbed()
        self.choices = {e.choice: e.option for e in self.events if isinstance(e, ev.Chosen)}

    def active(self, step: Step) -> bool:
        return all(self.choices.get(choice) in options for choice, options in step.when.items())

    def moved(self, event: ev.Event) -> set[str]:
        """The states that an event disturbs."""
        if isinstance(event, ev.Done):
            return set(self.procedure.steps[event.step].disturbs)
        if isinstance(event, ev.Adjusted | ev.MoveMade | ev.Disturbed):
            return set(event.states)
        if isinstance(event, ev.MadeSafe):
            return set(self.procedure.make_safe[event.hazard].disturbs)
        return set()

    def voided(self, step: Step) -> int:
        """The last event that voids what was read of the step, or -1."""
        watched = set(step.watches)
        last = -1
        for i, event in enumerate(self.events):
            named = getattr(event, "step", None) == step.name and isinstance(event, ev.Adjusted | ev.Reopened)
            doubted = step.name in getattr(event, "doubts", ())
            if self.disturbed[i] & watched or named or doubted or self._hazard_again(i, step):
                last = i
        return last

    def _disturbed(self) -> list[set[str]]:
        """What each event disturbs; what was found touched, also what its hazards' make-safe steps would."""
        found: list[set[str]] = []
        unsafe: tuple[str, ...] = ()
        for i, event in enumerate(self.events):
            moved = self.moved(event)
            if isinstance(event, ev.Resumed | ev.AllClear):
                unsafe = self.unsafe(i)
            if isinstance(event, ev.FoundAsLeft) and not event.untouched:
                moved |= {s for h in unsafe for s in self.procedure.make_safe[h].disturbs}
            found.append(moved)
        return found

    def unsafe(self, upto: int) -> tuple[str, ...]:
        """Hazards that are there and were not made safe since work last went on."""
        safe = set()
        for event in reversed(self.events[:upto]):
            if isinstance(event, ev.Begun | ev.Took | ev.Adjusted | ev.MoveMade | ev.Done):
                break
            if isinstance(event, ev.MadeSafe):
                safe.add(event.hazard)
        return tuple(hazard for hazard in self.hazards(upto) if hazard not in safe)

    def _hazard_again(self, at: int, step: Step) -> bool:
        """Whether this event left a hazard that the step ends, so that it has to end it again."""
        event = self.events[at]
        return bool(self.left[at] & set(step.secures)) and getattr(event, "step", None) != step.name

    def hazards(self, upto: int | None = None) -> tuple[str, ...]:
        """Hazards left and not ended."""
        there = self.there[:upto]
        return there[-1] if there else ()

    def _hazards(self) -> None:
        """What each event left unsafe, and what was unsafe after it."""
        there: dict[str, None] = {}
        ready: dict[str, set[str]] = {name: set() for name in self.procedure.steps}
        self.left: list[set[str]] = []
        self.there: list[tuple[str, ...]] = []
        for i, event in enumerate(self.events):
            for name in (*getattr(event, "doubts", ()), *([event.step] if isinstance(event, ev.Reopened) else [])):
                if self.procedure.steps[name].take is None:
                    ready[name].clear()
            left: set[str] = set()
            if isinstance(event, ev.Begun | ev.Acknowledged | ev.CrewReady):
                step = self.procedure.steps[event.step]
                ready[step.name].add(event.kind)
                wanted = {
                    "begun",
                    *(["acknowledged"] if step.cautions else []),
                    *(["crew-ready"] if step.crew > 1 else []),
                }
                if ready[step.name] >= wanted:
                    left = {hazard for hazard in step.leaves if hazard not in there}
            if isinstance(event, ev.Done):
                for hazard in self.procedure.steps[event.step].secures:
                    there.pop(hazard, None)
                left = set(self.procedure.steps[event.step].leaves)
            there |= dict.fromkeys(
                hazard for hazard in self.procedure.make_safe if hazard in left and hazard not in there
            )
            self.left.append(left)
            for step in self.procedure.steps.values():
                if self._hazard_again(i, step) and step.take is None and self._done_between(step, -1, i):
                    ready[step.name].clear()
            self.there.append(tuple(there))

    def readings(self, step: Step) -> dict[str, tuple[int, ev.Value, int]]:
        """Place -> where it was read, its value as corrected, its hair."""
        found: dict[str, tuple[int, ev.Value, int]] = {}
        for i, event in enumerate(self.events):
            if isinstance(event, ev.Took) and event.step == step.name:
                found[event.place] = (i, event.value, event.heard.hair)
            if isinstance(event, ev.Corrected) and event.step == step.name:
                found[event.place] = (found[event.place][0], event.value, event.heard.hair)
        return found

    def value_of(self, name: Name) -> Quantity | None:
        if name.name in self.procedure.facts:
            return self.procedure.facts[name.name].value
        if name.name in self.procedure.worked:
            return evaluate(self.procedure.worked[name.name], self.value_of)
        reading = self.procedure.readings[name.name]
        values: dict[str, Quantity] = {}
        for step in self.procedure.steps.values():
            if step.take == name.name:
                values |= {p: v for p, (_, v, _) in self.readings(step).items() if isinstance(v, Quantity)}
        if name.place is not None:
            return {p.replace(" ", "_"): v for p, v in values.items()}.get(name.place)
        if len(values) < max(1, len(reading.places)):
            return None
        if reading.keep == "smallest":
            return min(values.values())
        return max(values.values()) if reading.keep == "largest" else next(iter(values.values()))

    def read(self, step: Step) -> bool:
        """Whether every place was read since the last disturbance."""
        assert step.take is not None
        found, since = self.readings(step), self.voided(step)
        places = self.procedure.readings[step.take].places or ("",)
        return all(place in found and found[place][0] >= since for place in places)

    def moves_left(self, one: Together) -> list[ev.Move]:
        """Moves of a plan that was begun and is still to be made to its end."""
        watched = {state for name in one.checks for state in self.procedure.steps[name].watches}
        planned: tuple[ev.Move, ...] = ()
        left: list[ev.Move] = []
        for event, disturbed in zip(self.events, self.disturbed, strict=True):
            if isinstance(event, ev.Planned) and event.set == one.name:
                planned = event.moves
            elif isinstance(event, ev.Adjusted) and event.step in one.checks and event.move is not None:
                left = list(planned[1:])
            elif isinstance(event, ev.MoveMade) and event.step in one.checks:
                left = left[1:]
            elif isinstance(event, ev.RuledOut) and event.set == one.name:
                left = [move for move in left if move.point not in event.points]
            elif disturbed & watched or set(getattr(event, "doubts", ())) & set(one.checks):
                left = []
        return left

    def passes(self, step: Step) -> bool:
        """Whether every place was read since the last disturbance, and every value is inside its limits now."""
        assert step.take is not None
        reading = self.procedure.readings[step.take]
        found, since = self.readings(step), self.voided(step)
        places = reading.places or ("",)
        if any(place not in found or found[place][0] < since for place in places):
            return False
        values = [found[place][1] for place in places]
        if reading.good and any(value not in reading.good for value in values):
            return False
        amounts = [value for value in values if isinstance(value, Quantity)]
        if step.within is not None:
            for place in places:
                _, value, hair = found[place]
                assert isinstance(value, Quantity)
                for end, past in ((step.within.low, -1), (step.within.high, 1)):
                    limit = evaluate(end, self.value_of) if end is not None else None
                    if limit is not None and (past * (value - limit).base > 0 or (value == limit and hair == past)):
                        return False
        return step.even is None or max(amounts) - min(amounts) <= evaluate(step.even, self.value_of)

    def conceded(self, step: Step) -> bool:
        """A concession newer than every reading, correction and disturbance of the check."""
        last = max(
            (i for i, e in enumerate(self.events) if isinstance(e, ev.Took | ev.Corrected) and e.step == step.name),
            default=-1,
        )
        given = [
            i
            for i, e in enumerate(self.events)
            if isinstance(e, ev.Decided) and e.step == step.name and e.decision == "concede"
        ]
        return bool(given) and given[-1] > max(last, self.voided(step))

    def looked(self, step: Step) -> bool:
        since = self.undone(step) if step.take is None else self.voided(step)
        return any(
            isinstance(e, ev.Looked) and e.step == step.name and e.passed and i > since
            for i, e in enumerate(self.events)
        )

    def undone(self, step: Step) -> int:
        """The last event after which the step has to be done again, or -1; a lead's "stands" takes a doubt back."""
        last, doubt_only = -1, False
        for i, event in enumerate(self.events):
            if step.name in getattr(event, "doubts", ()):
                last, doubt_only = i, last == -1 or doubt_only or self._done_between(step, last, i)
            if (isinstance(event, ev.Reopened) and event.step == step.name) or self._hazard_again(i, step):
                last, doubt_only = i, False
            if isinstance(event, ev.Decided) and event.step == step.name and event.decision == "stands" and doubt_only:
                last = -1
        return last

    def _done_between(self, step: Step, start: int, end: int) -> bool:
        return any(isinstance(e, ev.Done) and e.step == step.name for e in self.events[start + 1 : end])

    def done_at(self, step: Step) -> int:
        return max((i for i, e in enumerate(self.events) if isinstance(e, ev.Done) and e.step == step.name), default=-1)

    def waiting(self, step: Step) -> bool:
        at = self.done_at(step)
        if at < 0 or step.wait is None:
            return False
        return not any(isinstance(e, ev.WaitOver) and e.step == step.name for e in self.events[at:])

    def good(self, step: Step) -> bool:
        """Nothing about this step keeps the job from being finished."""
        if not self.active(step):
            return True
        if self.waiting(step) or self.done_at(step) < 0:
            return False
        if step.hold is not None and not self.looked(step):
            return False
        if step.take is None:
            return self.done_at(step) > self.undone(step)
        return self.passes(step) or self.conceded(step)

    def all_good(self) -> bool:
        return all(self.good(step) for step in self.procedure.steps.values()) and not self.hazards()
