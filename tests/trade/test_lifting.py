"""The lifting equation: its edges, its two sets of constants, and the least change that makes a lift acceptable."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.trade.lifting import (
    CUSTOMARY,
    METRIC,
    Lift,
    Units,
    coupling_multiplier,
    frequency_multiplier,
    ideal,
    lifting_index,
    multipliers,
    pair_limit,
    recommended_limit,
    ways,
)


@st.composite
def lifts(draw: st.DrawFn, units: Units | None = None) -> Lift:
    units = units if units is not None else draw(st.sampled_from([CUSTOMARY, METRIC]))
    return Lift(
        draw(st.fractions(0, units.far + 5, max_denominator=4)),
        draw(st.fractions(0, units.highest + 5, max_denominator=4)),
        draw(st.fractions(0, units.longest + 5, max_denominator=4)),
        draw(st.fractions(0, 180, max_denominator=2)),
        draw(st.fractions(F(1, 5), 1, max_denominator=20)),
        draw(st.sampled_from([F(1), F(95, 100), F(9, 10)])),
        units,
    )


@pytest.mark.parametrize("units", [CUSTOMARY, METRIC])
def test_the_ideal_lift_is_the_whole_constant(units: Units) -> None:
    assert recommended_limit(ideal(units)) == units.constant
    assert recommended_limit(replace(ideal(units), h=F(0), d=F(0))) == units.constant


@pytest.mark.parametrize(
    ("changes", "name", "value"),
    [
        ({"h": F(25)}, "HM", F(2, 5)),
        ({"h": F(2501, 100)}, "HM", F(0)),
        ({"h": F(3)}, "HM", F(1)),
        ({"v": F(0)}, "VM", F(775, 1000)),
        ({"v": F(70)}, "VM", F(7, 10)),
        ({"v": F(7001, 100)}, "VM", F(0)),
        ({"d": F(10)}, "DM", F(1)),
        ({"d": F(9)}, "DM", F(1)),
        ({"d": F(70)}, "DM", F(82, 100) + F(18, 700)),
        ({"d": F(7001, 100)}, "DM", F(0)),
        ({"a": F(135)}, "AM", F(568, 1000)),
        ({"a": F(136)}, "AM", F(0)),
    ],
)
def test_multipliers_at_their_ends(changes: dict[str, F], name: str, value: F) -> None:
    lift = replace(ideal(CUSTOMARY), **changes)  # type: ignore[arg-type]
    assert multipliers(lift)[name] == value


def test_the_metric_set_is_its_own() -> None:
    metric = Lift(F(50), F(0), F(100), units=METRIC)
    assert multipliers(metric) == {
        "HM": F(1, 2),
        "VM": 1 - F(3, 1000) * 75,
        "DM": F(82, 100) + F(45, 1000),
        "AM": 1,
        "FM": 1,
        "CM": 1,
    }
    customary = Lift(F(50) / F(254, 100), F(0), F(100) / F(254, 100))
    converted = recommended_limit(customary) * F(45359237, 100_000_000)
    assert recommended_limit(metric) != converted
    assert float(recommended_limit(metric)) == pytest.approx(float(converted), rel=0.03)


@given(lifts())
def test_no_limit_is_above_the_constant_or_below_nothing(lift: Lift) -> None:
    assert all(0 <= factor <= 1 for factor in multipliers(lift).values())
    assert 0 <= recommended_limit(lift) <= lift.units.constant


def test_an_impossible_lift_has_no_index() -> None:
    assert lifting_index(F(10), F(0)) is None
    assert lifting_index(F(35), F(20)) == F(7, 4)


@given(lifts(), st.fractions(1, 60, max_denominator=4))
def test_each_way_is_enough_and_no_more_than_it_must_be(lift: Lift, load: F) -> None:
    fields = {"H": "h", "V": "v", "D": "d", "A": "a", "FM": "fm", "CM": "cm"}
    found = ways(lift, load)
    if load <= recommended_limit(lift):
        assert found == []
    for way in found:
        field = fields[way.what]
        changed = replace(lift, **{field: way.to})  # type: ignore[arg-type]
        assert recommended_limit(changed) >= load
        assert way.limit >= load
        present = getattr(lift, field)
        further = way.to + (F(1, 100) if present > way.to else F(-1, 100))
        if further >= 0 and field not in ("fm", "cm"):
            assert recommended_limit(replace(lift, **{field: further})) < load  # type: ignore[arg-type]
    named = {way.what for way in found}
    if load > recommended_limit(lift):
        for what, field in fields.items():
            best = replace(lift, **{field: getattr(ideal(lift.units), field)})
            assert (what in named) == (recommended_limit(best) >= load)


def test_frequencies() -> None:
    assert frequency_multiplier(F(1, 5), F(1)) == 1
    assert frequency_multiplier(F(1, 4), F(1)) == F(94, 100)
    assert frequency_multiplier(F(4), F(8)) == F(45, 100)
    assert frequency_multiplier(F(5), F(1)) is None
    assert frequency_multiplier(F(1), F(9)) is None


def test_grips() -> None:
    assert coupling_multiplier("good", F(0)) == 1
    assert coupling_multiplier("fair", F(29)) == F(95, 100)
    assert coupling_multiplier("fair", F(30)) == 1
    assert coupling_multiplier("fair", F(74), METRIC) == F(95, 100)
    assert coupling_multiplier("poor", F(30)) == F(9, 10)


def test_two_people() -> None:
    assert pair_limit(F(51), F(51)) == 68
    assert pair_limit(F(30), F(0)) == 20


@pytest.mark.parametrize(
    "changes", [{"h": F(-1)}, {"v": F(-1)}, {"d": F(-1)}, {"a": F(-1)}, {"fm": F(2)}, {"cm": F(-1)}]
)
def test_nonsense_is_refused(changes: dict[str, F]) -> None:
    with pytest.raises(ValueError):
        replace(ideal(CUSTOMARY), **changes)  # type: ignore[arg-type]
