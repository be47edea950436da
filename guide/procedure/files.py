"""Where procedures lie, and their text: whatever can't be read is a problem with a cure, never a traceback."""

from __future__ import annotations

import os
import stat
from collections.abc import Mapping
from functools import cache
from itertools import chain, islice
from pathlib import Path
from types import MappingProxyType

from guide.problems import Problem, Problems, did_you_mean
from guide.procedure.shares import Fetch, Found
from guide.procedure.source import MOST_CHARACTERS

MOST_BYTES = MOST_CHARACTERS
MOST_AROUND = 1000
"""Files among which a misspelt one is looked for."""

_UTF_16_OR_32 = (b"\xff\xfe", b"\xfe\xff", b"\x00\x00\xfe\xff")


def folder() -> Path | None:
    """The folder of shipped procedures: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    for place in (package / "procedures", package.parent / "procedures"):
        if place.is_dir() and any(place.glob("*.yaml")):
            return place
    return None


@cache
def shipped() -> Mapping[str, Path]:
    """The procedures that come with the guide, by name."""
    place = folder()
    return MappingProxyType({path.stem: path for path in sorted(place.glob("*.yaml"))} if place else {})


def find(name_or_path: str | Path) -> Path:
    """The file of a shipped procedure's name, or the path as it is."""
    known = shipped()
    return known[name_or_path] if isinstance(name_or_path, str) and name_or_path in known else Path(name_or_path)


def read(path: Path, problems: Problems) -> str | None:
    """The file's text, bytes that are not UTF-8 kept as lone surrogates; None and a problem if it can't be read."""
    try:
        mode = path.stat().st_mode
        if not stat.S_ISREG(mode):
            what = "a folder" if stat.S_ISDIR(mode) else "not a file"
            problems.add("unreadable", f"{path} is {what}", hint="Name a procedure file.")
            return None
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        hint = did_you_mean(path.stem, shipped()) or f"The guide comes with: {', '.join(shipped()) or 'none'}."
        problems.add("missing", f"there is no file {path}, nor a procedure of that name", hint=hint)
        return None
    except (OSError, ValueError) as fault:
        reason = fault.strerror if isinstance(fault, OSError) else str(fault)
        problems.add("unreadable", f"{path} can't be read: {reason}")
        return None
    if len(data) > MOST_BYTES:
        problems.add("too-big", f"{path} is larger than {MOST_BYTES // 1024**2} MB", hint="Is it a procedure file?")
        return None
    if data.startswith(_UTF_16_OR_32):
        problems.add("encoding", f"{path} is UTF-16 or UTF-32, not UTF-8", hint="Save the file as UTF-8.")
        return None
    return data.decode("utf-8", "surrogateescape")


def beside(main: Path) -> Fetch:
    """Fetches the files that a procedure shares from its own folder and those below it."""

    def fetch(name: str) -> Found | Problem:
        path = main.parent / name
        inside = Path(os.path.realpath(path)).is_relative_to(os.path.realpath(main.parent))
        if not inside:
            return Problem("shares", f"{path} leads out of the procedure's folder", hint="Put the file itself there.")
        problems = Problems()
        text = read(path, problems)
        if text is not None:
            return Found(text, str(path))
        fault = problems.found[0]
        if fault.code != "missing":
            return Problem(fault.code, fault.message, hint=fault.hint)
        return Problem("missing", f"there is no file {path}", hint=did_you_mean(name, _around(main)))

    return fetch


def _around(main: Path) -> list[str]:
    """Files that a procedure could share, as it would name them."""
    found = chain(main.parent.glob("*.yaml"), main.parent.glob("*/*.yaml"))
    return [path.relative_to(main.parent).as_posix() for path in islice(found, MOST_AROUND) if path != main]
