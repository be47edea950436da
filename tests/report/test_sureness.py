"""How far a reading may be off by its instrument: only where the record says which instrument, and over what."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from guide.procedure.model import Reading
from guide.quantity import quantity
from guide.report.sureness import expanded
from guide.report.words import instrument
from guide.trade.instruments import named


def reading(words: str | None, over: str | None = None) -> Reading:
    """A reading with an instrument of these words."""
    return Reading("gap", "Gap", instrument=words, over=quantity(over) if over else None)


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("tape", "tape"),
        ("the Tape", "tape"),
        ("a tape class II", "tape class II"),
        ("the two-foot square", "square"),
        ("a spirit level", "spirit level"),
        ("the long level", None),
        ("the two-foot square and a straight board", None),
        ("the tape and something of known length", None),
        ("a gap gauge", None),
        ("asquare", None),
        ("", None),
        (None, None),
    ],
)
def test_which_instrument_is_meant(words: str | None, name: str | None) -> None:
    found = named(words)
    assert (found.name if found is not None else None) == name


def test_a_tape_is_trusted_by_the_length_it_is_laid_along() -> None:
    """1/32 in to 6 ft and 1/16 in to 30 ft (NIST Handbook 44), read to 1/16 in; each is rectangular."""
    for value, limit in (("36 in", Fraction(1, 32)), ("82 in", Fraction(1, 16)), ("914.4 mm", Fraction(1, 32))):
        u = math.sqrt(limit**2 / 3 + Fraction(1, 32) ** 2 / 3)
        assert expanded(reading("tape"), quantity(value)) == pytest.approx(2 * u)
    assert expanded(reading("tape"), quantity("110 ft")) is None


def test_a_level_and_a_square_are_trusted_by_the_length_they_are_read_over() -> None:
    u = math.sqrt(Fraction(24, 2000) ** 2 / 3 + Fraction(1, 128) ** 2 / 3)
    assert expanded(reading("a spirit level", "24 in"), quantity("1/8 in")) == pytest.approx(2 * u)
    assert expanded(reading("a spirit level"), quantity("1/8 in")) is None
    assert expanded(reading("the square", "2 ft"), quantity("0 in")) == pytest.approx(
        2 * math.sqrt(Fraction(1, 64) ** 2 / 3 + Fraction(1, 128) ** 2 / 3)
    )


@pytest.mark.parametrize("value", ["yes", quantity("3 deg"), quantity("20 lb")])
def test_what_is_no_length_has_none(value: object) -> None:
    assert expanded(reading("tape"), value) is None  # type: ignore[arg-type]


def test_it_stands_with_the_instrument() -> None:
    assert instrument(reading("tape"), quantity("36 in")) == "tape (± 0.051 in)"
    assert instrument(reading("a gap gauge"), quantity("1/8 in")) == "a gap gauge"
    assert instrument(reading(None), "yes") == ""
