"""One shape for every fault: order, rendering with a caret, hints, and text that is safe to print."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.problems import Place, Problem, ProblemError, Problems, did_you_mean, render, visible

LINE = "         tolerence: 3 mm"


def test_a_fault_in_a_file() -> None:
    place = Place("procedures/bench.yaml", 14, 10, 9, LINE)
    fault = Problem("key", 'unknown key "tolerence" in step "level-it"', place, 'Did you mean "tolerance"?')
    assert render(fault) == (
        'procedures/bench.yaml:14:10: unknown key "tolerence" in step "level-it"\n'
        "    14 |          tolerence: 3 mm\n"
        "       |          ^^^^^^^^^\n"
        '  Did you mean "tolerance"?'
    )


def test_a_fault_without_a_place() -> None:
    assert (
        render(Problem("gone", "the disk is full", hint="Free some space.")) == "the disk is full\n  Free some space."
    )
    assert render(Problem("gone", "the disk is full")) == "the disk is full"
    assert render(Problem("gone", "no such step", Place("a.yaml", 3, 2))) == "a.yaml:3:2: no such step"


def test_a_fault_that_has_two_places() -> None:
    first, again = Place("a.yaml", 1, 1, 4, "span: 1"), Place("a.yaml", 2, 1, 4, "span: 2")
    shown = render(Problem("twice", '"span" stands twice', again, None, (("first here", first),)))
    assert shown.splitlines() == [
        'a.yaml:2:1: "span" stands twice',
        "     2 | span: 2",
        "       | ^^^^",
        "  first here: a.yaml:1:1",
        "     1 | span: 1",
        "       | ^^^^",
    ]


@pytest.mark.parametrize(
    ("text", "column", "length", "quoted", "carets"),
    [
        ("abc", 4, 1, "abc", "   ^"),
        ("abc", 9, 5, "abc", "   ^"),
        ("", 1, 1, "", "^"),
        ("abc", 2, 0, "abc", " ^"),
        ("abc", 2, 99, "abc", " ^^"),
        ("a\tb", 3, 1, "a b", "  ^"),
        ("a\x1bb", 3, 1, "a\\x1bb", "     ^"),
        ("a\x1bb", 2, 1, "a\\x1bb", " ^^^^"),
        ("日本 x", 4, 1, "日本 x", "     ^"),
        ("日本 x", 1, 2, "日本 x", "^^^^"),
        ("e\u0301 x", 4, 1, "e\u0301 x", "  ^"),
    ],
)
def test_the_caret_stands_under_the_fault(text: str, column: int, length: int, quoted: str, carets: str) -> None:
    _, line, marks = render(Problem("x", "wrong", Place("f", 1, column, length, text))).splitlines()
    assert (line, marks) == ("     1 | " + quoted, "       | " + carets)


def test_a_long_line_is_cut_around_the_fault() -> None:
    text = "a" * 500 + "WRONG" + "b" * 500
    _, line, marks = render(Problem("x", "wrong", Place("f", 1, 501, 5, text))).splitlines()
    assert line[marks.index("^") : marks.rindex("^") + 1] == "WRONG"
    assert line.endswith("b…")
    assert line.split("| ")[1].startswith("…a")
    assert len(line) < 180


def test_a_fault_as_long_as_its_long_line_stays_on_it() -> None:
    _, line, marks = render(Problem("x", "wrong", Place("f", 1, 1, 5000, "a" * 5000))).splitlines()
    assert len(marks) <= len(line)


def test_nothing_that_moves_a_cursor_is_printed() -> None:
    bad = "\x1b[2J\u202e\n"
    place = Place(f"{bad}.yaml", 1, 1, 1, bad)
    shown = render(Problem("x", f"wrong {bad}", place, f"try {bad}", ((f"see {bad}", place),)))
    assert "\x1b" not in shown
    assert "\u202e" not in shown
    assert len(shown.splitlines()) == 7


@given(st.text(max_size=300), st.integers(1, 400), st.integers(0, 400))
def test_any_line_can_be_quoted(text: str, column: int, length: int) -> None:
    lines = render(Problem("x", "wrong", Place("f", 1, column, length, text))).split("\n")
    assert len(lines) == 3
    assert set(lines[2].split("| ", 1)[1].lstrip(" ")) == {"^"}
    assert not any(unicodedata.category(c) in {"Cc", "Cs", "Cf"} for line in lines for c in line)


def test_visible_leaves_plain_text_alone() -> None:
    assert visible("36 3/16″ – Größe 日本") == "36 3/16″ – Größe 日本"
    assert visible("\ud800\u2028\x00") == "\\ud800\\u2028\\x00"


def test_collected_faults_come_in_file_order_those_without_a_place_last() -> None:
    found = Problems()
    found.raise_if_any()
    found.add("c", "third")
    found.add("b", "second", Place("a.yaml", 10, 1))
    found.add("a", "first", Place("a.yaml", 2, 7), "cure", [("first here", Place("a.yaml", 1))])
    assert len(found) == 3
    assert [p.code for p in found] == ["c", "b", "a"]
    with pytest.raises(ProblemError) as raised:
        found.raise_if_any()
    assert [p.code for p in raised.value.problems] == ["a", "b", "c"]
    assert str(raised.value) == "first\nsecond\nthird"


def test_a_fault_as_data() -> None:
    fault = Problem("twice", "again", Place("a.yaml", 2, 3), "cure", (("first here", Place("a.yaml", 1)),))
    assert fault.as_data() == {
        "code": "twice",
        "message": "again",
        "file": "a.yaml",
        "line": 2,
        "column": 3,
        "hint": "cure",
        "also": [{"note": "first here", "file": "a.yaml", "line": 1, "column": 1}],
    }
    bare = Problem("x", "y").as_data()
    assert (bare["file"], bare["line"], bare["column"], bare["hint"], bare["also"]) == (None, None, None, None, [])


def test_misspelt_words() -> None:
    assert did_you_mean("tolerence", ["tolerance", "within"]) == 'Did you mean "tolerance"?'
    assert did_you_mean("WITHIN", ["tolerance", "within"]) == 'Did you mean "within"?'
    assert did_you_mean("hinge-gap", ["hinge_gap", "hinge-gaps"]) == 'Did you mean "hinge-gaps" or "hinge_gap"?'
    assert did_you_mean("zebra", ["tolerance", "within"]) is None
    assert did_you_mean("a" * 1_000_000, ["a" * 1_000_000]) is None
    assert did_you_mean("x", []) is None
