"""Kill thousands of real processes in the middle of a real job, and print what was found. Run by hand.

PYTHONPATH=tests python tests/bench/kills.py [COUNT]
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from killing import kills

from guide.procedure import load


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        report = kills(load("exterior-pair"), Path(folder), count, seed=int(start * 1000))
    print(
        f"{report.kills} kills, {report.torn} left a torn end, {report.ahead} hit between durable and said, "
        f"{time.perf_counter() - start:.0f} s; nothing acknowledged was missing"
    )


if __name__ == "__main__":
    main()
