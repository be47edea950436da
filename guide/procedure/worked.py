"""Arithmetic over named readings: parsed once, checked for units, evaluated exactly.

Grammar (data, no code): `+ - * /`, brackets, `min( , )`, `max( , )`, `abs( )`, exact numbers with or
without a unit ("3/16 in", "36 3/16 in", "2"), names of facts, readings and worked figures, and one place of
a reading as `width.top` (spaces in a place's name become `_`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from guide.quantity import UNITS, Quantity, QuantityError, number, unit_named

Operator = Literal["+", "-", "*", "/", "min", "max", "abs", "neg"]


@dataclass(frozen=True, slots=True)
class Amount:
    """A figure written in the expression."""

    value: Quantity


@dataclass(frozen=True, slots=True)
class Name:
    """A fact, reading or worked figure, or one place of a reading; `at` is its offset in the text."""

    name: str
    place: str | None = None
    at: int = 0


@dataclass(frozen=True, slots=True)
class Call:
    """An operation on one or more terms."""

    operator: Operator
    terms: tuple[Term, ...]


Term = Amount | Name | Call


@dataclass(frozen=True, slots=True)
class Expression:
    """A parsed expression and the text it came from."""

    text: str
    term: Term

    def names(self) -> tuple[Name, ...]:
        """Every name used, in order of writing."""
        return tuple(_names(self.term))


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


def _names(term: Term) -> Iterator[Name]:
    if isinstance(term, Name):
        yield term
    elif isinstance(term, Call):
        for inner in term.terms:
            yield from _names(inner)


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

_UNIT_WORDS = "|".join(sorted((re.escape(u) for u in UNITS if u), key=len, reverse=True))
_TOKEN = re.compile(
    rf"""\s*(?:
        (?P<amount>(?:\d+\s+\d+/\d+|\d+-\d+/\d+|\d+/\d+|\d*\.\d+|\d+)
            (?:\s*(?P<unit>(?:{_UNIT_WORDS}|["'″′])(?![\w/]))(?:\s*)|))
      | (?P<name>[A-Za-z_]\w*(?:\.[A-Za-z_]\w*)?)
      | (?P<sign>[-+*/(),−])
    )""",
    re.VERBOSE,
)
_DEEPEST = 40


def parse(text: str) -> Expression:
    """Parse an expression; raises `ExpressionError` with the offset of what can't be read."""
    return Expression(text.strip(), _Parser(text).whole())


class _Parser:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.depth = 0

    def whole(self) -> Term:
        term = self.sum()
        if self._peek() is not None:
            raise self._unread()
        return term

    def sum(self) -> Term:
        self.depth += 1
        if self.depth > _DEEPEST:
            raise ExpressionError("too many brackets inside each other", self.at)
        term = self.product()
        while (sign := self._sign("+-−")) is not None:
            term = Call("+" if sign == "+" else "-", (term, self.product()))
        self.depth -= 1
        return term

    def product(self) -> Term:
        term = self.single()
        while (sign := self._sign("*/")) is not None:
            term = Call("*" if sign == "*" else "/", (term, self.single()))
        return term

    def single(self) -> Term:
        if self._sign("-−") is not None:
            self.depth += 1
            if self.depth > _DEEPEST:
                raise ExpressionError("too many signs in a row", self.at)
            term = Call("neg", (self.single(),))
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
            self.at = token.end()
            return Amount(self._amount(token))
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
        return Call(operator, tuple(terms))

    def _amount(self, token: re.Match[str]) -> Quantity:
        unit = unit_named(token["unit"] or "")
        digits = token["amount"][: token.start("unit") - token.start("amount")] if token["unit"] else token["amount"]
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
