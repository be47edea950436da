"""From words to a reading taken: meanings picked, sides asked for, surprises confirmed, corrections placed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from guide.job import commands as cmd
from guide.job.commands import Refusal
from guide.job.events import Heard, Value
from guide.job.figures import places_of
from guide.procedure.model import Reading
from guide.quantity import Quantity
from guide.session.asks import expect, likely_now, numbered
from guide.session.dialogues import Dialogues
from guide.session.forms import Values
from guide.session.job import Job
from guide.session.states import Desk, States
from guide.session.turns import Ask, Turn
from guide.talk.answers import Answers, Spot
from guide.talk.say import written
from guide.talk.words import Expect, Meaning, Said, hear, settle

_NAMING = {"the", "of", "at", "in", "for", "was", "is", "to", "should", "be", "reading", "last", "one", "that"}
"""Words that stand between a reading's name and its number."""
_TOO_MANY = {"why": "too-many-readings", "legal": []}


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A value on its way to being taken."""

    spot: Spot
    said: Said
    meaning: Meaning
    heard: Heard
    correction: bool


@dataclass(frozen=True, slots=True)
class Spoken:
    """How words came by voice: as they were heard, what else they could have been, how likely, how confirmed."""

    words: str
    others: tuple[str, ...] = ()
    confidence: str | None = None
    confirmed: Literal["", "yes", "choice"] = ""


class Readings:
    """Takes and corrects readings of one job in words."""

    def __init__(self, job: Job, dialogues: Dialogues, answers: Answers, desk: Desk) -> None:
        self.job = job
        self.dialogues = dialogues
        self.answers = answers
        self.desk = desk
        self.wording = job.wording
        self.spoken: Spoken | None = None
        """How the utterance came that is being taken, if it came by voice."""
        self.states = States(job, dialogues, desk)
        self._queue: list[tuple[Spot, Said, str, bool, Spoken | None]] = []

    def forget(self) -> None:
        """Drop what was heard but not yet taken."""
        self._queue.clear()

    def heard(self, step: str) -> Expect:
        """What the step expects, for the reader of words."""
        return expect(self.job.procedure, self.job.state, step)

    def take_words(self, text: str, by: str) -> list[Turn] | None:
        """Take the readings in an utterance; None if it is not wholly a reading."""
        want = self.job.wants
        found = hear(text, self.heard(want.step))
        if not found:
            return None
        self._queue = [(Spot(want.step, said.place or ""), said, by, False, self.spoken) for said in found]
        return self.go_on()

    def take_value(self, value: Value, said: str, by: str) -> list[Turn]:
        """Take an answer that is words: yes, no, an option, a name, free text."""
        want = self.job.wants
        heard = self.as_spoken(Heard(said, _by(by)))
        return self._decided(self.job.do(cmd.Take(want.step, want.place, value, heard)))

    def take_yes_no(self, text: str, by: str) -> list[Turn] | None:
        """Take yes or no, alone or by place; what else was said is kept as a note. None if it is neither."""
        return self.states.take(text, self.as_spoken(Heard(text, _by(by))))

    def go_on(self) -> list[Turn]:
        """Work off what was heard, until a question is open or nothing is left."""
        before = self.spoken
        try:
            return self._worked_off()
        finally:
            self.spoken = before

    def _worked_off(self) -> list[Turn]:
        turns: list[Turn] = []
        while self._queue:
            spot, said, by, correction, self.spoken = self._queue.pop(0)
            spot = self._placed(spot, correction)
            if not correction and (self.job.wants.want, self.job.wants.step) != ("reading", spot.step):
                self._queue.clear()
                return [*turns, Turn("refused", self.wording.say("reading.too-many", words=said.words), _TOO_MANY)]
            if said.without_number is not None and not said.meanings:
                turns += self._without_number(spot, said)
                continue
            meaning = settle(said, self.heard(spot.step))
            if meaning is None:
                turns += self._pick(spot, said, by, correction)
                return turns
            more, waits = self._with_side(_Candidate(spot, said, meaning, self._heard(said, meaning, by), correction))
            turns += more
            if waits:
                return turns
        return turns

    def _placed(self, spot: Spot, correction: bool) -> Spot:
        want = self.job.wants
        if spot.place or correction or want.step != spot.step:
            return spot
        return Spot(spot.step, want.place)

    def _reading(self, step: str) -> Reading:
        return self.job.procedure.readings[self.job.procedure.steps[step].take or ""]

    def _without_number(self, spot: Spot, said: Said) -> list[Turn]:
        """ "Good" is not a number: keep that it was said, and ask for the size once more."""
        noted = self.job.do(cmd.Note(said.words, spot.step))
        if isinstance(noted, Refusal):
            return self.desk.refuse(noted)
        return [Turn("say", self.wording.say("reading.need-size", words=said.without_number or said.words))]

    def _pick(self, spot: Spot, said: Said, by: str, correction: bool) -> list[Turn]:
        reading = self._reading(spot.step)
        options = tuple(_exact(meaning) for meaning in said.meanings[:3])
        labels = tuple(written(meaning.value, reading.about, reading.sign) for meaning in said.meanings[:3])
        text = self.wording.say("reading.which", words=said.words) + " " + numbered(labels, self.wording)
        ask = Ask(
            text, "choice", "meaning", spot.step, reading.name, spot.place or None, choices=options, labels=labels
        )

        as_heard = [self._heard(said, meaning, by) for meaning in said.meanings[:3]]

        def finish(values: Values) -> list[Turn]:
            picked = options.index(values["pick"])
            meaning, heard = said.meanings[picked], replace(as_heard[picked], confirmed="choice")
            turns, waits = self._with_side(_Candidate(spot, said, meaning, heard, correction))
            return turns if waits else turns + self.go_on()

        return self.desk.open_form(self.dialogues.pick(ask, finish))

    def _with_side(self, one: _Candidate) -> tuple[list[Turn], bool]:
        """Ask for the side if a signed reading came without; then go on to the number itself."""
        sign = self._reading(one.spot.step).sign
        if one.meaning.side != "missing" or sign is None:
            return self._sure(one)
        labels = (sign.plus, sign.minus)
        size = written(one.meaning.value)
        text = self.wording.say("reading.side", size=size) + " " + numbered(labels, self.wording)
        place = one.spot.place or None
        ask = Ask(text, "choice", "side", one.spot.step, None, place, choices=labels, labels=labels, value=size)

        def finish(values: Values) -> list[Turn]:
            value = one.meaning.value if values["pick"] == sign.plus else -one.meaning.value
            meaning = replace(one.meaning, value=value, side="said")
            sided = replace(one, meaning=meaning, heard=replace(one.heard, confirmed="side"))
            turns, waits = self._sure(sided)
            return turns if waits else turns + self.go_on()

        def read(text: str) -> str | None:
            """ "Left", "proud", "at the bottom": the size said again with its side."""
            for said in hear(f"{one.meaning.value} {text}", self.heard(one.spot.step)):
                for meaning in said.meanings:
                    if meaning.side == "said" and abs(meaning.value) == abs(one.meaning.value):
                        return sign.plus if meaning.value.magnitude > 0 else sign.minus
            return None

        return self.desk.open_form(self.dialogues.pick(ask, finish, read)), True

    def _sure(self, one: _Candidate) -> tuple[list[Turn], bool]:
        """Confirm a number said with "about", or one outside what is likely; then take it."""
        reading = self._reading(one.spot.step)
        likely = likely_now(self.job.procedure, self.job.state, reading)
        surprising = likely.beyond(one.meaning.value) is not None if _fits(one.meaning.value, reading) else False
        if not surprising and not one.heard.unsure:
            return self._take(one, False), False
        shown = written(one.meaning.value, reading.about, reading.sign)
        if surprising:
            text = self.wording.say(
                "reading.surprising", value=shown, low=written_end(likely.low), high=written_end(likely.high)
            )
        else:
            text = self.wording.say("reading.unsure", value=shown)

        def finish(values: Values) -> list[Turn]:
            if values["yes"] == "no":
                return [Turn("say", self.wording.say("reading.dropped")), *self.go_on()]
            return self._take(replace(one, heard=replace(one.heard, confirmed="yes")), surprising) + self.go_on()

        form = self.dialogues.confirm(one.spot.step, text, finish, _exact(one.meaning), one.spot.place or None)
        return self.desk.open_form(form), True

    def _take(self, one: _Candidate, surprising: bool) -> list[Turn]:
        make = cmd.Correct if one.correction else cmd.Take
        command = make(one.spot.step, one.spot.place, one.meaning.value, one.heard, surprising)
        return self._decided(self.job.do(command))

    def _decided(self, outcome: list[Turn] | Refusal) -> list[Turn]:
        return self.desk.refuse(outcome) if isinstance(outcome, Refusal) else outcome

    def is_reading(self, spot: Spot, text: str) -> bool:
        """Whether the words are one reading, such as could be taken at a place."""
        found = hear(text, self.heard(spot.step))
        return len(found) == 1 and bool(found[0].meanings)

    def take_again(self, spot: Spot, text: str, by: str) -> list[Turn]:
        """A reading taken a second time: another value corrects the first, the same one is kept as a note."""
        want = self.heard(spot.step)
        said = hear(text, want)[0]
        meaning, old = settle(said, want), self.job.state.steps[spot.step].last[spot.place].value
        if meaning is None or not isinstance(old, Quantity) or meaning.value not in (old, _sideless(meaning, old)):
            self._queue = [(spot, said, by, True, self.spoken)]
            return self.go_on()
        reading = self._reading(spot.step)
        what = self.wording.say("ask.at-place", ask=reading.ask, place=spot.place) if spot.place else reading.ask
        text = self.wording.say("opening.same", what=what, value=written(old, reading.about, reading.sign))
        noted = self._decided(self.job.do(cmd.Note(text, spot.step)))
        return [Turn("say", text), *(turn for turn in noted if turn.kind == "refused")]

    def correct_words(self, text: str, by: str) -> list[Turn]:
        """ "No, make that 74 3/8", "the middle one was a quarter", "the top width to 74": place it, then correct."""
        last = self.answers.latest()
        if last is None:
            return [Turn("refused", self.wording.say("refused.nothing-to-correct"), {"why": "nothing-to-correct"})]
        for spot in self._aims(text, last):
            said = self._corrected(spot, text)
            if said is not None:
                self._queue = [(spot, said, by, True, self.spoken)]
                return self.go_on()
        words = self._words_corrected(last, text, by)
        if words is not None:
            return words
        example = self.wording.say("reading.correct-how")
        return [Turn("refused", example, {"why": "correction-not-understood", "legal": []})]

    def _aims(self, text: str, last: Spot) -> list[Spot]:
        """Readings the correction may mean: one it names, the place it names in the last step, else the last one."""
        named = [spot for spot in self.answers.find(text) if spot != last]
        return [*(named if len(named) == 1 else []), *(self._same_step(text, last) or [last])]

    def _same_step(self, text: str, last: Spot) -> list[Spot]:
        low = text.lower()
        reading = self._reading(last.step)
        hits = [place for place in places_of(reading) if place and place.lower() in low]
        return [Spot(last.step, max(hits, key=len))] if hits else []

    def _corrected(self, spot: Spot, text: str) -> Said | None:
        """The number in a correction, as the named reading would take it; a bare fraction may keep the whole part."""
        if spot.place not in self.job.state.steps[spot.step].last:
            return None
        want = self.heard(spot.step)
        found = [heard for part in self._parts(spot, text) if (heard := hear(part, want))]
        if not found or len(found[0]) != 1:
            return None
        said = found[0][0]
        old = self.job.state.steps[spot.step].last[spot.place].value
        if isinstance(old, Quantity) and abs(old) >= Quantity(old.magnitude * 0 + 1, old.unit):
            whole = Quantity(Fraction(abs(old.magnitude) // 1), old.unit)
            kept = tuple(
                replace(meaning, value=whole + meaning.value)
                for meaning in said.meanings
                if not meaning.unit_given and 0 < meaning.value.magnitude < 1 and meaning.value.unit == old.unit
            )
            usual, rest = said.meanings[: said.usual], said.meanings[said.usual :]
            said = replace(said, meanings=(*usual, *kept, *rest), usual=len(usual) + len(kept))
        return said

    def _parts(self, spot: Spot, text: str) -> Iterator[str]:
        """The correction, and what is left of it without the words that only name the reading."""
        reading = self._reading(spot.step)
        naming = _NAMING | set(
            f"{reading.ask} {reading.name} {spot.step}".lower().replace("_", " ").replace("-", " ").split()
        )
        yield text
        yield " ".join(word for word in text.split() if word.lower().strip(",:;") not in naming)

    def _words_corrected(self, last: Spot, text: str, by: str) -> list[Turn] | None:
        reading = self._reading(last.step)
        if reading.answer == "number":
            return None
        heard = self.as_spoken(Heard(text, _by(by)))
        if reading.answer == "yes-no":
            return self.states.correct(last.step, last.place, text, heard)
        value = self.word_value(reading, text)
        if value is None:
            return None
        return self._decided(self.job.do(cmd.Correct(last.step, last.place, value, heard)))

    def _heard(self, said: Said, meaning: Meaning, by: str) -> Heard:
        others = tuple(_exact(other) for other in said.meanings if other != meaning)
        return self.as_spoken(Heard(said.words, _by(by), meaning.hair, meaning.unsure, others))

    def as_spoken(self, heard: Heard) -> Heard:
        """What is kept of how a value was given: by voice, what the ear heard and what it was unsure of."""
        if self.spoken is None:
            return heard
        return replace(
            heard,
            by="voice",
            said=self.spoken.words,
            others=(*self.spoken.others, *heard.others),
            confidence=self.spoken.confidence,
            confirmed=self.spoken.confirmed or heard.confirmed,
        )

    def word_value(self, reading: Reading, text: str) -> str | None:
        """An answer in words as the reading keeps it, or None if it does not fit."""
        plain = text.strip().strip(".!").lower()
        if reading.answer == "choice":
            for number, (option, label) in enumerate(reading.options.items(), 1):
                if plain in (option.lower(), label.lower(), str(number)):
                    return option
            return None
        return text.strip() or None


def written_end(limit: Quantity | None) -> str:
    """One end of a range, or what stands for an open end."""
    return written(limit) if limit is not None else "…"


def _fits(value: Quantity, reading: Reading) -> bool:
    return value.dimension == Quantity(value.magnitude * 0, reading.unit).dimension


def _sideless(meaning: Meaning, old: Quantity) -> Quantity:
    """The size alone, for a value said again without its side."""
    return abs(old) if meaning.side == "missing" else old


def _exact(meaning: Meaning) -> str:
    return str(meaning.value)


def _by(by: str) -> Literal["typed", "voice", "touch"]:
    return "voice" if by == "voice" else "touch" if by == "touch" else "typed"
