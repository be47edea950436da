"""What came of the evaluation set: PYTHONPATH=.:tests python -m ears.report FOLDER... [--split report] [--worst].

Right, asked and silently wrong readings, by noise and by voice, with and without what the step expects; what of talk,
commands and cut speech was taken. Intervals are Clopper and Pearson's, 95 %.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

from ears.listen import expected
from scipy.stats import beta

from guide.talk.phrases import Phrases
from guide.talk.words import hear
from guide.voice.decide import Decision, Thresholds, decide
from guide.voice.embedded.ear import Evidence, Form, weighed
from guide.voice.embedded.meanings import Meanings
from guide.voice.ends import stops_in_speech
from guide.voice.hearing import Heard
from guide.voice.wav import read_wav

PHRASES = Phrases.load("en")


@dataclass(frozen=True)
class Case:
    """One clip of the set, and what was made of it."""

    line: dict[str, Any]
    heard: Heard
    decision: Decision

    @property
    def verdict(self) -> str:
        """ "right", "asked", "wrong" or "none"."""
        outcome, first = self.decision.outcome, self.decision.hearing
        truth, kind = self.line["truth"], self.line["kind"]
        if outcome == "taken" and first is not None:
            sizes = [one.inches for one in first.amounts]
            return "right" if kind in ("reading", "cut") and sizes == [Fraction(truth)] else "wrong"
        if outcome == "command" and first is not None:
            return "right" if kind == "command" and first.command == truth else "wrong"
        if kind in ("talk", "noise"):
            return "asked" if outcome == "asked" else "right"
        return "none" if outcome == "none" else "asked"


def bounds(hits: int, count: int, confidence: float = 0.95) -> tuple[float, float]:
    """Clopper and Pearson's interval of a proportion."""
    tail = (1 - confidence) / 2
    low = float(beta.ppf(tail, hits, count - hits + 1)) if hits else 0.0
    high = float(beta.ppf(1 - tail, hits + 1, count - hits)) if hits < count else 1.0
    return low, high


def evidence_of(data: dict[str, Any]) -> Evidence:
    """The ear's evidence back from JSON."""

    def form(one: dict[str, Any]) -> Form:
        return Form(tuple(one["texts"]), one["weight"])

    return Evidence(
        tuple(form(one) for one in data["forms"]),
        form(data["free"]),
        tuple(form(one) for one in data["swaps"]),
        data["goes_on"],
        data["seconds"],
    )


def cases(folders: Sequence[Path], split: str, with_range: bool, by: Thresholds | None = None) -> list[Case]:
    """Every clip heard, weighed and decided."""
    found = []
    for folder in folders:
        for path in sorted(folder.glob("heard-*.jsonl")):
            for text in path.read_text().splitlines():
                line = json.loads(text)
                if line["split"].startswith(split):
                    expect = expected(line, with_range)
                    heard = weighed(evidence_of(line["evidence"]), Meanings(PHRASES, expect, None))
                    stops = line["stops"] if "stops" in line else stops_in_speech(read_wav(folder / line["file"]))
                    heard = replace(heard, stops=stops)
                    found.append(Case(line, heard, decide(heard, expect, by)))
    return found


def table(title: str, found: Iterable[Case], by: Callable[[Case], str]) -> None:
    """A row a group: how many, right, asked (or not caught), wrong with its interval."""
    groups: dict[str, list[Case]] = defaultdict(list)
    for case in found:
        groups[by(case)].append(case)
    print(f"\n| {title} | clips | right % | asked % | not caught % | wrong | wrong, 95 % of 1,000 |")
    print("|---|---|---|---|---|---|---|")
    for name, group in sorted(groups.items()):
        count = len(group)
        tally = Counter(case.verdict for case in group)
        low, high = bounds(tally["wrong"], count)
        shares = " | ".join(f"{100 * tally[one] / count:.1f}" for one in ("right", "asked", "none"))
        print(f"| {name} | {count} | {shares} | {tally['wrong']} | {1000 * low:.1f} to {1000 * high:.1f} |")


def free(found: Sequence[Case], with_range: bool) -> None:
    """What the same model's free decoding gives, read by the same reader, always taken."""
    print("\n| free decoding, always taken | clips | right % | no reading % | wrong % |\n|---|---|---|---|---|")
    groups: dict[str, Counter[str]] = defaultdict(Counter)
    for case in found:
        said = hear(case.heard.free, expected(case.line, with_range))
        sizes = [one.meanings[0].value.to("in").magnitude for one in said if one.meanings]
        verdict = "none" if not sizes else "right" if sizes == [Fraction(case.line["truth"])] else "wrong"
        groups[str(case.line["ratio"] or "clean")][verdict] += 1
    for name, tally in sorted(groups.items()):
        count = tally.total()
        shares = " | ".join(f"{100 * tally[one] / count:.1f}" for one in ("right", "none", "wrong"))
        print(f"| {name} | {count} | {shares} |")


def reliability(found: Sequence[Case]) -> None:
    """How often the first hearing is right, by the probability that the ear gave it."""
    edges = (0.0, 0.3, 0.5, 0.7, 0.9, 0.97, 0.99, 0.999, 1.01)
    print("\n| probability given | clips | first hearing right % |\n|---|---|---|")
    for low, high in pairwise(edges):
        inside = [case for case in found if case.heard.hearings and low <= case.heard.hearings[0].probability < high]
        right = sum(
            [one.inches for one in case.heard.hearings[0].amounts] == [Fraction(case.line["truth"])] for case in inside
        )
        if inside:
            print(f"| {low:g} to {min(high, 1):g} | {len(inside)} | {100 * right / len(inside):.1f} |")


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--split", default="report")
    parser.add_argument("--worst", action="store_true", help="every wrong one")
    arguments = parser.parse_args()
    for with_range in (True, False):
        found = cases(arguments.folders, arguments.split, with_range)
        readings = [case for case in found if case.line["kind"] == "reading"]
        word = "with" if with_range else "without"
        table(f"readings, {word} what is expected, by noise", readings, lambda case: str(case.line["ratio"] or "clean"))
        table(f"readings, {word} what is expected, by voice", readings, lambda case: str(case.line["voice"]))
        free(readings, with_range)
        reliability(readings)
        others = [case for case in found if case.line["kind"] != "reading"]
        table("other speech", others, lambda case: f"{case.line['kind']}, {case.line['ratio'] or 'clean'}")
        if arguments.worst:
            for case in found:
                if case.verdict == "wrong":
                    first = case.decision.hearing
                    figures = f"margin {case.heard.margin:.1f}, garbage {case.heard.garbage:.1f}"
                    words = (case.line["file"], case.line["text"], first.words if first else "", case.heard.free)
                    print(" | ".join((*words, figures)))


if __name__ == "__main__":
    main()
