"""A procedure laid out before any job: its steps numbered, its figures in words, who moves what and who watches it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product
from math import prod

from guide.job.advice import out_of
from guide.job.figures import Limits, fields, fill, limits, shown
from guide.procedure.model import Procedure, Range, Step
from guide.procedure.worked import Call, Expression, Missing, Name, Term, evaluate
from guide.quantity import Quantity, QuantityError
from guide.talk.wording import Wording

_MOST_JOBS = 10_000


class Plan:
    """Steps in order with their numbers, and what can be said of them without a job."""

    def __init__(self, procedure: Procedure, wording: Wording) -> None:
        self.procedure = procedure
        self.wording = wording
        self.steps = [procedure.steps[name] for name in procedure.order]
        self.numbers = {name: number for number, name in enumerate(procedure.order, 1)}

    # Names

    def named(self, steps: Iterable[Step], last: str = "and") -> str:
        """Steps by name and number: "square (4), plumb (5) and level (6)"."""
        return self.wording.join([f"{spaced(step.name)} ({self.numbers[step.name]})" for step in steps], last)

    def ranges(self, steps: Iterable[Step]) -> str:
        """Steps by number, those that follow each other drawn together: "4 to 9, 12 and 13"."""
        runs: list[list[int]] = []
        for number in sorted(self.numbers[step.name] for step in steps):
            if runs and number == runs[-1][-1] + 1:
                runs[-1].append(number)
            else:
                runs.append([number])
        single = [[str(n) for n in run] if len(run) < 3 else [self.between(run[0], run[-1])] for run in runs]
        return self.wording.join([text for run in single for text in run])

    def between(self, low: object, high: object) -> str:
        """From low to high, in words."""
        return self.wording.say("drawing.between", low=low, high=high)

    def state(self, name: str) -> str:
        """A state of the work in words."""
        return self.procedure.states.get(name) or spaced(name)

    def states(self, names: Iterable[str]) -> str:
        """Several states of the work, joined."""
        return self.wording.join([self.state(name) for name in names])

    def every_state(self) -> list[str]:
        """Every state that is moved or watched, in the order of the procedure's table, then of the steps."""
        used = {state: None for step in self.steps for state in (*step.disturbs, *step.watches, *self.adjusts(step))}
        used |= {state: None for one in self.procedure.make_safe.values() for state in one.disturbs}
        return list(dict.fromkeys([*(state for state in self.procedure.states if state in used), *used]))

    # Who moves what, and who watches it

    def adjusts(self, step: Step) -> tuple[str, ...]:
        """The states that putting the check right moves; none for a step that is no check."""
        return out_of(step).adjust if self.procedure.is_check(step) else ()

    def watchers(self, step: Step, states: Iterable[str]) -> list[Step]:
        """The other checks that watch any of the states and can be in one job with the step, in order."""
        wanted = set(states)
        return [one for one in self.steps if one is not step and wanted & set(one.watches) and together(one, step)]

    def securing(self, step: Step, hazard: str) -> list[Step]:
        """The steps behind this one that end the hazard and can be in one job with it."""
        behind = self.steps[self.numbers[step.name] :]
        return [one for one in behind if hazard in one.secures and together(one, step)]

    def one_is_there(self, step: Step, others: Sequence[Step]) -> bool:
        """Whether every job that has the step has one of the others; no, where that takes too long to tell."""
        asked = dict.fromkeys(choice for one in others for choice in one.when)
        options = [
            [(choice, option) for option in step.when.get(choice) or self.procedure.choices[choice].options]
            for choice in asked
        ]
        if prod(map(len, options)) > _MOST_JOBS:
            return False
        jobs = map(dict, product(*options))
        return all(any(all(job[choice] in one.when[choice] for choice in one.when) for one in others) for job in jobs)

    # Figures

    def known(self, name: Name) -> Quantity | None:
        """The value of a fact, or of a figure worked out from facts alone; None for a reading."""
        fact = self.procedure.facts.get(name.name)
        if fact is not None:
            return fact.value
        worked = self.procedure.worked.get(name.name)
        return self.value(worked.term) if worked is not None else None

    def value(self, term: Term) -> Quantity | None:
        """What the arithmetic comes to, if that can be told without a job."""
        try:
            return evaluate(Expression("", term), self.known)
        except (Missing, QuantityError):
            return None

    def figure(self, term: Term) -> str:
        """Arithmetic in words: worked out where it can be, with [names] of what is not known before the job."""
        value = self.value(term)
        if value is not None:
            return shown(value)
        if isinstance(term, Name):
            return f"[{spaced(term.name)}, {spaced(term.place)}]" if term.place else f"[{spaced(term.name)}]"
        assert isinstance(term, Call)
        parts = [self.figure(inner) for inner in term.terms]
        if term.operator in {"min", "max", "abs"}:
            return f"{term.operator}({', '.join(parts)})"
        if term.operator == "neg":
            return f"-({parts[0]})"
        for i, inner in enumerate(term.terms):
            if self.value(inner) is None and _needs_brackets(term, inner, second=i == 1):
                parts[i] = f"({parts[i]})"
        return f" {term.operator.replace('*', '×')} ".join(parts)

    def filled(self, text: str) -> str:
        """Words with their {figures} worked out, or named in [brackets]; {by} and its like are told in words."""
        names = {}
        for one in fields(text):
            name, _, place = one.partition(".")
            here = _IN_ADVICE.get(one)
            told = f"[{self.wording.say(here)}]" if here else self.figure(Name(name, place or None))
            names[one] = told
        return fill(text, self.known, names)

    def limits(self, step: Step) -> Limits | None:
        """The step's tolerance, or None if there is none or it hangs on a reading."""
        if step.within is None or step.take is None:
            return None
        try:
            return limits(step.within, self.known, self.procedure.readings[step.take].unit)
        except (Missing, QuantityError):
            return None

    def ends(self, span: Range) -> tuple[str | None, str | None]:
        """Both ends of a range in words, None where it is open."""
        low, high = (self.figure(end.term) if end is not None else None for end in (span.low, span.high))
        return low, high


def spaced(name: str) -> str:
    """A name as it is read: with spaces."""
    return name.replace("-", " ").replace("_", " ")


def together(one: Step, other: Step) -> bool:
    """Whether some answers to the choices have both steps in the job."""
    return all(set(one.when[choice]) & set(other.when[choice]) for choice in one.when.keys() & other.when.keys())


def _needs_brackets(outer: Call, inner: Term, second: bool) -> bool:
    if not isinstance(inner, Call) or inner.operator not in {"+", "-", "*", "/"}:
        return False
    if inner.operator in {"+", "-"}:
        return outer.operator in {"*", "/"} or (second and outer.operator == "-")
    return second and outer.operator == "/"


_IN_ADVICE = {"by": "explain.by", "over": "explain.over", "value": "explain.value", "place": "explain.place"}
