"""A job's opening in conversation: the reading asked for again, what fits, sizes and shims, unasked and asked."""

from __future__ import annotations

import pytest
from talking import Talk, obliging, talk

from guide.job import events as ev
from guide.quantity import quantity
from guide.session.turns import Turn

WIDTHS = "bottom 74 1/2, middle 74 9/16, top 74 5/8"
REST = (
    "left 82 5/8, middle 82 3/4, right 82 11/16",
    "111 7/16, 111 3/16",
    "left side 1/8 left, right side plumb",
    "left side 1/8 outside, right side plumb",
    "4 7/16",
)
UNIT = ("73 1/2", "82 1/8", "4 9/16")


def upto(step: str, name: str = "exterior-pair") -> Talk:
    """A job in which all went well, up to where a step is asked about."""
    job = talk(name, pretended=True)
    while job.ask["step"] != step:
        job.say(obliging(job.ask))
    return job


def surveyed(widths: str = WIDTHS, *rest: str) -> Talk:
    """A job whose opening has just been read."""
    job = upto("survey-width")
    job.say(widths, *(rest or REST))
    return job


def said(job: Talk, *lines: str) -> str:
    """What was said in answer, without what is asked after it."""
    return " ".join(turn.text for turn in job.say(*lines) if turn.kind != "ask")


def told(turns: list[Turn], words: str) -> Turn:
    return next(turn for turn in turns if words in turn.text)


def test_what_the_opening_leaves_is_told_before_the_unit_is_measured() -> None:
    job = surveyed()
    turn = told(job.turns, "A plumb unit has")
    assert turn.text == (
        "A plumb unit has 74 1/2 in by 82 7/16 in in this opening. "
        "The smallest height, 82 5/8 in, is not all of it level. "
        "The unit to order for it is 73 1/2 in wide and 82 1/8 in high. Its frame is 4 9/16 in deep."
    )
    assert turn.data["work"] == "survey"
    assert job.ask["step"] == "size-width"


def test_whether_the_unit_fits_is_told_once_it_is_measured() -> None:
    job = surveyed()
    job.say(*UNIT)
    assert sum("The unit fits, with 1 in to spare in width" in turn.text for turn in job.turns) == 1
    assert job.ask["step"] == "split-lean"


def test_the_reading_that_is_off_is_asked_for_again_before_the_job_goes_on() -> None:
    job = surveyed("bottom 74 1/2, middle 74 9/16, top 75 5/8")
    assert (job.ask["about"], job.ask["step"], job.ask["place"]) == ("take-again", "survey-width", "top")
    assert job.ask["expects"] == "number"
    assert "about 1 in more than the other readings have it" in str(job.ask["text"])
    assert "held at the one-inch mark" in str(job.ask["text"])
    assert not any(isinstance(one, ev.Begun) and one.step == "size-width" for one in job.events)
    assert not any("A plumb unit has" in turn.text for turn in job.turns)
    job.say("74 5/8")
    corrected = next(one for one in job.events if isinstance(one, ev.Corrected))
    assert (corrected.step, corrected.place, corrected.value) == ("survey-width", "top", quantity("74 5/8 in"))
    assert any("A plumb unit has 74 1/2 in" in turn.text for turn in job.turns)
    assert job.ask["step"] == "size-width"


def test_the_same_again_stands_and_is_noted() -> None:
    job = surveyed("bottom 74 1/2, middle 74 9/16, top 75 5/8")
    job.say("75 5/8")
    note = next(one for one in job.events if isinstance(one, ev.Noted))
    assert note.text == "Width of the opening, top: 75 5/8 in, the same again. Then it stands."
    assert not any(isinstance(one, ev.Corrected) for one in job.events)
    for _ in range(5):
        if job.ask["about"] != "take-again":
            break
        taken = job.session.job.state.steps[str(job.ask["step"])].last[str(job.ask["place"])]
        job.say(str(taken.value))
    assert job.ask["step"] == "size-width", "it does not ask for ever"
    assert any("still don't agree" in turn.text for turn in job.turns)


def test_another_wrong_value_is_asked_about_once_more_and_no_oftener() -> None:
    job = surveyed("bottom 74 1/2, middle 74 9/16, top 75 5/8")
    job.say("76 5/8")
    assert job.ask["about"] == "take-again"
    job.say("77 5/8")
    assert (job.ask["about"], job.ask["place"]) != ("take-again", "top")


def test_a_lean_said_again_without_its_side_is_the_same() -> None:
    job = surveyed(WIDTHS, *REST[:2], "left side 3/4 left, right side plumb", *REST[3:])
    assert (job.ask["step"], job.ask["place"]) == ("survey-studs", "left side")
    job.say("3/4")
    assert any("the top leans to the left, the same again" in turn.text for turn in job.turns)


def test_what_is_no_reading_is_not_taken_for_one() -> None:
    job = surveyed("bottom 74 1/2, middle 74 9/16, top 75 5/8")
    assert job.say("banana")[0].kind == "refused"
    assert "once in a thousand times" in said(job, "why")
    assert job.ask["about"] == "take-again"
    assert "I go on with what they come to." in said(job, "never mind")
    assert job.ask["step"] == "size-width", "whoever won't read it again need not"
    assert "less than the opening leaves room" in said(job, "why")


def test_after_a_crash_the_reading_is_asked_for_again_and_later_it_is_not() -> None:
    job = surveyed("bottom 74 1/2, middle 74 9/16, top 75 5/8")
    again = job.again()
    again.say("yes")
    assert again.ask["about"] == "take-again"
    again.say("never mind", "73 1/2", "82 1/8")
    later = again.again()
    later.say("yes", "4 9/16")
    assert later.ask["step"] == "split-lean"


@pytest.mark.parametrize("words", ["will it fit", "Does the unit fit?", "will the doors go in"])
def test_will_it_fit(words: str) -> None:
    job = upto("survey-width")
    assert said(job, words) == "The opening has not been read yet."
    job.say(WIDTHS)
    assert said(job, words).startswith("I can't tell yet. Read this as well: the height on the left")
    job.say(*REST)
    assert said(job, words).endswith("Measure the unit, and I can tell whether it fits.")
    job.say(*UNIT)
    assert said(job, words).startswith("The unit fits, with 1 in to spare in width and 5/16 in in height.")


def test_a_unit_that_does_not_fit() -> None:
    """Both studs lean half an inch: the widths would do, a plumb unit does not go in."""
    job = surveyed(
        "74 1/2, 74 1/2, 74 1/2",
        "82 5/8, 82 5/8, 82 5/8",
        "111 9/16, 110 15/16",
        "left side 1/2 right, right side 1/2 right",
        "plumb, plumb",
        "4 7/16",
    )
    assert any("The smallest width, 74 1/2 in, is not all of it plumb." in turn.text for turn in job.turns)
    assert "A plumb unit has 74 in by" in told(job.turns, "A plumb unit").text
    job.say("73 3/4", "82 1/8", "4 9/16")
    words = told(job.turns, "The unit fits").text
    assert "It is tight at the" in words
    wide = surveyed("74, 74, 74", "82 5/8, 82 5/8, 82 5/8", "111 1/4, 110 5/8", *REST[2:])
    assert wide.ask["step"] is not None


def test_a_wall_that_leans_more_than_trim_covers() -> None:
    job = surveyed(WIDTHS, *REST[:3], "left side 1/2 outside, right side plumb", "4 7/16")
    words = told(job.turns, "Trim won't cover").text
    assert "on the left side: build the frame out at the bottom by at least 1/8 in." in words


@pytest.mark.parametrize("words", ["what size do I order", "what do we order", "which unit do I order"])
def test_what_size_to_order(words: str) -> None:
    job = upto("survey-width")
    assert said(job, words) == "The opening has not been read yet."
    job.say(WIDTHS)
    assert said(job, words) == "First the widths and the heights of the opening."
    job.say(REST[0])
    assert said(job, words) == "The unit to order for it is 73 1/2 in wide and 82 1/8 in high."


def test_which_reading_is_off() -> None:
    job = upto("survey-width")
    job.say("bottom 74 1/2, middle 74 9/16, top 75 5/8", *REST[:3])
    assert said(job, "which reading is off").startswith("The width at the top: it is about 1 in more than the other")
    job = upto("survey-width")
    job.say(WIDTHS, *REST[:3])
    assert said(job, "do the readings agree") == "None is: the readings agree as well as they can."
    middle = upto("survey-width")
    middle.say("bottom 74 1/2, middle 73, top 74 1/2", *REST[:3])
    assert "It could as well be a stud that is bowed." in said(middle, "which reading is off")


def test_how_thick_the_shims_are() -> None:
    job = surveyed()
    assert said(job, "how thick at the middle hinge") == "The unit has not been measured yet."
    job.say(*UNIT)
    assert said(job, "how thick at the middle hinge") == (
        "Left side, middle hinge, 41 1/16 in up: 9/16 in. Right side, middle hinge, 41 1/16 in up: 1/2 in."
    )
    assert said(job, "how thick at the left top hinge") == "Left side, top hinge, 74 1/8 in up: 5/8 in."
    assert said(job, "how thick are the shims").count("hinge") == 6
    assert said(job, "how thick at the head centre").startswith("Head center: 1/2 in.")
    assert said(job, "how thick at the ceiling").startswith("Which point? There are: bottom hinge")


def test_the_working_and_the_source_are_told_on_request() -> None:
    job = upto("survey-width")
    assert said(job, "show me the working") == "I have worked nothing out yet."
    job.say(WIDTHS, *REST)
    job.say(*UNIT, "will it fit")
    words = said(job, "how did you work that out")
    assert "It fits by the plain rule: pass." in words
    assert "least squares" in words
    assert "Sources: least squares (computed)" in words
    assert "NIST Handbook 44" in words


def test_a_single_door_has_its_hinges_on_one_side() -> None:
    job = upto("hinge-side", "exterior-single")
    job.say("the hinges are on the right")
    while job.ask["step"] != "survey-width":
        job.say(obliging(job.ask))
    job.say("38 1/2, 38 1/2, 38 1/2", "82 5/8, 82 5/8, 82 5/8", "91 3/16, 91 3/16", "plumb, plumb", "plumb, plumb")
    job.say("4 7/16", "37 1/2", "82 1/8", "4 9/16")
    assert said(job, "how thick at the middle hinge") == "Right side, middle hinge, 41 1/16 in up: 1/2 in."


def test_a_sill_read_after_it_was_mended_is_not_of_the_same_opening() -> None:
    job = surveyed()
    job.say(*UNIT, "yes", "7 1/4", "3/16 low on the left", "done", "1/32 high on the right")
    assert (job.ask["step"], job.ask["about"]) == ("survey-height", "reading")
    assert "Read this as well: the height on the left" in said(job, "which reading is off")
    job.say("left 82 5/8, middle 82 13/16, right 82 7/8", "111 7/16, 111 5/16")
    assert job.ask["step"] == "pan-fit", "of the floor that was brought down on the right, they agree"
    assert said(job, "which reading is off") == "None is: the readings agree as well as they can."


def test_figures_of_which_no_opening_can_be_made() -> None:
    job = upto("survey-width")
    job.say(WIDTHS, REST[0], "80", "yes", "111 3/16")
    job.say(*REST[2:])
    assert job.ask["step"] == "size-width", "it is said, and the job goes on"
    words = (
        "I can't make an opening of these figures: the diagonal from bottom left to top right is no longer than a side"
    )
    assert told(job.turns, words)
    assert said(job, "which reading is off").startswith(words)


def test_where_there_is_no_opening_it_is_said_so() -> None:
    job = talk("picture-rail")
    assert said(job, "will it fit") == "This job has no opening that I could work with."
    assert said(job, "what size do I order") == "This job has no opening that I could work with."


def test_without_the_library_the_job_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """The arithmetic of a survey is an extra: a job without it is a job as before."""
    import sys

    job = upto("survey-width")
    monkeypatch.setitem(sys.modules, "numpy", None)
    job.say("bottom 74 1/2, middle 74 9/16, top 75 5/8", *REST)
    assert job.ask["step"] == "size-width"
    assert "numpy is not installed" in " ".join(turn.text for turn in job.turns)
