"""Coverage-guided fuzzing with atheris. Run by hand, one target at a time:

    PYTHONPATH=tests python tests/fuzz/run.py TARGET [RUNS]

An input that takes over a second of processor time or over 2 GB in all counts as a find, as does any exception.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["guide"]):
    from fuzz_targets import TARGETS, seeds

SLOWEST = 1.0


def main() -> None:
    name = sys.argv[1]
    runs = int(sys.argv[2]) if len(sys.argv) > 2 else 100_000
    target = TARGETS[name]
    slowest = 0.0

    def one(data: bytes) -> None:
        nonlocal slowest
        start = time.process_time()
        target(data)
        taken = time.process_time() - start
        slowest = max(slowest, taken)
        if taken > SLOWEST:
            raise RuntimeError(f"took {taken:.1f} s")

    with tempfile.TemporaryDirectory() as folder:
        for number, seed in enumerate(seeds(name)):
            (Path(folder) / f"seed-{number}").write_bytes(seed)
        options = [
            sys.argv[0],
            folder,
            f"-runs={runs}",
            "-rss_limit_mb=2048",
            "-timeout=10",
            "-max_len=4096",
            "-print_final_stats=1",
        ]
        atheris.Setup(options, one)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
