"""Moves for a whole set of checks, in conversation: read on, moved one at a time, explained, ruled out, read again."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from site_jobs import FRAME, Site, at_the_frame
from talking import Talk

from guide.job import commands as cmd
from guide.job import events as ev
from guide.quantity import quantity


def until(job: Talk, site: Site, about: str) -> Talk:
    """Go on until something of this kind is asked."""
    for _ in range(200):
        if job.ask["about"] == about:
            return job
        job.say(site.answer(job.ask))
    raise AssertionError(f"{about} is never asked: {job.ask}")


def planned(job: Talk) -> list[ev.Planned]:
    return [event for event in job.events if isinstance(event, ev.Planned)]


def test_everything_is_read_before_moves_are_told_one_at_a_time() -> None:
    job, site = at_the_frame(), Site(11)
    until(job, site, "move")
    plan = planned(job)[-1]
    assert plan.what == "move"
    assert sum(1 for turn in job.turns if "Leave it so for now" in turn.text) == 1
    first = next(index for index, event in enumerate(job.events) if isinstance(event, ev.Planned))
    read = {(e.reading, e.place) for e in job.events[:first] if isinstance(e, ev.Took)}
    assert len([spot for spot in read if spot[0] in ("flush", "hinge_reveal", "meeting_gap")]) == 13
    asked = []
    while job.ask["about"] == "move":
        asked.append(job.ask["move"]["point"])  # type: ignore[index]
        job.say(site.answer(job.ask))
    assert asked == [move.point for move in plan.moves]
    assert job.ask["step"] == "stands-firm"


def test_a_frame_that_shims_can_put_right_is_put_right() -> None:
    job, site = at_the_frame(), Site(11)
    for _ in range(200):
        if job.ask["step"] not in (*FRAME, "stands-firm"):
            break
        job.say(site.answer(job.ask))
    assert job.ask["step"] == "seal-contact"
    assert (np.abs(site.world.true) / site.world.tolerance).max() < 1.2
    assert sum(1 for event in job.events if isinstance(event, ev.Adjusted)) == 1


def test_why_a_move_and_which_are_left() -> None:
    job, site = at_the_frame(), Site(11)
    until(job, site, "move")
    move: Any = job.ask["move"]
    why = job.say("why")[0].text
    assert why.startswith(planned(job)[-1].moves[0].say)
    assert "By itself it brings" in why or "lets the other moves" in why
    listed = job.say("list the moves")[0].text
    assert all(one.say in listed for one in planned(job)[-1].moves)
    assert job.ask["move"] == move, "a question moves nothing"


def test_what_if_a_point_cannot_be_moved() -> None:
    job, site = at_the_frame(), Site(11)
    until(job, site, "move")
    point = planned(job)[-1].moves[-1].point
    turns = job.say(f"what if we can't move the {point}")
    assert any(point in turn.text for turn in turns if turn.kind == "understood")
    assert point not in [move.point for move in planned(job)[-1].moves]
    job.say("everything can be moved again")
    assert point in [move.point for move in planned(job)[-1].moves]


def test_what_rules_out_too_much_can_be_taken_back_before_the_lead() -> None:
    job, site = at_the_frame(), Site(11)
    until(job, site, "move")
    job.say("it won't move")
    ruled_out = [event for event in job.events if isinstance(event, ev.RuledOut)]
    assert ruled_out[-1].points == (planned(job)[0].moves[0].point,)
    for _ in range(12):
        if job.ask["about"] != "move":
            break
        job.say("it won't move")
    assert planned(job)[-1].what in ("cannot", "lead")
    job.say("everything can be moved again")
    assert job.ask["about"] == "move"


def test_a_point_is_asked_for_when_the_words_name_several() -> None:
    job, site = at_the_frame(), Site(11)
    until(job, site, "move")
    assert "Which point?" in job.say("we can't move the corner")[0].text
    assert not any(isinstance(event, ev.RuledOut) for event in job.events)


def test_a_misread_quarter_is_read_again_before_anything_is_moved() -> None:
    job, site = at_the_frame(), Site(21, noise=0.5)
    site.blunder["square", "top left"] = Fraction(1, 4)
    for _ in range(200):
        if planned(job):
            break
        job.say(site.answer(job.ask))
    assert planned(job)[0].what == "read again"
    assert job.ask["about"] == "reading"
    assert ev.Spot("square", "top left") in planned(job)[0].again


def test_a_member_that_is_too_long_goes_to_the_lead_with_the_reason() -> None:
    job, site = at_the_frame(), Site(5, faults={"left side frame": 0.6}, noise=0.3)
    for _ in range(300):
        if planned(job) and planned(job)[-1].what in ("cannot", "lead"):
            break
        job.say(site.answer(job.ask))
    said = " ".join(planned(job)[-1].say)
    assert "can't do it" in said, said
    assert "side frame" in said


def test_without_the_solver_each_check_keeps_its_own_correction(monkeypatch: pytest.MonkeyPatch) -> None:
    from guide.session import moves
    from guide.trade.solver import SolverMissing

    def missing(*_: object) -> None:
        raise SolverMissing("scipy is not here")

    monkeypatch.setattr(moves, "advise", missing)
    job, site = at_the_frame(), Site(11)
    until(job, site, "adjust")
    plan = planned(job)[-1]
    assert plan.what == "each"
    assert not plan.moves
    assert any("by" in sentence for sentence in plan.say)
    job.say("done")
    assert job.ask["step"] == "stands-firm"


def test_the_same_job_taken_up_again_asks_for_the_next_move() -> None:
    job, site = at_the_frame(), Site(11)
    until(job, site, "move")
    job.say(site.answer(job.ask))
    asked = job.ask["move"]
    again = job.again()
    while again.ask["about"] != "move":
        again.say("yes")
    assert again.ask["move"] == asked


def test_a_correction_while_moves_wait_works_the_moves_out_anew() -> None:
    job, site = at_the_frame(), Site(11)
    until(job, site, "move")
    before = planned(job)[-1].moves
    job.session.do(cmd.Correct("head-level", "", quantity("1/4 in")))
    job.say("repeat")
    assert len(planned(job)) == 2
    assert planned(job)[-1].moves != before or planned(job)[-1].what != "move"


def test_all_moves_can_be_reported_at_once() -> None:
    job, site = at_the_frame(), Site(11)
    until(job, site, "move")
    count = len(planned(job)[-1].moves)
    job.say("all moves are made")
    assert sum(1 for e in job.events if isinstance(e, ev.MoveMade)) == count - 1
    assert job.ask["step"] == "stands-firm"
