"""Chooses thresholds: PYTHONPATH=.:tests python -m ears.choose HEARD.jsonl.gz... [--goal 0.4].

Only on the split `choose`. Of all thresholds of a grid whose silently wrong readings are few enough (the upper end of
Clopper and Pearson's 95 % interval at most the goal, per 1,000), those that ask least. What would be taken with every
threshold lower by `spare` nats must be few enough too, for other voices will not keep to these ones. Where the set is
too small for the goal, the fewest wrong that any thresholds leave take the goal's place, and that is said.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

import numpy as np
from ears.judge import READINGS, Case, bounds, cases, rows
from numpy.typing import NDArray

from guide.voice.decide import Take, Thresholds

MARGINS = tuple(np.arange(0.5, 9.1, 0.5))
SLOPES = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0)
GARBAGES = (1.5, 2.5, 3.5, 5.0, 7.0, 9.0)
FAINTS = (0.0, 0.5, 1.0, 2.0, 4.0)
PARTNERS = (0.0, 2.0, 4.0, 5.5, 7.0, 8.0, 9.5, 11.0)
HARM = {"command": 1, "urgent": 5, "question": 10}
"""How many times the goal may be wrong, by what a false one costs."""
ALL_OPEN = Take(margin=-1e9, slope=0.0, garbage=1e9, partner=-1e9)


@dataclass(frozen=True)
class Measured:
    """What of the clips thresholds can tell apart: those that nothing else keeps from being taken."""

    margin: NDArray[np.float64]
    garbage: NDArray[np.float64]
    partner: NDArray[np.float64]
    weight: NDArray[np.float64]
    right: NDArray[np.bool_]
    clips: int
    """Clips that count for the share of wrong ones: readings, or whatever may be a command."""

    def taken(self, by: Take, spare: float = 0.0) -> NDArray[np.bool_]:
        """Which of them would be taken, with every threshold lower by `spare`."""
        needed = by.margin + by.slope * np.maximum(0, self.garbage - spare - 1)
        needed = needed + by.faint * np.maximum(0, -self.weight - spare - 1)
        return np.asarray(
            (self.margin + spare >= needed)
            & (self.garbage - spare <= by.garbage)
            & (self.partner + spare >= by.partner)
        )


def measured(found: Iterable[Case], clips: int) -> Measured:
    """What thresholds see of those that are taken with open ones."""
    open_ = [case for case in found if case.decision.outcome in ("taken", "command")]
    partners = [min((one.nats for one in case.heard.partners), default=np.inf) for case in open_]
    return Measured(
        np.array([min(case.heard.margin, 1e6) for case in open_]),
        np.array([case.heard.garbage for case in open_]),
        np.array(partners),
        np.array([case.heard.hearings[0].weight for case in open_]),
        np.array([case.verdict == "right" for case in open_], bool),
        clips,
    )


@dataclass(frozen=True)
class Chosen:
    """Thresholds, and what they come to on the clips that they were chosen on."""

    take: Take
    right: int
    wrong: int
    clips: int
    reached: bool
    """Whether the goal is within what this many clips can show."""


def choose(clips: Measured, goal: float, spare: float, partners: Sequence[float]) -> Chosen:
    """The thresholds that take most right ones among those that keep the wrong ones few enough."""
    tries = [Take(*map(float, one)) for one in product(MARGINS, SLOPES, GARBAGES, partners, FAINTS)]
    counts = []
    for take in tries:
        now, eased = clips.taken(take), clips.taken(take, spare)
        counts.append((int((now & clips.right).sum()), int((eased & ~clips.right).sum())))
    least = min(wrong for _, wrong in counts)
    most = max((wrong for _, wrong in counts if bounds(wrong, clips.clips)[1] <= goal), default=-1)
    allowed = max(least, most)
    fit = [
        (right, -sum(_strict(take)), at)
        for at, (take, (right, wrong)) in enumerate(zip(tries, counts, strict=True))
        if wrong <= allowed
    ]
    best = max(right for right, _, _ in fit)
    # of those that take as many, the strictest: it costs no question here
    _, at = min((strict, at) for right, strict, at in fit if right == best)
    now = clips.taken(tries[at])
    return Chosen(tries[at], best, int((now & ~clips.right).sum()), clips.clips, most >= 0)


def _strict(take: Take) -> tuple[float, ...]:
    return take.margin, take.slope, -take.garbage, take.partner, take.faint


def opened(by: Thresholds) -> Thresholds:
    """Thresholds that keep nothing back; what is no threshold still does."""
    return replace(by, expected=ALL_OPEN, unexpected=ALL_OPEN, command=ALL_OPEN, question=ALL_OPEN, urgent=ALL_OPEN)


def choose_all(paths: Sequence[Path], goal: float, spare: float) -> Iterator[tuple[str, Chosen]]:
    """For readings where a step says what is likely, for readings anywhere, for commands of each kind."""
    base = Thresholds.load()
    lines = list(rows(paths, "choose")) or list(rows(paths, "calibrate"))
    with_range, without = (cases(lines, one, opened(base)) for one in (True, False))
    readings = sum(line["kind"] in READINGS for line in lines)
    likely = [
        one
        for one in with_range
        if one.heard.hearings and base.take(one.heard.hearings[0], one.expect) is base.expected
    ]
    yield "expected", choose(measured(_taken(likely), readings), goal, spare, PARTNERS)
    yield "unexpected", choose(measured(_taken(without), readings), goal, spare, PARTNERS)
    commands = [one for one in with_range if one.decision.outcome == "command" and one.decision.hearing is not None]
    for name, among in _kinds(commands):
        yield name, choose(measured(among, len(lines)), HARM[name] * goal, spare, (0.0,))


def _kinds(found: Sequence[Case]) -> Iterator[tuple[str, list[Case]]]:
    """Commands by what a false one costs."""
    heard = [(case, case.decision.hearing) for case in found]
    yield "question", [case for case, one in heard if one and one.question]
    yield "urgent", [case for case, one in heard if one and one.urgent]
    yield "command", [case for case, one in heard if one and not one.question and not one.urgent]


def _taken(found: Iterable[Case]) -> Iterator[Case]:
    return (case for case in found if case.decision.outcome == "taken")


def as_toml(name: str, chosen: Chosen) -> str:
    """The lines of `thresholds.toml`."""
    take = chosen.take
    return (
        f"[{name}]\nmargin = {take.margin:g}\nslope = {take.slope:g}\n"
        f"garbage = {take.garbage:g}\npartner = {take.partner:g}\nfaint = {take.faint:g}\n"
    )


def main() -> None:
    """Print the thresholds, and what they come to."""
    parser = argparse.ArgumentParser()
    parser.add_argument("heard", type=Path, nargs="+")
    parser.add_argument("--goal", type=float, default=0.4, help="silently wrong per 1,000, upper bound")
    parser.add_argument("--ear", default="", help="embedded-trained: its own sections of thresholds.toml")
    parser.add_argument("--spare", type=float, default=0.5, help="nats to other voices")
    arguments = parser.parse_args()
    for name, chosen in choose_all(arguments.heard, arguments.goal / 1000, arguments.spare):
        high = 1000 * bounds(chosen.wrong, chosen.clips)[1]
        print(f"# {chosen.right} right, {chosen.wrong} wrong of {chosen.clips}: at most {high:.2f} of 1,000 wrong")
        if not chosen.reached:
            print("# the goal can't be shown on so few clips: the fewest wrong that any thresholds leave")
        print(as_toml(f"{arguments.ear}.{name}" if arguments.ear else name, chosen))


if __name__ == "__main__":
    main()
