"""The demo: an invented crew on the real engine, from the first question to the finished record."""

from __future__ import annotations

from pathlib import Path

from running import guide, turns


def test_the_demo_tells_its_whole_story_and_finishes(tmp_path: Path) -> None:
    run = guide(tmp_path, "demo", "--fast", "--json", "--job", "job")
    assert run.returncode == 0, run.stdout[-2000:] + run.stderr
    said = turns(run.stdout)
    kinds = [turn["kind"] for turn in said]
    assert kinds[-1] == "finished"
    assert "refused" not in kinds, [turn["text"] for turn in said if turn["kind"] == "refused"]
    out = {turn["step"] for turn in said if turn["kind"] == "accepted" and turn["verdict"] == "out"}
    assert {"sill-level", "plumb", "hinge-reveal", "square"} <= out, "the sill, the side frames, a hinge gap, a corner"
    assert any("replaces" in turn for turn in said), "a reading mistyped, and corrected"
    assert any("square" in turn["checks"] for turn in said if turn["kind"] == "stale")
    assert [turn["verdict"] for turn in said if turn["kind"] == "finished"] == ["conceded"]
    assert guide(tmp_path, "verify", "job").returncode == 0
