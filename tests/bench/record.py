"""What reading a record costs against json alone: opening it, and verifying it. Run by hand.

PYTHONPATH=tests python tests/bench/record.py [LINES]      (default 20000)
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from fakes import FakeClock
from records import TINY, started

from guide.job import events as ev
from guide.record import Journal
from guide.record.verify import verify


def seconds(act: Callable[[], object]) -> float:
    """The least of three tries."""
    tries = []
    for _ in range(3):
        begins = time.perf_counter()
        act()
        tries.append(time.perf_counter() - begins)
    return min(tries)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        journal, _ = Journal.create(folder / "long", FakeClock(), [started(TINY)], "Bo")
        for begin in range(0, count, 500):
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
