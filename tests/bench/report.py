"""What a report costs: a job of 2,000 events and a real one, verified, followed, and put on page, paper and data.

PYTHONPATH=tests python tests/bench/report.py [DIR] (DIR: a job's folder to measure besides)

Seconds of the processor (least of three), since the machine may have other work; nothing here asserts a time.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from reports import kept
from small import SHELF

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Command
from guide.quantity import quantity
from guide.record.keys import Keys
from guide.report.data import job_data
from guide.report.found import find
from guide.report.job import job_document
from guide.report.page import page
from guide.report.paper import paper

EVENTS = 2_000


def long_job(folder: Path) -> Path:
    """A shelf that is put right over and over, and lead decides to go on trying."""
    lead = ev.Person("Ana", "lead", "pin")
    commands: list[Command] = [cmd.Choose("back", "none"), cmd.Begin("survey")]
    commands += [cmd.Take("survey", place, quantity("20 in"), ev.Heard("20")) for place in ("top", "bottom")]
    commands += [cmd.Begin("cut"), cmd.Acknowledge("cut"), cmd.Finish("cut")]
    commands += [
        cmd.Begin("set"),
        cmd.Acknowledge("set"),
        cmd.CrewIsThere("set"),
        cmd.Finish("set"),
        cmd.Begin("square"),
    ]
    for number in range(EVENTS // 4):
        value = quantity(f"{3 + number % 5}/16 in")
        commands += [cmd.Take("square", side, value, ev.Heard(str(value))) for side in ("left", "right")]
        if number % 3 == 2:
            commands.append(cmd.Decide("square", "go on", lead, "try once more"))
        commands.append(cmd.Adjust("square"))
    return kept(folder, SHELF, commands)


def seconds(act: Callable[[], object]) -> float:
    """The least of three."""
    tries = []
    for _ in range(3):
        begins = time.process_time()
        act()
        tries.append(time.process_time() - begins)
    return min(tries)


def measure(job: Path, none: Keys) -> None:
    found = find(job, none)
    document = job_document(found)
    parts: dict[str, Callable[[], object]] = {
        "verify and follow": lambda: find(job, none),
        "page": lambda: page(job_document(found)),
        "paper": lambda: paper(job_document(found), found.ended),
        "data": lambda: json.dumps(job_data(found)),
    }
    print(f"{found.started.title}: {len(found.entries):,} events, {len(page(document)):,} characters of page")
    for name, act in parts.items():
        print(f"  {name}: {seconds(act):.2f} s")


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        none = Keys(Path(name) / "keys")
        measure(long_job(Path(name) / "job"), none)
        for more in sys.argv[1:]:
            measure(Path(more), none)


if __name__ == "__main__":
    main()
