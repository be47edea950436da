"""An utterance cut into tokens: words, numbers, units and marks, whatever the typing."""

from __future__ import annotations

import re
import unicodedata

from guide.talk.numbers import GLYPHS

LONGEST = 300
"""Characters of a reading that are looked at; anything longer is no reading."""

_SAME = str.maketrans(
    {
        "’": "'", "‘": "'", "′": "'", "´": "'", "`": "'",
        "″": '"', "”": '"', "“": '"', "˝": '"',
        "−": "-", "–": "-", "—": "-", "⁄": "/", "÷": "/",
        "\u00a0": " ", "\u2009": " ", "\u202f": " ",
    }
)  # fmt: skip
_TOKEN = re.compile(
    r"""
      \d+-\d+/\d+                     # 36-3/16
    | \d+/\d+
    | \d{1,6},\d{1,6}(?![\d/])        # 36,5  1,250
    | \d*\.\d+
    | \d+(?:st|nd|rd|th)s?            # 16ths
    | \d+
    | [a-z°%]+\d?(?:'[a-z]+)?         # words, it's, ft2
    | ''|"|'|\+|-|,|;|/
    """,
    re.VERBOSE,
)
_LETTERS_DIGITS = re.compile(r"^(mm|cm|m|in|ft|kg|lb)(\d)$")


def tokens(text: str) -> list[str] | None:
    """The tokens of an utterance in lower case, or None if it holds what no reading holds."""
    if len(text) > LONGEST:
        return None
    plain = text.translate(_SAME)
    for glyph, written in GLYPHS.items():
        plain = plain.replace(glyph, f" {written} ")
    plain = unicodedata.normalize("NFKC", plain).lower()
    plain = re.sub(r"(\d)\s*/\s*(\d)", r"\1/\2", plain)
    plain = re.sub(r"(\d)\s+-\s*(\d+/\d)", r"\1 \2", plain)
    plain = re.sub(r"(?<=[a-z])-(?=[a-z])", " ", plain)
    plain = re.sub(r"(?<=['\"])\s*-\s*(?=\d)", " ", plain)
    plain = re.sub(r"[.!?:]+(?=\s|$)", " ", plain)
    plain = re.sub(r"\b(?:minus|negative)\s+(?=[\d.]|[a-z])", "-", plain)
    found: list[str] = []
    at = 0
    while at < len(plain):
        if plain[at].isspace():
            at += 1
            continue
        token = _TOKEN.match(plain, at)
        if token is None:
            return None
        found.append('"' if token[0] == "''" else token[0])
        at = token.end()
    return found
