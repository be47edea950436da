"""The mouth with its real library and the null device: nothing is installed by the system for it."""

from __future__ import annotations

import io
import sys
import threading
import wave
from collections.abc import Iterator
from pathlib import Path

import pytest

from guide.voice.mouth import LOUDEST, Speech, Voice
from guide.voice.settings import Settings
from guide.voice.speaking import Ended, Speaking
from guide.voice.supervise import Banner


@pytest.fixture(scope="module")
def voice() -> Voice:
    return Voice()


def seconds(data: bytes) -> float:
    with wave.open(io.BytesIO(data)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        return float(file.getnframes() / file.getframerate())


def speech(*parts: tuple[str, bool], rate: int = 150, volume: float = 1.0, voice: str = "gmw/en-us") -> Speech:
    return Speech(parts, rate, volume, voice)


def loudest(data: bytes) -> int:
    with wave.open(io.BytesIO(data)) as file:
        return max(map(abs, memoryview(file.readframes(file.getnframes())).cast("h")))


def test_words_become_sound(voice: Voice) -> None:
    assert seconds(voice.make(speech(("thirty six and three sixteenths", True)))) > 1
    assert loudest(voice.make(speech(("thirty six", True)))) > 3000


def test_a_figure_is_said_slower_than_the_same_words(voice: Voice) -> None:
    words = "thirty six and three sixteenths"
    assert seconds(voice.make(speech((words, True)))) > 1.1 * seconds(voice.make(speech((words, False))))


def test_rate_volume_and_voice_change_what_is_heard(voice: Voice) -> None:
    plain = voice.make(speech(("hello there", False)))
    assert seconds(voice.make(speech(("hello there", False), rate=90))) > 1.2 * seconds(plain)
    assert loudest(plain) == LOUDEST
    assert loudest(voice.make(speech(("hello there", False), volume=0.3))) == pytest.approx(0.3 * LOUDEST, abs=1)
    assert loudest(voice.make(speech(("hello there", False), volume=0.0))) == 0
    assert voice.make(speech(("hello there", False), voice="gmw/en-gb-scotland")) != plain


def test_a_speech_takes_as_long_whatever_was_said_before(voice: Voice) -> None:
    first = voice.make(speech(("hello there", False)))
    voice.make(speech(("something else", True), rate=90, volume=0.2, voice="gmw/en-gb-scotland"))
    assert seconds(voice.make(speech(("hello there", False)))) == pytest.approx(seconds(first), abs=0.05)


def test_several_parts_are_said_one_after_the_other(voice: Voice) -> None:
    alone = [seconds(voice.make(speech((words, False)))) for words in ("hello", "there")]
    assert seconds(voice.make(speech(("hello", False), ("there", False)))) > sum(alone)


def test_marks_alone_are_silence(voice: Voice) -> None:
    assert seconds(voice.make(speech(("...", False)))) == 0


def test_an_unknown_voice_is_spoken_by_the_usual_one(voice: Voice) -> None:
    assert seconds(voice.make(speech(("hello", False), voice="nobody"))) > 0.2


@pytest.fixture
def speaking(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Speaking]:
    monkeypatch.setenv("GUIDE_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("GUIDE_SOUND", "null")
    mouth = Speaking(Settings(), lambda banner: None)
    mouth.start()
    assert mouth.wait_ready()
    yield mouth
    mouth.stop()


def test_a_speech_is_played_to_its_end(speaking: Speaking, tmp_path: Path) -> None:
    number = speaking.say("1/8 in")
    assert speaking.speaking
    assert speaking.wait(number) == Ended(number, "done")
    assert not speaking.speaking
    assert len(list((tmp_path / "cache" / "mouth").iterdir())) == 1


def test_hush_ends_what_is_said_and_what_waits(speaking: Speaking) -> None:
    numbers = [speaking.say("a very long sentence " * 20), speaking.say("another")]
    speaking.hush()
    assert [speaking.wait(number).how for number in numbers] == ["hushed", "hushed"]
    assert speaking.wait(speaking.say("hello")).how == "done"


def test_a_file_is_written(speaking: Speaking, tmp_path: Path) -> None:
    to = tmp_path / "out.wav"
    assert speaking.wait(speaking.say("36 3/16 in", play=False, to=str(to))).how == "done"
    assert seconds(to.read_bytes()) > 1
    ended = speaking.wait(speaking.say("hello", play=False, to=str(tmp_path / "none" / "out.wav")))
    assert (ended.how, ended.why) == ("failed", f"{tmp_path / 'none' / 'out.wav'}: No such file or directory")


def test_nothing_to_say_is_no_speech(speaking: Speaking) -> None:
    assert speaking.say("...") == 0
    assert not speaking.speaking


def test_no_sound_card_is_said_and_the_mouth_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GUIDE_CACHE", str(tmp_path))
    monkeypatch.delenv("GUIDE_SOUND", raising=False)
    mouth = Speaking(Settings(), lambda banner: None)
    mouth.start()
    assert mouth.wait_ready()
    try:
        ended = mouth.wait(mouth.say("hi"))
        if ended.how == "done":
            pytest.skip("this machine has a sound card")
        assert (ended.how, ended.why) == ("silent", "there is no sound card to play on")
        assert mouth.wait(mouth.say("hi")).how == "silent"
    finally:
        mouth.stop()


def test_a_mouth_that_cannot_be_had_is_said_and_nothing_waits_for_it() -> None:
    banners: list[Banner] = []
    told = threading.Event()

    def take(banner: Banner) -> None:
        banners.append(banner)
        told.set()

    program = "from guide.voice.child import Channel; Channel().missing('no such package', 'install it')"
    mouth = Speaking(Settings(), take, command=(sys.executable, "-c", program))
    mouth.start()
    assert not mouth.wait_ready()
    assert told.wait(10)
    assert banners == [Banner("mouth", "missing", "missing", "no such package", "install it")]
    assert mouth.say("hello") == 0
    mouth.stop()
