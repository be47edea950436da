"""Processes killed at random moments (a few here; thousands by `tests/bench/kills.py`)."""

from __future__ import annotations

from pathlib import Path

from killing import kills
from small import SHELF

from guide.procedure import load_text


def test_whatever_moment_a_process_is_killed_at(tmp_path: Path) -> None:
    report = kills(load_text("shelf.yaml", SHELF), tmp_path, 60, seed=1)
    assert report.kills == 60
    assert report.entries > 0
