"""Each benchmark runs, on little, and prints what it is for; no time is asserted."""

from __future__ import annotations

import pytest
from running import bench

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
    run = bench(*command)
    assert run.returncode == 0, run.stderr
    assert shown in run.stdout
