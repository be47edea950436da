"""What a crew can say while a reading is asked for, as a graph of the model's pieces.

It is made of the reader's own lists and phrase templates (`guide.talk`), so that a phrase added there is heard here. It
lets more through than the reader takes (any carrier words, any order): the reader reads what was decoded, and has the
last word.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from guide.talk.directions import PROUD, sides
from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.talk.places import Names
from guide.talk.templates import Phrase, Slot
from guide.talk.vocabulary import language
from guide.voice.embedded.automaton import Graph
from guide.voice.embedded.numbers import Amounts
from guide.voice.embedded.states import States
from guide.voice.embedded.tokens import Pieces

_START, _FINAL = 0, 1
_READING_SLOTS = frozenset({"figure", "text", "other"})
OF_A_READING = frozenset({"correct", "change"})
"""Intents whose slots hold a reading."""


class Grammar:
    """The graph for what one step expects."""

    def __init__(
        self,
        pieces: Pieces,
        phrases: Phrases,
        expect: Expect | None,
        lists: Mapping[str, Sequence[str]] | None = None,
    ) -> None:
        """`expect` None: no reading is asked for; `lists`: what slots may hold in this job (steps, states, places)."""
        self.graph = Graph(pieces)
        self._amounts = Amounts(self.graph)
        self._phrases = phrases
        self._lists = lists or {}
        behind = self.graph.place()
        self.graph.skip(behind, _FINAL)
        if expect is not None:
            reading, read = self.graph.place(), self.graph.place()
            if expect.states:
                States(self._amounts, expect.places).build(reading, read)
            elif expect.answers:
                self._choices(expect, reading, read)
            else:
                self._reading(expect, reading, read)
            self.graph.skip(_START, reading)
            self.graph.skip(read, behind)
            if len(expect.places) > 1:
                self.graph.skip(read, reading)
            self._commands(behind, (reading, read))
        else:
            self._commands(behind, None)
        for courtesy in phrases.courtesy_last:
            self._amounts.phrase(behind, " ".join(courtesy), behind)
        self.graph.done()

    def _commands(self, behind: int, reading: tuple[int, int] | None) -> None:
        """Every phrase, with its courtesies; slots hold what they are known to hold."""
        start = self.graph.place()
        self.graph.skip(_START, start)
        for courtesy in self._phrases.courtesy_first:
            self._amounts.phrase(start, " ".join(courtesy), start)
        heads: dict[tuple[int, str], int] = {}
        for intent in self._phrases.intents.values():
            for way in (*intent.ways, *intent.whole):
                self._way(way, intent.name, start, behind, heads, reading)

    def _way(
        self,
        way: Phrase,
        intent: str,
        start: int,
        behind: int,
        heads: dict[tuple[int, str], int],
        reading: tuple[int, int] | None,
    ) -> None:
        fills = [self._fill(part, intent, last=part is way[-1]) if isinstance(part, Slot) else None for part in way]
        if any(fill == () for fill in fills) or (reading is None and any(fill == _READING for fill in fills)):
            return
        at = start
        for part, fill in zip(way, fills, strict=True):
            last = part is way[-1]
            if isinstance(part, Slot):
                if fill == _READING and reading is not None:
                    self.graph.skip(at, reading[0])
                    return
                there = behind if last else self.graph.place()
                for name in fill or ():
                    self._amounts.phrase(at, name, there)
            elif last:
                self._amounts.word(at, part, behind)
                return
            else:
                known = heads.get((at, part))
                there = known if known is not None else self.graph.place()
                if known is None:
                    heads[at, part] = there
                    self._amounts.word(at, part, there)
            at = there

    def _fill(self, slot: Slot, intent: str, last: bool) -> tuple[str, ...]:
        """What a slot may hold: names, `_READING`, or nothing that could be heard."""
        if slot.kind in _READING_SLOTS and intent in OF_A_READING:
            return _READING if last else ()
        known = self._lists.get(slot.name)
        if known is not None:
            return tuple(name.lower() for name in known)
        return tuple(sorted(self._phrases.kind(slot).only))

    def _choices(self, expect: Expect, start: int, end: int) -> None:
        """What stands for a choice, its number in figures too; sizes among them in every way of saying one."""
        for said, _ in expect.answers:
            if said.replace(" ", "").replace("'", "").isalpha():
                self._amounts.counted(start, said, end)
        if any(any(c.isdigit() for c in said) for said, _ in expect.answers):
            self._amounts.length(start, end)

    def _reading(self, expect: Expect, start: int, end: int) -> None:
        """One reading: an amount, or a word for nothing, with words before and behind it."""
        around, hair = language()["around"], language()["hair"]
        before, amount, behind = start, self.graph.place(), self.graph.place()
        self.graph.skip(before, amount)
        self._amounts.length(amount, behind)
        self.graph.skip(behind, end)
        for phrases in (around["anywhere"], around["before"], around["before-unless-side"], around["unsure"]):
            self._amounts.phrases(before, phrases, before)
        for key in ("over-before", "under-before", "nearly"):
            self._amounts.phrases(before, hair[key], before)
        self._amounts.phrases(before, around["exact"], before)
        for phrases in (around["anywhere"], around["behind"], around["unsure"], around["exact"]):
            self._amounts.phrases(behind, phrases, behind)
        for key in ("over-behind", "under-behind"):
            self._amounts.phrases(behind, hair[key], behind)
        for words in (*language()["sign"]["plus"], *language()["sign"]["minus"]):
            if words.isalpha():
                self._amounts.word(before, words, amount)
        self._zero(expect, before, behind)
        for place in (before, behind):
            self._places(expect, place)
            self._directions(expect, place)

    def _zero(self, expect: Expect, start: int, end: int) -> None:
        """Words for nothing, and states without a number."""
        for section in ("zero", "state"):
            self._amounts.phrases(start, language()[section].get(expect.about, ()), end)
        self._amounts.phrases(start, language()["good"]["words"], end)
        if expect.sign is not None or expect.about == "flush":
            self._amounts.phrases(start, language()["zero"]["sided"], end)

    def _places(self, expect: Expect, at: int) -> None:
        """Places named, in a loop: their words in any order that the reader may take."""
        names = [" ".join(words) for words, place in Names.of(expect.places).names.items() if place is not None]
        if not names:
            return
        lists = language()["places"]
        named = self.graph.place()
        self._amounts.phrases(at, lists["before"], named)
        self.graph.skip(at, named)
        self._named(named, names, at, lists["behind"])
        self._amounts.phrases(at, (*lists["every"], *lists["both"]), at)
        self._amounts.phrases(at, language()["around"]["between"], at)

    def _directions(self, expect: Expect, at: int) -> None:
        """Sides, and which way it lies."""
        sign = expect.sign or (PROUD if expect.about == "flush" else None)
        if sign is None:
            return
        way = language()["way"].get(expect.about, {})
        for key in ("plus", "minus", "leans"):
            self._amounts.phrases(at, way.get(key, ()), at)
        self._amounts.phrases(at, language()["state"].get(expect.about, ()), at)
        self._amounts.phrases(at, language()["against"]["words"], at)
        found = sides(expect.about, sign)
        self._amounts.phrases(at, (" ".join(words) for words in found.whole.phrases()), at)
        names = [" ".join(words) for words in found.names.phrases()]
        lists = language()["sides"]
        named = self.graph.place()
        self._amounts.phrases(at, lists["before"], named)
        self.graph.skip(at, named)
        self._named(named, names, at, lists["behind"])
        self._amounts.phrases(at, language()["around"]["between"], at)
        self._amounts.phrases(at, ("by",), at)

    def _named(self, start: int, names: Iterable[str], end: int, behind: Iterable[str]) -> None:
        """A name, and the words that may stand behind it."""
        after = self.graph.place()
        self._amounts.phrases(start, names, after)
        self.graph.skip(after, end)
        self._amounts.phrases(after, behind, end)


_READING = ("\0reading",)
