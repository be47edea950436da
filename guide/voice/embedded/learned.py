"""The weights that the ear loads: as they are shipped, or with what training changed on top.

The difference comes with the guide. It is put on the shipped weights once, and what comes of it is kept in the user's
cache; every file is held to its SHA-256 each time it is loaded. Whatever goes wrong, the shipped weights work.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

import guide
from guide.problems import Problem
from guide.voice.embedded.difference import Difference, DifferenceError, applied, read, sha256
from guide.voice.embedded.model import FILES, find_weights
from guide.voice.settings import TRAINED, cache_folder, ear_wanted

PROBLEM = "ear-learned"
FILE = "ear.diff"
SHA256 = "c576578819299163a2d1570d28d386cc37c2d708e16feb6dbd32704a6b4946d8"
"""Of the difference that comes with the guide."""


@dataclass(frozen=True, slots=True)
class Weights:
    """A folder that the ear can load."""

    folder: Path
    trained: bool
    problem: Problem | None = None
    """Why it is not the trained one that was wanted."""


def wanted_weights() -> Weights:
    """The weights that the settings ask for; raises `ProblemError` when there are none at all."""
    shipped = find_weights()
    if ear_wanted() != TRAINED or not SHA256:
        return Weights(shipped, trained=False)
    place = difference_file()
    try:
        return Weights(with_difference(shipped, place, SHA256, cache_folder() / "ear"), trained=True)
    except DifferenceError as fault:
        hint = "Install the guide again; until then the ear as it is shipped is used."
        return Weights(shipped, False, Problem(PROBLEM, f"{place}: {fault}", hint=hint))
    except OSError as fault:
        message = f"the trained ear can't be kept in {cache_folder()}: {fault.strerror or fault}"
        hint = "Free 45 MB there, or name another folder with GUIDE_CACHE; until then the ear as it is shipped is used."
        return Weights(shipped, False, Problem(PROBLEM, message, hint=hint))


def difference_file() -> Path:
    """Where the difference lies: inside the installed package, or beside it in a checkout."""
    package = Path(guide.__file__).resolve().parent
    inside = package / "voice_models" / FILE
    return inside if inside.exists() else package.parent / "voice_models" / FILE


def with_difference(shipped: Path, place: Path, wanted: str, cache: Path) -> Path:
    """The folder of the shipped weights with a difference on top, made if it is not there as it should be.

    `wanted` is the difference's SHA-256. Raises `DifferenceError` if it is not that file or does not fit, `OSError` if
    what comes of it can't be kept.
    """
    try:
        data = place.read_bytes()
    except OSError as fault:
        raise DifferenceError(f"can't be read: {fault.strerror}") from fault
    if sha256(data) != wanted:
        raise DifferenceError("is not the file that came with the guide")
    difference = read(data)
    folder = cache / wanted[:16]
    hashes = {name: change.result for name, change in difference.changes.items()}
    hashes |= {name: one for name, one in FILES.items() if name not in hashes}
    missing = [name for name, one in hashes.items() if _hash(folder / name) != one]
    if missing:
        _make(shipped, difference, folder, missing)
    return folder


def _hash(path: Path) -> str:
    try:
        return sha256(path.read_bytes())
    except OSError:
        return ""


def _make(shipped: Path, difference: Difference, folder: Path, names: list[str]) -> None:
    """Write files of a folder, each whole or not at all: others may be making the same."""
    files = {name: (shipped / name).read_bytes() for name in FILES}
    made = {**files, **applied(difference, files)}
    folder.mkdir(parents=True, exist_ok=True)
    for name in names:
        handle, part = tempfile.mkstemp(dir=folder, prefix=f"{name}.")
        try:
            with os.fdopen(handle, "wb") as out:
                out.write(made[name])
            os.replace(part, folder / name)
        except OSError:
            with contextlib.suppress(OSError):
                os.unlink(part)
            raise
