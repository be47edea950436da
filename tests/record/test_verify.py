"""The verifier: every change of a real record is found, with its line; what can't be found is said."""

from __future__ import annotations

import ast
import hashlib
import json
import os
import random
import tracemalloc
from collections.abc import Callable
from contextlib import suppress
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from fakes import FakeClock
from records import TINY, TINY_DONE, Quick, edited, put, rehashed, started, talked
from running import guide
from small import CHECKED, SHELF

from guide.job import events as ev
from guide.problems import ProblemError
from guide.procedure import load_sources
from guide.procedure.model import SourceFile
from guide.record import Journal, verification
from guide.record import replay as replaying
from guide.record import verify as verifying
from guide.record.verify import report_lines, verify

WHOLE = [*CHECKED, "done", "0", "0", "yes", "0", "Ana", "yes"]


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A real record of a finished job with a little of everything."""
    return talked(tmp_path_factory.mktemp("real") / "job", SHELF, WHOLE)


@pytest.fixture(scope="module")
def tiny(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A small real record of a finished job."""
    return talked(tmp_path_factory.mktemp("tiny") / "job", TINY, TINY_DONE)


def test_it_shares_nothing_with_the_writer() -> None:
    ours = {"guide.record.replay", "guide.record.verification"}
    for module in (verifying, replaying, verification):
        tree = ast.parse(Path(str(module.__file__)).read_text(encoding="utf-8"))
        imported = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        assert {name for name in imported if name and name.startswith("guide.record")} <= ours


def test_a_real_record_is_whole(tmp_path: Path, record: bytes) -> None:
    found = verify(put(tmp_path, record))
    lines = record.count(b"\n")
    assert found.ok, found.problems
    assert (found.status, found.pretended, found.lines, found.sealed) == ("finished", True, lines, lines - 1)
    assert found.last_hash == json.loads(record.splitlines()[-1])["hash"]
    assert any(f"seals the {lines - 1} before it" in line for line in report_lines(found))


def test_an_open_record_says_what_cannot_be_seen(tmp_path: Path, record: bytes) -> None:
    lines = record.splitlines(keepends=True)
    for size in range(2, len(lines)):
        found = verify(put(tmp_path, b"".join(lines[:size])))
        assert found.ok
        assert found.sealed == 0
        assert any("does not end in a seal" in text for text in found.not_seen)
        assert found.torn == (b',"more":true,' in lines[size - 1])
        assert found.lines + found.torn == size
        whole = json.loads(lines[found.lines - 1])["hash"]
        assert found.last_hash == whole


def test_a_seal_counts_only_at_the_end(tmp_path: Path) -> None:
    journal, _ = Journal.create(tmp_path / "job", FakeClock(), [started(TINY)], "Bo", Quick())
    journal.append([ev.Stopped("said")], "Bo")
    assert verify(tmp_path / "job").sealed == 1
    journal.append([ev.Resumed()], "Bo")
    found = verify(tmp_path / "job")
    assert (found.status, found.sealed) == ("running", 0)


def test_a_seal_of_a_record_that_is_not_whole_counts_for_nothing(tmp_path: Path) -> None:
    journal, _ = Journal.create(tmp_path / "job", FakeClock(), [started(TINY)], "Bo", Quick())
    journal.append([ev.Stopped("said")], "Bo")
    journal.append([ev.Resumed()], "Al")
    journal.close()
    data = (tmp_path / "job" / "record.jsonl").read_bytes()
    found = verify(put(tmp_path, data.replace(b'"Al"', b'"Di"')))
    assert (found.first_bad_line, found.sealed, found.status) == (3, 0, "unknown")


# Changed bytes, moved lines


def test_every_changed_byte_is_found_with_its_line(tmp_path: Path, tiny: bytes) -> None:
    folder = put(tmp_path, tiny)
    others = [(1, 0), (128, 10), (2, 255), (4, 48)]
    with (folder / "record.jsonl").open("r+b", buffering=0) as file:
        for at, byte in enumerate(tiny):
            bit, other = others[at % 4]
            for changed in {byte ^ bit, other} - {byte}:
                os.pwrite(file.fileno(), bytes([changed]), at)
                found = verify(folder)
                assert not found.ok, (at, changed)
                assert found.first_bad_line == tiny[:at].count(b"\n") + 1, (at, changed, found.problems)
                assert found.sealed == 0
                assert found.status == "unknown"
            os.pwrite(file.fileno(), bytes([byte]), at)
    assert verify(folder).ok


def test_a_change_hides_no_other_change(tmp_path: Path, tiny: bytes) -> None:
    """A change inside a line leaves the lines behind it to be judged for themselves."""
    lines = tiny.splitlines(keepends=True)
    for first in range(len(lines)):
        for second in range(first + 1, len(lines)):
            changed = [
                line.replace(b'"who":"Bo"', b'"who":"Al"') if n in (first, second) else line
                for n, line in enumerate(lines)
            ]
            found = verify(put(tmp_path, b"".join(changed)))
            bad = [problem.place.line for problem in found.problems if problem.place]
            assert bad == [first + 1, second + 1]


def test_a_changed_hash_leaves_only_its_own_line_wrong(tmp_path: Path, tiny: bytes) -> None:
    lines = tiny.splitlines(keepends=True)
    lines[4] = lines[4][:-4] + (b"0" if lines[4][-4:-3] != b"0" else b"1") + lines[4][-3:]
    found = verify(put(tmp_path, b"".join(lines)))
    assert [problem.place.line for problem in found.problems if problem.place] == [5]


def test_a_line_left_out_leaves_only_the_next_one_wrong(tmp_path: Path, tiny: bytes) -> None:
    lines = tiny.splitlines(keepends=True)
    for drop in range(1, len(lines) - 1):
        found = verify(put(tmp_path, b"".join([*lines[:drop], *lines[drop + 1 :]])))
        assert [problem.place.line for problem in found.problems if problem.place] == [drop + 1]


def test_a_clock_that_went_back_in_a_changed_line_blames_no_other_line(tmp_path: Path) -> None:
    clock = FakeClock()
    journal, _ = Journal.create(tmp_path / "job", clock, [started(TINY)], "Bo", Quick())
    clock.at -= timedelta(hours=1)
    journal.append([ev.Noted("one")], "Bo")
    journal.append([ev.Noted("two"), ev.Noted("three")], "Bo")
    journal.close()
    lines = (tmp_path / "job" / "record.jsonl").read_bytes().splitlines(keepends=True)
    lines[1] = lines[1].replace(b"Bo", b"Al")
    found = verify(put(tmp_path, b"".join(lines)))
    assert [problem.place.line for problem in found.problems if problem.place] == [2]
    lines[4] = lines[4].replace(b"Bo", b"Al")
    found = verify(put(tmp_path, b"".join(lines)))
    assert [problem.place.line for problem in found.problems if problem.place] == [2, 5]
    assert found.torn == 0


@pytest.mark.parametrize(
    ("damage", "first"),
    [
        (lambda lines, other: [*lines[:5], lines[6], lines[5], *lines[7:]], 6),
        (lambda lines, other: [*lines[:6], lines[5], *lines[6:]], 7),
        (lambda lines, other: [*lines[:5], *lines[6:]], 6),
        (lambda lines, other: lines[1:], 1),
        (lambda lines, other: [*lines[:5], b'{"seq":5}\n', *lines[5:]], 6),
        (lambda lines, other: [*lines[:5], b"\n", *lines[5:]], 6),
        (lambda lines, other: [*lines[:5], other[5], *lines[6:]], 6),
        (lambda lines, other: [*lines[:5], *other[5:]], 6),
        (lambda lines, other: [*lines, *other], None),
        (lambda lines, other: [*lines, lines[-1]], None),
        (lambda lines, other: [other[0], *lines[1:]], 2),
    ],
    ids=[
        "swapped",
        "doubled",
        "dropped",
        "without the first",
        "foreign",
        "empty",
        "one of another job",
        "the rest of another job",
        "another job behind it",
        "the last doubled",
        "the start of another job",
    ],
)
def test_moved_and_foreign_lines_are_found(
    tmp_path: Path, tiny: bytes, damage: Callable[[list[bytes], list[bytes]], list[bytes]], first: int | None
) -> None:
    lines = tiny.splitlines(keepends=True)
    other = talked(tmp_path / "other", TINY, TINY_DONE, who="Al").splitlines(keepends=True)
    found = verify(put(tmp_path, b"".join(damage(lines, other))))
    assert found.first_bad_line == (first or len(lines) + 1)


def test_two_jobs_spliced_anywhere_are_found(tmp_path: Path, tiny: bytes) -> None:
    lines = tiny.splitlines(keepends=True)
    other = talked(tmp_path / "other", TINY, TINY_DONE, who="Al").splitlines(keepends=True)
    for here in range(1, len(lines)):
        for there in range(1, len(other)):
            found = verify(put(tmp_path, b"".join([*lines[:here], *other[there:]])))
            assert found.first_bad_line == here + 1


def test_a_record_that_is_wrong_all_over_is_told_in_few_lines(tmp_path: Path) -> None:
    found = verify(put(tmp_path, b"nonsense\n" * 100_000))
    assert len(found.problems) == verifying.MOST_PROBLEMS


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [(b'{"seq":', b'{"sEq":', "chain"), (b',"hash":"', b',"hasH":"', "line-form"), (b'"who":"B', b'"who":"b', "chain")],
)
def test_a_damaged_line_is_counted_and_those_behind_it_are_sound(
    tmp_path: Path, tiny: bytes, old: bytes, new: bytes, code: str
) -> None:
    lines = tiny.splitlines(keepends=True)
    for at in range(1, len(lines) - 1):
        changed = [*lines[:at], lines[at].replace(old, new, 1), *lines[at + 1 :]]
        (problem,) = verify(put(tmp_path, b"".join(changed))).problems
        assert (problem.code, problem.place and problem.place.line) == (code, at + 1)


# Rewrites with a good chain


def _at(lines: list[bytes], kind: str) -> int:
    return next(i for i, line in enumerate(lines) if json.loads(line)["kind"] == kind)


@pytest.mark.parametrize(
    ("kind", "edit", "code"),
    [
        ("took", lambda d: d["data"].update(verdict="out"), "verdict"),
        ("took", lambda d: d["data"].update(high="100 in"), "limits"),
        ("took", lambda d: d["data"].update(low="0 mm", high="50 mm"), "limits"),
        ("took", lambda d: d["data"].update(reading="nothing"), "replay"),
        ("took", lambda d: d["data"].update(step="nothing"), "replay"),
        ("took", lambda d: d["data"].update(place="nowhere"), "replay"),
        ("took", lambda d: d["data"].update(value={"amount": "3 kg"}), "value"),
        ("took", lambda d: d["data"].update(value="wide"), "value"),
        ("done", lambda d: d["data"].update(step="fix"), "replay"),
        ("done", lambda d: d["data"].update(step="nothing"), "replay"),
        ("begun", lambda d: d["data"].update(extra=1), "entry"),
        ("begun", lambda d: d.update(kind="vanished"), "entry"),
        ("begun", lambda d: d.update(at="2001-01-01T00:00:00+00:00"), "time-back"),
        ("begun", lambda d: d.update(at="yesterday"), "entry"),
        ("begun", lambda d: d.update(at="2101-01-01T00:00:00"), "entry"),
        ("begun", lambda d: d.update(at="21010101T000000+0000"), "entry"),
        ("begun", lambda d: d.update(who=7), "entry"),
        ("begun", lambda d: d.update(seq=99), "number"),
        ("begun", lambda d: d.update(seq=True), "entry"),
        ("begun", lambda d: d.update(more=False), "entry"),
        ("begun", lambda d: d.update(why="x"), "entry"),
        ("begun", lambda d: d.update(seq=d.pop("seq")), "entry"),
        ("begun", lambda d: d.update(kind="clock-back", data={"was": d["at"]}), "clock-back"),
        ("begun", lambda d: d.update(kind="stopped", data={"how": "said", "count": 1}), "seal"),
        ("finished", lambda d: d["data"].update(count=3), "seal"),
        ("finished", lambda d: d["data"].update(hash="0" * 64), "seal"),
        ("finished", lambda d: d["data"].update(concessions=["level"]), "replay"),
        ("finished", lambda d: d["data"].update(verdict="conceded"), "replay"),
        ("finished", lambda d: d["data"].update(verdict="conceded", concessions=["level"]), "replay"),
        ("started", lambda d: d["data"].update(sha256="0" * 64), "procedure-hash"),
        ("started", lambda d: d["data"]["sources"][0].update(text="nonsense"), "procedure-hash"),
        ("started", lambda d: d["data"]["sources"][0].update(text="\ud800"), "procedure-hash"),
        ("started", lambda d: d["data"].update(sources=[]), "procedure-hash"),
        ("started", lambda d: d["data"].update(format=99), "format-newer"),
        ("started", lambda d: d.update(kind="resumed", data={}), "no-start"),
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


def test_a_procedure_with_faults_and_a_good_hash_is_found(tmp_path: Path) -> None:
    event = started(TINY)
    faulty = load_sources([SourceFile("small.yaml", TINY)]).sources[0].text.replace("after: set", "after: sett")
    digest = hashlib.sha256(b"%d:%s%d:%s" % (10, b"small.yaml", len(faulty), faulty.encode())).hexdigest()
    event = ev.Started(1, "0", "small", event.title, digest, (ev.Source("small.yaml", faulty),))
    Journal.create(tmp_path / "job", FakeClock(), [event], "Bo", Quick())[0].close()
    (problem,) = verify(tmp_path / "job").problems
    assert problem.code == "procedure"
    assert "sett" in problem.message


@pytest.mark.parametrize(
    "body",
    [
        b'{"seq": 2,"at":"2026-05-04T12:00:00+00:00","who":"Bo","kind":"begun","data":{"step":"set"}',
        b'{"seq":2,"at":"2026-05-04T12:00:00+00:00","who":"Bo","kind":"begun","data":{"step":"gap","step":"set"}',
        b'{"seq":2,"at":"2026-05-04T12:00:00+00:00","who":"\\u0042o","kind":"begun","data":{"step":"set"}',
        b'{"seq":2,"at":"2026-05-04T12:00:00+00:00","who":"Bo","kind":"begun","data":{"step":"set"},"data":{"step":"set"}',
    ],
    ids=["space", "key twice", "escape", "member twice"],
)
def test_a_line_with_two_ways_to_read_it_is_found(tmp_path: Path, tiny: bytes, body: bytes) -> None:
    lines = tiny.splitlines(keepends=True)
    found = verify(put(tmp_path, rehashed([*lines[:2], body + b',"hash":"', *lines[3:]])))
    assert (found.first_bad_line, found.problems[0].code) == (3, "line-form")


def test_a_clock_that_did_not_go_back_is_found(tmp_path: Path, tiny: bytes) -> None:
    lines = tiny.splitlines(keepends=True)
    was = json.loads(lines[2])["at"]
    found = verify(
        put(tmp_path, edited(lines, 3, lambda data: data.update(kind="clock-back", data={"was": was}, at=was)))
    )
    assert (found.first_bad_line, found.problems[0].code) == (4, "clock-back")


HAIRS = TINY.replace("within: 0 in", "within: 1/16 in")
UNJUDGED = """
format: 1
title: Set a shelf
readings: {gap: {ask: Gap, about: gap, likely: 0 in to 1 in}}
steps:
  set: {say: Set it.}
  gap: {after: set, take: gap, say: Look.}
"""
EVEN = TINY.replace("{gap: {ask: Gap,", "{gap: {ask: Gap, at: [left, right],").replace(
    "within: 0 in to 1/8 in", "even: 1/16 in"
)


def _with(key: str, value: str, data: dict[str, Any]) -> None:
    data["data"][key] = value


@pytest.mark.parametrize(
    ("text", "lines", "verdict"),
    [
        (HAIRS, ["done", "1/8"], "good"),
        (HAIRS, ["done", "1/8 strong"], "out"),
        (HAIRS, ["done", "1/8 shy"], "good"),
        (HAIRS, ["done", "1/16 shy"], "out"),
        (HAIRS, ["done", "1/16 strong"], "good"),
        (HAIRS, ["done", "1/32"], "out"),
        (UNJUDGED, ["done", "1/4"], "noted"),
        (EVEN, ["done", "left 1/4, right 1/4"], "good"),
    ],
)
def test_every_verdict_follows(tmp_path: Path, text: str, lines: list[str], verdict: str) -> None:
    """A real verdict is whole; the same reading with either other verdict is not."""
    record = talked(tmp_path / "job", text, lines).splitlines(keepends=True)
    at = _at(record, "took")
    assert json.loads(record[at])["data"]["verdict"] == verdict
    assert verify(tmp_path / "job").ok
    for other in {"good", "out", "noted"} - {verdict}:
        found = verify(put(tmp_path, edited(record, at, partial(_with, "verdict", other))))
        assert (found.first_bad_line, found.problems[0].code) == (at + 1, "verdict")


def test_a_reading_of_a_step_that_was_not_begun_is_found(tmp_path: Path, tiny: bytes) -> None:
    lines = tiny.splitlines(keepends=True)
    took = _at(lines, "took")
    assert json.loads(lines[took - 1])["kind"] == "begun"
    assert verify(put(tmp_path, _without(lines, took - 1))).first_bad_line == took


def _without(lines: list[bytes], drop: int) -> bytes:
    """The record without one line, numbers and chain made good again."""
    kept = []
    for seq, line in enumerate([*lines[:drop], *lines[drop + 1 :]]):
        data = json.loads(line)
        data["seq"] = seq
        del data["hash"]
        kept.append(json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()[:-1] + b',"hash":"')
    return rehashed(kept)


def _sealed_again(lines: list[bytes]) -> bytes:
    """The record with the seal in its last line made good."""
    line_before = json.loads(lines[-2])
    seal = {"count": line_before["seq"] + 1, "hash": line_before["hash"]}
    return edited(lines, len(lines) - 1, lambda data: data["data"].update(seal))


def test_nothing_can_be_left_out_of_a_finished_job(tmp_path: Path, record: bytes) -> None:
    lines = record.splitlines(keepends=True)
    for drop, line in enumerate(lines):
        if json.loads(line)["kind"] not in ("started", "spoke", "finished"):
            rewritten = _sealed_again(_without(lines, drop).splitlines(keepends=True))
            found = verify(put(tmp_path, rewritten))
            assert not found.ok, line
            assert found.problems[0].code != "seal", (line, found.problems)


def test_values_of_every_kind_in_every_place_raise_nothing(tmp_path: Path, record: bytes) -> None:
    """A rewritten record is whole or not, taken up or refused; nothing else happens."""
    lines = record.splitlines(keepends=True)
    draw = random.Random(1)
    odd = [None, True, -1, 1.5, 10**30, "", "x", "\ud800", [], {}, ["x"], {"x": 1}, {"amount": "1 in"}, "9 kg"]
    odd += [
        "0001-01-01T00:00:00+23:59",
        "9999-12-31T23:59:59.999999-23:59",
        {"name": "A", "role": "lead", "proof": "pin"},
    ]
    for _ in range(600):
        at = draw.randrange(len(lines))

        def edit(data: dict[str, Any], at: int = at) -> None:
            target: Any = data
            while isinstance(target, dict | list) and target and draw.random() < 0.75:
                key = draw.choice(list(target)) if isinstance(target, dict) else draw.randrange(len(target))
                inside = target[key]
                if not isinstance(inside, dict | list) or not inside or draw.random() < 0.2:
                    target[key] = draw.choice(odd)
                    return
                target = inside
            data["data"] = draw.choice(odd)

        folder = put(tmp_path, edited(lines, at, edit))
        report_lines(verify(folder))
        with suppress(ProblemError):
            Journal.open(folder, FakeClock(), Quick())[0].close()


# Odd files, odd folders


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\n",
        b"{}\n",
        b"null\n",
        b"[" * 100_000 + b"\n",
        b"\xff\xfe\n",
        b"\xef\xbb\xbf{}\n",
        b"x" * 17_000_000,
        b"\0" * 1000,
        b"\0" * 1000 + b"\n",
    ],
    ids=["empty", "a newline", "no members", "null", "deep", "no UTF-8", "a mark", "long", "zeros", "zeros, newline"],
)
def test_nonsense_is_told_and_raises_nothing(tmp_path: Path, data: bytes) -> None:
    found = verify(put(tmp_path, data))
    assert not found.ok
    assert found.first_bad_line == 1
    assert report_lines(found)
    with pytest.raises(ProblemError):
        Journal.open(tmp_path, FakeClock(), Quick())


def test_a_folder_without_a_record_and_none_at_all(tmp_path: Path) -> None:
    for folder in (tmp_path, tmp_path / "nothing"):
        found = verify(folder)
        assert [problem.code for problem in found.problems] == ["no-job"]
        assert found.problems[0].hint


def test_a_line_that_is_far_too_long_is_not_read_whole(tmp_path: Path, tiny: bytes) -> None:
    folder = put(tmp_path, tiny)
    with (folder / "record.jsonl").open("r+b") as file:
        file.seek(0, os.SEEK_END)
        file.truncate(10**10)  # sparse: takes no room
    tracemalloc.start()
    found = verify(folder)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert (found.first_bad_line, found.problems[0].code) == (tiny.count(b"\n") + 1, "line-long")
    with pytest.raises(ProblemError, match="far too long"):
        Journal.open(folder, FakeClock(), Quick())
    assert peak < 50_000_000


def test_a_long_record_takes_no_more_memory_than_a_short_one(tmp_path: Path) -> None:
    clock = FakeClock()
    journal, _ = Journal.create(tmp_path / "job", clock, [started(TINY)], "Bo", Quick())
    verify(tmp_path / "job")
    peaks = []
    for _ in range(2):
        for number in range(3000):
            journal.append([ev.Noted(f"{number} " + "x" * 200)], "Bo")
        tracemalloc.start()
        assert verify(tmp_path / "job").ok
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < peaks[0] * 1.1 + 100_000
    assert peaks[1] < (tmp_path / "job" / "record.jsonl").stat().st_size


def test_a_clock_that_went_back_is_told(tmp_path: Path) -> None:
    clock = FakeClock()
    journal, _ = Journal.create(tmp_path / "job", clock, [started(TINY)], "Bo", Quick())
    clock.at -= timedelta(hours=1)
    journal.append([ev.Noted("x")], "Bo")
    found = verify(tmp_path / "job")
    assert found.ok
    assert any("clock went back" in line for line in report_lines(found))


def test_it_leaves_the_folder_as_it_is(tmp_path: Path, tiny: bytes) -> None:
    folder = put(tmp_path, tiny[:-1])
    assert verify(folder).torn == 1
    assert [(path.name, path.read_bytes()) for path in folder.iterdir()] == [("record.jsonl", tiny[:-1])]


def test_a_job_that_is_open_can_be_verified(tmp_path: Path) -> None:
    journal, _ = Journal.create(tmp_path / "job", FakeClock(), [started(TINY)], "Bo", Quick())
    assert verify(tmp_path / "job").ok
    journal.append([ev.Noted("still ours")], "Bo")


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
    told = guide(tmp_path, "verify", ".")
    assert told.returncode == 1
    assert "line 4: " in told.stdout


def test_a_record_that_does_not_add_up_is_not_taken_up(tmp_path: Path, tiny: bytes) -> None:
    """The chain is good, and no job can have gone so."""
    lines = tiny.splitlines(keepends=True)
    for step in ("", "gap"):
        put(tmp_path, edited(lines, 2, partial(_with, "step", step)))
        done = guide(tmp_path, "resume", ".")
        assert done.returncode == 3
        assert "does not add up" in done.stderr
        assert "guide verify" in done.stderr
        assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        (b'"who":"Bo"', b'"who":"\\u0042o"', "line-form"),
        (b'"who":"Bo"', b'"who": "Bo"', "line-form"),
        (b'"at":"', b'"at":"+', "entry"),
        (b'"seq":2', b'"seq":02', "entry"),
        (b'"seq":2', b'"seq":3', "number"),
        (b'"kind":"begun"', b'"kind": "begun"', "line-form"),
    ],
)
def test_what_was_told_before_does_not_excuse_how_a_line_is_written(
    tiny: bytes, tmp_path: Path, old: bytes, new: bytes, code: str
) -> None:
    assert verify(put(tmp_path / "whole", tiny)).ok
    lines = tiny.splitlines(keepends=True)
    assert old in lines[2]
    lines[2] = lines[2].replace(old, new, 1)
    found = verify(put(tmp_path / "changed", rehashed(lines)))
    assert (found.first_bad_line, found.problems[0].code) == (3, code)


def test_more_lines_than_are_remembered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(verifying, "_TOLD_MOST", 3)
    monkeypatch.setattr(verifying, "_TOLD", {})
    found = verify(put(tmp_path / "job", talked(tmp_path / "talked", SHELF, WHOLE)))
    assert found.ok and len(verifying._TOLD) == 3
