"""Survey, size and fit by name: what they answer, what they read, and what they say of bad input."""

from __future__ import annotations

import contextlib
import json
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.problems import Place, ProblemError
from guide.trade.given import Path
from guide.trade.work import answer, works

TRUE: dict[str, Any] = {
    "widths": ["72 in", "72 in", "72 in"],
    "heights": ["96 in", "96 in", "96 in"],
    "diagonals": ["120 in", "120 in"],
    "lean": ["0 in", "0 in"],
    "sill": "0 in",
}
UNIT = {"width": "71 in", "height": "95 1/2 in"}


def place(path: Path) -> Place:
    """A place whose file name is the path."""
    return Place("/".join(str(part) for part in path), 1)


def run(name: str, **data: object) -> dict[str, Any]:
    return answer(name, data, place)


def told(found: dict[str, Any]) -> str:
    return " ".join(found["working"])


def faults(name: str, **data: object) -> list[tuple[str, str]]:
    with pytest.raises(ProblemError) as raised:
        run(name, **data)
    return [(one.place.file if one.place else "", one.message) for one in raised.value.problems]


def test_they_come_first_in_the_order_of_a_job() -> None:
    assert [work.name for work in works()][:3] == ["survey", "size", "fit"]


def test_a_survey_of_a_true_opening() -> None:
    found = run("survey", **TRUE)
    assert found["width"] == {"bottom": 72.0, "middle": 72.0, "top": 72.0}
    assert (found["clear_width"], found["clear_height"]) == (72.0, 96.0)
    assert found["smallest"] == {"width": 72.0, "height": 96.0}
    assert (found["redundancy"], found["take_again"], found["missing"]) == (5, None, [])
    assert found["agree"] == {"width": True, "height": True}
    assert all(one["detects"] for one in found["readings"])
    assert "they agree within what is known" in told(found)
    assert "80% of the time" in told(found)


def test_a_survey_names_the_reading_to_take_again() -> None:
    found = run("survey", **{**TRUE, "widths": ["72 in", "72 in", "73 in"]})
    assert (found["take_again"], found["or"]) == ("width top", [])
    assert found["off_by"] == pytest.approx(1, abs=0.02)
    assert found["why"] == ["the tape may have been held at the one-inch mark"]
    assert "Take the width at the top again: it is about 1 in more than the others have it" in told(found)


def test_a_survey_tells_when_the_smallest_of_three_does_not_count() -> None:
    found = run("survey", widths=["72 in"] * 3, heights=["96 in"] * 3, lean=["1 in", "1 in"], sill="0 in")
    assert (found["agree"], found["clear_width"]) == ({"width": False, "height": True}, 71.0)
    assert "The smallest width read says 72 in: they disagree, and the clear one counts." in told(found)


def test_a_survey_of_little() -> None:
    found = run("survey", widths="72 in")
    assert found["width"] == {"bottom": None, "middle": 72.0, "top": None}
    assert (found["clear_width"], found["clear_height"], found["redundancy"]) == (None, None, 0)
    lines = [line for line in found["working"] if line.startswith("Not all of the opening is known")]
    assert len(lines) == 1
    assert "Nothing checks the width in the middle." in found["working"]
    level = run("survey", sill="1/8 in")
    assert (level["sill"], level["clear_width"]) == (0.125, None)
    assert level["uncertainty"].startswith("No width or height")


def test_a_level_in_any_unit() -> None:
    for sill in ("0.72 in", "1 %", "10 mm/m", "18.288 mm", "0.12 in/ft"):
        found = run("survey", widths=["72 in"] * 3, heights=["96 in"] * 3, sill=sill)
        assert found["sill"] == pytest.approx(0.72, abs=1e-4), sill
    angle = run("survey", widths=["72 in"] * 3, heights=["96 in"] * 3, sill="1 deg", lean={"left": "-0.5 deg"})
    assert angle["sill"] == pytest.approx(1.2568, abs=1e-4)
    assert angle["lean"]["left"] == pytest.approx(-0.8378, abs=1e-4)
    short = run("survey", widths=["72 in"] * 3, heights=["96 in"] * 3, lean=["1/4 in", "1/4 in"], lean_over="4 ft")
    assert short["lean"] == {"left": 0.5, "right": 0.5}


def test_millimetres_change_nothing() -> None:
    inches = run("fit", **TRUE, unit=UNIT, thickness="4 7/16 in", lean_across=["1/4 in", "0 in"])
    metric = run(
        "fit",
        widths=["1828.8 mm"] * 3,
        heights=["243.84 cm"] * 3,
        diagonals={"rising": "3.048 m", "falling": "10 ft"},
        lean={"left": "0 mm", "right": 0},
        sill="0 mm",
        unit={"width": "1803.4 mm", "height": "2425.7 mm"},
        thickness="112.7125 mm",
        lean_across={"left": "6.35 mm", "right": "0 mm"},
    )
    assert metric == inches


def test_the_wall_in_its_other_plane() -> None:
    found = run("survey", **TRUE, lean_across=["1/2 in", "-1/4 in"], thickness=["4 7/16 in", "4 1/2 in"], bearing=5)
    assert found["split"]["left"] == {"step": 0.25, "proud_at": "top", "trim_covers": False, "build_out": 0.125}
    assert found["split"]["right"]["trim_covers"] is True
    assert (found["plumb_depth"], found["frame_depth"]) == (3.9375, 4.5625)
    assert found["bearing"] == {"wanted": 6.0, "enough": False}
    assert "Build the frame out at the bottom by at least 1/8 in." in told(found)
    assert "build it out by 1 in" in told(found)
    stretched = run("survey", **TRUE, lean_across=["1/4 in", "0 in"], lean_across_over="48 in")
    assert stretched["split"]["left"]["step"] == 0.25
    deep = run("fit", **TRUE, unit={**UNIT, "depth": "6 9/16 in"}, thickness="4 7/16 in", bearing="9 in")
    assert "more off than trim covers" in told(deep)
    assert deep["bearing"] == {"wanted": 8.0, "enough": True}


def test_size() -> None:
    found = run("size", widths=["74 1/2 in", "74 3/4 in"], heights=["82 5/8 in", "83 in", "82 3/4 in"])
    assert (found["unit_width"], found["unit_height"]) == (73.5, 82.125)
    assert "unit_depth" not in found
    named = run("size", widths={"top": 74.5}, heights={"left": 82.625}, thickness="6 7/16 in")
    assert (named["unit_width"], named["unit_depth"], named["bearing"]) == (73.5, 6.5625, 8.0)


def test_fit() -> None:
    found = run("fit", **TRUE, unit=UNIT)
    assert (found["fits"], found["outcome"], found["binds"]) == (True, "pass", [])
    assert found["room"] == {"width": 1.0, "height": 0.5}
    assert {one["thick"] for one in found["shims"]} == {0.5, 0.0}
    assert found["order"] == {"width": 71.0, "height": 95.5, "depth": None, "by": "smallest reading"}
    wide = run("fit", **TRUE, unit={"width": "72 1/4 in", "height": "96 1/8 in"})
    assert (wide["fits"], wide["shims"]) == (False, [])
    assert [(one["what"], one["by"]) for one in wide["binds"]] == [("width", 0.25), ("height", 0.125)]
    assert "1/4 in too little" in told(wide)


def test_fit_by_the_guarded_rule() -> None:
    just = {"width": "72 in", "height": "95 in"}
    assert run("fit", **TRUE, unit=just)["outcome"] == "pass"
    guarded = run("fit", **TRUE, unit=just, rule="guarded")
    assert (guarded["outcome"], guarded["fits"], guarded["binds"]) == ("conditional pass", False, [])


def test_fit_tells_of_tight_and_wide_places() -> None:
    tight = run("fit", **TRUE, unit={"width": "71 3/4 in", "height": "95 1/2 in"})
    assert "Tight: 1/8 in at the left side" in told(tight)
    wide = run("fit", **TRUE, unit={"width": "69 in", "height": "95 1/2 in"})
    assert "Wide: 1 1/2 in at the left side" in told(wide)
    one = run("fit", **TRUE, unit={**UNIT, "hinge_side": "left", "hinges": ["9 in", "85 in"], "strikes": "40 in"})
    assert [s["name"] for s in one["shims"] if s["side"] == "right" and s["name"] == "strike"] == ["strike"]
    assert "strike 1/2 in at 40 in" in told(one)


def test_fit_without_enough_readings() -> None:
    found = run("fit", widths=["72 in"] * 3, unit=UNIT)
    assert (found["fits"], found["shims"], found["clear_width"]) == (None, [], None)
    assert "has at most 1 in over" in told(found)
    assert "Whether the height fits can't be told from these readings." in found["working"]
    assert run("fit", widths=["70 in"] * 3, unit=UNIT)["fits"] is False
    level = run("fit", sill=0, unit=UNIT)
    assert level["uncertainty"] == "The opening is not known well enough to give one."


def test_instruments() -> None:
    fine = run("survey", **TRUE, instruments={"tape": "tape class I", "level": "digital level", "tape_case": "3 in"})
    assert fine["u"]["width top"] < run("survey", **TRUE)["u"]["width top"]
    assert "2014/32/EU, Annex X (published)" in fine["source"]
    assert "±0.1° (common practice)" in fine["source"]


@pytest.mark.parametrize(
    ("name", "data", "path", "message"),
    [
        ("survey", {}, "", "no reading of the opening is here"),
        ("survey", {"widths": [0]}, "widths/0", '"widths.middle" is 0 in; it can\'t be less than 6 in'),
        ("survey", {"widths": "-3 in"}, "widths", '"widths.middle" is -3 in; it can\'t be less than 6 in'),
        ("survey", {"widths": ["74 in", "74 mm"]}, "widths/1", '"widths.top" is 74 mm; it can\'t be less than 6 in'),
        ("survey", {"widths": "1892"}, "widths", '"widths.middle" is 1892 in; it can\'t be more than 480 in'),
        ("survey", {"widths": ["72 in", "3 lb", "72 in"]}, "widths/1", None),
        ("survey", {"widths": [1, 2, 3, 4]}, "widths", '"widths" has 4 of the 3 values it takes'),
        ("survey", {"widths": []}, "widths", '"widths" has 0 of the 3 values it takes'),
        ("survey", {"widths": {}}, "widths", '"widths" holds nothing'),
        ("survey", {"sill": 0, "widths": {"topp": 72}}, "widths/topp", 'unknown key "widths.topp"'),
        ("survey", {"diagonals": "120 in"}, "diagonals", '"diagonals" has 1 of the 2 values it takes'),
        ("survey", {"lean": "1 in"}, "lean", '"lean" has 1 of the 2 values it takes'),
        ("survey", {"sill": "1 deg"}, "sill", '"sill" is a slope: without a length it tells no inches'),
        ("survey", {"lean": {"left": "1 %"}}, "lean/left", '"left" is a slope: without a length it tells no inches'),
        ("survey", {**TRUE, "sill": "20 in"}, "sill", '"sill" is more than one in ten: no opening leans so'),
        ("survey", {**TRUE, "sill": "40 deg"}, "sill", '"sill" is more than one in ten: no opening leans so'),
        ("survey", {**TRUE, "diagonals": ["170 in", "120 in"]}, "diagonals", None),
        ("survey", {**TRUE, "diagonals": ["90 in", "120 in"]}, "diagonals", None),
        ("survey", {**TRUE, "instruments": {"tape": "square"}}, "instruments/tape", None),
        ("survey", {**TRUE, "thickness": "1/2 in"}, "thickness/0", None),
        ("size", {"widths": 74}, "", '"heights" is missing'),
        ("fit", dict(TRUE), "", '"unit" is missing'),
        ("fit", {**TRUE, "unit": {"width": 71}}, "unit", '"unit.height" is missing'),
        ("fit", {**TRUE, "unit": {"width": "71 kg", "height": 95}}, "unit/width", None),
        ("fit", {**TRUE, "unit": {**UNIT, "hinges": [8, 99]}}, "unit/hinges", None),
        ("fit", {**TRUE, "unit": {**UNIT, "strikes": 0}}, "unit/strikes/0", None),
    ],
)
def test_faults_are_placed(name: str, data: dict[str, object], path: str, message: str | None) -> None:
    (found,) = faults(name, **data)
    assert found[0] == path
    assert message is None or found[1] == message


def test_several_faults_are_told_at_once() -> None:
    found = faults("fit", widths=["x", 72], diagonals=[1], unit={"width": 0, "height": "3 lb"}, sil=1)
    assert len(found) == 5


def test_a_fault_in_a_file_has_its_line() -> None:
    from guide.procedure.plain import read_plain

    data, where = read_plain("o.yaml", "widths:\n  - 72 in\n  - 72 lb\nsill:\n  2 kg\n")
    with pytest.raises(ProblemError) as raised:
        answer("survey", data, where)
    assert [one.place.line for one in raised.value.problems if one.place] == [3, 5]


amounts = st.integers(-160, 1600).map(lambda n: f"{n}/16 in") | st.sampled_from(["1 %", "2 deg", "900 mm", "x", ""])
listed = st.lists(amounts, max_size=4) | amounts
asked = st.fixed_dictionaries(
    {},
    optional=dict.fromkeys(("widths", "heights", "diagonals", "lean", "lean_across", "thickness"), listed)
    | dict.fromkeys(("sill", "bearing", "lean_over", "sill_over", "lean_across_over"), amounts),
)
units = st.fixed_dictionaries({"width": amounts, "height": amounts}, optional={"depth": amounts, "hinges": listed})


@settings(max_examples=150, deadline=None)
@given(asked, units)
def test_any_opening_is_answered_or_told(data: dict[str, object], unit: dict[str, object]) -> None:
    for name, given_ in (("survey", data), ("fit", {**data, "unit": unit})):
        with contextlib.suppress(ProblemError):
            json.dumps(answer(name, given_, place), allow_nan=False)


def test_examples_are_whole() -> None:
    for work in works()[:3]:
        found = answer(work.name, yaml.load(work.example, Loader=yaml.BaseLoader), place)
        assert found.get("missing", []) == []
