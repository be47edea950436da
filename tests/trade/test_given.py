"""Input of a computation: what may be written, and that every fault is found in one pass, in its place."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction as F

import pytest

from guide.problems import Place, Problem, ProblemError
from guide.trade.given import Given, Path


def place(path: Path) -> Place:
    """A place whose file name is the path."""
    return Place("/".join(str(part) for part in path), 1)


def faults(data: object, read: Callable[[Given], object]) -> list[tuple[str, str]]:
    """Path and message of every fault found by reading, then finishing."""
    given = Given(data, place)
    read(given)
    with pytest.raises(ProblemError) as raised:
        given.finish()
    return [_short(problem) for problem in raised.value.problems]


def _short(problem: Problem) -> tuple[str, str]:
    return (problem.place.file if problem.place else "", problem.message)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (3, F(3)),
        ("3", F(3)),
        (0.1, F(1, 10)),
        ("0.1", F(1, 10)),
        (F(1, 3), F(1, 3)),
        ("36 3/16 in", F(579, 16)),
        ("914.4 mm", F(36)),
        ("6 ft 8 in", F(80)),
        (-2, F(-2)),
        ("-1/8 in", F(-1, 8)),
        ("1.5e2", F(150)),
        (1e-3, F(1, 1000)),
    ],
)
def test_amounts(value: object, expected: F) -> None:
    given = Given({"width": value}, place)
    assert given.amount("width", "in") == expected
    given.finish()


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ("3 lb", '"width" is a weight (3 lb); a length is needed'),
        ("wide", '"width": "wide" is not a quantity'),
        ("3 furlongs", '"width": "furlongs" in "3 furlongs" is not a unit'),
        (True, '"width" must be an amount'),
        ([3], '"width" must be an amount'),
        ({}, '"width" must be an amount'),
        (float("nan"), '"width" must be an amount'),
        (float("inf"), '"width" must be an amount'),
        (10**30, f'"width" is {10**30} in: no such size is met here'),
        ("1e-30", f'"width" is 1/{10**30} in: no such size is met here'),
        ("1e999999999", '"width": "e999999999" in "1e999999999" is not a unit'),
        (None, '"width" is missing'),
        (0, '"width" is 0 in; it must be more than 0 in'),
        ("-1 in", '"width" is -1 in; it must be more than 0 in'),
    ],
)
def test_what_is_no_amount(value: object, message: str) -> None:
    assert faults({"width": value}, lambda given: given.amount("width", "in", above=0)) == [("width", message)]


def test_least_and_most() -> None:
    assert faults({"width": "1001 in"}, lambda given: given.amount("width", "in", most=1000)) == [
        ("width", '"width" is 1001 in; it can\'t be more than 1000 in')
    ]
    assert faults({"n": -1}, lambda given: given.amount("n", "", least=0)) == [
        ("n", '"n" is -1; it can\'t be less than 0')
    ]


def test_defaults_and_what_is_not_there() -> None:
    given = Given({}, place)
    assert given.amount("width", "in", 3) == 3
    assert given.optional("width", "in") is None
    assert given.whole("number", 2) == 2
    assert given.choice("rule", ("plain", "guarded"), "plain") == "plain"
    assert given.yes_no("sure", True) is True
    assert given.text("room", "hall") == "hall"
    assert given.part("unit") is None
    assert given.parts("panes") == []
    given.finish()


def test_everything_missing_is_told_at_once() -> None:
    def read(given: Given) -> None:
        given.amount("width", "in")
        given.amounts("heights", "in")
        given.whole("number")
        given.choice("rule", ("plain", "guarded"))
        given.yes_no("sure")
        given.text("room")

    assert [message for _, message in faults({}, read)] == [
        '"width" is missing',
        '"heights" is missing',
        '"number" is missing',
        '"rule" is missing',
        '"sure" is missing',
        '"room" is missing',
    ]


def test_unknown_keys_are_told_with_what_was_meant() -> None:
    given = Given({"widht": 3, "zebra": 1, "width": 2}, place)
    given.amount("width", "in")
    with pytest.raises(ProblemError) as raised:
        given.finish()
    first, second = raised.value.problems
    assert (first.message, first.hint) == ('unknown key "widht"', 'Did you mean "width"?')
    assert (second.message, second.hint) == ('unknown key "zebra"', "Known here: width.")


def test_lists() -> None:
    given = Given({"heights": ["80 in", 81], "one": "3 in"}, place)
    assert given.amounts("heights", "in") == [80, 81]
    assert given.amounts("one", "in") == [3]
    given.finish()
    assert faults({"heights": [80, "x", -1]}, lambda given: given.amounts("heights", "in", above=0)) == [
        ("heights/1", '"heights.1": "x" is not a quantity'),
        ("heights/2", '"heights.2" is -1 in; it must be more than 0 in'),
    ]
    assert faults({"heights": []}, lambda given: given.amounts("heights", "in", fewest=2)) == [
        ("heights", '"heights" has 0 of the 2 values it needs at least')
    ]


def test_words() -> None:
    given = Given({"make": "Solid_Softwood", "sure": "Yes", "other": False, "room": " hall "}, place)
    assert given.choice("make", ("solid softwood", "solid core")) == "solid softwood"
    assert given.yes_no("sure") is True
    assert given.yes_no("other") is False
    assert given.text("room") == "hall"
    assert given.word("make") == "solid softwood"
    assert given.word("other") is None
    given.finish()
    assert faults({"make": "sold core"}, lambda given: given.choice("make", ("solid core",))) == [
        ("make", '"make" is "sold core"; it must be one of: solid core')
    ]
    assert faults({"make": 7}, lambda given: given.choice("make", ("solid core",)))[0][0] == "make"
    assert faults({"sure": "perhaps"}, lambda given: given.yes_no("sure")) == [
        ("sure", '"sure" is "perhaps"; yes or no is needed')
    ]
    assert faults({"room": 7}, lambda given: given.text("room")) == [("room", '"room" must be words')]


def test_whole_numbers() -> None:
    assert Given({"n": "7"}, place).whole("n") == 7
    assert faults({"n": 1.5}, lambda given: given.whole("n")) == [("n", '"n" is 1 1/2; a whole number is needed')]
    assert faults({"n": 11}, lambda given: given.whole("n", most=10)) == [("n", '"n" is 11; it can\'t be more than 10')]


def test_mappings_inside() -> None:
    def read(given: Given) -> None:
        unit = given.part("unit")
        assert unit is not None
        unit.amount("width", "in")
        for pane in given.parts("panes"):
            pane.amount("width", "in")

    assert faults({"unit": {"with": 3}, "panes": [{"width": "x"}, 7, {"width": 1, "tint": "grey"}]}, read) == [
        ("panes/0/width", '"panes.0.width": "x" is not a quantity'),
        ("panes/1", '"panes.1" must be keys with values'),
        ("panes/1", '"panes.1.width" is missing'),
        ("panes/2/tint", 'unknown key "panes.2.tint"'),
        ("unit", '"unit.width" is missing'),
        ("unit/with", 'unknown key "unit.with"'),
    ]
    alone = Given({"panes": {"width": 3}}, place)
    assert [pane.amount("width", "in") for pane in alone.parts("panes")] == [3]
    alone.finish()


@pytest.mark.parametrize("data", [None, 3, "text", [1, 2]])
def test_input_that_is_no_mapping(data: object) -> None:
    assert faults(data, lambda given: None) == [("", "the input must be keys with values")]


def test_the_unit_that_is_written() -> None:
    given = Given({"a": 3, "b": [4, "5 mm"], "c": "6 in", "d": "nonsense"}, place)
    assert given.unit_of("a", "d", "missing") == ""
    assert given.unit_of("a", "b", "c") == "mm"
    assert given.keys() == ("a", "b", "c", "d")
    given.finish()
