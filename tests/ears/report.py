"""Every table of the ear, in Markdown: PYTHONPATH=.:tests python -m ears.report --plain HEARD... [--trained HEARD...].

`HEARD` is what `ears.listen` writes. Only the split `report` is told. Intervals are Clopper and Pearson's, 95 %. With
`--worst` every wrong one is listed; with `--draw FOLDER` the reliability diagrams are drawn.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
from ears.clips import FOR_NOBODY
from ears.judge import READINGS, Case, cases, grouped, interval, noise, rows, tally, truth_of
from ears.wording import error_rate

from guide.talk.words import hear
from guide.voice.decide import Thresholds
from guide.voice.embedded.ear import NAME, TRAINED_NAME

EDGES = (0.0, 0.3, 0.5, 0.7, 0.9, 0.97, 0.99, 0.999, 1.01)
"""Probabilities between which the first hearings are counted together."""
Heard = dict[str, list[Case]]
"""By ear."""


def head(*cells: str) -> None:
    """The first two lines of a table."""
    print(f"\n| {' | '.join(cells)} |\n|{'---|' * len(cells)}")


def shares(found: Sequence[Case]) -> str:
    """Right, asked, not caught, wrong with its interval, as the cells of a row."""
    counts, all_ = tally(found), len(found)
    part = " | ".join(f"{100 * counts[one] / all_:.1f}" for one in ("right", "asked", "none"))
    return f"{all_} | {part} | {counts['wrong']} | {interval(counts['wrong'], all_, 1000)}"


def table(title: str, heard: Heard, only: Callable[[Case], bool], by: Callable[[Case], str]) -> None:
    """A row for each ear and group."""
    found = {ear: [case for case in all_ if only(case)] for ear, all_ in heard.items()}
    if not any(found.values()):
        return
    head(title, "ear", "clips", "right %", "asked %", "not caught %", "wrong", "wrong, 95 % of 1,000")
    groups = {ear: grouped(all_, by) for ear, all_ in found.items()}
    for name in dict.fromkeys(name for one in groups.values() for name in one):
        for ear, one in groups.items():
            if name in one:
                print(f"| {name} | {ear} | {shares(one[name])} |")
    for ear, all_ in found.items():
        print(f"| all | {ear} | {shares(all_)} |")


def is_reading(case: Case) -> bool:
    """Whether the clip is a whole reading."""
    return case.line["kind"] in READINGS - {"cut"}


def within(case: Case) -> bool:
    """Whether what was said lies where the step says that the reading may be."""
    low, high = case.expect.likely_low, case.expect.likely_high
    sizes = [size for _, size, _ in truth_of(case.line)]
    return low is None or high is None or all(low.to("in").magnitude <= one <= high.to("in").magnitude for one in sizes)


def readings(heard: Heard, with_range: bool) -> None:
    """Readings by noise, way of saying, voice, style and kind."""
    said = f"readings, {'with' if with_range else 'without'} what is expected"
    table(f"{said}, by noise", heard, is_reading, noise)
    table(
        f"{said}, put as crews mostly put it, in the range that the step says",
        heard,
        lambda case: is_reading(case) and bool(case.line.get("usual")) and within(case),
        noise,
    )
    table(f"{said}, by voice", heard, is_reading, lambda case: str(case.line.get("speaker") or case.line["voice"]))
    table(f"{said}, by how the voice is made", heard, is_reading, lambda case: str(case.line.get("style", "")))
    table(
        f"{said}, real voices, by noise",
        heard,
        lambda case: is_reading(case) and case.line.get("style") == "real",
        noise,
    )
    table(f"{said}, by kind", heard, is_reading, lambda case: str(case.line["kind"]))
    table(f"{said}, one of a minimal pair", heard, lambda case: is_reading(case) and bool(case.line.get("pair")), noise)


def choices(heard: Heard) -> None:
    """How often what was said is among the choices, when a reading is asked about."""
    head("readings asked about", "ear", "clips", "said value among the choices %", "first %")
    for ear, all_ in heard.items():
        for name, found in grouped(
            [case for case in all_ if is_reading(case) and case.verdict == "asked"], noise
        ).items():
            among, first = sum(case.within for case in found), sum(case.first_right for case in found)
            print(
                f"| {name} | {ear} | {len(found)} | {100 * among / len(found):.1f} | {100 * first / len(found):.1f} |"
            )


def questions(heard: Heard) -> None:
    """Why readings are asked about; one may have several reasons."""
    head("why asked", *heard)
    counts: dict[str, dict[str, int]] = {}
    for ear, all_ in heard.items():
        for case in all_:
            for doubt in case.decision.doubts if is_reading(case) and case.verdict == "asked" else ():
                counts.setdefault(doubt, {}).setdefault(ear, 0)
                counts[doubt][ear] += 1
    for name, by in sorted(counts.items(), key=lambda one: -max(one[1].values())):
        print(f"| {name} | {' | '.join(str(by.get(ear, 0)) for ear in heard)} |")


def for_nobody(heard: Heard) -> None:
    """What was made of talk and noise, for an hour of it."""
    head("for nobody", "ear", "hours", "taken an hour", "95 %", "asked an hour")
    for ear, all_ in heard.items():
        found = [case for case in all_ if case.line["kind"] in FOR_NOBODY]
        for name, group in grouped(found, lambda case: f"{case.line['kind']}, {noise(case)}").items():
            hours = sum(case.line["seconds"] for case in group) / 3600
            counts = tally(group)
            taken = f"{counts['wrong'] / hours:.1f} | {interval(counts['wrong'], len(group), len(group) / hours)}"
            print(f"| {name} | {ear} | {hours:.2f} | {taken} | {counts['asked'] / hours:.1f} |")


def free(heard: Heard) -> None:
    """What the same model's free decoding gives, read by the same reader, always taken."""
    head("free decoding, always taken", "ear", "clips", "right %", "no reading %", "wrong %")
    for ear, all_ in heard.items():
        for name, group in grouped([case for case in all_ if case.line["kind"] == "reading"], noise).items():
            verdicts = [freely(case.heard.free, case) for case in group]
            part = " | ".join(f"{100 * verdicts.count(one) / len(group):.1f}" for one in ("right", "none", "wrong"))
            print(f"| {name} | {ear} | {len(group)} | {part} |")


def freely(text: str, case: Case) -> str:
    """What comes of a reading when this was decoded in its clip and is always taken: "right", "none" or "wrong"."""
    found = hear(text, case.expect)
    sizes = [one.meanings[0].value.to("in").magnitude for one in found if one.meanings]
    return "none" if not sizes else "right" if sizes == [Fraction(case.line["truth"])] else "wrong"


def words(heard: Heard) -> None:
    """Words of ordinary speech that free decoding gets wrong."""
    pairs = {
        ear: grouped([case for case in all_ if case.line["kind"] == "ordinary"], noise) for ear, all_ in heard.items()
    }
    if not any(pairs.values()):
        return
    head("ordinary speech, decoded freely", "ear", "clips", "words wrong %")
    for ear, groups in pairs.items():
        for name, group in groups.items():
            rate = error_rate([(case.line["text"], case.heard.free) for case in group])
            print(f"| {name} | {ear} | {len(group)} | {100 * rate:.1f} |")


def reliable(found: Sequence[Case]) -> Iterator[tuple[str, int, float, float]]:
    """Of each range of probabilities: its name, clips, the mean given, and the share whose first hearing is right."""
    readings = [case for case in found if is_reading(case) and case.heard.hearings]
    for low, high in pairwise(EDGES):
        inside = [case for case in readings if low <= case.heard.hearings[0].probability < high]
        if inside:
            given = sum(case.heard.hearings[0].probability for case in inside) / len(inside)
            right = sum(case.first_right for case in inside) / len(inside)
            yield f"{low:g} to {min(high, 1):g}", len(inside), given, right


def reliability(heard: Heard) -> None:
    """How often the first hearing is right, by the probability that the ear gave it."""
    head("probability given", "ear", "clips", "mean given %", "first hearing right %")
    for ear, found in heard.items():
        rows_ = list(reliable(found))
        for name, count, given, right in rows_:
            print(f"| {name} | {ear} | {count} | {100 * given:.1f} | {100 * right:.1f} |")
        total = sum(count for _, count, _, _ in rows_)
        off = sum(count * abs(given - right) for _, count, given, right in rows_) / max(1, total)
        print(f"| all: mean distance of given and right | {ear} | {total} | {100 * off:.1f} | |")


def cost(heard: Heard) -> None:
    """Time and memory of an utterance."""
    head(
        "cost", "clips", "sound, s", "processor, s a clip", "of real time", "p50, s", "p95, s", "load, s", "memory, MB"
    )
    for ear, found in heard.items():
        lines = [case.line for case in found]
        took = np.percentile([line["took"] for line in lines], [50, 95])
        sound, cpu = sum(line["seconds"] for line in lines), sum(line["cpu"] for line in lines)
        load, memory = np.median([line["load"] for line in lines]), max(line["memory"] for line in lines)
        each = f"{cpu / len(lines):.2f} | {cpu / sound:.3f} | {took[0]:.2f} | {took[1]:.2f} | {load:.1f} | {memory}"
        print(f"| {ear} | {len(lines)} | {sound:.0f} | {each} |")


def worst(heard: Heard) -> None:
    """Every wrong one."""
    for ear, found in heard.items():
        for case in found:
            if case.verdict == "wrong":
                first = case.decision.hearing
                figures = f"margin {case.heard.margin:.1f}, garbage {case.heard.garbage:.1f}"
                said = (ear, case.line["id"], case.line["kind"], case.line["text"])
                print("- " + " | ".join((*said, first.words if first else "", case.heard.free, figures)))


def tables(heard: Heard, with_range: bool, wrong: bool) -> None:
    """Everything that depends on what is expected."""
    readings(heard, with_range)
    word = "with" if with_range else "without"
    for kind, name in (
        ("correction", "corrections"),
        ("command", "commands"),
        ("alarm", "alarms"),
        ("cut", "cut short"),
    ):
        table(f"{name}, {word} what is expected", heard, lambda case, kind=kind: case.line["kind"] == kind, noise)  # type: ignore[misc]
    choices(heard)
    questions(heard)
    for_nobody(heard)
    reliability(heard)
    if wrong:
        worst(heard)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--plain", type=Path, nargs="+", default=[])
    parser.add_argument("--trained", type=Path, nargs="+", default=[])
    parser.add_argument("--split", default="report")
    parser.add_argument("--worst", action="store_true")
    parser.add_argument("--draw", type=Path)
    arguments = parser.parse_args()
    given = {"plain": arguments.plain, "trained": arguments.trained}
    by = {"plain": Thresholds.load(NAME), "trained": Thresholds.load(TRAINED_NAME)}
    for with_range in (True, False):
        heard = {ear: cases(rows(paths, arguments.split), with_range, by[ear]) for ear, paths in given.items() if paths}
        print(f"\n### {'With' if with_range else 'Without'} what the step says is likely")
        tables(heard, with_range, arguments.worst)
        if with_range and arguments.draw:
            from ears.drawn import draw

            for ear, found in heard.items():
                (arguments.draw / f"reliability-{ear}.svg").write_text(draw(list(reliable(found))))
    print("\n### The model by itself")
    free(heard)
    words(heard)
    cost(heard)


if __name__ == "__main__":
    main()
