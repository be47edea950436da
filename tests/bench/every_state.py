"""Explore every state of the small procedures to the end, and print how many there are. Run by hand.

PYTHONPATH=tests python tests/bench/every_state.py [MOST]
"""

from __future__ import annotations

import importlib.util
import sys
import time
from pathlib import Path

from explore import explore

from guide.procedure import load_text


def main() -> None:
    most = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    place = Path(__file__).parent.parent / "job" / "test_every_state.py"
    spec = importlib.util.spec_from_file_location("every_state_cases", place)
    assert spec is not None
    assert spec.loader is not None
    cases = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(cases)
    for name, text in cases.CASES.items():
        start = time.perf_counter()
        report = explore(load_text("small.yaml", text), most)
        taken = time.perf_counter() - start
        print(
            f"{name}: {report.states} states, {report.commands} commands, {report.refusals} refused, "
            f"{report.finished} finishes, all of them: {report.complete}, {taken:.0f} s",
            flush=True,
        )


if __name__ == "__main__":
    main()
