"""A conversation by voice and keyboard together: what the ears heard becomes what is taken, asked, or left alone.

A reading by voice is provisional: it is said back, and the next words confirm or correct it. It takes an explicit yes
where a mishearing would do harm: when the reading is out, when it corrects another, and whenever the ears are in doubt.
What was only heard in part is never taken. The keyboard is always there.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from guide.job.figures import verdict
from guide.quantity import inches
from guide.session.asks import limits_now, numbered
from guide.session.core import Session
from guide.session.forms import Values
from guide.session.opening import TAKE_AGAIN
from guide.session.readings import Spoken
from guide.session.turns import Ask, Turn
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
_PUTS_RIGHT = frozenset({"correct", "change"})
_ALARM = "hurt"
_NO_MATTER = frozenset({"unlikely", "side", "cut-off"})
"""Doubts about a reading that are none about a choice's number: nothing goes on behind that."""


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
            return Expect(likely_low=inches(1), likely_high=inches(max(1, len(ask.choices)))), lists
        asked = self.form is None or self._rereads
        if asked and ask.expects == "number" and ask.step is not None:
            return self.readings.heard(ask.step), lists
        return None, lists

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
        alarm = first.kind == "command" and first.command == _ALARM and decision.outcome == "command"
        if self.secret and not alarm:
            return first.words, [self._refused("voice.secret"), *self.asking.now(self.form)]
        if (cut or by[0].cut_off) and not alarm:
            return first.words, self._again("voice.cut")
        return first.words, self._safely(lambda: self._answer(decision, first))

    def _answer(self, decision: Decision, first: Hearing) -> list[Turn]:
        ask = self.asking.last
        if first.kind == "command":
            return self._command(decision, first)
        if ask is not None and ask.expects == "choice":
            number = _number(first, ask)
            sure = not set(decision.doubts) - _NO_MATTER
            return self._said(first, str(number)) if number and sure else self._again()
        if decision.outcome == "taken":
            return self._reread(first, _spoken(decision)) if self._rereads else self._taken(first, _spoken(decision))
        if decision.outcome == "asked" and decision.choices and not self._rereads:
            return self._which(decision)
        return self._again()

    # Commands

    def _command(self, decision: Decision, first: Hearing) -> list[Turn]:
        if decision.outcome == "command" and first.command not in _PUTS_RIGHT:
            return self._said(first, first.words)
        if decision.outcome not in ("command", "asked"):
            return self._again()
        if self.form is not None:
            return self._again()
        text = self.wording.say("voice.sure-command", words=first.words)
        how = Spoken(first.words, (), _likelihood(first), "yes")
        return self._confirm(text, lambda: self._done(how, first.words))

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
        if not self._is_out(first):
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
    """How the first hearing came, with the other readings it could have been."""
    first = decision.hearing
    assert first is not None
    others = (_told(one) for one in decision.choices if one != first)
    return Spoken(first.words, tuple(others)[:OTHERS_MOST], _likelihood(first))


def _told(hearing: Hearing) -> str:
    """The readings as they are told, and handed to the conversation: with the hair that was said over or under."""
    return "; ".join(_amount(one) for one in hearing.amounts)


def _amount(amount: Amount) -> str:
    size, comma, side = amount.value.partition(",")
    hair = {1: " strong", -1: " shy"}.get(amount.hair, "")
    return f"{amount.place} {size}{hair}{comma}{side}" if amount.place else f"{size}{hair}{comma}{side}"


def _likelihood(hearing: Hearing) -> str:
    """How likely the hearing is among all it may have been, in hundredths rounded down."""
    return f"{int(hearing.probability * 100) / 100:.2f}"


def _number(hearing: Hearing, ask: Ask) -> int:
    """The number of the choice that was named by its number or its value; 0 for none, or for more than one."""
    if len(hearing.amounts) != 1:
        return 0
    named = {n for n, option in enumerate(ask.choices, 1) if option == hearing.amounts[0].value}
    inches = hearing.amounts[0].inches
    if inches is not None and inches.denominator == 1 and 1 <= inches <= len(ask.choices):
        named.add(int(inches))
    return named.pop() if len(named) == 1 else 0
