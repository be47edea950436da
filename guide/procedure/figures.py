"""Units, ranges and arithmetic: what can be told of figures before anything has been read."""

from __future__ import annotations

from collections.abc import Iterable

from guide.procedure.draft import Draft, Entry, Part, Span, shown
from guide.procedure.graph import components, rings
from guide.procedure.worked import Expression, ExpressionError, Missing, Name, dimension_of, evaluate
from guide.quantity import DIMENSION_NAMES, LENGTH, NUMBER, UNITS, Dimension, Quantity, QuantityError

DEEPEST = 50
"""Worked figures that may build on each other, one on the next."""

MOST_TERMS = 150
"""Figures that may go into one when everything it builds on is written out: it stays short enough to be shown."""


class Figures:
    """What is known of every name in arithmetic: its kind of amount, and its value if it is fixed."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.dimensions: dict[str, Dimension] = {}
        self.values: dict[str, Quantity] = {}
        self.terms: dict[str, int] = {}
        for name, fact in draft.table("facts").items():
            if "value" in fact.got:
                self.values[name] = fact.got["value"]
                self.dimensions[name] = self.values[name].dimension
        for name, reading in draft.readings.items():
            if reading.get("answer", "number") == "number" and ("unit" in reading.got or "unit" not in reading.said):
                self.dimensions[name] = UNITS[reading.get("unit", "in")][1]
        self._worked()

    def dimension(self, name: Name) -> Dimension | None:
        """What kind of amount a name stands for, None if that can't be told."""
        return self.dimensions.get(name.name)

    def fixed(self, expression: Expression | None) -> Quantity | None:
        """The value, if it is made of facts and written figures alone."""
        if expression is None:
            return None
        try:
            return evaluate(expression, lambda name: self.values.get(name.name))
        except (Missing, QuantityError):
            return None

    # Worked figures

    def _worked(self) -> None:
        """Go through the worked figures, each behind what it builds on."""
        worked = self.draft.table("worked")
        parts: dict[str, Part] = {name: one.got[""] for name, one in worked.items() if isinstance(one.get(""), Part)}
        links = {name: [used.name for used in part.expression.names()] for name, part in parts.items()}
        for ring in rings(links):
            way = " → ".join(ring)
            self.draft.problems.add(
                "worked-cycle",
                f"worked figures need each other: {way}" if len(ring) > 2 else f'"{ring[0]}" is worked out from itself',
                self.draft.place(worked[ring[0]].key),
                "Work one of them out from readings and facts alone.",
            )
        depth: dict[str, int] = {}
        for group in components(links):
            name = group[0]
            if len(group) > 1 or name in links[name]:
                continue
            depth[name] = 1 + max((depth.get(one, 0) for one in links[name]), default=0)
            if depth[name] == DEEPEST + 1:
                message = f"{worked[name].label} builds on more than {DEEPEST} others, one on the next"
                place = self.draft.place(worked[name].key)
                self.draft.problems.add("too-much", message, place, "Work it out from fewer.")
            self.terms[name] = self._terms(parts[name], worked[name].label)
            dimension = self._dimension(parts[name], worked[name].label)
            value = self._value(parts[name], worked[name].label)
            if dimension is not None:
                self.dimensions[name] = dimension
            if dimension is not None and value is not None:
                self.values[name] = value

    def _terms(self, part: Part, where: str) -> int:
        """Figures that go into written arithmetic in the end; too many are noted, once."""
        leaves = part.expression.leaves()
        count = sum(self.terms.get(leaf.name, 1) if isinstance(leaf, Name) else 1 for leaf in leaves)
        if count <= MOST_TERMS:
            return count
        message = f"{where} takes more than {MOST_TERMS} figures to work out"
        self.draft.problems.add("too-much", message, self.draft.place(part.scalar), "Work it out from fewer.")
        return 1

    def _value(self, part: Part, where: str) -> Quantity | None:
        """The value if it is fixed; a division by zero is noted."""
        try:
            return evaluate(part.expression, lambda name: self.values.get(name.name))
        except Missing:
            return None
        except QuantityError as fault:
            if "divided by zero" in str(fault):
                message = f"{where} has no value: {shown(str(fault))}"
                place = self.draft.at(part, 0, len(part.expression.text))
                self.draft.problems.add("arithmetic", message, place, "Look at the figures it uses.")
            return None

    def _dimension(self, part: Part, where: str) -> Dimension | None:
        """The kind of amount of written arithmetic; mixed units are noted."""
        try:
            return dimension_of(part.expression, self.dimension)
        except ExpressionError as fault:
            spot = self.draft.at(part, fault.at, fault.length)
            hint = "Give every figure its unit." if "is a plain number" in str(fault) else None
            self.draft.problems.add("mixed-units", f"{fault}, in {where}", spot, hint)
            return None

    # Limits

    def span(self, entry: Entry, key: str, reading: Entry) -> None:
        """Check a range against the unit of its reading, and that something fits into it."""
        span: Span | None = entry.get(key)
        if span is None:
            return
        fits = [self._fits(part, reading, f'"{key}" of {entry.label}') for part in span.parts]
        if not all(fits):
            return
        low, high = self.fixed(span.range.low), self.fixed(span.range.high)
        if low is not None and high is not None and low.dimension == high.dimension and low > high:
            message = f'"{key}" of {entry.label} is empty: {shown(str(low))} is more than {shown(str(high))}'
            hint = "Write the lower figure first."
            if len(span.parts) == 2 and span.range.low is not span.parts[0].expression:
                hint = 'What follows "±" must not be below zero.'
            self.draft.problems.add("empty-range", message, self.draft.place(span.parts[0].scalar), hint)

    def even(self, step: Entry, reading: Entry) -> None:
        """Check the most that places may differ by."""
        part: Part | None = step.get("even")
        if part is None or not self._fits(part, reading, f'"even" of {step.label}'):
            return
        value = self.fixed(part.expression)
        if value is not None and value.base < 0:
            message = f'"even" of {step.label} is below zero: nothing can be as even as that'
            self.draft.problems.add("empty-range", message, self.draft.place(part.scalar), "Write it without the sign.")

    def length(self, entry: Entry, key: str) -> None:
        """Check that arithmetic comes to a length."""
        part: Part = entry.got[key]
        dimension = self._dimension(part, f'"{key}" of {entry.label}')
        if dimension is not None and dimension != LENGTH:
            text = part.expression.text
            message = f'"{text}" is {DIMENSION_NAMES[dimension]}, and "{key}" of {entry.label} is a length'
            self.draft.problems.add("unit", message, self.draft.at(part, 0, len(text)))

    def _fits(self, part: Part, reading: Entry, where: str) -> bool:
        """Whether written arithmetic is of the reading's kind; noted if not. True if it can't be told."""
        dimension = self._dimension(part, where)
        self._terms(part, where)
        self._value(part, where)
        wanted = self.dimensions.get(reading.name)
        if dimension is None or wanted is None or dimension == wanted:
            return True
        unit = reading.get("unit", "in")
        text = part.expression.text
        message = (
            f'"{text}" is {DIMENSION_NAMES[dimension]}, and {reading.label} is {DIMENSION_NAMES[wanted]}'
            f"{f' ({unit})' if unit else ''}"
        )
        hint = None
        if dimension == NUMBER and not part.expression.names():
            hint = f'Write the unit too: "{text} {unit}".'
        self.draft.problems.add("unit", message, self.draft.at(part, 0, len(text)), hint)
        return False

    def below_zero(self, spans: Iterable[Span | None]) -> bool:
        """Whether a limit that is fixed lies below zero."""
        ends = [end for span in spans if span is not None for end in (span.range.low, span.range.high)]
        return any(value is not None and value.base < 0 for value in map(self.fixed, ends))
