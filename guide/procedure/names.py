"""Every name that is used must be there: steps, readings, states, cautions, hazards, choices, figures in words."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from guide.problems import Place
from guide.procedure.draft import Draft, Entry, Part, Span, shown
from guide.procedure.hazards import GENERAL
from guide.procedure.nodes import Scalar
from guide.procedure.reader import NAME
from guide.procedure.worked import Name

OF_CORRECTION = ("by", "over", "value", "place")
"""What the words of a correction know of the reading that is out."""

_BRACES = re.compile(r"\{([^{}]*)\}|[{}]")
_FIELD = re.compile(r"([a-z_][a-z0-9_]*)(?:\.([a-z0-9_]+))?")
_TABLES = {"step": "steps", "reading": "readings", "caution": "cautions", "hazard": "make-safe", "state": "states"}


@dataclass(frozen=True, slots=True)
class Use:
    """A figure that a step uses: in which key (of the step, its correction or its reading), and where."""

    name: Name
    key: str
    place: Callable[[], Place]


Uses = Mapping[str, list[Use]]


def check_names(draft: Draft) -> Uses:
    """Note every name that is not there; what is used of figures, step by step."""
    return _Names(draft).check()


class _Names:
    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.readings = draft.readings
        self.plain: dict[str, Entry] = {**draft.table("facts"), **draft.table("worked")}
        self.figures = {**self.plain, **self.readings}
        self.cautions: Mapping[str, Any] = draft.table("cautions") if "cautions" in draft.top.said else GENERAL
        self.states = draft.table("states") if "states" in draft.top.said else None
        left = {name: step for step in draft.steps.values() for name in step.words("leaves")}
        self.hazards = {**draft.table("make-safe"), **left}
        self.takers = {name: step.name for step in reversed(draft.steps.values()) for name in step.words("take")}
        self.likely: dict[str, list[Use]] = {}
        self.cautions_used: set[str] = set()
        self.figures_used: set[str] = set()

    def check(self) -> Uses:
        self._one_meaning()
        for one in self.draft.table("worked").values():
            if isinstance(one.get(""), Part):
                self._arithmetic(one.got[""], one.label)
        for name, one in self.readings.items():
            if isinstance(one.get("likely"), Span):
                told = [self._arithmetic(part, f'"likely" of {one.label}') for part in one.got["likely"].parts]
                self.likely[name] = [Use(used, "likely", spot) for part in told for used, spot in part]
        for one in self.draft.table("make-safe").values():
            self._cautions(one, "caution")
            self._states(one, "disturbs")
        for one in self.draft.table("together").values():
            self._set(one)
        uses = {name: self._step(step) for name, step in self.draft.steps.items()}
        self._never_used()
        return uses

    def _one_meaning(self) -> None:
        """A name in arithmetic stands for one thing."""
        seen: dict[str, Entry] = {}
        for key in ("facts", "readings", "worked"):
            for name, one in self.draft.table(key).items():
                if name in seen:
                    message = f'"{shown(name)}" is a {seen[name].what} and a {one.what}'
                    also = [(f"the {seen[name].what}", self.draft.place(seen[name].key))]
                    self.draft.problems.add(
                        "two-meanings", message, self.draft.place(one.key), "Give one of them another name.", also
                    )
                seen.setdefault(name, one)

    def _set(self, one: Entry) -> None:
        self._known(one, "checks", "step", self.draft.steps)
        moves = one.inner("moves")
        if moves is not None:
            self._known(moves, "hinges", "reading", self.readings)
            for key in ("width", "height"):
                if isinstance(moves.get(key), Part):
                    self._arithmetic(moves.got[key], f'"{key}" of {moves.label}')

    def _step(self, step: Entry) -> list[Use]:
        for key in ("after", "needs"):
            self._known(step, key, "step", self.draft.steps)
        self._known(step, "take", "reading", self.readings)
        for key in ("watches", "disturbs"):
            self._states(step, key)
        self._cautions(step, "caution")
        self._hazards(step)
        self._when(step)
        out = step.inner("out")
        if out is not None:
            self._states(out, "adjust")
            self._cautions(out, "caution")
        return self._uses(step, out)

    def _uses(self, step: Entry, out: Entry | None) -> list[Use]:
        found: list[Use] = []
        for key in ("say", "why", "mistake", "how"):
            words = step.get(key)
            if words is not None and ("{" in words.text or "}" in words.text):
                told = self._fields(words, f'"{key}" of {step.label}', correction=False)
                found += [Use(name, key, spot) for name, spot in told if key == "say"]
        if out is not None:
            for words in out.get("say", {}).values():
                told = self._fields(words, f'"say" of {out.label}', correction=True)
                found += [Use(name, "out", spot) for name, spot in told]
        within, even = step.get("within"), step.get("even")
        for key, parts in (("within", within.parts if within else ()), ("even", (even,) if even else ())):
            for part in parts:
                told = self._arithmetic(part, f'"{key}" of {step.label}')
                found += [Use(name, key, spot) for name, spot in told]
        for scalar in step.names("uses"):
            found += self._named_use(scalar, step)
        for taken in step.words("take"):
            found += self.likely.get(taken, [])
        return found

    def _named_use(self, scalar: Scalar, step: Entry) -> list[Use]:
        field = _FIELD.fullmatch(scalar.text)
        name = Name(field[1], field[2]) if field else Name(scalar.text)

        def spot() -> Place:
            return self.draft.place(scalar)

        if self._figure(name, spot, f'"uses" of {step.label}', whole=True):
            return [Use(name, "uses", spot)]
        return []

    # Figures in words and in arithmetic

    def _fields(self, words: Scalar, where: str, correction: bool) -> list[tuple[Name, Callable[[], Place]]]:
        found: list[tuple[Name, Callable[[], Place]]] = []
        for brace in _BRACES.finditer(words.text):
            spot = self._spot(words, brace.start(), len(brace[0]))
            field = _FIELD.fullmatch(brace[1]) if brace[1] is not None else None
            if brace[1] is None:
                message = f'a "{brace[0]}" without its other brace in {where}'
                self.draft.problems.add("braces", message, spot(), 'Write "{name}" for a figure.')
            elif field is None:
                message = f'"{shown(brace[0])}" in {where} is not the name of a figure'
                self.draft.problems.add("braces", message, spot(), 'Write "{name}" or "{name.place}".')
            elif field[1] in OF_CORRECTION and field[2] is None and field[1] not in self.plain:
                if not correction:
                    message = f'"{brace[0]}" in {where} is known only in the "say" of "out"'
                    self.draft.problems.add("unknown-name", message, spot(), None)
            else:
                name = Name(field[1], field[2])
                if self._figure(name, spot, where):
                    found.append((name, spot))
        return found

    def _arithmetic(self, part: Part, where: str) -> list[tuple[Name, Callable[[], Place]]]:
        found: list[tuple[Name, Callable[[], Place]]] = []
        for name in part.expression.names():
            spot = self._spot(part.scalar, part.at + name.at, len(str(name)))
            if self._figure(name, spot, where):
                found.append((name, spot))
        return found

    def _spot(self, scalar: Scalar, at: int, length: int) -> Callable[[], Place]:
        return lambda: self.draft.source.place_in(scalar, at, length)

    def _figure(self, name: Name, spot: Callable[[], Place], where: str, whole: bool = False) -> bool:
        """Whether a name stands for one figure; `whole` if a reading may be meant with all it holds."""
        self.figures_used.add(name.name)
        add = self.draft.problems.add
        if name.name in self.plain:
            if name.place is not None:
                add(
                    "place", f"{self.plain[name.name].label} has no places, in {where}", spot(), f'Write "{name.name}".'
                )
            return name.place is None
        reading = self.readings.get(name.name)
        if reading is None:
            hint = self.draft.nearest(name.name, self.figures)
            if name.name in self.draft.table("choices"):
                hint = f'"{name.name}" is a choice; "when" switches steps by it.'
            add("unknown-name", f'unknown name "{shown(str(name))}" in {where}', spot(), hint)
            return False
        answer = reading.get("answer", "number" if "answer" not in reading.said else None)
        if answer is None or ("at" in reading.said and "at" not in reading.got):
            return False
        if answer != "number" and not whole:
            add("not-a-figure", f"{reading.label} is no figure, in {where}", spot(), "Only numbers can stand here.")
            return False
        places = [place.replace(" ", "_") for place in reading.words("at")]
        if name.place is not None and name.place not in places:
            hint = self.draft.nearest(name.place, tuple(places)) or f'Write "{name.name}".'
            add("place", f'{reading.label} has no place "{shown(name.place)}", in {where}', spot(), hint)
            return False
        if name.place is None and len(places) > 1 and "keep" not in reading.said and not whole:
            hint = f'Name one, such as "{name.name}.{places[0]}", or give the reading "keep: smallest".'
            add("place", f"{reading.label} has {len(places)} places, and {where} names none", spot(), hint)
            return False
        return True

    # Everything else

    def _known(self, entry: Entry, key: str, what: str, known: Mapping[str, Any]) -> None:
        for one in entry.names(key):
            if one.text not in known:
                message = f'unknown {what} "{shown(one.text)}" in "{key}" of {entry.label}'
                hint = self.draft.nearest(one.text, known) or self._elsewhere(one.text)
                self.draft.problems.add(f"unknown-{what}", message, self.draft.place(one), hint)

    def _elsewhere(self, word: str) -> str | None:
        """What a name stands for, if not for what is wanted."""
        for what, table in _TABLES.items():
            if word in self.draft.table(table):
                taker = self.takers.get(word) if what == "reading" else None
                return f'"{word}" is a {what}' + (f'; the step that takes it is "{taker}".' if taker else ".")
        return None

    def _states(self, entry: Entry, key: str) -> None:
        if self.states is not None:
            self._known(entry, key, "state", self.states)
            return
        for one in entry.names(key):
            if not NAME.fullmatch(one.text):
                message = f'"{shown(one.text)}" in "{key}" of {entry.label} can\'t name a state'
                self.draft.problems.add("name", message, self.draft.place(one), 'Use lower-case words joined by "-".')

    def _cautions(self, entry: Entry, key: str) -> None:
        self._known(entry, key, "caution", self.cautions)
        self.cautions_used.update(entry.words(key))

    def _hazards(self, step: Entry) -> None:
        known = self.draft.table("make-safe")
        for one in step.names("leaves"):
            if one.text not in known:
                message = (
                    f'{step.label} leaves "{shown(one.text)}", and "make-safe" does not say what a stop goes through'
                )
                hint = self.draft.nearest(one.text, known)
                hint = hint or f'Add to "make-safe": {shown(one.text)}: {{say: …}}.'
                self.draft.problems.add("no-make-safe", message, self.draft.place(one), hint)
        self._known(step, "secures", "hazard", self.hazards)

    def _when(self, step: Entry) -> None:
        choices = self.draft.table("choices")
        for choice, options in step.get("when", ()):
            known = choices.get(choice.text)
            if known is None:
                message = f'unknown choice "{shown(choice.text)}" in "when" of {step.label}'
                self.draft.problems.add(
                    "unknown-choice", message, self.draft.place(choice), self.draft.nearest(choice.text, choices)
                )
                continue
            for one in options:
                if "options" in known.got and one.text not in known.got["options"]:
                    message = f'choice "{choice.text}" has no option "{shown(one.text)}", in "when" of {step.label}'
                    hint = self.draft.nearest(one.text, known.got["options"])
                    hint = hint or f"Its options are {', '.join(known.got['options'])}."
                    self.draft.problems.add("unknown-option", message, self.draft.place(one), hint)

    def _never_used(self) -> None:
        """Remark on what is there and never used."""
        for key, used in (
            ("facts", self.figures_used),
            ("worked", self.figures_used),
            ("cautions", self.cautions_used),
        ):
            for name, one in self.draft.table(key).items():
                if name not in used:
                    self.draft.remarks.add("unused", f"{one.label} is never used", self.draft.place(one.key))
