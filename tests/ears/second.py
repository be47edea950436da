"""A second, independent ear on the clips that are asked about: python -m ears.second HEARD... --set FOLDER [--most N].

PYTHONPATH=.:tests; pip install pocketsphinx==5.1.1. Its English model is held to a grammar of readings, and what it
hears is compared with the first ear's likeliest: where both agree a question could be saved, if they are never wrong
together. With --general it decodes all readings with its own language model instead, as one more general recogniser.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
from ears.clips import Line, Sounds, lines_of
from ears.judge import Case, bounds, cases, grouped, noise, rows, truth_of
from numpy.typing import NDArray

from guide.talk.vocabulary import language
from guide.talk.words import hear

ASKED_FOR = frozenset({"margin", "partner", "garbage", "ambiguous", "noise-prone"})
"""Doubts that another ear could settle."""


def grammar() -> str:
    """Readings in words, as a JSGF grammar; every word is in the recogniser's dictionary."""
    numbers, parts = language()["numbers"], language()["parts"]
    ones = [word for word in numbers["ones"].split() if word != "zero"]
    names = [name for name in parts if name not in ("third", "thirds", "tenth", "tenths", "eights")]
    lines = [
        "#JSGF V1.0;",
        "grammar reading;",
        f"<one> = {' | '.join(ones[:9])};",
        f"<teen> = {' | '.join(ones)};",
        f"<ten> = {' | '.join(numbers['tens'].split())};",
        "<small> = <teen> | <ten> [<one>];",
        "<whole> = <small> | (<teen> | a) hundred [[and] <small>] | [a] thousand [[and] <small>] "
        "| <teen> thousand [<teen> hundred] [[and] <small>] | <small> <small>;",
        f"<part> = (a | an | <small>) ({' | '.join(names)}) | half;",
        "<unit> = inch | inches | millimeters | millimeter | of an inch;",
        "<foot> = <teen> (foot | feet);",
        "<lead> = it's | call it | i get | okay | we have | the reading is | um;",
        "<end> = please | here | on the tape;",
        "<amount> = <foot> [[and] <small>] [[and] <part>] | <whole> [[and] <part>] | <part>;",
        "public <reading> = [<lead>] <amount> [<unit>] [<end>];",
    ]
    return "\n".join(lines) + "\n"


class Clips:
    """The sound of what was heard, by its name."""

    def __init__(self, folder: Path) -> None:
        self._lines: dict[str, Line] = {line["id"]: line for line in lines_of(folder)}
        self._sounds = Sounds(folder)

    def of(self, line: Line) -> NDArray[np.float32]:
        """One clip."""
        return self._sounds.of(self._lines[line["id"]])


class Sphinx:
    """The recogniser with its own English model."""

    def __init__(self, general: bool) -> None:
        package: Any = import_module("pocketsphinx")
        self._decoder = package.Decoder(loglevel="FATAL", samprate=16_000)
        if not general:
            with tempfile.NamedTemporaryFile("w", suffix=".gram") as file:
                file.write(grammar())
                file.flush()
                self._decoder.add_jsgf_file("reading", file.name)
            self._decoder.activate_search("reading")

    def text(self, samples: NDArray[np.float32]) -> str:
        """What it hears."""
        self._decoder.start_utt()
        self._decoder.process_raw((samples * 32767).astype("<i2").tobytes(), no_search=False, full_utt=True)
        self._decoder.end_utt()
        found = self._decoder.hyp()
        return str(found.hypstr) if found is not None else ""


def doubtful(case: Case) -> bool:
    """Whether another ear could save the question."""
    doubts = set(case.decision.doubts)
    return case.verdict == "asked" and bool(doubts) and doubts <= ASKED_FOR and bool(case.heard.hearings)


def second(found: list[Case], sounds: Clips) -> Iterator[tuple[str, Case]]:
    """What a second opinion comes to on each clip: "saved", "wrong together", "apart" or "nothing"."""
    sphinx = Sphinx(general=False)
    for case in found:
        said = hear(sphinx.text(sounds.of(case.line)), case.expect)
        sizes = {meaning.value.to("in").magnitude for one in said for meaning in one.meanings}
        first = case.heard.hearings[0]
        own = {one.inches for one in first.amounts}
        if not sizes:
            yield "nothing", case
        elif own <= sizes:
            yield ("saved" if case.first_right else "wrong together"), case
        else:
            yield "apart", case


def generally(found: list[Case], sounds: Clips) -> None:
    """A row for each noise: its own language model, read by the same reader, always taken."""
    sphinx, verdicts = Sphinx(general=True), dict[str, Counter[str]]()
    cpu, seconds = time.process_time(), 0.0
    for name, group in grouped(found, noise).items():
        for case in group:
            said = hear(sphinx.text(sounds.of(case.line)), case.expect)
            sizes = [one.meanings[0].value.to("in").magnitude for one in said if one.meanings]
            wanted = [size for _, size, _ in truth_of(case.line)]
            verdicts.setdefault(name, Counter())["none" if not sizes else "right" if sizes == wanted else "wrong"] += 1
            seconds += case.line["seconds"]
    for name, tally in verdicts.items():
        part = " | ".join(f"{100 * tally[one] / tally.total():.1f}" for one in ("right", "none", "wrong"))
        print(f"| {name} | pocketsphinx | {tally.total()} | {part} |")
    print(f"{(time.process_time() - cpu) / max(seconds, 1e-9):.2f} of real time")


def main() -> None:
    """Print what a second ear comes to."""
    parser = argparse.ArgumentParser()
    parser.add_argument("heard", type=Path, nargs="+")
    parser.add_argument("--set", type=Path, required=True)
    parser.add_argument("--split", default="")
    parser.add_argument("--most", type=int, default=10**9)
    parser.add_argument("--general", action="store_true")
    arguments = parser.parse_args()
    found = [case for case in cases(rows(arguments.heard, arguments.split), True) if case.line["kind"] == "reading"]
    sounds = Clips(arguments.set)
    if arguments.general:
        generally(found[: arguments.most], sounds)
        return
    among = [case for case in found if doubtful(case)][: arguments.most]
    outcomes = list(second(among, sounds))
    tally = Counter(name for name, _ in outcomes)
    print(f"{len(among)} doubtful of {len(found)} readings: {dict(tally)}")
    taken = tally["saved"] + tally["wrong together"]
    low, high = bounds(tally["wrong together"], max(taken, 1))
    print(f"taken where both agree: {taken}, wrong {tally['wrong together']}, {100 * low:.1f} to {100 * high:.1f} %")
    for name, case in outcomes:
        if name == "wrong together":
            print("-", case.line["id"], case.line["text"], "|", case.heard.hearings[0].words)


if __name__ == "__main__":
    main()
