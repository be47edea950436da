"""Weighs what was heard again, after a change of priors: PYTHONPATH=.:tests python -m ears.weigh HEARD --out NEW.

Nothing is heard again: what the model made of the sound is in the file.
"""

from __future__ import annotations

import argparse
import gzip
import json
import multiprocessing
import os
from math import inf
from pathlib import Path
from typing import Any

from ears.clips import expected
from ears.judge import rows
from ears.listen import heard_data

from guide.talk.phrases import Phrases
from guide.voice.embedded.ear import Evidence, Form

_at_work: dict[str, Phrases] = {}


def evidence_of(data: dict[str, Any]) -> Evidence:
    """The ear's evidence back from JSON."""

    def form(one: dict[str, Any]) -> Form:
        return Form(tuple(one["texts"]), one["weight"])

    return Evidence(
        tuple(form(one) for one in data["forms"]),
        form(data["free"]),
        tuple(form(one) for one in data["swaps"]),
        data["goes_on"],
        data.get("unfinished", -inf),
        data["seconds"],
        tuple(form(one) for one in data.get("cries", ())),
    )


def _begin() -> None:
    _at_work["phrases"] = Phrases.load("en")


def again(row: dict[str, Any]) -> str:
    """A line with both weighings made anew."""
    evidence, phrases = evidence_of(row["evidence"]), _at_work["phrases"]
    for how in ("with", "without"):
        row[how] = heard_data(evidence, phrases, expected(row, how == "with"), row["stops"])
    return json.dumps(row)


def main() -> None:
    """Weigh a file."""
    parser = argparse.ArgumentParser()
    parser.add_argument("heard", type=Path, nargs="+")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    arguments = parser.parse_args()
    with (
        multiprocessing.get_context("spawn").Pool(arguments.jobs, _begin) as pool,
        gzip.open(arguments.out, "wt", compresslevel=5) as out,
    ):
        for line in pool.imap(again, rows(arguments.heard), 32):
            print(line, file=out)


if __name__ == "__main__":
    main()
