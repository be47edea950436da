"""Cries for help as a graph of pieces: the patterns that raise an alarm inside a sentence, and loose words around them.

It is searched only when an utterance was nothing else, and lets through more than raises an alarm: the phrases have the
last word.
"""

from __future__ import annotations

from itertools import product

from guide.talk.alarm import written_out
from guide.talk.phrases import Phrases
from guide.voice.embedded.automaton import Graph
from guide.voice.embedded.numbers import Amounts
from guide.voice.embedded.tokens import Pieces

_BEFORE, _BEHIND = "cry-before", "cry-behind"
_THINGS = ("part", "thing", "height")
"""Classes of words: those that stand loosely before and behind a pattern."""

_SHORT = {
    ("i", "am"): "I'm", ("i", "have"): "I've", ("we", "have"): "we've", ("they", "have"): "they've",
    ("we", "are"): "we're", ("they", "are"): "they're", ("you", "are"): "you're",
    ("can", "not"): "can't", ("will", "not"): "won't",
    ("is", "not"): "isn't", ("are", "not"): "aren't",
}  # fmt: skip
_SUBJECTS = frozenset(
    {"he", "she", "it", "there", "that", "someone", "somebody", "everyone", "everybody", "man", "guy"}
)


def is_cry(text: str, phrases: Phrases) -> bool:
    """Whether the words raise an alarm."""
    return any(alarm.raised(text.lower().split()) for alarm in phrases.alarms.values())


def cries(pieces: Pieces, phrases: Phrases) -> Graph:
    """The graph of every alarm of a language."""
    graph = _Cries(pieces, phrases).graph
    graph.done()
    return graph


class _Cries:
    def __init__(self, pieces: Pieces, phrases: Phrases) -> None:
        self.graph = Graph(pieces)
        self._amounts = Amounts(self.graph)
        self._classes = phrases.classes
        self._begin, self._behind = self.graph.place(), self.graph.place()
        self.graph.skip(0, self._begin)
        self._loose(self._begin, (_BEFORE, "person", "thing"))
        for subject in self._words("<person>") + ["it", "there", "that", "we", "they", "you"]:
            for be in ("is", "am", "are", "have"):
                self._short(self._begin, subject, be, self._begin)
        self.graph.skip(self._behind, 1)
        self._loose(self._behind, (_BEHIND, *_THINGS))
        self._heads: dict[tuple[int, str], int] = {}
        for name in phrases.alarms:
            for pattern in (*phrases.intents[name].anywhere, *phrases.intents[name].ways):
                self._pattern([part for word in pattern for part in written_out(str(word))])

    def _loose(self, place: int, classes: tuple[str, ...]) -> None:
        for word in sorted({word for name in classes for word in self._classes[name]}):
            self._amounts.word(place, word, place)

    def _pattern(self, parts: list[str]) -> None:
        """Its words one after the other; "he's" too where "is" follows."""
        before, subjects = self._begin, self._words("<person>")
        at = self._begin
        for i, part in enumerate(parts):
            there = self._behind if i + 1 == len(parts) else self._heads.get((at, part))
            words = self._words(part)
            if there is None or there == self._behind:
                there = there or self.graph.place()
                self._heads.setdefault((at, part), there)
                for word in words:
                    self._amounts.word(at, word, there)
                for subject, be in product(subjects, words):
                    self._short(before, subject, be, there)
            before, subjects, at = at, words, there

    def _short(self, start: int, first: str, second: str, end: int) -> None:
        """ "He's", "I'm", "can't", where English runs two words together."""
        short = _SHORT.get((first, second))
        if short is None and second == "is" and first in _SUBJECTS:
            short = f"{first}'s"
        if short is not None:
            self.graph.text(start, short, end, said=f"{first} {second}")

    def _words(self, part: str) -> list[str]:
        return sorted(self._classes[part[1:-1]]) if part.startswith("<") else [part]
