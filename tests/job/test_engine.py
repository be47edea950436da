"""The table's rules one by one: what a command does, and exactly why it is refused."""

from __future__ import annotations

from datetime import timedelta

import pytest
from driving import CREW, LEAD, Drive, drive

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Command
from guide.job.engine import TABLE, legal
from guide.quantity import quantity

BENCH = """
format: 1
title: Fit a bench top
states: {top: the top, rail: the rail}
choices:
  edge: {ask: Which edge, options: {oak: oak, none: none}}
readings:
  span: {ask: Span, at: [front, back], keep: smallest, likely: 10 in to 100 in}
  level: {ask: Out of level, at: [left, right], about: gap}
  firm: {ask: Is it firm, answer: yes-no, good: "yes"}
  snug: {ask: Gap, about: gap}
cautions: {heavy: The top is heavy.}
make-safe:
  propless: {say: Prop it., stays: yes, disturbs: [top]}
  open: {say: Cover it.}
steps:
  span: {say: Measure., take: span}
  shape: {after: span, say: "Shape the top to {span}.", undo: no}
  note: {after: span, say: "Write {span} on it."}
  set: {after: [shape, note], say: Set it., caution: heavy, crew: 2, disturbs: [top], leaves: [propless, open]}
  level: {after: set, take: level, within: 0 in to 1/8 in, watches: [top, rail], out: {adjust: [rail]}}
  firm: {after: set, take: firm, watches: [top], safety: yes}
  fix: {needs: [level, firm], say: Fix it., secures: [propless, open], wait: {time: 90 s, for: the glue}}
  edge: {after: fix, when: {edge: oak}, say: Put the edge on.}
  last: {after: [fix, edge], say: The gap is looked at., take: snug, within: 0 in to 1/4 in,
    hold: {by: inspector, look: the gap}}
"""
INSPECTOR = ev.Person("Ines", "inspector", "pin")
NOBODY = ev.Person("  ", "lead", "claimed")


def bench(edge: str = "none") -> Drive:
    job = drive(BENCH)
    job.do(cmd.Choose("edge", edge))
    return job


def shaped() -> Drive:
    job = bench()
    job.read("20 in", "21 in")
    job.finish("shape")
    job.finish("note")
    return job


def set_up() -> Drive:
    job = shaped()
    job.finish("set")
    return job


def checked() -> Drive:
    job = set_up()
    job.read("0 in", "0 in", "yes")
    return job


def fixed() -> Drive:
    job = checked()
    job.finish("fix")
    return job


def glued() -> Drive:
    job = fixed()
    job.now += timedelta(seconds=90)
    job.do(cmd.PassTime())
    return job


def out() -> Drive:
    """A bench of which level is out for the first time."""
    job = set_up()
    job.read("1 in", "0 in")
    return job


def in_doubt() -> Drive:
    """A bench whose span was mistaken after the top was shaped."""
    job = set_up()
    job.do(cmd.Correct("span", "front", quantity("19 in")))
    return job


# What would be legal


def test_what_is_asked_is_legal_and_what_the_status_allows_at_any_moment() -> None:
    always = ("hurt", "note", "correct", "redo", "moved", "stop")
    assert legal(bench().procedure, bench().state) == always, "to begin a step is not asked of the crew"
    assert legal(out().procedure, out().state) == ("adjust", *always)


def test_a_stopped_job_can_be_resumed_and_no_other() -> None:
    job = checked()
    job.do(cmd.Leave("interrupted"))
    assert legal(job.procedure, job.state) == ("resume", "hurt")
    job.do(cmd.Resume())
    assert legal(job.procedure, job.state) == ("found", "hurt", "note")


def test_a_job_that_makes_safe_can_go_on() -> None:
    job = set_up()
    job.do(cmd.Stop())
    assert legal(job.procedure, job.state) == ("make-safe", "hurt", "note", "go-on")
    assert job.refused(cmd.Finish("set")).legal == legal(job.procedure, job.state)


def test_a_finished_job_can_be_looked_back_on() -> None:
    job = glued()
    job.read("0 in")
    job.do(cmd.Look("last", INSPECTOR, True), cmd.Close())
    assert legal(job.procedure, job.state) == ("hurt", "note", "correct", "redo", "moved", "stop")


COMMANDS: list[Command] = [
    cmd.Choose("edge", "oak"),
    cmd.Begin("span"),
    cmd.Acknowledge("set"),
    cmd.CrewIsThere("set"),
    cmd.Take("span", "front", quantity("20 in")),
    cmd.Finish("shape"),
    cmd.Adjust("level"),
    cmd.Look("last", LEAD, True),
    cmd.Decide("level", "go on", LEAD),
    cmd.Correct("span", "front", quantity("20 in")),
    cmd.Redo("span"),
    cmd.Moved(("top",)),
    cmd.Stop(),
    cmd.GoOn(),
    cmd.MakeSafe("open"),
    cmd.Leave("interrupted"),
    cmd.Resume(),
    cmd.Find(True),
    cmd.SomeoneHurt(),
    cmd.Clear(CREW),
    cmd.Speak(CREW),
    cmd.Note("x"),
    cmd.PassTime(),
    cmd.PretendClock(),
    cmd.Close(),
]


def stopping() -> Drive:
    job = set_up()
    job.do(cmd.Stop())
    return job


def stopped() -> Drive:
    job = set_up()
    job.do(cmd.Leave("interrupted"))
    return job


def found() -> Drive:
    job = stopped()
    job.do(cmd.Resume())
    return job


def hurt() -> Drive:
    job = set_up()
    job.do(cmd.SomeoneHurt("his hand"))
    return job


def finished() -> Drive:
    job = glued()
    job.read("0 in")
    job.do(cmd.Look("last", INSPECTOR, True), cmd.Close())
    return job


@pytest.mark.parametrize("make", [set_up, stopping, found, stopped, hurt, finished])
def test_what_is_not_in_the_table_for_a_status_is_refused(make: type) -> None:
    job = make()
    status = job.state.status
    for command in COMMANDS:
        if type(command) not in TABLE[status]:
            refusal = job.refused(command)
            assert (refusal.code, refusal.legal) == (f"while-{status}", legal(job.procedure, job.state))
    assert any(type(command) not in TABLE[status] for command in COMMANDS)


# Steps


def test_cautions_and_crew_are_kept_as_they_were_shown() -> None:
    job = shaped()
    job.do(cmd.Begin("set"))
    assert job.why(cmd.CrewIsThere("set")) == ("something-else-first", "set", ("cautions",))
    assert job.do(cmd.Acknowledge("set")) == [ev.Acknowledged("set", ("heavy",))]
    assert job.do(cmd.CrewIsThere("set")) == [ev.CrewReady("set", 2)]
    assert job.do(cmd.Finish("set")) == [ev.Done("set")]


def test_begin_is_refused_for_a_step_that_was_begun_and_one_whose_turn_it_is_not() -> None:
    job = bench()
    assert job.why(cmd.Begin("nothing")) == ("no-such-step", "nothing", ())
    job.do(cmd.Begin("span"))
    assert job.why(cmd.Begin("span")) == ("already-begun", "span", ())
    assert job.why(cmd.Begin("set")) == ("not-yet", "set", ("shape", "note"))
    assert job.why(cmd.Begin("edge")) == ("not-in-this-job", "edge", ())
    shape = shaped()
    assert shape.why(cmd.Begin("shape")) == ("already-done", "shape", ())
    assert drive(BENCH).why(cmd.Begin("span")) == ("choose-first", "span", ("edge",))


def test_another_step_that_may_start_is_begun_in_its_place() -> None:
    job = bench()
    job.read("20 in", "21 in")
    assert job.do(cmd.Begin("note")) == [ev.Begun("note")]
    assert job.do(cmd.Finish("note")) == [ev.Done("note")]
    assert job.wants.step == "shape"


def test_no_other_step_is_begun_while_something_is_due_again_or_out() -> None:
    job = bench()
    job.read("20 in", "21 in")
    job.do(cmd.Redo("span"))
    assert job.why(cmd.Begin("note")) == ("not-yet", "note", ("span",))
    assert out().why(cmd.Begin("firm")) == ("not-yet", "firm", ("level",))


def test_a_step_that_could_start_waits_for_its_turn() -> None:
    job = bench()
    job.read("20 in", "21 in")
    assert job.wants.step == "shape"
    assert job.why(cmd.Finish("note")) == ("not-yet", "note", ("shape",))
    job.do(cmd.Begin("shape"))
    assert job.why(cmd.Acknowledge("shape")) == ("something-else-first", "shape", ("done",))


def test_nothing_is_done_while_the_work_is_made_safe_for_a_wait_or_while_it_waits() -> None:
    text = BENCH.replace("leaves: [propless, open]}", "leaves: [propless], wait: {time: 1 h, for: grout}}")
    text = text.replace("  open: {say: Cover it.}\n", "").replace("secures: [propless, open]", "secures: propless")
    job = drive(text)
    job.do(cmd.Choose("edge", "none"))
    job.read("20 in", "21 in")
    for step in ("shape", "note", "set"):
        job.finish(step)
    assert job.wants.name == "propless"
    assert job.why(cmd.Finish("set")) == ("already-done", "set", ())
    job.do(cmd.MakeSafe("propless", "Bo"))
    assert job.wants.want == "wait"
    assert job.why(cmd.Finish("set")) == ("already-done", "set", ())
    assert job.why(cmd.Begin("level")) == ("waiting", "level", ("set",))
    assert job.why(cmd.Begin("fix")) == ("not-yet", "fix", ("level", "firm"))


def test_a_wait_ends_exactly_when_it_was_to() -> None:
    job = checked()
    (done,) = job.finish("fix")
    until = job.now + timedelta(seconds=90)
    assert done == ev.Done("fix", until=until)
    assert job.why(cmd.Begin("last")) == ("waiting", "last", ("fix",))
    job.now = until - timedelta(seconds=1, microseconds=1)
    assert job.do(cmd.PassTime()) == []
    job.now = until - timedelta(seconds=1)
    assert job.do(cmd.PassTime()) == [ev.WaitOver("fix")]


def test_a_look_by_the_right_person_ends_a_check_with_a_hold_point() -> None:
    job = glued()
    assert [event.kind for event in job.read("1/8 in")] == ["took"], "it is not done before somebody looked"
    assert job.why(cmd.Look("last", NOBODY, True)) == ("name-missing", "last", ())
    assert job.why(cmd.Look("last", LEAD, True)) == ("wrong-role", "last", ("inspector",))
    assert job.why(cmd.Look("last", INSPECTOR, False, " ")) == ("reason-missing", "last", ())
    assert job.why(cmd.Look("set", INSPECTOR, True)) == ("already-done", "set", ())
    assert job.do(cmd.Look("last", INSPECTOR, False, " dust ")) == [ev.Looked("last", INSPECTOR, False, "dust")]
    assert job.do(cmd.Look("last", INSPECTOR, True, " ")) == [ev.Looked("last", INSPECTOR, True), ev.Done("last")]


def test_a_look_keeps_the_time_of_a_wait_that_begins_with_it() -> None:
    job = drive(
        "{format: 1, title: t, steps: {look: {say: Look., hold: {by: lead, look: all}, wait: {time: 1 h, for: rest}}}}"
    )
    job.begin()
    _, done = job.do(cmd.Look("look", LEAD, True))
    assert done == ev.Done("look", until=job.now + timedelta(hours=1))


def test_done_again_says_so() -> None:
    job = shaped()
    assert job.do(cmd.Redo("note", "it is smeared")) == [ev.Reopened("note", "it is smeared")]
    assert job.finish("note") == [ev.Done("note", again=True)]


@pytest.mark.parametrize(
    ("make", "step", "code"),
    [
        (bench, "nothing", "no-such-step"),
        (glued, "edge", "not-in-this-job"),
        (bench, "note", "not-done-yet"),
        (shaped, "shape", "cannot-undo"),
    ],
)
def test_what_is_not_done_again(make: type, step: str, code: str) -> None:
    assert make().why(cmd.Redo(step)) == (code, step, ())


def test_what_is_due_anyway_is_not_asked_for_again() -> None:
    stale, doubted, reopened = checked(), in_doubt(), shaped()
    stale.do(cmd.Moved(("rail",)))
    reopened.do(cmd.Redo("note"))
    assert stale.why(cmd.Redo("level")) == ("due-anyway", "level", ())
    assert doubted.why(cmd.Redo("note")) == ("due-anyway", "note", ())
    assert reopened.why(cmd.Redo("note")) == ("due-anyway", "note", ())


def test_a_check_read_in_part_or_out_can_be_taken_again_from_its_first_place() -> None:
    part = set_up()
    part.read("0 in")
    for job in (part, out()):
        job.do(cmd.Redo("level"))
        assert (job.wants.step, job.wants.place) == ("level", "left")


# A check that is out, a step in doubt


def test_a_correction_disturbs_what_the_check_says_or_what_it_watches() -> None:
    assert out().do(cmd.Adjust("level")) == [ev.Adjusted("level", ("rail",))]
    job = set_up()
    job.read("0 in", "0 in", "no")
    assert job.do(cmd.Adjust("firm")) == [ev.Adjusted("firm", ("top",))]


def test_who_may_decide_and_on_what() -> None:
    job = out()
    assert job.why(cmd.Decide("nothing", "go on", LEAD)) == ("no-such-step", "nothing", ())
    assert job.why(cmd.Decide("level", "go on", NOBODY)) == ("name-missing", "level", ())
    assert job.why(cmd.Decide("level", "go on", CREW)) == ("wrong-role", "level", ("lead",))
    assert job.why(cmd.Decide("set", "go on", LEAD)) == ("nothing-to-decide", "set", ())
    assert job.why(cmd.Decide("set", "stop", LEAD)) == ("nothing-to-decide", "set", ())
    assert job.why(cmd.Decide("level", "stands", LEAD, "so")) == ("nothing-to-decide", "level", ())
    assert job.why(cmd.Decide("set", "concede", LEAD, "so")) == ("nothing-to-concede", "set", ())
    assert job.why(cmd.Decide("level", "concede", LEAD, " ")) == ("reason-missing", "level", ())
    assert job.do(cmd.Decide("level", "go on", LEAD)) == [ev.Decided("level", "go on", LEAD)]


def test_a_stale_check_is_read_before_it_is_conceded() -> None:
    job = checked()
    job.do(cmd.Moved(("rail",)))
    assert job.why(cmd.Decide("level", "concede", LEAD, "so")) == ("stale-first", "level", ())


def test_a_safety_check_takes_no_concession() -> None:
    job = set_up()
    job.read("0 in", "0 in", "no")
    assert job.why(cmd.Decide("firm", "concede", LEAD, "so")) == ("safety", "firm", ())


def test_a_concession_ends_the_check_and_begins_its_wait() -> None:
    job = drive(
        """
format: 1
title: t
readings: {gap: {ask: Gap}}
steps: {gap: {take: gap, within: 0 in to 1 in, wait: {time: 1 h, for: rest}}}
"""
    )
    job.read("2 in")
    decided, done = job.do(cmd.Decide("gap", "concede", LEAD, " it is old "))
    assert decided == ev.Decided("gap", "concede", LEAD, "it is old")
    assert done == ev.Done("gap", until=job.now + timedelta(hours=1))


def test_a_concession_on_a_check_with_a_hold_point_still_waits_for_the_look() -> None:
    job = glued()
    job.read("1 in")
    assert job.do(cmd.Decide("last", "concede", LEAD, "so")) == [ev.Decided("last", "concede", LEAD, "so")]
    assert job.wants.want == "look"
    job.do(cmd.Look("last", INSPECTOR, True))
    assert job.do(cmd.Close()) == [ev.Finished("conceded", ("last",))]


def test_what_cannot_be_undone_stands_by_the_lead_or_stops_the_job() -> None:
    for job in (in_doubt(), in_doubt()):
        assert (job.wants.want, job.wants.step) == ("doubt", "shape")
        assert job.why(cmd.Decide("shape", "stands", LEAD, " ")) == ("reason-missing", "shape", ())
    stands, stops = in_doubt(), in_doubt()
    assert stands.do(cmd.Decide("shape", "stands", LEAD, "it fits")) == [ev.Decided("shape", "stands", LEAD, "it fits")]
    assert stands.wants.step == "note"
    assert stops.do(cmd.Decide("shape", "stop", LEAD, "waste")) == [
        ev.Decided("shape", "stop", LEAD, "waste"),
        ev.Stopping(("open", "propless")),
    ]


def test_what_moved_must_be_something_that_is_watched() -> None:
    job = checked()
    assert job.why(cmd.Moved(("wall", "top"))) == ("no-such-state", "", ("wall", "rail", "top"))
    assert job.why(cmd.Moved(())) == ("no-such-state", "", ("rail", "top"))
    assert job.do(cmd.Moved(("top", "rail"), "kicked")) == [ev.Disturbed(("top", "rail"), "kicked")]


# Stopping, somebody hurt, at any moment


def test_a_stop_with_nothing_unsafe_stops_at_once() -> None:
    job = shaped()
    assert job.do(cmd.Stop()) == [ev.Stopped("said")]
    assert job.do(cmd.Resume(torn=True)) == [ev.Resumed(torn=True)]
    assert job.state.status == "running"


def test_a_stop_goes_through_every_hazard_the_last_left_first() -> None:
    job = set_up()
    assert job.do(cmd.Stop()) == [ev.Stopping(("open", "propless"))]
    assert job.why(cmd.MakeSafe("propless", "Bo")) == ("nothing-to-make-safe", "", ("propless",))
    assert job.do(cmd.MakeSafe("open", " Bo ")) == [ev.MadeSafe("open", "Bo")]
    assert job.why(cmd.MakeSafe("propless", " ")) == ("name-missing", "", ())
    assert job.do(cmd.MakeSafe("propless", "Bo")) == [ev.MadeSafe("propless", "Bo"), ev.Stopped("said")]


def test_nothing_is_made_safe_while_something_else_is_asked() -> None:
    job = set_up()
    assert job.wants.want != "make-safe"
    for hazard in ("open", ""):
        assert job.why(cmd.MakeSafe(hazard, "Bo")) == ("nothing-to-make-safe", "", (hazard,))


def test_a_stop_while_somebody_is_hurt_is_at_once_and_says_what_is_left() -> None:
    job = set_up()
    assert job.do(cmd.SomeoneHurt("his hand")) == [ev.Hurt("his hand")]
    assert job.do(cmd.Stop()) == [ev.Stopped("said", ("open", "propless"))]
    job.do(cmd.Resume())
    assert job.wants.want == "clear"
    assert job.why(cmd.Clear(NOBODY)) == ("name-missing", "", ())
    assert job.do(cmd.Clear(CREW)) == [ev.AllClear(CREW)]


def test_leaving_says_how_and_what_is_left_and_a_finished_job_is_left_in_peace() -> None:
    assert set_up().do(cmd.Leave("terminated")) == [ev.Stopped("terminated", ("open", "propless"))]
    assert finished().do(cmd.Leave("terminated")) == []
    assert finished().do(cmd.Stop()) == []


@pytest.mark.parametrize(
    ("command", "step"),
    [
        (cmd.Moved(("top",)), "firm"),
        (cmd.Redo("note"), "note"),
        (cmd.Correct("level", "left", quantity("1 in")), "level"),
        (cmd.Choose("edge", "oak", by=LEAD, reason="there is one"), "edge"),
    ],
)
def test_a_finished_job_is_open_again_when_something_of_it_changes(command: Command, step: str) -> None:
    job = finished()
    job.do(command)
    assert (job.state.status, job.wants.step) == ("running", step)
    assert job.why(cmd.Close())[0] == "not-finished"


def test_names_and_notes_must_say_something() -> None:
    job = bench()
    assert job.why(cmd.Speak(NOBODY)) == ("name-missing", "", ())
    assert job.why(cmd.Note(" \n")) == ("nothing-to-note", "", ())
    assert job.do(cmd.Speak(CREW)) == [ev.Spoke(CREW)]
    assert job.do(cmd.Note("dusty", "set")) == [ev.Noted("dusty", "set")]


def test_a_clock_is_pretended_once() -> None:
    job = bench()
    assert job.do(cmd.PretendClock()) == [ev.Pretended()]
    assert job.do(cmd.PretendClock()) == []


def test_a_job_is_closed_only_when_all_is_chosen_done_and_safe() -> None:
    assert drive(BENCH).why(cmd.Close()) == ("choose-first", "", ("edge",))
    assert bench().why(cmd.Close()) == (
        "not-finished",
        "",
        ("span", "shape", "note", "set", "level", "firm", "fix", "last"),
    )
    job = finished()
    assert job.entries[-1].event == ev.Finished("good")


def test_a_job_is_not_closed_while_a_hazard_is_left() -> None:
    job = drive(
        """
format: 1
title: t
choices: {lid: {ask: Is there a lid, options: {wood: wood, none: none}}}
make-safe: {open: {say: Cover it.}}
steps:
  take-off: {say: Take it off., leaves: open}
  wipe: {after: take-off, say: Wipe it.}
  put-on: {after: take-off, say: Put it on., secures: open}
"""
    )
    job.do(cmd.Choose("lid", "none"))
    for step in ("take-off", "wipe", "put-on"):
        job.finish(step)
    job.state.hazards["open"] = "take-off"
    assert job.why(cmd.Close()) == ("hazards-left", "", ("open",))
