"""The only door to miniaudio: what is played and what the microphone takes, as 16-bit mono.

Only child processes open a device: a sound library may crash, and complains on the terminal. `GUIDE_SOUND=null` takes
the null device, which plays to nobody and hears silence at the right pace.
"""

from __future__ import annotations

import os
import threading
import time
from collections import deque
from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import Any, Protocol

PERIOD_MS = 30
"""Of one block of sound. What was handed over and not yet heard is three blocks at most."""
BLOCKS_BEHIND = 3
LOST_AFTER = 1.5
"""Seconds without a call from a device that should be working."""
MOST_BLOCKS = 100
"""Blocks of the microphone that may wait, three seconds; what comes on top is lost."""

Pull = Generator[bytes, int, None]
Push = Generator[None, bytes, None]


class SoundError(Exception):
    """There is no device, or it can't be opened; the message says which."""


class Device(Protocol):
    """An opened device. `rate` is samples a second."""

    rate: int

    def start(self, source: Any) -> None:
        """Begin to play what a `Pull` hands over, or to hand a `Push` what is heard."""

    def stop(self) -> None:
        """Stop at once."""

    def close(self) -> None:
        """Give the device back."""


class _Opened:
    """A device of miniaudio."""

    def __init__(self, device: Any) -> None:
        self._device = device
        self.rate = int(device._device.sampleRate)

    def start(self, source: Any) -> None:
        import miniaudio

        try:
            self._device.start(source)
        except miniaudio.MiniaudioError as fault:
            raise SoundError(str(fault)) from None

    def stop(self) -> None:
        import miniaudio

        try:
            self._device.stop()
        except miniaudio.MiniaudioError as fault:
            raise SoundError(str(fault)) from None

    def close(self) -> None:
        self._device.close()


def _open(kind: str, rate: int, what: str) -> Device:
    try:
        import miniaudio
    except ImportError:
        raise SoundError("the package miniaudio is not installed") from None
    wanted = {"PULSEAUDIO", "ALSA", "JACK", "COREAUDIO", "WASAPI", "SNDIO", "OSS"}
    enabled = miniaudio.get_enabled_backends()
    real = sorted((one for one in enabled if one.name in wanted), key=lambda one: one.value)
    backends = [miniaudio.Backend.NULL] if os.environ.get("GUIDE_SOUND") == "null" else real
    try:
        device = getattr(miniaudio, kind)(
            nchannels=1, sample_rate=rate, buffersize_msec=PERIOD_MS, backends=backends, app_name="guide"
        )
    except miniaudio.MiniaudioError:
        raise SoundError(f"there is no {what}") from None
    return _Opened(device)


def open_speaker(rate: int) -> Device:
    """The machine's usual loudspeaker, at `rate` samples a second; raises `SoundError`."""
    return _open("PlaybackDevice", rate, "sound card to play on")


def open_microphone() -> Device:
    """The machine's usual microphone at its own rate; raises `SoundError`."""
    return _open("CaptureDevice", 0, "microphone")


class Player:
    """Plays one piece of sound at a time, stops it at once, and knows when its last sample has been heard."""

    def __init__(
        self, open_device: Callable[[int], Device] = open_speaker, now: Callable[[], float] = time.monotonic
    ) -> None:
        self._open_device = open_device
        self._now = now
        self._device: Device | None = None
        self._called = 0.0
        self._over = threading.Event()
        self._playing = False

    @property
    def playing(self) -> bool:
        """Whether sound is still to be heard."""
        return self._playing

    def play(self, samples: bytes, rate: int) -> None:
        """Begin to play 16-bit mono samples; raises `SoundError` if nothing can be played."""
        self.stop()
        if self._device is not None and self._device.rate != rate:
            self.close()
        if self._device is None:
            self._device = self._open_device(rate)
        self._over.clear()
        source = self._source(samples)
        next(source)
        self._called = self._now()
        self._playing = True
        try:
            self._device.start(source)
        except SoundError:
            self._playing = False
            self.close()
            raise

    def _source(self, samples: bytes) -> Pull:
        """What the device asks for, then silence until the last sample is out."""
        at = 0
        frames = yield b""
        behind = 0
        while behind <= BLOCKS_BEHIND:
            self._called = self._now()
            part = samples[at : at + 2 * frames]
            at += len(part)
            behind = behind + 1 if at >= len(samples) else 0
            frames = yield part + bytes(2 * frames - len(part))
        self._over.set()
        while True:
            yield bytes(2 * frames)

    def look(self) -> str | None:
        """How the playing ended, if it did since the last look: "done", or "lost" with the device."""
        if not self._playing:
            return None
        if self._over.is_set():
            self._halt()
            return "done"
        if self._now() - self._called > LOST_AFTER:
            self._playing = False
            self.close()
            return "lost"
        return None

    def stop(self) -> None:
        """Stop at once; does nothing when nothing plays."""
        if self._playing:
            self._halt()

    def _halt(self) -> None:
        self._playing = False
        if self._device is not None:
            try:
                self._device.stop()
            except SoundError:
                self.close()

    def close(self) -> None:
        """Give the device back; the next piece opens it again."""
        if self._device is not None:
            self._device.close()
            self._device = None


@dataclass(frozen=True, slots=True)
class Block:
    """Some sound of the microphone: 16-bit mono samples, their rate, and when the last of them was taken (seconds)."""

    samples: bytes
    rate: int
    at: float
    lost: bool = False
    """Sound before this block was lost."""


class Microphone:
    """Takes sound without a gap, or says that there was one; a device that is lost is opened again."""

    def __init__(
        self, open_device: Callable[[], Device] = open_microphone, now: Callable[[], float] = time.monotonic
    ) -> None:
        self._open_device = open_device
        self._now = now
        self._device: Device | None = None
        self._waiting: deque[Block] = deque()
        self._lock = threading.Lock()
        self._lost = False
        self._called = 0.0
        self.overflows = 0
        """Blocks that were lost because nobody took them in time."""

    def open(self) -> None:
        """Open the device and begin to take sound; raises `SoundError`."""
        self._device = self._open_device()
        sink = self._sink(self._device.rate)
        next(sink)
        self._called = self._now()
        try:
            self._device.start(sink)
        except SoundError:
            self.close()
            raise

    def _sink(self, rate: int) -> Push:
        while True:
            samples = bytes((yield))
            with self._lock:
                self._called = self._now()
                if len(self._waiting) >= MOST_BLOCKS:
                    self._lost = True
                    self.overflows += 1
                    continue
                self._waiting.append(Block(samples, rate, self._called, self._lost))
                self._lost = False

    def take(self) -> list[Block]:
        """Everything taken since the last time, oldest first."""
        with self._lock:
            blocks, self._waiting = list(self._waiting), deque()
        return blocks

    @property
    def lost(self) -> bool:
        """Whether the device is gone: no sound for a while."""
        return self._device is None or self._now() - self._called > LOST_AFTER

    def reopen(self) -> bool:
        """Try to open a lost device again; the next block says that sound was lost."""
        self.close()
        self._lost = True
        try:
            self.open()
        except SoundError:
            return False
        return True

    def close(self) -> None:
        """Give the device back."""
        if self._device is not None:
            self._device.close()
            self._device = None


def probe() -> dict[str, str | None]:
    """What is wrong with the loudspeaker and the microphone, None where nothing is."""
    return {"loudspeaker": _wrong_with(lambda: open_speaker(22_050)), "microphone": _wrong_with(open_microphone)}


def _wrong_with(open_device: Callable[[], Device]) -> str | None:
    try:
        open_device().close()
    except SoundError as fault:
        return str(fault)
    return None
