"""A session and what was said on it: words in, turns and the view (`guide.session.view`) out.

A bounded part of the conversation is kept to be shown; the record has all of it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from guide.job.recheck import due
from guide.procedure.model import Reading
from guide.quantity import Quantity, QuantityError, quantity
from guide.session.asks import limits_now, moves_left, step_words, tolerance_words
from guide.session.core import Session
from guide.session.keypad import Key, Keypad, keypad
from guide.session.spots import Mark, mark_of_move, mark_of_reading, outline
from guide.session.turns import Ask, Turn
from guide.session.view import Ear, EarState, Line, Pinned, Progress, Stale, Tone, Understood, View
from guide.talk.say import written
from guide.talk.words import hear, settle

KEPT = 500
"""Turns of the conversation that are kept to be shown; the record has them all."""
HIDDEN = "•••"
SHOWN = 200
"""Characters of one utterance that are kept to be shown."""

_EAR_WORDS: Mapping[EarState, str] = {
    "off": "view.ear-off",
    "listening": "view.ear-listening",
    "speaking": "view.ear-speaking",
    "trouble": "view.ear-trouble",
}
_ENDS_TROUBLE: Mapping[str, frozenset[str]] = {
    "voice.ear-up": frozenset({"voice.ear-restarting", "voice.ear-down"}),
    "voice.plugged": frozenset({"voice.unplugged"}),
    "voice.mouth-up": frozenset({"voice.mouth-restarting", "voice.mouth-down"}),
}
"""Banner -> those that it ends."""
_DEAF = frozenset({"voice.ear-missing", "voice.ear-restarting", "voice.ear-down", "voice.unplugged"})


class Conversation:
    """A session with what was said on it: words in, the view out."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.wording = session.wording
        self._lines: deque[Line] = deque(maxlen=KEPT)
        self._said = 0
        self._reading: Understood | None = None
        self._why: dict[str, str] = {}
        self._advice = ""
        self._banners: dict[str, str] = {}
        self._listens = False
        self._heard = self._made = ""
        self._asked: tuple[object, ...] = ()
        self._number = 0
        self._answer = 0
        self._outline = outline(session.job.procedure)

    def hear(self, text: str, by: str = "typed") -> list[Turn]:
        """One utterance, kept as shown, and what was answered."""
        self.said(text, by)
        turns = self.session.hear(text, by)
        self.turns(turns)
        return turns

    def said(self, text: str, by: str = "typed") -> None:
        """Words that are about to be heard; what is not to be shown is not, and silence is not worth a line."""
        if text.strip():
            shown = text if len(text) <= SHOWN else text[:SHOWN] + "…"
            self.crew(HIDDEN if self.session.secret else shown, by)

    def crew(self, line: str, by: str = "typed") -> None:
        """The crew said this."""
        self._add("crew", line, by=by)
        self._heard, self._made = (line, "") if by == "voice" else ("", "")

    def turns(self, turns: Iterable[Turn]) -> None:
        """The guide said this."""
        answer = 0
        for turn in turns:
            banner = turn.data.get("banner")
            if isinstance(banner, str):
                self._banner(banner, turn.text)
            else:
                self._told(turn)
            self._add(turn.kind, turn.text, _tone(turn))
            if turn.kind in ("say", "refused") and not _tone(turn):
                answer = self._said
        self._answer = answer or self._answer
        ask = self.session.asking.last
        asked = (self.session.job.wants, ask.about if ask else "", ask.text if ask else "")
        if asked != self._asked:
            self._asked = asked
            self._number += 1
            self._answer = 0

    def listens(self) -> None:
        """There is an ear from now on."""
        self._listens = True

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines of the view: what is kept of what was said."""
        return tuple(self._lines)

    def view(self, speaking: bool = False) -> View:
        """The view as things stand; `speaking` while the mouth is."""
        ask, session = self.session.asking.last, self.session
        if session.over:
            ask = None
        secret = ask is not None and ask.secret
        return View(
            title=session.job.procedure.title,
            lines=self.lines,
            request=self._pinned(ask),
            keypad=self._keypad(ask),
            helps=self._helps(),
            reading=self._as_understood(ask),
            stale=tuple(self._stale()),
            progress=self._progress(),
            crew=self._crew(ask),
            cautions=self._cautions(ask),
            ear=self.ear(speaking),
            banner=" ".join(self._banners.values()),
            hint=self._hint(ask),
            answer=self._answer,
            secret=secret,
            over=session.over,
        )

    def ear(self, speaking: bool = False) -> Ear:
        """The ear as things stand."""
        state: EarState = "off"
        if self._listens:
            deaf = any(key in _DEAF for key in self._banners)
            state = "trouble" if deaf else "speaking" if speaking else "listening"
        return Ear(state, self.wording.say(_EAR_WORDS[state]), self._heard, self._made)

    def preview(self, text: str) -> Understood | None:
        """What a reading being typed would be understood as, so far; None if it is none, or more than one."""
        ask = self.session.asking.last
        if ask is None or ask.expects != "number" or ask.step is None or ask.about != "reading":
            return None
        expects = self.session.readings.heard(ask.step)
        said = hear(text, expects)
        meaning = settle(said[0], expects) if len(said) == 1 else None
        if meaning is None:
            return None
        place = said[0].place or ask.place or ""
        return self._figure(meaning.value, self._reading_of(ask), place)

    # What was said

    def _add(self, kind: str, text: str, tone: Tone = "", by: str = "") -> None:
        self._said += 1
        self._lines.append(Line(self._said, kind, text, tone, by))

    def _banner(self, key: str, text: str) -> None:
        for ended in _ENDS_TROUBLE.get(key, ()):
            self._banners.pop(ended, None)
        if key not in _ENDS_TROUBLE:
            self._banners[key] = text

    def _told(self, turn: Turn) -> None:
        if self._heard and not self._made:
            self._made = turn.text
        if turn.kind == "accepted":
            self._accepted(turn.data)
        elif turn.kind == "stale":
            checks = turn.data["checks"]
            states = turn.data["states"]
            assert isinstance(checks, list) and isinstance(states, list)
            names = self.session.job.procedure.states
            what = self.wording.join([names.get(state, state) for state in states])
            self._why.update(dict.fromkeys(checks, what))
        elif turn.kind == "advice":
            self._advice = turn.text

    def _accepted(self, data: Mapping[str, object]) -> None:
        reading = self.session.job.procedure.readings[str(data["reading"])]
        value = _amount(str(data["value"])) if reading.answer == "number" else None
        if value is None:
            self._reading = None
            return
        verdict = str(data.get("verdict", "good"))
        figure = self._figure(value, reading, str(data["place"] or ""))
        self._reading = replace(figure, verdict=verdict, words=self.wording.say(f"verdict.{verdict}"))

    def _figure(self, value: Quantity, reading: Reading | None, place: str) -> Understood:
        shown = abs(value) if reading is not None and reading.sign is not None else value
        number, _, unit = str(shown).partition(" ") if "/" not in str(shown) else ("", "", shown.unit)
        whole, part = number, ""
        if not number:
            digits = str(shown).removesuffix(shown.unit).strip()
            whole, _, part = digits.rpartition(" ")
        text = written(value, reading.about, reading.sign) if reading is not None else str(value)
        return Understood(text, whole, part, unit, place)

    # The view's parts

    def _as_understood(self, ask: Ask | None) -> Understood | None:
        """What is to be confirmed or moved, else the last reading."""
        if ask is not None and ask.move is not None:
            by = self._figure(quantity(str(ask.move["by"])), None, str(ask.move["point"]))
            return replace(by, verdict="move", words=str(ask.move["direction"]))
        if ask is None or ask.value is None:
            return self._reading
        value = _amount(ask.value.partition(",")[0])
        if value is None:
            return None
        figure = self._figure(value, None, ask.place or "")
        return replace(figure, text=ask.value, verdict="asked", words=self.wording.say("view.is-it"))

    def _reading_of(self, ask: Ask | None) -> Reading | None:
        return self.session.job.procedure.readings.get(ask.reading) if ask is not None and ask.reading else None

    def _pinned(self, ask: Ask | None) -> Pinned:
        want = self.session.job.wants
        if ask is None:
            last = self._lines[-1].text if self._lines else ""
            kind = "over" if self.session.over else want.want
            return Pinned(kind, last, step=want.step, number=self._number)
        reading = self._reading_of(ask)
        headline, details = self._words(ask, reading)
        marks: tuple[Mark, ...] = ()
        if ask.move is not None:
            marks = mark_of_move(str(ask.move["point"]))
        elif reading is not None:
            marks = mark_of_reading(reading, ask.place or "", self._hinges())
        return Pinned(
            ask.about,
            headline,
            tuple(detail.strip() for detail in details if detail.strip()),
            ask.step or "",
            ask.place or "",
            ask.expects,
            dict(ask.move) if ask.move is not None else None,
            self._outline if marks else "",
            marks if self._outline else (),
            self._number,
        )

    def _words(self, ask: Ask, reading: Reading | None) -> tuple[str, list[str]]:
        """The headline and the details of a request."""
        say, job = self.wording.say, self.session.job
        step = job.procedure.steps.get(ask.step or "")
        people = self._crew(ask)
        if ask.about == "reading" and reading is not None and step is not None:
            details = [say("view.with", instrument=reading.instrument) if reading.instrument else ""]
            if ask.expects == "number":
                details.append(tolerance_words(limits_now(job.procedure, job.state, step.name), self.wording))
            if ask.even is not None:
                details.append(say("ask.even", even=ask.even))
            return self._question(ask), [*details, ask.sign or "", people]
        if ask.about == "move" and step is not None:
            move = moves_left(job.procedure, job.state, step.name)[0].say
            return move, [ask.text.removeprefix(move), people]
        if ask.about in ("done", "cautions") and step is not None:
            return step_words(job.procedure, job.state, step.name), [ask.text, people]
        if ask.about == "adjust" and self._advice:
            return self._advice, [ask.text, people]
        return self._question(ask), [people if ask.about != "crew" else ""]

    def _question(self, ask: Ask) -> str:
        """The request's words up to the numbered choices and the tolerance, which are shown by themselves."""
        text = ask.text
        if ask.labels:
            text = text.partition(f" {self.wording.say('ask.numbered', number=1, label=ask.labels[0])}")[0]
        elif ask.about == "reading" and ask.expects == "number":
            text = text.partition("?")[0] + "?"
        return text

    def _hinges(self) -> str:
        """The side that a single leaf hangs on, seen from inside, once it is known."""
        procedure, state = self.session.job.procedure, self.session.job.state
        named = [one.moves.hinges for one in procedure.together.values() if one.moves is not None]
        takers = [name for name, step in procedure.steps.items() if step.take is not None and step.take in named]
        return next((str(taken.value) for name in takers for taken in state.steps[name].last.values()), "")

    def _keypad(self, ask: Ask | None) -> Keypad:
        if self.session.over:
            return Keypad("none", ((Key(self.wording.say("keys.leave"), "send"),),))
        reading = self._reading_of(ask)
        sign = reading.sign if reading is not None else None
        short = None
        if sign is not None:
            short = (sign.toward[0] if sign.toward else sign.plus, sign.away[0] if sign.away else sign.minus)
        return keypad(ask, short, self._people(), self.wording)

    def _people(self) -> Iterable[str]:
        """Everybody named in this job so far."""
        procedure, state = self.session.job.procedure, self.session.job.state
        named = [
            str(taken.value)
            for name, step in procedure.steps.items()
            if step.take is not None and procedure.readings[step.take].answer == "name"
            for taken in state.steps[name].last.values()
        ]
        return dict.fromkeys(name for name in (state.speaker.name, *state.people, *named) if name)

    def _helps(self) -> tuple[Key, ...]:
        if self.session.over:
            return ()
        say = self.wording.say
        return (
            Key(say("keys.why"), "say", "why"),
            Key(say("keys.how"), "say", "how"),
            Key(say("keys.repeat"), "say", "repeat"),
            Key(say("keys.undo"), "say", "undo"),
            Key(say("keys.stop"), "say", "stop"),
        )

    def _stale(self) -> Iterator[Stale]:
        """What is due again, by what was moved; why is not known of what went stale before this conversation."""
        names: dict[str, list[str]] = {}
        for step in due(self.session.job.procedure, self.session.job.state):
            names.setdefault(self._why.get(step.name, ""), []).append(step.name)
        for what, checks in names.items():
            told = self.session.job.teller.names_of(checks)
            key = "view.stale-moved" if what else "view.stale"
            yield Stale(self.wording.say(key, count=len(checks), what=what, checks=told), tuple(checks))

    def _progress(self) -> Progress:
        procedure, state = self.session.job.procedure, self.session.job.state
        active = [step for step in procedure.steps.values() if state.active(step)]
        done = sum(1 for step in active if state.steps[step.name].done)
        here = procedure.steps.get(self.session.job.wants.step)
        text = self.wording.say("view.progress", done=done, all=len(active))
        return Progress(done, len(active), here.part if here is not None else "", text)

    def _crew(self, ask: Ask | None) -> str:
        """Who must be there for what is asked: how many, or who looks."""
        step = self.session.job.procedure.steps.get((ask.step if ask is not None else None) or "")
        if step is None:
            return ""
        told = [self.wording.say("view.crew", count=step.crew)] if step.crew > 1 else []
        if step.hold is not None:
            told.append(self.wording.say("view.hold", role=step.hold.by))
        return " ".join(told)

    def _cautions(self, ask: Ask | None) -> tuple[str, ...]:
        step = self.session.job.procedure.steps.get((ask.step if ask is not None else None) or "")
        if ask is None or step is None or ask.about != "cautions":
            return ()
        return tuple(self.session.job.procedure.cautions[name] for name in step.cautions)

    def _hint(self, ask: Ask | None) -> str:
        if self.session.over:
            return self.wording.say("view.over")
        if self._heard:
            return self.wording.say("view.heard", words=self._heard, made=self._made)
        if self._listens and ask is not None and not ask.secret:
            return self.wording.say("view.say-or-type")
        return self.wording.say("view.type")


def _amount(value: str) -> Quantity | None:
    try:
        return quantity(value)
    except QuantityError:
        return None


def _tone(turn: Turn) -> Tone:
    if "banner" in turn.data:
        return "banner"
    if turn.kind == "say" and "caution" in turn.data:
        return "caution"
    if turn.kind == "say" and "part" in turn.data:
        return "part"
    return "out" if turn.kind == "accepted" and turn.data.get("verdict") == "out" else ""
