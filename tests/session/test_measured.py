"""Readings of a job as the input of a computation, by what the procedure says they measure."""

from __future__ import annotations

from talking import talk

from guide.session.measured import measured, relying, takes_opening
from guide.talk.answers import Spot
from guide.trade.measures import MEASURES
from guide.trade.work import answer

NICHE = """format: 1
title: Fit a unit into a niche
states: {floor: the floor}
readings:
  wide: {ask: Width, at: [bottom, top], likely: 24 in to 60 in, measures: opening width}
  tall: {ask: Height, at: [left, right], likely: 60 in to 100 in, measures: opening height}
  edge:
    {ask: Lean, at: [left stud, right stud], about: plumb, unit: mm/m, over: 4 ft, likely: -9 mm/m to 9 mm/m,
     measures: stud lean, sign: {plus: to the right, minus: to the left, toward: right, away: left}}
  fall:
    {ask: Fall, about: level, likely: -1 in to 1 in, measures: sill fall,
     sign: {plus: right high, minus: left high, toward: right, away: left}}
  deep: {ask: Depth, at: [low, high], likely: 3 in to 9 in, measures: wall depth}
  side: {ask: Hinges, answer: choice, options: {left: left, right: right}, measures: hinge side}
  unit: {ask: Unit, likely: 20 in to 60 in, measures: unit width}
worked: {room: wide.top - 1 in}
steps:
  widths: {take: wide}
  heights: {take: tall}
  edges: {take: edge}
  depth: {take: deep}
  hinges: {take: side}
  floor: {take: fall, within: 0 in ± 1/8 in, watches: [floor], out: {adjust: [floor], say: Plane it.}}
  size: {after: widths, take: unit, within: at most room}
  done: {say: Set it., disturbs: [floor]}
"""


def test_readings_by_what_they_measure() -> None:
    job = talk(NICHE)
    job.say(
        "36, 36 1/8",
        "80, 80",
        "left stud 2 left, right stud 1 right",
        "4, 4 1/2",
        "left",
        "1/16 high on the right",
        "35",
    )
    found = measured(job.procedure, job.session.job.state)
    assert found.data == {
        "widths": {"bottom": "36 in", "top": "36 1/8 in"},
        "heights": {"left": "80 in", "right": "80 in"},
        "lean": {"left": "-2 mm/m", "right": "1 mm/m"},
        "lean_over": "4 ft",
        "thickness": ["4 in", "4 1/2 in"],
        "unit": {"hinge_side": "left", "width": "35 in"},
        "sill": "1/16 in",
    }
    assert found.spots["lean right"] == Spot("edges", "right stud")
    assert found.spots["sill"] == Spot("floor", "")
    assert found.values["wide", "top"] == "36 1/8 in"
    data = {key: value for key, value in found.data.items() if key != "unit"}
    survey = answer("survey", data, lambda path: None)
    assert survey["missing"] == []


def test_what_was_mended_or_disturbed_is_of_another_opening() -> None:
    job = talk(NICHE)
    job.say("36, 36 1/8", "80, 80", "0, 0", "4, 4", "left", "1/4 high on the right", "done", "1/16 high on the right")
    assert "sill" not in measured(job.procedure, job.session.job.state).data
    job = talk(NICHE)
    job.say("36, 36 1/8", "80, 80", "0, 0", "4, 4", "left", "1/16 high on the right", "somebody moved the floor")
    assert "sill" not in measured(job.procedure, job.session.job.state).data


def test_which_steps_read_the_opening_and_which_rely_on_it() -> None:
    procedure = talk(NICHE).procedure
    assert [step for step in procedure.steps if takes_opening(procedure, step)] == [
        "widths",
        "heights",
        "edges",
        "depth",
        "floor",
    ]
    assert relying(procedure) == ("size",)


def test_a_survey_knows_every_name_that_a_place_gives() -> None:
    from guide.trade.opening import NAMES

    for measure in MEASURES.values():
        if measure.survey:
            names = [measure.name(place) for place in measure.places] or [measure.survey]
            assert set(names) <= set(NAMES)
