"""A whole small job by sound: a crew of one voice, the real processes of ear and mouth, and what the record shows."""

from __future__ import annotations

import io
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import ear_of_files
import pytest
from fakes import FakePeople
from talking import PHRASES, talk

from guide.job import events as ev
from guide.screen.draw import Drawing
from guide.screen.voiced import VoicedScreen
from guide.session.conversation import Conversation
from guide.session.spoken import SpokenSession
from guide.voice.duplex import Duplex
from guide.voice.mouth import Speech, Voice
from guide.voice.settings import Settings

PATIENCE = 120
JOB = """
format: 1
title: Hang a hatch
about: Invented, for tests.
choices:
  swing: {ask: Which way does it swing, options: {in: swings in, out: swings out}}
readings:
  width: {ask: Width, at: [top, bottom], likely: 10 in to 40 in, with: tape}
  gap: {ask: Gap at the latch, about: gap, likely: 0 in to 1 in}
  latches: {ask: Does it latch by itself, answer: yes-no, good: "yes"}
  free: {ask: Does it swing free, at: [top, middle, bottom], answer: yes-no, good: "yes"}
cautions: {weight: The hatch is heavy.}
steps:
  measure: {part: Measure, say: Measure the width., take: width}
  hang: {part: Hang, after: measure, say: Hang the hatch., caution: weight}
  gap: {after: hang, say: Read the gap., take: gap}
  latch: {after: gap, say: Let it fall shut., take: latches}
  swing: {after: latch, say: Swing it., take: free}
"""
CREW = (
    "the second one",
    "top twenty and three eighths bottom twenty and a half",
    "I understand",
    "that's done",
    "about an eighth of an inch",
    "yes it is",
    "it latches",
    "top works middle sticks",
    "no make that middle yes",
    "yes it is",
    "works at the bottom",
)
BY_PLACE = "top works middle sticks"
TALK = ("pass me the bottom one would you", "put the other screws on top of the sill plate")
"""For nobody, said where the guide asks for a state by place."""


class Site:
    """The guide with its processes, and a voice that speaks to it."""

    def __init__(self, duplex: Duplex, folder: Path) -> None:
        self.job = talk(JOB)
        self.duplex = duplex
        self.out = io.StringIO()
        self._folder, self._voice = folder, Voice()
        self._session = SpokenSession(self.job.session.job, PHRASES, FakePeople())
        self._screen = VoicedScreen(self._session, Drawing(Conversation(self._session), self.out), duplex)
        self._screen.turns(self._session.open())

    def says(self, words: str) -> None:
        """Say it once the mouth has ended, and wait for the answer."""
        end = time.monotonic() + PATIENCE
        before = self.out.getvalue().count("You: ")
        self.talks(words)
        while self.out.getvalue().count("You: ") == before:
            assert time.monotonic() < end, f"{words}\n{self.out.getvalue()}"
            self._screen.news()
            time.sleep(0.01)

    def talks(self, words: str) -> None:
        """Say it once the mouth has ended; the ear hears what it is played in its order."""
        file = self._folder / f"{words.replace(' ', '-')}.wav"
        file.write_bytes(self._voice.make(Speech(((words, False),), 150, 1.0, "gmw/en-gb-x-rp")))
        self.duplex.hush()
        end = time.monotonic() + PATIENCE
        while self.duplex.speaking or not self.duplex._attending._supervisor.up:
            assert time.monotonic() < end
            self._screen.news()
            time.sleep(0.01)
        self.duplex._attending._supervisor.send("play", file=str(file))


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Site]:
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(sys.path))
    monkeypatch.setenv("GUIDE_CACHE", str(tmp_path))
    monkeypatch.setenv("GUIDE_SOUND", "null")
    duplex = Duplex(Settings(rate=300), ear=(sys.executable, ear_of_files.__file__))
    duplex.start()
    yield Site(duplex, tmp_path)
    duplex.stop()


def test_a_whole_job_by_sound(site: Site) -> None:
    for words in CREW:
        if words == BY_PLACE:
            for talk in TALK:
                site.talks(talk)
        site.says(words)
    events = site.job.events
    assert isinstance(events[-1], ev.Finished), site.out.getvalue()
    chosen = next(event for event in events if isinstance(event, ev.Chosen))
    assert (chosen.choice, chosen.option) == ("swing", "out")
    assert (chosen.heard.said, chosen.heard.by) == ("the second one", "voice")
    took = {(one.reading, one.place): one for one in events if isinstance(one, ev.Took)}
    assert {key: str(one.value) for key, one in took.items()} == {
        ("width", "top"): "20 3/8 in", ("width", "bottom"): "20 1/2 in", ("gap", ""): "1/8 in", ("latches", ""): "yes",
        ("free", "top"): "yes", ("free", "middle"): "no", ("free", "bottom"): "yes",
    }  # fmt: skip
    assert {one.heard.by for one in took.values()} == {"voice"}
    assert all(0 < float(one.heard.confidence or 0) <= 1 for one in took.values())
    assert (took["gap", ""].heard.unsure, took["gap", ""].heard.confirmed) == (True, "yes")
    assert took["latches", ""].heard.said == "it latches"
    assert {took["free", place].heard.said for place in ("top", "middle")} == {BY_PLACE}
    mended = next(event for event in events if isinstance(event, ev.Corrected))
    assert (mended.place, mended.value, mended.heard.by, mended.heard.confirmed) == ("middle", "yes", "voice", "yes")
    assert site.out.getvalue().count("You: ") == len(CREW), "talk for nobody is not answered"
