"""The tablet's screen on the real session: the same words give the same record as in lines, by key and by touch."""

from __future__ import annotations

import asyncio
import io
import json
import threading
from collections.abc import Awaitable, Callable, Iterable
from dataclasses import replace
from typing import Any

import pytest
from fakes import FakePeople
from rich.color import Color
from settling import settled
from small import SHELF, START, SURVEYED
from talking import WORDING, Talk, talk
from textual.geometry import Offset
from textual.pilot import Pilot

from guide.job import events as ev
from guide.screen.demo import crew_lines
from guide.screen.desk import Desk
from guide.screen.draw import JsonLines
from guide.screen.tablet import start
from guide.screen.tablet.app import LONGEST, Tablet, Words
from guide.screen.tablet.themes import PARTS_LEAST, TEXT_LEAST, contrast
from guide.screen.tablet.widgets import Keys
from guide.screen.tablet.widgets import Talk as TalkPane
from guide.screen.terminal import play
from guide.session import Conversation, Turn, View

SIZES = [(60, 20), (80, 24), (200, 60)]


def tablet(job: Talk, theme: str = "sunlight") -> Tablet:
    return Tablet(Desk(Conversation(job.session), job.turns), WORDING, theme)


def run(
    job: Talk,
    act: Callable[[Tablet, Pilot[int]], Awaitable[None]],
    size: tuple[int, int] = (60, 20),
    theme: str = "sunlight",
) -> Tablet:
    """Do something on a screen of that size, and give the app back when it has ended."""
    app = tablet(job, theme)

    async def whole() -> None:
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            await act(app, pilot)

    asyncio.run(whole())
    app.desk.close()
    return app


def screen_text(app: Tablet) -> str:
    """Everything on the screen, row by row."""
    return "\n".join("".join(segment.text for segment in strip) for strip in strips(app))


def strips(app: Tablet) -> Iterable[Any]:
    return app.screen._compositor.render_strips()


def squeezed(text: str) -> str:
    return " ".join(text.split())


async def type_line(pilot: Pilot[int], line: str) -> None:
    pilot.app.query_one(Words).value = line
    await pilot.press("enter")


async def touch(app: Tablet, pilot: Pilot[int], label: str, grid: str = "keys") -> None:
    """Touch the key with this label, where it is on the screen."""
    keys = app.query_one(f"#{grid}", Keys)
    at = next(i for i, key in enumerate(keys.keys) if label in (key.label, key.words))
    x = keys.size.width * (at % keys.columns) // keys.columns + 1
    await pilot.click(f"#{grid}", offset=Offset(x, at // keys.columns * keys.key_height))
    await settled(pilot)


# The same record


def recorded(job: Talk) -> list[tuple[int, object, str, ev.Event]]:
    return [(entry.seq, entry.at, entry.who, entry.event) for entry in job.journal.entries]


def untouched(job: Talk) -> list[ev.Event]:
    """The events as if every answer had been typed."""
    return [
        replace(event, heard=replace(event.heard, by="typed")) if isinstance(event, ev.Took | ev.Corrected) else event
        for event in job.events
    ]


def test_a_whole_job_gives_the_same_record_and_the_same_turns_in_lines_and_on_the_tablet() -> None:
    lines = crew_lines()
    in_lines = talk("exterior-pair", who="", pretended=True)
    out = io.StringIO()
    assert play(in_lines.session, JsonLines(out), in_lines.turns, lines, 0) == 0

    drawn = talk("exterior-pair", who="", pretended=True)
    told: list[Turn] = []

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        keep = app.desk.conversation.turns
        app.desk.conversation.turns = lambda turns: keep(told.extend(turns) or turns)  # type: ignore[func-returns-value,method-assign]
        for line in lines:
            app.say(line)
        await settled(pilot)
        assert "finished" in screen_text(app)

    run(drawn, act)
    assert recorded(drawn) == recorded(in_lines)
    assert [json.loads(line) for line in out.getvalue().splitlines()][len(drawn.turns) :] == [
        turn.as_data() for turn in told
    ]


def test_keyboard_and_touch_give_the_same_record_but_for_how_it_was_given() -> None:
    typed = talk(SHELF)
    typed.say("2", "20 3/16", "20 1/8", "understood", "done", "understood", "yes", "done")

    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        await touch(app, pilot, "no back")
        for key in ("2", "0", "3/16", "OK"):
            await touch(app, pilot, key)
        for key in ("2", "0", "1/16", "del", "1/8", "OK"):
            await touch(app, pilot, key)
        for key in ("Understood", "Done", "Understood", "Yes", "Done"):
            await touch(app, pilot, key)
        await settled(pilot)

    run(job, act)
    took = [event for event in job.events if isinstance(event, ev.Took)]
    assert {event.heard.by for event in took} == {"touch"}
    assert untouched(job) == untouched(typed)


@pytest.mark.parametrize(
    ("keys", "value"),
    [(["1", "ft", "8", "3/16", "OK"], "20 3/16 in"), (["5", "0", "8", "mm", "OK"], "508 mm")],
)
def test_feet_and_millimetres_by_touch(keys: list[str], value: str) -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        app.say(START[0])
        await settled(pilot)
        for key in keys:
            await touch(app, pilot, key)
        await settled(pilot)

    run(job, act)
    took = job.events[-1]
    assert isinstance(took, ev.Took) and str(took.value) == value


# What is on the screen


@pytest.fixture(scope="module")
def views() -> list[View]:
    """The views of a whole job: one for each kind of thing asked, and every long request."""
    job = talk("exterior-pair", who="", pretended=True)
    conversation = Conversation(job.session)
    conversation.turns(job.turns)
    found, seen = [], set()
    for line in crew_lines():
        view = conversation.view()
        kind = (
            view.request.about,
            view.keypad.kind,
            bool(view.stale),
            bool(view.reading and view.reading.verdict == "out"),
        )
        if kind not in seen or len(view.request.text) > 220:
            seen.add(kind)
            found.append(view)
        conversation.hear(line)
    return [*found, conversation.view()]


def shown(app: Tablet, view: View) -> None:
    """Draw this view, whatever the session says."""
    app.now_view = view
    app.draw()


@pytest.mark.parametrize("size", [*SIZES, (48, 40), (100, 30)])
def test_the_request_is_inside_the_screen_at_every_size(size: tuple[int, int], views: list[View]) -> None:
    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        for view in views:
            shown(app, view)
            await settled(pilot)
            box = app.query_one("#request").region
            rows = screen_text(app).splitlines()[box.y : box.bottom]
            assert squeezed(view.request.text) in squeezed(" ".join(row[box.x : box.right] for row in rows))

    run(talk(SHELF), act, size)


@pytest.mark.parametrize("size", SIZES)
def test_a_reading_is_shown_big_while_it_is_typed_and_when_it_is_taken(size: tuple[int, int]) -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        app.say(START[0])
        await settled(pilot)
        for key in ("2", "0", "space", "3", "slash", "1", "6"):
            await pilot.press(key)
        await settled(pilot)
        rows = screen_text(app).splitlines()
        assert sum("██" in row for row in rows) >= 5
        assert any("top: 20 3/16 in. so far" in row for row in rows)
        await pilot.press("enter")
        await settled(pilot)
        assert "top: 20 3/16 in. noted" in screen_text(app)
        assert sum("██" in row for row in screen_text(app).splitlines()) >= 5

    run(job, act, size)


def test_what_is_stale_out_and_to_be_heeded_is_said_in_words_and_signs() -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        for line in (*SURVEYED, "understood", "done", "understood", "yes", "done", "1/16", "0"):
            app.say(line)
        app.say("the frame moved")
        await settled(pilot)
        assert "! 1 to do again, because the frame moved: square." in screen_text(app)
        app.say("1/4")
        await settled(pilot)
        assert "! left: 1/4 in. OUT" in screen_text(app)

    run(job, act)


def test_an_answer_is_shown_in_the_place_of_the_keys_and_the_next_request_brings_them_back() -> None:
    job = talk("exterior-pair", who="Bo", pretended=True)
    lines = crew_lines()[1:]

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        for line in lines:
            if app.now_view.request.step == "plumb":
                break
            app.say(line)
            await settled(pilot)
        await settled(pilot)
        assert not app.query_one(TalkPane).display and app.query_one("#keys").display
        await touch(app, pilot, "Why", "helps")
        await settled(pilot)
        assert app.query_one(TalkPane).display and not app.query_one("#keys").display
        assert "» why" in screen_text(app)
        await touch(app, pilot, "Keys", "helps")
        await settled(pilot)
        assert app.query_one("#keys").display
        await pilot.press("f1")
        app.say("plumb, plumb")
        await settled(pilot)
        assert app.query_one("#keys").display

    run(job, act)


def test_long_answers_are_shown_from_their_beginning_and_can_be_paged() -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        app.say("help")
        await settled(pilot)
        text = screen_text(app)
        assert "» help" in text and "▼" in text and "Is there a back?" in text
        await pilot.press("pagedown")
        await settled(pilot)
        assert "» help" not in screen_text(app)
        assert "Is there a back?" in screen_text(app)
        await pilot.press("pageup")
        await settled(pilot)
        assert "» help" in screen_text(app)

    run(job, act)


@pytest.mark.parametrize("theme", ["sunlight", "dark"])
def test_everything_drawn_has_the_contrast_that_wcag_asks_for(theme: str, views: list[View]) -> None:
    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        least: dict[str, float] = {}
        for view in views:
            shown(app, replace(view, banner="My ears failed."))
            await settled(pilot)
            for strip in strips(app):
                for text, style, _ in strip:
                    if text.strip() and style and style.color and style.bgcolor:
                        ratio = contrast(_hex(style.color), _hex(style.bgcolor))
                        kind = "part" if set(text.strip()) <= set("▁▂▃▄▅▆▇█▔─│┌┐└┘┬┴") else "text"
                        least[kind] = min(least.get(kind, 21), ratio)
        assert least["text"] >= TEXT_LEAST and least["part"] >= PARTS_LEAST

    run(talk(SHELF), act, theme=theme)


def _hex(colour: Color) -> str:
    red, green, blue = colour.get_truecolor()
    return f"#{red:02x}{green:02x}{blue:02x}"


def test_colours_are_changed_while_it_runs() -> None:
    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        await pilot.press("f5")
        assert app.theme == "dark"
        await pilot.press("f5")
        assert app.theme == "sunlight"

    run(talk(SHELF), act)


def test_turned_and_resized_while_it_runs() -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        app.say(START[0])
        for size in ((48, 40), (200, 60), (30, 10), (60, 20), (10, 4), (80, 24)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            app.query_one(Words).value = "20 1/2"
            await settled(pilot)
        assert "Width, top?" in screen_text(app)
        assert "top: 20 1/2 in. so far" in screen_text(app)

    run(job, act)


def test_while_moves_are_worked_out_the_screen_takes_and_shows_what_is_typed_and_keeps_its_order() -> None:
    job = talk(SHELF)
    hear, working, enough = job.session.hear, threading.Event(), threading.Event()

    def slow(text: str, by: str = "typed") -> list[Turn]:
        working.set()
        assert enough.wait(30)
        return hear(text, by)

    job.session.hear = slow  # type: ignore[method-assign]

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        app.say(START[0])
        await asyncio.to_thread(working.wait, 30)
        await pilot.press("2", "0", "space", "1", "slash", "2", "enter")
        await pilot.press("2", "1")
        await pilot.pause()
        assert app.query_one(Words).value == "21" and app.now_view.request.headline == "Is there a back?"
        assert screen_text(app).splitlines()[-1].strip() == "21"
        enough.set()
        await settled(pilot)
        assert app.query_one(Words).value == "21"
        assert "top: 20 1/2 in" in app.now_view.lines[-2].text and app.now_view.request.place == "bottom"

    run(job, act)
    took = job.events[-1]
    assert isinstance(took, ev.Took) and str(took.value) == "20 1/2 in"


def test_a_key_for_what_was_asked_before_is_not_taken_for_what_is_asked_now() -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        for line in SURVEYED:
            app.say(line)
        await settled(pilot)
        (key,) = app.query_one("#keys", Keys).keys
        assert (key.label, app.now_view.request.about) == ("Understood", "cautions")
        app.touch(key)
        app.touch(key)
        await settled(pilot)
        assert app.now_view.request.about == "done" and "That key was for" in app.now_view.lines[-1].text

    run(job, act)


# Trouble


def test_pasted_megabytes_and_odd_characters_change_nothing_and_are_answered() -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        from textual import events

        line = app.query_one(Words)
        line._on_paste(events.Paste("9" * 3_000_000 + "\nmore"))
        await settled(pilot)
        assert len(line.value) == LONGEST
        await pilot.press("enter")
        await settled(pilot)
        assert "too long" in screen_text(app)
        await type_line(pilot, "a\x1b[31m‮👩‍🔧 b")
        await settled(pilot)
        assert "\x1b" not in screen_text(app) and "‮" not in screen_text(app)

    before = len(job.journal.entries)
    run(job, act)
    assert len(job.journal.entries) == before


def test_a_full_disk_is_told_and_nothing_is_lost() -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        app.say(START[0])
        await settled(pilot)
        job.journal.fails = True
        app.say("20 1/2")
        await settled(pilot)
        assert "The disk is full." in squeezed(screen_text(app))
        job.journal.fails = False
        app.say("20 1/2")
        await settled(pilot)
        assert "top: 20 1/2 in. noted" in screen_text(app)

    run(job, act, (80, 24))
    assert sum(isinstance(event, ev.Took) for event in job.events) == 1


def test_a_pin_is_never_on_the_screen() -> None:
    job = talk(SHELF, people=FakePeople({"Ana": ("lead", "1234")}))

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        for line in (*SURVEYED, "understood", "done", "understood", "yes", "done", "1/4", "0", "leave it as it is"):
            app.say(line)
        app.say("Ana")
        await settled(pilot)
        for key in "1234":
            await touch(app, pilot, key)
            await settled(pilot)
        assert app.query_one(Words).value == "1234" and "1234" not in screen_text(app)
        await touch(app, pilot, "OK")
        await settled(pilot)
        assert "1234" not in screen_text(app) and not app.now_view.secret

    run(job, act)


# Leaving


def test_the_first_ctrl_c_makes_safe_the_second_leaves() -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        for line in (*SURVEYED, "understood", "done", "understood", "yes", "done"):
            app.say(line)
        await pilot.press("ctrl+c")
        await settled(pilot)
        assert "First make it safe." in squeezed(screen_text(app))
        await pilot.press("ctrl+c")

    app = run(job, act)
    assert app.return_value == 130
    stopped = job.events[-1]
    assert isinstance(stopped, ev.Stopped) and (stopped.how, stopped.left) == ("interrupted", ("unsupported",))


def test_words_between_make_the_next_ctrl_c_the_first_again() -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        for line in (*SURVEYED, "understood", "done", "understood", "yes", "done"):
            app.say(line)
        await pilot.press("ctrl+c")
        app.say("go on")
        await pilot.press("ctrl+q")
        await settled(pilot)
        assert not job.session.over and "First make it safe." in squeezed(screen_text(app))

    run(job, act)


def test_a_stopped_job_is_left_by_enter_or_touch() -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        app.say("stop")
        await settled(pilot)
        assert "Stopped." in screen_text(app)
        await touch(app, pilot, "Leave")

    assert run(job, act).return_value == 0
    assert isinstance(job.events[-1], ev.Stopped)


def test_a_wait_that_ends_is_told_by_itself() -> None:
    job = talk(SHELF)

    async def act(app: Tablet, pilot: Pilot[int]) -> None:
        for line in (*SURVEYED, "understood", "done", "understood", "yes", "done", "1/16", "0", "0", "yes", "done"):
            app.say(line)
        for line in ("1/16", "0", "yes", "0"):
            app.say(line)
        await settled(pilot)
        assert "Nothing to do until" in squeezed(screen_text(app))
        job.clock.pass_time(minutes=31)
        app.desk.tick()
        await settled(pilot)
        assert "Nothing to do until" not in app.now_view.request.headline

    run(job, act, (80, 24))


def test_a_screen_that_fails_leaves_the_job_in_the_record_and_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    job = talk(SHELF)
    assert start._finished(tablet(job), None) == start.SCREEN_FAILED
    assert "the tablet's screen failed; the job is in the record" in capsys.readouterr().err
    stopped = job.events[-1]
    assert isinstance(stopped, ev.Stopped) and stopped.how == "terminated"


def test_nothing_of_a_fault_in_the_screen_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    app = tablet(talk(SHELF))

    async def whole() -> None:
        async with app.run_test() as pilot:
            app.call_later(lambda: 1 / 0)
            await settled(pilot)

    with pytest.raises(ZeroDivisionError):
        asyncio.run(whole())
    assert app.return_value is None and capsys.readouterr() == ("", "")
