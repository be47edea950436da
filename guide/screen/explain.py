"""A procedure told as text, for paper or a narrow terminal: all of it, or one step in full."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from guide.job.advice import out_of
from guide.job.figures import shown
from guide.problems import Problem, ProblemError, did_you_mean, visible
from guide.procedure.model import MakeSafe, Procedure, Reading, Step
from guide.screen.drawing import drawing
from guide.screen.plan import Plan, spaced, together
from guide.session.asks import sign_words, tolerance_words
from guide.talk.wording import Wording

__all__ = ["drawing", "step_text", "text"]

WIDTH = 78
_INDENT = 5
_FEW = 4
"""Up to so many checks are named in a list; more are told by number."""
_KEPT = {"smallest": "explain.smallest", "largest": "explain.largest", "mean": "explain.mean"}


def text(procedure: Procedure, width: int = WIDTH) -> str:
    """The whole procedure, wrapped at `width` columns: choices, steps by part, figures, states, make-safe."""
    return _Teller(Plan(procedure, Wording.load("en")), width).whole()


def step_text(procedure: Procedure, step_name: str, width: int = WIDTH) -> str:
    """One step in full, by name or number, wrapped at `width` columns; raises `ProblemError` if there is none."""
    name = "-".join(step_name.lower().split())
    if name not in procedure.steps and name.isdecimal() and 1 <= int(name) <= len(procedure.order):
        name = procedure.order[int(name) - 1]
    if name not in procedure.steps:
        hint = did_you_mean(name, procedure.order) or f'"guide explain {procedure.name}" shows all steps.'
        raise ProblemError([Problem("no-step", f'there is no step "{step_name}" in {procedure.name}', hint=hint)])
    return _Teller(Plan(procedure, Wording.load("en")), width).one(procedure.steps[name])


class _Page:
    """Lines of text, wrapped."""

    def __init__(self, width: int) -> None:
        self.width = max(20, width)
        self.lines: list[str] = []

    def put(self, text: str, indent: int = 0, first: str = "", hang: int = 2) -> None:
        """One paragraph; nothing for nothing. `first` stands before its first line, inside the indent."""
        if text:
            lead = first.ljust(indent)
            behind = " " * (len(lead) + hang)
            plain = visible(" ".join(text.split()))
            self.lines += textwrap.wrap(
                plain, self.width, initial_indent=lead, subsequent_indent=behind, break_on_hyphens=False
            )

    def heading(self, text: str, underline: str) -> None:
        """A heading with space before it."""
        if self.lines:
            self.lines.append("")
        start = len(self.lines)
        self.put(text, hang=0)
        self.lines.append(underline * max(len(line) for line in self.lines[start:]))

    def gap(self) -> None:
        """An empty line."""
        self.lines.append("")

    def __str__(self) -> str:
        return "\n".join(line.rstrip() for line in self.lines)


class _Teller:
    """Tells of one procedure on one page."""

    def __init__(self, plan: Plan, width: int) -> None:
        self.plan = plan
        self.procedure = plan.procedure
        self.page = _Page(width)
        self.say = plan.wording.say
        self.join = plan.wording.join
        self.in_full = False

    def whole(self) -> str:
        """The whole procedure."""
        page, procedure = self.page, self.procedure
        page.heading(procedure.title, "=")
        for words in (procedure.about, procedure.defers):
            if words:
                page.gap()
                page.put(words, hang=0)
        page.gap()
        checks = sum(1 for step in self.plan.steps if procedure.is_check(step))
        page.put(self.say("explain.count", steps=len(self.plan.steps), checks=checks), hang=0)
        page.put(self.say("explain.brackets"), hang=0)
        self._choices()
        part = ""
        for step in self.plan.steps:
            if step.part != part:
                page.heading(step.part, "-")
                part = step.part
            page.gap()
            page.put(spaced(step.name), _INDENT, f"{self.plan.numbers[step.name]:>3}. ")
            self._put(self._doing(step))
        self._states()
        self._make_safe()
        self._figures()
        return str(page)

    def one(self, step: Step) -> str:
        """One step in full."""
        self.in_full = True
        self.page.heading(f"{self.plan.numbers[step.name]}. {spaced(step.name)}", "=")
        self.page.put(step.part, hang=0)
        self.page.gap()
        self._put(self._doing(step), 0)
        for told in (self._reasons(step), self._correction(step), self._sequence(step), self._stale(step)):
            if told:
                self.page.gap()
                self._put(told, 0)
        return str(self.page)

    def _put(self, told: Iterable[str], indent: int = _INDENT) -> None:
        for one in told:
            self.page.put(one, indent)

    # One step

    def _doing(self, step: Step) -> list[str]:
        """What a step comes to, cautions first."""
        told = []
        if step.when:
            told.append(self.say("explain.only-if", conditions=self._conditions(step)))
        told += self._cautions(step.cautions)
        told.append(self.plan.filled(step.say))
        if step.crew > 1:
            told.append(self.say("explain.crew", count=step.crew))
        if step.take is not None:
            told += self._reading(step, self.procedure.readings[step.take])
        if step.watches:
            told.append(self.say("explain.watches", states=self.plan.states(step.watches)))
        told += self._moving(step)
        if not self.in_full:
            told += self._correcting(step)
        if step.hold is not None:
            told.append(self.say("explain.hold", role=step.hold.by, look=step.hold.look))
        if step.wait is not None:
            told.append(self.say("explain.wait", time=shown(step.wait.time), what=step.wait.what))
        for hazard in step.leaves:
            told.append(self.say("explain.leaves", hazard=spaced(hazard)))
            ending = self.plan.securing(step, hazard)
            if ending:
                told[-1] += " " + self.say("explain.until", steps=self.plan.named(ending, "or"))
        told += [self.say("explain.secures", hazard=spaced(hazard)) for hazard in step.secures]
        if step.safety:
            told.append(self.say("explain.safety"))
        if step.cannot_undo:
            told.append(self.say("explain.no-undo"))
        return told

    def _conditions(self, step: Step) -> str:
        told = []
        for choice, options in step.when.items():
            words = self.join([self.procedure.choices[choice].options[one] for one in options], "or")
            told.append(self.say("explain.condition", options=words, choice=spaced(choice)))
        return self.join(told)

    def _cautions(self, names: Iterable[str]) -> list[str]:
        return [self.say("explain.caution", words=self.procedure.cautions[name]) for name in names]

    def _reading(self, step: Step, reading: Reading) -> list[str]:
        ask = reading.ask
        if reading.over is not None:
            ask = self.say("ask.over", ask=ask, over=shown(reading.over))
        asked = [self.say("explain.read" if reading.answer == "number" else "explain.answer", ask=ask)]
        if reading.places:
            asked.append(self.say("explain.places", places=self.join(reading.places)))
        if reading.keep in _KEPT and len(reading.places) > 1:
            asked.append(self.say(_KEPT[reading.keep]))
        if reading.answer == "choice":
            asked.append(self.say("explain.options", options="; ".join(reading.options.values())))
        if reading.instrument:
            asked.append(self.say("answer.with", instrument=reading.instrument))
        good = [self._tolerance(step)]
        if reading.good:
            answers = self.join([reading.options.get(one, one) for one in reading.good], "or")
            good.append(self.say("explain.good-answer", answers=answers))
        if step.even is not None:
            good.append(self.say("answer.even", even=self.plan.figure(step.even.term)))
        if reading.likely is not None:
            low, high = self.plan.ends(reading.likely)
            good.append(self.say("explain.likely", low=low, high=high))
        return [" ".join(asked), " ".join(one for one in good if one), sign_words(reading, self.plan.wording) or ""]

    def _tolerance(self, step: Step) -> str:
        known = self.plan.limits(step)
        if known is not None:
            return tolerance_words(known, self.plan.wording).strip()
        if step.within is None:
            return ""
        low, high = self.plan.ends(step.within)
        if low is None:
            return self.say("ask.good-at-most", high=high)
        if high is None:
            return self.say("ask.good-at-least", low=low)
        return self.say("ask.good-between", low=low, high=high)

    def _moving(self, step: Step) -> list[str]:
        """What doing the step moves, which checks before it are then read again, and in full which come after it."""
        if not step.disturbs:
            return []
        states = self.plan.states(step.disturbs)
        watching = self.plan.watchers(step, step.disturbs)
        number = self.plan.numbers[step.name]
        again = [one for one in watching if self.plan.numbers[one.name] < number]
        later = [one for one in watching if self.plan.numbers[one.name] > number]
        key = "explain.moves" if not again else "explain.moves-one" if len(again) == 1 else "explain.moves-many"
        told = self.say(key, states=states, checks=self._checks(again))
        if later and self.in_full:
            told += " " + self.say("explain.later", checks=self._checks(later))
        return [told]

    def _correcting(self, step: Step) -> list[str]:
        """What putting a check right moves, and which other checks are then read again."""
        adjusted = self.plan.adjusts(step)
        if not adjusted:
            return []
        states, again = self.plan.states(adjusted), self.plan.watchers(step, adjusted)
        if not again:
            return [self.say("explain.corrects", states=states)]
        return [self.say("explain.corrects-again", states=states, checks=self._checks(again))]

    def _checks(self, checks: Sequence[Step]) -> str:
        if self.in_full or len(checks) <= _FEW:
            return self.plan.named(checks)
        return self.say("explain.by-number", numbers=self.plan.ranges(checks))

    def _reasons(self, step: Step) -> list[str]:
        reading = self.procedure.readings[step.take] if step.take is not None else None
        how = " ".join(one for one in (step.how, reading.how if reading else None) if one)
        reasons = (
            ("explain.why", "why", step.why),
            ("explain.mistake", "mistake", step.mistake),
            ("explain.how", "how", how),
        )
        return [self.say(key, **{field: self.plan.filled(words)}) for key, field, words in reasons if words]

    def _correction(self, step: Step) -> list[str]:
        if not self.procedure.is_check(step):
            return []
        out = out_of(step)
        told = self._cautions(out.cautions)
        told += [self._advice(step, side, self.plan.filled(words)) for side, words in out.say.items()]
        if not out.say:
            told.append(self.say("explain.if-out-plain"))
        if out.crew > 1:
            told.append(self.say("explain.correction-crew", count=out.crew))
        told += self._correcting(step)
        told.append(self.say("explain.rounds", count=step.rounds))
        return told

    def _advice(self, step: Step, side: str, words: str) -> str:
        """What to do when the check is out on that side, the side in the words of its sign."""
        sign = self.procedure.readings[step.take].sign if step.take is not None else None
        if side == "any" or sign is None:
            return self.say(_SIDES[side], words=words)
        return self.say("explain.if-side", side=sign.plus if side == "plus" else sign.minus, words=words)

    def _sequence(self, step: Step) -> list[str]:
        """What comes before and after."""
        steps = self.procedure.steps
        told = []
        behind = [one for one in self.plan.steps if step.name in one.after and step.name not in one.needs]
        needing = [one for one in self.plan.steps if step.name in one.needs]
        after = [steps[name] for name in step.after if name not in step.needs]
        if not after and not step.needs:
            told.append(self.say("explain.nothing-before"))
        if after:
            told.append(self.say("explain.after", steps=self.plan.named(after)))
        if step.needs:
            told.append(self.say("explain.needs", checks=self.plan.named(steps[name] for name in step.needs)))
        if behind:
            told.append(self.say("explain.before", steps=self.plan.named(behind)))
        if needing:
            told.append(self.say("explain.needed-by", steps=self.plan.named(needing)))
        if not behind and not needing:
            told.append(self.say("explain.nothing-behind"))
        return told

    def _stale(self, step: Step) -> list[str]:
        told = []
        for state in step.watches:
            told.append(self.say("explain.stale-state", states=self.plan.state(state)))
            told += self._movers(state, step)
        if step.secures:
            hazards = self.join([spaced(hazard) for hazard in step.secures])
            told.append(self.say("explain.stale-hazard", hazards=hazards))
        figures = [one for one in step.uses if one.partition(".")[0] not in self.procedure.facts]
        if figures:
            told.append(self.say("explain.stale-figure", figures=self.join([spaced(one) for one in figures])))
        return told or [self.say("explain.stale-never")]

    def _movers(self, state: str, watching: Step | None = None) -> list[str]:
        """Which steps move a state, which corrections, which ways of making safe."""
        others = [
            one for one in self.plan.steps if watching is None or (one is not watching and together(one, watching))
        ]
        moved = [one for one in others if state in one.disturbs]
        corrected = [one for one in others if state in self.plan.adjusts(one)]
        hazards = [spaced(name) for name, one in self.procedure.make_safe.items() if state in one.disturbs]
        told = []
        if moved:
            told.append(self.say("explain.state-moved", steps=self.plan.named(moved)))
        if corrected:
            told.append(self.say("explain.state-corrected", checks=self.plan.named(corrected)))
        if hazards:
            told.append(self.say("explain.state-made-safe", hazards=self.join(hazards)))
        return told

    # The rest of the procedure

    def _choices(self) -> None:
        if self.procedure.choices:
            self.page.heading(self.say("explain.choices"), "-")
        for choice in self.procedure.choices.values():
            self.page.gap()
            self.page.put(self.say("explain.choice", choice=spaced(choice.name), ask=choice.ask.rstrip("?")))
            for option, words in choice.options.items():
                self.page.put(self.say("explain.option", option=spaced(option), words=words), 2)
            if choice.why:
                self.page.put(self.say("explain.why", why=choice.why), 2)

    def _states(self) -> None:
        states = self.plan.every_state()
        if states:
            self.page.heading(self.say("explain.states"), "-")
        for state in states:
            self.page.gap()
            self.page.put(_sentence(self.plan.state(state)))
            watching = [one for one in self.plan.steps if state in one.watches]
            if watching:
                told = self.say("explain.state-watched", checks=self.plan.named(watching))
            else:
                told = self.say("explain.state-unwatched")
            self._put([told, *self._movers(state)], 2)

    def _make_safe(self) -> None:
        if self.procedure.make_safe:
            self.page.heading(self.say("explain.make-safe"), "-")
        for one in self.procedure.make_safe.values():
            self.page.gap()
            self.page.put(_sentence(spaced(one.name)))
            self._put(self._made_safe(one), 2)

    def _made_safe(self, one: MakeSafe) -> list[str]:
        told = [*self._cautions(one.cautions), self.plan.filled(one.say)]
        if one.crew > 1:
            told.append(self.say("explain.crew", count=one.crew))
        if one.stays:
            told.append(self.say("explain.stays"))
        if one.disturbs:
            told.append(self.say("explain.moves", states=self.plan.states(one.disturbs)))
        if one.why:
            told.append(self.say("explain.why", why=one.why))
        return told

    def _figures(self) -> None:
        if self.procedure.facts:
            self.page.heading(self.say("explain.facts"), "-")
            self.page.gap()
        for fact in self.procedure.facts.values():
            told = self.say("explain.fact", name=spaced(fact.name), value=fact.value, standing=fact.standing)
            self.page.put(told)
        if self.procedure.worked:
            self.page.heading(self.say("explain.worked"), "-")
            self.page.gap()
        for name, expression in self.procedure.worked.items():
            self.page.put(self.say("explain.worked-as", name=spaced(name), figure=self.plan.figure(expression.term)))


def _sentence(words: str) -> str:
    """The words with a capital and a full stop."""
    return words[:1].upper() + words[1:].rstrip(".") + "."


_SIDES = {"any": "explain.if-out", "plus": "explain.if-over", "minus": "explain.if-under"}
