"""Arithmetic over named readings: what it reads, what it gives, what it refuses and where."""

from __future__ import annotations

import contextlib
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.procedure.worked import (
    Amount,
    Call,
    ExpressionError,
    Missing,
    Name,
    dimension_of,
    evaluate,
    parse,
)
from guide.quantity import AREA, LENGTH, MASS, NUMBER, Dimension, Quantity, QuantityError, inches

VALUES = {
    "width": inches(36),
    "gap": inches("1/8"),
    "weight": Quantity(Fraction(90), "lb"),
    "count": Quantity(Fraction(3), ""),
}


def value_of(name: Name) -> Quantity | None:
    return VALUES.get(name.name)


def dimension(name: Name) -> Dimension | None:
    value = value_of(name)
    return value.dimension if value is not None else None


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("width - 2 * gap", "35 3/4 in"),
        ("(width - gap) / 2", "17 15/16 in"),
        ("width / 2 - gap", "17 7/8 in"),
        ("36 3/16 in + gap", "36 5/16 in"),
        ("36-3/16 in", "36 3/16 in"),
        ("6 ft 8 1/4 in", "80 1/4 in"),
        ("6 ft + 8 in", "6 2/3 ft"),
        ("914 mm", "914 mm"),
        (".5 in", "1/2 in"),
        ("min(width, 30 in, 40 in)", "30 in"),
        ("max(gap, 1/16 in)", "1/8 in"),
        ("abs(gap - width)", "35 7/8 in"),
        ("-gap", "-1/8 in"),
        ("- - gap", "1/8 in"),
        ("width − gap", "35 7/8 in"),
        ("count * gap", "3/8 in"),
        ("width / gap", "288"),
        ("width * width", "1296 in2"),
        ("1/8 in/2", "1/16 in"),
        ("3 in/ft * 2 ft", "1/2 ft"),
        ("50 % * width", "18 in"),
        ("2 * 3 + 4", "10"),
        ("2 - 3 - 4", "-5"),
        ("12 / 2 / 3", "2"),
    ],
)
def test_value(text: str, value: str) -> None:
    assert str(evaluate(parse(text), value_of)) == value


def test_names_keep_their_places_in_order_of_writing() -> None:
    expression = parse("width.top_left - min(gap, width)")
    assert [(str(name), name.at) for name in expression.names()] == [("width.top_left", 0), ("gap", 21), ("width", 26)]
    assert expression.text == "width.top_left - min(gap, width)"


def test_where_something_stands_does_not_count_when_terms_are_compared() -> None:
    assert parse(" gap + 1 in").term == parse("gap+1 in").term
    assert parse("gap").term == Name("gap")
    assert parse("1 in").term == Amount(inches(1))
    assert parse("-gap").term == Call("neg", (Name("gap"),))


@pytest.mark.parametrize(
    ("text", "message", "at", "length"),
    [
        ("", "something is missing at the end", 0, 1),
        ("gap +", "something is missing at the end", 5, 1),
        ("gap + * 2", '"*" can\'t be read here', 6, 1),
        ("(gap", 'a ")" is missing', 4, 1),
        ("min(gap", 'a ")" is missing', 7, 1),
        ("gap)", '")" can\'t be read here', 3, 1),
        ("2 × gap", '"×" can\'t be read here', 2, 1),
        ("gap gap", '"gap" can\'t be read here', 4, 3),
        ("3 inches", '"inches" can\'t be read here', 2, 6),
        ("width.top.left", '".left" can\'t be read here', 9, 5),
        ("3(4)", '"(4)" can\'t be read here', 1, 3),
        ("1/0 in", '"1/0" divides by zero', 0, 6),
        ("abs(1 in, 2 in)", "abs takes one figure", 0, 3),
        ("(" * 50 + "1" + ")" * 50, "too many brackets inside each other", 40, 1),
        ("-" * 50 + "1", "too many signs in a row", 40, 1),
        ("1" + "+1" * 300, "the arithmetic is too long; give parts of it a name of their own", 400, 1),
    ],
)
def test_what_cannot_be_read_is_placed(text: str, message: str, at: int, length: int) -> None:
    with pytest.raises(ExpressionError) as raised:
        parse(text)
    assert (str(raised.value), raised.value.at, raised.value.length) == (message, at, length)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("width + gap", LENGTH),
        ("width * gap", AREA),
        ("width / gap", NUMBER),
        ("2 * weight", MASS),
        ("weight / count", MASS),
        ("max(width, gap) - 1 mm", LENGTH),
        ("abs(-weight)", MASS),
        ("5 %", NUMBER),
        ("unknown + width", None),
        ("2 * unknown", None),
    ],
)
def test_kind_of_amount(text: str, kind: Dimension | None) -> None:
    assert dimension_of(parse(text), dimension) == kind


@pytest.mark.parametrize(
    ("text", "message", "at"),
    [
        ("width + weight", '"width" is a length and "weight" is a weight: they can\'t be added', 6),
        ("width - 2", '"width" is a length and "2" is a plain number: they can\'t be taken from each other', 6),
        ("min(width, 2)", '"width" is a length and "2" is a plain number: they can\'t be compared', 0),
        ("2 * (gap + width * width)", '"gap" is a length and "width * width" is an area: they can\'t be added', 9),
        ("unknown + width + 2", None, 0),
        ("max(unknown, width, 2)", '"width" is a length and "2" is a plain number: they can\'t be compared', 0),
        (
            "width * weight",
            '"width * weight" is neither a length, an area, a volume, a weight, a time, an angle nor a plain number',
            6,
        ),
        (
            "2 / -(width)",
            '"2 / -width" is neither a length, an area, a volume, a weight, a time, an angle nor a plain number',
            2,
        ),
        (
            "(gap - abs(2)) * 1",
            '"gap" is a length and "abs(2)" is a plain number: they can\'t be taken from each other',
            5,
        ),
    ],
)
def test_mixed_units_are_placed(text: str, message: str | None, at: int) -> None:
    if message is None:
        assert dimension_of(parse(text), dimension) is None
        return
    with pytest.raises(ExpressionError) as raised:
        dimension_of(parse(text), dimension)
    assert (str(raised.value), raised.value.at) == (message, at)


def test_a_name_without_a_value_is_missing() -> None:
    with pytest.raises(Missing) as raised:
        evaluate(parse("width + left"), value_of)
    assert raised.value.name == Name("left")


def test_division_by_zero_is_told() -> None:
    with pytest.raises(QuantityError, match="can't be divided by zero"):
        evaluate(parse("width / (gap - gap)"), value_of)


_LEAVES = st.sampled_from(["width", "gap", "weight", "count", "2", "1/8 in", "3 lb"])
_TEXTS = st.recursive(
    _LEAVES,
    lambda inner: st.one_of(
        st.builds(lambda a, sign, b: f"({a} {sign} {b})", inner, st.sampled_from("+-*/"), inner),
        st.builds(lambda a, b: f"min({a}, {b})", inner, inner),
        st.builds(lambda a: f"-{a}", inner),
    ),
    max_leaves=12,
)


@given(_TEXTS)
def test_the_unit_check_says_what_working_it_out_does(text: str) -> None:
    expression = parse(text)
    try:
        kind = dimension_of(expression, dimension)
    except ExpressionError:
        with pytest.raises(QuantityError):
            evaluate(expression, value_of)
        return
    with contextlib.suppress(ZeroDivided):
        assert _value(text).dimension == kind


class ZeroDivided(Exception):
    """The figures drawn divide by zero, which the unit check can't know."""


def _value(text: str) -> Quantity:
    try:
        return evaluate(parse(text), value_of)
    except QuantityError as fault:
        if "divided by zero" in str(fault):
            raise ZeroDivided from None
        raise


@given(st.text(alphabet="abwidth.0123456789 /*+-(),%inft_\"'×", max_size=30))
def test_any_text_is_read_or_refused_with_a_place(text: str) -> None:
    at = length = 0
    try:
        parse(text)
    except ExpressionError as fault:
        at, length = fault.at, fault.length
    assert 0 <= at <= len(text)
    assert length >= 0
