"""Each benchmark runs, on little, and prints what it is for; no time is asserted."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent

BENCHES = [
    (["every_byte.py", "picture-rail", "2000"], "0 not found at their line"),
    (["every_state.py", "50"], "50 states"),
    (["kills.py", "3"], "nothing acknowledged was missing"),
    (["record.py", "500"], "501 lines: json.loads"),
    (["report.py"], "verify and follow"),
    (["site_jobs_report.py", "1", "1"], "in memory: 1 jobs"),
    (["survey.py"], "a survey"),
]


@pytest.mark.parametrize(("command", "shown"), BENCHES, ids=lambda value: value[0] if isinstance(value, list) else "")
def test_the_benchmark_runs(command: list[str], shown: str) -> None:
    run = subprocess.run(
        [sys.executable, str(HERE / command[0]), *command[1:]],
        capture_output=True,
        text=True,
        timeout=300,
        env={"PYTHONPATH": f"{HERE.parent}:{HERE.parent.parent}", "PATH": "/usr/bin:/bin"},
        check=False,
    )
    assert run.returncode == 0, run.stderr
    assert shown in run.stdout
