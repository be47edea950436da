"""What the journal says of a record that is damaged, and of everything that keeps it from being written: in words."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from disks import Failing
from fakes import FakeClock
from records import TINY, TINY_DONE, Quick, edited, put, started, talked

from guide.job import events as ev
from guide.problems import Problem, ProblemError
from guide.record import Journal

KEEP = "Nothing was changed. Keep the folder as it is, and look at it with: guide verify"


@pytest.fixture(scope="module")
def lines(tmp_path_factory: pytest.TempPathFactory) -> list[bytes]:
    return talked(tmp_path_factory.mktemp("tiny") / "job", TINY, TINY_DONE).splitlines(keepends=True)


def problem_of(act: Callable[[], object]) -> Problem:
    with pytest.raises(ProblemError) as caught:
        act()
    (problem,) = caught.value.problems
    return problem


def opened(folder: Path) -> Callable[[], object]:
    return lambda: Journal.open(folder, FakeClock(), Quick())


@pytest.mark.parametrize(
    ("at", "edit", "why"),
    [
        (2, lambda d: d.update(why="x"), "its members are not those of an entry"),
        (2, lambda d: d.update(more=False), "its members are not those of an entry"),
        (2, lambda d: d.update(seq=7), "it has number 7, not 2"),
        (2, lambda d: d.update(seq=True), "it has number True, not 2"),
        (2, lambda d: d.update(who=7), "it does not say who"),
        (2, lambda d: d.update(at="noon"), "not a time (RFC 3339)"),
        (2, lambda d: d.update(kind="begin"), 'no event is called "begin"'),
        (2, lambda d: d.update(kind=7), 'no event is called "7"'),
        (2, lambda d: d.update(kind=[]), "it is not an entry (TypeError)"),
        (0, lambda d: d.update(kind="resumed", data={}), "a job starts once, at its first line"),
        (0, lambda d: d["data"].update(format=0), "there is no format 0"),
    ],
)
def test_a_damaged_line_is_told_with_its_number(
    tmp_path: Path, lines: list[bytes], at: int, edit: Callable[[dict[str, Any]], object], why: str
) -> None:
    problem = problem_of(opened(put(tmp_path, edited(lines, at, edit))))
    assert problem.message == f"the record is damaged at line {at + 1}: {why}."
    assert (problem.code, problem.hint) == ("record-damaged", KEEP)
    assert problem.place is not None
    assert (problem.place.file, problem.place.line) == (str(tmp_path / "record.jsonl"), at + 1)


@pytest.mark.parametrize(
    ("change", "line", "why"),
    [
        (lambda ls: [*ls[:2], ls[2].replace(b'"who":"Bo"', b'"who":"Al"'), *ls[3:]], 3, "it was changed after"),
        (lambda ls: [*ls[:2], *ls[3:]], 3, "it was changed after"),
        (lambda ls: [*ls[:-1], ls[-1][:-1] + b"x"], 0, "its newline was changed"),
    ],
)
def test_a_line_that_does_not_fit(
    tmp_path: Path, lines: list[bytes], change: Callable[[list[bytes]], list[bytes]], line: int, why: str
) -> None:
    problem = problem_of(opened(put(tmp_path, b"".join(change(lines)))))
    number = line or len(lines)
    more = " it was written, or a line before it is missing" if "after" in why else ""
    assert problem.message == f"the record is damaged at line {number}: {why}{more}."
    assert problem.place is not None
    assert (problem.place.file, problem.place.line) == (str(tmp_path / "record.jsonl"), number)


@pytest.mark.parametrize(("constant", "line"), [("LONGEST_LINE", 2), ("LONGEST_FIRST", 1)])
def test_a_line_that_is_too_long(
    tmp_path: Path, lines: list[bytes], monkeypatch: pytest.MonkeyPatch, constant: str, line: int
) -> None:
    monkeypatch.setattr(f"guide.record.reader.{constant}", 60)
    problem = problem_of(opened(put(tmp_path, b"".join(lines))))
    assert problem.message == f"the record is damaged at line {line}: it is far too long."


def test_a_newer_record_names_its_format_and_the_cure(tmp_path: Path, lines: list[bytes]) -> None:
    problem = problem_of(opened(put(tmp_path, edited(lines, 0, lambda d: d["data"].update(format=12)))))
    path = tmp_path / "record.jsonl"
    assert problem.code == "format-newer"
    assert problem.message == f"{path} was written by a newer guide (format 12; this one reads up to 1)."
    assert problem.hint == "Open it with that guide, or a newer one."
    assert problem.place is not None
    assert (problem.place.file, problem.place.line) == (str(path), 1)


# What keeps a record from being opened or written


def begin(folder: Path, files: Quick | None = None) -> Journal:
    return Journal.create(folder, FakeClock(), [started(TINY)], "Bo", files or Quick())[0]


def test_where_there_is_no_job_or_one_already(tmp_path: Path) -> None:
    assert problem_of(opened(tmp_path)) == Problem(
        "no-job", f"there is no job in {tmp_path}.", hint="Name the job's folder."
    )
    begin(tmp_path / "job").close()
    assert problem_of(lambda: begin(tmp_path / "job")) == Problem(
        "job-exists", f"{tmp_path / 'job'} holds a job already.", hint=f"Go on with: guide resume {tmp_path / 'job'}"
    )


def test_what_stands_in_the_place_of_the_record(tmp_path: Path) -> None:
    (tmp_path / "record.jsonl").mkdir()
    assert problem_of(opened(tmp_path)) == Problem(
        "record-not-a-file",
        f"{tmp_path / 'record.jsonl'} is not an ordinary file.",
        hint="Put the record itself there.",
    )


def test_a_job_that_is_open_elsewhere_names_the_process_if_it_can(tmp_path: Path) -> None:
    journal = begin(tmp_path)
    assert problem_of(opened(tmp_path)) == Problem(
        "job-open",
        f"{tmp_path} is open in another process (process {os.getpid()}).",
        hint="Stop it there first.",
    )
    (tmp_path / "lock").write_text("who knows")
    assert problem_of(opened(tmp_path)).message == f"{tmp_path} is open in another process."
    journal.close()


def test_a_job_that_was_cut_off_before_its_start(tmp_path: Path) -> None:
    assert problem_of(opened(put(tmp_path, b'{"seq":0'))) == Problem(
        "job-never-began",
        f"the job in {tmp_path} was cut off before its start was recorded; nothing was acknowledged.",
        hint="Start it again in another folder.",
    )


def test_a_record_that_was_closed_takes_nothing(tmp_path: Path) -> None:
    journal = begin(tmp_path)
    assert journal.torn == 0
    journal.close()
    journal.close()
    assert problem_of(lambda: journal.append([ev.Noted("x")], "Bo")) == Problem(
        "journal-closed", "the record was closed."
    )


LEAVE = "What was recorded before that is kept. Leave, see to it, then: guide resume {}"


def test_a_record_that_was_removed_or_changed_meanwhile(tmp_path: Path) -> None:
    gone, changed = begin(tmp_path / "gone"), begin(tmp_path / "changed")
    (tmp_path / "gone" / "record.jsonl").unlink()
    with (tmp_path / "changed" / "record.jsonl").open("ab") as record:
        record.write(b"x")
    for _ in range(2):
        assert problem_of(lambda: gone.append([ev.Noted("x")], "Bo")) == Problem(
            "record-gone",
            "the record was removed or replaced while the job is open.",
            hint=LEAVE.format(tmp_path / "gone"),
        )
        assert problem_of(lambda: changed.append([ev.Noted("x")], "Bo")) == Problem(
            "record-changed",
            "the record is not what was written; somebody or the disk changed it.",
            hint=LEAVE.format(tmp_path / "changed"),
        )
    gone.close()
    changed.close()


def test_more_than_a_line_holds(tmp_path: Path) -> None:
    journal = begin(tmp_path)
    problem = problem_of(lambda: journal.append([ev.Noted("x" * 1_000_000)], "Bo"))
    assert (problem.code, problem.hint) == ("line-long", "Say it in fewer words.")
    assert problem.message.startswith("what is to be recorded is too long (1,000,")
    assert len(journal.append([ev.Noted("x")], "Bo")) == 1
    journal.close()


def test_a_failed_write_says_since_when_nothing_was_recorded(tmp_path: Path) -> None:
    files = Failing()
    journal = begin(tmp_path, files)
    files.at, files.number = len(files.calls), 28
    assert problem_of(lambda: journal.append([ev.Noted("x")], "Bo")) == Problem(
        "disk-full",
        "nothing was recorded since 12:00:00: the disk is full.",
        hint="Free some space and say it again.",
    )
    assert [entry.seq for entry in journal.append([ev.Noted("x")], "Bo")] == [1]
    journal.close()


def test_a_torn_end_is_kept_under_a_name_that_is_free(tmp_path: Path) -> None:
    whole = begin(tmp_path)
    whole.close()
    for name in ("torn-after-0", "torn-after-0-2", "torn-after-0-3"):
        with (tmp_path / "record.jsonl").open("ab") as record:
            record.write(name.encode())
        journal, entries = Journal.open(tmp_path, FakeClock(), Quick())
        journal.close()
        assert (journal.torn, len(entries)) == (1, 1)
        assert (tmp_path / name).read_bytes() == name.encode()
