"""The commands `guide gather` and `guide review`."""

from __future__ import annotations

import argparse
import re
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from guide.problems import Problem, ProblemError, visible

if TYPE_CHECKING:
    from guide.fleet.gather import Gathered

SOME_REFUSED = 1
_MONTH = re.compile(r"\d{4}-(0[1-9]|1[0-2])")
_EVERY = 2.0
"""Seconds between two lines of progress."""


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add both commands to the command line."""
    gather = commands.add_parser("gather", help="put the verified records of many jobs into a store")
    gather.add_argument("folders", metavar="DIR", nargs="+", type=Path, help="job folders, or folders that hold them")
    gather.add_argument("--into", metavar="STORE", type=Path, required=True, help="a folder of Parquet files")
    gather.add_argument("--json", action="store_true", help="one JSON object")
    gather.set_defaults(command=_gather)

    review = commands.add_parser("review", help="what many jobs have in common: which checks fail, what takes long")
    review.add_argument("store", metavar="STORE", type=Path)
    review.add_argument("--question", metavar="NAME", help="only this one (none: all): first-try, time, drift, …")
    review.add_argument("--to", metavar="FILE", type=Path, help="FILE.html, .pdf, .json, or .csv for one question")
    review.add_argument("--procedure", metavar="NAME", default="", help="only jobs by this procedure")
    review.add_argument("--crew", metavar="NAME", default="", help="only jobs of this crew")
    review.add_argument("--since", metavar="MONTH", default="", help="only jobs begun in this month or later: 2026-05")
    review.add_argument("--until", metavar="MONTH", default="", help="only jobs begun in this month or before")
    review.add_argument("--invented", action="store_true", help="invented jobs instead of real ones")
    review.add_argument("--engine", choices=("duckdb", "spark"), default="duckdb", help="what works the answers out")
    review.set_defaults(command=_review)


def _gather(arguments: argparse.Namespace) -> int:
    from guide.fleet.gather import Gathering, data_of
    from guide.fleet.store import Writer
    from guide.fleet.words import say

    try:
        writer = Writer.open(arguments.into, lambda: print(say("gather.waiting"), file=sys.stderr, flush=True))
        try:
            did = Gathering(writer).gather(arguments.folders, _progress())
        finally:
            writer.close()
    except ModuleNotFoundError as missing:
        message = say("gather.package", package=missing.name)
        raise ProblemError([Problem("no-package", message, hint="pip install 'guide[fleet]'")]) from None
    if arguments.json:
        import json

        print(json.dumps(data_of(did), indent=1))
    else:
        _tell(did, arguments.into)
    return SOME_REFUSED if did.refused else 0


def _tell(did: Gathered, store: Path) -> None:
    from guide.fleet.gather import strangers
    from guide.fleet.words import counted, say

    counts = {name: f"{getattr(did, name):,}" for name in ("taken", "grown", "unchanged", "copies", "events")}
    print(visible(say("gather.done", store=store, **counts)))
    for procedure, version, title, jobs in strangers(did):
        print(visible(counted("gather.stranger", jobs, procedure=procedure, version=version, title=title)))
    if did.refused:
        print(counted("gather.refused", len(did.refused)))
        for one in did.refused:
            print(visible(f"  {one.place}: {one.why}"))


def _progress() -> Callable[[Gathered], None]:
    """Tells how far it is now and then, to somebody who looks on."""
    from guide.fleet.words import say

    told = time.monotonic()

    def tell(did: Gathered) -> None:
        nonlocal told
        if sys.stderr.isatty() and time.monotonic() - told > _EVERY:
            told = time.monotonic()
            jobs = did.taken + did.grown + did.unchanged + did.copies
            print(say("gather.progress", jobs=f"{jobs:,}", events=f"{did.events:,}"), file=sys.stderr, flush=True)

    return tell


def _review(arguments: argparse.Namespace) -> int:
    from guide.fleet.engines import Which
    from guide.fleet.review import review

    for month in (arguments.since, arguments.until):
        _see_that_it_is_a_month(month)
    which = Which(arguments.invented, arguments.procedure, arguments.crew, arguments.since, arguments.until)
    print(review(arguments.store, which, arguments.question, arguments.to, arguments.engine), end="")
    return 0


def _see_that_it_is_a_month(value: str) -> None:
    from guide.fleet.words import say

    if value and not _MONTH.fullmatch(value):
        raise ProblemError([Problem("month", say("review.month", value=value), hint=say("review.month-hint"))])
