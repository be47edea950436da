"""A report kept in a file: whole or not at all."""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile
from pathlib import Path

from guide.problems import Problem, ProblemError


def write(path: Path, data: bytes) -> None:
    """Write the file beside its place, make it durable, then put it there; raises `ProblemError`."""
    try:
        if os.path.lexists(path) and not stat.S_ISREG(os.lstat(path).st_mode):
            message = f"{path} is a link, a folder or a device."
            raise ProblemError([Problem("report-not-a-file", message, hint="Name another file.")])
        handle, name = tempfile.mkstemp(prefix=f".{path.name[:80]}.", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as out:
                out.write(data)
                out.flush()
                os.fsync(out.fileno())
                os.fchmod(out.fileno(), 0o644 & ~_umask())
            os.replace(name, path)
        except BaseException:
            with contextlib.suppress(OSError):
                os.unlink(name)
            raise
    except OSError as fault:
        message = f"the report can't be written: {path}: {fault.strerror}."
        raise ProblemError([Problem("report-unwritable", message, hint="Name another place.")]) from None


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
