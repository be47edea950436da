"""What an opening leaves for a unit: verdicts, where it binds, shims, what to order, and the wall's other plane."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.trade import fit
from guide.trade.decision import Rule
from guide.trade.fit import Unit
from guide.trade.instruments import INSTRUMENTS
from guide.trade.opening import UNKNOWNS, Opening, Tools, survey

NONE = tuple((0.0,) * len(UNKNOWNS) for _ in UNKNOWNS)


def known(**values: str) -> Opening:
    """An opening of 74 x 82 in known without error, but for these."""
    named = {**{name: F(74) for name in UNKNOWNS[:3]}, **{name: F(82) for name in UNKNOWNS[3:6]}}
    named |= {"lean": F(0), "sill": F(0)} | {name.replace("_", " "): F(value) for name, value in values.items()}
    given = {name: value for name, value in named.items() if name not in ("lean", "sill")}
    return Opening(tuple(named[name] for name in UNKNOWNS), NONE, (), given, (), 0, None, ())


def room(opening: Opening, width: str, height: str) -> tuple[F, F]:
    found = fit.fit(opening, Unit(F(width), F(height)))
    assert found.width is not None
    assert found.height is not None
    return found.width.value, found.height.value


def packing(opening: Opening, unit: Unit, side: str, name: str) -> F:
    return next(one.thick for one in fit.fit(opening, unit).shims if (one.side, one.name) == (side, name))


DOOR = Unit(F(73), F("81.5"), None, (F(8), F(41), F(74)))


def test_a_true_opening_leaves_itself() -> None:
    width, height = fit.clear_width(known()), fit.clear_height(known())
    assert [one and one.value for one in (width, height)] == [F(74), F(82)]
    assert room(known(), "73", "81.5") == (F(1), F(1, 2))
    assert fit.fit(known(), Unit(F(74), F(82))).fits is True
    assert fit.fit(known(), Unit(F(74) + F(1, 10**9), F(82))).fits is False


def test_widths_alone_lie() -> None:
    """Both studs lean an inch: three widths of 74 in, and a plumb unit of 73-1/2 in does not go in."""
    opening = known(lean="1")
    width = fit.clear_width(opening)
    assert width is not None
    assert width.value == 73
    assert width.where == ("the left stud at the top", "the right stud at the bottom")
    found = fit.fit(opening, Unit(F("73.5"), F(81)))
    assert (found.fits, found.shims) == (False, ())
    assert found.width is not None
    assert float(found.width.value) == pytest.approx(-0.5, abs=0.02)
    assert opening.smallest("width") == 74


def test_a_bow_counts_against_the_unit_whichever_stud_it_is() -> None:
    bowed = fit.clear_width(known(width_middle="73.5"))
    assert bowed is not None
    assert (bowed.value, bowed.where[0]) == (F("73.5"), "the left stud in the middle")
    both = fit.clear_width(known(width_middle="73.5", lean="1/2"))
    assert both is not None
    assert both.value == F("73.25")
    wider = fit.clear_width(known(width_middle="74.5"))
    assert wider is not None
    assert wider.value == 74


def test_a_sill_that_falls_and_a_header_that_sags() -> None:
    height = fit.clear_height(known(sill="1/4"))
    assert height is not None
    assert height.value == F("81.75")
    sagging = fit.clear_height(known(height_middle="81.5"))
    assert sagging is not None
    assert sagging.value == F("81.5")


def test_shims_fill_what_is_left() -> None:
    for name in ("bottom hinge", "middle hinge", "top hinge"):
        assert packing(known(), DOOR, "left", name) == packing(known(), DOOR, "right", name) == F(1, 2)
    leaning = known(lean="1/2")
    left, right = (packing(leaning, DOOR, side, "middle hinge") for side in ("left", "right"))
    assert float(left - right) == pytest.approx(0, abs=0.01)
    low, high = packing(leaning, DOOR, "left", "bottom hinge"), packing(leaning, DOOR, "left", "top hinge")
    assert float(low - high) == pytest.approx(0.5 * 66 / 82, abs=1e-5)
    assert packing(known(sill="1/4"), DOOR, "sill", "sill left") > F(1, 5)
    assert packing(known(sill="1/4"), DOOR, "sill", "sill right") < F(1, 40)
    assert packing(known(), DOOR, "head", "head center") == F(1, 2)


def test_shim_points_are_called_by_what_is_there() -> None:
    single = Unit(F(36), F(82), None, (F(8), F(74)), (F(40),), ("right",))
    found = fit.fit(known(**dict.fromkeys(("width_bottom", "width_middle", "width_top"), "37")), single)
    names = {side: [one.name for one in found.shims if one.side == side] for side in ("left", "right", "head", "sill")}
    assert names["right"] == ["bottom hinge", "between", "between", "top hinge"]
    assert names["left"] == ["bottom", "between", "strike", "between", "top"]
    assert names["head"] == ["head left", "head center", "head right"]
    four = replace(DOOR, hinges=(F(8), F(30), F(52), F(74)))
    assert packing(known(), four, "left", "hinge 3 from the bottom") == F(1, 2)
    one = replace(DOOR, hinges=(F(41),))
    assert packing(known(), one, "left", "hinge") == F(1, 2)


def test_what_is_not_known_is_not_told() -> None:
    widths = survey({name: F(74) for name in UNKNOWNS[:3]})
    found = fit.fit(widths, DOOR)
    assert (found.fits, found.height, found.shims) == (None, None, ())
    assert found.width is not None
    assert found.width.at_most
    assert found.width.value == 1
    assert fit.fit(widths, replace(DOOR, width=F(75))).fits is False, "too wide is too wide, whatever the lean"
    assert fit.clear_height(widths) is None
    heights = survey({name: F(82) for name in UNKNOWNS[3:6]})
    assert fit.clear_width(heights) is None
    assert fit.fit(heights, replace(DOOR, height=F(83))).fits is False


def test_the_guarded_rule_wants_room_for_the_uncertainty() -> None:
    readings = {name: F(74) for name in UNKNOWNS[:3]} | {name: F(82) for name in UNKNOWNS[3:6]}
    opening = survey({**readings, "lean left": F(0), "lean right": F(0), "sill": F(0)})
    rules: tuple[Rule, Rule] = ("plain", "guarded")
    just = [fit.fit(opening, Unit(F(74), F(81)), rule).outcome for rule in rules]
    assert just == ["pass", "conditional pass"]
    over = [fit.fit(opening, Unit(F(74) + F(1, 32), F(81)), rule).outcome for rule in rules]
    assert over == ["fail", "conditional fail"]
    assert fit.fit(opening, Unit(F("73.5"), F(81)), "guarded").fits is True


@pytest.mark.parametrize("unit", [Unit(F(0), F(80)), Unit(F(30), F(-1))])
def test_no_unit_without_a_size(unit: Unit) -> None:
    with pytest.raises(ValueError, match="above zero"):
        fit.fit(known(), unit)


def test_what_to_order() -> None:
    plain = fit.order(known(), F("4.4375"))
    assert (plain.width, plain.height, plain.depth) == (F(73), F("81.5"), F(73, 16))
    assert (plain.by, plain.stocked) == ("smallest reading", True)
    leaning = fit.order(known(lean="3/4"), F("5.25"))
    assert (leaning.width, leaning.by, leaning.stocked) == (F("72.25"), "clear rectangle", False)
    assert leaning.depth == F("5.375")
    falling = fit.order(known(sill="3/8"))
    assert (falling.width, falling.depth, falling.stocked) == (F(73), None, False)
    assert float(falling.height or 0) == pytest.approx(81.125, abs=0.07)
    nothing = fit.order(survey({"sill": F(0)}))
    assert (nothing.width, nothing.height) == (None, None)


sixteenths = st.integers(-8, 8).map(lambda n: F(n, 16))
openings = st.lists(sixteenths, min_size=8, max_size=8)
sizes = st.tuples(st.integers(-24, 16), st.integers(-24, 16)).map(lambda n: (F(74) + F(n[0], 16), F(82) + F(n[1], 16)))


def from_list(by: list[F]) -> Opening:
    values = [F(74)] * 3 + [F(82)] * 3 + [F(0)] * 2
    named = zip(UNKNOWNS, (v + b for v, b in zip(values, by, strict=True)), strict=True)
    return known(**{name.replace(" ", "_"): str(value) for name, value in named})


def mirrored(by: list[F]) -> list[F]:
    """The same opening seen from the other side."""
    wb, wm, wt, hl, hm, hr, lean, sill = by
    return [wb, wm, wt, hr, hm, hl, -(lean + wt - wb), -sill]


@settings(max_examples=150, deadline=None)
@given(openings, sizes)
def test_a_mirrored_opening_gives_mirrored_advice(by: list[F], size: tuple[F, F]) -> None:
    unit = Unit(*size)
    ours, theirs = (fit.fit(one, unit) for one in (from_list(by), from_list(mirrored(by))))
    for one, other in ((ours.width, theirs.width), (ours.height, theirs.height)):
        assert one is not None
        assert other is not None
        assert float(one.value) == pytest.approx(float(other.value), abs=1e-5)
        if abs(one.value) > F(1, 10**5):
            assert (one.value > 0) == (other.value > 0)
    there = {(shim.side, shim.name, shim.at): shim.thick for shim in theirs.shims}
    swap = {"left": "right", "right": "left"}
    for shim in ours.shims:
        across = shim.side in ("head", "sill")
        side = shim.side if across else swap[shim.side]
        name = " ".join(swap.get(word, word) for word in shim.name.split()) if across else shim.name
        at = unit.width - shim.at if across else shim.at
        assert float(there[side, name, at]) == pytest.approx(float(shim.thick), abs=1e-5)


@settings(max_examples=150, deadline=None)
@given(openings, sizes, st.integers(1, 8))
def test_a_smaller_unit_fits_wherever_a_larger_does(by: list[F], size: tuple[F, F], less: int) -> None:
    opening = from_list(by)
    if fit.fit(opening, Unit(*size)).fits:
        assert fit.fit(opening, Unit(size[0] - F(less, 16), size[1])).fits
        assert fit.fit(opening, Unit(size[0], size[1] - F(less, 16))).fits


@settings(max_examples=40, deadline=None)
@given(openings, sizes)
def test_a_finer_tape_takes_no_unit_that_the_guarded_rule_would_not(by: list[F], size: tuple[F, F]) -> None:
    """At the same opening: what a coarse tape lets pass with its guard band, a finer one does too, and never the
    other way round past the plain rule."""
    coarse = from_list(by)
    noise = tuple(tuple(0.02 * (i == j) for j in range(len(UNKNOWNS))) for i in range(len(UNKNOWNS)))
    wide = replace(coarse, covariance=noise)
    fine = replace(coarse, covariance=tuple(tuple(one / 4 for one in row) for row in noise))
    unit = Unit(*size)
    if fit.fit(wide, unit, "guarded").fits:
        assert fit.fit(fine, unit, "guarded").fits
    if fit.fit(fine, unit, "guarded").fits:
        assert fit.fit(coarse, unit, "plain").fits


def test_a_better_tape_shrinks_the_uncertainty_of_the_room() -> None:
    readings = {name: F(74) for name in UNKNOWNS[:3]} | {"lean left": F(0), "sill": F(0)}
    plain, fine = (fit.clear_width(survey(readings, Tools(INSTRUMENTS[name]))) for name in ("tape", "tape class I"))
    assert plain is not None
    assert fine is not None
    assert fine.u < plain.u
