"""The frame as a linear model: against plain geometry, mirrored, and what no move changes."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from moves_cases import TURNED, mirror_name
from scipy.interpolate import CubicSpline

from guide.trade.frame import SIDES, THREE, Frame, FrameError, Unit, frame_of, places_known, wanted

PAIR = Unit(Fraction(145, 2), Fraction(82), hinges=(Fraction(11), Fraction(42), Fraction(74)))
LEFT = Unit(Fraction(36), Fraction(82), 1, (Fraction(11), Fraction(42), Fraction(74)))
RIGHT = Unit(Fraction(36), Fraction(82), 1, (Fraction(11), Fraction(42), Fraction(74)), "right")
UNITS = pytest.mark.parametrize("unit", [PAIR, LEFT, RIGHT], ids=["pair", "left", "right"])


def moves(frame: Frame, **by: float) -> list[Fraction]:
    """Amounts by point, written with _ for a space."""
    named = {name.replace("_", " "): Fraction(amount) for name, amount in by.items()}
    assert named.keys() <= {point.name for point in frame.points}
    return [named.get(point.name, Fraction(0)) for point in frame.points]


def changes(frame: Frame, **by: float) -> dict[tuple[str, str], Fraction]:
    """What these moves do to each reading."""
    return frame.after(dict.fromkeys(frame.spots, Fraction(0)), moves(frame, **by))


@UNITS
def test_two_combinations_change_no_reading(unit: Unit) -> None:
    frame = frame_of(unit)
    along = [Fraction(int(point.kind == "along")) for point in frame.points]
    sill = [Fraction(int(point.name.endswith("sill end"))) for point in frame.points]
    for still in (along, sill):
        assert any(still)
        for row in frame.effect.values():
            assert sum(e * m for e, m in zip(row, still, strict=True)) == 0
    matrix = np.array([[float(e) for e in row] for row in frame.effect.values()])
    assert np.linalg.matrix_rank(matrix, tol=1e-9) == len(frame.points) - 2


@UNITS
def test_the_model_is_exact_and_the_same_each_time(unit: Unit) -> None:
    frame = frame_of(unit)
    assert frame_of(unit) is frame
    assert all(type(e) is Fraction for row in frame.effect.values() for e in row)
    assert all(type(e) is Fraction for fault in frame.faults for e in fault.effect.values())


def test_the_pair_has_the_readings_of_its_procedure() -> None:
    assert len(PAIR.points_of("left")) == 3
    known = places_known(2)
    assert known["square"] == ("bottom left", "top left", "bottom right", "top right")
    assert known["head_reveal"] == ("left", "left meeting", "right", "right meeting")
    assert set(known["hinge_reveal"]) == {f"{side} {at}" for side in SIDES for at in ("bottom", "middle", "top")}
    assert places_known(1)["lock_reveal"] == ("bottom", "middle", "top")
    assert places_known(1)["hinge_reveal"] == ("bottom", "middle", "top")
    assert "meeting_gap" not in places_known(1)


def test_signs_by_hand() -> None:
    frame = frame_of(PAIR)
    head = changes(frame, head=0.125)
    assert head["plumb_along", "left side"] > 0
    assert head["plumb_along", "right side"] > 0
    assert head["square", "top left"] > 0 > head["square", "top right"]
    raised = changes(frame, right_sill_end=0.125)
    assert raised["sill_level", ""] == raised["head_level", ""] == Fraction(1, 8)
    corner = changes(frame, top_left_corner=0.25)
    assert corner["flush", "top left"] == Fraction(1, 4)
    assert corner["plumb_across", "left side"] < 0
    assert corner["twist", ""] == Fraction(1, 4)
    assert corner["string_gap", ""] == Fraction(1, 8)
    middle = changes(frame, left_middle_hinge=0.125)
    assert middle["hinge_reveal", "left middle"] < 0 < middle["hinge_reveal", "left top"]
    both = changes(frame, **{f"left_{at}_hinge": 0.125 for at in ("bottom", "middle", "top")})
    assert both["meeting_gap", "middle"] == Fraction(-1, 8)
    assert both["hinge_reveal", "left middle"] == 0
    up = changes(frame, head_centre=0.125)
    assert up["head_reveal", "left meeting"] > up["head_reveal", "left"] > 0


@UNITS
@given(seed=st.integers(0, 10_000))
def test_against_plain_geometry(unit: Unit, seed: int) -> None:
    """Members as splines through moved points, leaves as turned rectangles, angles by their tangents."""
    frame, rng, tiny = frame_of(unit), np.random.default_rng(seed), 1e-5
    amounts = {point.name: tiny * float(rng.uniform(-1, 1)) for point in frame.points}
    bent = _bent(unit, amounts)
    for spot, row in frame.effect.items():
        model = sum(float(e) * amounts[point.name] for e, point in zip(row, frame.points, strict=True))
        assert bent[spot] == pytest.approx(model, abs=tiny * 1e-3), spot


def _bent(unit: Unit, amounts: dict[str, float]) -> dict[tuple[str, str], float]:
    """Every reading less what it is on a perfect frame, by coordinates."""
    width, height, leg = float(unit.width), float(unit.height), float(unit.square)
    x: dict[str, Any] = {}
    found: dict[tuple[str, str], float] = {}
    inner = {name: by for name, by in amounts.items() if name.endswith(("hinge", "lock-side point"))}
    for side in SIDES:
        heights = [0.0, *map(float, unit.points_of(side)), height]
        off = [amounts["sill"], *(by for name, by in inner.items() if name.startswith(side)), amounts["head"]]
        x[side] = CubicSpline(heights, off, bc_type="natural")
    left, right = amounts["left sill end"], amounts["right sill end"]
    centre = (left + right) / 2 + amounts["head centre"]
    head = CubicSpline([0, width / 2, width], [left, centre, right], bc_type="natural")
    for side, corner_x, sign in (("left", 0.0, 1), ("right", width, -1)):
        sill = math.atan2(sign * leg / width * (right - left), leg)
        jamb = math.atan2(float(x[side](leg) - x[side](0)), leg)
        found["square", f"bottom {side}"] = leg * math.tan(-sign * jamb - sill)
        rise = math.atan2(float(head(corner_x + sign * leg) - head(corner_x)), leg)
        jamb = math.atan2(float(x[side](height) - x[side](height - leg)), leg)
        found["square", f"top {side}"] = leg * math.tan(sign * jamb + rise)
        low, high = (height - float(unit.level)) / 2, (height + float(unit.level)) / 2
        found["plumb_along", f"{side} side"] = float(x[side](high) - x[side](low))
        y = {end: amounts[f"{end} {side} corner"] for end in ("bottom", "top")}
        found["plumb_across", f"{side} side"] = float(unit.level) / height * (y["bottom"] - y["top"])
        for end, by in y.items():
            found["flush", f"{end} {side}"] = by
    found["sill_level", ""] = found["head_level", ""] = right - left
    first = (amounts["top left corner"] + amounts["bottom right corner"]) / 2
    second = (amounts["top right corner"] + amounts["bottom left corner"]) / 2
    found["string_gap", ""], found["twist", ""] = first - second, 2 * (first - second)
    for side in unit.hung:
        _hang(unit, side, amounts[f"{side} sill end"], x, head, found)
    return found


def _hang(
    unit: Unit, side: str, foot: float, x: dict[str, Any], head: Any, found: dict[tuple[str, str], float]
) -> None:
    """The reveals around one leaf."""
    sign, hinge_x = (1, 0.0) if side == "left" else (-1, float(unit.width))
    leaf, edge, height = float(unit.leaf_width), float(unit.edge), float(unit.height)
    heights = np.array([float(z) for z in unit.hinges])
    lean, place = (float(one) for one in np.polyfit(heights, x[side](heights), 1))
    away = "right" if side == "left" else "left"
    for off, name in ((edge, side), (leaf - edge, f"{side} meeting" if unit.leaves == 2 else away)):
        leaf_top = height + foot - sign * off * math.sin(math.atan(lean))
        found["head_reveal", name] = height + float(head(hinge_x + sign * off)) - leaf_top
    for z, at in zip(heights, THREE, strict=True):
        gap = sign * (place + lean * z - float(x[side](z)))
        found["hinge_reveal", f"{side} {at}" if unit.leaves == 2 else at] = gap
    for z, at in zip((heights[0], height / 2, heights[-1]), THREE, strict=True):
        edge_x = sign * (place + lean * z)
        if unit.leaves == 2:
            found["meeting_gap", at] = found.get(("meeting_gap", at), 0.0) - edge_x
        else:
            found["lock_reveal", at] = sign * float(x[away](z)) - edge_x


@pytest.mark.parametrize(("unit", "other"), [(PAIR, PAIR), (LEFT, RIGHT)], ids=["pair", "single"])
def test_mirrored(unit: Unit, other: Unit) -> None:
    """The mirrored unit does the mirrored thing; what + means turns round for lean, level and twist, and along."""
    here, there = frame_of(unit), frame_of(other)
    point_at = {point.name: at for at, point in enumerate(there.points)}
    for spot, row in here.effect.items():
        mirrored = there.effect[spot[0], mirror_name(spot[1])]
        reading = -1 if spot[0] in TURNED else 1
        for point, effect in zip(here.points, row, strict=True):
            moved = -1 if point.kind == "along" else 1
            assert effect == reading * moved * mirrored[point_at[mirror_name(point.name)]], (spot, point.name)
    for point in here.points:
        twin = there.points[point_at[mirror_name(point.name)]]
        swapped = mirror_name(twin.minus if point.kind == "along" else twin.plus)
        assert point.plus == swapped


def test_faults_by_hand() -> None:
    frame = frame_of(PAIR)
    effect = {fault.name: fault.effect for fault in frame.faults}
    assert len(effect) == len(frame.faults) == 10
    assert effect["left side frame"]["head_level", ""] == -1
    assert effect["left side frame"]["head_reveal", "left"] > Fraction(9, 10)
    assert effect["leaf width"]["meeting_gap", "middle"] == -1
    assert ("meeting_gap", "middle") not in effect["leaf taper"]
    assert effect["leaf taper"]["meeting_gap", "top"] < 0 < effect["leaf taper"]["meeting_gap", "bottom"]
    assert effect["left leaf height"]["head_reveal", "left meeting"] == -1
    rack = effect["left leaf rack"]
    assert -1 < rack["head_reveal", "left meeting"] < -Fraction(9, 10) < rack["head_reveal", "left"] < 0
    assert effect["head length"]["square", "top left"] < 0
    assert effect["head length"]["plumb_along", "left side"] == -effect["head length"]["plumb_along", "right side"]
    assert {fault.name for fault in frame_of(LEFT).faults} == {
        "left side frame",
        "right side frame",
        "head length",
        "sill length",
        "left leaf rack",
        "left leaf height",
        "leaf width",
        "leaf taper",
    }


def test_usual_tolerances() -> None:
    found = wanted(frame_of(PAIR).spots)
    reveal = found["hinge_reveal", "left top"]
    assert (reveal.nominal, reveal.low, reveal.high) == (Fraction(1, 8), Fraction(1, 16), Fraction(3, 16))
    assert found["twist", ""].high == 2 * found["string_gap", ""].high == Fraction(1, 8)


@pytest.mark.parametrize(
    ("changed", "key"),
    [
        ({"width": Fraction(0)}, "width"),
        ({"height": Fraction(-1)}, "height"),
        ({"leaves": 3}, "leaves"),
        ({"hinges": (Fraction(41),)}, "hinges"),
        ({"hinges": (Fraction(41), Fraction(41))}, "hinges"),
        ({"hinges": (Fraction(0), Fraction(41))}, "hinges"),
        ({"lock_side": (Fraction(41), Fraction(90))}, "lock_side"),
        ({"level": Fraction(83)}, "level"),
        ({"square": Fraction(0)}, "square"),
        ({"square": Fraction(80)}, "square"),
        ({"edge": Fraction(20)}, "edge"),
        ({"edge": Fraction(-1)}, "edge"),
    ],
)
def test_a_unit_that_cannot_be(changed: dict[str, object], key: str) -> None:
    with pytest.raises(FrameError) as raised:
        replace(PAIR, **changed)  # type: ignore[arg-type]
    assert raised.value.key == key
    assert str(raised.value)


def test_other_numbers_of_hinges() -> None:
    two = frame_of(Unit(Fraction(30), Fraction(60), 1, (Fraction(8), Fraction(52))))
    assert ("hinge_reveal", "top") in two.spots
    assert all(two.effect["hinge_reveal", at] == (0,) * len(two.points) for at in ("bottom", "top"))
    four = frame_of(Unit(Fraction(36), Fraction(96), 1, tuple(Fraction(z) for z in (8, 30, 60, 88))))
    assert {"left lower hinge", "left upper hinge"} < {point.name for point in four.points}
    five = frame_of(Unit(Fraction(36), Fraction(96), 1, tuple(Fraction(z) for z in (8, 30, 50, 70, 88))))
    assert "left 5 hinge" in {point.name for point in five.points}
