"""The recognition models a machine may have: where they lie, and what makes a folder one."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import guide
from guide.problems import Problem, ProblemError
from guide.voice.settings import data_folder

VARIABLE = "GUIDE_VOSK_MODEL"
NEEDED = ("am/final.mdl", "conf/model.conf", "graph/HCLr.fst", "graph/Gr.fst")
"""Files of a Vosk model that takes a phrase list."""


@dataclass(frozen=True, slots=True)
class Archive:
    """A published archive with one folder in it, named like it."""

    name: str
    url: str
    size: int
    """Bytes."""
    sha256: str
    most: int
    """Bytes that its files may have together."""


VOSK_ENGLISH = Archive(
    "vosk-model-small-en-us-0.15",
    "https://alphacephei.com/vosk/models/vosk-model-small-en-us-0.15.zip",
    41_205_931,
    "30f26242c4eb449f948e42cb302dd7a686cb29a3423a8367f99ff41780942498",
    300_000_000,
)
"""Vosk's small English model, Apache 2.0. Size and hash are those that other public build recipes pin."""


def models_folder() -> Path:
    """Where models are put: voice_models/ of a checkout, else the user's data folder."""
    checkout = Path(guide.__file__).resolve().parent.parent
    beside = checkout / "voice_models"
    return beside if (checkout / "pyproject.toml").is_file() and beside.is_dir() else data_folder() / "voice_models"


def lacking(folder: Path) -> tuple[str, ...]:
    """The files that a folder lacks to be a Vosk model with a phrase list."""
    return tuple(name for name in NEEDED if not (folder / name).is_file())


def find_vosk(name: str = VOSK_ENGLISH.name) -> Path | None:
    """The folder of a Vosk model, or None; raises `ProblemError` if the environment names one that is none."""
    if own := os.environ.get(VARIABLE):
        if missing := lacking(Path(own)):
            message = f"{VARIABLE} names {own}, which is no Vosk model: it has no {missing[0]}"
            raise ProblemError([Problem("no-model", message, hint="Name the folder that has am/, conf/ and graph/.")])
        return Path(own)
    return next((folder for folder in _places(name) if not lacking(folder)), None)


def _places(name: str) -> Iterator[Path]:
    """Where a model of that name may lie, ours first, then where the library itself looks."""
    yield models_folder() / name
    yield data_folder() / "voice_models" / name
    if elsewhere := os.environ.get("VOSK_MODEL_PATH"):
        yield Path(elsewhere) / name
    yield Path.home() / ".cache" / "vosk" / name
    yield Path("/usr/share/vosk") / name
