"""The embedded ear: sound in, everything it may have been out.

The model's rows of pieces, held to the grammar of what can be said now, are read into meanings. The texts of the
likeliest meanings are scored again one by one, for rows side by side change each other a little. Garbage is told by how
much likelier the sound is as speech of any kind, and by how unlikely it is at all: a long hallucination beats nothing.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator, Mapping, Sequence
from math import log
from pathlib import Path
from typing import TYPE_CHECKING

from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.talk.say import whole
from guide.voice.embedded.grammar import Grammar
from guide.voice.embedded.meanings import Meanings, Way, weigh
from guide.voice.embedded.model import Model, Sound, find_weights
from guide.voice.embedded.search import BEAM, Result, search
from guide.voice.embedded.tokens import Pieces
from guide.voice.hearing import Heard, Hearing, Partner

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

NAME = "embedded"
SCORED_MOST = 6
"""Texts scored again one by one."""
SCORED_WITHIN = 10.0
"""Nats behind the first within which a text is scored again."""
READ_MOST = 48
"""Whole rows that are read into meanings."""
PARTNERS_MOST = 2
LONGEST_SECONDS = 20.0
_FLOOR = 2.0
GRAMMARS_MOST = 24


class Ear:
    """The embedded ear, loaded; hears one utterance at a time."""

    def __init__(self, folder: Path | None = None, language: str = "en", beam: int = BEAM) -> None:
        """Load the model; raises `ProblemError` when something is missing, with the cure."""
        folder = folder or find_weights()
        self._model = Model(folder)
        self._pieces = Pieces.load(folder / "tokenizer.bin")
        self._phrases = Phrases.load(language)
        self._beam = beam
        self._known: dict[object, tuple[Grammar, Meanings]] = {}

    def grammar(
        self, expect: Expect | None, lists: Mapping[str, Sequence[str]] | None = None
    ) -> tuple[Grammar, Meanings]:
        """What can be said when this is expected; made once for each step."""
        key = (expect, tuple(sorted((name, tuple(all_of)) for name, all_of in (lists or {}).items())))
        found = self._known.pop(key, None)
        if found is None:
            found = Grammar(self._pieces, self._phrases, expect, lists), Meanings(self._phrases, expect, lists)
        self._known[key] = found
        while len(self._known) > GRAMMARS_MOST:
            del self._known[next(iter(self._known))]
        return found

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
        sound = self._model.listen(samples[: int(LONGEST_SECONDS * 16_000)])
        result = search(sound, grammar.graph, self._beam)
        weighed = self._meant(sound, result, grammar, meanings)
        partners = tuple(self._partners(sound, weighed, grammar, meanings))
        best = weighed[0][0].weight if weighed else float("-inf")
        gap = result.free.weight - best
        return Heard(
            ear=NAME,
            hearings=tuple(hearing for hearing, _ in weighed),
            garbage=max(gap, -best - _FLOOR),
            free=self._pieces.decode(result.free.pieces),
            seconds=sound.seconds,
            ms=round(1000 * (time.perf_counter() - started)),
            cut_off=cut_off,
            partners=partners,
        )

    def _meant(
        self, sound: Sound, result: Result, grammar: Grammar, meanings: Meanings
    ) -> list[tuple[Hearing, tuple[int, ...]]]:
        """The meanings with their weights, the likeliest first, each with its likeliest row of pieces."""
        rows: dict[tuple[int, ...], tuple[list[Way], float]] = {}
        for row in result.rows[:READ_MOST]:
            ways = [way for text in grammar.graph.read(row.pieces) for way in meanings.of(text)]
            if ways:
                rows[row.pieces] = (ways, row.weight)
        for pieces in self._close(rows):
            rows[pieces] = (rows[pieces][0], sound.score(pieces))
        found = [
            (way, weight - log(len({one.key for one in ways})), pieces)
            for pieces, (ways, weight) in rows.items()
            for way in {one.key: one for one in ways}.values()
        ]
        best: dict[str, tuple[float, tuple[int, ...]]] = {}
        for way, weight, pieces in found:
            words = way.hearing.words
            if words not in best or weight > best[words][0]:
                best[words] = (weight, pieces)
        return [(hearing, best[hearing.words][1]) for hearing in weigh((way, weight) for way, weight, _ in found)]

    @staticmethod
    def _close(rows: Mapping[tuple[int, ...], tuple[list[Way], float]]) -> list[tuple[int, ...]]:
        """Rows to score again: the likeliest of the likeliest meanings, if more than one meaning is near."""
        ranked = sorted(rows, key=lambda pieces: -rows[pieces][1])
        near = [pieces for pieces in ranked if rows[pieces][1] > rows[ranked[0]][1] - SCORED_WITHIN]
        keys = {way.key for pieces in near for way in rows[pieces][0]}
        return near[:SCORED_MOST] if len(keys) > 1 else []

    def _partners(
        self,
        sound: Sound,
        weighed: Sequence[tuple[Hearing, tuple[int, ...]]],
        grammar: Grammar,
        meanings: Meanings,
    ) -> Iterator[Partner]:
        """Values that differ from the first hearing in a teen or a ten, each scored by itself."""
        if not weighed or weighed[0][0].kind != "reading":
            return
        first, pieces = weighed[0]
        own = sound.score(pieces)
        for text in swapped(self._pieces.decode(pieces))[:PARTNERS_MOST]:
            row = tuple(self._pieces.encode(text))
            texts = [words for words in grammar.graph.read(row) if meanings.of(words)]
            if texts and texts[0] != first.words:
                yield Partner(texts[0], own - sound.score(row))


def swapped(text: str) -> list[str]:
    """The text with each teen as its ten and each ten as its teen: "fifteen" and "fifty", "14" and "40"."""
    found = []
    for word in re.finditer(r"[A-Za-z]+|\d+", text):
        for other in _others(word[0]):
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
