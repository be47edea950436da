"""The journal: durable, then acknowledged; whatever a disk or a crash does, nothing acknowledged is lost."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from fakes import NOON, FakeClock
from running import environment

from guide.job import events as ev
from guide.problems import ProblemError
from guide.record import Journal
from guide.record.files import Files
from guide.record.verify import verify

STARTED = ev.Started(ev.FORMAT, "0", "shelf", "A shelf", "", ())
NOTE = ev.Noted("the wall is damp ½ 🚪 \ud800", "survey")


def begin(folder: Path, clock: FakeClock | None = None) -> Journal:
    journal, _ = Journal.create(folder, clock or FakeClock(), [STARTED], "Bo")
    return journal


def notes(folder: Path) -> list[str]:
    """What a new process finds of the notes."""
    journal, entries = Journal.open(folder, FakeClock())
    journal.close()
    return [entry.event.text for entry in entries if isinstance(entry.event, ev.Noted)]


def code(caught: pytest.ExceptionInfo[ProblemError]) -> str:
    return caught.value.problems[0].code


def test_what_is_appended_is_read_back_by_another_process(tmp_path: Path) -> None:
    journal = begin(tmp_path / "job")
    written = journal.append([NOTE, ev.Begun("survey")], "Bo")
    journal.close()
    again, entries = Journal.open(tmp_path / "job", FakeClock())
    assert entries[1:] == written
    assert again.head == journal.head
    assert again.torn == 0


def test_a_line_is_one_plain_object_with_its_members_in_order(tmp_path: Path) -> None:
    begin(tmp_path / "job").close()
    (line,) = (tmp_path / "job" / "record.jsonl").read_text(encoding="utf-8").splitlines()
    assert list(json.loads(line)) == ["seq", "at", "who", "kind", "data", "hash"]


def test_stops_and_finishes_seal_what_stands_before_them(tmp_path: Path) -> None:
    journal = begin(tmp_path / "job")
    count, head = journal.head
    (entry,) = journal.append([ev.Stopped("said")], "Bo")
    assert isinstance(entry.event, ev.Stopped)
    assert (entry.event.count, entry.event.hash) == (count, head)


def test_a_clock_that_went_back_is_recorded(tmp_path: Path) -> None:
    clock = FakeClock()
    journal = begin(tmp_path / "job", clock)
    clock.at -= timedelta(hours=1)
    entries = journal.append([NOTE], "Bo")
    assert entries[0].event == ev.ClockBack(NOON)
    journal.close()
    assert notes(tmp_path / "job")


def test_a_folder_with_a_job_is_not_started_over(tmp_path: Path) -> None:
    begin(tmp_path / "job").close()
    with pytest.raises(ProblemError) as caught:
        begin(tmp_path / "job")
    assert code(caught) == "job-exists"


def test_a_second_process_is_refused_with_the_number_of_the_first(tmp_path: Path) -> None:
    journal = begin(tmp_path / "job")
    with pytest.raises(ProblemError, match=str(os.getpid())) as caught:
        Journal.open(tmp_path / "job", FakeClock())
    assert code(caught) == "job-open"
    journal.close()
    Journal.open(tmp_path / "job", FakeClock())[0].close()


@pytest.mark.parametrize("kind", ["nothing", "folder", "link", "pipe"])
def test_what_is_no_record_is_refused(tmp_path: Path, kind: str) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    record = folder / "record.jsonl"
    if kind == "folder":
        record.mkdir()
    elif kind == "link":
        begin(tmp_path / "other").close()
        record.symlink_to(tmp_path / "other" / "record.jsonl")
    elif kind == "pipe":
        os.mkfifo(record)
    with pytest.raises(ProblemError) as caught:
        Journal.open(folder, FakeClock())
    assert code(caught) == ("no-job" if kind == "nothing" else "record-not-a-file")
    if kind != "nothing":
        assert not verify(folder).ok


def whole_record(folder: Path) -> tuple[Path, bytes, list[int]]:
    """A record of three decisions (the second of two lines), its bytes, and where each decision ends."""
    journal = begin(folder)
    ends = [journal._size]
    for events in ([NOTE, ev.Noted("second")], [ev.Noted("third")]):
        journal.append(events, "Bo")
        ends.append(journal._size)
    journal.close()
    path = folder / "record.jsonl"
    return path, path.read_bytes(), ends


def test_a_record_cut_at_any_byte_opens_with_the_decisions_that_are_whole(tmp_path: Path) -> None:
    path, data, ends = whole_record(tmp_path / "job")
    for size in range(ends[0], len(data)):
        path.write_bytes(data[:size])
        journal, entries = Journal.open(tmp_path / "job", FakeClock())
        journal.close()
        whole = max(end for end in ends if end <= size)
        assert path.read_bytes() == data[:whole]
        assert bool(journal.torn) == (size not in ends)
        assert len(entries) == {ends[0]: 1, ends[1]: 3}[whole]


def test_a_start_that_was_cut_off_says_that_nothing_was_acknowledged(tmp_path: Path) -> None:
    path, data, ends = whole_record(tmp_path / "job")
    for size in range(0, ends[0], 7):
        path.write_bytes(data[:size])
        with pytest.raises(ProblemError) as caught:
            Journal.open(tmp_path / "job", FakeClock())
        assert code(caught) == "job-never-began"


def test_every_changed_byte_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    path, data, _ = whole_record(tmp_path / "job")
    for at in range(len(data)):
        changed = bytearray(data)
        changed[at] ^= 1
        path.write_bytes(bytes(changed))
        last_newline = at == len(data) - 1
        if last_newline:
            journal, entries = Journal.open(tmp_path / "job", FakeClock())
            journal.close()
            assert (journal.torn, len(entries)) == (1, 3)
            continue
        with pytest.raises(ProblemError) as caught:
            Journal.open(tmp_path / "job", FakeClock())
        problem = caught.value.problems[0]
        assert problem.place is not None
        line = data[: at + 1].count(b"\n") + (data[at : at + 1] != b"\n")
        assert problem.place.line == line, (at, problem)
        assert path.read_bytes() == bytes(changed)


def test_a_newer_format_is_refused_plainly(tmp_path: Path) -> None:
    journal, _ = Journal.create(
        tmp_path / "job", FakeClock(), [ev.Started(ev.FORMAT + 1, "9", "shelf", "A shelf", "", ())], "Bo"
    )
    journal.close()
    with pytest.raises(ProblemError, match="newer guide") as caught:
        Journal.open(tmp_path / "job", FakeClock())
    assert code(caught) == "format-newer"


class Failing(Files):
    """File primitives of which the n-th call of one kind fails, or writes only a part and then fails."""

    def __init__(self, kind: str, at: int, number: int, part: bool = False) -> None:
        self.kind, self.left, self.number, self.part = kind, at, number, part

    def _count(self, kind: str) -> bool:
        if kind != self.kind:
            return False
        self.left -= 1
        return self.left == 0

    def _fail(self, kind: str) -> None:
        if self._count(kind):
            raise OSError(self.number, os.strerror(self.number))

    def write(self, handle: int, data: bytes) -> int:
        if self._count("write"):
            if self.part:
                self.left = 1
                return super().write(handle, data[: len(data) // 2])
            raise OSError(self.number, os.strerror(self.number))
        return super().write(handle, data)

    def sync(self, handle: int) -> None:
        self._fail("sync")
        super().sync(handle)

    def truncate(self, handle: int, size: int) -> None:
        self._fail("truncate")
        super().truncate(handle, size)

    def sync_folder(self, folder: Path) -> None:
        self._fail("sync_folder")
        super().sync_folder(folder)

    def make_folder(self, folder: Path) -> None:
        self._fail("make_folder")
        super().make_folder(folder)

    def lock(self, path: Path) -> int:
        self._fail("lock")
        return super().lock(path)

    def open_record(self, path: Path, create: bool) -> int:
        self._fail("open_record")
        return super().open_record(path, create)


KINDS = ["write", "part", "sync", "truncate", "sync_folder", "make_folder", "lock", "open_record"]
NUMBERS = [errno.ENOSPC, errno.EIO, errno.EROFS, errno.EACCES]


@pytest.mark.parametrize("number", NUMBERS, ids=errno.errorcode.get)
@pytest.mark.parametrize("kind", KINDS)
def test_whatever_fails_what_was_acknowledged_is_there_and_nothing_else(tmp_path: Path, kind: str, number: int) -> None:
    for at in range(1, 12):
        folder = tmp_path / f"job{at}"
        files = Failing("write" if kind == "part" else kind, at, number, kind == "part")
        acknowledged: list[str] = []
        failed = False
        try:
            journal, _ = Journal.create(folder, FakeClock(), [STARTED], "Bo", files)
        except ProblemError:
            assert not (folder / "record.jsonl").exists()
            continue
        for text in ("one", "two", "three", "four"):
            try:
                journal.append([ev.Noted(text)], "Bo")
                acknowledged.append(text)
            except ProblemError:
                failed = True
        journal.close()
        assert failed or files.left > 0 or kind in ("sync_folder", "make_folder", "lock", "open_record", "truncate")
        assert notes(folder) == acknowledged
        assert verify_chain_only(folder)


def verify_chain_only(folder: Path) -> bool:
    """The chain holds (these records hold no real procedure to replay)."""
    return all(problem.code == "procedure" for problem in verify(folder).problems)


def test_when_not_even_the_cut_back_works_nothing_more_is_taken_until_reopened(tmp_path: Path) -> None:
    class Broken(Failing):
        def truncate(self, handle: int, size: int) -> None:
            raise OSError(errno.EIO, "broken")

    files = Broken("sync", 3, errno.EIO)
    journal, _ = Journal.create(tmp_path / "job", FakeClock(), [STARTED], "Bo", files)
    journal.append([ev.Noted("one")], "Bo")
    with pytest.raises(ProblemError):
        journal.append([ev.Noted("two")], "Bo")
    with pytest.raises(ProblemError) as caught:
        journal.append([ev.Noted("three")], "Bo")
    assert code(caught) == "journal-broken"
    journal.close()
    assert notes(tmp_path / "job")[:1] == ["one"]
    assert "three" not in notes(tmp_path / "job")


@pytest.mark.parametrize(
    ("number", "words"), [(errno.ENOSPC, "disk is full"), (errno.EROFS, "only be read"), (errno.EIO, "reports a fault")]
)
def test_trouble_with_the_disk_is_told_plainly(tmp_path: Path, number: int, words: str) -> None:
    journal, _ = Journal.create(tmp_path / "job", FakeClock(), [STARTED], "Bo", Failing("write", 2, number))
    with pytest.raises(ProblemError, match=words):
        journal.append([NOTE], "Bo")


CHILD = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from guide.job import events as ev
from guide.record import Journal

class Clock:
    def now(self):
        return datetime.now(UTC)

folder = Path(sys.argv[1])
started = ev.Started(ev.FORMAT, "0", "shelf", "A shelf", "", ())
journal, _ = Journal.create(folder, Clock(), [started], "Bo")
number = 0
while True:
    journal.append([ev.Noted(f"{number}"), ev.Noted(f"{number} again")], "Bo")
    print(number, flush=True)
    number += 1
"""


@pytest.mark.parametrize("said", [0, 1, 7, 23])
def test_killed_at_any_moment_nothing_said_is_missing_and_no_half_decision_is_there(tmp_path: Path, said: int) -> None:
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(tmp_path / "job")],
        stdout=subprocess.PIPE,
        text=True,
        env=environment(tmp_path),
    )
    assert child.stdout is not None
    for _ in range(said + 1):
        child.stdout.readline()
    child.kill()
    rest = child.stdout.read().split()
    child.wait()
    last = int(rest[-1]) if rest else said
    found = notes(tmp_path / "job")
    assert len(found) % 2 == 0
    assert len(found) // 2 in (last + 1, last + 2), "what was said, and at most one decision that was not yet said"
    assert found[::2] == [str(n) for n in range(len(found) // 2)]


def test_hashes_are_over_the_line_before_and_the_bytes_of_the_line(tmp_path: Path) -> None:
    _, data, _ = whole_record(tmp_path / "job")
    before = "0" * 64
    for line in data.splitlines():
        body, _, tail = line.rpartition(b',"hash":"')
        before = hashlib.sha256(before.encode() + body).hexdigest()
        assert tail == before.encode() + b'"}'
