"""The view says all that a screen draws, as JSON, and is worked out from the session as it stands."""

from __future__ import annotations

import json

import pytest
from fakes import FakePeople
from small import SHELF, SURVEYED
from talking import Talk, talk

from guide.procedure import load
from guide.screen.demo import crew_lines
from guide.session import Turn
from guide.session.conversation import HIDDEN, KEPT, Conversation
from guide.session.spots import Mark, mark_of_move, mark_of_reading


def started(*lines: str, people: FakePeople | None = None) -> tuple[Talk, Conversation]:
    job = talk(SHELF, people=people)
    conversation = Conversation(job.session)
    conversation.turns(job.turns)
    for line in lines:
        conversation.hear(line)
    return job, conversation


def test_a_reading_is_asked_with_place_instrument_and_keys() -> None:
    _, conversation = started("no back")
    view = conversation.view()
    assert view.request.headline == "Width, top?"
    assert view.request.details == ("Take it with: tape.",)
    assert (view.request.expects, view.request.place, view.keypad.kind) == ("number", "top", "inches")
    assert view.progress.part == "Measure" and view.progress.text == "0 of 8 steps"
    assert [key.text for key in view.helps] == ["why", "how", "repeat", "undo", "stop"]


def test_an_answer_is_to_be_read_until_something_else_is_asked() -> None:
    _, conversation = started("no back")
    assert conversation.view().answer == 0
    conversation.hear("why")
    view = conversation.view()
    (answer,) = [line for line in view.lines if line.number == view.answer]
    assert "cut to it" in answer.text
    conversation.hear("20 1/2")
    assert conversation.view().answer == 0


def test_choices_are_keys_and_not_said_twice() -> None:
    view = started()[1].view()
    assert view.request.headline == "Is there a back?"
    assert [(key.text, key.words) for key in view.keypad.blocks[0]] == [("1", "with a back board"), ("2", "no back")]


def test_a_reading_is_understood_in_parts() -> None:
    _, conversation = started("no back", "20 3/8")
    reading = conversation.view().reading
    assert reading is not None
    assert (reading.whole, reading.part, reading.unit) == ("20", "3/8", "in")
    assert (reading.text, reading.place, reading.verdict) == ("20 3/8 in", "top", "noted")


@pytest.mark.parametrize(
    ("typed", "whole", "part"),
    [("20", "20", ""), ("1/2", "", "1/2"), ("20 3/16", "20", "3/16"), ("508 mm", "508", ""), ("508.5 mm", "508.5", "")],
)
def test_what_is_being_typed_is_shown_as_it_would_be_understood(typed: str, whole: str, part: str) -> None:
    seen = started("no back")[1].preview(typed)
    assert seen is not None and (seen.whole, seen.part, seen.place, seen.verdict) == (whole, part, "top", "")


def test_words_that_are_no_reading_or_more_than_one_show_nothing() -> None:
    _, conversation = started("no back")
    assert conversation.preview("") is None
    assert conversation.preview("why") is None
    assert conversation.preview("20, 21") is None
    assert started()[1].preview("20") is None


def test_a_surprising_reading_is_shown_big_while_it_is_asked_about() -> None:
    _, conversation = started("no back", "90 1/2")
    view = conversation.view()
    assert view.keypad.kind == "yes-no"
    assert view.reading is not None and view.reading.verdict == "asked"
    assert (view.reading.whole, view.reading.part, view.reading.place) == ("90", "1/2", "top")
    conversation.hear("no")
    assert conversation.view().reading is None


def test_a_reading_with_a_side_has_its_keys_and_its_side_in_words() -> None:
    _, conversation = started(*SURVEYED, "done", "understood", "done", "understood", "yes", "done", "1/16", "0")
    view = conversation.view()
    assert view.request.headline == "How far out of level, over 24 in?"
    assert "Good is within 1/8 in either way." in view.request.details
    assert [key.words for key in view.keypad.blocks[0] if key.text in ("+", "-")] == ["right", "left"]
    conversation.hear("1/16")
    asked = conversation.view()
    assert asked.request.headline == "1/16 in: which way?" and asked.keypad.kind == "choice"
    assert asked.reading is not None and asked.reading.verdict == "asked"
    conversation.hear("1")
    assert [line.text for line in conversation.view().lines if line.kind == "accepted"][-1].startswith(
        "1/16 in, the right"
    )


def test_cautions_and_who_must_be_there() -> None:
    _, conversation = started(*SURVEYED)
    view = conversation.view()
    assert view.cautions == ("The frame is heavy and the saw cuts. Keep your fingers clear.",)
    assert view.request.headline == "Cut the shelf to 19 3/4 in."
    for line in ("understood", "done", "understood"):
        conversation.hear(line)
    assert conversation.view().crew == "Takes 2 people."
    assert conversation.view().cautions == ()


def test_what_is_stale_and_why() -> None:
    job, conversation = started(*SURVEYED, "understood", "done", "understood", "yes", "done", "1/16", "0")
    conversation.hear("the frame moved")
    stale = conversation.view().stale
    assert [one.checks for one in stale] == [("square",)]
    assert stale[0].text == "1 to do again, because the frame moved: square."
    again = Conversation(job.again().session)
    assert again.view().stale[0].text == "1 to do again: square."


def test_a_pin_is_not_shown() -> None:
    people = FakePeople({"Ana": ("lead", "1234")})
    _, conversation = started(*SURVEYED, "understood", "done", "understood", "yes", "done", people=people)
    for line in ("1/4", "0", "leave it as it is", "Ana"):
        conversation.hear(line)
    view = conversation.view()
    assert view.secret and view.keypad.kind == "secret"
    conversation.hear("1234")
    assert HIDDEN in [line.text for line in conversation.view().lines]
    assert "1234" not in json.dumps(conversation.view().as_data())


def test_the_ear_and_its_banners() -> None:
    _, conversation = started("no back")
    assert conversation.view().ear.state == "off"
    conversation.listens()
    assert conversation.view().ear.state == "listening"
    assert conversation.view(speaking=True).ear.state == "speaking"
    conversation.turns([Turn("say", "My ears failed.", {"banner": "voice.ear-restarting"})])
    view = conversation.view()
    assert (view.ear.state, view.banner) == ("trouble", "My ears failed.")
    conversation.turns([Turn("say", "I hear again.", {"banner": "voice.ear-up"})])
    assert (conversation.view().ear.state, conversation.view().banner) == ("listening", "")
    conversation.crew("twenty", by="voice")
    conversation.turns(conversation.session.hear("20"))
    ear = conversation.view().ear
    assert (ear.heard, ear.made) == ("twenty", "top: 20 in.")
    assert conversation.view().hint == 'Heard "twenty": top: 20 in.'


def test_the_request_counts_up_only_when_something_else_is_asked() -> None:
    _, conversation = started("no back")
    first = conversation.view().request.number
    conversation.hear("why")
    assert conversation.view().request.number == first
    conversation.hear("20")
    assert conversation.view().request.number == first + 1


def test_only_so_much_is_kept() -> None:
    _, conversation = started("no back")
    for _ in range(KEPT):
        conversation.hear("why")
    lines = conversation.view().lines
    assert len(lines) == KEPT and lines[-1].number - lines[0].number == KEPT - 1


def test_a_whole_job_gives_a_view_at_every_moment_and_all_of_it_is_json() -> None:
    job = talk("exterior-pair", who="", pretended=True)
    conversation = Conversation(job.session)
    conversation.turns(job.turns)
    marked, expects = 0, set()
    for line in crew_lines():
        view = conversation.view()
        assert view.request.headline
        assert json.loads(json.dumps(view.as_data()))["request"]["headline"] == view.request.headline
        marked += bool(view.request.marks)
        expects.add(view.keypad.kind)
        conversation.hear(line)
    assert job.session.over and conversation.view().over
    assert conversation.view().keypad.kind == "none" and not conversation.view().helps
    assert marked > 60
    assert expects >= {"inches", "choice", "yes-no", "done", "name", "text"}


PAIR, SINGLE = load("exterior-pair").readings, load("exterior-single").readings


@pytest.mark.parametrize(
    ("marks", "found"),
    [
        (mark_of_reading(PAIR["opening_width"], "top"), [Mark(0, 4, 4, 4)]),
        (mark_of_reading(PAIR["opening_height"], "middle"), [Mark(2, 0, 2, 4)]),
        (mark_of_reading(PAIR["diagonals"], "bottom left to top right"), [Mark(0, 0, 4, 4)]),
        (mark_of_reading(PAIR["sill_level"], ""), [Mark(0, 0, 4, 0)]),
        (mark_of_reading(PAIR["plumb_along"], "right side"), [Mark(4, 0, 4, 4)]),
        (mark_of_reading(PAIR["square"], "top left"), [Mark(0, 4, 0, 4)]),
        (mark_of_reading(PAIR["head_reveal"], "right meeting"), [Mark(3, 4, 3, 4)]),
        (mark_of_reading(PAIR["meeting_gap"], "bottom"), [Mark(2, 0, 2, 0)]),
        (mark_of_reading(PAIR["string_gap"], ""), [Mark(0, 0, 4, 4), Mark(0, 4, 4, 0)]),
        (mark_of_reading(PAIR["wall_depth"], ""), []),
        (mark_of_reading(SINGLE["hinge_reveal"], "top", "left"), [Mark(0, 4, 0, 4)]),
        (mark_of_reading(SINGLE["lock_reveal"], "middle", "left"), [Mark(4, 2, 4, 2)]),
        (mark_of_reading(SINGLE["hinge_reveal"], "top"), []),
        (mark_of_move("left middle hinge"), [Mark(0, 2, 0, 2)]),
        (mark_of_move("right bottom lock-side point"), [Mark(4, 0, 4, 0)]),
        (mark_of_move("head centre"), [Mark(2, 4, 2, 4)]),
        (mark_of_move("head"), [Mark(0, 4, 4, 4)]),
        (mark_of_move("top right corner"), [Mark(4, 4, 4, 4)]),
    ],
)
def test_where_it_is_on_the_door(marks: tuple[Mark, ...], found: list[Mark]) -> None:
    assert list(marks) == found
