"""The desk: one thing after the other in a thread of its own; a screen is told of what came of it."""

from __future__ import annotations

import threading
import time

from small import SHELF, START
from talking import Talk, talk

from guide.job import events as ev
from guide.screen.desk import Desk, Drawn, Ended, Failed, Told
from guide.session import Conversation

PATIENCE = 30.0


class Watched:
    """A desk, and everything that it told."""

    def __init__(self, job: Talk) -> None:
        self.job = job
        self.told: list[Told] = []
        self.desk = Desk(Conversation(job.session), job.turns)
        self.desk.tell = self.told.append
        self.desk.start()

    def settle(self) -> None:
        end = time.monotonic() + PATIENCE
        while self.desk.busy:
            assert time.monotonic() < end
            time.sleep(0.001)

    def last(self) -> str:
        """The guide's last words."""
        return self.desk.view.lines[-1].text


def test_what_is_said_is_worked_in_order_and_told_after_it_is_in_the_record() -> None:
    watched = Watched(talk(SHELF))
    done: list[int] = []
    for line in (*START, "20", "20 1/8"):
        watched.desk.say(line, then=lambda: done.append(len(watched.job.journal.entries)))
    watched.desk.close()
    taken = [str(event.value) for event in watched.job.events if isinstance(event, ev.Took)]
    assert taken == ["20 in", "20 1/8 in"]
    assert done == sorted(done) and done[-1] == len(watched.job.journal.entries)
    views = [one.view for one in watched.told if isinstance(one, Drawn)]
    assert len(views) == 4 and views[-1] is watched.desk.view


def test_a_touch_for_what_was_asked_before_is_refused_in_words() -> None:
    watched = Watched(talk(SHELF))
    watched.settle()
    number = watched.desk.view.request.number
    watched.desk.say("2", "touch", number)
    watched.desk.say("2", "touch", number)
    watched.desk.close()
    assert watched.last().startswith("That key was for what was asked before.")
    assert not any(isinstance(event, ev.Took) for event in watched.job.events)


def test_nothing_is_previewed_while_something_is_worked() -> None:
    job = talk(SHELF)
    watched = Watched(job)
    watched.desk.say(START[0])
    watched.settle()
    assert watched.desk.preview("20 1/2") is not None and watched.desk.preview("") is None
    assert watched.desk.preview("9" * 61) is None
    hear, working, enough = job.session.hear, threading.Event(), threading.Event()

    def slow(text: str, by: str = "typed") -> list[object]:
        working.set()
        assert enough.wait(PATIENCE)
        return hear(text, by)  # type: ignore[return-value]

    job.session.hear = slow  # type: ignore[method-assign, assignment]
    watched.desk.say("why")
    assert working.wait(PATIENCE)
    assert watched.desk.busy and watched.desk.preview("20 1/2") is None
    entries = len(watched.told)
    watched.desk.tick()  # looks at no clock while something is worked
    enough.set()
    watched.desk.close()
    assert len(watched.told) == entries + 1


def test_a_wait_that_ends_is_told_at_the_next_look_at_the_clock() -> None:
    watched = Watched(talk(SHELF))
    for line in (
        *START,
        "20",
        "20",
        "understood",
        "done",
        "understood",
        "yes",
        "done",
        "1/16",
        "0",
        "0",
        "yes",
        "done",
    ):
        watched.desk.say(line)
    for line in ("1/16", "0", "yes", "0"):
        watched.desk.say(line)
    watched.settle()
    assert "Nothing to do until" in watched.desk.view.request.headline
    watched.job.clock.pass_time(minutes=31)
    watched.desk.tick()
    watched.settle()
    assert "Nothing to do until" not in watched.desk.view.request.headline
    watched.desk.close()


def test_leaving_comes_behind_what_was_said_and_ends_with_its_code() -> None:
    watched = Watched(talk(SHELF))
    watched.desk.say(START[0])
    watched.desk.leave("terminated")
    watched.desk.say("20")
    watched.desk.close()
    assert [one.code for one in watched.told if isinstance(one, Ended)] == [143, 0]
    assert isinstance(watched.job.events[-1], ev.Stopped) and any(
        isinstance(event, ev.Chosen) for event in watched.job.events
    )


def test_a_fault_of_the_program_is_told_once_and_nothing_more_is_worked() -> None:
    watched = Watched(talk(SHELF))
    watched.settle()

    def fails(text: str, by: str = "typed") -> list[object]:
        raise ZeroDivisionError

    watched.job.session.hear = fails  # type: ignore[method-assign, assignment]
    watched.desk.say("one")
    watched.desk.say("two")
    watched.desk.close()
    assert [type(one.fault) for one in watched.told if isinstance(one, Failed)] == [ZeroDivisionError]
    assert not watched.desk.busy


def test_one_that_was_never_started_closes() -> None:
    job = talk(SHELF)
    Desk(Conversation(job.session), job.turns).close()
