"""Instruments: limits by their sources, combined uncertainty, and what each can prove."""

from __future__ import annotations

import math
from fractions import Fraction as F

import pytest

from guide.trade.decision import Limits, proves
from guide.trade.instruments import INSTRUMENTS, MM, hb44_tape_limit, mid_tape_limit, slope_of

EIGHTH = Limits(F(-1, 8), F(1, 8))


@pytest.mark.parametrize(
    ("length", "limit"),
    [
        ("0", "1/32"),
        ("72", "1/32"),
        ("72.01", "1/16"),
        ("360", "1/16"),
        ("361", "1/8"),
        ("600", "1/8"),
        ("1200", "1/4"),
    ],
)
def test_tape_tolerances_step_by_step(length: str, limit: str) -> None:
    assert hb44_tape_limit(F(length)) == F(limit)


def test_beyond_the_tables() -> None:
    assert hb44_tape_limit(F(1201)) is None
    assert INSTRUMENTS["tape"].variance(F(1201)) is None
    with pytest.raises(ValueError, match="negative"):
        hb44_tape_limit(F(-1))
    with pytest.raises(ValueError, match="negative"):
        mid_tape_limit("II", F(-1))


def test_metres_are_rounded_upward() -> None:
    assert mid_tape_limit("II", F(1000)) == F(5, 10)
    assert mid_tape_limit("II", F(1001)) == F(7, 10)
    assert mid_tape_limit("III", F(1000), hook=True) == F(13, 10)


def test_a_better_class_is_better_and_longer_is_worse() -> None:
    for length in (F(24), F(80), F(300)):
        limits = [INSTRUMENTS[f"tape class {name}"].limit(length) for name in ("I", "II", "III")]
        assert limits == sorted(limit for limit in limits if limit is not None)
    for instrument in INSTRUMENTS.values():
        near, far = instrument.variance(F(24)), instrument.variance(F(80))
        assert near is not None
        assert far is not None
        assert 0 < near <= far
        assert instrument.source
        assert instrument.proved_by


def test_a_slope_is_rounded_against_the_instrument() -> None:
    for degrees in ("0.05", "0.1", "-0.1", "1"):
        true = math.tan(math.radians(abs(float(F(degrees)))))
        assert 0 <= slope_of(F(degrees)) - F(true) <= F(1, 10**12)


def test_variance_is_limit_and_division_together() -> None:
    level = INSTRUMENTS["spirit level"]
    assert level.limit(F(80)) == F(1, 25)
    assert level.variance(F(80)) == F(1, 25) ** 2 / 3 + F(1, 128) ** 2 / 3
    assert level.calibration(F(80)) == F(1, 25) ** 2 / 3


def test_who_can_prove_an_eighth_over_a_door() -> None:
    able = {name for name, one in INSTRUMENTS.items() if proves(EIGHTH, one.variance(F(80)) or F(0))}
    assert "spirit level" in able
    assert "digital level" not in able


def test_a_millimetre() -> None:
    assert F(254, 10) * MM == 1
