"""Answers to what a crew asks at any moment, from the procedure and the record. Nothing here changes anything."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from guide.job.events import Value
from guide.job.figures import fill, lookup, places_of
from guide.job.recheck import due, open_steps
from guide.job.request import Request
from guide.job.state import State, Taken
from guide.procedure.model import Procedure, Reading, Step
from guide.quantity import LENGTH, Quantity, nearest
from guide.talk.say import written
from guide.talk.wording import Wording
from guide.talk.words import Expect, hear

_WORD = re.compile(r"[a-z0-9]+")
_IDLE = frozenset(
    [
        "the",
        "a",
        "an",
        "of",
        "for",
        "at",
        "in",
        "on",
        "to",
        "we",
        "get",
        "got",
        "did",
        "what",
        "is",
        "was",
        "it",
        "between",
        "how",
        "much",
        "out",
        "far",
    ]
)


@dataclass(frozen=True, slots=True)
class Spot:
    """A reading of a step at a place."""

    step: str
    place: str


class Answers:
    """Answers about one job as it stands."""

    def __init__(self, procedure: Procedure, state: State, wording: Wording) -> None:
        self.procedure = procedure
        self.state = state
        self.wording = wording

    def why(self, want: Request) -> str:
        """Why this is asked."""
        if want.want == "choice":
            return self.procedure.choices[want.name].why or self.wording.say("answer.choice-why")
        if want.want == "make-safe":
            return self.procedure.make_safe[want.name].why or self.wording.say("answer.no-why")
        step = self.procedure.steps.get(want.step)
        if step is None:
            return self.wording.say("answer.no-why")
        why = self._filled(step.why) or self.wording.say("answer.no-why")
        if self.state.steps[step.name].stale is not None:
            why = self.wording.say("answer.why-again") + " " + why
        return why

    def how(self, want: Request) -> str:
        """How it is done, or the reading taken."""
        step = self.procedure.steps.get(want.step)
        if step is None:
            return self.wording.say("answer.no-how")
        reading = self.procedure.readings[step.take] if step.take else None
        told = [self._filled(step.how), reading.how if reading else None]
        if reading is not None and reading.instrument:
            told.append(self.wording.say("answer.with", instrument=reading.instrument))
        if reading is not None and reading.sign is not None:
            told.append(self.wording.say("ask.sign", plus=reading.sign.plus, minus=reading.sign.minus))
        said = " ".join(part for part in told if part)
        return said or self.wording.say("answer.how-is-say", say=self._filled(step.say) or "")

    def mistake(self, want: Request) -> str:
        """The usual mistake."""
        step = self.procedure.steps.get(want.step)
        return (self._filled(step.mistake) if step else None) or self.wording.say("answer.no-mistake")

    def next(self, want: Request) -> str:
        """What comes after this: what is due again, then the next few steps."""
        again = [step.name for step in due(self.procedure, self.state) if step.name != want.step]
        coming = [step for step in open_steps(self.procedure, self.state) if step.name != want.step][:3]
        told = []
        if again:
            told.append(self.wording.say("answer.next-again", checks=self._names(again[:6])))
        if coming:
            words = " ".join(self._filled(step.say) or "" for step in coming[:1])
            told.append(self.wording.say("answer.next", say=words))
        if len(coming) > 1:
            told.append(self.wording.say("answer.after-that", steps=self._names([s.name for s in coming[1:]])))
        return " ".join(told) or self.wording.say("answer.nothing-left")

    def progress(self, want: Request) -> str:
        """How far along the job is."""
        active = [step for step in self.procedure.steps.values() if self.state.active(step)]
        done = sum(1 for step in active if self.state.steps[step.name].done)
        step = self.procedure.steps.get(want.step)
        told = self.wording.say("answer.progress", done=done, all=len(active))
        if step is not None:
            told = self.wording.say("answer.at", step=_spaced(step.name), part=step.part or "-") + " " + told
        stale = self.stale_names()
        return told + (" " + self.stale() if stale else "")

    def stale_names(self) -> list[str]:
        """Checks and steps due again, in order."""
        return [step.name for step in due(self.procedure, self.state)]

    def stale(self) -> str:
        """What has to be read or done again."""
        names = self.stale_names()
        if not names:
            return self.wording.say("answer.nothing-stale")
        return self.wording.say("answer.stale", checks=self._names(names), count=len(names))

    def tolerance(self, want: Request, words: str) -> str:
        """What is good here; `words` is the tolerance already put in words, or empty."""
        step = self.procedure.steps.get(want.step)
        if step is None or not words.strip():
            return self.wording.say("answer.no-tolerance")
        even = self.wording.say("answer.even", even=str(step.even.text)) if step.even is not None else ""
        return " ".join(part for part in (words.strip(), even) if part)

    def who(self) -> str:
        """Who speaks, and who else was named."""
        speaker = self.state.speaker
        told = self.wording.say("answer.who", name=speaker.name or "?")
        others = [
            self.wording.say("answer.who-else", name=p.name, role=p.role, proof=self.wording.say(f"proof.{p.proof}"))
            for p in self.state.people.values()
            if p.name != speaker.name
        ]
        return " ".join([told, *others])

    def who_leads(self) -> str:
        """Who was named as the lead, the last one first."""
        leads = [person for person in reversed(self.state.people.values()) if person.role == "lead"]
        if not leads:
            named = [taken.value for spot, taken in self._all() if self._takes_name(spot)]
            return (
                self.wording.say("answer.lead-named", name=named[-1]) if named else self.wording.say("answer.no-lead")
            )
        return self.wording.say("answer.lead", name=leads[0].name, proof=self.wording.say(f"proof.{leads[0].proof}"))

    def _takes_name(self, spot: Spot) -> bool:
        take = self.procedure.steps[spot.step].take
        return take is not None and self.procedure.readings[take].answer == "name" and "lead" in take

    def conceded(self) -> str:
        """What stands by a concession, who accepted it and why."""
        told = [
            self.wording.say("answer.conceded", check=_spaced(name), name=given.by.name, reason=given.reason)
            for name in self.state.concessions(self.procedure)
            if (given := self.state.steps[name].concession) is not None
        ]
        return " ".join(told) or self.wording.say("answer.nothing-conceded")

    def wait_left(self, now: datetime) -> str:
        """How long each wait still lasts."""
        waits = [
            self.wording.say("answer.wait", what=wait.what, minutes=max(0, -int((now - until).total_seconds() // 60)))
            for name, step in self.procedure.steps.items()
            if (until := self.state.steps[name].wait_until) is not None and (wait := step.wait) is not None
        ]
        return " ".join(waits) or self.wording.say("answer.no-wait")

    def what_did_we_get(self, thing: str) -> str:
        """The readings that the words name, as they stand."""
        spots = self.find(thing) if thing.strip() else self._meant()
        told = [self._reading_line(spot) for spot in spots]
        return " ".join(told) if told else self.wording.say("answer.no-such-reading", thing=thing)

    def _meant(self) -> list[Spot]:
        """What "that" means: the readings that are out and wait for a correction, else the last one."""
        last = self.latest()
        return self._out() or ([last] if last is not None else [])

    def _out(self) -> list[Spot]:
        return [
            Spot(name, place)
            for name, now in self.state.steps.items()
            if now.awaiting
            for place, taken in now.current.items()
            if taken.verdict == "out"
        ]

    def _lengths(self) -> list[Spot]:
        """Lengths taken, the last one last."""
        taken = [(t.seq, s) for s, t in self._all() if isinstance(t.value, Quantity) and t.value.dimension == LENGTH]
        return [spot for _, spot in sorted(taken, key=lambda pair: pair[0])]

    def latest(self) -> Spot | None:
        """The reading taken last."""
        taken = list(self._all())
        return max(taken, key=lambda pair: pair[1].seq)[0] if taken else None

    def _all(self) -> Iterator[tuple[Spot, Taken]]:
        for name, now in self.state.steps.items():
            for place, taken in now.last.items():
                yield Spot(name, place), taken

    def find(self, thing: str) -> list[Spot]:
        """Readings taken whose name, words or place the given words name best; empty if none do."""
        wanted = set(_WORD.findall(thing.lower())) - _IDLE
        scored = [(self._score(spot, wanted), spot) for spot, _ in self._all()]
        best = max((score for score, _ in scored), default=0)
        return [spot for score, spot in scored if score == best and score > 0]

    def _score(self, spot: Spot, wanted: set[str]) -> int:
        step = self.procedure.steps[spot.step]
        reading = self.procedure.readings[step.take or ""]
        words = set(_WORD.findall(f"{reading.name} {reading.ask} {spot.step}".replace("_", " ").lower()))
        place = set(_WORD.findall(spot.place.lower()))
        return 2 * len(wanted & words) + 2 * len(wanted & place)

    def _reading_line(self, spot: Spot) -> str:
        now = self.state.steps[spot.step]
        taken = now.last[spot.place]
        reading = self.procedure.readings[self.procedure.steps[spot.step].take or ""]
        key = "answer.reading-stale" if now.stale is not None else f"answer.reading-{taken.verdict}"
        what = f"{reading.ask}, {spot.place}" if spot.place else reading.ask
        return self.wording.say(key, what=what, value=self.value(reading, taken.value), time=f"{taken.at:%H:%M}")

    def value(self, reading: Reading, value: Value) -> str:
        """A value as it is shown."""
        if isinstance(value, Quantity):
            return written(value, reading.about, reading.sign)
        return reading.options.get(value, value)

    def converted(self, thing: str, metric: bool) -> str:
        """A reading, the last one if none is named, in millimetres or in inches."""
        given = hear(thing, Expect()) if thing.strip() else ()
        values: list[Value] = [meaning.value for said in given for meaning in said.meanings]
        if not values:
            spots = (self.find(thing) if thing.strip() else []) or self._out() or self._lengths()[-1:]
            values = [self.state.steps[spot.step].last[spot.place].value for spot in spots]
        told = []
        for value in values:
            if isinstance(value, Quantity) and value.dimension == LENGTH:
                there, exact = nearest(value, "mm", Fraction(1)) if metric else nearest(value, "in", Fraction(1, 16))
                key = "answer.is-exactly" if exact else "answer.is-about"
                told.append(self.wording.say(key, value=str(value), there=str(there)))
        return " ".join(told) or self.wording.say("answer.nothing-to-convert")

    def find_steps(self, thing: str) -> list[Step]:
        """Steps of this job that the words name best."""
        wanted = set(_WORD.findall(thing.lower())) - _IDLE
        if not wanted:
            return []
        scored = []
        for step in self.procedure.steps.values():
            words = set(_WORD.findall(step.name))
            if step.take:
                words |= set(_WORD.findall(step.take.replace("_", " ")))
            scored.append((2 * len(wanted & words) - (0 if wanted & words else 9) - len(words - wanted) / 10, step))
        best = max(score for score, _ in scored)
        return [step for score, step in scored if score == best and score > 0 and self.state.active(step)]

    def places(self, step: Step) -> tuple[str, ...]:
        """The places of the step's reading."""
        return places_of(self.procedure.readings[step.take]) if step.take else ()

    def _filled(self, text: str | None) -> str | None:
        return fill(text, lookup(self.procedure, self.state)) if text else None

    def _names(self, names: list[str]) -> str:
        return self.wording.join([_spaced(name) for name in names])


def _spaced(name: str) -> str:
    return name.replace("-", " ")
