"""The report on putting frames right runs and shows every figure; no time is asserted."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

from running import bench

SHOWN = (
    "Simulated, not a site.",
    "1 frames that shims can put right",
    "advice: rounds median",
    "least squares: rounds median",
    "member: rounds median",
    "rough: rounds median",
    "advice less least squares: moves",
    "advice less member: moves",
    "advice: accepted readings at the end truly out",
    "advice: of all readings accepted by the plain rule, truly out",
    "advice: of all readings accepted with a guard band of U, truly out",
    "misread: alarmed",
    "member fault: alarmed",
    "racked: alarmed",
    "false alarms",
    "frames no shims put right",
    "next move, proven: p50",
    "answer at once: p50",
    "import guide.trade.advice loads scipy, numpy: False False",
)


def report(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the report as by hand."""
    return bench("moves_report.py", *arguments)


def test_the_report_runs(tmp_path: Path) -> None:
    file = tmp_path / "one.jsonl"
    run = report("run", str(file), "1", "1")
    assert run.returncode == 0, run.stderr
    pieces = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    assert {piece["seed"] for piece in pieces} == {1}
    shown = report("show", str(file))
    assert shown.returncode == 0, shown.stderr
    lines = shown.stdout.splitlines()
    for start in SHOWN:
        assert any(line.startswith(start) for line in lines), start


def test_used_wrongly_it_says_how() -> None:
    run = report("sow")
    assert run.returncode == 2
    assert "run FILE FIRST COUNT" in run.stdout
