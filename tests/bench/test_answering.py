"""The measurement of how soon an answer begins runs over the real processes; no time is asserted."""

from __future__ import annotations

import os

from running import bench


def test_an_utterance_is_answered_and_timed() -> None:
    run = bench("answering.py", "1", env=os.environ)
    assert run.returncode == 0, run.stderr
    assert "1 of 1 utterances answered" in run.stdout and "first sound: middle" in run.stdout
