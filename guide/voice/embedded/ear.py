"""The embedded ear: sound in, everything it may have been out.

The model's rows of pieces, held to the grammar of what can be said now, are read into meanings. The texts of the
likeliest meanings are scored again one by one, for rows side by side change each other a little. Garbage is told by how
much likelier the sound is as speech of any kind, and by how unlikely it is at all: a long hallucination beats nothing.
"""

from __future__ import annotations

import re
import time
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, inf, log
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.talk.say import whole
from guide.talk.understand import normal
from guide.voice.embedded.cries import cries, is_cry
from guide.voice.embedded.grammar import Grammar
from guide.voice.embedded.meanings import Meanings, Way, weigh
from guide.voice.embedded.model import RATE, THREADS, Model, Sound, find_weights
from guide.voice.embedded.search import BEAM, search
from guide.voice.embedded.tokens import END, Pieces
from guide.voice.ends import stops_in_speech
from guide.voice.hearing import Heard, Hearing, Partner

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

NAME, TRAINED_NAME = "embedded", "embedded-trained"
"""With the weights as they are shipped, and with those taught; each has thresholds of its own."""
SCORED_MOST = 6
"""Texts scored again one by one."""
SCORED_WITHIN = 10.0
"""Nats behind the first within which a text is scored again."""
READ_MOST = 48
"""Whole rows that are read into meanings."""
SWAPS_MOST, ALIKE_MOST = 2, 5
"""Texts with a teen for a ten that are scored, and where other words that are asked for sound alike too."""
LONGEST_SECONDS = 20.0
_FLOOR, _FLOOR_A_WORD, _SHORT = 2.0, 0.5, 3
"""Nats that the likeliest text may be unlikely by itself: so many, and more for every word beyond some."""
SECONDS_AROUND, SECONDS_A_WORD = 3.0, 1.5
"""The longest that a sound is for its words; every second more is a nat of garbage."""
CRIES_FROM = 2.0
"""Nats behind what was heard freely, or behind what is likely at all, from which a cry for help is looked for."""
CRIES_BEAM, CRIES_MOST = 8, 8
GRAMMARS_MOST = 8
"""Grammars kept."""


@dataclass(frozen=True, slots=True)
class Form:
    """A row of pieces: the texts that it stands for, and its log-probability."""

    texts: tuple[str, ...]
    weight: float


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the model made of a stretch of sound, before anything is expected of it."""

    forms: tuple[Form, ...]
    """In the grammar."""
    free: Form
    """Without a grammar."""
    swaps: tuple[Form, ...]
    """The first form with a teen for a ten, a ten for a teen, or a place for one whose name sounds alike."""
    goes_on: float
    """Log-probability that "and" follows the first form's last word."""
    unfinished: float
    """Log-odds that no stop is written behind the first form's last word."""
    seconds: float
    cries: tuple[Form, ...] = ()
    """Cries for help that it may have been, looked for when it was nothing else."""


class Ear:
    """The embedded ear, loaded; hears one utterance at a time."""

    def __init__(
        self,
        folder: Path | None = None,
        language: str = "en",
        beam: int = BEAM,
        threads: int = THREADS,
        trained: bool = False,
    ) -> None:
        """Load the model; `trained` says which weights the folder has.

        Raises `ProblemError` when something is missing, with the cure.
        """
        folder = folder or find_weights()
        self._name = TRAINED_NAME if trained else NAME
        self._model = Model(folder, threads)
        self._pieces = Pieces.load(folder / "tokenizer.bin")
        self._phrases = Phrases.load(language)
        self._beam = beam
        self._stops = {self._pieces.word(mark, first=False)[0] for mark in ".,?!"}
        self._and = self._pieces.word("and")[0]
        self._known: dict[Hashable, Grammar] = {}
        self._cries = cries(self._pieces, self._phrases)

    def grammar(
        self, expect: Expect | None, lists: Mapping[str, Sequence[str]] | None = None
    ) -> tuple[Grammar, Meanings]:
        """What can be said when this is expected, and what it means; made once for each kind of reading."""
        sayable = expect and (expect.about, expect.sign, expect.places, expect.answers, expect.states)
        key = (sayable, tuple(sorted((name, tuple(all_of)) for name, all_of in (lists or {}).items())))
        found = self._known.pop(key, None) or Grammar(self._pieces, self._phrases, expect, lists)
        self._known[key] = found
        while len(self._known) > GRAMMARS_MOST:
            del self._known[next(iter(self._known))]
        return found, Meanings(self._phrases, expect, lists)

    def hear(
        self,
        samples: NDArray[np.float32],
        expect: Expect | None = None,
        lists: Mapping[str, Sequence[str]] | None = None,
        cut_off: bool = False,
    ) -> Heard:
        """What an utterance may have been; `samples` at 16,000 a second, -1 to 1, one channel."""
        started = time.perf_counter()
        grammar, meanings = self.grammar(expect, lists)
        heard = weighed(self.listen(samples, grammar, meanings), meanings, cut_off)
        heard = replace(heard, ear=self._name, stops=stops_in_speech(samples))
        return replace(heard, ms=round(1000 * (time.perf_counter() - started)))

    def listen(self, samples: NDArray[np.float32], grammar: Grammar, meanings: Meanings) -> Evidence:
        """What the model makes of the sound, held to what can be said now."""
        sound = self._model.listen(samples[: int(LONGEST_SECONDS * RATE)])
        result = search(sound, grammar.graph, self._beam)
        rows = {row.pieces: row.weight for row in result.rows[:READ_MOST]}
        texts = {pieces: grammar.graph.read(pieces) for pieces in rows}
        meant = {pieces: {way.key for text in texts[pieces] for way in meanings.of(text)} for pieces in rows}
        rows = {pieces: weight for pieces, weight in rows.items() if meant[pieces]}
        goes_on = unfinished = -inf
        swaps: list[Form] = []
        for i, pieces in enumerate(_close(rows, meant)):
            along = sound.follow(pieces)
            rows[pieces] = _total(along, pieces)
            if not i:
                goes_on, unfinished = self._behind(along, pieces)
        if rows:
            first = max(rows, key=lambda pieces: rows[pieces])
            swaps = list(self._swaps(sound, first, grammar, meanings, meant[first]))
        forms = tuple(Form(texts[pieces], weight) for pieces, weight in rows.items())
        free = Form((self._pieces.decode(result.free.pieces),), result.free.weight)
        cried = tuple(self._cried(sound)) if nothing_else(forms, free) else ()
        return Evidence(forms, free, tuple(swaps), goes_on, unfinished, sound.seconds, cried)

    def _cried(self, sound: Sound) -> Iterator[Form]:
        """Cries for help that it may have been."""
        for row in search(sound, self._cries, CRIES_BEAM).rows[:CRIES_MOST]:
            texts = tuple(text for text in self._cries.read(row.pieces) if is_cry(text, self._phrases))
            if texts:
                yield Form(texts, row.weight)

    def _behind(self, along: NDArray[np.float32], pieces: Sequence[int]) -> tuple[float, float]:
        """Where the text's last word ends: the log-probability of "and", and the log-odds of an end without a stop."""
        last = len(pieces)
        while last and pieces[last - 1] in self._stops:
            last -= 1
        stopped = log(sum(exp(along[last, stop]) for stop in self._stops) + 1e-30)
        return float(along[last, self._and]), float(along[last, END]) - stopped

    def _swaps(
        self,
        sound: Sound,
        first: Sequence[int],
        grammar: Grammar,
        meanings: Meanings,
        meant: set[Hashable],
    ) -> Iterator[Form]:
        """Texts that differ from the first in what sounds alike and mean something else, each scored by itself."""
        most = SWAPS_MOST if not meanings.alike else ALIKE_MOST
        for text in swapped(self._pieces.decode(first), meanings.alike)[:most]:
            row = tuple(self._pieces.encode(text))
            texts = tuple(words for words in grammar.graph.read(row) if meanings.of(words))
            if any(way.key not in meant for words in texts for way in meanings.of(words)):
                yield Form(texts, _total(sound.follow(row), row))


def nothing_else(forms: Sequence[Form], free: Form) -> bool:
    """Whether nothing in the grammar comes near what was heard freely."""
    best = max((form.weight for form in forms), default=-inf)
    return best < free.weight - CRIES_FROM or best < -_FLOOR - CRIES_FROM


def weighed(evidence: Evidence, meanings: Meanings, cut_off: bool = False) -> Heard:
    """What the evidence means at a step, the likeliest first."""
    ways = []
    for form in evidence.forms:
        found = {way.key: way for text in form.texts for way in meanings.of(text)}
        ways += [(way, form.weight - log(len(found))) for way in found.values()]
    ways += _alarm(evidence, meanings)
    hearings = weigh(ways)
    partners = []
    if ways and hearings[0].kind != "command":
        own = max((way.prior + weight for way, weight in ways), default=-inf)
        for form in evidence.swaps:
            alike = [way for text in form.texts for way in meanings.of(text)]
            if alike:
                prior = max(way.prior for way in alike)
                partners.append(Partner(alike[0].hearing.words, own - form.weight - prior))
    return Heard(
        ear=NAME,
        hearings=hearings,
        garbage=_garbage(evidence, hearings[0]) if hearings else inf,
        free=evidence.free.texts[0],
        seconds=evidence.seconds,
        ms=0,
        cut_off=cut_off,
        partners=tuple(partners),
        goes_on=evidence.goes_on,
        unfinished=evidence.unfinished,
    )


def _alarm(evidence: Evidence, meanings: Meanings) -> list[tuple[Way, float]]:
    """Cries for help, in sentences that the grammar of the step does not have ("he put a nail in his thumb")."""
    found = {normal(text): form.weight for form in evidence.forms for text in form.texts}
    ways = []
    for form in (evidence.free, *evidence.cries):
        new = [text for text in form.texts if normal(text) not in found]
        found |= dict.fromkeys(map(normal, new), form.weight)
        alarms = {way.key: way for text in new for way in meanings.alarm(text)}
        ways += [(way, form.weight) for way in alarms.values()]
    return ways


def _garbage(evidence: Evidence, first: Hearing) -> float:
    """How little like speech for the guide it is: beaten by free speech, unlikely at all, or too long for its words."""
    count = len(first.words.split())
    spare = evidence.seconds - SECONDS_AROUND - SECONDS_A_WORD * count
    floor = _FLOOR + _FLOOR_A_WORD * max(0, count - _SHORT)
    return max(evidence.free.weight - first.weight, -first.weight - floor) + max(0.0, spare)


def _close(
    rows: Mapping[tuple[int, ...], float], meant: Mapping[tuple[int, ...], set[Hashable]]
) -> list[tuple[int, ...]]:
    """Rows to score again by themselves: the first, and those near it if they mean anything else."""
    ranked = sorted(rows, key=lambda pieces: -rows[pieces])
    near = [pieces for pieces in ranked if rows[pieces] > rows[ranked[0]] - SCORED_WITHIN]
    return near[:SCORED_MOST] if any(meant[pieces] != meant[ranked[0]] for pieces in near) else ranked[:1]


def _total(along: NDArray[np.float32], pieces: Sequence[int]) -> float:
    return float(sum(along[at, piece] for at, piece in enumerate([*pieces, END])))


def swapped(text: str, alike: Mapping[str, Sequence[str]] = MappingProxyType({})) -> list[str]:
    """The text with each teen as its ten and each ten as its teen: "fifteen" and "fifty", "14" and "40".

    `alike` has other words for which one may be heard for another.
    """
    found = []
    for word in re.finditer(r"[A-Za-z]+|\d+", text):
        for other in (*_others(word[0]), *alike.get(word[0].lower(), ())):
            found.append(text[: word.start()] + other + text[word.end() :])
    return found


def _others(word: str) -> Iterator[str]:
    for teen in range(13, 20):
        ten = 10 * (teen % 10)
        for one, other in ((teen, ten), (ten, teen)):
            if word.lower() == whole(one):
                yield whole(other).capitalize() if word[0].isupper() else whole(other)
            elif word.isdigit() and word.endswith(str(one)) and len(word) in (2, 3, 4):
                yield word[:-2] + str(other)
