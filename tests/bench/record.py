"""What the record costs: appending against a bare write and sync of the same bytes, reading against json alone.

PYTHONPATH=tests python tests/bench/record.py [DIR] (DIR on the disk that is meant; default: here)
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from fakes import FakeClock
from records import TINY, started

from guide.job import events as ev
from guide.quantity import quantity
from guide.record import Journal
from guide.record.verify import verify

DECISIONS, LINES = 400, 20_000


def took(number: int) -> ev.Took:
    """An event such as most are."""
    value = quantity(f"{36 + number % 16}/16 in")
    return ev.Took("width", "width", "top", value, "noted", heard=ev.Heard(f"{36 + number % 16}/16"))


def appending(folder: Path) -> tuple[float, float]:
    """Median seconds of an append, and of a bare write and sync of the same bytes, taken in turn."""
    journal, _ = Journal.create(folder / "job", FakeClock(), [started(TINY)], "Bo")
    record = folder / "job" / "record.jsonl"
    bare = os.open(folder / "bare", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    ours, theirs = [], []
    for number in range(DECISIONS):
        before, begins = record.stat().st_size, time.perf_counter()
        journal.append([took(number)], "Bo")
        ours.append(time.perf_counter() - begins)
        with record.open("rb") as file:
            file.seek(before)
            data = file.read()
        begins = time.perf_counter()
        os.write(bare, data)
        os.fsync(bare)
        theirs.append(time.perf_counter() - begins)
    journal.close()
    return statistics.median(ours), statistics.median(theirs)


def seconds(act: Callable[[], object]) -> float:
    """The least of three tries."""
    tries = []
    for _ in range(3):
        begins = time.perf_counter()
        act()
        tries.append(time.perf_counter() - begins)
    return min(tries)


def main() -> None:
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if len(sys.argv) > 1 else ".") as name:
        folder = Path(name)
        ours, bare = appending(folder)
        print(f"append {ours * 1e3:.2f} ms, bare write and sync {bare * 1e3:.2f} ms: {ours / bare:.2f} times")
        journal, _ = Journal.create(folder / "long", FakeClock(), [started(TINY)], "Bo")
        for begin in range(0, LINES, 500):
            journal.append([ev.Noted(f"{n} the wall is damp", "set") for n in range(begin, begin + 500)], "Bo")
        journal.close()
        lines = (folder / "long" / "record.jsonl").read_bytes().splitlines()
        plain = seconds(lambda: [json.loads(line) for line in lines])
        opening = seconds(lambda: Journal.open(folder / "long", FakeClock())[0].close())
        verifying = seconds(lambda: verify(folder / "long"))
        print(
            f"{len(lines)} lines: json.loads {plain:.2f} s, open {opening:.2f} s ({opening / plain:.1f} times), "
            f"verify {verifying:.2f} s ({verifying / plain:.1f} times)"
        )


if __name__ == "__main__":
    main()
