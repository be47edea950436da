"""The file primitives by themselves, and a disk's faults in words."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from guide.problems import Problem
from guide.record.files import Files, told, write_all
from guide.record.reader import damaged


def test_a_record_is_made_once_and_only_appended_to(tmp_path: Path) -> None:
    files, path = Files(), tmp_path / "record"
    handle = files.open_record(path, create=True)
    assert path.stat().st_mode & 0o777 & ~0o644 == 0
    assert os.get_inheritable(handle) is False
    write_all(files, handle, b"one")
    os.lseek(handle, 0, os.SEEK_SET)
    write_all(files, handle, b"two")
    os.close(handle)
    assert path.read_bytes() == b"onetwo"
    with pytest.raises(FileExistsError):
        files.open_record(path, create=True)
    again = files.open_record(path, create=False)
    assert os.pread(again, 3, 0) == b"one"
    os.close(again)
    with pytest.raises(FileNotFoundError):
        files.open_record(tmp_path / "none", create=False)


def test_links_are_not_followed_and_a_pipe_does_not_hold_us_up(tmp_path: Path) -> None:
    files = Files()
    (tmp_path / "there").touch()
    (tmp_path / "link").symlink_to(tmp_path / "there")
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(OSError) as opened:
        files.open_record(tmp_path / "link", create=False)
    with pytest.raises(OSError) as locked:
        files.lock(tmp_path / "link")
    assert opened.value.errno == locked.value.errno == errno.ELOOP
    os.close(files.open_record(tmp_path / "pipe", create=False))


def test_cut_removed_and_forgotten(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    files, path = Files(), tmp_path / "record"
    handle = files.open_record(path, create=True)
    assert files.write(handle, b"12345") == 5
    files.sync(handle)
    files.truncate(handle, 2)
    assert path.read_bytes() == b"12"
    asked: list[tuple[int, ...]] = []
    monkeypatch.setattr(os, "posix_fadvise", lambda *arguments: asked.append(arguments))
    files.forget(handle)
    assert asked == [(handle, 0, 0, os.POSIX_FADV_DONTNEED)], "all of the file, from its first byte to its last"
    files.remove(path)
    assert not path.exists()
    os.close(handle)


def test_only_a_folder_is_synced_as_one(tmp_path: Path) -> None:
    Files().sync_folder(tmp_path)
    (tmp_path / "file").touch()
    with pytest.raises(NotADirectoryError):
        Files().sync_folder(tmp_path / "file")


@pytest.mark.parametrize(("number", "told_of"), [(errno.EINVAL, False), (errno.EIO, True)])
def test_a_folder_that_can_not_be_synced_is_let_be_but_a_fault_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, told_of: bool
) -> None:
    def fail(handle: int) -> None:
        raise OSError(number, "no")

    monkeypatch.setattr(os, "fsync", fail)
    if told_of:
        with pytest.raises(OSError):
            Files().sync_folder(tmp_path)
    else:
        Files().sync_folder(tmp_path)


def test_folders_that_were_made_are_named_outermost_first(tmp_path: Path) -> None:
    folder = tmp_path / "jobs" / "monday" / "door"
    assert Files().make_folder(folder) == [tmp_path / "jobs", tmp_path / "jobs" / "monday", folder]
    assert Files().make_folder(folder) == []
    assert folder.is_dir()


def test_a_lock_holds_our_number_and_nothing_of_the_one_before(tmp_path: Path) -> None:
    (tmp_path / "lock").write_text("123456789012\n")
    handle = Files().lock(tmp_path / "lock")
    assert (tmp_path / "lock").read_text() == f"{os.getpid()}\n"
    with pytest.raises(BlockingIOError):
        Files().lock(tmp_path / "lock")
    os.close(handle)
    os.close(Files().lock(tmp_path / "lock"))


def test_a_lock_that_fails_leaves_no_handle_open(tmp_path: Path) -> None:
    held = Files().lock(tmp_path / "lock")
    before = len(os.listdir("/proc/self/fd"))
    with pytest.raises(BlockingIOError):
        Files().lock(tmp_path / "lock")
    assert len(os.listdir("/proc/self/fd")) == before
    os.close(held)


def test_all_is_written_in_as_few_writes_as_it_takes() -> None:
    class Slow(Files):
        def __init__(self, *takes: int) -> None:
            self.takes = list(takes)
            self.got: list[bytes] = []

        def write(self, handle: int, data: bytes) -> int:
            self.got.append(data)
            return self.takes.pop(0)

    slow = Slow(3, 1, 1)
    write_all(slow, -1, b"12345")
    assert slow.got == [b"12345", b"45", b"5"]
    for takes in (0, -1):
        with pytest.raises(OSError, match="nothing was written") as caught:
            write_all(Slow(takes), -1, b"1")
        assert caught.value.errno == errno.EIO


@pytest.mark.parametrize(
    ("fault", "problem"),
    [
        (
            OSError(errno.ENOSPC, "x"),
            Problem("disk-full", "it failed: the disk is full.", hint="Free some space and say it again."),
        ),
        (OSError(errno.EXDEV, "not that link"), Problem("disk", "it failed: not that link.")),
        (OSError("a thing of its own"), Problem("disk", "it failed: a thing of its own.")),
    ],
)
def test_a_fault_of_the_disk_in_words(fault: OSError, problem: Problem) -> None:
    assert told(fault, "it failed").problems == (problem,)


def test_damage_in_words() -> None:
    (problem,) = damaged(Path("job/record.jsonl"), 7, "it was bitten").problems
    assert (problem.code, problem.message) == ("record-damaged", "the record is damaged at line 7: it was bitten.")
    assert problem.hint == "Nothing was changed. Keep the folder as it is, and look at it with: guide verify"
    assert problem.place is not None
    assert (problem.place.file, problem.place.line) == ("job/record.jsonl", 7)
