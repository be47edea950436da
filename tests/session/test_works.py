"""The trade's arithmetic, asked for in the middle of a job: answered from what was read, the rest asked for."""

from __future__ import annotations

from typing import Any

import pytest
from talking import Talk, obliging, talk

from guide.session.works import QUESTIONS


def at_the_start() -> Talk:
    job = talk("exterior-pair", pretended=True)
    while job.ask["about"] == "choice":
        job.say(obliging(job.ask))
    return job


def answered(job: Talk, *lines: str) -> Any:
    for line in lines:
        turns = job.say(line)
    return next(turn for turn in turns if turn.kind == "say" and "work" in turn.data)


def test_what_is_missing_is_asked_for_and_the_job_stands_where_it_stood() -> None:
    job = at_the_start()
    before, asked = len(job.events), job.ask
    turn = answered(job, "how many tubes", "74 1/2")
    assert turn.text == "1 cartridge for the bed under the sill, about 19 feet of bead."
    assert turn.data["result"]["cartridges"] == 1
    assert job.ask == asked
    assert len(job.events) == before, "a question is no event"


@pytest.mark.outside("NIOSH 94-110 for the limit of one, two thirds of the sum for two", "published, from memory")
def test_can_two_of_us_lift_it() -> None:
    job = at_the_start()
    turn = answered(job, "can two of us lift it", "50 pounds", "12 in", "30 in", "20 in")
    alone = 51 * (10 / 12) * (0.82 + 1.8 / 20)
    assert turn.data["result"]["rwl"] == pytest.approx(alone, abs=0.01)
    assert turn.data["result"]["two_people"] == pytest.approx(alone * 2 * 2 / 3, abs=0.01)
    assert turn.text.startswith("By the rule, yes")
    assert answered(job, "can we carry it", "220 pounds", "12 in", "30 in", "20 in").text.startswith("By the rule, no")


def test_which_hand_is_it_in_both_ways_of_naming() -> None:
    job = at_the_start()
    assert "LH, left hand" in answered(job, "which hand is it", "left", "in").text
    assert "RHR" in answered(job, "which hand is it", "2", "2").text


def test_the_working_and_its_source_are_told_on_request() -> None:
    job = at_the_start()
    job.say("how long do the screws have to be", "1 1/4", "1/2")
    told = job.say("show me the working")[0].text
    assert "NDS" in told
    assert "common practice" in told


def test_what_is_no_amount_is_asked_again_and_never_mind_leaves() -> None:
    job = at_the_start()
    assert job.say("how many tubes", "quite a few")[0].text == "I need a figure there, such as 36 3/16."
    asked = job.say("never mind")
    assert asked[-1].data["about"] != "work"


def test_old_paint_with_nothing_disturbed_outside() -> None:
    told = answered(at_the_start(), "what about the old paint", "1962", "no", "7 square feet", "0").text
    assert "over the limit" in told
    assert "asbestos" in told


def test_an_impossible_figure_is_told_plainly() -> None:
    job = at_the_start()
    turns = job.say("how many tubes", "0 in")
    assert turns[0].kind == "refused"
    assert "more than 0" in turns[0].text


def test_every_question_has_its_words_and_can_be_asked() -> None:
    job = at_the_start()
    known = {intent for _, intent in job.session.phrases.examples()}
    for intent in QUESTIONS:
        assert intent in known, intent
        for one in QUESTIONS[intent].inputs:
            assert job.session.works._field(QUESTIONS[intent], one).ask({}).text


def test_who_leads_and_what_was_conceded() -> None:
    job = at_the_start()
    assert job.say("who leads")[0].text == "Nobody was named as the lead yet."
    assert job.say("what was conceded")[0].text == "Nothing was accepted as it is."
    job.say("Ana")
    assert "Ana" in job.say("who's in charge")[0].text
