"""What a crew can set about the voice: how fast, how loud, which voice, whether a headset is worn."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path

from guide.problems import Problem, ProblemError
from guide.record.people import people_file

RATES = (80, 300)
TRAINED, PLAIN = "trained", "plain"
EAR_VARIABLE = "GUIDE_EAR"
_HINTS = {
    "rate": f"a whole number of words a minute from {RATES[0]} to {RATES[1]}",
    "volume": "a number from 0 to 1",
    "voice": 'the name of a voice, such as "gmw/en-us" (all of them: guide say --voices)',
    "headset": "true or false",
    "ear": f'"{TRAINED}" or "{PLAIN}" (the embedded ear as its makers ship it)',
}


@dataclass(frozen=True, slots=True)
class Settings:
    """How the mouth speaks and the ear listens."""

    rate: int = 150
    """Words a minute; figures are said slower."""
    volume: float = 1.0
    voice: str = "gmw/en-us"
    headset: bool = False
    """The microphone can't hear the mouth: the ear stays open while it speaks."""
    ear: str = TRAINED
    """Which weights the embedded ear has."""


def data_folder() -> Path:
    """Where the user's own things are kept: $GUIDE_DATA, else the user's data folder."""
    return people_file().parent


def cache_folder() -> Path:
    """Where things are kept that can be made again: $GUIDE_CACHE, else the user's cache folder."""
    if own := os.environ.get("GUIDE_CACHE"):
        return Path(own)
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "guide"


def settings_file() -> Path:
    """The file the settings are read from; it need not be there."""
    return data_folder() / "voice.toml"


def load_settings(**given: object) -> Settings:
    """The settings of the file, with those `given` (and not None) in their place; raises `ProblemError`."""
    path = settings_file()
    try:
        data: dict[str, object] = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        data = {}
    except (OSError, ValueError) as fault:
        raise _problem(f"{path} can't be read: {fault}", "Mend or remove the file.") from None
    known = [one.name for one in fields(Settings)]
    for name in data:
        if name not in known:
            raise _problem(f'{path}: there is no setting "{name}"', f"There are: {', '.join(known)}.")
    asked = {name: value for name, value in given.items() if value is not None}
    where = {**dict.fromkeys(data, f"{path}: "), **dict.fromkeys(asked, "")}
    return _checked({**data, **asked}, where)


def ear_wanted() -> str:
    """Which weights the embedded ear is to have: as $GUIDE_EAR says, else the file; raises `ProblemError`."""
    return load_settings(ear=os.environ.get(EAR_VARIABLE)).ear


def want_ear(ear: str | None) -> None:
    """From now on, here and in the processes that are started, the ear has these weights; None changes nothing."""
    if ear is not None:
        os.environ[EAR_VARIABLE] = load_settings(ear=ear).ear


def _checked(data: Mapping[str, object], where: Mapping[str, str]) -> Settings:
    fit: dict[str, bool] = {}
    for name, value in data.items():
        number = isinstance(value, int | float) and not isinstance(value, bool)
        fit[name] = {
            "rate": isinstance(value, int) and number and RATES[0] <= value <= RATES[1],
            "volume": isinstance(value, int | float) and number and 0 <= value <= 1,
            "voice": isinstance(value, str) and 0 < len(value) <= 100,
            "headset": isinstance(value, bool),
            "ear": value in (TRAINED, PLAIN),
        }[name]
    for name, fits in fit.items():
        if not fits:
            raise _problem(f"{where[name]}{name} can't be {data[name]!r}", f"It is {_HINTS[name]}.")
    return Settings(**data)  # type: ignore[arg-type]


def _problem(message: str, hint: str) -> ProblemError:
    return ProblemError([Problem("voice-settings", message, hint=hint)])
