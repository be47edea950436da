"""What happened, told: entries of the record turned into turns. One sentence a fact, the figure that matters."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from guide.job import events as ev
from guide.job.state import State
from guide.procedure.model import ONE_PLACE, Procedure
from guide.quantity import Quantity, quantity
from guide.session.turns import Turn
from guide.talk.say import written
from guide.talk.wording import Wording


class Teller:
    """Tells entries of one job in one language."""

    def __init__(self, procedure: Procedure, wording: Wording) -> None:
        self.procedure = procedure
        self.wording = wording

    def tell(self, entry: ev.Entry, state: State, new_stale: Iterable[str]) -> list[Turn]:
        """The turns for one entry, told after it was folded; `new_stale` are the checks it made stale."""
        told = _TELL.get(type(entry.event))
        turns = told(self, entry, state) if told else []
        return turns + self.stale(entry.event, tuple(new_stale))

    def name_of(self, step: str) -> str:
        """A step's name as it is said: its reading's words, else its name with spaces."""
        return step.replace("-", " ")

    def names_of(self, steps: Iterable[str]) -> str:
        """Several steps' names, joined."""
        return self.wording.join([self.name_of(step) for step in steps])

    def value(self, step: str, value: ev.Value, heard: ev.Heard = ev.UNSAID) -> str:
        """A reading's value as it is shown, with its side in words."""
        reading = self.procedure.readings[self.procedure.steps[step].take or ""]
        if isinstance(value, Quantity):
            shown = written(value, reading.about, reading.sign)
            hair = {1: "value.hair-over", -1: "value.hair-under"}.get(heard.hair)
            return self.wording.say(hair, value=shown) if hair else shown
        return reading.options.get(value, value)

    def stale(self, event: ev.Event, checks: tuple[str, ...]) -> list[Turn]:
        """One turn that names what must be read again, and why."""
        if not checks:
            return []
        step = getattr(event, "step", "")
        states = self._moved(event)
        words = self.wording.join([self.procedure.states.get(name, name) for name in states])
        key = "stale.moved" if states else "stale.again"
        text = self.wording.say(key, what=words, checks=self.names_of(checks))
        text = text[0].upper() + text[1:]
        return [Turn("stale", text, {"checks": list(checks), "states": list(states), "because": step or event.kind})]

    def _moved(self, event: ev.Event) -> tuple[str, ...]:
        if isinstance(event, ev.Done):
            return self.procedure.steps[event.step].disturbs
        if isinstance(event, ev.Adjusted | ev.Disturbed | ev.MoveMade):
            return event.states
        if isinstance(event, ev.MadeSafe):
            return self.procedure.make_safe[event.hazard].disturbs
        return ()

    def _chosen(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        words = self.procedure.choices[event.choice].options[event.option]
        key = "understood.choice" if event.replaces is None else "understood.choice-changed"
        data = {"step": event.choice, "value": event.option}
        return [Turn("understood", self.wording.say(key, option=words), data), *self._doubts(event.doubts)]

    def _took(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        value = self.value(event.step, event.value, event.heard)
        at = self.wording.say("accepted.at", place=event.place) if event.place != ONE_PLACE else ""
        key = f"accepted.{event.verdict}"
        text = self.wording.say(key, at=at, value=value)
        return [Turn("accepted", text, self._reading_data(event)), *self._doubts(event.doubts)]

    def _corrected(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        value = self.value(event.step, event.value, event.heard)
        at = self.wording.say("accepted.at", place=event.place) if event.place != ONE_PLACE else ""
        verdict = self.wording.say(f"verdict.{event.verdict}")
        text = self.wording.say("accepted.corrected", at=at, value=value, verdict=verdict)
        data = {**self._reading_data(event), "replaces": event.replaces}
        return [Turn("accepted", text, data), *self._doubts(event.doubts)]

    def _reading_data(self, event: ev.Took | ev.Corrected) -> dict[str, object]:
        return {
            "step": event.step,
            "reading": event.reading,
            "place": event.place or None,
            "value": str(event.value),
            "verdict": event.verdict,
            "low": str(event.low) if event.low is not None else None,
            "high": str(event.high) if event.high is not None else None,
            "round": event.round,
        }

    def _doubts(self, steps: tuple[str, ...]) -> list[Turn]:
        if not steps:
            return []
        text = self.wording.say("doubt.told", steps=self.names_of(steps), count=len(steps))
        return [Turn("say", text, {"doubts": list(steps)})]

    def _advised(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        one = self.procedure.set_of.get(event.step)
        if one is not None and one.moves is not None:
            first = not any(state.steps[name].awaiting for name in one.checks if name != event.step)
            return self._read_on(event, first)
        sentences = list(event.say) or self._plain_advice(event)
        if "uneven" in event.figures:
            apart, even = (written(quantity(event.figures[name])) for name in ("uneven", "even"))
            sentences.insert(0, self.wording.say("advice.uneven", apart=apart, even=even))
        text = self.wording.say("advice.told", advice=" ".join(sentences))
        data = {
            "step": event.step,
            "round": event.round,
            "say": sentences,
            "figures": dict(event.figures),
            "adjust": list(event.adjust),
        }
        turns = [Turn("advice", text, data)]
        correction = self.procedure.steps[event.step].out
        cautions = correction.cautions if correction else ()
        return [*(Turn("say", self.procedure.cautions[name], {"caution": name}) for name in cautions), *turns]

    def _read_on(self, event: ev.Advised, first: bool) -> list[Turn]:
        """A check is out whose whole set is read before anything is corrected; said of the first of a round."""
        sentences = []
        if "uneven" in event.figures:
            apart, even = (written(quantity(event.figures[name])) for name in ("uneven", "even"))
            sentences.append(self.wording.say("advice.uneven", apart=apart, even=even))
        if first:
            sentences.append(self.wording.say("advice.read-on"))
        data = {"step": event.step, "round": event.round, "figures": dict(event.figures)}
        return [Turn("say", " ".join(sentences), data)] if sentences else []

    def _planned(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        out = [name for name in self.procedure.together[event.set].checks if state.steps[name].awaiting]
        corrections = [self.procedure.steps[name].out for name in out]
        cautions = dict.fromkeys(caution for one in corrections if one is not None for caution in one.cautions)
        sentences = list(event.say)
        if event.moves:
            key = "advice.move" if len(event.moves) == 1 else "advice.moves"
            sentences.append(self.wording.say(key, count=len(event.moves), checks=self.names_of(out)))
        if event.what == "each" and not sentences:
            sentences.append(self.wording.say("advice.put-right"))
        data = {
            "set": event.set,
            "what": event.what,
            "checks": out,
            "say": sentences,
            "moves": [
                {"point": move.point, "direction": move.direction, "by": str(abs(move.by)), "say": move.say}
                for move in event.moves
            ],
            "again": [{"step": at.step, "place": at.place or None} for at in event.again],
            "after": dict(event.after),
            "proven_fewest": event.proven,
        }
        turns = [Turn("advice", " ".join(sentences), data)]
        return [*(Turn("say", self.procedure.cautions[name], {"caution": name}) for name in cautions), *turns]

    def _repeated(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        value = self.value(event.step, event.value, event.heard)
        at = self.wording.say("accepted.at", place=event.place) if event.place != ONE_PLACE else ""
        data = {"step": event.step, "reading": event.reading, "place": event.place or None, "value": str(event.value)}
        return [Turn("accepted", self.wording.say("accepted.repeated", at=at, value=value), data)]

    def _ruled_out(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        key = "moves.ruled-out" if event.points else "moves.all-free"
        text = self.wording.say(key, points=self.wording.join(list(event.points)))
        return [Turn("understood", text, {"set": event.set, "ruled_out": list(event.points)})]

    def _plain_advice(self, event: ev.Advised) -> list[str]:
        """When the procedure has no words of its own: how far out it is, and to put it right."""
        overs = [(name.rpartition(": ")[0], figure) for name, figure in event.figures.items() if name.endswith("over")]
        if not overs:
            return [self.wording.say("advice.put-right")]
        return [
            self.wording.say("advice.over-at", place=place, over=written(quantity(figure)))
            if place
            else self.wording.say("advice.over", over=written(quantity(figure)))
            for place, figure in overs
        ]

    def _done(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        step = self.procedure.steps[event.step]
        turns = []
        if step.wait is not None and event.until is not None:
            text = self.wording.say(
                "done.wait", what=step.wait.what, time=str(step.wait.time), until=self.clock(event.until)
            )
            turns.append(Turn("say", text, {"step": step.name, "until": event.until.isoformat()}))
        turns += [
            Turn("say", self.wording.say("done.leaves", hazard=self.name_of(hazard)), {"hazard": hazard})
            for hazard in step.leaves
        ]
        return turns

    def _decided(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        key = f"decided.{event.decision.replace(' ', '-')}"
        text = self.wording.say(
            key, name=event.by.name, proof=self.proof(event.by), check=self.name_of(event.step), reason=event.reason
        )
        data = {"step": event.step, "decision": event.decision, "by": event.by.name, "proof": event.by.proof}
        return [Turn("say", text, data)]

    def _looked(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        key = "looked.passed" if event.passed else "looked.failed"
        text = self.wording.say(key, name=event.by.name, proof=self.proof(event.by), remark=event.remark)
        return [Turn("say", text, {"step": event.step, "passed": event.passed, "by": event.by.name})]

    def proof(self, person: ev.Person) -> str:
        """How the name was proved, in words."""
        return self.wording.say(f"proof.{person.proof}")

    def _wait_over(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        wait = self.procedure.steps[event.step].wait
        text = self.wording.say("wait.over", what=wait.what if wait else "")
        return [Turn("say", text, {"step": event.step})]

    def _made_safe(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        key = "made-safe.stays" if event.stays else "made-safe.plain"
        text = self.wording.say(key, hazard=self.name_of(event.hazard), name=event.stays)
        return [Turn("say", text, {"hazard": event.hazard, "stays": event.stays or None})]

    def _stopping(self, entry: ev.Entry, state: State) -> list[Turn]:
        return [Turn("say", self.wording.say("stop.first-make-safe"))]

    def _went_on(self, entry: ev.Entry, state: State) -> list[Turn]:
        return [Turn("say", self.wording.say("stop.going-on"))]

    def _stopped(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        key = "stop.unsafe" if event.left else "stop.done"
        hazards = self.wording.join([self.name_of(h) for h in event.left])
        data = {"how": event.how, "left": list(event.left), "count": event.count, "hash": event.hash}
        return [Turn("stopped", self.wording.say(key, hazards=hazards), data)]

    def _hurt(self, entry: ev.Entry, state: State) -> list[Turn]:
        return [Turn("say", self.wording.say("hurt.first"), {"emergency": True})]

    def _all_clear(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        return [Turn("say", self.wording.say("hurt.all-clear", name=event.by.name))]

    def _spoke(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        return [Turn("understood", self.wording.say("understood.speaker", name=event.person.name))]

    def _noted(self, entry: ev.Entry, state: State) -> list[Turn]:
        return [Turn("understood", self.wording.say("understood.note"))]

    def _found(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        key = "found.untouched" if event.untouched else "found.touched"
        return [Turn("say", self.wording.say(key))]

    def _clock_back(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        text = self.wording.say("clock.back", was=self.clock(event.was), now=self.clock(entry.at))
        return [Turn("say", text)]

    def _pretended(self, entry: ev.Entry, state: State) -> list[Turn]:
        return [Turn("say", self.wording.say("clock.pretended"))]

    def _finished(self, entry: ev.Entry, state: State) -> list[Turn]:
        event: Any = entry.event
        text = self.wording.say(
            f"finished.{event.verdict}", concessions=self.names_of(event.concessions), count=len(event.concessions)
        )
        data = {
            "verdict": event.verdict,
            "concessions": list(event.concessions),
            "count": event.count,
            "hash": event.hash,
        }
        return [Turn("finished", text, data)]

    def clock(self, at: Any) -> str:
        """A time as a crew reads it."""
        return f"{at:%a %H:%M}"


_TELL: Mapping[type[ev.Event], Callable[[Teller, ev.Entry, State], list[Turn]]] = {
    ev.Chosen: Teller._chosen,
    ev.Took: Teller._took,
    ev.Corrected: Teller._corrected,
    ev.Advised: Teller._advised,
    ev.Planned: Teller._planned,
    ev.Repeated: Teller._repeated,
    ev.RuledOut: Teller._ruled_out,
    ev.Done: Teller._done,
    ev.Decided: Teller._decided,
    ev.Looked: Teller._looked,
    ev.WaitOver: Teller._wait_over,
    ev.MadeSafe: Teller._made_safe,
    ev.Stopping: Teller._stopping,
    ev.WentOn: Teller._went_on,
    ev.Stopped: Teller._stopped,
    ev.Hurt: Teller._hurt,
    ev.AllClear: Teller._all_clear,
    ev.Spoke: Teller._spoke,
    ev.Noted: Teller._noted,
    ev.FoundAsLeft: Teller._found,
    ev.ClockBack: Teller._clock_back,
    ev.Pretended: Teller._pretended,
    ev.Finished: Teller._finished,
}
