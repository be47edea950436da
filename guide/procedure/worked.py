"""Arithmetic over named readings: parsed once, checked for units, evaluated exactly.

Grammar (data, no code): `+ - * /`, brackets, `min( , )`, `max( , )`, `abs( )`, exact numbers with or
without a unit ("3/16 in", "36 3/16 in", "2"), names of facts, readings and worked figures, and one place of
a reading as `width.top` (spaces in a place's name become `_`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal

from guide.quantity import (
    DIMENSION_NAMES,
    UNITS,
    Dimension,
    Quantity,
    QuantityError,
    number,
    unit_named,
)

Operator = Literal["+", "-", "*", "/", "min", "max", "abs", "neg"]


@dataclass(frozen=True, slots=True)
class Amount:
    """A figure written in the expression; `at` is its offset in the text."""

    value: Quantity
    at: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Name:
    """A fact, reading or worked figure, or one place of a reading; `at` is its offset in the text."""

    name: str
    place: str | None = None
    at: int = field(default=0, compare=False)

    def __str__(self) -> str:
        return f"{self.name}.{self.place}" if self.place else self.name


@dataclass(frozen=True, slots=True)
class Call:
    """An operation on one or more terms; `at` is the offset of its sign or word in the text."""

    operator: Operator
    terms: tuple[Term, ...]
    at: int = field(default=0, compare=False)


Term = Amount | Name | Call


@dataclass(frozen=True, slots=True)
class Expression:
    """A parsed expression and the text it came from."""

    text: str
    term: Term

    def names(self) -> tuple[Name, ...]:
        """Every name used, in order of writing."""
        return tuple(leaf for leaf in self.leaves() if isinstance(leaf, Name))

    def leaves(self) -> tuple[Amount | Name, ...]:
        """Every figure and name, in order of writing."""
        return tuple(_leaves(self.term))


class ExpressionError(ValueError):
    """The text is not an expression; `at` is the offset of the first character that can't be read."""

    def __init__(self, message: str, at: int, length: int = 1) -> None:
        super().__init__(message)
        self.at = at
        self.length = length


class Missing(LookupError):
    """A name has no value yet: the reading has not been taken."""

    def __init__(self, name: Name) -> None:
        super().__init__(name.name)
        self.name = name


def _leaves(term: Term) -> Iterator[Amount | Name]:
    if isinstance(term, Call):
        for inner in term.terms:
            yield from _leaves(inner)
    else:
        yield term


def evaluate(expression: Expression, value_of: Callable[[Name], Quantity | None]) -> Quantity:
    """The expression's exact value; raises `Missing` for a name without one, `QuantityError` on mixed units."""
    return _value(expression.term, value_of)


def _value(term: Term, value_of: Callable[[Name], Quantity | None]) -> Quantity:
    if isinstance(term, Amount):
        return term.value
    if isinstance(term, Name):
        found = value_of(term)
        if found is None:
            raise Missing(term)
        return found
    values = [_value(inner, value_of) for inner in term.terms]
    return _OPERATIONS[term.operator](values)


def _minus(values: list[Quantity]) -> Quantity:
    return values[0] - values[1]


_OPERATIONS: Mapping[Operator, Callable[[list[Quantity]], Quantity]] = {
    "+": lambda v: v[0] + v[1],
    "-": _minus,
    "*": lambda v: v[0] * v[1],
    "/": lambda v: v[0] / v[1],
    "min": min,
    "max": max,
    "abs": lambda v: abs(v[0]),
    "neg": lambda v: -v[0],
}


def dimension_of(expression: Expression, dimension: Callable[[Name], Dimension | None]) -> Dimension | None:
    """What kind of amount the expression gives; raises `ExpressionError` where units are mixed.

    None where it can't be told because `dimension` doesn't know a name.
    """
    return _dimension(expression.term, dimension)


def _dimension(term: Term, dimension: Callable[[Name], Dimension | None]) -> Dimension | None:
    if isinstance(term, Amount):
        return term.value.dimension
    if isinstance(term, Name):
        return dimension(term)
    found = [_dimension(inner, dimension) for inner in term.terms]
    if term.operator in {"*", "/"}:
        return _product(term, found[0], found[1])
    known = [(inner, one) for inner, one in zip(term.terms, found, strict=True) if one is not None]
    for inner, one in known[1:]:
        if one != known[0][1]:
            first, kind = known[0][0], DIMENSION_NAMES[known[0][1]]
            raise ExpressionError(
                f'"{_written(first)}" is {kind} and "{_written(inner)}" is {DIMENSION_NAMES[one]}: '
                f"they can't be {_TOGETHER[term.operator]}",
                term.at,
                len(term.operator),
            )
    return known[0][1] if len(known) == len(found) else None


_TOGETHER: Mapping[Operator, str] = {
    "+": "added",
    "-": "taken from each other",
    "min": "compared",
    "max": "compared",
}


def _product(term: Call, left: Dimension | None, right: Dimension | None) -> Dimension | None:
    if left is None or right is None:
        return None
    power = 1 if term.operator == "*" else -1
    a, b = left, right
    result = (a[0] + power * b[0], a[1] + power * b[1], a[2] + power * b[2], a[3] + power * b[3])
    if result not in DIMENSION_NAMES:
        raise ExpressionError(
            f'"{_written(term)}" is neither a length, an area, a volume, a weight, a time, an angle nor a plain number',
            term.at,
        )
    return result


def _written(term: Term) -> str:
    if isinstance(term, Amount):
        return str(term.value)
    if isinstance(term, Name):
        return str(term)
    inner = [f"({_written(t)})" if isinstance(t, Call) and len(t.terms) == 2 else _written(t) for t in term.terms]
    if term.operator == "neg":
        return f"-{inner[0]}"
    if term.operator in {"min", "max", "abs"}:
        return f"{term.operator}({', '.join(_written(t) for t in term.terms)})"
    return f" {term.operator} ".join(inner)


_UNIT_WORDS = "|".join(sorted((re.escape(u) for u in UNITS if u), key=len, reverse=True))
_TOKEN = re.compile(
    rf"""\s*(?:
        (?P<amount>(?:\d+\s+\d+/\d+|\d+-\d+/\d+|\d+/\d+|\d*\.\d+|\d+)
            (?:\s*(?P<unit>(?:{_UNIT_WORDS}|["'″′])(?!\w))(?:\s*)|))
      | (?P<name>[A-Za-z_]\w*(?:\.[A-Za-z_]\w*)?)
      | (?P<sign>[-+*/(),−])
    )""",
    re.VERBOSE,
)
_DEEPEST = 40
_LONGEST = 200
"""Signs, brackets and figures in one expression: far above any real one, far below what recursion can bear."""
_LONGEST_FIGURE = 20


@lru_cache(maxsize=1024)
def parse(text: str) -> Expression:
    """Parse an expression; raises `ExpressionError` with the offset of what can't be read."""
    return Expression(text.strip(), _Parser(text).whole())


class _Parser:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.depth = 0
        self.count = 0

    def whole(self) -> Term:
        term = self.sum()
        if self.text[self.at :].strip():
            raise self._unread()
        return term

    def sum(self) -> Term:
        self.depth += 1
        if self.depth > _DEEPEST:
            raise ExpressionError("too many brackets inside each other", self.at)
        term = self.product()
        while (sign := self._sign("+-−")) is not None:
            at = self.at - 1
            term = Call("+" if sign == "+" else "-", (term, self.product()), at)
        self.depth -= 1
        return term

    def product(self) -> Term:
        term = self.single()
        while (sign := self._sign("*/")) is not None:
            at = self.at - 1
            term = Call("*" if sign == "*" else "/", (term, self.single()), at)
        return term

    def single(self) -> Term:
        self.count += 1
        if self.count > _LONGEST:
            raise ExpressionError("the arithmetic is too long; give parts of it a name of their own", self.at)
        if self._sign("-−") is not None:
            self.depth += 1
            if self.depth > _DEEPEST:
                raise ExpressionError("too many signs in a row", self.at)
            at = self.at - 1
            term = Call("neg", (self.single(),), at)
            self.depth -= 1
            return term
        if self._sign("(") is not None:
            term_inside = self.sum()
            self._close()
            return term_inside
        token = self._peek()
        if token is None:
            if self.text[self.at :].strip():
                raise self._unread()
            raise ExpressionError("something is missing at the end", len(self.text.rstrip()))
        if token["amount"] is not None:
            return self._amount()
        if token["name"] is not None:
            start = token.start("name")
            self.at = token.end()
            if token["name"] in {"min", "max", "abs"} and self._sign("(") is not None:
                return self._function(token["name"], start)
            name, _, place = token["name"].partition(".")
            return Name(name, place or None, start)
        raise self._unread()

    def _function(self, name: str, start: int) -> Term:
        terms = [self.sum()]
        while self._sign(",") is not None:
            terms.append(self.sum())
        self._close()
        if name == "abs" and len(terms) != 1:
            raise ExpressionError("abs takes one figure", start, 3)
        operator: Operator = "min" if name == "min" else "max" if name == "max" else "abs"
        return Call(operator, tuple(terms), start)

    def _amount(self) -> Amount:
        """One figure; feet followed by inches are one ("6 ft 8 1/4 in")."""
        token = self._peek()
        assert token is not None
        start = token.start("amount")
        total = self._figure(token)
        if total.unit == "ft" and (token := self._peek()) is not None and token["unit"] in {"in", '"', "″"}:
            return Amount(self._figure(token) + total, start)
        return Amount(total, start)

    def _figure(self, token: re.Match[str]) -> Quantity:
        self.at = token.end()
        unit = unit_named(token["unit"] or "")
        digits = token["amount"][: token.start("unit") - token.start("amount")] if token["unit"] else token["amount"]
        if len(digits) > _LONGEST_FIGURE:
            raise ExpressionError("the figure is too long", token.start("amount"), len(token["amount"]))
        try:
            return Quantity(number(digits.strip()), unit or "")
        except QuantityError as fault:
            raise ExpressionError(str(fault), token.start("amount"), len(token["amount"])) from None

    def _peek(self) -> re.Match[str] | None:
        return _TOKEN.match(self.text, self.at)

    def _sign(self, signs: str) -> str | None:
        token = self._peek()
        if token is None or token["sign"] is None or token["sign"] not in signs:
            return None
        self.at = token.end()
        return token["sign"]

    def _close(self) -> None:
        if self._sign(")") is None:
            raise ExpressionError('a ")" is missing', self.at)

    def _unread(self) -> ExpressionError:
        rest = self.text[self.at :]
        start = self.at + len(rest) - len(rest.lstrip())
        word = re.match(r"\S+", rest.lstrip())
        shown = word[0] if word else rest
        return ExpressionError(f'"{shown}" can\'t be read here', start, len(shown))
