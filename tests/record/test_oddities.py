"""What looks made up is pointed at, and what does not is left alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import pytest
from fakes import NOON
from small import SHELF

from guide.job import events as ev
from guide.procedure import load_text
from guide.quantity import quantity
from guide.record.oddities import THRESHOLDS, Oddity, oddities

TEXT = """
format: 1
title: Look about
readings:
  gap: {ask: Gap, at: [a, b, c, d, e, f, g, h], about: gap, likely: 0 in to 1 in}
  lean:
    {ask: Lean, at: [a, b, c, d, e, f, g, h], about: plumb, over: 72 in, likely: -1 in to 1 in,
     sign: {plus: out, minus: in}}
  clean: {ask: Is it clean, answer: yes-no, good: "yes"}
steps:
  gap: {take: gap, say: Look.}
  lean: {take: lean, say: Look.}
  clean: {take: clean, say: Look.}
"""
PROCEDURE = load_text("look.yaml", TEXT)
PLACES = "abcdefgh"
BO, ANA = ev.Person("Bo", "lead", "claimed"), ev.Person("Ana", "lead", "pin")


def begun(pretended: bool = False) -> ev.Started:
    return ev.Started(ev.FORMAT, "0", "look", "Look about", PROCEDURE.sha256, (), pretended)


def at(seconds: Sequence[float], happened: Sequence[ev.Event], pretended: bool = False) -> list[ev.Entry]:
    """Entries at these seconds, behind a start."""
    events: list[ev.Event] = [begun(pretended), *happened]
    return [
        ev.Entry(i, NOON + timedelta(seconds=second), "Bo", event)
        for i, (second, event) in enumerate(zip([0.0, *seconds], events, strict=True))
    ]


def gaps(*values: str) -> list[ev.Event]:
    return [ev.Took("gap", "gap", PLACES[i % 8], quantity(value), "noted") for i, value in enumerate(values)]


def found(entries: list[ev.Entry]) -> list[str]:
    return [one.code for one in oddities(PROCEDURE, entries)]


DIFFERENT = ("1/8 in", "1/16 in", "3/16 in", "1/4 in", "5/16 in", "3/8 in", "7/16 in", "1/2 in")


def test_readings_faster_than_they_can_be_taken() -> None:
    quick = at([1, 2, 3, 4, 5, 6, 7, 8], gaps(*DIFFERENT))
    (one,) = oddities(PROCEDURE, quick)
    assert (one.code, one.entries) == ("too-fast", tuple(range(1, 9)))
    assert "8 readings were given in 8 s; taking them needs about 24 s." in one.text
    assert found(at([3 * i for i in range(1, 9)], gaps(*DIFFERENT))) == []
    assert found(at([1, 2, 3, 4], gaps(*DIFFERENT[:4]))) == []


def test_readings_that_were_taken_first_and_said_in_one_breath_are_not_pointed_at() -> None:
    assert found(at([40] * 8, gaps(*DIFFERENT))) == []
    assert found(at([20] * 8, gaps(*DIFFERENT))) == ["too-fast"]


def test_rounds_are_looked_at_together_and_runs_that_are_apart_are_two() -> None:
    rounds: list[ev.Event] = [
        ev.Took("gap", "gap", place, quantity(DIFFERENT[(3 * number + i) % 8]), "noted", round=number)
        for number in range(1, 6)
        for i, place in enumerate("abc")
    ]
    seconds = [time for time in (1, 2, 300, 301, 302) for _ in range(3)]
    runs = oddities(PROCEDURE, at(seconds, rounds))
    assert [(one.code, one.entries) for one in runs] == [
        ("too-fast", tuple(range(1, 7))),
        ("too-fast", tuple(range(10, 16))),
    ]
    assert "6 readings were given in 2 s" in runs[0].text


def test_nothing_is_said_of_times_on_a_pretended_clock() -> None:
    assert found(at([0] * 8, gaps(*DIFFERENT), pretended=True)) == []
    later: list[ev.Event] = [ev.Pretended(), *gaps(*DIFFERENT), ev.ClockBack(NOON), ev.Begun("lean")]
    assert found(at([*([5] * 9), 5, 500_000], later)) == []


def leans(*values: str) -> list[ev.Event]:
    return [ev.Took("lean", "lean", PLACES[i], quantity(value), "noted") for i, value in enumerate(values)]


def test_always_zero_and_always_the_same() -> None:
    slow = [60.0 * i for i in range(1, 9)]
    assert found(at(slow[:4], leans(*["0 in"] * 4))) == ["all-zero"]
    assert found(at(slow[:3], leans(*["0 in"] * 3))) == []
    assert found(at(slow[:4], leans("0 in", "0 in", "0 in", "1/16 in"))) == []
    assert found(at(slow[:6], gaps(*["1/8 in"] * 6))) == ["all-the-same"]
    assert found(at(slow[:5], gaps(*["1/8 in"] * 5))) == []
    assert found(at(slow[:8], gaps(*["0 in"] * 8))) == []


def yes(count: int) -> list[ev.Event]:
    pair = (ev.Begun("clean"), ev.Took("clean", "clean", "", "yes", "good"))
    return [event for _ in range(count) for event in pair]


def test_questions_answered_yes_without_looking() -> None:
    seconds = [20.0 * (i // 2) + i % 2 for i in range(2, 22)]
    assert found(at(seconds, yes(10))) == ["yes-at-once"]
    assert found(at(seconds[:18], yes(9))) == []
    assert found(at([second + 4 * (i % 2) for i, second in enumerate(seconds)], yes(10))) == []
    no = yes(10)
    no[9] = ev.Took("clean", "clean", "", "no", "out")
    assert found(at(seconds, no)) == []


def test_words_in_the_place_of_numbers() -> None:
    assert found(at([60, 120, 180], [ev.Noted("good", "gap")] * 3)) == ["no-number"]
    assert found(at([60, 120, 180], [ev.Noted("2 in the corner", "gap")] * 3)) == []
    assert found(at([60, 120, 180], [ev.Noted("good", "clean")] * 3)) == []
    assert found(at([60, 120], [ev.Noted("good", "gap")] * 2)) == []
    assert found(at([60, 120, 180], [ev.Noted("good")] * 3)) == []


def test_a_clock_that_jumped() -> None:
    back = at([60, 30], [ev.Begun("gap"), ev.ClockBack(NOON + timedelta(seconds=60))])
    assert [one.text for one in oddities(PROCEDURE, back)] == ["The machine's clock went back by 30 s."]
    day = 86_400
    assert found(at([60, day], [ev.Begun("gap"), ev.Begun("lean")])) == ["clock-jump"]
    assert found(at([60, day], [ev.Stopped("said"), ev.Resumed()])) == []
    assert found(at([60, day], [ev.Begun("gap"), ev.Resumed()])) == []
    assert found(at([60, day], [ev.Done("gap"), ev.WaitOver("gap")])) == []
    assert found(at([60, 40_000], [ev.Begun("gap"), ev.Begun("lean")])) == []


def test_names_that_were_only_claimed() -> None:
    looked: list[ev.Event] = [
        ev.Looked("gap", BO, True),
        ev.Decided("gap", "concede", BO, "so"),
        ev.Looked("gap", ANA, True),
    ]
    (one,) = oddities(PROCEDURE, at([60, 120, 180], looked))
    assert (one.code, one.entries) == ("claimed", (1, 2))
    assert one.text == "Bo decided as lead 2 times by name alone: no PIN proves that it was Bo."
    crew = ev.Chosen("glass", "none", by=ev.Person("Al", "crew", "claimed"))
    assert oddities(PROCEDURE, at([60], [crew])) == []


def test_nobody_is_accused_and_every_threshold_says_where_it_comes_from() -> None:
    assert all(one.standing == "common practice" and one.value > 0 for one in THRESHOLDS.values())
    assert Oddity("claimed", "so", (1,)).as_data() == {"code": "claimed", "text": "so", "entries": [1]}


@pytest.mark.parametrize("entries", [[], [ev.Entry(0, NOON, "Bo", ev.Noted("alone"))]])
def test_next_to_nothing_is_no_oddity(entries: list[ev.Entry]) -> None:
    assert oddities(load_text("shelf.yaml", SHELF), entries) == []
