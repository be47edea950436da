"""The few things done to files that must be durable, each in one place, so that tests can make each of them fail."""

from __future__ import annotations

import errno
import fcntl
import os
from pathlib import Path

from guide.problems import Problem, ProblemError


class Files:
    """File primitives. Every one may raise `OSError`. No process started from here inherits a handle: Python's rule."""

    def open_record(self, path: Path, create: bool) -> int:
        """Open a regular file to append to, never through a link; `create` makes it, and it must not be there yet."""
        flags = os.O_RDWR | os.O_APPEND | os.O_NOFOLLOW | os.O_NONBLOCK
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

    def forget(self, handle: int) -> None:
        """Have the machine forget what it remembers of the file, so that the next reading asks the disk."""
        os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)

    def remove(self, path: Path) -> None:
        """Take a file's name out of its folder."""
        path.unlink()

    def sync_folder(self, folder: Path) -> None:
        """Make names in a folder durable, where the file system can do that to a folder at all."""
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        except OSError as fault:
            if fault.errno != errno.EINVAL:
                raise
        finally:
            os.close(handle)

    def make_folder(self, folder: Path) -> list[Path]:
        """Make a folder and those above it that are missing; returns the folders made, outermost first."""
        missing = [one for one in (folder, *folder.parents) if not one.exists()]
        folder.mkdir(parents=True, exist_ok=True)
        return missing[::-1]

    def lock(self, path: Path) -> int:
        """Take the lock and write our process number into it; raises `BlockingIOError` if another holds it."""
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_NONBLOCK, 0o644)
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


_PERMISSIONS = "Look at the folder's permissions, or keep the job in another folder."
_CURES = {
    errno.ENOSPC: ("disk-full", "the disk is full", "Free some space and say it again."),
    errno.EDQUOT: ("disk-full", "your share of the disk is full", "Free some space and say it again."),
    errno.EFBIG: ("disk-full", "this machine lets the file grow no further", "Raise that limit and say it again."),
    errno.EROFS: ("read-only", "the disk can only be read", "Keep the job on a disk that can be written."),
    errno.EACCES: ("not-allowed", "that is not allowed here", _PERMISSIONS),
    errno.EPERM: ("not-allowed", "that is not allowed here", _PERMISSIONS),
    errno.EIO: ("disk-fault", "the disk reports a fault", "Copy the job folder to another disk, then resume."),
    errno.EEXIST: ("no-folder", "there is a file where the job's folder should be", "Name another folder."),
    errno.ENOTDIR: ("no-folder", "there is a file where a folder should be", "Name another folder."),
    errno.EISDIR: ("record-not-a-file", "there is a folder where a file should be", "Move it away."),
    errno.ELOOP: ("record-link", "it is a link to somewhere else", "Put the file itself there."),
    errno.ENAMETOOLONG: ("name-long", "the name is too long", "Name a shorter one."),
    errno.ENOLCK: ("no-locks", "this disk can't keep a second process out", "Keep the job on a disk of this machine."),
    errno.EOPNOTSUPP: ("no-locks", "this disk can't keep a second process out", "Keep the job on another disk."),
}


def told(fault: OSError, what: str) -> ProblemError:
    """A fault of the disk as a problem: what could not be done, why, and the likely cure."""
    code, why, cure = _CURES.get(fault.errno or 0, ("disk", fault.strerror or str(fault), None))
    return ProblemError([Problem(code, f"{what}: {why}.", hint=cure)])
