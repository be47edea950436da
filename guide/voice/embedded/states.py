"""What works and what does not, as a graph of the model's pieces: "it latches", "binds at the head", "top yes".

It lets more through than is taken: `guide.talk.answered` reads what was decoded, and has the last word.
"""

from __future__ import annotations

from collections.abc import Iterable

from guide.talk.places import Names
from guide.talk.say import whole
from guide.talk.vocabulary import language, word_set
from guide.talk.yes_no import states
from guide.voice.embedded.numbers import Amounts

NOT = "not"
"""Stands before no verb: "not quite", "not at the top"."""


def states_alike() -> dict[str, tuple[str, ...]]:
    """What works and what does not, each with what it may be heard for."""
    pairs = [pair.split() for pair in states()["alike"]]
    return {one: (other,) for pair in pairs for one, other in (pair, pair[::-1])}


class States:
    """Builds the graph of states, of a thing or of a reading's places."""

    def __init__(self, amounts: Amounts, places: tuple[str, ...]) -> None:
        self._amounts = amounts
        self._graph = amounts.graph
        self._places = places if len(places) > 1 else ()

    def build(self, start: int, end: int) -> None:
        """One state, or what is said of some places, from one place of the graph to another."""
        words, place, phrases = states(), self._graph.place, self._amounts.phrases
        begin, some, subject, worked, refused, denied, troubled, where = (place() for _ in range(8))
        self._graph.skip(start, begin)
        phrases(begin, (*words["subjects"], *(f"the {thing}" for thing in words["things"])), some)
        phrases(some, ("all", "both"), subject)
        phrases(begin, (f"{one} {be}" for one in words["subjects"] for be in ("is", "are")), subject)
        self._graph.skip(begin, subject)
        self._graph.skip(some, subject)
        phrases(subject, words["works"], worked)
        phrases(worked, words["works-behind"], worked)
        self._graph.skip(worked, end)
        phrases(subject, [word for word in words["not"] if word != NOT], refused)
        phrases(refused, words["acts"], troubled)
        self._amounts.word(subject, NOT, denied)
        self._graph.skip(refused, denied)
        phrases(denied, words["so"], troubled)
        phrases(subject, words["trouble"], troubled)
        self._graph.skip(troubled, end)
        phrases(troubled, words["where-before"], where)
        self._graph.skip(troubled, where)
        phrases(where, words["where"], end)
        for answer in ("yes", "no"):
            for word in words[answer]:
                there = place()
                self._amounts.word(start, word, there)
                self._graph.skip(there, begin)
        phrases(end, sorted(word_set("yes-no", "links")), start)
        if self._places:
            self._by_place(start, end, (worked, denied, troubled))

    def _by_place(self, start: int, end: int, said: Iterable[int]) -> None:
        """Places before a state, before or behind a yes or no, and behind a state."""
        words, phrases = states(), self._amounts.phrases
        named, behind = self._graph.place(), self._graph.place()
        phrases(start, words["idle"], start)
        self._named(start, named)
        self._graph.skip(named, start)
        phrases(named, ("and",), start)
        phrases(named, (*words["acts"], *words["so"]), end)  # "both latch"
        being = self._graph.place()
        self._graph.skip(named, being)
        phrases(being, words["being"], being)
        bare = [word for word in (*words["yes"], *words["no"]) if word not in words["doubtful"]]
        phrases(being, (*bare, *(word for word in words["not"] if word.endswith("n't"))), end)
        phrases(start, bare, behind)
        for at in said:
            self._graph.skip(at, behind)
        last = self._graph.place()
        self._named(behind, last)
        phrases(last, ("and",), behind)
        self._graph.skip(last, end)

    def _named(self, start: int, end: int) -> None:
        """A place, or words for all of them or the rest, with what may stand before and behind it."""
        words, lists, phrases = states(), language()["places"], self._amounts.phrases
        names = [" ".join(name) for name, place in Names.of(self._places).names.items() if place is not None]
        before, after = self._graph.place(), self._graph.place()
        self._graph.skip(start, before)
        phrases(
            start,
            (*lists["before"], *words["where-before"], *words["every-before"], *words["when"], "from the"),
            before,
        )
        phrases(before, (*names, f"all {whole(len(self._places))}"), after)
        phrases(before, (f"{name} is" for name in names), end)
        phrases(after, lists["behind"], end)
        for key in ("every", "none", "both", "neither", "rest", "other"):
            phrases(before, words[key], after)
        kinds = {word for place in self._places for word in place.lower().split()}
        phrases(after, sorted(kind + ending for kind in kinds for ending in ("", "s", "es")), end)
        self._graph.skip(after, end)
