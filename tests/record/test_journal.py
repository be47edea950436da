"""The journal: durable, then acknowledged; whatever a disk or a crash does, nothing acknowledged is lost."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import resource
import signal
import stat
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

import pytest
from disks import Failing, Sips, after_a_crash
from fakes import NOON, FakeClock
from records import TINY, TINY_DONE, Quick, edited, put, started, talked
from running import environment

from guide.job import events as ev
from guide.problems import ProblemError
from guide.record import Journal
from guide.record.files import Files
from guide.record.verify import verify

STARTED = started(TINY)
NOTE = ev.Noted("the wall is damp ½ 🚪 \ud800 \x00\n", "set")


def begin(folder: Path, clock: FakeClock | None = None, files: Files | None = None) -> Journal:
    journal, _ = Journal.create(folder, clock or FakeClock(), [STARTED], "Bo", files or Quick())
    return journal


def opened(folder: Path, files: Files | None = None) -> tuple[int, list[ev.Entry]]:
    """What a new process finds: torn lines and entries."""
    journal, entries = Journal.open(folder, FakeClock(), files or Quick())
    journal.close()
    return journal.torn, entries


def notes(folder: Path) -> list[str]:
    """What a new process finds of the notes."""
    return [entry.event.text for entry in opened(folder)[1] if isinstance(entry.event, ev.Noted)]


def code(caught: pytest.ExceptionInfo[ProblemError]) -> str:
    return caught.value.problems[0].code


def record(folder: Path) -> Path:
    return folder / "record.jsonl"


# What is written


def test_what_is_appended_is_read_back_by_another_process(tmp_path: Path) -> None:
    journal = begin(tmp_path / "job", files=Files())
    written = journal.append([NOTE, ev.Begun("set")], "Bo")
    journal.close()
    again, entries = Journal.open(tmp_path / "job", FakeClock())
    assert entries[1:] == written
    assert again.head == journal.head
    assert again.torn == 0
    assert again.append([NOTE], "Ana")[0].seq == 3
    again.close()
    assert verify(tmp_path / "job").ok


def test_a_line_is_one_plain_object_with_its_members_in_order(tmp_path: Path) -> None:
    journal = begin(tmp_path / "job")
    journal.append([NOTE, NOTE], "Bo")
    first, second, third = record(tmp_path / "job").read_bytes().splitlines()
    assert list(json.loads(first)) == ["seq", "at", "who", "kind", "data", "hash"]
    assert list(json.loads(second)) == ["seq", "at", "who", "kind", "data", "more", "hash"]
    assert list(json.loads(third)) == ["seq", "at", "who", "kind", "data", "hash"]


def test_hashes_are_over_the_line_before_and_the_bytes_of_the_line(tmp_path: Path) -> None:
    before = "0" * 64
    for line in talked(tmp_path / "job", TINY, TINY_DONE).splitlines():
        body, _, tail = line.rpartition(b',"hash":"')
        before = hashlib.sha256(before.encode() + body).hexdigest()
        assert tail == before.encode() + b'"}'


def test_stops_and_finishes_seal_what_stands_before_them(tmp_path: Path) -> None:
    journal = begin(tmp_path / "job")
    (before,) = journal.append([NOTE], "Bo")
    for event in (ev.Stopped("said"), ev.Finished("good")):
        note, sealing = journal.append([NOTE, event], "Bo")
        assert isinstance(sealing.event, ev.Stopped | ev.Finished)
        assert (sealing.event.count, sealing.event.hash) == (sealing.seq, note.hash)
        assert note.hash != before.hash


def test_a_clock_that_went_back_is_recorded(tmp_path: Path) -> None:
    clock = FakeClock()
    journal = begin(tmp_path / "job", clock)
    clock.at -= timedelta(hours=1)
    back, _ = journal.append([NOTE], "Bo")
    assert back.event == ev.ClockBack(NOON)
    (only,) = journal.append([NOTE], "Bo")
    assert only.event == NOTE
    journal.close()
    clock.at -= timedelta(microseconds=1)
    again, _ = Journal.open(tmp_path / "job", clock, Quick())
    assert [entry.event for entry in again.append([NOTE], "Bo")] == [ev.ClockBack(only.at), NOTE]
    again.close()
    assert verify(tmp_path / "job").clock_back == 2


def test_one_decision_is_one_write_and_a_sync(tmp_path: Path) -> None:
    files = Failing()
    journal = begin(tmp_path / "job", files=files)
    assert files.calls[-4:] == ["write", "sync", "sync_folder", "sync_folder"]
    del files.calls[:]
    journal.append([NOTE, NOTE, NOTE], "Bo")
    journal.close()
    assert files.calls == ["write", "sync"]
    with record(tmp_path / "job").open("ab") as file:
        file.write(b"{")
    files = Failing()
    opened(tmp_path / "job", files)
    assert files.calls == ["lock", "open_record", "open_record", "write", "sync", "truncate", "sync"]


def test_nothing_is_appended_for_nothing(tmp_path: Path) -> None:
    clock = FakeClock()
    journal = begin(tmp_path / "job", clock)
    clock.at -= timedelta(hours=1)
    before = journal.head
    assert journal.append([], "Bo") == []
    assert journal.head == before


def test_a_disk_that_takes_little_at_a_time_gets_it_all(tmp_path: Path) -> None:
    begin(tmp_path / "job", files=Sips()).append([NOTE, NOTE], "Bo")
    assert verify(tmp_path / "job").ok


def test_what_could_not_be_read_back_is_not_written(tmp_path: Path) -> None:
    journal = begin(tmp_path / "job")
    with pytest.raises(ProblemError, match="too long") as caught:
        journal.append([ev.Noted("x" * 1_000_001)], "Bo")
    assert code(caught) == "line-long"
    journal.append([ev.Noted("x" * 900_000)], "Bo")
    journal.close()
    assert notes(tmp_path / "job") == ["x" * 900_000]


def test_the_largest_procedure_that_loads_can_be_recorded(tmp_path: Path) -> None:
    source = ev.Source("large.yaml", '"\n' * (2 * 1024 * 1024))
    large = ev.Started(ev.FORMAT, "0", "large", "Large", "", (source,))
    Journal.create(tmp_path / "job", FakeClock(), [large], "Bo", Quick())[0].close()
    assert opened(tmp_path / "job")[1][0].event == large


# Who may write, and where


def test_a_folder_with_a_job_is_not_started_over(tmp_path: Path) -> None:
    begin(tmp_path / "job").close()
    before = record(tmp_path / "job").read_bytes()
    with pytest.raises(ProblemError) as caught:
        begin(tmp_path / "job")
    assert code(caught) == "job-exists"
    assert record(tmp_path / "job").read_bytes() == before


def test_names_of_new_folders_are_made_durable(tmp_path: Path) -> None:
    synced: list[Path] = []

    class Watched(Quick):
        def sync_folder(self, folder: Path) -> None:
            synced.append(folder)

    begin(tmp_path / "jobs" / "today" / "door", files=Watched())
    assert synced == [tmp_path / "jobs" / "today" / "door", tmp_path / "jobs" / "today", tmp_path / "jobs", tmp_path]
    synced.clear()
    begin(tmp_path / "jobs" / "today" / "gate", files=Watched())
    assert synced == [tmp_path / "jobs" / "today" / "gate", tmp_path / "jobs" / "today"]


def test_a_second_journal_is_refused_with_the_number_of_the_first_process(tmp_path: Path) -> None:
    journal = begin(tmp_path / "job")
    for attempt in (lambda: Journal.open(tmp_path / "job", FakeClock()), lambda: begin(tmp_path / "job")):
        with pytest.raises(ProblemError, match=str(os.getpid())) as caught:
            attempt()
        assert code(caught) == "job-open"
    journal.close()
    opened(tmp_path / "job")


def test_the_lock_of_another_process_holds_until_it_is_gone(tmp_path: Path) -> None:
    child = _child(tmp_path)
    assert child.stdout is not None
    child.stdout.readline()
    child.send_signal(signal.SIGSTOP)
    try:
        with pytest.raises(ProblemError, match=f"process {child.pid}"):
            Journal.open(tmp_path / "job", FakeClock())
    finally:
        child.kill()
        child.wait()
    opened(tmp_path / "job")


@pytest.mark.parametrize("kind", ["nothing", "folder", "link", "dangling", "pipe", "device"])
def test_what_is_no_record_is_refused(tmp_path: Path, kind: str) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    if kind == "folder":
        record(folder).mkdir()
    elif kind == "link":
        begin(tmp_path / "other").close()
        record(folder).symlink_to(record(tmp_path / "other"))
    elif kind == "dangling":
        record(folder).symlink_to("nowhere")
    elif kind == "pipe":
        os.mkfifo(record(folder))
    elif kind == "device":
        try:
            os.mknod(record(folder), 0o20600, os.makedev(1, 5))
        except PermissionError:
            pytest.skip("only root makes devices")
    with pytest.raises(ProblemError) as caught:
        Journal.open(folder, FakeClock())
    assert code(caught) == ("no-job" if kind == "nothing" else "record-not-a-file")
    assert verify(folder).problems[0].code == code(caught)
    if kind != "nothing":
        with pytest.raises(ProblemError) as caught:
            begin(folder)
        assert code(caught) == "job-exists"


@pytest.mark.parametrize("what", ["the folder", "one above it", "the lock"])
def test_odd_folders_are_told_plainly(tmp_path: Path, what: str) -> None:
    folder = tmp_path / "jobs" / "job"
    if what == "the lock":
        (folder / "lock").mkdir(parents=True)
    else:
        odd = folder if what == "the folder" else folder.parent
        odd.parent.mkdir(exist_ok=True)
        odd.write_text("")
    with pytest.raises(ProblemError, match=r"can't be started in .*folder") as caught:
        begin(folder)
    assert code(caught) == ("record-not-a-file" if what == "the lock" else "no-folder")
    assert caught.value.problems[0].hint


def test_after_it_is_closed_nothing_is_taken(tmp_path: Path) -> None:
    journal = begin(tmp_path / "job")
    journal.close()
    journal.close()
    with pytest.raises(ProblemError, match="closed"):
        journal.append([NOTE], "Bo")


# A record cut, changed, or changed behind our back


def whole_record(folder: Path) -> tuple[bytes, list[int]]:
    """A record of three decisions (the second of two lines) and where each ends."""
    journal = begin(folder)
    ends = [record(folder).stat().st_size]
    for events in ([NOTE, ev.Noted("second")], [ev.Noted("third")]):
        journal.append(events, "Bo")
        ends.append(record(folder).stat().st_size)
    journal.close()
    return record(folder).read_bytes(), ends


def test_a_record_cut_at_any_byte_opens_with_the_decisions_that_are_whole(tmp_path: Path) -> None:
    data, ends = whole_record(tmp_path / "job")
    for size in range(ends[0], len(data)):
        folder = put(tmp_path / f"cut{size}", data[:size])
        assert verify(folder).ok
        torn_seen = verify(folder).torn
        torn, entries = opened(folder)
        whole = max(end for end in ends if end <= size)
        assert record(folder).read_bytes() == data[:whole]
        assert torn == torn_seen == data[whole:size].count(b"\n") + (not data[:size].endswith(b"\n"))
        assert len(entries) == {ends[0]: 1, ends[1]: 3}[whole]
        aside = [path.read_bytes() for path in folder.glob("torn-after-*")]
        assert aside == ([data[whole:size]] if torn else [])


def test_a_start_that_was_cut_off_says_that_nothing_was_acknowledged(tmp_path: Path) -> None:
    data, ends = whole_record(tmp_path / "job")
    for size in range(0, ends[0], 7):
        record(tmp_path / "job").write_bytes(data[:size])
        with pytest.raises(ProblemError) as caught:
            opened(tmp_path / "job")
        assert code(caught) == "job-never-began"
        assert record(tmp_path / "job").read_bytes() == data[:size]


def test_what_is_torn_twice_is_kept_twice(tmp_path: Path) -> None:
    data, _ = whole_record(tmp_path / "job")
    for rest in (b"{", b'{"seq"', b"{"):
        record(tmp_path / "job").write_bytes(data + rest)
        assert opened(tmp_path / "job")[0] == 1
    kept = {path.name: path.read_bytes() for path in (tmp_path / "job").glob("torn-after-*")}
    assert kept == {"torn-after-3": b"{", "torn-after-3-2": b'{"seq"', "torn-after-3-3": b"{"}


@pytest.mark.parametrize("filler", ["", "x" * 300, "x" * 700])
def test_whatever_sectors_a_crash_left_behind(tmp_path: Path, filler: str) -> None:
    """As file systems do: sectors of an append reach the disk in any order, and the length before all of them."""
    journal = begin(tmp_path / "job")
    journal.append([ev.Noted("acknowledged")], "Bo")
    durable = record(tmp_path / "job").read_bytes()
    journal.append([ev.Noted(f"{n} {filler}") for n in range(3)], "Bo")
    written = record(tmp_path / "job").read_bytes()
    journal.close()
    states = set(after_a_crash(durable, written))
    assert len(states) > 6
    for number, state in enumerate(states):
        folder = put(tmp_path / str(number), state)
        seen = verify(folder)
        assert seen.ok, (state[len(durable) :], seen.problems)
        torn, entries = opened(folder)
        assert len(entries) == (5 if state == written else 2)
        assert bool(torn) == bool(seen.torn) == (state not in (durable, written))


def test_zeros_in_the_middle_of_what_was_acknowledged_are_damage(tmp_path: Path) -> None:
    journal = begin(tmp_path / "job")
    for number in range(40):
        journal.append([ev.Noted(f"{number}")], "Bo")
    journal.close()
    data = record(tmp_path / "job").read_bytes()
    for sector in range(len(data) // 512 - 2):
        holed = data[: sector * 512] + bytes(512) + data[(sector + 1) * 512 :]
        put(tmp_path / "job", holed)
        with pytest.raises(ProblemError, match="line"):
            opened(tmp_path / "job")
        assert verify(tmp_path / "job").first_bad_line == data[: sector * 512].count(b"\n") + 1


def test_zeros_that_are_no_whole_sectors_are_damage(tmp_path: Path) -> None:
    """The last line is long: zeros from its middle to a sector's end, or from a sector's beginning to its middle."""
    journal = begin(tmp_path / "job")
    journal.append([ev.Noted("x" * 2000)], "Bo")
    journal.close()
    data = record(tmp_path / "job").read_bytes()
    sector = len(data) // 512 - 2
    for first, last in ((-7, 512), (0, 505), (-7, 505), (100, 101)):
        begins, ends = sector * 512 + first, sector * 512 + last
        put(tmp_path / "job", data[:begins] + bytes(ends - begins) + data[ends:])
        with pytest.raises(ProblemError, match="damaged at line 2"):
            opened(tmp_path / "job")
        assert verify(tmp_path / "job").first_bad_line == 2
    put(tmp_path / "job", data[: sector * 512] + bytes(512) + data[(sector + 1) * 512 :])
    assert opened(tmp_path / "job")[0] == verify(put(tmp_path / "again", data[:-1])).torn == 1


def _one_bit(at: int, byte: int) -> int:
    return byte ^ 1 << at % 8


def _another(at: int, byte: int) -> int:
    """A zero, a newline, a digit, a byte that is no UTF-8."""
    return next(other for other in (0, 10, 48, 255, 0)[at % 4 :] if other != byte)


@pytest.mark.parametrize("change", [_one_bit, _another])
def test_every_changed_byte_is_refused_with_its_line_and_nothing_is_written(
    tmp_path: Path, change: Callable[[int, int], int]
) -> None:
    folder = tmp_path / "job"
    data = talked(folder, TINY, TINY_DONE)
    with record(folder).open("r+b", buffering=0) as file:
        for at, byte in enumerate(data[:-1]):
            changed = bytes([change(at, byte)])
            os.pwrite(file.fileno(), changed, at)
            with pytest.raises(ProblemError) as caught:
                opened(folder)
            problem = caught.value.problems[0]
            assert problem.place is not None
            assert problem.place.line == data[:at].count(b"\n") + 1, (at, problem)
            assert problem.hint
            assert record(folder).read_bytes() == data[:at] + changed + data[at + 1 :]
            os.pwrite(file.fileno(), data[at : at + 1], at)
    opened(folder)


@pytest.mark.parametrize("last", [b"x", b"}", b"\r", b" ", b"\x0b"])
def test_a_changed_last_byte_is_not_taken_for_a_torn_line(tmp_path: Path, last: bytes) -> None:
    data = talked(tmp_path / "job", TINY, TINY_DONE)
    put(tmp_path / "job", data[:-1] + last)
    with pytest.raises(ProblemError, match=f"line {len(data.splitlines())}: its newline"):
        opened(tmp_path / "job")
    assert verify(tmp_path / "job").first_bad_line == len(data.splitlines())


def test_a_last_byte_that_never_got_there_is_torn(tmp_path: Path) -> None:
    data = talked(tmp_path / "job", TINY, TINY_DONE)
    for end in (b"", b"\0"):
        put(tmp_path / "job", data[:-1] + end)
        assert verify(tmp_path / "job").torn == 1
        assert opened(tmp_path / "job")[0] == 1


@pytest.mark.parametrize(
    ("edit", "expected"),
    [
        (lambda data: data["data"].update(format=ev.FORMAT + 1), "format-newer"),
        (lambda data: data.update(kind="vanished"), "record-damaged"),
        (lambda data: data["data"].update(format=0), "record-damaged"),
        (lambda data: data.update(more=False), "record-damaged"),
        (lambda data: data.update(more=1), "record-damaged"),
        (lambda data: data.update(who=None), "record-damaged"),
        (lambda data: data.update(seq=False), "record-damaged"),
        (lambda data: data.update(at="2026-05-04T12:00:00"), "record-damaged"),
        (lambda data: data.update(extra=1), "record-damaged"),
        (lambda data: data.update(seq=data.pop("seq")), "record-damaged"),
        (lambda data: data.update(kind="noted", data={"text": "first"}), "record-damaged"),
    ],
)
def test_a_line_that_no_guide_writes_is_refused(
    tmp_path: Path, edit: Callable[[dict[str, object]], object], expected: str
) -> None:
    lines = talked(tmp_path / "job", TINY, []).splitlines(keepends=True)
    put(tmp_path / "job", edited(lines, 0, edit))
    with pytest.raises(ProblemError) as caught:
        opened(tmp_path / "job")
    problem = caught.value.problems[0]
    assert problem.code == expected
    assert problem.place is not None
    assert problem.place.line == 1


def test_a_newer_format_is_refused_whatever_its_hashes_are(tmp_path: Path) -> None:
    data = talked(tmp_path / "job", TINY, [])
    put(tmp_path / "job", data.replace(b'"format":1', b'"format":2', 1))
    with pytest.raises(ProblemError, match="newer guide") as caught:
        opened(tmp_path / "job")
    assert code(caught) == "format-newer"
    assert verify(tmp_path / "job").problems[0].code == "format-newer"


@pytest.mark.parametrize("how", ["removed", "replaced", "longer", "shorter"])
def test_a_record_changed_by_somebody_else_while_it_is_open_is_not_written_to(tmp_path: Path, how: str) -> None:
    journal = begin(tmp_path / "job")
    journal.append([ev.Noted("one")], "Bo")
    path = record(tmp_path / "job")
    data = path.read_bytes()
    if how in ("removed", "replaced"):
        path.unlink()
    if how == "replaced":
        path.write_bytes(data)
    elif how == "longer":
        path.write_bytes(data + b"scribble\n")
    elif how == "shorter":
        path.write_bytes(data[:-1])
    after = path.read_bytes() if path.exists() else None
    for _ in range(2):
        with pytest.raises(ProblemError, match=r"while the job is open|is not what was written"):
            journal.append([ev.Noted("two")], "Bo")
    assert (path.read_bytes() if path.exists() else None) == after


# A disk that fails


@dataclass
class Said:
    """What was acknowledged, and what was said and not acknowledged."""

    acknowledged: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    started: bool = False

    def say(self, journal: Journal, *texts: str) -> None:
        """Say it, and once more if it was not taken."""
        for _ in range(2):
            try:
                journal.append([ev.Noted(text) for text in texts], "Bo")
            except ProblemError:
                continue
            self.acknowledged += texts
            return
        self.refused += texts


def job_on(folder: Path, files: Files, said: Said) -> None:
    """Start a job, say a few things, be cut off, take it up again, say more."""
    try:
        journal, _ = Journal.create(folder, FakeClock(), [STARTED], "Bo", files)
    except ProblemError:
        return
    said.started = True
    said.say(journal, "one")
    said.say(journal, "two", "three")
    journal.close()
    with record(folder).open("ab") as file:
        file.write(b'{"seq":')
    for _ in range(2):
        try:
            journal, _ = Journal.open(folder, FakeClock(), files)
        except ProblemError:
            continue
        said.say(journal, "four")
        said.say(journal, "five", "six")
        journal.close()
        return


def calls_of_a_job(folder: Path) -> list[str]:
    files = Failing()
    job_on(folder, files, Said())
    return files.calls


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EIO, errno.EROFS, errno.EACCES], ids=errno.errorcode.get)
@pytest.mark.parametrize("lasting", [False, True], ids=["once", "from then on"])
@pytest.mark.parametrize("short", [False, True], ids=["nothing", "half"])
def test_whatever_fails_what_was_acknowledged_is_there_and_nothing_else(
    tmp_path: Path, number: int, lasting: bool, short: bool
) -> None:
    calls = calls_of_a_job(tmp_path / "whole")
    assert {"write", "sync", "truncate", "sync_folder", "make_folder", "lock", "open_record"} == set(calls)
    for at, call in enumerate(calls):
        folder = tmp_path / f"job{at}"
        files, said = Failing(at, number, lasting, short), Said()
        job_on(folder, files, said)
        assert files.failed
        if not said.started:
            if record(folder).exists():  # it could not even be taken away again
                assert lasting
            continue
        found = notes(folder)
        assert found[: len(said.acknowledged)] == said.acknowledged, (at, call)
        more = found[len(said.acknowledged) :]
        if not lasting:
            assert more == []
            assert said.acknowledged[-3:] == ["four", "five", "six"] or call in (
                "lock",
                "open_record",
                "truncate",
                "sync",
            )
        assert more in ([], said.refused[: len(more)])
        assert verify(folder).ok


def test_a_failure_that_passes_lets_it_be_said_again(tmp_path: Path) -> None:
    for at, call in enumerate(calls_of_a_job(tmp_path / "whole")):
        if call in ("write", "sync"):
            said = Said()
            job_on(tmp_path / f"job{at}", Failing(at, errno.ENOSPC), said)
            assert said.acknowledged == (["one", "two", "three", "four", "five", "six"] if said.started else [])


def test_after_a_failed_sync_the_record_is_read_again_before_anything_is_taken(tmp_path: Path) -> None:
    class Forgets(Failing):
        """A failed sync, after which the disk has lost the last byte that it had acknowledged."""

        def sync(self, handle: int) -> None:
            try:
                super().sync(handle)
            except OSError:
                record(tmp_path / "job").write_bytes(kept[:-2] + b"\n")
                raise

    files = Forgets()
    journal = begin(tmp_path / "job", files=files)
    journal.append([ev.Noted("one")], "Bo")
    kept = record(tmp_path / "job").read_bytes()
    files.at, files.number = len(files.calls) + 1, errno.EIO
    with pytest.raises(ProblemError, match="reports a fault"):
        journal.append([ev.Noted("two")], "Bo")
    for _ in range(2):
        with pytest.raises(ProblemError) as caught:
            journal.append([ev.Noted("three")], "Bo")
        assert code(caught) == "record-changed"


def test_when_it_cannot_be_read_again_just_now_it_is_tried_again_the_next_time(tmp_path: Path) -> None:
    files = Failing()
    journal = begin(tmp_path / "job", files=files)
    write, truncate, _, opening = range(len(files.calls), len(files.calls) + 4)
    files.at, files.number = write, errno.ENOSPC
    with pytest.raises(ProblemError, match="disk is full"):
        journal.append([ev.Noted("one")], "Bo")
    assert files.calls[truncate] == "truncate"
    files.at, files.number = opening, errno.EIO
    with pytest.raises(ProblemError, match="can't be read again"):
        journal.append([ev.Noted("two")], "Bo")
    assert files.calls[opening:] == ["open_record"]
    journal.append([ev.Noted("three")], "Bo")
    assert files.calls[opening + 1 :] == ["open_record", "forget", "write", "sync"]
    journal.append([ev.Noted("four")], "Bo")
    assert files.calls[opening + 5 :] == ["write", "sync"]
    journal.close()
    assert notes(tmp_path / "job") == ["three", "four"]


@pytest.mark.parametrize("durable", [False, True])
def test_what_is_interrupted_in_the_middle_is_not_kept(tmp_path: Path, durable: bool) -> None:
    class Interrupted(Quick):
        left = 2

        def sync(self, handle: int) -> None:
            self.left -= 1
            if not self.left and durable:
                os.fsync(handle)
            if not self.left:
                raise KeyboardInterrupt

    journal = begin(tmp_path / "job", files=Interrupted())
    with pytest.raises(KeyboardInterrupt):
        journal.append([ev.Noted("one")], "Bo")
    journal.append([ev.Noted("two")], "Bo")
    journal.close()
    assert notes(tmp_path / "job") == ["two"]


@pytest.mark.parametrize(("number", "goes_on"), [(errno.EINVAL, True), (errno.EIO, False)])
def test_a_file_system_that_cannot_sync_folders(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, goes_on: bool
) -> None:
    real = os.fsync

    def fsync(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(number, os.strerror(number))
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    if goes_on:
        begin(tmp_path / "job", files=Files()).close()
        return
    with pytest.raises(ProblemError, match="reports a fault"):
        begin(tmp_path / "job", files=Files())
    assert not record(tmp_path / "job").exists()


def test_a_disk_that_takes_nothing_at_all_is_a_fault(tmp_path: Path) -> None:
    class Full(Quick):
        def write(self, handle: int, data: bytes) -> int:
            return 0

    with pytest.raises(ProblemError, match="reports a fault"):
        begin(tmp_path / "job", files=Full())


def test_when_not_even_the_cut_back_works_nothing_more_is_taken_until_reopened(tmp_path: Path) -> None:
    files = Failing()
    journal = begin(tmp_path / "job", files=files)
    journal.append([ev.Noted("one")], "Bo")
    files.at, files.number, files.lasting = len(files.calls) + 1, errno.EIO, True
    with pytest.raises(ProblemError, match="reports a fault") as caught:
        journal.append([ev.Noted("two")], "Bo")
    assert "guide resume" in str(caught.value.problems[0].hint)
    files.lasting = False
    with pytest.raises(ProblemError, match="nothing more") as caught:
        journal.append([ev.Noted("three")], "Bo")
    assert code(caught) == "journal-broken"
    journal.close()
    assert notes(tmp_path / "job") in (["one"], ["one", "two"])


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "nothing was recorded since 12:00:00: the disk is full"),
        (errno.EROFS, "nothing was recorded since 12:00:00: the disk can only be read"),
        (errno.EIO, "nothing was recorded since 12:00:00: the disk reports a fault"),
        (errno.EDQUOT, "nothing was recorded since 12:00:00: your share of the disk is full"),
    ],
)
def test_trouble_with_the_disk_is_told_plainly(tmp_path: Path, number: int, words: str) -> None:
    files = Failing()
    journal = begin(tmp_path / "job", files=files)
    files.at, files.number = len(files.calls), number
    with pytest.raises(ProblemError, match=words) as caught:
        journal.append([NOTE], "Bo")
    assert caught.value.problems[0].hint
    journal.append([NOTE], "Bo")


def test_a_start_that_fails_leaves_no_record_and_can_be_tried_again(tmp_path: Path) -> None:
    for at in range(20):
        files = Failing(at, errno.ENOSPC)
        try:
            Journal.create(tmp_path / "job", FakeClock(), [STARTED], "Bo", files)[0].close()
        except ProblemError:
            assert not record(tmp_path / "job").exists()
            assert files.failed
        else:
            assert not files.failed
            break
    assert opened(tmp_path / "job")[1]


# Real processes, a real kernel

CLOCK = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from guide.job import events as ev
from guide.problems import ProblemError
from guide.record import Journal

class Clock:
    def now(self):
        return datetime.now(UTC)

folder = Path(sys.argv[1])
started = ev.Started(ev.FORMAT, "0", "shelf", "A shelf", "", ())
"""
SAYING = """
journal, _ = Journal.create(folder, Clock(), [started], "Bo")
number = 0
while True:
    journal.append([ev.Noted(f"{number}"), ev.Noted(f"{number} again")], "Bo")
    print(number, flush=True)
    number += 1
"""
FILLING = """
journal, _ = Journal.create(folder, Clock(), [started], "Bo")
number = 0
try:
    while True:
        journal.append([ev.Noted(f"{number} " + "x" * 3000)], "Bo")
        number += 1
except ProblemError as fault:
    print(number, fault)
MAKE_ROOM()
journal.append([ev.Noted("and on")], "Bo")
journal.close()
_, entries = Journal.open(folder, Clock())
assert [e.event.text.split(" ")[0] for e in entries[1:]] == [*map(str, range(number)), "and"]
"""


def _child(tmp_path: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", CLOCK + SAYING, str(tmp_path / "job")],
        stdout=subprocess.PIPE,
        text=True,
        env=environment(tmp_path),
    )


@pytest.mark.parametrize("said", [0, 1, 7, 23])
def test_killed_at_any_moment_nothing_said_is_missing_and_no_half_decision_is_there(tmp_path: Path, said: int) -> None:
    child = _child(tmp_path)
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


def test_a_file_that_may_grow_no_further(tmp_path: Path) -> None:
    """The kernel writes what still fits and then refuses; with the limit raised the job goes on."""
    room = "import resource\ndef MAKE_ROOM(): resource.setrlimit(resource.RLIMIT_FSIZE, (-1, -1))\n"

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, resource.RLIM_INFINITY))

    done = subprocess.run(
        [sys.executable, "-c", CLOCK + room + FILLING, str(tmp_path / "job")],
        preexec_fn=limit,
        capture_output=True,
        text=True,
        env=environment(tmp_path),
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "grow no further" in done.stdout
    assert int(done.stdout.split()[0]) >= 4


def _in_a_small_disk(tmp_path: Path, program: str) -> subprocess.CompletedProcess[str]:
    """Run a program with a disk of 64 KiB of its own mounted over a folder; skips where that is not allowed."""
    disk = tmp_path / "disk"
    disk.mkdir()
    inside = f"mount -t tmpfs -o size=64k none '{disk}' && exec '{sys.executable}' -c \"$0\" '{disk}/job' '{disk}'"
    unshare = ["unshare", "--user", "--map-root-user", "--mount"]
    try:
        subprocess.run([*unshare, "true"], check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("this machine lets nobody mount a disk of their own")
    return subprocess.run(
        [*unshare, "sh", "-c", inside, program],
        capture_output=True,
        text=True,
        env=environment(tmp_path),
        check=False,
    )


def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    """The disk fills up with something else as well; when that is taken away the job goes on."""
    room = 'other = Path(sys.argv[2], "other")\nother.write_bytes(b"x" * 20_000)\nMAKE_ROOM = other.unlink\n'
    done = _in_a_small_disk(tmp_path, CLOCK + room + FILLING)
    assert done.returncode == 0, done.stderr
    assert "the disk is full" in done.stdout
    assert int(done.stdout.split()[0]) >= 5


def test_a_disk_that_really_can_only_be_read(tmp_path: Path) -> None:
    program = """
import subprocess
from guide.record.verify import verify
journal, _ = Journal.create(folder, Clock(), [started], "Bo")
journal.close()
subprocess.run(["mount", "-o", "remount,ro", sys.argv[2]], check=True)
for act in (lambda: Journal.open(folder, Clock()), lambda: Journal.create(folder / "new", Clock(), [started], "Bo")):
    try:
        act()
    except ProblemError as fault:
        print(fault.problems[0].code, fault)
print(verify(folder).lines)
"""
    done = _in_a_small_disk(tmp_path, CLOCK + program)
    assert done.returncode == 0, done.stderr
    *refused, lines = done.stdout.splitlines()
    assert [line.split()[0] for line in refused] == ["read-only", "read-only"]
    assert lines == "1"


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become nobody")
def test_a_folder_of_somebody_else_is_told_plainly() -> None:
    """Done as nobody, in a folder that is not theirs: reading goes, everything else is refused."""
    program = """
import os, tempfile
from guide.record.verify import verify
with tempfile.TemporaryDirectory() as name:
    os.chmod(name, 0o755)
    journal, _ = Journal.create(Path(name) / "job", Clock(), [started], "Bo")
    journal.close()
    os.seteuid(65534)
    for act in (
        lambda: Journal.open(Path(name) / "job", Clock()),
        lambda: Journal.create(Path(name) / "new", Clock(), [started], "Bo"),
        lambda: Journal.create(Path(name), Clock(), [started], "Bo"),
    ):
        try:
            act()
        except ProblemError as fault:
            print(fault.problems[0].code, fault)
    print(verify(Path(name) / "job").lines)
    os.seteuid(0)
"""
    done = subprocess.run(
        [sys.executable, "-c", CLOCK + program, "-"], capture_output=True, text=True, env={**os.environ}, check=False
    )
    assert done.returncode == 0, done.stderr
    *refused, lines = done.stdout.splitlines()
    assert [line.split()[0] for line in refused] == ["not-allowed"] * 3
    assert lines == "1"
