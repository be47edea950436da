"""Exact amounts: reading, writing, comparing, converting and multiplying them, and what is refused."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.quantity import (
    AREA,
    LENGTH,
    NUMBER,
    UNITS,
    VOLUME,
    Quantity,
    QuantityError,
    factor,
    format_number,
    inches,
    kind_of,
    nearest,
    number,
    quantity,
    unit_named,
)

LENGTHS = [unit for unit, (_, dimension) in UNITS.items() if dimension == LENGTH]
fractions = st.fractions(min_value=-10_000, max_value=10_000, max_denominator=10_000)
units = st.sampled_from(sorted(UNITS))
quantities = st.builds(Quantity, fractions, units)
lengths = st.builds(Quantity, fractions, st.sampled_from(LENGTHS))


@pytest.mark.parametrize(
    ("text", "magnitude", "unit"),
    [
        ("36 3/16 in", Fraction(579, 16), "in"),
        ('36-3/16"', Fraction(579, 16), "in"),
        ("36 3 / 16 in", Fraction(579, 16), "in"),
        ("3/16in", Fraction(3, 16), "in"),
        (".125 in", Fraction(1, 8), "in"),
        ("0.1 mm", Fraction(1, 10), "mm"),
        ("914 mm", Fraction(914), "mm"),
        ("914 Millimetres", Fraction(914), "mm"),
        ("91.4 cm", Fraction(457, 5), "cm"),
        ("3ft", Fraction(3), "ft"),
        ("6 ft 8 1/4 in", Fraction(321, 4), "in"),
        ("6' 8 1/4\"", Fraction(321, 4), "in"),
        ("6′ 8″", Fraction(80), "in"),
        ("6 feet 8-1/4 inches", Fraction(321, 4), "in"),
        ("-6 ft 8 in", Fraction(-80), "in"),
        ("-1/16 in", Fraction(-1, 16), "in"),
        ("−1/16 in", Fraction(-1, 16), "in"),
        ("- 1/16 in", Fraction(-1, 16), "in"),
        ("+1/16 in", Fraction(1, 16), "in"),
        ("20 ft2", Fraction(20), "ft2"),
        ("20 sq ft", Fraction(20), "ft2"),
        ("20 square  feet", Fraction(20), "ft2"),
        ("20 ft²", Fraction(20), "ft2"),
        ("1 1/2 in2", Fraction(3, 2), "in2"),
        ("18.227 cu in", Fraction(18227, 1000), "in3"),
        ("10.1 fl oz", Fraction(101, 10), "fl oz"),
        ("300 ml", Fraction(300), "ml"),
        ("300 mL", Fraction(300), "ml"),
        ("0.5 mm/m", Fraction(1, 2), "mm/m"),
        ("1/4 in/ft", Fraction(1, 4), "in/ft"),
        ("5 %", Fraction(5), "%"),
        ("5 per cent", Fraction(5), "%"),
        ("0.1°", Fraction(1, 10), "deg"),
        ("30 min", Fraction(30), "min"),
        ("24 hours", Fraction(24), "h"),
        ("51 lbs", Fraction(51), "lb"),
        ("23 kilos", Fraction(23), "kg"),
        ("12", Fraction(12), ""),
        ("  12  ", Fraction(12), ""),
    ],
)
def test_a_quantity_is_read_as_written(text: str, magnitude: Fraction, unit: str) -> None:
    read = quantity(text)
    assert (read.magnitude, read.unit) == (magnitude, unit)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "nothing to read a quantity from"),
        ("   ", "nothing to read a quantity from"),
        ("in", '"in" is not a quantity'),
        ("--3 in", '"--3 in" is not a quantity'),
        ("½ in", '"½ in" is not a quantity'),
        ("3 furlongs", '"furlongs" in "3 furlongs" is not a unit'),
        ("1e5 in", '"e5 in" in "1e5 in" is not a unit'),
        ("36,5 mm", '",5 mm" in "36,5 mm" is not a unit'),
        ("1/2/3 in", '"/3 in" in "1/2/3 in" is not a unit'),
        ("6'8", '"\'8" in "6\'8" is not a unit'),
        ("36 - 3/16 in", '"- 3/16 in" in "36 - 3/16 in" is not a unit'),
        ("3 in -2 in", '"in -2 in" in "3 in -2 in" is not a unit'),
        ("6 ft 8 stone", '"ft 8 stone" in "6 ft 8 stone" is not a unit'),
        ("5 mm 3 in", '"5 mm 3 in" is not one quantity: only feet and inches go together'),
        ("3 in 6 ft", '"3 in 6 ft" is not one quantity: only feet and inches go together'),
        ("3 in 3 in", '"3 in 3 in" is not one quantity: only feet and inches go together'),
        ("2 h 30 min", '"2 h 30 min" is not one quantity: only feet and inches go together'),
        ("6 ft 12 in", '"6 ft 12 in" is not one quantity: whole feet are followed by less than 12 inches'),
        ("6 1/2 ft 3 in", '"6 1/2 ft 3 in" is not one quantity: whole feet are followed by less than 12 inches'),
        ("36 16/16 in", '"36 16/16" is not a number: the fraction after a whole number is less than one'),
        ("3/0 in", '"3/0" divides by zero'),
        ("6 ft 3/0 in", '"3/0" divides by zero'),
        ("٣ in", '"٣" is not a number'),
    ],
)
def test_what_is_not_a_quantity_is_refused(text: str, message: str) -> None:
    with pytest.raises(QuantityError) as fault:
        quantity(text)
    assert str(fault.value) == message


def test_an_endless_number_is_refused_and_soon() -> None:
    with pytest.raises(QuantityError):
        quantity("9" * 100_000 + " in")


@pytest.mark.parametrize("places", [98, 99, 100, 200])
@pytest.mark.parametrize("form", ["-1.{}m", "{} 1/3 in", "1/{} in", "{} ft 1.5 in"])
def test_a_number_of_many_digits_is_refused_or_written_so_that_it_reads_back(form: str, places: int) -> None:
    text = form.format("3" * places)
    if places > 100 or (places == 100 and not form.startswith("1/")):
        with pytest.raises(QuantityError, match="far too many digits"):
            quantity(text)
    else:
        read = quantity(text)
        assert quantity(str(read)) == read


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        read = quantity(text)
    except QuantityError:
        return
    assert read == quantity(str(read))


@given(st.text(alphabet="0123456789/- .ftinm'\"", max_size=20))
def test_any_text_of_a_tape_is_read_or_refused(text: str) -> None:
    try:
        read = quantity(text)
    except QuantityError:
        return
    assert read == quantity(str(read))


@given(quantities)
def test_what_is_written_reads_back(amount: Quantity) -> None:
    again = quantity(str(amount))
    assert (again.magnitude, again.unit) == (amount.magnitude, amount.unit)


@pytest.mark.parametrize(
    ("amount", "text"),
    [
        (Quantity(Fraction(579, 16), "in"), "36 3/16 in"),
        (Quantity(Fraction(-1, 8), "in"), "-1/8 in"),
        (Quantity(Fraction(-579, 16), "in"), "-36 3/16 in"),
        (Quantity(Fraction(0), "in"), "0 in"),
        (Quantity(Fraction(9525, 1000), "mm"), "9.525 mm"),
        (Quantity(Fraction(-1, 20), "mm"), "-0.05 mm"),
        (Quantity(Fraction(1, 3), "mm"), "1/3 mm"),
        (Quantity(Fraction(3487, 100), "lb"), "34.87 lb"),
        (Quantity(Fraction(1, 2**10), "mm"), "1/1024 mm"),
        (Quantity(Fraction(12), ""), "12"),
        (Quantity(Fraction(7, 2), "h"), "3 1/2 h"),
    ],
)
def test_writing(amount: Quantity, text: str) -> None:
    assert str(amount) == text


def test_numbers_alone() -> None:
    assert number(" 36-3/16 ") == Fraction(579, 16)
    assert number("0036") == 36
    for text in ("", "-3", "3.", "3 3", "1_000", "0x10", "nan", "inf", "1/2.5", "3 1/2 1/2"):
        with pytest.raises(QuantityError):
            number(text)
    assert format_number(Fraction(5, 2)) == "2 1/2"


def test_units_by_name() -> None:
    assert unit_named(" Inches ") == "in"
    assert unit_named("MM") == "mm"
    assert unit_named("cubits") is None
    assert unit_named("") == ""


def test_no_float_gets_in() -> None:
    for magnitude in (0.5, 1, "1/2"):
        with pytest.raises(TypeError):
            Quantity(magnitude, "in")  # type: ignore[arg-type]
    with pytest.raises(QuantityError, match='no unit is called "cubit"'):
        Quantity(Fraction(1), "cubit")


def test_equal_across_units() -> None:
    assert quantity("1 in") == quantity("25.4 mm")
    assert hash(quantity("1 ft")) == hash(quantity("12 in")) == hash(quantity("304.8 mm"))
    assert quantity("1 in") != quantity("1 lb")
    assert quantity("1 in") != "1 in"
    assert quantity("5 %") == quantity("1/20")
    assert not quantity("0 in")
    assert quantity("1/64 in")


def test_ordering() -> None:
    assert quantity("1/16 in") < quantity("2 mm") <= quantity("2 mm") < quantity("1/8 in")
    assert max(quantity("3/16 in"), quantity("5 mm")) == quantity("5 mm")
    with pytest.raises(QuantityError, match="3 in is a length and 4 lb is a weight"):
        assert quantity("3 in") < quantity("4 lb")
    with pytest.raises(TypeError):
        assert quantity("3 in") < 4


@given(lengths, lengths, lengths)
def test_ordering_agrees_with_subtraction(a: Quantity, b: Quantity, c: Quantity) -> None:
    assert (a < b) == ((a - b).magnitude < 0)
    assert (a == b) == (not a - b)
    assert a + b == b + a
    assert (a + b) + c == a + (b + c)
    assert a - b == -(b - a)
    assert abs(-a) == abs(a)


@given(quantities, units)
def test_conversion_is_exact_and_returns(amount: Quantity, unit: str) -> None:
    if UNITS[unit][1] == amount.dimension:
        there = amount.to(unit)
        assert there.unit == unit
        assert there == amount
        assert there.to(amount.unit).magnitude == amount.magnitude
    else:
        with pytest.raises(QuantityError):
            amount.to(unit)


def test_conversion_that_does_not_fit_is_said() -> None:
    with pytest.raises(QuantityError, match="3 in is a length and can't be given in lb"):
        quantity("3 in").to("lb")
    with pytest.raises(QuantityError, match="3 in is a length and can't be given in plain numbers"):
        quantity("3 in").to("")
    with pytest.raises(QuantityError, match="3 in is a length and can't be given in cubits"):
        quantity("3 in").to("cubits")


def test_products() -> None:
    assert str(quantity("2") * quantity("3/16 in")) == "3/8 in"
    assert str(quantity("3/16 in") * quantity("50 %")) == "3/32 in"
    assert str(quantity("36 in") * quantity("80 in")) == "2880 in2"
    assert (quantity("36 in") * quantity("80 in")).to("ft2") == quantity("20 ft2")
    assert str(quantity("900 mm") * quantity("2 m")) == "1800000 mm2"
    assert str(quantity("6 mm2") * quantity("2 mm")) == "12 mm3"
    assert str(quantity("12 mm3") / quantity("2 mm")) == "6 mm2"
    assert str(quantity("80 in") / quantity("2 ft")) == "3 1/3"
    assert str(quantity("80 in") / quantity("2")) == "40 in"
    assert quantity("80 in") * quantity("0.5 mm/m") == quantity("0.04 in")
    assert (quantity("1 in") * quantity("1 in") * quantity("1 in")).dimension == VOLUME
    assert (quantity("1 in") * quantity("1 in")).dimension == AREA
    assert (quantity("1 lb") / quantity("1 kg")).dimension == NUMBER


@pytest.mark.parametrize(("a", "sign", "b"), [("3 in", "*", "4 lb"), ("3", "/", "4 in"), ("3 in3", "*", "1 in")])
def test_products_of_no_kind_are_refused(a: str, sign: str, b: str) -> None:
    with pytest.raises(QuantityError, match="neither a length"):
        quantity(a) * quantity(b) if sign == "*" else quantity(a) / quantity(b)


def test_division_by_nothing_is_refused() -> None:
    with pytest.raises(QuantityError, match="can't be divided by zero"):
        quantity("3 in") / quantity("0 in")


@given(lengths, lengths)
def test_a_product_divides_back(a: Quantity, b: Quantity) -> None:
    if b:
        assert a * b / b == a
        assert a / b * b == a


def test_sums_keep_the_first_unit() -> None:
    assert str(quantity("36 in") + quantity("25.4 mm")) == "37 in"
    assert str(quantity("25.4 mm") - quantity("1/2 in")) == "12.7 mm"
    with pytest.raises(QuantityError, match="is a length and 5 s is a time"):
        quantity("3 in") + quantity("5 s")


@pytest.mark.parametrize(
    ("text", "unit", "step", "expected", "exact"),
    [
        ("1/32 in", "in", "1/16", "1/16 in", False),
        ("-1/32 in", "in", "1/16", "-1/16 in", False),
        ("3/16 in", "in", "1/16", "3/16 in", True),
        ("5 mm", "in", "1/16", "3/16 in", False),
        ("36 3/16 in", "mm", "1", "919 mm", False),
        ("0 in", "mm", "1", "0 mm", True),
    ],
)
def test_rounding(text: str, unit: str, step: str, expected: str, exact: bool) -> None:
    rounded, was_exact = nearest(quantity(text), unit, Fraction(step))
    assert (str(rounded), was_exact) == (expected, exact)


@given(lengths)
def test_rounding_is_near_and_the_same_in_a_mirror(amount: Quantity) -> None:
    rounded, exact = nearest(amount, "in", Fraction(1, 16))
    assert abs(rounded - amount).base <= Fraction(1, 32)
    assert exact == (rounded == amount)
    assert nearest(-amount, "in", Fraction(1, 16)) == (-rounded, exact)


def test_kinds_and_factors() -> None:
    assert kind_of(quantity("3 ft2")) == "an area"
    assert factor("in") == 1
    assert inches("3/16") == quantity("3/16 in")
    assert inches(3) == quantity("3 in")


def test_the_library_behind_the_factors_waits_until_it_is_needed() -> None:
    program = "import sys; from guide.quantity import quantity; str(quantity('3 in')); print('pint' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


@pytest.mark.parametrize("text", ["1/\x1d1 in", "36\x1c3/16 in", "1\x85/2"])
def test_odd_white_space_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        quantity(text)
