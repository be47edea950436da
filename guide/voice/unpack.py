"""An archive unpacked safely: no path outside its folder, no links, no more than it may hold, all of it or nothing."""

from __future__ import annotations

import shutil
import stat
import tempfile
import zipfile
from pathlib import Path, PurePosixPath

from guide.problems import Problem, ProblemError

MOST_FILES = 1000
_BLOCK = 1 << 20


def unpack(archive: Path, into: Path, name: str, most: int) -> Path:
    """Unpack an archive whose one folder is `name` into the folder `into`; returns that folder.

    `most` bytes may come out of it. Raises `ProblemError`, and leaves nothing behind, for anything unsafe or broken.
    """
    target = into / name
    try:
        with zipfile.ZipFile(archive) as opened, tempfile.TemporaryDirectory(dir=into, prefix=".unpacking-") as beside:
            infos = opened.infolist()
            _look(archive, infos, name, most)
            left = most
            for info in infos:
                left -= _one(opened, info, Path(beside), left)
                if left < 0:
                    raise _problem(archive, "holds more than it says")
            if target.exists():
                shutil.rmtree(target)
            (Path(beside) / name).rename(target)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, EOFError, NotImplementedError, RuntimeError, ValueError) as fault:
        raise _problem(archive, f"can't be unpacked: {fault}") from None
    except OSError as fault:
        raise ProblemError([Problem("unpack", f"{into} can't be written: {fault.strerror}")]) from None
    return target


def _look(archive: Path, infos: list[zipfile.ZipInfo], name: str, most: int) -> None:
    """Refuse the whole archive for one entry that is unsafe, before anything is written."""
    if len(infos) > MOST_FILES:
        raise _problem(archive, f"holds more than {MOST_FILES} files")
    if sum(info.file_size for info in infos) > most:
        raise _problem(archive, f"would take more than {most:,} bytes")
    seen: set[str] = set()
    for info in infos:
        path = PurePosixPath(info.filename)
        mode = info.external_attr >> 16
        if path.is_absolute() or ".." in path.parts or "\\" in info.filename or ":" in info.filename:
            raise _problem(archive, f'has a path that leads outside: "{info.filename}"')
        if not path.parts or path.parts[0] != name:
            raise _problem(archive, f'holds something that is not in its folder {name}: "{info.filename}"')
        if stat.S_IFMT(mode) not in (0, stat.S_IFREG, stat.S_IFDIR):
            raise _problem(archive, f'holds a link or a device: "{info.filename}"')
        if str(path).casefold() in seen:
            raise _problem(archive, f'holds the same file twice: "{info.filename}"')
        seen.add(str(path).casefold())


def _one(opened: zipfile.ZipFile, info: zipfile.ZipInfo, beside: Path, left: int) -> int:
    """Write one entry, and no more than may be left; returns the bytes that came out."""
    path = beside / info.filename
    if info.is_dir():
        path.mkdir(parents=True, exist_ok=True)
        return 0
    path.parent.mkdir(parents=True, exist_ok=True)
    came = 0
    with opened.open(info) as source, path.open("xb") as out:
        while came <= left and (block := source.read(_BLOCK)):
            out.write(block)
            came += len(block)
    return came


def _problem(archive: Path, what: str) -> ProblemError:
    hint = "It is not what was published: remove it and fetch it again."
    return ProblemError([Problem("archive", f"{archive} {what}", hint=hint)])
