"""Sealant and foam: yields, depths, and whole cartridges."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.trade import sealing

sizes = st.fractions(F(1, 16), 2, max_denominator=16)
feet = st.fractions(0, 500, max_denominator=12)


def test_the_bed_of_a_pair() -> None:
    assert sealing.bed_feet(F(149, 2)) == F(149, 8)
    assert sealing.bed_feet(F(36), beads=4) == 12


def test_around_an_opening() -> None:
    assert sealing.perimeter_feet(F(36), F(80)) == F(196, 12)
    assert sealing.perimeter_feet(F(36), F(80), sides=4) == F(232, 12)
    with pytest.raises(ValueError, match="three sides or on four"):
        sealing.perimeter_feet(F(36), F(80), sides=2)


@given(feet, sizes, sizes, st.fractions(0, 1, max_denominator=20))
def test_cartridges_are_enough_and_not_one_too_many(length: F, width: F, depth: F, waste: F) -> None:
    each = sealing.feet_per_cartridge(width, depth)
    number = sealing.cartridges(length, each, waste)
    assert number * each >= length * (1 + waste)
    assert (number - 1) * each < length * (1 + waste)


@given(sizes)
def test_depths_stay_between_their_ends(width: F) -> None:
    depth = sealing.joint_depth(width)
    assert F(1, 4) <= depth <= F(1, 2)
    assert depth == width / 2 or depth in (F(1, 4), F(1, 2))


def test_nothing_is_not_a_bead() -> None:
    with pytest.raises(ValueError, match="a width and a depth"):
        sealing.feet_per_cartridge(F(0), F(1))
    with pytest.raises(ValueError, match="has a width"):
        sealing.joint_depth(F(0))


def test_foam() -> None:
    found = sealing.foam(F(20), F(1, 2), F(3, 2), None)
    assert found == sealing.Foam(F(180), None)
    assert sealing.foam(F(20), F(1, 2), F(3, 2), F(180), waste=F(0)).cans == 1
    assert sealing.foam(F(20), F(1, 2), F(3, 2), F(180)).cans == 2
