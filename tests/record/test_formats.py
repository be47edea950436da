"""Every format that was ever written is read for ever: what is kept of each is never changed, only added to."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from running import guide, turns

from guide.job.codec import decode, encode
from guide.job.events import FORMAT, KINDS
from guide.record.verify import verify

KEPT = Path(__file__).parent / "fixtures"


@pytest.mark.parametrize("number", range(1, FORMAT + 1))
def test_a_kept_record_is_whole_and_can_be_resumed(tmp_path: Path, number: int) -> None:
    """Each is a shelf: a reading corrected, one thing conceded, stopped with the frame propped."""
    kept = KEPT / f"format-{number}"
    found = verify(kept)
    assert found.ok, found.problems
    assert (found.status, found.sealed) == ("stopped", found.lines - 1)
    shutil.copytree(kept, tmp_path / "job")
    (tmp_path / "job" / "record.jsonl").chmod(0o644)
    resumed = guide(tmp_path, "resume", "job", "--json", lines=["what did we get for the width at the bottom"])
    assert resumed.returncode == 0, resumed.stderr
    assert any("19 1/2 in" in turn["text"] for turn in turns(resumed.stdout))
    assert verify(tmp_path / "job").ok


@pytest.mark.parametrize("number", range(1, FORMAT + 1))
def test_every_kind_of_event_is_read_as_it_was_written(number: int) -> None:
    """One line of each kind with all its keys; a new kind or key gets a line of its own."""
    lines = (KEPT / f"format-{number}" / "kinds.jsonl").read_text(encoding="utf-8").splitlines()
    for line in lines:
        kept = json.loads(line)
        event = decode(kept["kind"], kept["data"])
        assert type(event) is KINDS[kept["kind"]]
        assert encode(event) == kept["data"]
    if number == FORMAT:
        assert {json.loads(line)["kind"] for line in lines} == set(KINDS)
