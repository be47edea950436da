"""A record that can't have happened is refused plainly by the fold, whoever wrote it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from driving import LEAD, Drive, drive

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.fold import IllegalEvent
from guide.quantity import quantity

SHELF = """
format: 1
title: Hang a shelf
states: {shelf: the shelf}
choices: {back: {ask: Is there a back, options: {board: a board, none: none}}}
readings: {gap: {ask: Gap, about: gap, likely: 0 in to 1 in}}
make-safe: {loose: {say: Prop it., disturbs: [shelf]}}
steps:
  set: {say: Set it., disturbs: [shelf], leaves: loose}
  gap: {after: set, take: gap, say: Look., within: 0 in to 1/8 in, watches: [shelf], out: {adjust: [shelf]}}
  fix: {needs: [gap], say: Fix it., secures: loose}
  back: {after: fix, when: {back: board}, say: Nail the back on.}
"""
GAP = quantity("1/16 in")


def refused(job: Drive, event: ev.Event, match: str) -> None:
    with pytest.raises(IllegalEvent, match=match):
        job.keep([event])


def set_up() -> Drive:
    """A shelf that is set and read, and not fixed yet."""
    job = drive(SHELF)
    job.do(cmd.Choose("back", "none"))
    job.finish("set")
    job.read("1/16 in")
    return job


@pytest.mark.parametrize("name", ["", "nothing"])
@pytest.mark.parametrize(
    "event",
    [
        ev.Begun("x"),
        ev.Acknowledged("x", ()),
        ev.CrewReady("x", 2),
        ev.Looked("x", LEAD, True),
        ev.Done("x"),
        ev.WaitOver("x"),
        ev.Took("x", "gap", "", GAP, "good"),
        ev.Advised("x", 1, (), (), (), ()),
        ev.Adjusted("x", ()),
        ev.Decided("x", "go on", LEAD),
        ev.Corrected(1, "x", "gap", "", GAP, "good"),
        ev.Reopened("x"),
    ],
    ids=lambda event: event.kind if not isinstance(event, str) else event or "no name",
)
def test_a_step_that_is_not_in_the_procedure(event: ev.Event, name: str) -> None:
    refused(set_up(), replace(event, step=name), f'no step "{name}"')  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "event",
    [
        ev.Chosen("back", "board", doubts=("set", "")),
        ev.Took("gap", "gap", "", GAP, "good", doubts=("",)),
        ev.Corrected(4, "gap", "gap", "", GAP, "good", doubts=("",)),
    ],
    ids=lambda event: event.kind,
)
def test_a_doubt_on_a_step_that_is_not_in_the_procedure(event: ev.Event) -> None:
    refused(set_up(), event, 'no step ""')


def test_a_note_needs_no_step_but_names_none_that_is_not_there() -> None:
    job = set_up()
    job.keep([ev.Noted("it rains")])
    refused(job, ev.Noted("it rains", "nothing"), 'no step "nothing"')


def test_a_correction_of_another_reading() -> None:
    job = set_up()
    at = job.state.steps["gap"].last[""].seq
    refused(job, ev.Corrected(at, "gap", "width", "", GAP, "good"), 'takes no "width"')


def test_a_finish_with_a_choice_unmade() -> None:
    refused(drive(SHELF), ev.Finished("good"), "can't be finished: back, set, gap, fix")


def test_a_finish_with_a_hazard_left() -> None:
    job = set_up()
    refused(job, ev.Finished("good"), "can't be finished: fix, loose")


@pytest.mark.parametrize("claimed", [ev.Finished("conceded"), ev.Finished("good", ("gap",))])
def test_a_finish_with_concessions_that_nobody_made(claimed: ev.Finished) -> None:
    job = set_up()
    job.finish("fix")
    refused(job, claimed, "other concessions: none")
    finished = set_up()
    finished.finish("fix")
    assert finished.do(cmd.Close()) == [ev.Finished("good")]


def test_a_finish_that_hides_a_concession() -> None:
    job = drive(SHELF)
    job.do(cmd.Choose("back", "none"))
    job.finish("set")
    job.read("1/2 in")
    job.do(cmd.Decide("gap", "concede", LEAD, "the wall is curved"))
    job.finish("fix")
    refused(job, ev.Finished("good"), "other concessions: gap")


@pytest.mark.parametrize("left", [(), ("loose", "loose"), ("dark",)])
def test_a_stop_that_does_not_say_what_it_left(left: tuple[str, ...]) -> None:
    refused(set_up(), ev.Stopped("interrupted", left), "left unsafe: loose")


def test_a_stop_that_says_it_left_what_was_made_safe() -> None:
    job = set_up()
    job.do(cmd.Stop())
    job.keep([ev.MadeSafe("loose")])
    refused(job, ev.Stopped("said", ("loose",)), "left unsafe: nothing")
