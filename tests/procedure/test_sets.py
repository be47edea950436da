"""Sets of checks that are read together: what makes no sense in them is found, with its place."""

from __future__ import annotations

import pytest

from guide.procedure.build import examine_source
from guide.procedure.model import SourceFile
from guide.trade.frame import places_known

GOOD = """format: 1
title: t
readings:
  head_level:
    ask: Out of level
    about: level
    likely: -1 in to 1 in
    sign: {plus: right high, minus: left high, toward: [right], away: [left]}
  string_gap:
    ask: Gap
    about: twist
    likely: -1 in to 1 in
    sign: {plus: left near, minus: right near, toward: [left], away: [right]}
  hung: {ask: Which side, answer: choice, options: {left: left, right: right}}
  width: {ask: Width, likely: 20 in to 90 in}
steps:
  ask:   {say: Look., take: hung}
  size:  {say: Measure., take: width}
  set:   {after: [ask, size], say: Set it., disturbs: [frame]}
  level: {after: set, take: head_level, within: 0 in ± 1/8 in, watches: [frame]}
  twist: {after: [set, level], take: string_gap, within: 0 in ± 1/8 in, watches: [frame]}
  fix:   {needs: [level, twist], say: Fix it., disturbs: [frame]}
together:
"""


def faults(lines: str, text: str = GOOD) -> list[tuple[str, str, int]]:
    _, found, _ = examine_source(SourceFile("t.yaml", text + lines), "t.yaml")
    return [(one.code, one.message, one.place.line if one.place else 0) for one in found]


def test_a_set_with_moves_loads() -> None:
    text = GOOD + "  frame: {checks: [level, twist], moves: {leaves: 1, hinges: hung, width: width, height: 80 in}}\n"
    procedure, found, _ = examine_source(SourceFile("t.yaml", text), "t.yaml")
    assert procedure is not None, found
    one = procedure.together["frame"]
    assert one.checks == ("level", "twist")
    assert one.moves is not None
    assert (one.moves.leaves, one.moves.width.text, one.moves.hinges) == (1, "width", "hung")
    assert procedure.set_of == {"level": one, "twist": one}


@pytest.mark.parametrize(
    ("lines", "code", "says"),
    [
        ("  frame: {checks: [level]}", "no-meaning", "has one check, and nothing to read it with"),
        ("  frame: {checks: [level, twits]}", "unknown-step", 'unknown step "twits"'),
        ("  frame: {checks: [level, set]}", "not-a-check", '"set" in set "frame" is not a check'),
        ("  frame: {checks: [level, twist]}\n  again: {checks: [twist, level]}", "duplicate", "in two places"),
        (
            "  frame: {checks: [level, twist], moves: {leaves: 2, width: 3, height: 80 in}}",
            "unit",
            '"3" is a plain number, and "width" of "moves"',
        ),
        (
            "  frame: {checks: [level, twist], moves: {leaves: 2, width: wide, height: 80 in}}",
            "unknown-name",
            'unknown name "wide"',
        ),
        (
            "  frame: {checks: [level, twist], moves: {leaves: 1, width: width, height: 80 in}}",
            "missing-key",
            'one leaf and no "hinges"',
        ),
        (
            "  frame: {checks: [level, twist], moves: {leaves: 1, hinges: width, width: width, height: 80 in}}",
            "shape",
            'must be a choice of "left" and "right"',
        ),
        ("  frame: {checks: [level, twist], moves: {leaves: 3, width: width, height: 80 in}}", "shape", "from 1 to 2"),
        ("  frame: {checks: [level, twist], moves: {leaves: 2, width: width}}", "missing-key", 'has no "height"'),
    ],
)
def test_fault(lines: str, code: str, says: str) -> None:
    found = faults(lines + "\n")
    assert any(one[0] == code and says in one[1] for one in found), found
    assert all(line > 0 for _, _, line in found)


@pytest.mark.parametrize(
    ("key", "what"),
    [
        ("disturbs: [leaf]", "disturbs the work"),
        ("safety: yes", "is a safety check"),
        ("undo: no", "can't be undone"),
        ("hold: {by: lead, look: at it}", "is a hold point"),
        ("wait: {time: 1 h, for: glue}", "has a wait"),
    ],
)
def test_a_check_that_does_work_is_read_by_itself(key: str, what: str) -> None:
    text = GOOD.replace("watches: [frame]}\n  fix", f"watches: [frame], {key}}}\n  fix")
    assert text != GOOD
    found = faults("  frame: {checks: [level, twist]}\n", text)
    assert any(one[0] == "not-together" and what in one[1] for one in found), found


def test_a_reading_that_no_moves_are_known_for_is_told() -> None:
    text = GOOD.replace("string_gap", "gap_of_strings")
    found = faults("  frame: {checks: [level, twist], moves: {leaves: 2, width: width, height: 80 in}}\n", text)
    assert any('takes "gap_of_strings", and no moves are known' in one[1] for one in found), found


def test_a_place_that_no_moves_are_known_for_is_told() -> None:
    text = GOOD.replace("    ask: Gap\n", "    ask: Gap\n    at: [here, there]\n")
    found = faults("  frame: {checks: [level, twist], moves: {leaves: 2, width: width, height: 80 in}}\n", text)
    assert [one[2] for one in found if 'has the place "here"' in one[1]] == [11]


def test_the_shipped_procedures_use_readings_that_are_known() -> None:
    assert set(places_known(1)["hinge_reveal"]) == {"top", "middle", "bottom"}
    assert set(places_known(2)["hinge_reveal"]) >= {"left top", "right bottom"}
