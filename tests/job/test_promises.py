"""What the engine promises, one test or more for each promise."""

from __future__ import annotations

import pytest
from driving import CREW, LEAD, Drive, drive

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.request import request
from guide.quantity import quantity

FRAME = """
format: 1
title: Hang a shelf frame
states: {frame: the frame, pin: the pin}
choices:
  back: {ask: Is there a back, options: {board: with a back board, none: no back}}
readings:
  width: {ask: Width, at: [top, bottom], keep: smallest, likely: 10 in to 40 in}
  square: {ask: Gap in the corner, at: [left, right], about: gap}
  level: {ask: How far out of level}
  latches: {ask: Does it latch, answer: yes-no, good: "yes"}
  held: {ask: Is it held, answer: yes-no, good: "yes"}
worked:
  shelf: width - 1/4 in
cautions: {weight: The frame is heavy and the saw cuts. Keep your fingers clear.}
make-safe:
  unsupported: {say: Prop the frame., stays: yes, disturbs: [frame]}
steps:
  survey: {say: Measure the width., take: width}
  cut: {after: survey, say: "Cut the shelf to {shelf}.", caution: weight, undo: no}
  mark: {after: survey, say: "Mark the shelf at {shelf}."}
  set: {after: [cut, mark], say: Set the frame., caution: weight, crew: 2, disturbs: [frame], leaves: unsupported}
  square:
    after: set
    say: Square it.
    take: square
    within: 0 in to 1/16 in
    watches: [frame]
    out: {adjust: [frame], say: {plus: "Close {place} by {by}.", minus: "Open {place} by {by}."}}
  level: {after: set, say: Level it., take: level, within: 0 in to 1/8 in, watches: [frame, pin], out: {adjust: [pin]}}
  held: {after: set, say: See that it is held., take: held, watches: [frame], safety: yes, out: {adjust: [frame]}}
  fix:
    needs: [square, level, held]
    say: Fix it.
    disturbs: [frame]
    secures: unsupported
    wait: {time: 30 min, for: the glue to set}
  back: {after: fix, when: {back: board}, say: Nail the back on., caution: weight, disturbs: [frame]}
  latch: {after: [fix, back], say: Try the latch., take: latches, watches: [frame]}
  look: {after: latch, say: The lead looks., hold: {by: lead, look: the whole frame}}
"""


def frame(option: str = "none") -> Drive:
    job = drive(FRAME)
    job.do(cmd.Choose("back", option))
    return job


def set_up(option: str = "none") -> Drive:
    """A frame that is set, with nothing checked yet."""
    job = frame(option)
    job.read("20 in", "20 in")
    job.finish("cut")
    job.finish("mark")
    job.finish("set")
    return job


def checked(option: str = "none") -> Drive:
    """A frame that is set, square, level and held."""
    job = set_up(option)
    job.read("0 in", "0 in", "0 in", "yes")
    return job


def fixed() -> Drive:
    """A frame that is fixed and good again, the glue set."""
    job = checked()
    job.finish("fix")
    job.all_good()
    job.now = job.wants.until or job.now
    job.do(cmd.PassTime())
    return job


def done() -> Drive:
    """A finished job."""
    job = fixed()
    job.read("yes")
    job.begin()
    job.do(cmd.Look("look", LEAD, True), cmd.Close())
    return job


# 1. A step starts only when what it comes after is finished and what it needs is good and fresh.


def test_promise_1_a_step_waits_for_what_it_comes_after() -> None:
    job = frame()
    refusal = job.refused(cmd.Begin("cut"))
    assert (refusal.code, refusal.names) == ("not-yet", ("survey",))


def test_promise_1_a_step_waits_until_what_it_needs_is_good() -> None:
    job = set_up()
    job.read("1/2 in", "0 in")
    assert set(job.refused(cmd.Begin("fix")).names) >= {"square"}


def test_promise_1_a_step_that_is_open_stops_when_what_it_needs_goes_stale() -> None:
    job = checked()
    job.begin()
    job.do(cmd.Moved(("frame",)))
    assert job.refused(cmd.Finish("fix")).code == "not-yet"
    assert job.wants.step == "square"


def test_promise_1_a_wait_holds_back_what_comes_after() -> None:
    job = checked()
    job.finish("fix")
    job.all_good()
    assert job.wants.want == "wait"
    refusal = job.refused(cmd.Begin("latch"))
    assert (refusal.code, refusal.names) == ("waiting", ("fix",))


# 2. What is disturbed makes stale every check that watches it, wherever it stands.


def test_promise_2_fixing_makes_stale_what_was_good_before_the_screws() -> None:
    job = checked()
    job.finish("fix")
    assert job.stale() == {"square", "level", "held"}


def test_promise_2_an_adjustment_makes_stale_checks_before_and_after_it() -> None:
    job = set_up()
    job.read("0 in", "0 in", "1/4 in")
    assert job.stale() == set()
    job.do(cmd.Adjust("level"))
    assert job.stale() == {"level"}, "only the pin was moved, and only level watches it"
    job.read("1/8 in", "no")
    job.do(cmd.Adjust("held"))
    assert job.stale() == {"square", "level", "held"}


def test_promise_2_half_a_round_is_void_when_the_frame_moves() -> None:
    job = set_up()
    job.read("0 in")
    job.do(cmd.Moved(("frame",)))
    assert job.wants.place == "left"
    assert job.stale() == {"square"}


def test_promise_2_checks_that_do_not_watch_the_state_stay_fresh() -> None:
    job = checked()
    job.do(cmd.Moved(("pin",)))
    assert job.stale() == {"level"}


# 3. A job finishes only when every check is good and fresh, or conceded.


def test_promise_3_no_finish_with_a_stale_check() -> None:
    job = fixed()
    job.read("yes")
    job.begin()
    job.do(cmd.Look("look", LEAD, True), cmd.Moved(("frame",)))
    refusal = job.refused(cmd.Close())
    assert refusal.code == "not-finished"
    assert set(refusal.names) == {"square", "level", "held", "latch"}


def test_promise_3_a_good_job_finishes_good() -> None:
    job = done()
    assert job.entries[-1].event == ev.Finished("good")
    assert job.wants.want == "over"


def test_promise_3_a_concession_is_named_when_the_job_finishes() -> None:
    job = checked()
    job.finish("fix")
    job.read("1/2 in", "0 in")
    for _ in range(2):
        job.do(cmd.Adjust("square"))
        job.read("1/2 in", "0 in")
    job.do(cmd.Decide("square", "concede", LEAD, "the wall is curved"))
    job.all_good()
    job.now = job.wants.until or job.now
    job.do(cmd.PassTime())
    job.read("yes")
    job.begin()
    job.do(cmd.Look("look", LEAD, True))
    assert job.do(cmd.Close()) == [ev.Finished("conceded", ("square",))]


def test_promise_3_a_choice_cannot_switch_a_failing_check_off() -> None:
    text = FRAME.replace("latch: {after: [fix, back]", "latch: {when: {back: none}, after: fix")
    text = text.replace("look: {after: latch", "look: {after: [latch, back]")
    job = drive(text)
    job.do(cmd.Choose("back", "none"))
    job.read("20 in", "20 in")
    job.finish("cut")
    job.finish("mark")
    job.finish("set")
    job.read("0 in", "0 in", "0 in", "yes")
    job.finish("fix")
    job.all_good()
    job.now = job.wants.until or job.now
    job.do(cmd.PassTime())
    job.read("no")
    refusal = job.refused(cmd.Choose("back", "board", by=LEAD, reason="we found a back"))
    assert (refusal.code, refusal.names) == ("choice-drops-check", ("latch",))


# 4. Out of tolerance never dead-ends; the lead decides after the rounds; a safety check takes no concession.


def test_promise_4_advice_adjust_recheck() -> None:
    job = set_up()
    events = job.read("1/8 in", "0 in")
    advice = next(e for e in events if isinstance(e, ev.Advised))
    assert advice.say == ("Close left by 3/32 in.",)
    assert advice.figures["left: over"] == "1/16 in"
    assert job.wants.want == "adjust"
    job.do(cmd.Adjust("square"))
    assert (job.wants.want, job.wants.step, job.wants.place, job.wants.round) == ("reading", "square", "left", 2)


@pytest.mark.parametrize("decision", ["go on", "concede", "stop"])
def test_promise_4_after_three_failed_rounds_the_lead_decides(decision: str) -> None:
    job = set_up()
    for _ in range(3):
        if job.wants.want == "adjust":
            job.do(cmd.Adjust("square"))
        job.read("1/2 in", "0 in")
    assert job.wants.want == "lead"
    assert job.refused(cmd.Adjust("square")).code == "something-else-first"
    assert job.refused(cmd.Decide("square", "concede", CREW, "fine by me")).code == "wrong-role"
    job.do(cmd.Decide("square", decision, LEAD, "my word"))  # type: ignore[arg-type]
    assert job.wants.want == {"go on": "adjust", "concede": "begin", "stop": "make-safe"}[decision]


def test_promise_4_a_safety_check_takes_no_concession() -> None:
    job = set_up()
    job.read("0 in", "0 in", "0 in", "no")
    assert job.refused(cmd.Decide("held", "concede", LEAD, "it will do")).code == "safety"


def test_promise_4_a_concession_needs_a_reason() -> None:
    job = set_up()
    job.read("1/2 in", "0 in")
    assert job.refused(cmd.Decide("square", "concede", LEAD, "  ")).code == "reason-missing"


def test_promise_4_a_concession_lapses_when_the_frame_moves_and_the_lead_is_asked_at_once() -> None:
    job = set_up()
    job.read("1/2 in", "0 in")
    job.do(cmd.Decide("square", "concede", LEAD, "the wall is curved"))
    job.do(cmd.Moved(("frame",)))
    assert job.wants.step == "square"
    job.read("1/2 in", "0 in")
    assert job.wants.want == "lead"


# 5. Rechecks come in the order that wastes least.


def test_promise_5_what_was_just_corrected_is_read_first() -> None:
    job = set_up()
    job.read("0 in", "0 in", "0 in", "no")
    job.do(cmd.Adjust("held"))
    assert job.wants.step == "held"


def test_promise_5_a_check_whose_correction_disturbs_others_comes_before_them() -> None:
    job = checked()
    job.finish("fix")
    asked = job.all_good()
    assert asked.index("square") < asked.index("level"), "squaring moves the frame, and level watches it"
    assert asked.index("held") < asked.index("level")


# 6. Nothing is erased; what relied on a corrected reading is in doubt; stops make safe; hurt at every moment.


def test_promise_6_a_correction_names_what_it_replaces_and_puts_its_users_in_doubt() -> None:
    job = set_up()
    taken = job.state.steps["survey"].last["top"].seq
    events = job.do(cmd.Correct("survey", "top", quantity("19 in")))
    assert isinstance(events[0], ev.Corrected)
    assert (events[0].replaces, events[0].doubts) == (taken, ("cut", "mark"))
    assert isinstance(job.entries[taken].event, ev.Took)


def test_promise_6_what_cannot_be_undone_is_for_the_lead_the_rest_is_done_again() -> None:
    job = set_up()
    job.do(cmd.Correct("survey", "top", quantity("19 in")))
    assert (job.wants.want, job.wants.step) == ("doubt", "cut")
    assert job.refused(cmd.Finish("cut")).code == "something-else-first"
    job.do(cmd.Decide("cut", "stands", LEAD, "it still fits"))
    job.finish("mark")
    assert job.entries[-1].event == ev.Done("mark", again=True)


def test_promise_6_a_correction_that_changes_no_figure_puts_nothing_in_doubt() -> None:
    job = set_up()
    events = job.do(cmd.Correct("survey", "top", quantity("21 in")))
    assert isinstance(events[0], ev.Corrected)
    assert events[0].doubts == ()


def test_promise_6_a_reading_corrected_to_out_puts_in_doubt_what_was_done_on_it() -> None:
    job = checked()
    job.finish("fix")
    job.read("0 in", "0 in")
    events = job.do(cmd.Correct("square", "left", quantity("1 in")))
    assert [e.kind for e in events] == ["corrected", "advised"]
    assert isinstance(events[0], ev.Corrected)
    assert events[0].doubts == ("fix",)


def test_promise_6_a_new_round_with_another_figure_puts_its_users_in_doubt_too() -> None:
    job = set_up()
    job.do(cmd.Redo("survey"))
    events = job.read("18 in")
    assert isinstance(events[0], ev.Took)
    assert events[0].doubts == ("cut", "mark")


def test_promise_6_a_stop_goes_through_make_safe() -> None:
    job = set_up()
    job.do(cmd.Stop())
    assert (job.wants.want, job.wants.name) == ("make-safe", "unsupported")
    assert job.refused(cmd.MakeSafe("unsupported")).code == "name-missing"
    events = job.do(cmd.MakeSafe("unsupported", "Bo"))
    assert events == [ev.MadeSafe("unsupported", "Bo"), ev.Stopped("said")]


def test_promise_6_going_on_instead_of_stopping() -> None:
    job = set_up()
    job.do(cmd.Stop(), cmd.GoOn())
    assert job.state.status == "running"


def test_promise_6_a_wait_goes_through_make_safe_as_well() -> None:
    text = FRAME.replace(
        "disturbs: [frame], leaves: unsupported}",
        "disturbs: [frame], leaves: unsupported, wait: {time: 1 h, for: the grout}}",
    )
    job = drive(text)
    job.do(cmd.Choose("back", "none"))
    job.read("20 in", "20 in")
    job.finish("cut")
    job.finish("mark")
    job.finish("set")
    assert job.wants.name == "unsupported"
    job.do(cmd.MakeSafe("unsupported", "Bo"))
    assert job.wants.want == "wait"


def test_promise_6_bracing_disturbs_what_it_touches() -> None:
    job = checked()
    job.do(cmd.Stop(), cmd.MakeSafe("unsupported", "Bo"), cmd.Resume())
    assert job.stale() == {"square", "level", "held"}


@pytest.mark.parametrize("untouched", [True, False])
def test_promise_6_left_without_making_safe_is_asked_about(untouched: bool) -> None:
    job = checked()
    job.do(cmd.Leave("input ended"))
    assert job.entries[-1].event == ev.Stopped("input ended", ("unsupported",))
    job.do(cmd.Resume())
    assert job.wants.want == "found"
    assert job.refused(cmd.Begin("fix")).code == "while-found"
    job.do(cmd.Find(untouched))
    assert job.stale() == (set() if untouched else {"square", "level", "held"})


def test_promise_6_a_crash_is_a_stop_without_making_safe() -> None:
    job = checked()
    job.do(cmd.Resume())
    assert job.wants.want == "found"


def test_promise_6_someone_is_hurt_is_understood_in_every_status() -> None:
    for prepare in (
        lambda job: None,
        lambda job: job.do(cmd.Stop()),
        lambda job: job.do(cmd.Leave("interrupted")),
        lambda job: job.do(cmd.Leave("interrupted"), cmd.Resume()),
        lambda job: job.do(cmd.SomeoneHurt()),
    ):
        job = set_up()
        prepare(job)
        job.do(cmd.SomeoneHurt("he is bleeding"))
        assert job.refused(cmd.Begin("square")).code == "while-hurt"
        assert job.refused(cmd.Clear(ev.Person(" ", "crew", "claimed"))).code == "name-missing"
        job.do(cmd.Clear(LEAD))
        assert job.wants.want == "found"
    over = done()
    over.do(cmd.SomeoneHurt())
    assert over.wants.want == "clear"


def test_promise_6_the_job_resumes_where_the_last_event_left_it() -> None:
    job = Drive(done().procedure)
    asked = []
    for entry in done().entries[1:]:
        job.now = entry.at
        job.keep([entry.event])
        asked.append(job.wants)
        assert request(job.procedure, job.replayed()) == job.wants
    assert len(asked) > 20


# 7. Choices switch steps; waits run on the record's clock; two-person steps say so first.


def test_promise_7_choices_switch_steps() -> None:
    with_back, without = checked("board"), checked("none")
    for job in (with_back, without):
        job.finish("fix")
        job.all_good()
        job.now = job.wants.until or job.now
        job.do(cmd.PassTime())
    assert with_back.wants.step == "back"
    assert without.wants.step == "latch"


def test_promise_7_a_wait_ends_on_the_clock_and_not_before() -> None:
    job = checked()
    job.finish("fix")
    job.all_good()
    assert job.do(cmd.PassTime()) == []
    job.now = job.state.steps["fix"].wait_until or job.now
    assert job.do(cmd.PassTime()) == [ev.WaitOver("fix")]


def test_promise_7_two_people_before_it_starts() -> None:
    job = frame()
    job.read("20 in", "20 in")
    job.finish("cut")
    job.finish("mark")
    job.do(cmd.Begin("set"), cmd.Acknowledge("set"))
    assert job.wants.want == "crew"
    assert job.refused(cmd.Finish("set")).code == "something-else-first"


# 8. A name is claimed unless a PIN proved it; who speaks is in the record.


def test_promise_8_a_hold_point_waits_for_the_right_person() -> None:
    job = fixed()
    job.read("yes")
    job.begin()
    assert job.refused(cmd.Look("look", CREW, True)).code == "wrong-role"
    assert job.refused(cmd.Look("look", LEAD, False)).code == "reason-missing"
    job.do(cmd.Look("look", LEAD, False, "a scratch"))
    assert job.wants.want == "look", "a look that did not pass keeps the work waiting"
    events = job.do(cmd.Look("look", LEAD, True))
    assert events == [ev.Looked("look", LEAD, True), ev.Done("look")]


def test_promise_8_the_speaker_can_change() -> None:
    job = frame()
    job.do(cmd.Speak(ev.Person("Cy", "crew", "claimed")))
    assert job.state.speaker.name == "Cy"


# 9. Advice is worked out once and stored with its inputs.


def test_promise_9_replay_does_not_work_advice_out_again(monkeypatch: pytest.MonkeyPatch) -> None:
    job = set_up()
    job.read("1/8 in", "0 in")
    monkeypatch.setattr("guide.job.readings.advise", None)
    assert job.replayed() == job.state
    stored = next(e.event for e in job.entries if isinstance(e.event, ev.Advised))
    assert stored.values == (quantity("1/8 in"), quantity("0 in"))


# 10. Nothing is refused silently.


def test_promise_10_every_refusal_says_what_would_be_legal() -> None:
    job = set_up()
    for command in (cmd.Begin("fix"), cmd.Finish("set"), cmd.Close(), cmd.Adjust("square"), cmd.Redo("look")):
        assert job.refused(command).legal


def test_replay_gives_the_same_state() -> None:
    job = done()
    assert job.replayed() == job.state


def test_promise_6_bracing_for_a_wait_is_asked_for_once_even_if_it_disturbs_a_check() -> None:
    text = FRAME.replace(
        "watches: [frame], safety: yes, out: {adjust: [frame]}}",
        "watches: [frame], safety: yes, out: {adjust: [frame]}, wait: {time: 1 h, for: the grout}}",
    )
    job = drive(text)
    job.do(cmd.Choose("back", "none"))
    job.read("20 in", "20 in")
    job.finish("cut")
    job.finish("mark")
    job.finish("set")
    job.read("0 in", "0 in", "0 in", "yes")
    assert job.wants.name == "unsupported"
    job.do(cmd.MakeSafe("unsupported", "Bo"))
    assert job.stale() == {"square", "level", "held"}
    assert job.wants.want == "wait", "made safe, it stays so until the wait is over"
    job.now = job.wants.until or job.now
    job.do(cmd.PassTime())
    assert job.wants.reading


def test_promise_6_an_answer_in_words_that_changes_puts_its_users_in_doubt() -> None:
    job = drive(
        """
format: 1
title: t
readings: {hand: {ask: Which hand, answer: choice, options: {left: left, right: right}}}
steps:
  hand: {say: Note the hand., take: hand}
  mark: {after: hand, say: Mark it., uses: [hand]}
"""
    )
    job.read("left")
    job.finish("mark")
    (event,) = job.do(cmd.Correct("hand", "", "right"))
    assert isinstance(event, ev.Corrected)
    assert event.doubts == ("mark",)


def test_promise_3_work_set_to_again_is_ended_again_also_when_a_lead_lets_it_stand() -> None:
    job = frame()
    job.do(
        cmd.Begin("survey"),
        cmd.Take("survey", "top", quantity("20 in")),
        cmd.Take("survey", "bottom", quantity("20 in")),
    )
    for step in ("cut", "mark"):
        job.do(cmd.Begin(step))
        if step == "cut":
            job.do(cmd.Acknowledge(step))
        job.do(cmd.Finish(step))
    job.do(cmd.Begin("set"), cmd.Acknowledge("set"), cmd.CrewIsThere("set"), cmd.Finish("set"))
    for step, place, value in (("square", "left", "0 in"), ("square", "right", "0 in"), ("level", "", "0 in")):
        if job.wants.want == "begin":
            job.do(cmd.Begin(step))
        job.do(cmd.Take(step, place, quantity(value)))
    job.do(cmd.Begin("held"), cmd.Take("held", "", "yes"), cmd.Begin("fix"), cmd.Finish("fix"))
    assert not job.state.hazards
    job.do(cmd.Redo("set"))
    while job.wants.step != "set":
        job.do(cmd.PassTime())
        job.now = job.state.steps["fix"].wait_until or job.now
    job.do(cmd.Begin("set"), cmd.Acknowledge("set"), cmd.CrewIsThere("set"))
    assert job.state.hazards == {"unsupported": "set"}
    assert not job.state.good(job.procedure.steps["fix"]), "what was set to again has to be fixed again"
