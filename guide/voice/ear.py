"""The ear's process: the microphone, where utterances end, and what each ear made of them. It decides nothing.

    expect  expect, lists    what is asked for now                 ->  heard  by (one `Heard` an ear), cut, ended
    shut at, open at         when the mouth speaks                     microphone  there, why
    meter   seconds          how often the level is wanted             level  peak
    sound   data, rate, at   of a device somewhere else (`voice.afar`)

Without a microphone it waits for one to be plugged in. No sound is kept.
"""

from __future__ import annotations

import contextlib
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Protocol, runtime_checkable

from guide.problems import Problem, ProblemError
from guide.talk.expect import Expect
from guide.talk.places import Names
from guide.voice.afar import AFAR, Fed
from guide.voice.child import Channel, Closed
from guide.voice.endpoint import Detector, Utterance, load_detector
from guide.voice.expecting import expect_from
from guide.voice.hearing import Heard
from guide.voice.listening import Listening, Taken
from guide.voice.sound import Microphone, SoundError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LOOK = 0.03
"""Seconds between looks at the microphone."""
POSSIBLE = 0.02
"""Likelihood from which an open reading is worth waiting for."""
_OPEN_ENDS = frozenset({"and", "&", "a", "an", "the", "point", "foot", "feet", "plus", "by", "at", "on", "of", "is"})
"""Words that want a continuation."""

Lists = Mapping[str, Sequence[str]]


class Recogniser(Protocol):
    """One ear."""

    def hear(self, samples: NDArray[np.float32], expect: Expect | None, lists: Lists | None, cut_off: bool) -> Heard:
        """What an utterance may have been; `samples` at 16,000 a second, -1 to 1."""


@runtime_checkable
class Prepares(Protocol):
    """An ear that makes something of what is expected, which takes a while the first time."""

    def grammar(self, expect: Expect | None, lists: Lists | None = None) -> object:
        """Make it, if it is not made yet."""


def wants_more(heard: Heard, expect: Expect | None = None) -> bool:
    """Whether what was said so far wants a continuation: a bare whole number, or words that end in an "and".

    Where a state is asked for by place, a place too of which nothing was said yet ("top works, middle").
    """
    last = heard.free.lower().rstrip(" .,!?").rpartition(" ")[2]
    if last in _OPEN_ENDS:
        return True
    if expect is not None and expect.states and last in Names.of(expect.places).words():
        return not heard.hearings or heard.hearings[0].words.rpartition(" ")[2] != last
    for hearing in heard.hearings:
        if hearing.kind != "reading" or hearing.probability < POSSIBLE or not hearing.amounts:
            continue
        if hearing.words.rpartition(" ")[2] in _OPEN_ENDS:
            return True
        end = hearing.amounts[-1]
        if end.inches is not None and end.inches and end.inches.denominator == 1 and not end.unit_given:
            return True
    return False


class Ear:
    """The work of the process."""

    def __init__(
        self,
        channel: Channel,
        microphone: Taken,
        detector: Detector,
        ears: Sequence[Recogniser],
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self._channel = channel
        self._ears = ears
        self._microphone = microphone
        self._listening = Listening(microphone, detector, self._open, now=now)
        self._now = now
        self._expect: Expect | None = None
        self._lists: Lists = {}
        self._meter: float | None = None
        self._metered = 0.0
        self._there: bool | None = None
        self._last: tuple[bytes, list[Heard]] | None = None

    def run(self) -> None:
        """Work until the supervisor wants an end; raises `Closed` then."""
        while True:
            message = self._channel.receive(LOOK)
            while message is not None:
                self._take(message)
                message = self._channel.receive(0)
            self.look()

    def look(self) -> None:
        """See what the microphone has brought, and tell what was heard."""
        for utterance in self._listening.look():
            self._tell(utterance)
        if self._there is not self._listening.present:
            self._there = self._listening.present
            self._channel.send("microphone", there=self._there)
        if self._meter is not None and self._now() - self._metered >= self._meter:
            self._metered = self._now()
            self._channel.send("level", peak=self._listening.level)

    def _take(self, message: Mapping[str, Any]) -> None:
        kind = message["kind"]
        if kind == "expect":
            self._expect = expect_from(message["expect"]) if message["expect"] is not None else None
            self._lists = {name: tuple(all_of) for name, all_of in message["lists"].items()}
            self._last = None
            for ear in self._ears:  # now, while the mouth speaks, and not when the crew has spoken
                if isinstance(ear, Prepares):
                    ear.grammar(self._expect, self._lists)
        elif kind == "shut":
            self._listening.gate.shut(float(message["at"]))
        elif kind == "open":
            self._listening.gate.open(float(message["at"]))
        elif kind == "meter":
            self._meter = message["seconds"]
        elif kind == "sound" and isinstance(self._microphone, Fed):
            self._microphone.put(message)

    def _heard(self, samples: NDArray[np.int16], cut_off: bool) -> list[Heard]:
        """What each ear made of it; the same sound is not gone through twice."""
        import numpy as np

        sound = samples.tobytes()
        if self._last is not None and self._last[0] == sound and not cut_off:
            return self._last[1]
        floats = samples.astype(np.float32) / np.float32(32768)
        heard = [ear.hear(floats, self._expect, self._lists, cut_off) for ear in self._ears]
        self._last = (sound, heard)
        return heard

    def _open(self, samples: NDArray[np.int16]) -> bool:
        return any(wants_more(heard, self._expect) for heard in self._heard(samples, cut_off=False))

    def _tell(self, utterance: Utterance) -> None:
        heard = self._heard(utterance.samples, cut_off=bool(utterance.cut))
        self._last = None
        data = [one.as_data() for one in heard]
        self._channel.send("heard", by=data, cut=utterance.cut, ended=utterance.ended)


def load_ears() -> tuple[list[Recogniser], list[str]]:
    """The ears that this machine has, the measured one first, and what is wrong with one that should be there.

    Raises `ProblemError` if there is none.
    """
    from guide.voice.embedded.ear import Ear as Embedded
    from guide.voice.embedded.learned import PROBLEM, wanted_weights
    from guide.voice.models import find_vosk

    ears: list[Recogniser] = []
    problems: list[Problem] = []
    try:
        weights = wanted_weights()
        ears.append(Embedded(weights.folder, trained=weights.trained))
        problems += [weights.problem] if weights.problem else []
    except ProblemError as fault:
        problems += fault.problems
    try:
        folder = find_vosk()
        if folder is not None:
            from guide.voice.ears import VoskEar

            ears.append(VoskEar(folder))
    except ProblemError as fault:
        problems += fault.problems
    if not ears:
        raise ProblemError(problems)
    return ears, [f"{one.message}. {one.hint}" if one.code == PROBLEM else one.message for one in problems]


def main() -> None:
    """Run the ear's process."""
    channel = Channel()
    with contextlib.suppress(Closed):
        try:
            ears, missing = load_ears()
            detector = load_detector()
        except ProblemError as fault:
            channel.missing(fault.problems[0].message, fault.problems[0].hint or "")
            return
        except ImportError as fault:
            channel.missing(f"the package {fault.name} is not installed", "To hear: pip install 'guide[voice]'")
            return
        microphone = Fed() if sys.argv[1:] == [AFAR] else Microphone()
        if isinstance(microphone, Microphone):
            with contextlib.suppress(SoundError):
                microphone.open()
        channel.send("ready", ears=len(ears), missing=missing)
        try:
            Ear(channel, microphone, detector, ears).run()
        finally:
            microphone.close()


if __name__ == "__main__":
    main()
