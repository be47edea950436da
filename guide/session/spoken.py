"""A conversation by voice and keyboard together: what the ears heard becomes what is taken, asked, or left alone.

A reading by voice is provisional: it is said back, and the next words confirm or correct it. It takes an explicit yes
where a mishearing would do harm: when the reading is out, when it corrects another, and whenever the ears are in doubt.
What was only heard in part is never taken. The keyboard is always there.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from guide.job.figures import verdict
from guide.session.asks import limits_now, numbered
from guide.session.core import Session
from guide.session.forms import Values
from guide.session.intents import PUTS_RIGHT
from guide.session.opening import TAKE_AGAIN
from guide.session.readings import Spoken
from guide.session.sayable import choice_answers
from guide.session.turns import Ask, Turn
from guide.talk.answered import answered, told
from guide.talk.expect import Expect
from guide.talk.understand import understand
from guide.talk.words import hear
from guide.voice.agree import agreed
from guide.voice.decide import Decision
from guide.voice.hearing import Amount, Heard, Hearing

NONE = "none"
OTHERS_MOST = 5
MISSES = 2
"""Times that something is to be said again before it is to be typed."""
_HURT = "hurt"
_ASKED_ANYHOW = frozenset({"unsure", "unlikely", "side"})
"""Doubts that the conversation asks about whoever gave the reading: "about", a surprise, which side."""


class SpokenSession(Session):
    """A session that hears. `heard` never raises for anything that ears can hand over."""

    _misses = 0

    def expecting(self) -> tuple[Expect | None, dict[str, tuple[str, ...]]]:
        """What the ears are told: the reading that is asked for, or a choice's number; and the names in this job."""
        lists = {
            "name": tuple(self.job.state.people),
            "state": tuple(self.job.procedure.watchers),
            "step": tuple(self.name(step) for step in self.job.procedure.steps),
        }
        ask = self.asking.last
        if ask is None or ask.secret or self.over:
            return None, lists
        if ask.expects == "choice":
            return Expect(answers=choice_answers(ask)), lists
        asked = self.form is None or self._rereads
        if asked and ask.expects == "number" and ask.step is not None:
            return self.readings.heard(ask.step), lists
        if self.form is None and ask.expects == "yes-no" and ask.about == "reading":
            return Expect(states=True, places=self._places(ask)), lists
        return None, lists

    def _places(self, ask: Ask) -> tuple[str, ...]:
        """The places of the reading that is asked for."""
        return self.job.procedure.readings[ask.reading].places if ask.reading else ()

    @property
    def _rereads(self) -> bool:
        """Whether a small dialogue is open that asks for a reading once more."""
        return self.form is not None and self.form.kind == TAKE_AGAIN

    def heard(self, by: Sequence[Heard], cut: bool = False) -> tuple[str, list[Turn]]:
        """The words as they are shown, and everything said in answer; nothing for what was not meant for the guide."""
        expect, _ = self.expecting()
        decision = agreed(by, expect)
        first = decision.hearing
        if first is None or decision.outcome == "none":
            return "", []
        alarm = first.urgent and decision.outcome in ("command", "asked")
        if self.secret and not alarm:
            return first.words, [self._refused("voice.secret"), *self.asking.now(self.form)]
        if (cut or by[0].cut_off) and not alarm:
            return first.words, self._again("voice.cut")
        return first.words, self._safely(lambda: self._answer(decision, first))

    def _answer(self, decision: Decision, first: Hearing) -> list[Turn]:
        if first.kind == "command":
            return self._command(decision, first)
        if first.kind == "answer":
            return self._answered(decision, first)
        if self._by_itself(decision):
            return self._reread(first, _spoken(decision)) if self._rereads else self._taken(first, _spoken(decision))
        if decision.outcome == "asked" and decision.choices and not self._rereads:
            return self._which(decision)
        return self._again()

    def _by_itself(self, decision: Decision) -> bool:
        """Whether it is taken, or has no doubt but those that are asked about at the keyboard too."""
        if decision.outcome == "taken":
            return True
        return decision.outcome == "asked" and set(decision.doubts) <= _ASKED_ANYHOW and not self._rereads

    def _answered(self, decision: Decision, first: Hearing) -> list[Turn]:
        """A choice, or whether a thing works; what may be of two places is asked about by who takes it."""
        ask = self.asking.last
        places = self._places(ask) if ask is not None else ()
        several = len(places) > 1 and len(answered(first.words, places)) > 1
        if decision.outcome == "taken" or (several and decision.doubts == ("ambiguous",) and self.form is None):
            choice = ask is not None and ask.expects == "choice"
            return self._said(first, (choice and first.answer) or first.words)
        if decision.outcome != "asked" or self.form is not None:
            return self._again()
        if len(decision.choices) > 1 and any(one.by_place for one in decision.choices):
            return self._which(decision)
        if first.by_place or (len(places) > 1 and not several):
            value = told(first.by_place or (((ask and ask.place) or "", first.answer or ""),))
            return self._sure(decision, self.wording.say("voice.sure-again", value=value))
        return self._sure(decision, self.wording.say("voice.sure-command", words=first.words))

    def _sure(self, decision: Decision, text: str) -> list[Turn]:
        """Take an answer's words if the crew says that they are right."""
        how = replace(_spoken(decision), confirmed="yes")
        return self._confirm(text, lambda: self._done(how, how.words))

    # Commands

    def _command(self, decision: Decision, first: Hearing) -> list[Turn]:
        if first.urgent:
            return self._urgent(decision, first)
        if self.form is not None and first.command in ("yes", "no") and decision.outcome == "asked":
            return self._again("voice.yes-or-no")
        if decision.outcome == "command" and first.command not in PUTS_RIGHT:
            return self._said(first, first.words)
        if decision.outcome not in ("command", "asked"):
            return self._again()
        if self.form is not None:
            return self._again()
        text = self.wording.say("voice.sure-command", words=first.words)
        how = Spoken(first.words, (), _likelihood(first), "yes")
        return self._confirm(text, lambda: self._done(how, first.words))

    def _urgent(self, decision: Decision, first: Hearing) -> list[Turn]:
        """Somebody is hurt, or stop: done at once if it is sure or cried again, else asked about before all else."""
        if decision.outcome == "command" or (self.form is not None and self.form.kind == first.command):
            return self._said(first, first.words)
        how = Spoken(first.words, (), _likelihood(first), "yes")
        hurt = first.command == _HURT
        text = self.wording.say("voice.sure-hurt" if hurt else "voice.sure-command", words=first.words)
        turns = self._confirm(text, lambda: self._cried(how, first.words) if hurt else self._done(how, first.words))
        if self.form is not None:
            self.form.kind = first.command or ""
        return turns

    def _cried(self, how: Spoken, words: str) -> list[Turn]:
        self.drop_form()
        return self._as(how, lambda: self._hurt(words, ask=False))

    def _said(self, first: Hearing, text: str) -> list[Turn]:
        """The words handed to the conversation, with how they were heard."""
        return self._as(Spoken(first.words, (), _likelihood(first)), lambda: self._hear(text, "voice"))

    def _done(self, how: Spoken, text: str) -> list[Turn]:
        """What was confirmed or picked, done; what is asked next is told by who asked."""
        known = {"name": tuple(self.job.state.people)}
        return self._as(how, lambda: self._in_job(text, understand(text, self.phrases, known), "voice"))

    def _as(self, how: Spoken, act: Callable[[], list[Turn]]) -> list[Turn]:
        self._misses = 0
        self.readings.spoken = how
        try:
            return act()
        finally:
            self.readings.spoken = None

    # Readings

    def _taken(self, first: Hearing, how: Spoken) -> list[Turn]:
        """Take it; with an explicit yes if it is out of its tolerance."""
        asked = not first.likely or any(one.unsure for one in first.amounts)  # once is enough
        if asked or not self._is_out(first):
            return self._as(how, lambda: self._hear(_told(first), "voice"))
        text = self.wording.say("voice.sure-out", value=_told(first))
        return self._confirm(text, lambda: self._done(replace(how, confirmed="yes"), _told(first)), first)

    def _reread(self, first: Hearing, how: Spoken) -> list[Turn]:
        """Take the reading that was asked for once more, with an explicit yes: it may correct the first."""
        text, known = _told(first), {"name": tuple(self.job.state.people)}
        sure = replace(how, confirmed="yes")
        return self._confirm(
            self.wording.say("voice.sure-again", value=text),
            lambda: self._as(sure, lambda: self._in_form(text, understand(text, self.phrases, known))),
            first,
        )

    def _is_out(self, hearing: Hearing) -> bool:
        """Whether any of the readings would be out, on whichever side it may lie."""
        step = self.job.procedure.steps[self.job.wants.step]
        reading = self.job.procedure.readings[step.take or ""]
        within = limits_now(self.job.procedure, self.job.state, step.name)
        for said in hear(_told(hearing), self.readings.heard(step.name)):
            for meaning in said.meanings:
                values = (meaning.value, -meaning.value) if meaning.side == "missing" else (meaning.value,)
                hair = max((one.hair for one in hearing.amounts), key=abs, default=0)
                if all(verdict(reading, True, value, within, hair) == "out" for value in values):
                    return True
        return False

    def _which(self, decision: Decision) -> list[Turn]:
        """Which of these: numbered, said and shown."""
        how = _spoken(decision)
        labels = (*(_told(one) for one in decision.choices), self.wording.say("voice.none"))
        options = (*labels[:-1], NONE)
        text = self.wording.say("voice.which") + " " + numbered(labels, self.wording)
        want = self.job.wants
        ask = Ask(text, "choice", "heard", want.step, want.reading, want.place or None, choices=options, labels=labels)

        def finish(values: Values) -> list[Turn]:
            if values["pick"] == NONE:
                return [self._missed()]
            others = tuple(one for one in (*options[:-1], *how.others) if one != values["pick"])
            picked = replace(how, confirmed="choice", others=tuple(dict.fromkeys(others))[:OTHERS_MOST])
            return self._done(picked, values["pick"])

        return self.open_form(self.dialogues.pick(ask, finish)) + self._advance()

    def _confirm(self, text: str, then: Callable[[], list[Turn]], reading: Hearing | None = None) -> list[Turn]:
        before = self.form

        def finish(values: Values) -> list[Turn]:
            self.form = before
            return then() if values["yes"] == "yes" else [self._missed()]

        value = reading.amounts[0].value if reading is not None and len(reading.amounts) == 1 else None
        return self.open_form(self.dialogues.confirm(self.job.wants.step, text, finish, value)) + self._advance()

    # Not understood

    def _again(self, key: str = "voice.again") -> list[Turn]:
        return [self._missed(key), *self.asking.now(self.form)]

    def _missed(self, key: str = "voice.again") -> Turn:
        """Another way each time, for saying it louder does not help; at last the keyboard."""
        self._misses += 1
        return self._refused(key if self._misses < MISSES else "voice.type")

    def _refused(self, key: str) -> Turn:
        return Turn("refused", self.wording.say(key), {"why": "not-heard", "legal": []})


def _spoken(decision: Decision) -> Spoken:
    """How the first hearing came, with the others that it could have been."""
    first = decision.hearing
    assert first is not None
    others = (_told(one) for one in decision.choices if one != first)
    return Spoken(first.words, tuple(others)[:OTHERS_MOST], _likelihood(first))


def _told(hearing: Hearing) -> str:
    """Readings as they are told, and handed to the conversation: with the hair that was said over or under.

    Yes and no by place; of any other answer the words.
    """
    if hearing.kind != "reading":
        return told(hearing.by_place) or hearing.words
    return "; ".join(_amount(one) for one in hearing.amounts)


def _amount(amount: Amount) -> str:
    size, comma, side = amount.value.partition(",")
    hair = {1: " strong", -1: " shy"}.get(amount.hair, "")
    about = "about " if amount.unsure else ""
    told = f"{about}{size}{hair}{comma}{side}"
    return f"{amount.place} {told}" if amount.place else told


def _likelihood(hearing: Hearing) -> str:
    """How likely the hearing is among all it may have been, in hundredths rounded down."""
    return f"{int(hearing.probability * 100) / 100:.2f}"
