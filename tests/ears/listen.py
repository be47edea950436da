"""Hears the evaluation set: PYTHONPATH=.:tests python -m ears.listen FOLDER [--split SPLIT] [--only I/N].

Writes `heard-I.jsonl` in the folder: each line of the set with the ear's evidence, which `ears.report` weighs. What was
heard before is left alone.
"""

from __future__ import annotations

import argparse
import json
import time
from dataclasses import asdict
from fractions import Fraction
from hashlib import sha256
from pathlib import Path
from typing import Any

from guide.quantity import Quantity
from guide.talk.expect import Expect
from guide.voice.embedded.ear import Ear
from guide.voice.ends import stops_in_speech
from guide.voice.wav import RATE, read_wav


def expected(line: dict[str, Any], with_range: bool = True) -> Expect:
    """What the step asks for when a line of the set is said."""
    if line["expect"] is None:
        return Expect()
    unit, low, high = line["expect"]
    if not with_range:
        return Expect(unit=unit, metric=unit == "mm")
    return Expect(
        unit=unit,
        metric=unit == "mm",
        likely_low=Quantity(Fraction(low), unit),
        likely_high=Quantity(Fraction(high), unit),
    )


def main() -> None:
    """Hear the set."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--split", default="")
    parser.add_argument("--kinds", default="", help="reading, command, talk, cut, noise (default: all)")
    parser.add_argument("--only", default="0/1", help="every N-th line, from the I-th")
    arguments = parser.parse_args()
    part, parts = (int(one) for one in arguments.only.split("/"))
    out = arguments.folder / f"heard-{part}.jsonl"
    known = {json.loads(line)["file"] for line in out.read_text().splitlines()} if out.exists() else set()
    lines = [json.loads(line) for line in (arguments.folder / "set.jsonl").read_text().splitlines()]
    lines.sort(key=lambda line: sha256(line["file"].encode()).digest())  # so that a part stands for the whole
    ear = Ear(threads=1 if parts > 1 else 2)
    seconds = took = 0.0
    with out.open("a") as file:
        for line in lines[part::parts]:
            if arguments.kinds and line["kind"] not in arguments.kinds:
                continue
            if line["file"] in known or not line["split"].startswith(arguments.split):
                continue
            samples = read_wav(arguments.folder / line["file"])
            started = time.perf_counter()
            evidence = ear.listen(samples, *ear.grammar(expected(line)))
            line["ms"] = round(1000 * (time.perf_counter() - started))
            line["stops"] = stops_in_speech(samples)
            line["seconds"] = len(samples) / RATE
            seconds, took = seconds + line["seconds"], took + line["ms"] / 1000
            print(json.dumps({**line, "evidence": asdict(evidence)}), file=file, flush=True)
    print(f"{seconds:.0f} s of sound in {took:.0f} s: {took / max(seconds, 1):.3f} of real time")


if __name__ == "__main__":
    main()
