"""The Vosk ear, and the only door to vosk: a general recogniser held to the words that a crew can say.

The phrase list is a bias and no grammar: what comes out is read as a whole afterwards, and what does not use up every
word is no hearing. Words that the model does not know are left out of the list beforehand, for the library drops them
without a word. Confidence of words and alternatives can't be had together: the sound is decoded twice.

Its certainty was never measured on its English model, which no package registry carries: alone it only asks.
"""

from __future__ import annotations

import json
import re
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import exp, log
from pathlib import Path
from typing import TYPE_CHECKING, Any

from guide.problems import Problem, ProblemError
from guide.quantity import Quantity
from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.talk.say import spoken, ways, whole
from guide.talk.vocabulary import language
from guide.voice.embedded.meanings import Meanings, Way, weigh
from guide.voice.hearing import Heard
from guide.voice.models import VARIABLE, find_vosk, lacking
from guide.voice.wav import RATE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

NAME = "vosk"
UNKNOWN = "[unk]"
ALTERNATIVES = 10
LEAST_SURE = 0.01
"""Confidence of a word that counts no lower."""
UNHEARD = 99.0
"""Garbage, in nats, of what holds words that are no crew's, or nothing."""
SHORTEST = RATE // 2
"""Samples; shorter sound is filled up with silence."""
_WORD = re.compile(r"[a-z]+(?:'[a-z]+)?")


@dataclass(frozen=True, slots=True)
class Decoded:
    """What the recogniser made of one utterance."""

    words: tuple[tuple[str, float], ...]
    """The words of the likeliest text, each with its confidence, 0 to 1."""
    alternatives: tuple[tuple[str, float], ...]
    """Texts with their scores, the likeliest first; only their differences mean anything."""

    @property
    def text(self) -> str:
        """The likeliest text."""
        return " ".join(word for word, _ in self.words)


class Recogniser:
    """The library with one model. Make it and use it in one thread."""

    def __init__(self, folder: Path) -> None:
        """Load a model; raises `ProblemError` if the library or the model is not there."""
        if missing := lacking(folder):
            message = f"{folder} is no Vosk model that takes a phrase list: it has no {missing[0]}"
            raise ProblemError([Problem("no-model", message, hint=f"Name another with {VARIABLE}.")])
        try:
            import vosk
        except ImportError:
            cure = "pip install 'guide[voice]'"
            raise ProblemError([Problem("no-vosk", "the package vosk is not installed", hint=cure)]) from None
        vosk.SetLogLevel(-1)
        self._make = vosk.KaldiRecognizer
        try:
            self._model = vosk.Model(str(folder))
        except Exception as fault:  # the library raises nothing more exact
            raise ProblemError([Problem("no-model", f"{folder} can't be loaded: {fault}")]) from None

    def knows(self, word: str) -> bool:
        """Whether the model's vocabulary has the word."""
        return int(self._model.vosk_model_find_word(word)) >= 0

    def known(self, phrases: Iterable[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The phrases whose every word the model knows, and the words that it does not know."""
        sure: dict[str, bool] = {}
        kept = []
        for phrase in phrases:
            words = phrase.split()
            for word in words:
                if word not in sure:
                    sure[word] = self.knows(word)
            if words and all(sure[word] for word in words):
                kept.append(phrase)
        return tuple(dict.fromkeys(kept)), tuple(sorted(word for word, there in sure.items() if not there))

    def decode(self, samples: NDArray[np.int16], phrases: Sequence[str]) -> Decoded:
        """What was said, of words in the phrases; `phrases` are known ones, at least one."""
        if not phrases:
            raise ValueError("a recogniser needs a phrase: without one the library ends the process")
        listed = [*phrases, UNKNOWN] if self._has_unknown else list(phrases)
        grammar = json.dumps(listed, ensure_ascii=False)
        sure = self._run(samples, grammar, alternatives=0)
        several = self._run(samples, grammar, alternatives=ALTERNATIVES)
        return Decoded(
            tuple((str(one["word"]), float(one["conf"])) for one in sure.get("result", ())),
            tuple((str(one["text"]), float(one["confidence"])) for one in several.get("alternatives", ())),
        )

    @cached_property
    def _has_unknown(self) -> bool:
        return self.knows(UNKNOWN)

    def _run(self, samples: NDArray[np.int16], grammar: str, alternatives: int) -> dict[str, Any]:
        """One decoding, in one piece: a pause inside it parts nothing."""
        recogniser = self._make(self._model, RATE, grammar)
        recogniser.SetWords(not alternatives)
        if alternatives:
            recogniser.SetMaxAlternatives(alternatives)
        recogniser.AcceptWaveform(samples.tobytes())
        found: dict[str, Any] = json.loads(recogniser.FinalResult())
        return found


class VoskEar:
    """Vosk's English model with the crew's words."""

    def __init__(self, folder: Path | None = None, recogniser: Recogniser | None = None) -> None:
        """Load the model of a folder, or the one that is found; raises `ProblemError` if there is none."""
        folder = folder or find_vosk()
        if recogniser is None:
            if folder is None:
                message = "Vosk's English model is not on this machine"
                raise ProblemError([Problem("no-model", message, hint="Fetch it with: guide ears fetch")])
            recogniser = Recogniser(folder)
        self._recogniser = recogniser
        self._phrases = Phrases.load("en")
        self._listed, self.lacking = recogniser.known(phrase_list(self._phrases))
        """`lacking` are words of the crew's that the model does not know: they can't be heard."""

    def hear(
        self,
        samples: NDArray[np.float32],
        expect: Expect | None = None,
        lists: Mapping[str, Sequence[str]] | None = None,
        cut_off: bool = False,
    ) -> Heard:
        """What an utterance may have been; `samples` at 16,000 a second, -1 to 1, one channel."""
        import numpy as np

        started = time.perf_counter()
        sound = np.clip(np.rint(samples * 32767), -32768, 32767).astype(np.int16)
        sound = np.concatenate([sound, np.zeros(max(0, SHORTEST - len(sound)), np.int16)])
        names = [name.lower() for all_of in (lists or {}).values() for name in all_of]
        if expect is not None:
            names += [*(said for said, _ in expect.answers), *(place.lower() for place in expect.places)]
        listed = (*self._listed, *self._recogniser.known(names)[0])
        decoded = self._recogniser.decode(sound, listed)
        meanings = Meanings(self._phrases, expect, lists)
        return Heard(
            ear=NAME,
            hearings=weigh(_ways(decoded, meanings)),
            garbage=_garbage(decoded),
            free=decoded.text,
            seconds=len(samples) / RATE,
            ms=round(1000 * (time.perf_counter() - started)),
            cut_off=cut_off,
        )


def _ways(decoded: Decoded, meanings: Meanings) -> Iterator[tuple[Way, float]]:
    """What each text means, with its score behind the best; texts that are wholly nothing here are left out."""
    texts = decoded.alternatives or ((decoded.text, 0.0),)
    best = max(score for _, score in texts)
    total = log(sum(exp(score - best) for _, score in texts))
    for text, score in texts:
        if UNKNOWN in text.split():
            continue
        yield from ((way, score - best - total) for way in meanings.of(text))


def _garbage(decoded: Decoded) -> float:
    """How unlikely it is that the words were said, by their confidences: a low word spoils the whole."""
    if not decoded.words or any(word == UNKNOWN for word, _ in decoded.words):
        return UNHEARD
    return -sum(log(max(LEAST_SURE, min(1.0, sure))) for _, sure in decoded.words)


def phrase_list(phrases: Phrases) -> list[str]:
    """What the recogniser is told can be said: every phrase, every word of a reading, and readings of every kind.

    The list teaches which word follows which, so it has each fraction and each whole number as they are said.
    """
    listed = [*phrases.plain, *sorted(phrases.words()), *sorted(_words_of(language()))]
    listed += [whole(number) for number in range(1, 145)]
    for sixteenths in range(1, 64):
        value = Quantity(Fraction(sixteenths, 16), "in")
        listed += [spoken(value), *(way for way in ways(value) if _WORD.fullmatch(way.replace(" ", "")))]
    return [phrase for phrase in dict.fromkeys(listed) if not any(character.isdigit() for character in phrase)]


def _words_of(table: object) -> set[str]:
    """Every word in a language's tables."""
    if isinstance(table, str):
        return set(_WORD.findall(table.lower()))
    if isinstance(table, Mapping):
        return {word for key, value in table.items() for part in (key, value) for word in _words_of(part)}
    if isinstance(table, Iterable):
        return {word for value in table for word in _words_of(value)}
    return set()
