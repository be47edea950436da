"""A hash as words that two people can compare over a telephone.

The word list is the one of Patrick Juola and Philip Zimmermann (1995, known as the PGP word list): a byte at an even
place is a word of two syllables, at an odd place one of three, chosen to sound different from each other. A word left
out, said twice or swapped with its neighbour breaks that order, so it is heard.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

WORDS = 8
"""Words of a check value: the first 64 bits of the hash. Whoever wants another record with the same words has to try
some 2^64 of them; the whole hash is what a program compares."""


def words(data: bytes) -> list[str]:
    """Every byte as its word."""
    return [_list()[value][place % 2] for place, value in enumerate(data)]


def check_value(digest: str) -> str:
    """The check value of a hash in hexadecimal, in two groups; "" for none."""
    said = words(bytes.fromhex(digest)[:WORDS])
    return ", ".join(" ".join(said[at : at + 4]) for at in range(0, len(said), 4))


@lru_cache(maxsize=1)
def _list() -> list[tuple[str, str]]:
    text = files("guide.record").joinpath("check_words.txt").read_text(encoding="ascii")
    return [(two, three) for two, three in (line.split() for line in text.splitlines())]
