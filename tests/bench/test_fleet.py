"""The benchmark of many jobs runs and prints every figure; no time is asserted."""

from __future__ import annotations

import pytest
from bench import fleet


def test_the_benchmark_runs(capsys: pytest.CaptureFixture[str]) -> None:
    fleet.small()
    said = capsys.readouterr().out
    assert "verify: 12 records" in said and "gather: 12 jobs" in said and "review: 11 questions" in said
    assert "OTHER" not in said
