"""The benchmark runs and prints every figure; no time is asserted."""

from __future__ import annotations

from running import bench


def test_the_benchmark_runs() -> None:
    run = bench("figures.py", "200", "50")
    assert run.returncode == 0, run.stderr
    assert len(run.stdout.splitlines()) == 9
    assert all("goal" in line for line in run.stdout.splitlines())
