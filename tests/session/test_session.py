"""One conversation: what a crew says, and what comes of it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from fakes import FakePeople
from small import CHECKED, CUT, SET, SHELF, START, SURVEYED
from talking import Talk, obliging, talk

from guide.job import events as ev
from guide.quantity import quantity


def at(lines: list[str], **options: object) -> Talk:
    """A shelf job taken so far."""
    job = talk(SHELF, **options)  # type: ignore[arg-type]
    job.say(*lines)
    return job


def texts(job: Talk, kind: str) -> list[str]:
    return [turn.text for turn in job.of(kind)]


def test_the_job_opens_with_what_comes_before_it_and_one_question() -> None:
    job = talk(SHELF)
    assert "local code" in " ".join(turn.text for turn in job.turns)
    assert [turn.kind for turn in job.turns].count("ask") == 1
    assert job.ask["expects"] == "choice"
    assert job.ask["choices"] == ["board", "none"]


def test_who_speaks_is_asked_when_nobody_said() -> None:
    job = talk(SHELF, who="")
    assert job.ask["expects"] == "name"
    job.say("I'm Bo")
    assert job.events[-1] == ev.Spoke(ev.Person("Bo", "crew", "claimed"))


def test_a_name_may_come_in_a_sentence_and_what_means_something_else_is_no_name() -> None:
    job = at([*SET, "someone is hurt", "all clear", "done", "yes"])
    assert not any(isinstance(e, ev.AllClear) for e in job.events)
    assert job.ask["about"] == "clear"
    job.say("this is Ana", "yes")
    assert ev.AllClear(ev.Person("Ana", "crew", "claimed")) in job.events
    job = at([*SET, "1/2", "0", "leave it", "the lead is Ana", "behind the trim"])
    assert next(e for e in job.events if isinstance(e, ev.Decided)).by.name == "Ana"


@pytest.mark.parametrize("answer", ["2", "none", "no back", "No back."])
def test_a_choice_by_number_by_name_or_by_its_words(answer: str) -> None:
    job = at([answer])
    assert job.session.job.state.choices == {"back": "none"}


def test_an_ask_carries_what_a_program_needs() -> None:
    job = at(CUT[:-1])
    job.say("done", "understood", "yes", "done", "0", "0")
    assert job.ask == {
        "kind": "ask",
        "text": job.ask["text"],
        "step": "level",
        "reading": "level",
        "place": None,
        "expects": "number",
        "about": "reading",
        "unit": "in",
        "low": "-1/8 in",
        "high": "1/8 in",
        "likely": None,
        "sign": job.ask["sign"],
        "choices": [],
        "labels": [],
        "wanted": None,
        "round": 1,
        "with": None,
        "again": False,
        "even": None,
    }
    assert "right end is high" in str(job.ask["sign"])


def test_a_yes_no_check_says_which_answer_is_wanted() -> None:
    job = at([*SET, "0", "0", "0"])
    assert (job.ask["expects"], job.ask["wanted"]) == ("yes-no", "yes")


def test_readings_by_place_in_one_line() -> None:
    job = at([*START, "bottom 20 1/8, top 20"])
    assert job.session.job.state.steps["survey"].done
    assert {t.data["place"]: t.data["value"] for t in job.of("accepted")} == {"top": "20 in", "bottom": "20 1/8 in"}


def test_one_reading_too_many_is_said_and_not_taken() -> None:
    job = at([*SET, "0", "0"])
    job.say("0, 0")
    assert any(turn.data.get("why") == "too-many-readings" for turn in job.of("refused"))


def test_out_of_tolerance_brings_advice_and_a_second_round() -> None:
    job = at([*SET, "1/8", "0"])
    assert job.of("advice")[0].data["say"] == ["Close left by 3/32 in."]
    assert job.ask["expects"] == "done"
    job.say("done")
    assert job.of("stale")[-1].data["checks"] == ["square"]
    assert (job.ask["step"], job.ask["place"], job.ask["round"]) == ("square", "left", 2)


def test_the_missing_side_is_asked_for() -> None:
    job = at([*SET, "0", "0", "1/16"])
    assert job.ask["expects"] == "choice"
    job.say("2")
    took = next(e for e in job.events if isinstance(e, ev.Took) and e.step == "level")
    assert (took.value, took.heard.confirmed) == (quantity("-1/16 in"), "side")


def test_a_number_outside_what_is_likely_is_confirmed_before_it_is_taken() -> None:
    job = at([*START, "200"])
    assert job.ask["expects"] == "yes-no"
    assert not any(isinstance(e, ev.Took) for e in job.events)
    job.say("no", "20", "5", "yes")
    took = [e for e in job.events if isinstance(e, ev.Took)]
    assert [(t.value, t.surprising) for t in took] == [(quantity("20 in"), False), (quantity("5 in"), True)]


def test_a_state_said_without_its_size_is_kept_and_the_size_asked_for() -> None:
    job = at([*SET, "tight"])
    assert ev.Noted("tight", "square") in job.events
    assert (job.ask["step"], job.ask["place"]) == ("square", "left")


@pytest.mark.parametrize(
    "words", ["correction 19 1/2", "no, make that 19 1/2", "correction: bottom 19 1/2", "correction bottom 19 1/2"]
)
def test_a_correction_names_what_it_replaces(words: str) -> None:
    job = at(CUT)
    job.say(words)
    corrected = next(e for e in job.events if isinstance(e, ev.Corrected))
    assert (corrected.place, corrected.value, corrected.doubts) == ("bottom", quantity("19 1/2 in"), ("cut",))
    assert job.ask["expects"] == "choice", "the cut can't be undone: the lead decides"


def test_a_bare_fraction_in_a_correction_may_keep_the_whole_part() -> None:
    job = at([*START, "20", "20 3/8"])
    job.say("no, make that 5/8")
    corrected = next(e for e in job.events if isinstance(e, ev.Corrected))
    assert corrected.value == quantity("20 5/8 in")


def test_the_lead_decides_after_three_rounds_with_a_reason() -> None:
    job = at([*SET, "1/2", "0", "done", "1/2", "0", "done", "1/2", "0"])
    assert job.ask["choices"] == ["go on", "concede", "stop"]
    job.say("2", "Ana", "the wall is bowed")
    decided = next(e for e in job.events if isinstance(e, ev.Decided))
    assert decided == ev.Decided("square", "concede", ev.Person("Ana", "lead", "claimed"), "the wall is bowed")


def test_the_lead_may_accept_before_three_rounds_but_not_a_safety_check() -> None:
    job = at([*SET, "1/2", "0", "leave it", "Ana", "it is behind the trim"])
    assert job.session.job.state.steps["square"].concession is not None
    job.say("0", "no", "leave it")
    assert job.of("refused")[-1].data["why"] == "safety"


def test_a_name_on_the_list_is_proved_with_its_pin() -> None:
    people = FakePeople({"Ana": ("lead", "4711"), "Cy": ("crew", "1111")})
    job = at([*SET, "1/2", "0", "leave it"], people=people)
    job.say("Cy")
    assert "lead" in job.of("refused")[-1].text
    job.say("Ana", "0000")
    assert job.session.secret
    job.say("4711", "behind the trim")
    decided = next(e for e in job.events if isinstance(e, ev.Decided))
    assert decided.by == ev.Person("Ana", "lead", "pin")
    assert all("4711" not in repr(e) for e in job.events)
    assert all("4711" not in turn.text for turn in job.turns)


def test_stop_makes_safe_first_and_resume_goes_on_at_the_same_place() -> None:
    job = at([*SET, "0", "stop"])
    assert "Prop the frame" in str(job.ask["text"])
    job.say("why")
    assert "It falls over." in texts(job, "say")
    job.say("done", "Bo")
    assert job.of("stopped")[0].data["left"] == []
    assert job.session.over
    again = job.again()
    assert (again.ask["step"], again.ask["place"]) == ("square", "left"), "bracing moved the frame"


def test_end_of_input_says_what_was_left_unsafe_and_resume_asks_how_it_was_found() -> None:
    job = at(SET)
    turns = job.session.leave("input ended")
    assert turns[-1].data["left"] == ["unsupported"]
    again = job.again()
    assert again.ask["about"] == "found"
    again.say("no")
    assert again.ask["step"] == "square"


def test_someone_is_hurt_is_understood_inside_every_dialogue() -> None:
    for lines in ([], START, SET, [*SET, "stop"], [*SET, "1/2", "0", "leave it"], [*START, "200"]):
        job = at(lines)
        job.say("someone is hurt")
        assert any(turn.data.get("emergency") for turn in job.turns)
        assert job.ask["about"] == "clear"


def test_two_people_are_asked_for_before_the_step() -> None:
    job = at([*CUT, "understood"])
    assert (job.ask["expects"], job.ask["wanted"]) == ("yes-no", "yes")
    job.say("no")
    assert job.ask["about"] == "crew"
    assert not job.session.job.state.steps["set"].done


def test_cautions_come_before_the_step_and_are_acknowledged() -> None:
    job = at(SURVEYED)
    assert job.turns[-2].data["caution"] == "weight"
    assert "Cut the shelf" not in " ".join(turn.text for turn in job.turns)
    job.say("understood")
    assert any("Cut the shelf to 19 3/4 in" in turn.text for turn in job.turns)


def test_a_wait_runs_on_the_clock() -> None:
    job = at([*CHECKED, "done", "0", "0", "yes", "0"])
    assert job.turns[-1].kind == "wait"
    job.say("how long is the wait")
    assert any("30 min" in text for text in texts(job, "say"))
    assert job.session.tick() == []
    job.clock.at += timedelta(minutes=31)
    news = job.session.tick()
    assert [turn.kind for turn in news][-1] == "ask"


def test_a_pretended_clock_jumps_over_the_wait() -> None:
    job = at([*CHECKED, "done", "0", "0", "yes", "0"], pretended=True)
    assert job.ask["about"] == "name"


def test_the_whole_job_finishes() -> None:
    job = at([*CHECKED, "done", "0", "0", "yes", "0", "Ana", "yes"], pretended=True)
    assert job.of("finished")[0].data["verdict"] == "good"
    assert job.session.over


def test_a_full_disk_is_told_and_nothing_is_acknowledged() -> None:
    job = at(START)
    job.journal.fails = True
    turns = job.say("20")
    assert [turn.kind for turn in turns] == ["refused", "ask"]
    assert not job.session.job.state.steps["survey"].last
    job.journal.fails = False
    job.say("20")
    assert job.session.job.state.steps["survey"].last


def test_a_full_disk_in_the_middle_of_a_form_loses_no_answer() -> None:
    job = at([*SET, "1/2", "0", "leave it", "Ana"])
    job.journal.fails = True
    job.say("behind the trim")
    job.journal.fails = False
    job.say("behind the trim")
    assert job.session.job.state.steps["square"].concession is not None


QUESTIONS = ["why", "how", "what's next", "where are we", "help", "repeat", "what's the tolerance", "who is here"]


@pytest.mark.parametrize("lines", [[], START, SURVEYED, SET, [*SET, "1/2", "0"], [*SET, "stop"], CHECKED])
@pytest.mark.parametrize("question", QUESTIONS)
def test_a_question_at_any_moment_is_answered_changes_nothing_and_the_same_is_asked(
    lines: list[str], question: str
) -> None:
    job = at(lines)
    before, asked = len(job.journal.entries), job.ask
    turns = job.say(question)
    assert len(job.journal.entries) == before
    assert job.ask == asked
    assert len(turns) >= (1 if question == "repeat" else 2)


@pytest.mark.parametrize("odd", ["", "   ", "qwertz", "🚪🚪🚪", "\x1b[31mred", "next " * 90, "x" * 100_000, "1/0", "-"])
@pytest.mark.parametrize("lines", [[], START, SURVEYED, SET, [*SET, "stop"]])
def test_odd_words_change_nothing_and_the_same_is_asked(lines: list[str], odd: str) -> None:
    job = at(lines)
    before, asked = len(job.journal.entries), job.ask
    job.say(odd)
    assert len(job.journal.entries) == before
    assert job.ask == asked


def test_why_how_mistake_and_tolerance_come_from_the_procedure() -> None:
    job = at(START)
    assert job.say("why")[0].text == "The shelf is cut to it."
    assert "Pull the tape tight." in job.say("how")[0].text
    assert job.say("what goes wrong here")[0].text == "Measuring in one place only."
    job = at([*SET, "0", "0"])
    assert "1/8 in" in job.say("what's the tolerance")[0].text


def test_what_did_we_get_and_how_much_is_that_in_millimetres() -> None:
    job = at(SURVEYED)
    assert "20 1/8" in job.say("what did we get for the width at the bottom")[0].text
    assert "508 mm" in job.say("how much is the top width in millimetres")[0].text
    assert "511 mm" in job.say("how much is that in millimetres")[0].text


def test_going_back_skipping_and_already_done_are_answered_and_change_nothing() -> None:
    job = at(SURVEYED)
    before = len(job.journal.entries)
    for words in ("go back", "skip this", "skip to fix", "we already did that", "undo that"):
        turns = job.say(words)
        assert turns[0].kind in ("say", "refused")
    assert len(job.journal.entries) == before


def test_something_moved_makes_its_checks_stale() -> None:
    job = at([*SET, "0", "0", "0", "yes"])
    job.say("we bumped the frame")
    assert sorted(str(job.of("stale")[-1].data["checks"]).split("'")[1::2]) == ["held", "level", "square"]


def test_a_note_is_kept() -> None:
    job = at(START)
    job.say("note: the wall is damp")
    assert ev.Noted("the wall is damp", "survey") in job.events


def test_another_person_speaks() -> None:
    job = at(START)
    job.say("this is Cy", "20")
    assert job.journal.entries[-1].who == "Cy"


def test_a_choice_is_changed_freely_at_first_and_by_the_lead_later() -> None:
    job = at(START)
    job.say("change that to with a back board")
    assert job.session.job.state.choices["back"] == "board"


def test_every_refusal_says_why_and_what_can_be_done() -> None:
    job = at(SURVEYED)
    turn = job.say("skip to fix")[0]
    assert turn.kind == "refused"
    assert turn.data["why"] == "not-yet"
    assert turn.data["legal"]


def test_a_finished_job_can_be_asked_about_and_put_right() -> None:
    job = at([*CHECKED, "done", "0", "0", "yes", "0", "Ana", "yes"], pretended=True).again()
    assert not job.session.over
    assert "20 in" in job.say("what did we get for the width at the top")[0].text
    job.say("we bumped the frame")
    assert job.ask["step"] == "square"
    while job.session.job.state.status != "finished":
        job.say(obliging(job.ask))
    assert job.of("finished")
    job.say("stop")
    assert job.session.over


def test_a_correction_of_a_place_that_was_not_read_yet_changes_nothing() -> None:
    job = at([*START, "20"])
    before = len(job.journal.entries)
    job.say("correction: bottom 19")
    assert len(job.journal.entries) == before
    assert job.of("refused")[-1].data["why"] == "correction-not-understood"


@pytest.mark.parametrize(
    "words",
    [
        "correction: width bottom 19",
        "change the bottom width to 19",
        "correct the width at the bottom, it was 19",
        "no, make that 19",
    ],
)
def test_ways_to_name_the_reading_that_was_wrong(words: str) -> None:
    job = at(CUT)
    job.say(words)
    corrected = [e for e in job.events if isinstance(e, ev.Corrected)]
    assert [(c.place, c.value) for c in corrected] == [("bottom", quantity("19 in"))]


YES_NO = """
format: 1
title: t
readings: {runs: {ask: Does it run free, at: [left door, right door], answer: yes-no, good: "yes"}}
steps:
  hang: {say: Hang them., harmless: paper doors, disturbs: [doors]}
  runs: {after: hang, say: Try both., take: runs, watches: [doors]}
"""


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        ("yes", "yes"),
        ("it does", "yes"),
        ("swings free", "yes"),
        ("no", "no"),
        ("binds at the head", "no"),
        ("won't latch", "no"),
        ("no, bulges at the head", "no"),
        ("gap at the bottom", "no"),
    ],
)
def test_yes_and_no_as_crews_say_them(words: str, answer: str) -> None:
    job = talk(YES_NO)
    job.say("done", words)
    took = next(e for e in job.events if isinstance(e, ev.Took))
    assert (took.place, took.value) == ("left door", answer)
    if len(words.split()) > 2:
        assert any(isinstance(e, ev.Noted) and e.text == words for e in job.events)


def test_yes_and_no_by_place() -> None:
    job = talk(YES_NO)
    job.say("done", "left yes, right no")
    assert [(e.place, e.value) for e in job.events if isinstance(e, ev.Took)] == [
        ("left door", "yes"),
        ("right door", "no"),
    ]


@pytest.mark.parametrize("words", ["maybe", "banana", "what", "36"])
def test_what_is_neither_yes_nor_no_is_not_taken(words: str) -> None:
    job = talk(YES_NO)
    job.say("done", words)
    assert not any(isinstance(e, ev.Took) for e in job.events)


def test_the_lead_can_choose_by_the_very_words_offered() -> None:
    for choice in ("go on", "concede", "stop"):
        job = at([*SET, "1/2", "0", "done", "1/2", "0", "done", "1/2", "0"])
        assert choice in job.ask["choices"]  # type: ignore[operator]
        job.say(choice)
        assert job.ask["expects"] == "name", choice


def test_a_stop_while_the_unit_is_being_set_makes_it_safe() -> None:
    job = at([*CUT, "understood", "yes"])
    abouts = [job.ask["about"]]
    for line in ("stop", "done", "nobody"):
        job.say(line)
        abouts.append(job.ask["about"])
    assert abouts == ["done", "make-safe", "stays", "stays"]
    job.say("Bo")
    assert job.session.over


def test_a_full_disk_does_not_silence_someone_is_hurt() -> None:
    job = at(SET)
    job.journal.fails = True
    turns = job.say("someone is hurt")
    assert turns[0].data["emergency"] is True
    assert any(turn.kind == "refused" for turn in turns)


def test_only_a_yes_makes_a_stranger_the_one_who_lets_work_go_on() -> None:
    job = at([*SET, "someone is hurt"])
    job.say("still waiting", "no")
    assert not any(isinstance(e, ev.AllClear) for e in job.events)
    job.say("Zoe", "yes")
    assert ev.AllClear(ev.Person("Zoe", "crew", "claimed")) in job.events


def test_another_lead_is_asked_about() -> None:
    job = at([*SET, "1/2", "0", "leave it", "Ana", "behind the trim", "1/2 high on the right", "leave it", "Bob"])
    assert "Ana was the lead so far" in str(job.ask["text"])
    job.say("no")
    assert job.session.job.state.steps["level"].concession is None


def test_a_length_that_is_given_is_the_one_converted() -> None:
    job = at(SURVEYED)
    assert "about 919 mm" in job.say("how much is 36 3/16 in mm")[0].text


def test_a_gap_less_than_nothing_is_refused() -> None:
    job = at(SET)
    job.say("-1/8")
    assert job.of("refused")[-1].data["why"] == "negative"
