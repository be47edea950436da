"""The benchmark runs and prints every figure; no time is asserted."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent


def test_the_benchmark_runs() -> None:
    run = subprocess.run(
        [sys.executable, str(HERE / "figures.py"), "200", "50"],
        capture_output=True,
        text=True,
        timeout=300,
        env={"PYTHONPATH": f"{HERE.parent}:{HERE.parent.parent}", "PATH": "/usr/bin:/bin"},
        check=False,
    )
    assert run.returncode == 0, run.stderr
    assert len(run.stdout.splitlines()) == 9
    assert all("goal" in line for line in run.stdout.splitlines())
