"""Sizing rules: the unit, the frame's depth, the floor under it, the split of a leaning wall."""

from __future__ import annotations

from fractions import Fraction as F

from guide.trade import sizing


def test_the_smallest_counts() -> None:
    assert sizing.size([F("74.5"), F("74.75")], [F("82.625")]) == (F("73.5"), F("82.125"))


def test_frame_depths() -> None:
    assert sizing.frame_depth(F("4.4375")) == F(73, 16)
    assert sizing.frame_depth(F("6.4375")) == F(105, 16)
    assert sizing.frame_depth(F("4.625")) == F(73, 16), "trim covers 3/16 in"
    assert sizing.frame_depth(F("4.6875")) == F("4.8125")
    assert (sizing.bearing(F(73, 16)), sizing.bearing(F(105, 16))) == (F(6), F(8))


def test_the_split_of_a_leaning_wall() -> None:
    assert sizing.split(F(0), "left") == sizing.Step("left", F(0), "neither", F(0))
    assert sizing.split(F(3, 8), "left") == sizing.Step("left", F(3, 16), "top", F(0))
    assert sizing.split(F(-1, 2), "right") == sizing.Step("right", F(1, 4), "bottom", F(1, 8))
    assert sizing.plumb_depth([F("4.5"), F("4.4")], [F(1, 4), F(-1, 2)]) == F("3.9")
    assert sizing.plumb_depth([F("4.5")], []) == F("4.5")
