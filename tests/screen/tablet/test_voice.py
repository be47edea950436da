"""The voice beside the tablet's screen: what was heard is shown and taken, trouble is a banner, the job goes on."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable

from fakes import FakeDuplex, FakePeople
from settling import settled
from small import SHELF, START
from talking import PHRASES, WORDING, talk
from textual.pilot import Pilot

from guide.job import events as ev
from guide.screen.desk import Desk, Shown
from guide.screen.tablet.app import Tablet
from guide.screen.voiced import VoicedScreen
from guide.session import Conversation
from guide.session.spoken import SpokenSession
from guide.voice.attending import Plugged, Utterance
from guide.voice.duplex import Told
from guide.voice.embedded.meanings import Meanings, weigh
from guide.voice.hearing import Heard
from guide.voice.supervise import Banner


class Bench:
    """A shelf's job on the tablet, with a voice that a test plays."""

    def __init__(self) -> None:
        self.job = talk(SHELF)
        self.session = SpokenSession(self.job.session.job, PHRASES, FakePeople())
        self.duplex = FakeDuplex()
        conversation = Conversation(self.session)
        conversation.listens()
        desk = Desk(conversation, self.session.open())
        desk.voice = VoicedScreen(self.session, Shown(conversation), self.duplex)  # type: ignore[arg-type]
        desk.speaking = lambda: self.duplex.speaking
        self.app = Tablet(desk, WORDING)

    def run(self, act: Callable[[Pilot[int]], Awaitable[None]]) -> None:
        async def whole() -> None:
            async with self.app.run_test(size=(80, 24)) as pilot:
                await settled(pilot)
                self.app.say(START[0])
                await settled(pilot)
                await act(pilot)

        asyncio.run(whole())
        self.app.desk.close()

    async def tell(self, pilot: Pilot[int], told: Told) -> str:
        """What is on the screen once this was told."""
        self.duplex.inbox.put(told)
        await pilot.pause(0.1)
        await settled(pilot)
        return "\n".join("".join(s.text for s in strip) for strip in self.app.screen._compositor.render_strips())

    def utterance(self, text: str) -> Utterance:
        expect, lists = self.session.expecting()
        found = weigh([(way, -1.0) for way in Meanings(PHRASES, expect, lists).of(text)])
        return Utterance((Heard("embedded", found, 0.0, text, 1.0, 1),), "", 0.0)


def test_what_is_heard_is_shown_big_taken_and_said_back() -> None:
    bench = Bench()

    async def act(pilot: Pilot[int]) -> None:
        screen = await bench.tell(pilot, bench.utterance("twenty and three eighths"))
        assert "» twenty and three eighths" in screen and "o listening" in screen
        assert "top: 20 3/8 in. noted" in screen
        assert 'Heard "twenty and three eighths": top: 20 3/8 in.' in screen

    bench.run(act)
    took = bench.job.events[-1]
    assert isinstance(took, ev.Took) and took.heard.by == "voice"
    assert any("20 3/8 in" in said for said in bench.duplex.said)


def test_a_surprising_reading_is_asked_about_in_big_figures() -> None:
    bench = Bench()

    async def act(pilot: Pilot[int]) -> None:
        bench.app.say("90 1/2")
        await settled(pilot)
        screen = await bench.tell(pilot, Plugged(True))
        assert "top: 90 1/2 in. is it right?" in screen

    bench.run(act)


def test_the_ear_that_is_gone_is_a_banner_and_the_job_goes_on() -> None:
    bench = Bench()

    async def act(pilot: Pilot[int]) -> None:
        screen = await bench.tell(pilot, Banner("ear", "down", "crash", "exit code 3"))
        assert "! can't hear" in screen and "My ears keep failing (exit code 3)." in screen
        bench.app.say("20 3/8")
        await settled(pilot)
        assert "Width, bottom?" in await bench.tell(pilot, Banner("ear", "up"))
        assert bench.app.now_view.banner == "" and bench.app.now_view.ear.state == "listening"

    bench.run(act)
    assert isinstance(bench.job.events[-1], ev.Took)


def test_while_the_mouth_speaks_the_bar_says_so_and_enter_cuts_it_short() -> None:
    bench = Bench()

    async def act(pilot: Pilot[int]) -> None:
        bench.duplex.speaking = True
        bench.app.desk.tick()
        await settled(pilot)
        assert bench.app.now_view.ear.state == "speaking"
        said = len(bench.app.now_view.lines)
        await pilot.press("enter")
        await settled(pilot)
        assert not bench.duplex.speaking and len(bench.app.now_view.lines) == said

    bench.run(act)


def test_a_job_that_ends_by_voice_stays_on_the_screen_until_it_is_left() -> None:
    bench = Bench()

    async def act(pilot: Pilot[int]) -> None:
        screen = await bench.tell(pilot, bench.utterance("stop the job"))
        assert "Stopped." in screen
        await pilot.press("enter")

    bench.run(act)
    assert bench.app.return_value == 0 and isinstance(bench.job.events[-1], ev.Stopped)
