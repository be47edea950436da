"""The verifier: every change of a real record is found, with its line; what can't be found is said."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from running import guide
from small import CHECKED, SHELF

from guide.record.verify import report_lines, verify

WHOLE = [*CHECKED, "done", "0", "0", "yes", "0", "Ana", "yes"]


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A real record of a finished job."""
    return _job(tmp_path_factory.mktemp("real"), WHOLE)


@pytest.fixture(scope="module")
def other(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A real record of another job on the same procedure."""
    return _job(tmp_path_factory.mktemp("other"), CHECKED)


def _job(folder: Path, lines: list[str]) -> bytes:
    (folder / "shelf.yaml").write_text(SHELF, encoding="utf-8")
    done = guide(folder, "start", "shelf.yaml", "--job", "job", "--who", "Bo", "--pretend-clock", lines=lines)
    assert done.returncode == 0, done.stderr
    return (folder / "job" / "record.jsonl").read_bytes()


def put(tmp_path: Path, data: bytes) -> Path:
    (tmp_path / "record.jsonl").write_bytes(data)
    return tmp_path


def rehashed(lines: list[bytes]) -> bytes:
    """The lines with their chain made good again, as somebody who rewrites the whole could."""
    before, out = "0" * 64, b""
    for line in lines:
        body = line.rpartition(b',"hash":"')[0]
        before = hashlib.sha256(before.encode() + body).hexdigest()
        out += body + b',"hash":"' + before.encode() + b'"}\n'
    return out


def edited(lines: list[bytes], at: int, edit: Callable[[dict[str, Any]], None]) -> bytes:
    """A line edited and the chain made good again."""
    data = json.loads(lines[at])
    del data["hash"]
    edit(data)
    body = json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()[:-1]
    return rehashed([*lines[:at], body + b',"hash":"', *lines[at + 1 :]])


def test_a_real_record_is_whole(tmp_path: Path, record: bytes) -> None:
    found = verify(put(tmp_path, record))
    assert found.ok, found.problems
    assert (found.status, found.pretended, found.lines) == ("finished", True, record.count(b"\n"))
    assert any("sealed" in line or "seals" in line for line in report_lines(found))


def test_an_open_record_says_what_cannot_be_seen(tmp_path: Path, record: bytes) -> None:
    lines = record.splitlines(keepends=True)
    found = verify(put(tmp_path, b"".join(lines[:20])))
    assert found.ok
    assert any("cut off the end" in text for text in found.not_seen)


def test_every_changed_byte_is_found_with_its_line(tmp_path: Path, record: bytes) -> None:
    step = 1 if len(record) < 4000 else 13
    folder = put(tmp_path, record)
    for at in range(0, len(record), step):
        changed = bytearray(record)
        changed[at] ^= 1 << (at % 8)
        (folder / "record.jsonl").write_bytes(bytes(changed))
        found = verify(folder)
        line = record[:at].count(b"\n") + 1
        if at == len(record) - 1:
            assert found.torn == 1
        else:
            assert not found.ok, at
            assert found.first_bad_line == line, (at, found.problems)


@pytest.mark.parametrize(
    "damage",
    [
        lambda lines, other: [*lines[:5], lines[6], lines[5], *lines[7:]],
        lambda lines, other: [*lines[:6], lines[5], *lines[6:]],
        lambda lines, other: [*lines[:5], *lines[6:]],
        lambda lines, other: [*lines[:5], b'{"seq":5}\n', *lines[5:]],
        lambda lines, other: [*lines[:5], b"\n", *lines[5:]],
        lambda lines, other: [*lines[:5], other[5], *lines[6:]],
        lambda lines, other: [*lines[:5], *other[5:]],
    ],
    ids=["swapped", "doubled", "dropped", "foreign", "empty", "one of another job", "the rest of another job"],
)
def test_moved_and_foreign_lines_are_found(
    tmp_path: Path, record: bytes, other: bytes, damage: Callable[[list[bytes], list[bytes]], list[bytes]]
) -> None:
    lines, others = record.splitlines(keepends=True), other.splitlines(keepends=True)
    found = verify(put(tmp_path, b"".join(damage(lines, others))))
    assert not found.ok
    assert found.first_bad_line in (6, 7)


def _at(lines: list[bytes], kind: str) -> int:
    return next(i for i, line in enumerate(lines) if json.loads(line)["kind"] == kind)


@pytest.mark.parametrize(
    ("kind", "edit", "code"),
    [
        ("took", lambda d: d["data"].update(verdict="out"), "verdict"),
        ("took", lambda d: d["data"].update(place="nowhere"), "replay"),
        ("done", lambda d: d["data"].update(step="fix"), "replay"),
        ("done", lambda d: d["data"].update(step="nothing"), "replay"),
        ("begun", lambda d: d["data"].update(extra=1), "entry"),
        ("begun", lambda d: d.update(kind="vanished"), "entry"),
        ("begun", lambda d: d.update(at="2001-01-01T00:00:00+00:00"), "time-back"),
        ("begun", lambda d: d.update(at="yesterday"), "entry"),
        ("begun", lambda d: d.update(who=7), "entry"),
        ("begun", lambda d: d.update(seq=99), "number"),
        ("finished", lambda d: d["data"].update(count=3), "seal"),
        ("started", lambda d: d["data"].update(sha256="0" * 64), "procedure-hash"),
        ("started", lambda d: d["data"]["sources"][0].update(text="nonsense"), "procedure"),
        ("started", lambda d: d["data"].update(format=99), "format-newer"),
    ],
)
def test_a_rewrite_that_does_not_add_up_is_found(
    tmp_path: Path, record: bytes, kind: str, edit: Callable[[dict[str, Any]], None], code: str
) -> None:
    lines = record.splitlines(keepends=True)
    at = _at(lines, kind)
    found = verify(put(tmp_path, edited(lines, at, edit)))
    assert found.first_bad_line == at + 1, found.problems
    assert found.problems[0].code == code, found.problems


def test_a_finish_that_leaves_a_stale_check_is_found(tmp_path: Path, record: bytes) -> None:
    lines = record.splitlines(keepends=True)
    drop = [i for i, line in enumerate(lines) if json.loads(line)["kind"] in ("took", "done")][-4]
    kept = []
    for seq, line in enumerate([*lines[:drop], *lines[drop + 1 :]]):
        data = json.loads(line)
        data["seq"] = seq
        del data["hash"]
        kept.append(json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()[:-1] + b',"hash":"')
    assert not verify(put(tmp_path, rehashed(kept))).ok


@pytest.mark.parametrize(
    "data", [b"", b"\n", b"{}\n", b"null\n", b"[" * 100_000 + b"\n", b"\xff\xfe\n", b"x" * 5_000_000]
)
def test_nonsense_is_told_and_raises_nothing(tmp_path: Path, data: bytes) -> None:
    found = verify(put(tmp_path, data))
    assert not found.ok
    assert report_lines(found)


def test_verify_needs_no_right_to_write(tmp_path: Path, record: bytes) -> None:
    folder = put(tmp_path, record)
    before = sorted(os.listdir(folder))
    (folder / "record.jsonl").chmod(0o444)
    folder.chmod(0o555)
    try:
        assert verify(folder).ok
    finally:
        folder.chmod(0o755)
    assert sorted(os.listdir(folder)) == before


def test_the_command_says_it_in_words_and_in_json(tmp_path: Path, record: bytes) -> None:
    put(tmp_path, record)
    words = guide(tmp_path, "verify", ".")
    assert words.returncode == 0
    assert "whole" in words.stdout
    lines = record.splitlines(keepends=True)
    put(tmp_path, b"".join([*lines[:3], *lines[4:]]))
    data = guide(tmp_path, "verify", ".", "--json")
    assert data.returncode == 1
    assert json.loads(data.stdout)["first_bad_line"] == 4
