"""Every computation by name: examples run as they are, keys stand, and bad input is told plainly and in its place."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.problems import Place, ProblemError
from guide.trade.answer import by_tape, counted, decimal, in_words
from guide.trade.given import Path
from guide.trade.work import answer, works

NAMES = [work.name for work in works()]
META = {"work", "uncertainty", "working", "source"}


def place(path: Path) -> Place:
    """A place whose file name is the path."""
    return Place("/".join(str(part) for part in path), 1)


def example(name: str) -> Any:
    """The example input of a computation, every value as written."""
    return yaml.load(next(work.example for work in works() if work.name == name), Loader=yaml.BaseLoader)


def run(name: str, **data: object) -> dict[str, Any]:
    """The answer to this input."""
    return answer(name, data, place)


@pytest.mark.parametrize("name", NAMES)
def test_the_example_runs_as_it_is(name: str) -> None:
    found = answer(name, example(name), place)
    assert found["work"] == name
    assert found["uncertainty"]
    assert found["working"]
    assert found["source"]
    assert len(found) > len(META)
    assert json.loads(json.dumps(found, allow_nan=False)) == found
    lines = found["working"]
    assert isinstance(lines, list)
    assert all("Fraction" not in line and "None" not in line for line in lines)


@pytest.mark.parametrize("name", NAMES)
def test_the_example_as_json_numbers_gives_the_same(name: str) -> None:
    text = next(work.example for work in works() if work.name == name)
    assert answer(name, yaml.safe_load(text), place) == answer(name, example(name), place)


def test_names_and_summaries() -> None:
    assert len(set(NAMES)) == len(NAMES)
    for contract in ("decide", "lift", "sealant", "screws", "hand", "doorway", "paint"):
        assert contract in NAMES
    for work in works():
        assert work.summary
        assert work.summary[0].islower()


def test_no_such_computation() -> None:
    with pytest.raises(ProblemError) as raised:
        answer("screw", {}, place)
    assert raised.value.problems[0].hint == 'Did you mean "screws"?'
    with pytest.raises(ProblemError) as raised:
        answer("zzz", {}, place)
    assert "decide" in (raised.value.problems[0].hint or "")


def test_decide() -> None:
    found = run("decide", measured=13.6, u=1.8, low=12.5, high=16.3, rule="plain")
    assert (found["probability"], found["outcome"]) == (pytest.approx(0.66, abs=0.005), "pass")
    guarded = run("decide", measured="10.9", u=".1", low=9, high=11, rule="guarded")
    assert (guarded["outcome"], guarded["accepted"]) == ("conditional pass", False)
    assert guarded["acceptance"] == {"low": 9.166, "high": 10.834}
    strict = run("decide", measured="10.82", u=".1", low=9, high=11, rule="guarded", guard=1)
    assert (strict["outcome"], strict["acceptance"]) == ("conditional pass", {"low": 9.2, "high": 10.8})


def test_decide_across_units_and_with_repeats() -> None:
    inch = run("decide", measured="1/16 in", u="1/64 in", high="1/8 in", rule="guarded")
    assert run("decide", measured="1.5875 mm", u="1/64 in", high="1/8 in", rule="guarded")["outcome"] == inch["outcome"]
    assert (inch["unit"], inch["acceptance"]["low"]) == ("in", None)
    pooled = run("decide", measured=["1/8 in", "7/64 in", "9/64 in", "1/2 in"], u="1/64 in", high="1/4 in")
    assert pooled["take_again"] == 3
    assert any("Reading number 4" in line for line in pooled["working"])
    with_shared = run("decide", measured=[0, 0, 0, 0], u=2, u_shared=1, low=-9, high=9)
    assert "1.41" in with_shared["uncertainty"]


def test_decide_over_many() -> None:
    found = run("decide", measured=0, u="1/64", low="-1/16", high="1/16", spread="1/32")
    assert found["global"]["false_accept"] == pytest.approx(0.01239, abs=1e-5)
    assert run("decide", measured=0, u=1, high=3, spread=1, mean=0)["global"]["false_accept"] < 0.002


def test_instrument() -> None:
    digital = answer("instrument", example("instrument"), place)
    assert (digital["proves"], digital["repeats"]) == (False, None)
    spirit = run("instrument", instrument="spirit level", length="80 in", low="-1/8 in", high="1/8 in")
    assert (spirit["proves"], spirit["limit"]) == (True, 0.04)
    tight = run("instrument", instrument="tape", length="80 in", low="-1/16 in", high="1/16 in")
    assert (tight["proves"], tight["repeats"]) == (False, 3)
    one_end = run("instrument", instrument="rule", length=2, high="1/8 in")
    assert one_end["acceptance"]["low"] is None


def test_lift() -> None:
    found = run("lift", load=35, H=20, V=27, D=33, A=0, FM=1, CM=0.9)
    assert (found["rwl"], found["li"]) == (19.62, 1.78)
    assert found["acceptable"] is False
    assert "hands at most 11.2 in" in found["ways"][0]
    assert any("Not covered" in line for line in found["working"])
    metric = run("lift", load="10 kg", H="40 cm", V="75 cm", D="25 cm")
    assert (metric["rwl"], metric["unit"]) == (14.38, "kg")
    assert run("lift", load=10, H=40, V=75, D=25, units="metric")["rwl"] == 14.38


def test_a_lift_by_two_and_one_by_nobody() -> None:
    two = run("lift", load=60, H=10, V=30, D=10, people=2)
    assert (two["acceptable"], two["ways"], two["two_people"]) == (True, [], 68.0)
    assert run("lift", load=60, H=10, V=30, D=10)["ways"] == ["two people, of whom each could do as one"]
    heavy = run("lift", load=160, H=18, V=30, D=10, people=2)
    assert heavy["acceptable"] is False
    assert "not by two people at all, 68 lb is the most" in heavy["ways"][0]
    assert run("lift", load=50, H=20, V=10, D=40)["ways"] == ["no single change is enough: make several of them"]
    zero = run("lift", load=50, H=26, V=30, D=10)
    assert (zero["rwl"], zero["li"]) == (0.0, None)


def test_a_lift_with_a_frequency_and_a_grip() -> None:
    found = run("lift", load=20, H=10, V=20, D=10, frequency=1, hours="8 h", CM="Fair")
    assert (found["multipliers"]["FM"], found["multipliers"]["CM"]) == (0.75, 0.95)


def test_sealant_and_its_kin() -> None:
    found = run("sealant", width="1/4 in", depth="1/4 in", length="48 ft")
    assert (found["feet_per_cartridge"], found["cartridges"]) == (24.3, 3)
    assert run("sealant", width="1/4", depth=0.25, length=48, waste=0)["cartridges"] == 2
    assert run("sealant", width="1/4 in", depth="1/4 in", length="48 ft", waste="10 %")["cartridges"] == 3
    assert (
        run("sealant", width="6.35 mm", depth="6.35 mm", length="576 in", cartridge="300 ml")["feet_per_cartridge"] > 24
    )
    joint = run("joint", width="3/4 in", opening_width="36 in", opening_height="80 in", sides=4)
    assert (joint["depth"], joint["feet"]) == (0.375, 19.33)
    assert any("can't move with its seal" in line for line in run("joint", width="1/8 in")["working"])
    bed = run("bed", sill="74 1/2 in", beads=2)
    assert (bed["feet"], bed["cartridges"]) == (12.42, 1)
    assert any("Fewer" in line for line in bed["working"])
    foam = run("foam", width=36, height=80, gap="1/2", depth=2)
    assert (foam["cans"], foam["volume"]) == (None, 196.0)


def test_screws() -> None:
    found = answer("screws", example("screws"), place)
    assert (found["penetration"], found["enough"], found["length_stocked"]) == (1.25, False, 3.5)
    assert found["screws"] == {"at_shims": 5, "long": 3}
    hard = run("screws", gauge=10, wood="red oak", load=1000)
    assert (hard["pilot_text"], hard["enough"], hard["length"]) == ("7/64", True, 3.0)
    assert hard["screws_for_load"] == 3
    end = run("screws", gauge=10, grain="end", load="100 lb")
    assert (end["withdrawal"], end["screws_for_load"]) == (0.0, None)
    odd = run("screws", gauge=7, gravity=0.5, penetration="7 in")
    assert (odd["pilot"], odd["length_stocked"], odd["enough"]) == (None, None, True)
    short = run("screws", gauge=12, length="2 in", shim="1/2 in")
    assert (short["withdrawal"], short["enough"]) == (0.0, False)


def test_hand() -> None:
    assert run("hand", hinges="left", opens="in")["hand"] == "LH"
    assert run("hand", hinges="left", opens="out")["hand"] == "LHR"
    for seen_from, side, opens in (
        ("outside", "right", "away from me"),
        ("inside", "left", "toward me"),
        ("inside", "left", "in"),
    ):
        found = run("hand", seen_from=seen_from, hinges=side, opens=opens)
        assert (found["hand"], found["din"]) == ("RH", "left")
    assert run("hand", active="left", opens="toward me")["hand"] == "LHR"


def test_doorway() -> None:
    assert answer("doorway", example("doorway"), place)["meets"] is True
    assert run("doorway", clear_width="31 15/16 in")["meets"] is False
    assert run("doorway", step_outside="7 3/4 in")["meets"] is False
    assert run("doorway", step_inside="1 1/2 in")["meets"] is True
    pair = run("doorway", clear_width="64 in", one_leaf_width="31 in")
    assert [one["meets"] for one in pair["findings"]] == [True, False]
    unseen = run("doorway", glass={"distance": 3, "bottom": 8})
    assert unseen["meets"] is None
    inner = run("doorway", exit="no", clear_width=30, access="yes")
    assert [one["topic"] for one in inner["findings"]] == ["access width"]
    assert "local office" in inner["ask"]


def test_paint() -> None:
    assert answer("paint", example("paint"), place)["advice"] == "lead-safe work"
    outside = run("paint", built=1950, parts={"where": "outside", "width": 36, "height": 80})
    assert outside["advice"] == "assume lead"
    assert any("exactly the limit; frame and trim count as well" in line for line in outside["working"])
    for built in ({"built": "unknown"}, {}, {"built": 1977}):
        found = run("paint", **built, parts=[{"where": "inside", "area": 1}])
        assert found["advice"] == "assume lead"
        assert "not needed" not in json.dumps(found).lower()
        assert any("Who may test" in line for line in found["working"])
    assert run("paint", built=1999)["advice"] == "built after the rule's date"
    assert run("paint", built=1950, window_replaced="yes")["advice"] == "lead-safe work"


@pytest.mark.parametrize(
    ("name", "data", "path", "message"),
    [
        ("decide", {"measured": 1, "u": 1}, "", 'a tolerance needs "low", "high" or both'),
        ("decide", {"measured": 1, "u": 1, "low": 2, "high": 1}, "high", "the tolerance is empty: low is 2, high is 1"),
        ("decide", {"measured": "1 in", "u": "1 lb", "high": 1}, "u", '"u" is a weight (1 lb); a length is needed'),
        ("decide", {"measured": 1, "u": -1, "high": 1}, "u", '"u" is -1; it can\'t be less than 0'),
        (
            "decide",
            {"measured": 1, "u": 0, "high": 1, "spread": 1},
            "u",
            'with a "spread" of true values an uncertainty is needed',
        ),
        (
            "decide",
            {"measured": 1, "u": 1, "high": 1, "mean": 1},
            "mean",
            '"mean" tells where true values lie; it goes with "spread"',
        ),
        (
            "decide",
            {"measured": [], "u": 1, "high": 1},
            "measured",
            '"measured" has 0 of the 1 values it needs at least',
        ),
        (
            "instrument",
            {"instrument": "tape", "length": "101 ft", "high": 1},
            "length",
            "the source gives no figure for a tape over 1,212 in",
        ),
        ("lift", {"load": 0, "H": 1, "V": 1}, "load", '"load" is 0 lb; it must be more than 0 lb'),
        (
            "lift",
            {"load": 9, "H": 1, "V": 1, "frequency": 9},
            "frequency",
            "the table kept here ends at 4 a minute and 8 hours",
        ),
        (
            "lift",
            {"load": 9, "H": 1, "V": 1, "frequency": 1, "FM": 1},
            "FM",
            '"FM" and "frequency" say the same thing twice',
        ),
        ("screws", {"height": 82, "hinges": [90]}, "height", "a hinge or strike lies beyond the ends of the frame"),
        (
            "joint",
            {"width": 1, "opening_width": 9},
            "",
            'the way around needs both "opening_width" and "opening_height"',
        ),
        (
            "weight",
            {"width": 9, "height": 9, "make": "solid core", "glass": {"width": 9, "height": 10, "thickness": 1}},
            "glass",
            "there is more glass than leaf",
        ),
        (
            "hand",
            {"hinges": "left", "active": "left", "opens": "in"},
            "hinges",
            '"hinges" is for a single door, "active" for a pair',
        ),
        ("hand", {"hinges": "top", "opens": "in"}, "hinges", '"hinges" is "top"; it must be one of: left, right'),
        ("doorway", {}, "", "nothing here to look up"),
        ("paint", {"built": "old"}, "built", '"built" is "old"; it must be one of: unknown'),
        (
            "paint",
            {"parts": {"where": "inside", "area": 1, "width": 3}},
            "parts/width",
            '"width" and "area" say the same thing twice',
        ),
    ],
)
def test_faults_are_placed(name: str, data: dict[str, object], path: str, message: str) -> None:
    with pytest.raises(ProblemError) as raised:
        answer(name, data, place)
    (problem,) = raised.value.problems
    assert problem.place is not None
    assert (problem.place.file, problem.message) == (path, message)


def test_several_faults_are_told_at_once() -> None:
    with pytest.raises(ProblemError) as raised:
        run("sealant", width="x", depth="-1 in", lenght="3 ft")
    assert sorted(problem.message for problem in raised.value.problems) == [
        '"depth" is -1 in; it must be more than 0 in',
        '"length" is missing',
        '"width": "x" is not a quantity',
        'unknown key "lenght"',
    ]


ODD: list[object] = [
    None,
    "",
    "x",
    "-1",
    "0",
    "1e9",
    "3 lb",
    "12 in",
    "yes",
    True,
    [],
    [1],
    {},
    {"a": 1},
    -5,
    1e8,
    "1/3",
]


@pytest.mark.parametrize("name", NAMES)
def test_a_spoilt_example_is_answered_or_told(name: str) -> None:
    for path in _paths(example(name)):
        for odd in ODD:
            data = copy.deepcopy(example(name))
            spot = data
            for part in path[:-1]:
                spot = spot[part]
            spot[path[-1]] = odd
            _answered_or_told(name, data)


def _paths(data: Any, above: Path = ()) -> list[Path]:
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [path for key, value in items for path in [(*above, key), *_paths(value, (*above, key))]]


def _answered_or_told(name: str, data: object) -> None:
    try:
        found = answer(name, data, place)
    except ProblemError as raised:
        found = {"told": [problem.as_data() for problem in raised.problems]}
    assert all(found.values()) or "told" not in found
    json.dumps(found, allow_nan=False)


plain = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.sampled_from(["3 in", "2 lb"])
)
keys = st.sampled_from(sorted({key for name in NAMES for key in example(name)})) | st.text(max_size=5)
inputs = st.recursive(
    plain, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=6), max_leaves=12
)


@settings(max_examples=400)
@given(st.sampled_from(NAMES), inputs)
def test_any_input_is_answered_or_told(name: str, data: object) -> None:
    _answered_or_told(name, data)


def test_figures_for_people() -> None:
    from fractions import Fraction

    assert in_words(Fraction(1000), "ft", 0) == "1,000 ft"
    assert in_words(Fraction(243, 10), "ft", 1) == "24.3 ft"
    assert in_words(Fraction(-1, 1000), "") == "0" or in_words(Fraction(-1, 1000), "") == "-0"
    assert decimal(Fraction(5, 1000), 2) == 0.01
    assert by_tape(Fraction(3, 16)) == "3/16 in"
    assert by_tape(Fraction(1, 5)) == "about 3/16 in"
    assert counted(1, "can") == "1 can"
    assert counted(0, "can") == "0 cans"
