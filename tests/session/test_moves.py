"""Moves for a whole set of checks, in conversation: read on, moved one at a time, explained, ruled out, read again."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from typing import Any

import numpy as np
import pytest
from site_world import Crew, World
from talking import Talk, obliging, talk

from guide.job import commands as cmd
from guide.job import events as ev
from guide.quantity import Quantity, quantity

KNOWN = {"unit_width": "73 1/2", "unit_height": "82 1/8", "opening_width": "74 1/2", "opening_height": "82 5/8"}
FRAME = (
    "flush",
    "square",
    "plumb",
    "plumb-across",
    "head-level",
    "twist",
    "head-reveal",
    "hinge-reveal",
    "meeting-gap",
)


@cache
def _beginning() -> tuple[str, ...]:
    """What a crew to whom everything goes right says until the frame is to be checked."""
    job, said = talk("exterior-pair", pretended=True), []
    while job.ask["step"] != "flush":
        said.append(_easy(job.ask))
        job.say(said[-1])
    return tuple(said)


def _easy(ask: Mapping[str, Any]) -> str:
    if ask["about"] == "confirm":
        return "yes"
    return KNOWN.get(str(ask["reading"])) or obliging(ask)


def at_the_frame() -> Talk:
    job = talk("exterior-pair", pretended=True)
    job.say(*_beginning())
    return job


class Site:
    """A simulated frame and a crew that reads it and moves it."""

    def __init__(self, seed: int, faults: Mapping[str, float] | None = None, noise: float = 1.0) -> None:
        self.world = World(np.random.default_rng(seed), faults=faults)
        self.crew = Crew(self.world, np.random.default_rng(seed + 10**6), noise)
        self.blunder: dict[tuple[str, str], Fraction] = {}

    def answer(self, job: Talk) -> str:
        """What the crew says to what is asked now, once it has done it."""
        ask: Any = job.ask
        if ask["about"] == "move":
            self.make(ask["move"])
            return "done"
        if ask["about"] == "reading" and ask["step"] in FRAME and ask["expects"] == "number":
            return str(Quantity(self.read(ask["reading"], ask["place"] or ""), "in"))
        return _easy(ask)

    def read(self, reading: str, place: str) -> Fraction:
        twist = reading == "string_gap"
        value = self.crew.reading(self.world.spots.index(("twist" if twist else reading, place)))
        value += self.blunder.get((reading, place), Fraction(0))
        if twist:
            return value / 2
        return max(value, Fraction(0)) if reading.endswith(("reveal", "meeting_gap")) else value

    def make(self, move: Mapping[str, Any]) -> None:
        plus = move["direction"] in ("right", "up", "toward the room")
        if move["direction"] in ("in", "out"):
            plus = (move["direction"] == "in") == move["point"].startswith("left")
        self.crew.move({move["point"]: quantity(move["by"]).base * (1 if plus else -1)})


def until(job: Talk, site: Site, about: str) -> Talk:
    """Go on until something of this kind is asked."""
    for _ in range(200):
        if job.ask["about"] == about:
            return job
        job.say(site.answer(job))
    raise AssertionError(f"{about} is never asked: {job.ask}")


def planned(job: Talk) -> list[ev.Planned]:
    return [event for event in job.events if isinstance(event, ev.Planned)]


def test_everything_is_read_before_moves_are_told_one_at_a_time() -> None:
    job, site = at_the_frame(), Site(11)
    until(job, site, "move")
    plan = planned(job)[-1]
    assert plan.what == "move"
    assert plan.proven
    assert sum(1 for turn in job.turns if "Leave it so for now" in turn.text) == 1
    first = next(index for index, event in enumerate(job.events) if isinstance(event, ev.Planned))
    read = {(e.reading, e.place) for e in job.events[:first] if isinstance(e, ev.Took)}
    assert len([spot for spot in read if spot[0] in ("flush", "hinge_reveal", "meeting_gap")]) == 13
    asked = []
    while job.ask["about"] == "move":
        asked.append(job.ask["move"]["point"])  # type: ignore[index]
        job.say(site.answer(job))
    assert asked == [move.point for move in plan.moves]
    assert job.ask["step"] == "stands-firm"


def test_a_frame_that_shims_can_put_right_is_put_right() -> None:
    job, site = at_the_frame(), Site(11)
    for _ in range(200):
        if job.ask["step"] not in (*FRAME, "stands-firm"):
            break
        job.say(site.answer(job))
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
        job.say(site.answer(job))
    assert planned(job)[0].what == "read again"
    assert job.ask["about"] == "reading"
    assert ev.Spot("square", "top left") in planned(job)[0].again


def test_a_member_that_is_too_long_goes_to_the_lead_with_the_reason() -> None:
    job, site = at_the_frame(), Site(5, faults={"left side frame": 0.6}, noise=0.3)
    for _ in range(300):
        if planned(job) and planned(job)[-1].what in ("cannot", "lead"):
            break
        job.say(site.answer(job))
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
    job.say(site.answer(job))
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
