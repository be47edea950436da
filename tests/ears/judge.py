"""What came of each clip: right, asked, not caught or wrong, by the decision that the guide would make."""

from __future__ import annotations

import contextlib
import gzip
import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from ears.clips import FOR_NOBODY, Line, expected
from ears.listen import heard_from
from scipy.stats import beta

from guide.quantity import Quantity
from guide.talk.words import Expect, hear
from guide.voice.decide import Decision, Thresholds, decide
from guide.voice.hearing import Heard, Hearing

READINGS = frozenset({"reading", "places", "side", "cut"})
"""Kinds whose readings may be taken."""
_HAIR = {"over": 1, "under": -1}
Values = list[tuple[str | None, Fraction, int]]


@dataclass(frozen=True)
class Case:
    """One clip, what was heard, and what the guide does about it."""

    line: Line
    expect: Expect
    heard: Heard
    decision: Decision

    @property
    def verdict(self) -> str:
        """ "right", "asked", "none" or "wrong"; of talk and noise, right is that nothing was taken or asked."""
        outcome, first = self.decision.outcome, self.decision.hearing
        kind = self.line["kind"]
        if outcome == "taken" and first is not None:
            return "right" if kind in READINGS and same(first, self.line) else "wrong"
        if outcome == "command" and first is not None:
            return self._command(first)
        if kind in FOR_NOBODY:
            return "right" if outcome == "none" else "asked"
        return "none" if outcome == "none" else "asked"

    def _command(self, first: Hearing) -> str:
        """A correction is always asked about before it counts; right is that it would ask the right question."""
        if self.line["kind"] == "correction":
            return "right" if first.command in ("correct", "change") and corrects(first, self) else "asked"
        return "right" if first.command == self.line["truth"] else "wrong"

    @property
    def first_right(self) -> bool:
        """Whether the likeliest hearing is what was said."""
        return bool(self.heard.hearings) and self._is(self.heard.hearings[0])

    @property
    def within(self) -> bool:
        """Whether what was said is among the choices that would be offered."""
        return any(self._is(one) for one in self.decision.choices)

    def _is(self, one: Hearing) -> bool:
        if one.kind == "command":
            return bool(one.command == self.line["truth"])
        return same(one, self.line)


def truth_of(line: Line) -> Values:
    """Places, sizes in inches (signed) and hairs that were said."""
    if line.get("values"):
        return [
            (place, Quantity(Fraction(size), unit).to("in").magnitude, _HAIR.get(hair, 0))
            for place, size, unit, hair in line["values"]
        ]
    # of what was cut short the whole is the truth: any other value was not all that was meant
    return [(None, Fraction(line["truth"]), 0)] if line["truth"] and line["kind"] in READINGS else []


def same(hearing: Hearing, line: Line) -> bool:
    """Whether the hearing is wholly what was said."""
    if hearing.kind != "reading" or any(one.side_missing for one in hearing.amounts):
        return False
    said = [(one.place, one.inches, one.hair) for one in hearing.amounts]
    return in_order(said) == in_order(truth_of(line))


def in_order(values: Iterable[tuple[str | None, Fraction | None, int]]) -> list[tuple[str, str, int]]:
    """Readings in an order that does not depend on which was said first."""
    return sorted((place or "", str(size), hair) for place, size, hair in values)


def corrects(hearing: Hearing, case: Case) -> bool:
    """Whether the words of a correction hold the value that was said."""
    wanted = {size for _, size, _ in truth_of(case.line)}
    words = hearing.words.split()
    for start in range(len(words)):
        found = hear(" ".join(words[start:]), case.expect)
        sizes = {meaning.value.to("in").magnitude for one in found for meaning in one.meanings}
        if sizes:
            return sizes == wanted
    return False


def rows(paths: Sequence[Path], split: str = "") -> Iterator[Line]:
    """The lines of what was heard."""
    for path in paths:
        # a run that was ended from outside leaves a file without its end
        with contextlib.suppress(EOFError), gzip.open(path, "rt") as file:
            for text in file:
                line = json.loads(text)
                if line["split"].startswith(split):
                    yield line


def cases(found: Iterable[Line], with_range: bool, by: Thresholds | None = None) -> list[Case]:
    """Every clip decided upon."""
    made = []
    for line in found:
        expect = expected(line, with_range)
        heard = heard_from(line, "with" if with_range else "without")
        made.append(Case(line, expect, heard, decide(heard, expect, by)))
    return made


def bounds(hits: int, count: int, confidence: float = 0.95) -> tuple[float, float]:
    """Clopper and Pearson's interval of a proportion."""
    tail = (1 - confidence) / 2
    low = float(beta.ppf(tail, hits, count - hits + 1)) if hits else 0.0
    high = float(beta.ppf(1 - tail, hits + 1, count - hits)) if hits < count else 1.0
    return low, high


def interval(hits: int, count: int, of: float) -> str:
    """Clopper and Pearson's, in words: of so many."""
    if not count:
        return "-"
    low, high = bounds(hits, count)
    return f"{of * low:.1f} to {of * high:.1f}"


def grouped(found: Iterable[Case], by: Callable[[Case], str]) -> dict[str, list[Case]]:
    """Cases by what they have in common, in order of the names; numbers as numbers."""
    groups: dict[str, list[Case]] = {}
    for case in found:
        groups.setdefault(by(case), []).append(case)
    return dict(sorted(groups.items(), key=lambda one: _order(one[0])))


def _order(name: str) -> tuple[int, float, str]:
    noise = {"clean": -99.0, "15 dB": -15.0, "8 dB": -8.0, "0 dB": 0.0}
    return (0, noise[name], "") if name in noise else (1, 0.0, name)


def noise(case: Case) -> str:
    """How loud the noise is against the speech."""
    ratio = case.line.get("ratio")
    return "clean" if ratio is None else f"{ratio:g} dB"


def tally(found: Sequence[Case]) -> Counter[str]:
    """How many of each verdict."""
    return Counter(case.verdict for case in found)
