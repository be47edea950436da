"""Every sentence that gathering and reviewing say, by key: one file a language."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

from guide.talk.wording import Wording


@lru_cache(maxsize=1)
def words() -> Wording:
    """The sentences in English, the only language there is."""
    return Wording.read(files("guide.fleet").joinpath("en.toml").read_text(encoding="utf-8"))


def say(key: str, **fields: object) -> str:
    """The sentence with its {fields} filled in."""
    return words().say(key, **fields)


def counted(key: str, number: int, **fields: object) -> str:
    """The sentence for one, or the one for any other number; {number} is that number with commas."""
    return words().say(f"{key}-{'one' if number == 1 else 'many'}", number=f"{number:,}", **fields)
