"""The mouth's process, and the only door to pyttsx3: what is to be said is made into sound, and played.

Nothing has to be installed besides Python packages: the speech library is loaded from its package first, so that
pyttsx3 finds it under the name it looks for. pyttsx3's own playing is not used: it can't be stopped and reports success
without a sound card.

    say  id, parts [[words, figure], ...], settings, play, to     ->  began id, seconds; then ended id, how
    hush                                                          ->  ended id, "hushed", for all that waits

For a device somewhere else (`voice.afar`) the sound goes out instead of being played here.
"""

from __future__ import annotations

import array
import contextlib
import ctypes
import io
import os
import sys
import tempfile
import threading
import time
import wave
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from guide.voice.afar import AFAR, Sent
from guide.voice.child import Channel, Closed
from guide.voice.mouth_cache import Cache
from guide.voice.settings import cache_folder
from guide.voice.sound import Player, SoundError

FORM = 1
"""Goes up when the same words begin to sound otherwise."""
FIGURE_PACE = 0.8
"""Of the rate, for figures."""
PAUSE = 0.12
"""Seconds around a figure."""
QUIET = 60
"""Samples below this at the ends of a part are no speech (of 32,767)."""
LOUDEST = 31_000
"""The largest sample at full volume (of 32,767)."""
MADE_WITHIN = 10.0
"""Seconds that the library may take for one part."""
LOOK, LOOKS = 0.002, 500
"""Seconds between looks whether the library's thread is done, and how many."""
PLAYING_LOOK = 0.02
"""Seconds between looks at what plays."""
INSTALL = "pip install 'guide[voice]'"


@dataclass(frozen=True, slots=True)
class Speech:
    """What is to be said, and how."""

    parts: tuple[tuple[str, bool], ...]
    rate: int
    volume: float
    voice: str

    def key(self) -> str:
        """The name under which its sound is kept."""
        return Cache.key([FORM, self.parts, self.rate, self.volume, self.voice])


class NoVoice(Exception):
    """pyttsx3 or its speech library is not there; the message says what."""


class Voice:
    """pyttsx3 making sound files."""

    def __init__(self) -> None:
        """Load the libraries; raises `NoVoice`."""
        _load_library()
        try:
            import pyttsx3
            from pyttsx3.drivers import _espeak
        except ImportError:
            raise NoVoice("the package pyttsx3 is not installed") from None
        except (OSError, RuntimeError) as fault:
            raise NoVoice(f"the speech library can't be loaded: {fault}") from None
        self._busy: Callable[[], int] = _espeak.IsPlaying
        try:
            self._engine: Any = pyttsx3.init("espeak")
            self._known = {one.id: one.name for one in self._engine.getProperty("voices")}
        except (OSError, RuntimeError) as fault:
            raise NoVoice(f"the speech library can't be loaded: {fault}") from None
        self._made = threading.Event()
        self._engine.connect("finished-utterance", lambda name, completed: self._made.set())
        self._one("a")  # before its first run it only puts settings aside

    def voices(self) -> list[tuple[str, str]]:
        """Names and descriptions of the voices there are."""
        return sorted(self._known.items())

    def make(self, speech: Speech) -> bytes:
        """The speech as a WAV file, 16-bit mono; an unknown voice is spoken by the usual one."""
        if speech.voice.lower() in self._known:
            self._set("voice", speech.voice.lower())
        rate, samples = 22050, b""
        for words, figure in speech.parts:
            self._set("rate", round(speech.rate * (FIGURE_PACE if figure else 1)))
            rate, one = self._one(words)
            if not one:
                rate, one = self._one(words)
            one = _trimmed(one)
            if samples and one:
                samples += bytes(2 * round(PAUSE * rate))
            samples += one
        out = io.BytesIO()
        with wave.open(out, "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(rate)
            file.writeframes(_loud(samples, speech.volume))
        return out.getvalue()

    def _set(self, name: str, value: object) -> None:
        """Set a property. The library does that in a thread of its own, and what is begun before it is done is lost."""
        self._engine.setProperty(name, value)
        for _ in range(LOOKS):
            if self._engine.getProperty(name) == value and not self._busy():
                return
            time.sleep(LOOK)

    def _one(self, words: str) -> tuple[int, bytes]:
        """The rate and samples of some words. The library works on in a thread of its own when it returns."""
        if not any(c.isalnum() for c in words):
            return 22050, b""
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "one.wav")
            self._made.clear()
            self._engine.save_to_file(words, path)
            self._engine.runAndWait()
            if not self._made.wait(MADE_WITHIN):
                raise TimeoutError(f"no sound was made of {words!r}")
            for _ in range(LOOKS):
                if not self._busy():
                    break
                time.sleep(LOOK)
            with wave.open(path, "rb") as file:
                return file.getframerate(), file.readframes(file.getnframes())


def _load_library() -> None:
    """Load the speech library of its package, where there is one, under the name that pyttsx3 looks for."""
    try:
        import espeakng_loader
    except ImportError:
        return  # a system's own library will do
    os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
    try:
        ctypes.CDLL(f"{espeakng_loader.get_library_path()}.1", mode=ctypes.RTLD_GLOBAL)
    except OSError as fault:
        raise NoVoice(f"the speech library can't be loaded: {fault}") from None


def _trimmed(samples: bytes) -> bytes:
    """The samples without the quiet at both ends."""
    values = memoryview(samples).cast("h")
    start, end = 0, len(values)
    while start < end and abs(values[start]) < QUIET:
        start += 1
    while end > start and abs(values[end - 1]) < QUIET:
        end -= 1
    return samples[2 * start : 2 * end]


def _loud(samples: bytes, volume: float) -> bytes:
    """The samples as loud as they go without being clipped, times the volume: the library's own hardly changes it."""
    values = array.array("h", samples)
    gain = volume * LOUDEST / max(map(abs, values), default=1)
    return array.array("h", (round(gain * value) for value in values)).tobytes()


@dataclass(frozen=True, slots=True)
class _Job:
    number: int
    speech: Speech
    play: bool
    to: str | None


class Mouth:
    """The work of the process: one speech after the other, each told when it begins and how it ended."""

    def __init__(self, channel: Channel, voice: Voice, cache: Cache, player: Player | Sent) -> None:
        self._channel = channel
        self._voice = voice
        self._cache = cache
        self._player = player
        self._jobs: deque[_Job] = deque()
        self._now: _Job | None = None

    def run(self) -> None:
        """Work until the supervisor wants an end."""
        self._channel.send("ready", voices=self._voice.voices())
        try:
            while True:
                message = self._channel.receive(PLAYING_LOOK if self._now else None if not self._jobs else 0.0)
                if message is not None:
                    self._take(message)
                self._look()
        except Closed:
            self._player.close()

    def _take(self, message: Any) -> None:
        if message["kind"] == "say":
            speech = Speech(
                tuple((str(words), bool(figure)) for words, figure in message["parts"]),
                int(message["rate"]),
                float(message["volume"]),
                str(message["voice"]),
            )
            self._jobs.append(_Job(int(message["id"]), speech, bool(message["play"]), message["to"]))
        elif message["kind"] == "played" and isinstance(self._player, Sent):
            self._player.played(message)
        elif message["kind"] == "hush":
            self._player.stop()
            for job in (*([self._now] if self._now else ()), *self._jobs):
                self._ended(job, "hushed")
            self._jobs.clear()

    def _look(self) -> None:
        """See how what plays is getting on, and begin the next."""
        if self._now is not None:
            how = self._player.look()
            if how is None:
                return
            self._ended(self._now, how)
        if self._jobs:
            self._begin(self._jobs.popleft())

    def _begin(self, job: _Job) -> None:
        key = job.speech.key()
        data = self._cache.get(key)
        if data is None:
            data = self._voice.make(job.speech)
            self._cache.put(key, data)
        if job.to is not None and not self._written(job, data):
            return
        with wave.open(io.BytesIO(data)) as file:
            rate, samples = file.getframerate(), file.readframes(file.getnframes())
        if not job.play or not samples:
            self._ended(job, "done")
            return
        self._channel.send("began", id=job.number, seconds=len(samples) / 2 / rate)
        self._now = job
        try:
            self._player.play(samples, rate)
        except SoundError as fault:
            self._ended(job, "silent", str(fault))

    def _written(self, job: _Job, data: bytes) -> bool:
        try:
            Path(str(job.to)).write_bytes(data)
        except OSError as fault:
            self._ended(job, "failed", f"{job.to}: {fault.strerror}")
            return False
        return True

    def _ended(self, job: _Job, how: str, why: str = "") -> None:
        self._now = None
        self._channel.send("ended", id=job.number, how=how, why=why)


def main() -> None:
    """Run the mouth's process."""
    channel = Channel()
    with contextlib.suppress(Closed):
        try:
            voice = Voice()
        except NoVoice as fault:
            channel.missing(str(fault), f"To speak: {INSTALL}")
            return
        player = Sent(channel) if sys.argv[1:] == [AFAR] else Player()
        Mouth(channel, voice, Cache(cache_folder() / "mouth"), player).run()


if __name__ == "__main__":
    main()
