"""Every format that was ever written is read for ever: one kept record of each."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from running import guide, turns

from guide.job.events import FORMAT
from guide.record.verify import verify

KEPT = Path(__file__).parent / "fixtures"


@pytest.mark.parametrize("number", range(1, FORMAT + 1))
def test_a_kept_record_is_whole_and_can_be_resumed(tmp_path: Path, number: int) -> None:
    """Each is a shelf: a reading corrected, one thing conceded, stopped with the frame propped."""
    kept = KEPT / f"format-{number}"
    found = verify(kept)
    assert found.ok, found.problems
    assert found.status == "stopped"
    shutil.copytree(kept, tmp_path / "job")
    (tmp_path / "job" / "record.jsonl").chmod(0o644)
    resumed = guide(tmp_path, "resume", "job", "--json", lines=["what did we get for the width at the bottom"])
    assert resumed.returncode == 0, resumed.stderr
    assert any("19 1/2 in" in turn["text"] for turn in turns(resumed.stdout))
    assert verify(tmp_path / "job").ok
