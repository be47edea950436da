"""Checks that are read together: all are read before anything is corrected, then moves are made one at a time."""

from __future__ import annotations

from fractions import Fraction

import pytest
from driving import LEAD, Drive, drive

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.engine import decide
from guide.job.fold import IllegalEvent, apply, replay
from guide.quantity import Quantity, quantity

SET = """
format: 1
title: t
readings:
  square: {ask: Gap, at: [left, right], likely: 0 in to 1 in}
  gap: {ask: Gap of the leaf, likely: 0 in to 1 in}
  firm: {ask: Is it firm, answer: yes-no, good: "yes"}
together:
  frame: {checks: [square, gap]}
steps:
  set:    {say: Set it., disturbs: [frame]}
  firm:   {after: set, take: firm, watches: [shims]}
  square:
    {after: firm, needs: firm, take: square, within: 0 in to 1/16 in, watches: [frame], out: {adjust: [frame, shims]}}
  gap:
    {after: [firm, square], take: gap, within: 0 in to 1/8 in, watches: [frame], out: {adjust: [frame]}, rounds: 2}
  fix:    {needs: [square, gap], say: Fix it., disturbs: [frame]}
"""
SIXTEENTH = Quantity(Fraction(1, 16), "in")
MOVES = tuple(ev.Move(point, SIXTEENTH, "in", f"In at the {point}.") for point in ("head", "sill", "hinge"))
PLAN = ev.Planned("frame", "move", {}, (), MOVES)


def read(job: Drive, step: str, place: str, value: str) -> None:
    job.do(cmd.Take(step, place, quantity(value) if value[0].isdigit() else value))


def out(plan: ev.Planned | None = PLAN) -> Drive:
    """Both checks read, the first out; with the plan kept."""
    job = drive(SET)
    job.do(cmd.Begin("set"), cmd.Finish("set"), cmd.Begin("firm"))
    read(job, "firm", "", "yes")
    job.do(cmd.Begin("square"))
    read(job, "square", "left", "1/8 in")
    read(job, "square", "right", "1/16 in")
    job.do(cmd.Begin("gap"))
    read(job, "gap", "", "1/8 in")
    if plan is not None:
        job.do(cmd.Plan(plan))
    return job


def wants(job: Drive) -> tuple[str, str, str]:
    want = job.wants
    return want.want, want.step, want.place


def test_a_check_that_is_out_waits_until_its_set_is_read() -> None:
    job = drive(SET)
    job.do(cmd.Begin("set"), cmd.Finish("set"), cmd.Begin("firm"))
    read(job, "firm", "", "yes")
    job.do(cmd.Begin("square"))
    read(job, "square", "left", "1/8 in")
    read(job, "square", "right", "1/8 in")
    assert wants(job)[:2] == ("begin", "gap"), "the gap comes after the square, which is out"
    assert job.refused(cmd.Adjust("square")).code
    assert job.refused(cmd.Plan(PLAN)).code == "nothing-to-plan"
    job.do(cmd.Begin("gap"))
    read(job, "gap", "", "1/8 in")
    assert wants(job)[:2] == ("adjust", "square")


def test_nothing_outside_the_set_starts_on_a_check_that_is_only_read() -> None:
    job = out()
    refused = job.refused(cmd.Begin("fix"))
    assert (refused.code, refused.names) == ("not-yet", ("square",))


def test_the_first_move_makes_everything_stale_and_the_others_come_before_any_reading() -> None:
    job = out()
    assert job.do(cmd.Adjust("square")) == [ev.Adjusted("square", ("frame", "shims"), MOVES[0])]
    assert [name for name, now in job.state.steps.items() if now.stale is not None] == ["firm", "square", "gap"]
    for move in MOVES[1:]:
        assert wants(job)[:2] == ("adjust", "square")
        assert job.refused(cmd.Take("firm", "", "yes")).code
        assert job.do(cmd.Adjust("square")) == [ev.MoveMade("square", ("frame", "shims"), move)]
    assert wants(job)[:2] == ("reading", "firm")
    made = job.state.sets["frame"].rounds[0]
    assert made.moves == MOVES
    assert made.readings[ev.Spot("square", "left")] == quantity("1/8 in")


def test_a_set_without_moves_has_no_points_to_rule_out() -> None:
    assert out().refused(cmd.RuleOut("frame", ("sill",))).code == "nothing-to-plan"


def test_a_point_ruled_out_while_moves_are_made_is_left_out() -> None:
    job = out()
    job.do(cmd.Adjust("square"))
    job.keep([ev.RuledOut("frame", ("sill",), "it is screwed down")])
    assert job.do(cmd.Adjust("square")) == [ev.MoveMade("square", ("frame", "shims"), MOVES[2])]
    assert job.state.sets["frame"].rounds[0].moves == (MOVES[0], MOVES[2])


def test_what_moves_otherwise_ends_the_plan() -> None:
    job = out()
    job.do(cmd.Adjust("square"), cmd.Moved(("frame",), "a ladder fell on it"))
    assert wants(job)[:2] == ("reading", "firm")
    assert not job.state.sets["frame"].rounds, "nobody knows what the fall moved"


def test_a_place_to_read_again_comes_before_the_correction() -> None:
    spot = ev.Spot("square", "right")
    job = out(ev.Planned("frame", "read again", {}, (), again=(spot,)))
    assert wants(job) == ("reading", "square", "right")
    assert job.refused(cmd.Take("square", "left", quantity("0 in"))).code == "already-read"
    assert [event.kind for event in job.do(cmd.Take("square", "right", quantity("1/16 in")))] == ["repeated"]
    assert wants(job)[:2] == ("adjust", "square")
    assert job.state.steps["square"].current["right"].repeats == 1


def test_a_place_read_again_otherwise_is_corrected_and_judged_anew() -> None:
    job = out(ev.Planned("frame", "read again", {}, (), again=(ev.Spot("square", "left"),)))
    kinds = [event.kind for event in job.do(cmd.Take("square", "left", quantity("1/32 in")))]
    assert kinds == ["corrected", "done"]
    assert wants(job)[:2] == ("begin", "fix")


def test_a_plan_that_is_none_goes_to_the_lead_who_may_go_on() -> None:
    job = out(ev.Planned("frame", "cannot", {}, ("Shims alone can't do it.",)))
    assert wants(job)[:2] == ("lead", "square")
    job.do(cmd.Decide("square", "go on", LEAD))
    assert wants(job)[:2] == ("adjust", "square")
    assert job.do(cmd.Adjust("square")) == [ev.Adjusted("square", ("frame", "shims"))]


def test_the_lead_comes_before_the_moves_once_one_check_was_out_too_often() -> None:
    job = out(None)
    job.do(cmd.Correct("gap", "", quantity("1/4 in")), cmd.Adjust("square"))
    read(job, "firm", "", "yes")
    for step, place, value in (("square", "left", "1/8 in"), ("square", "right", "0 in"), ("gap", "", "1/4 in")):
        read(job, step, place, value)
    assert wants(job)[:2] == ("lead", "gap")


@pytest.mark.parametrize(
    "event",
    [
        ev.Planned("frame", "move", {}, (), MOVES),
        ev.Adjusted("square", ("frame",), MOVES[1]),
        ev.MoveMade("square", ("frame",), MOVES[0]),
        ev.Repeated("square", "square", "left", quantity("1/8 in")),
        ev.RuledOut("door", ("head",)),
        ev.Planned("door", "each", {}, ()),
    ],
)
def test_a_forged_event_of_a_set_is_refused(event: ev.Event) -> None:
    job = drive(SET)
    job.do(cmd.Begin("set"), cmd.Finish("set"))
    with pytest.raises(IllegalEvent):
        apply(job.procedure, job.state.copy(), ev.Entry(len(job.entries), job.now, "Bo", event))


def test_a_job_taken_up_again_goes_on_with_the_next_move() -> None:
    job = out()
    job.do(cmd.Adjust("square"), cmd.Adjust("square"))
    again = replay(job.procedure, job.entries)
    assert again.sets == job.state.sets
    assert not isinstance(decide(job.procedure, again, cmd.Adjust("square"), job.now), cmd.Refusal)
