"""An alarm heard inside a longer sentence: patterns of words, and patterns that take one back ("nobody is hurt").

Words are compared with their contractions written out ("he's" = "he is"), and a pattern may name a class of words,
`<part>`, which stands for each of them. All patterns are followed at once from every word, so that the time is
bounded by the utterance's length.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from guide.talk.templates import Phrase

_ENDINGS = {"n't": "not", "'s": "is", "'re": "are", "'m": "am", "'ve": "have", "'d": "had", "'ll": "will"}
_WHOLE = {"can't": ("can", "not"), "cannot": ("can", "not"), "won't": ("will", "not")}


@dataclass(slots=True)
class _Node:
    following: dict[str, _Node] = field(default_factory=dict)
    ends: bool = False


class Alarm:
    """Finds patterns inside words. A pattern names one of the `classes` as `<class>`; `idle` words are passed over."""

    def __init__(
        self,
        anywhere: Sequence[Phrase],
        unless: Sequence[Phrase],
        classes: Mapping[str, frozenset[str]],
        idle: frozenset[str] = frozenset(),
    ) -> None:
        self._idle = idle
        self._anywhere = _tree(anywhere)
        self._unless = _tree(unless)
        self._classes: dict[str, tuple[str, ...]] = {}
        for name, words in classes.items():
            for word in words:
                self._classes[word] = (*self._classes.get(word, ()), f"<{name}>")

    def raised(self, words: Sequence[str]) -> bool:
        """Whether the words hold a pattern that nothing takes back."""
        plain = [part for word in words for part in written_out(word) if part not in self._idle]
        alarms = list(self._found(self._anywhere, plain))
        if not alarms:
            return False
        backs = list(self._found(self._unless, plain))
        return any(all(end <= first or last <= start for first, last in backs) for start, end in alarms)

    def _found(self, tree: _Node, words: Sequence[str]) -> Iterator[tuple[int, int]]:
        """Every place (from, to) where a pattern stands."""
        for start in range(len(words)):
            nodes = [tree]
            for end in range(start, len(words)):
                names = (words[end], *self._classes.get(words[end], ()))
                nodes = [node.following[name] for node in nodes for name in names if name in node.following]
                if not nodes:
                    break
                if any(node.ends for node in nodes):
                    yield start, end + 1


def written_out(word: str) -> tuple[str, ...]:
    """A word without its contraction: "he's" is "he", "is"."""
    if word in _WHOLE:
        return _WHOLE[word]
    for ending, full in _ENDINGS.items():
        if word.endswith(ending) and len(word) > len(ending):
            return word.removesuffix(ending), full
    return (word,)


def _tree(patterns: Sequence[Phrase]) -> _Node:
    root = _Node()
    for pattern in patterns:
        node = root
        for part in pattern:
            for word in written_out(str(part)):
                node = node.following.setdefault(word, _Node())
        node.ends = True
    return root
