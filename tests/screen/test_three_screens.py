"""Terminal, tablet and page: the same lines and the same clock make the same record and the same turns on each."""

from __future__ import annotations

import asyncio
import io
import json
from collections.abc import Sequence

import pytest
from served import served
from settling import settled
from talking import WORDING, Talk, talk

from guide.job import events as ev
from guide.screen.demo import crew_lines
from guide.screen.desk import Desk
from guide.screen.draw import Drawing, JsonLines
from guide.screen.tablet.app import Tablet
from guide.screen.terminal import play
from guide.session import Conversation, View

Recorded = list[tuple[int, object, str, ev.Event]]
Turns = list[tuple[str, str]]


def recorded(job: Talk) -> Recorded:
    return [(entry.seq, entry.at, entry.who, entry.event) for entry in job.journal.entries]


def turns_of(view: View) -> Turns:
    return [(line.kind, line.text) for line in view.lines]


def in_lines(lines: Sequence[str]) -> tuple[Recorded, Turns]:
    job, out = talk("exterior-pair", who="", pretended=True), io.StringIO()
    play(job.session, JsonLines(out), job.turns, list(lines), 0)
    told = [json.loads(line) for line in out.getvalue().splitlines()]
    return recorded(job), [(turn["kind"], turn["text"]) for turn in told]


def on_the_tablet(lines: Sequence[str]) -> tuple[Recorded, Turns]:
    job = talk("exterior-pair", who="", pretended=True)
    desk = Desk(Conversation(job.session), job.turns)
    app = Tablet(desk, WORDING)

    async def whole() -> None:
        async with app.run_test() as pilot:
            for line in lines:
                app.say(line)
            await settled(pilot)

    asyncio.run(whole())
    desk.close()
    return recorded(job), turns_of(desk.view)


def on_the_page(lines: Sequence[str]) -> tuple[Recorded, Turns]:
    job = talk("exterior-pair", who="", pretended=True)
    with served(job) as door:
        page = door.page()
        for line in lines:
            page.say(line)
        return recorded(job), [(line["kind"], line["text"]) for line in page.lines]


def last_words(turns: Turns, count: int) -> Turns:
    """The guide's last turns: the tablet and the page keep so many, and the crew's words beside them."""
    return [turn for turn in turns if turn[0] != "crew"][-count:]


def test_the_terminal_draws_the_lines_of_the_view() -> None:
    lines = [*crew_lines()[:25], "stop"]
    job, out = talk("exterior-pair", who="", pretended=True), io.StringIO()
    conversation = Conversation(job.session)
    play(job.session, Drawing(conversation, out, 100), job.turns, lines, 0)
    drawn = " ".join(out.getvalue().split())
    at = 0
    for line in conversation.view().lines:
        words = ("You: " if line.kind == "crew" else "") + " ".join(line.text.split())
        found = drawn.find(words[:40], at)
        assert found >= at, f"{line} is not drawn in its place"
        at = found


@pytest.mark.parametrize("part", ["whole", "stopped"])
def test_the_same_script_and_clock_give_the_same_events_and_turns_on_all_three(part: str) -> None:
    lines = crew_lines() if part == "whole" else [*crew_lines()[:25], "stop"]
    events, turns = in_lines(lines)
    assert len(events) > (100 if part == "whole" else 30)
    for others, said in (on_the_tablet(lines), on_the_page(lines)):
        assert others == events
        assert last_words(said, 200) == last_words(turns, 200)
