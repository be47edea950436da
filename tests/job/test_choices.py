"""Choices answered, and changed: freely, by a lead, or not at all."""

from __future__ import annotations

import pytest
from driving import CREW, LEAD, Drive, drive

from guide.job import commands as cmd
from guide.job import events as ev
from guide.quantity import quantity

RAIL = """
format: 1
title: Hang a coat rail
states: {rail: the rail}
choices:
  hooks: {ask: Which hooks, options: {brass: brass, none: none}}
  board: {ask: Is there a board, options: {pine: pine, none: none}}
readings:
  level: {ask: Out of level, about: gap}
make-safe: {hanging: {say: Prop it.}}
steps:
  mark: {say: Mark the wall.}
  back: {after: mark, when: {board: pine}, say: Fix the board.}
  hang: {after: [mark, back], say: Hang the rail., disturbs: [rail]}
  level: {after: hang, take: level, within: 0 in to 1/8 in, watches: [rail], when: {hooks: brass}}
  hooks: {needs: [level], after: hang, when: {hooks: brass}, say: Put the hooks on.}
  wipe: {after: [hang, hooks], say: Wipe it.}
"""
HEARD = ev.Heard("brass ones")


def hung(hooks: str = "brass", board: str = "none") -> Drive:
    job = drive(RAIL)
    job.do(cmd.Choose("hooks", hooks), cmd.Choose("board", board))
    job.finish("mark")
    return job


def test_a_choice_is_answered_once() -> None:
    job = drive(RAIL)
    assert job.why(cmd.Choose("paint", "red")) == ("no-such-choice", "", ("paint",))
    assert job.why(cmd.Choose("hooks", "steel")) == ("no-such-option", "", ("steel", "brass", "none"))
    assert job.do(cmd.Choose("hooks", "brass", HEARD)) == [ev.Chosen("hooks", "brass", HEARD)]
    assert job.why(cmd.Choose("hooks", "brass")) == ("already-chosen", "", ("hooks", "brass"))


def test_a_choice_that_nothing_hangs_on_yet_is_changed_by_anyone() -> None:
    job = hung()
    chosen = job.state.chosen_at["hooks"]
    changed = cmd.Choose("hooks", "none", HEARD, CREW, " we have none ")
    assert job.do(changed) == [ev.Chosen("hooks", "none", HEARD, chosen, CREW, "we have none")]
    assert job.state.chosen_at["hooks"] == len(job.entries) - 1


def test_a_choice_on_which_a_begun_step_hangs_is_changed_by_a_lead_with_a_reason() -> None:
    job = hung(board="pine")
    job.do(cmd.Begin("back"))
    for by in (None, CREW):
        assert job.why(cmd.Choose("board", "none", by=by, reason="no wood")) == ("choice-needs-lead", "", ("back",))
    assert job.why(cmd.Choose("board", "none", by=LEAD, reason=" ")) == ("reason-missing", "", ())
    (event,) = job.do(cmd.Choose("board", "none", by=LEAD, reason="no wood"))
    assert isinstance(event, ev.Chosen)
    assert (event.by, event.reason, event.doubts) == (LEAD, "no wood", ())


def test_a_choice_that_brings_a_step_in_puts_what_was_done_behind_it_in_doubt() -> None:
    job = hung()
    job.finish("hang")
    job.read("0 in")
    job.finish("hooks")
    change = cmd.Choose("board", "pine", by=LEAD, reason="the wall is soft")
    assert job.why(cmd.Choose("board", "pine"))[::2] == ("choice-needs-lead", ("hang", "level", "hooks"))
    (event,) = job.do(change)
    assert isinstance(event, ev.Chosen)
    assert event.doubts == ("hang", "level", "hooks"), "all behind the board, also by what they need, but not yet done"
    assert job.wants.step == "back"


def test_doubt_falls_only_on_steps_that_are_in_the_job_after_the_change() -> None:
    text = RAIL.replace(
        "  wipe: {after: [hang, hooks]",
        "  lid: {after: hang, when: {board: none}, say: Lid.}\n  wipe: {after: [hang, hooks, lid]",
    )
    job = drive(text)
    job.do(cmd.Choose("hooks", "none"), cmd.Choose("board", "none"))
    for step in ("mark", "hang", "lid", "wipe"):
        job.finish(step)
    assert job.why(cmd.Choose("board", "pine")) == ("choice-needs-lead", "", ("lid",))
    (event,) = job.do(cmd.Choose("board", "pine", by=LEAD, reason="the wall is soft"))
    assert isinstance(event, ev.Chosen)
    assert event.doubts == ("hang", "wipe")


def test_a_check_that_is_good_or_was_not_begun_may_be_dropped_one_that_is_not_may_not() -> None:
    change = cmd.Choose("hooks", "none", by=LEAD, reason="no hooks")
    good = hung()
    good.finish("hang")
    good.read("0 in")
    good.do(change)
    not_begun = hung()
    not_begun.finish("hang")
    not_begun.do(change)
    out = hung()
    out.finish("hang")
    out.read("1 in")
    assert out.why(change) == ("choice-drops-check", "", ("level",))


def test_a_begun_step_that_is_no_check_may_be_dropped() -> None:
    job = hung(board="pine")
    job.do(cmd.Begin("back"))
    job.do(cmd.Choose("board", "none", by=LEAD, reason="no wood"))
    assert job.wants.step == "hang"


def test_a_check_that_stays_in_the_job_stands_in_no_ones_way() -> None:
    text = RAIL.replace("options: {brass: brass, none: none}", "options: {brass: brass, steel: steel, none: none}")
    text = text.replace("when: {hooks: brass}", "when: {hooks: [brass, steel]}")
    job = drive(text)
    job.do(cmd.Choose("hooks", "brass"), cmd.Choose("board", "none"))
    job.finish("mark")
    job.finish("hang")
    job.read("1 in")
    assert job.why(cmd.Choose("hooks", "steel")) == ("choice-needs-lead", "", ("level",))
    (event,) = job.do(cmd.Choose("hooks", "steel", by=LEAD, reason="steel is here"))
    assert isinstance(event, ev.Chosen)
    assert event.doubts == (), "what stays in the job is not new in it"
    job.do(cmd.Correct("level", "", quantity("0 in")))
    job.finish("hooks")
    (event,) = job.do(cmd.Choose("hooks", "brass", by=LEAD, reason="brass after all"))
    assert isinstance(event, ev.Chosen)
    assert event.doubts == ()


HAZARD = """
format: 1
title: Open a wall
choices:
  way: {ask: Which way, options: {in: inwards, out: outwards}}
make-safe: {open: {say: Close it.}, loose: {say: Prop it.}}
steps:
  look: {say: Look at it.}
  take-out: {after: look, when: {way: in}, say: Take it out., leaves: [open, loose]}
  put-in: {after: take-out, when: {way: in}, say: Put it in., secures: open}
  fix: {after: [look, put-in, take-out], say: Fix it., secures: loose}
"""


def test_a_choice_may_not_take_away_what_ends_a_hazard() -> None:
    job = drive(HAZARD)
    job.do(cmd.Choose("way", "in"))
    job.finish("look")
    job.finish("take-out")
    refused = job.why(cmd.Choose("way", "out", by=LEAD, reason="it opens outwards"))
    assert refused == ("choice-leaves-hazard", "", ("open",)), "what is loose is fixed either way"
    job.finish("put-in")
    job.do(cmd.Choose("way", "out", by=LEAD, reason="it opens outwards"))


@pytest.mark.parametrize("option", ["in", "out"])
def test_steps_of_the_option_taken_are_in_the_job(option: str) -> None:
    job = drive(HAZARD)
    job.do(cmd.Choose("way", option))
    job.finish("look")
    assert job.wants.step == {"in": "take-out", "out": "fix"}[option]
