"""The measurement of how soon an answer begins runs over the real processes; no time is asserted."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent


def test_an_utterance_is_answered_and_timed() -> None:
    run = subprocess.run(
        [sys.executable, str(HERE / "answering.py"), "1"],
        capture_output=True,
        text=True,
        timeout=300,
        env={**os.environ, "PYTHONPATH": f"{HERE.parent}:{HERE.parent.parent}"},
        check=False,
    )
    assert run.returncode == 0, run.stderr
    assert "1 of 1 utterances answered" in run.stdout and "first sound: middle" in run.stdout
