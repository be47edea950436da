"""Factors between units, against the published ones and against another library."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest

from guide.quantity import UNITS, quantity

# One of the left is so many of the right, exactly.
SP_811 = [
    ("1 in", "25.4", "mm"),
    ("1 in", "2.54", "cm"),
    ("1 ft", "304.8", "mm"),
    ("1 ft", "0.3048", "m"),
    ("1 in2", "645.16", "mm2"),
    ("1 ft2", "0.09290304", "m2"),
    ("1 in3", "16387.064", "mm3"),
    ("1 in3", "16.387064", "ml"),
    ("1 ft3", "0.028316846592", "m3"),
    ("1 fl oz", "29.5735295625", "ml"),
    ("128 fl oz", "231", "in3"),
    ("1 lb", "0.45359237", "kg"),
    ("1 min", "60", "s"),
    ("1 h", "3600", "s"),
    ("1 day", "86400", "s"),
]


@pytest.mark.outside("NIST SP 811, appendix B", "published")
@pytest.mark.parametrize(("one", "many", "unit"), SP_811)
def test_exact_factors(one: str, many: str, unit: str) -> None:
    """Exact conversion factors between customary and metric units"""
    assert quantity(one).to(unit).magnitude == Fraction(many)


@pytest.mark.outside("NIST SP 811 (the inch is 25.4 mm)", "computed")
@pytest.mark.parametrize(("inch", "mm"), [("1/64", "0.396875"), ("3/16", "4.7625"), ("63/64", "25.003125")])
def test_fractions_of_an_inch(inch: str, mm: str) -> None:
    """1/64, 3/16 and 63/64 in, in millimetres"""
    assert str(quantity(f"{inch} in").to("mm")) == f"{mm} mm"


@pytest.mark.outside("pint, in floating point", "computed")
@pytest.mark.parametrize("left", [unit for unit in UNITS if unit])
def test_every_pair_of_units_against_pint(left: str) -> None:
    """Every conversion between two units in use agrees with pint asked in floating point"""
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    for right, (name, dimension) in UNITS.items():
        if dimension == UNITS[left][1]:
            theirs = registry.Quantity(3.7, UNITS[left][0]).to(name).magnitude
            assert float(quantity(f"3.7 {left}").to(right).magnitude) == pytest.approx(theirs, rel=1e-12)
