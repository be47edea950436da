"""Amounts: units behind numbers, and two figures that make one."""

from __future__ import annotations

import pytest

from guide.procedure.model import Sign
from guide.talk.words import Expect, hear

INCHES = Expect()
MM = Expect(unit="mm", metric=True)
METRES = Expect(unit="m", metric=True)


def heard(text: str, expect: Expect) -> list[str]:
    said = hear(text, expect)
    assert len(said) <= 1
    return [str(meaning.value) for one in said for meaning in one.meanings]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("two meters five centimeters", ["2.05 m"]),
        ("2 m 99 cm", ["2.99 m"]),
        ("2 m 100 cm", []),
        ("2 m 999 mm", ["2.999 m"]),
        ("2 m 1000 mm", []),
        ("two meters ten", ["2.1 m"]),
        ("two meters nine", []),
        ("two meters and ten", []),
        ("two meters ninety nine", ["2.99 m"]),
        ("two meters one hundred", ["2.1 m"]),
        ("two meters nine hundred ninety nine", ["2.999 m"]),
        ("two meters one thousand", []),
        ("2 m 5 in", []),
        ("2 m 5.5 cm", []),
    ],
)
def test_centimetres_and_millimetres_behind_metres(text: str, found: list[str]) -> None:
    assert heard(text, METRES) == found


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("thirty six less a sixteenth", ["35 15/16 in"]),
        ("thirty six inches less a sixteenth of an inch", ["35 15/16 in"]),
        ("thirty six plus a sixteenth", ["36 1/16 in"]),
        ("a sixteenth shy of thirty six", ["35 15/16 in"]),
        ("a sixteenth past thirty six", ["36 1/16 in"]),
        ("two feet less a quarter", ["23 3/4 in"]),
        ("a foot less half an inch", ["11 1/2 in"]),
        ("a sixteenth off a foot", ["11 15/16 in"]),
        ("a sixteenth over a foot", ["12 1/16 in"]),
        ("six eight less a sixteenth", ["67 15/16 in", "79 15/16 in"]),
        ("a quarter shy of thirty six sixteenths", ["30 1/8 in", "2 in"]),
        ("36 mm less half a mm", ["35.5 mm"]),
        ("an inch shy of two inches", []),
        ("an eighth over an eighth", []),
        ("an eighth less an eighth", []),
    ],
)
def test_a_fraction_put_to_an_amount_or_taken_from_it_is_of_an_inch(text: str, found: list[str]) -> None:
    assert heard(text, INCHES) == found


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("914 less a half", ["913.5 mm"]),
        ("half shy of 914", ["913.5 mm"]),
        ("914 less half a mm", ["913.5 mm"]),
        ("914 less a sixteenth", []),
        ("914 less a sixteenth of an inch", []),
        ("a sixteenth of an inch shy of 914", []),
        ("36 mm less a sixteenth", []),
        ("36 inches less a sixteenth", ["35 15/16 in"]),
    ],
)
def test_a_fraction_of_an_inch_is_never_taken_for_one_of_a_millimetre(text: str, found: list[str]) -> None:
    assert heard(text, MM) == found


def test_feet_asked_for_and_less_a_fraction_is_in_inches() -> None:
    assert heard("three less a sixteenth", Expect(unit="ft")) == ["35 15/16 in"]


def test_a_sum_keeps_the_rarer_way_of_its_two_figures() -> None:
    """ "Thirty six three sixteenths" is usually 36 3/16; 363/16 is a stretch, and stays one when an eighth goes off."""
    (said,) = hear("thirty six three sixteenths less a thirty second", INCHES)
    assert [str(one.value) for one in said.meanings] == ["36 5/32 in", "22 21/32 in"]


PLUMB = Expect(about="plumb", sign=Sign("the top leans in", "the top leans out", ("in",), ("out",)))


@pytest.mark.parametrize(
    ("text", "expect", "found", "given"),
    [
        ("thirty six in", INCHES, "36 in", True),
        ("36 in", INCHES, "36 in", True),
        ("1/16 in", PLUMB, "1/16 in", True),
        ("1/16 in in", PLUMB, "1/16 in", True),
        ("an eighth in", PLUMB, "1/8 in", False),
        ("an eighth in in", PLUMB, "1/8 in", False),
        ("half inch in", PLUMB, "1/2 in", True),
        ("an inch", MM, "1 in", True),
        ("a foot", INCHES, "1 ft", True),
        ("6-8 1/4", INCHES, "80 1/4 in", True),
        ("6-8 1/4 in", INCHES, "80 1/4 in", True),
    ],
)
def test_inches_said_typed_or_left_out(text: str, expect: Expect, found: str, given: bool) -> None:
    (said,) = hear(text, expect)
    assert [(str(one.value), one.unit_given) for one in said.meanings] == [(found, given)]


@pytest.mark.parametrize("text", ["6-8 5/4", "6-8 and 3/2", "36 in a", "36 in a corner", "inch", "foot"])
def test_what_makes_no_amount(text: str) -> None:
    assert hear(text, INCHES) == ()
