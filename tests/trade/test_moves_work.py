"""`guide work moves`: what a frame's readings ask for, from plain data; faults of the input in their places."""

from __future__ import annotations

import json
import subprocess
import sys
from fractions import Fraction
from typing import Any

import pytest
from moves_cases import TURNED, mirror_name

from guide.problems import Place, ProblemError
from guide.trade import moves_work
from guide.trade.given import Path
from guide.trade.solver import SolverMissing
from guide.trade.work import answer, works

PAIR = {"width": "72 1/2 in", "height": "82 in", "hinges": ["11 in", "42 in", "74 in"]}
LEAN: dict[str, Any] = {
    "square": {"top left": "1/8 in", "top right": "-1/8 in", "bottom left": "-1/8 in", "bottom right": "1/8 in"},
    "plumb_along": {"left side": "1/2 in", "right side": "1/2 in"},
}


def place(path: Path) -> Place:
    """A place whose file name is the path."""
    return Place("/".join(str(part) for part in path), 1)


def run(**data: object) -> dict[str, Any]:
    """The answer to this input."""
    return answer("moves", {"unit": PAIR, **data}, place)


def faults(**data: object) -> list[tuple[str, str]]:
    """Where each fault of the input is, and what it says."""
    with pytest.raises(ProblemError) as raised:
        run(**data)
    return [(problem.place.file if problem.place else "", problem.message) for problem in raised.value.problems]


def test_the_keys_that_stand() -> None:
    found = run(readings={"head_level": "3/16 in"})
    assert found["next"] == "move"
    assert found["moves"] == [
        {
            "point": "left sill end",
            "direction": "up",
            "by": found["moves"][0]["by"],
            "by_text": found["moves"][0]["by_text"],
            "say": found["moves"][0]["say"],
        }
    ]
    assert 0 < found["moves"][0]["by"] <= 0.25
    assert found["say"] == [found["moves"][0]["say"]]
    assert found["proven_fewest"] is True
    assert found["inside"] is True
    assert abs(found["after"]["head_level"]) <= 0.125
    assert found["cannot"] is None
    assert found["out_now"] == [{"reading": "head_level", "place": ""}]
    assert {"reading": "twist", "place": ""} not in found["not_read"]
    assert {"reading": "string_gap", "place": ""} in found["not_read"]


def test_one_reading_and_missing_ones_are_told_plainly() -> None:
    found = run(readings={"head_level": "3/16 in"})
    assert any(line.startswith("1 reading of 28 known to this unit, 1 out") for line in found["working"])
    assert "What was not read is not looked after: read it before and after." in found["working"]
    good = run(readings={"head_level": 0})
    assert (good["next"], good["moves"], good["inside"]) == ("read again", [], True)
    assert len(good["read_again"]) == 27
    assert good["say"][0].startswith("Take these as well: ")


def test_everything_good_is_done() -> None:
    first = run(readings={"head_level": 0})
    readings: dict[str, Any] = {"head_level": 0}
    for one in first["read_again"]:
        value = "1/8 in" if one["reading"].endswith(("reveal", "gap")) and one["reading"] != "string_gap" else 0
        if one["place"]:
            readings.setdefault(one["reading"], {})[one["place"]] = value
        else:
            readings[one["reading"]] = value
    found = run(readings=readings)
    assert (found["next"], found["moves"], found["not_read"]) == ("done", [], [])
    assert found["proven_fewest"] is True
    assert found["after"]["hinge_reveal"]["left top"] == 0.125


def test_units_change_nothing() -> None:
    def in_mm(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: in_mm(one) for key, one in value.items()}
        if isinstance(value, list):
            return [in_mm(one) for one in value]
        inches = (
            sum((Fraction(part) for part in value.removesuffix(" in").split()), Fraction(0)) if " in" in value else 0
        )
        return f"{float(inches * Fraction(254, 10)):.6f} mm"

    assert run(readings=LEAN)["moves"] == run(readings=in_mm(LEAN), unit=in_mm(PAIR))["moves"]
    assert run(readings=LEAN)["moves"]


def test_mirrored_readings_give_mirrored_moves() -> None:
    readings = {
        "plumb_along": {"left side": "5/16 in", "right side": "1/4 in"},
        "hinge_reveal": {"left top": "1/8 in", "left middle": "1/4 in", "left bottom": "1/8 in"},
    }
    turned = {
        name: {mirror_name(at): f"-{by}" if name in TURNED else by for at, by in part.items()}
        for name, part in readings.items()
    }
    here, there = run(readings=readings), run(readings=turned)
    swap = {"left": "right", "right": "left"}
    mirrored = {
        (mirror_name(move["point"]), swap.get(move["direction"], move["direction"]), move["by"])
        for move in here["moves"]
    }
    assert mirrored == {(move["point"], move["direction"], move["by"]) for move in there["moves"]}
    assert here["moves"]


def test_a_level_that_reads_slopes_or_degrees() -> None:
    """Over 80 in, 0.4 % and 4 mm/m are 0.32 in; 0.2° is 0.279 in; over 72-1/2 in, 1/16 in/ft is 0.378 in."""
    for slope, shown in (("0.4 %", "0.32 in"), ("4 mm/m", "0.32 in"), ("-0.2 deg", "-0.2793 in")):
        found = run(readings={"plumb_along": {"left side": slope, "right side": slope}})
        assert any(line.endswith(f"over 80 in is {shown}.") for line in found["working"]), found["working"]
        assert found["moves"]
    found = run(readings={"head_level": "1/16 in/ft"})
    assert any("0.3776 in" in line for line in found["working"])
    assert faults(readings={"head_level": "9 deg"})[0][0] == "readings/head_level"
    assert "can't be more than" in faults(readings={"head_level": "10 %"})[0][1]
    assert "a length is needed" in faults(readings={"square": {"top left": "1 %"}})[0][1]


def test_names_in_any_order_and_a_single_door() -> None:
    one = {"width": 36, "height": 82, "leaves": 1, "hinge_side": "right"}
    found = run(
        unit=one,
        readings={"hinge reveal": {"middle": "1/4 in", "right top": "1/8 in"}, "Plumb-along": {"left": 0}},
    )
    assert set(found["after"]["hinge_reveal"]) == {"middle", "top"}
    assert [move["point"] for move in found["moves"]] == ["right middle hinge"]
    pair = run(readings={"hinge_reveal": {"middle left": "1/4 in"}}, ruled_out="middle left hinge")
    assert "left middle hinge" not in {move["point"] for move in pair["moves"]}
    assert pair["moves"]


def test_what_the_width_says_is_said() -> None:
    for width, told in ((48, "one leaf"), (49, "a pair")):
        found = run(unit={"width": width, "height": 82}, readings={"head_level": 0})
        assert any(f"Taken as {told}, by its width" in line for line in found["working"])
        assert any("Hinges taken at" in line for line in found["working"])


def test_tolerances() -> None:
    readings = {"head_level": "3/32 in"}
    assert run(readings=readings)["out_now"] == []
    assert run(readings=readings, tolerances={"head_level": "1/16 in"})["out_now"]
    ends = run(readings={"hinge_reveal": {"left top": "5/16 in"}}, tolerances={"hinge_reveal": ["1/4 in", "3/8 in"]})
    assert ends["out_now"] == []
    exact = run(readings={"head_level": "1/8 in"})
    assert exact["out_now"] == []
    assert run(readings={"head_level": "0.125000001 in"})["out_now"]


def test_the_gap_between_the_strings_is_half_of_the_twist() -> None:
    flush = dict.fromkeys(("top left", "top right", "bottom left", "bottom right"), 0)
    gap = run(readings={"string_gap": "3/32 in", "flush": flush})
    twist = run(readings={"twist": "3/16 in", "flush": flush})
    assert gap["out_now"] == [{"reading": "string_gap", "place": ""}]
    assert run(readings={"string_gap": "1/16 in"})["out_now"] == run(readings={"twist": "1/8 in"})["out_now"] == []
    assert {"reading": "twist", "place": ""} not in gap["not_read"]
    assert {"reading": "string_gap", "place": ""} not in twist["not_read"]
    assert "string_gap" not in twist["after"]


def test_even() -> None:
    readings = {"meeting_gap": {"top": "11/64 in", "middle": "1/8 in", "bottom": "5/64 in"}}
    assert run(readings=readings)["out_now"] == []
    found = run(readings=readings, even={"meeting_gap": "1/16 in"})
    assert len(found["out_now"]) == 2
    gaps = found["after"]["meeting_gap"].values()
    assert not found["moves"] or max(gaps) - min(gaps) <= 1 / 16


def test_a_doubtful_reading_and_what_to_do_if_it_stands() -> None:
    first = run(readings={"head_level": 0})
    readings: dict[str, Any] = {"head_level": 0}
    for one in first["read_again"]:
        value = "1/8 in" if one["reading"].endswith(("reveal", "gap")) and one["reading"] != "string_gap" else 0
        if one["place"]:
            readings.setdefault(one["reading"], {})[one["place"]] = value
        else:
            readings[one["reading"]] = value
    readings["plumb_along"]["left side"] = "1/4 in"
    found = run(readings=readings)
    assert found["next"] == "read again"
    assert {"reading": "plumb_along", "place": "left side"} in found["read_again"]
    assert "misread" in found["say"][0]
    if found["moves"]:
        assert "If they stand:" in found["say"]
    else:
        assert found["cannot"] is not None


HINGES = [f"{side} {at}" for side in ("left", "right") for at in ("top", "middle", "bottom")]


def narrow_pair() -> dict[str, Any]:
    """Leaves too narrow between them: with their hinges left alone the meeting gap stays open."""
    return {
        "meeting_gap": {"top": "3/8 in", "middle": "3/8 in", "bottom": "3/8 in"},
        "hinge_reveal": {f"{side} {at}": "1/8 in" for side in ("left", "right") for at in ("top", "middle", "bottom")},
        "square": {
            "top left": "1/16 in",
            "top right": "1/16 in",
            "bottom left": "-1/16 in",
            "bottom right": "-1/16 in",
        },
        "plumb_along": {"left side": 0, "right side": 0},
    }


def test_why_it_cannot_be_done_adds_up() -> None:
    readings = narrow_pair()
    found = run(
        readings=readings,
        ruled_out=[f"{side} {at} hinge" for side in ("left", "right") for at in ("top", "middle", "bottom")],
    )
    assert found["next"] in ("cannot", "read again")
    assert (found["moves"], found["proven_fewest"]) == ([], False)
    why = found["cannot"]
    assert why["sure"] is True
    assert why["short_by"] == pytest.approx(why["sum"] - why["allowed"], abs=2e-6)
    assert why["short_by"] > 0
    total = 0.0
    for one in why["weights"]:
        read = readings[one["reading"]][one["place"]]
        total += one["weight"] * float(Fraction(str(read).removesuffix(" in")))
    assert total == pytest.approx(why["sum"], abs=1e-4)
    assert "Whatever is moved" in why["why"]
    assert why["would_do"]
    assert found["after"]["meeting_gap"]["top"] == 0.375


def test_a_gap_that_is_shut_is_trusted_less() -> None:
    shut = run(readings={"meeting_gap": {"top": 0, "middle": "1/8 in"}})
    line = "the gap between the doors, top: shut; nobody sees by how much, so it is trusted to 1/16 in."
    assert line in shut["working"]
    assert "0.062 in" in shut["uncertainty"] or "0.063 in" in shut["uncertainty"]
    assert line not in run(readings={"meeting_gap": {"top": "1/64 in"}})["working"]


def test_rounds_teach() -> None:
    first = run(readings=LEAN)
    moves = [{key: move[key] for key in ("point", "direction", "by")} for move in first["moves"]]
    same = run(readings=LEAN, rounds=[{"moves": moves, "readings": LEAN}])
    assert same["learned"]
    assert all("not made" in line for line in same["learned"])
    assert "learned" not in first
    done = run(readings=LEAN, rounds={"moves": moves, "readings": {"plumb_along": {"left side": 0, "right side": 0}}})
    assert done["out_now"] == []


def test_room_and_wall_and_step() -> None:
    readings = {"flush": {"top left": "1/4 in"}}
    assert run(readings=readings)["moves"][0]["direction"] == "toward the outside"
    tight = run(readings=readings, room={"top left corner": {"toward the outside": "1/16 in"}})
    assert tight["cannot"]["room_at"] == ["top left corner"]
    assert tight["cannot"]["short_by"] == 0.125
    fine = run(readings={"flush": {"top left": "3/32 in"}}, step="1/32 in", tolerances={"flush": "1/64 in"})
    assert fine["moves"][0]["by"] == 0.09375
    coarse = run(readings={"flush": {"top left": "3/32 in"}}, tolerances={"flush": "1/64 in"})
    assert coarse["cannot"]["thinner_shims"] == 0.03125
    assert run(readings=readings, wall_lean={"left": "1/4 in", "right": 0})["moves"]


FAULTS: list[tuple[dict[str, object], str, str]] = [
    ({"unit": {"width": 0, "height": 82}}, "unit/width", '"unit.width" is 0 in; it must be more than 0 in'),
    ({"unit": {"width": 72, "height": -82}}, "unit/height", '"unit.height" is -82 in; it must be more than 0 in'),
    ({"unit": PAIR | {"hinges": [3, 90]}}, "unit/hinges", "a point lies beyond the ends of the side frame"),
    ({"unit": PAIR | {"leaves": 3}}, "unit/leaves", '"unit.leaves" is 3; it can\'t be more than 2'),
    ({"unit": None}, "", '"unit" is missing'),
    ({}, "", "there are no readings to go by"),
    ({"readings": {}}, "", "there are no readings to go by"),
    ({"readings": {"flush": {"top left": None}}}, "", "there are no readings to go by"),
    ({"readings": {"head_levl": 0}}, "readings/head_levl", 'no reading of this unit is called "head_levl"'),
    ({"readings": {"lock_reveal": {}}}, "readings/lock_reveal", 'no reading of this unit is called "lock_reveal"'),
    ({"readings": {"square": {"mid": 0}}}, "readings/square/mid", 'the square has no place "mid" on this unit'),
    ({"readings": {"flush": "1/16 in"}}, "readings/flush", '"readings.flush" must be keys with values'),
    (
        {"readings": {"head_level": "2 lb"}},
        "readings/head_level",
        '"readings.head_level" is a weight (2 lb); a length is needed',
    ),
    (
        {"readings": {"head_level": "4 in"}},
        "readings/head_level",
        '"readings.head_level" is 4 in; it can\'t be more than 3 in',
    ),
    (
        {"readings": {"hinge_reveal": {"left top": "-1/8 in"}}},
        "readings/hinge_reveal/left top",
        '"readings.hinge_reveal.left top" is -1/8 in; it can\'t be less than 0 in',
    ),
    (
        {"readings": {"flush": {"top left": 0, "left top": 0}}},
        "readings/flush/left top",
        "flush, top left is given twice",
    ),
    ({"ruled_out": ["hed"]}, "ruled_out/0", 'this unit has no shim point "hed"'),
    ({"ruled_out": [3]}, "ruled_out/0", '"ruled_out.0" must be words'),
    (
        {"tolerances": {"head_level": 0}},
        "tolerances/head_level",
        '"head_level" is 0 in either way; it must be more than nothing',
    ),
    ({"tolerances": {"head_level": [1, 0]}}, "tolerances/head_level", "the tolerance is empty: from 1 to 0"),
    (
        {"tolerances": {"head_level": [0, 1, 2]}},
        "tolerances/head_level",
        '"head_level" has 3 limits; a tolerance has two',
    ),
    ({"u": {"head_level": 0}}, "u/head_level", '"u.head_level" is 0 in; it must be more than 0 in'),
    ({"step": 0}, "step", '"step" is 0 in; it must be more than 0 in'),
    ({"room": {"head": {"up": 1}}}, "room/head/up", 'unknown key "room.head.up"'),
    (
        {"rounds": {"moves": {"point": "head", "direction": "up", "by": 1}, "readings": {"head_level": 0}}},
        "rounds/moves/direction",
        '"rounds.moves.direction" is "up"; it must be one of: right, left',
    ),
    ({"rounds": [{"moves": []}]}, "rounds/0", 'a round needs "readings": what was read after its moves'),
    ({"redings": 1}, "redings", 'unknown key "redings"'),
]


@pytest.mark.parametrize(("data", "path", "message"), FAULTS)
def test_faults_are_placed(data: dict[str, object], path: str, message: str) -> None:
    filled = data if "readings" in data or data == {} else {"readings": {"head_level": 0}, **data}
    found = faults(**filled)
    assert (path, message) in found
    assert len(found) == 1


def test_all_faults_in_one_pass() -> None:
    found = faults(readings={"head_levl": 0, "flush": {"top lft": 0}}, ruled_out=["x"], step="y", odd=1)
    assert {path for path, _ in found} == {"readings/head_levl", "readings/flush/top lft", "ruled_out/0", "step", "odd"}


def test_without_scipy(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(*_: object) -> None:
        raise SolverMissing("working out moves needs scipy, which is not installed")

    monkeypatch.setattr(moves_work, "advise", missing)
    with pytest.raises(ProblemError, match="needs scipy"):
        run(readings={"head_level": "3/16 in"})


def test_on_the_command_line() -> None:
    example = next(work.example for work in works() if work.name == "moves")
    for text, code in ((example, 0), (example.replace("head_level", "head_levle"), 3)):
        done = subprocess.run(
            [sys.executable, "-m", "guide", "work", "moves", "-", "--json"], input=text, capture_output=True, text=True
        )
        assert done.returncode == code
        if code:
            assert "-:5:15: no reading of this unit is called" in done.stderr
            assert 'Did you mean "head_level"' in done.stderr
        else:
            found = json.loads(done.stdout)
            assert found["moves"]
            assert found["proven_fewest"] is True
            assert "left bottom hinge" not in {move["point"] for move in found["moves"]}
