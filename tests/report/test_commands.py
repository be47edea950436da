"""`guide report` as people call it: what it writes, what it refuses, and that nothing is ever left half written."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from records import TINY, TINY_DONE, put, talked

from guide.cli import main


@pytest.fixture(autouse=True)
def own_data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GUIDE_DATA", str(tmp_path / "own"))


def test_the_first_page_is_shown(tiny: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", str(tiny)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Set a shelf\nAccepted: every check is good.\n")
    assert "- Gap: wanted: 0 in to 1/8 in; was out: 1/4 in;" in said and "Check value" in said
    assert max(map(len, said.splitlines())) <= 80


@pytest.mark.parametrize("sheet", [None, "care", "order"])
@pytest.mark.parametrize(("end", "begins"), [("html", b"<!DOCTYPE html>"), ("PDF", b"%PDF-"), ("json", b"{")])
def test_it_writes_what_the_name_ends_in(
    tiny: Path, tmp_path: Path, sheet: str | None, end: str, begins: bytes
) -> None:
    to = tmp_path / f"out.{end}"
    to.write_text("an older one")
    assert main(["report", str(tiny), "--to", str(to), *(["--sheet", sheet] if sheet else [])]) == 0
    assert to.read_bytes().startswith(begins)
    assert sorted(tmp_path.glob("*out*")) == [to] and not list(tmp_path.glob(".out*"))
    assert to.stat().st_mode & 0o777 == 0o644 & ~_umask()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def test_another_ending_is_refused(tiny: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("out.docx", "out"):
        assert main(["report", str(tiny), "--to", str(tmp_path / name)]) == 3
        assert "is none of FILE.html, FILE.pdf, FILE.json" in capsys.readouterr().err


def lines(data: bytes) -> list[bytes]:
    return data.splitlines(keepends=True)


DAMAGE: dict[str, Callable[[bytes], bytes]] = {
    "changed": lambda data: data.replace(b"1/16", b"1/32", 1),
    "cut in the middle": lambda data: b"".join(lines(data)[:3] + lines(data)[4:]),
    "empty": lambda data: b"",
    "foreign": lambda data: b"%PDF-1.7\n" + b"x" * 500 + b"\n",
    "zeros": lambda data: b"\0" * 4096,
    "another's first line": lambda data: b'{"seq":0}\n' + data,
    "future": lambda data: data.replace(b'"format":1,', b'"format":9,', 1),
}


@pytest.mark.parametrize("what", DAMAGE)
def test_a_record_that_is_not_whole_is_told_and_gets_no_report(
    what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = talked(tmp_path / "job", TINY, TINY_DONE)
    put(tmp_path / "job", DAMAGE[what](data))
    before = (tmp_path / "job" / "record.jsonl").read_bytes()
    to = tmp_path / "out.html"
    assert main(["report", str(tmp_path / "job"), "--to", str(to)]) == 1
    told = capsys.readouterr().err
    assert "No report was made" in told and "Traceback" not in told
    assert what != "future" or "a newer guide" in told
    assert not to.exists() and not list(tmp_path.glob(".out*"))
    assert (tmp_path / "job" / "record.jsonl").read_bytes() == before


def test_a_missing_a_linked_and_an_unreadable_record_are_told(
    tiny: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["report", str(tmp_path / "nowhere")]) == 1
    assert "there is no record" in capsys.readouterr().err
    (tmp_path / "linked").mkdir()
    (tmp_path / "linked" / "record.jsonl").symlink_to(tiny / "record.jsonl")
    assert main(["report", str(tmp_path / "linked")]) == 1
    assert "not an ordinary file" in capsys.readouterr().err
    (tmp_path / "folder" / "record.jsonl").mkdir(parents=True)
    assert main(["report", str(tmp_path / "folder")]) == 1
    assert "not an ordinary file" in capsys.readouterr().err


def test_a_torn_end_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = talked(tmp_path / "job", TINY, TINY_DONE[:3])
    put(tmp_path / "job", data + b'{"seq":99,"at"')
    assert main(["report", str(tmp_path / "job")]) == 0
    said = capsys.readouterr().out
    assert "1 lines at the end were never finished" in said
    assert "NOT FINISHED" in said


def test_no_link_is_written_through_and_no_folder_over(tiny: Path, tmp_path: Path) -> None:
    precious = tmp_path / "precious.html"
    precious.write_text("precious")
    (tmp_path / "link.html").symlink_to(precious)
    (tmp_path / "folder.html").mkdir()
    assert main(["report", str(tiny), "--to", str(tmp_path / "link.html")]) == 3
    assert main(["report", str(tiny), "--to", str(tmp_path / "folder.html")]) == 3
    assert main(["report", str(tiny), "--to", str(tmp_path / "nowhere" / "out.html")]) == 3
    assert precious.read_text() == "precious"


def test_what_can_t_be_put_in_place_leaves_the_older_report(
    tiny: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    to = tmp_path / "out.html"
    to.write_text("an older one")
    monkeypatch.setattr(os, "fsync", full)
    assert main(["report", str(tiny), "--to", str(to)]) == 3
    assert "can't be written" in capsys.readouterr().err
    assert to.read_text() == "an older one" and not list(tmp_path.glob(".out*"))


def test_the_data_are_the_record_s(tiny: Path, tmp_path: Path) -> None:
    to = tmp_path / "out.json"
    assert main(["report", str(tiny), "--to", str(to)]) == 0
    data = json.loads(to.read_text())
    assert (data["outcome"], data["verification"]["ok"], data["signed"]["ok"]) == ("good", True, True)
    assert [(one["value"], one["verdict"]) for one in data["readings"]] == [("1/4 in", "out"), ("1/16 in", "good")]
    assert data["out"][0]["check"] == "gap" and data["out"][0]["end"] == "good"
    assert [span["standing"] for span in data["checks"]["gap"]] == ["out", "stale", "fresh"]
    assert {event["kind"] for event in data["events"]} >= {"took", "advised", "adjusted", "finished"}
    assert main(["report", str(tiny), "--sheet", "care", "--to", str(to)]) == 0
    assert json.loads(to.read_text())["answer"] == "Handed over."


def test_without_a_package_it_says_which(
    tiny: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "fpdf", None)
    assert main(["report", str(tiny), "--to", str(tmp_path / "out.pdf")]) == 3
    assert "a report needs the package fpdf" in capsys.readouterr().err
