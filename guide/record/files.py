"""The few things done to files that must be durable, each in one place, so that tests can make each of them fail."""

from __future__ import annotations

import errno
import fcntl
import os
from pathlib import Path

from guide.problems import Problem, ProblemError


class Files:
    """File primitives. Every one may raise `OSError`."""

    def open_record(self, path: Path, create: bool) -> int:
        """Open a regular file to append to, never through a link; `create` makes it, and it must not be there yet."""
        flags = os.O_RDWR | os.O_APPEND | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK
        return os.open(path, flags | (os.O_CREAT | os.O_EXCL if create else 0), 0o644)

    def write(self, handle: int, data: bytes) -> int:
        """Write once; may write less than all."""
        return os.write(handle, data)

    def sync(self, handle: int) -> None:
        """Make what was written durable."""
        os.fsync(handle)

    def truncate(self, handle: int, size: int) -> None:
        """Cut the file to a size."""
        os.ftruncate(handle, size)

    def sync_folder(self, folder: Path) -> None:
        """Make names in a folder durable."""
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

    def make_folder(self, folder: Path) -> None:
        """Make a folder and those above it."""
        folder.mkdir(parents=True, exist_ok=True)

    def lock(self, path: Path) -> int:
        """Take the lock and write our process number into it; raises `BlockingIOError` if another holds it."""
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, 0o644)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            os.ftruncate(handle, 0)
            os.write(handle, f"{os.getpid()}\n".encode())
        except BaseException:
            os.close(handle)
            raise
        return handle


def write_all(files: Files, handle: int, data: bytes) -> None:
    """Write all of the data, in as few writes as it takes."""
    rest = memoryview(data)
    while rest:
        written = files.write(handle, bytes(rest))
        if written <= 0:
            raise OSError(errno.EIO, "nothing was written")
        rest = rest[written:]


_CURES = {
    errno.ENOSPC: ("disk-full", "the disk is full", "Free some space and say it again."),
    errno.EDQUOT: ("disk-full", "your share of the disk is full", "Free some space and say it again."),
    errno.EROFS: ("read-only", "the disk can only be read", "Keep the job in another folder with --job."),
    errno.EACCES: ("not-allowed", "that is not allowed here", "Look at the folder's permissions."),
    errno.EPERM: ("not-allowed", "that is not allowed here", "Look at the folder's permissions."),
    errno.EIO: ("disk-fault", "the disk reports a fault", "Copy the job folder to another disk, then resume."),
    errno.EEXIST: ("no-folder", "there is a file where the job's folder should be", "Name another folder."),
    errno.ENOTDIR: ("no-folder", "there is a file where a folder should be", "Name another folder."),
    errno.ELOOP: ("record-link", "it is a link to somewhere else", "Put the record itself there."),
}


def told(fault: OSError, what: str) -> ProblemError:
    """A fault of the disk as a problem: what could not be done, why, and the likely cure."""
    code, why, cure = _CURES.get(fault.errno or 0, ("disk", fault.strerror or str(fault), None))
    return ProblemError([Problem(code, f"{what}: {why}.", hint=cure)])
