"""An utterance cut into words, numbers, units and marks, whatever the typing, each with its place in the text.

Characters are brought to one form one by one, so that what is not understood stays as it was typed. A dash or a plus is
told apart by what stands around it: "-" and "+" are signs, "~-" and "~+" are marks between or behind things.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache

from guide.talk.vocabulary import language

LONGEST = 300
"""Characters of a reading that are looked at; anything longer is no reading."""
MOST = 120
"""Tokens of a reading."""
WORDS_MOST = 4_096
"""Words whose spelling is kept: talk and noise bring ever new ones."""

DASH, PLUS, COMMA = "~-", "~+", ","
SEPARATORS = frozenset({COMMA, ";"})

_SAME = str.maketrans(
    {
        "’": "'", "‘": "'", "′": "'", "´": "'", "`": "'", "ʹ": "'", "ʼ": "'",
        "″": '"', "”": '"', "“": '"', "„": '"', "˝": '"', "ʺ": '"',
        "−": "-", "–": "-", "—": "-", "‐": "-", "‑": "-", "‒": "-", "﹣": "-", "－": "-",
        "⁄": "/", "∕": "/", "÷": "/", "／": "/",
        "\n": ";", "\r": " ", "\t": " ", "…": " ", "≈": "~", "≅": "~", "，": ",", "；": ";",
    }
)  # fmt: skip
_INVISIBLE = frozenset("\u00ad\u200b\u200c\u200d\u2060\ufeff\u200e\u200f")
_TOKEN = re.compile(
    r"""
      (?P<number>
          [0-9]{1,6}-[0-9]{1,4}/[0-9]{1,4}(?![0-9/-]|\.[0-9])         # 36-3/16
        | [0-9]{1,6}\s*/\s*[0-9]{1,6}(?![0-9/]|\.[0-9])               # 3/16
        | [0-9]{1,2}-[0-9]{1,2}(?![0-9/-]|\.[0-9])                    # 6-8, feet and inches
        | [0-9]{1,3}(?:\ [0-9]{3})+(?=\ ?mm\b)                 # 1 250 mm
        | [0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+                     # 1,250.5
        | [0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+                     # 1.250,5
        | [0-9]{1,6},[0-9]{1,6}(?![0-9/]|\ ?/|,[0-9])          # 36,5 and 1,250
        | [0-9]*\.[0-9]+
        | [0-9]+
      )
      (?:(?P<ordinal>st|nd|rd|th)s?(?![a-z]))?
    | (?P<unit>(?:mm/m|in/ft|(?:mm|cm|m|in|ft)[23])(?![a-z0-9]))
    | (?P<word>'n'|[a-z]+(?:'[a-z]+)?)
    | (?P<mark>''|[-+"',;°%&@=~])
    """,
    re.VERBOSE,
)
_STOP = re.compile(r"(?:[.!?]+(?=[\s;,]|$)|(?<=[a-z]):|:(?=\s|$))")


@dataclass(frozen=True, slots=True)
class Cut:
    """The words of an utterance, and where each begins and ends in its text."""

    text: str
    words: tuple[str, ...]
    spans: tuple[tuple[int, int], ...]

    def part(self, start: int, end: int) -> Cut:
        """Some of the words, without separators at either end; the text stays whole."""
        while start < end and self.words[start] in SEPARATORS:
            start += 1
        while end > start and self.words[end - 1] in SEPARATORS:
            end -= 1
        return Cut(self.text, self.words[start:end], self.spans[start:end])

    def said(self, start: int = 0, end: int | None = None) -> str:
        """The text from the first to the last of these words, as it was typed or heard."""
        spans = self.spans[start:end]
        return self.text[spans[0][0] : spans[-1][1]] if spans else ""

    def __len__(self) -> int:
        return len(self.words)


def cut(text: str, commas_part: bool = False) -> Cut | None:
    """The utterance cut up, or None if it holds what no reading holds, or too much.

    With `commas_part` a comma between digits parts two numbers ("74,75"), else it belongs to one (36,5 or 1,250).
    """
    if len(text) > LONGEST:
        return None
    plain, where = _plain(text)
    words: list[str] = []
    spans: list[tuple[int, int]] = []
    at = 0
    while at < len(plain):
        stop = _STOP.match(plain, at)
        if stop or plain[at] == " ":
            at = stop.end() if stop else at + 1
            continue
        found = _TOKEN.match(plain, at)
        if found is None or len(words) >= MOST:
            return None
        end = found.end()
        said = tuple(_words(found, plain))
        if commas_part and found["number"] and "," in found["number"]:
            end = plain.index(",", at)
            said = (plain[at:end],)
        for word in said:
            words.append(word)
            spans.append((where[at], where[end - 1] + 1))
        at = end
    return Cut(text, tuple(words), tuple(spans)).part(0, len(words))


def _plain(text: str) -> tuple[str, list[int]]:
    """The text in one form, and where each of its characters comes from."""
    chars: list[str] = []
    where: list[int] = []
    before = ""
    if re.match(r",[0-9]+(?![0-9/,])", text.strip()):
        text = text.replace(",", ".", 1)  # ",5" is half, not five behind a comma
    for i, char in enumerate(text.translate(_SAME)):
        if char in _INVISIBLE:
            continue
        kind = unicodedata.decomposition(char).partition(">")[0]
        form = unicodedata.normalize("NFKC", char).translate(_SAME).lower()
        # "36½" and "36³⁄₁₆" are a number and a fraction, never 361/2 or 363/16
        if form[:1].isdigit() and before[-1:] == "1" and before != kind.replace("<wide", "") + "1":
            form = " " + form
        if char.isspace():
            form = " "
        chars += form
        where += [i] * len(form)
        before = kind.replace("<wide", "") + ("1" if form[-1:].isdigit() else "0")
    return "".join(chars), where


def _words(found: re.Match[str], plain: str) -> Iterator[str]:
    """The words that one match stands for."""
    number, word, mark = found["number"], found["word"], found["mark"]
    if number:
        written = "".join(number.split())
        if found["ordinal"] and "/" not in written:
            written += "th"
        yield written
    elif found["unit"]:
        yield found["unit"]
    elif word:
        yield from _spelt(word)
    elif mark in "-+":
        yield from _sign(mark, plain, found.start(), found.end())
    else:
        yield {"''": '"', "&": "and", "@": "at", "=": "is", "~": "about"}.get(mark, mark)


def _sign(mark: str, plain: str, start: int, end: int) -> Iterator[str]:
    """What a dash or a plus is, by what stands before and behind it."""
    left, right = plain[:start], plain[end:]
    before, behind = left.rstrip(), right.lstrip()
    tight_left, tight_right = bool(left) and left == before, right == behind
    a_word = behind[:1].isalpha()
    if mark == "+" and left[-1:].isdigit() and right[:1].isdigit():
        yield "and"
    elif mark == "-" and behind and (before[-1:] in ("'", '"') or (tight_left and a_word)):
        return  # 6'-8", thirty-six, 36-inch
    elif not before or before[-1] in ",;" or (behind and not tight_left and tight_right):
        yield mark
    elif mark == "-" and a_word:
        yield COMMA  # a pause: "1/16 - high on the left"
    else:
        yield DASH if mark == "-" else PLUS


@cache
def _glued() -> dict[str, tuple[str, ...]]:
    """Number words written as one: "thirtysix"."""
    numbers = language()["numbers"]
    ones = numbers["ones"].split()[1:10]
    return {ten + one: (ten, one) for ten in numbers["tens"].split() for one in ones}


@lru_cache(maxsize=WORDS_MOST)
def _spelt(word: str) -> tuple[str, ...]:
    """A word as the lists spell it; a contraction is written out, "sixish" is six and not quite."""
    words = language()
    spelling = words["spelling"]
    if word in spelling:
        return tuple(spelling[word].split())
    if word in _glued():
        return _glued()[word]
    for ending, full in words["ending"].items():
        if word.endswith(ending) and len(word) > len(ending):
            return (*_spelt(word.removesuffix(ending)), full)
    stem = word.removesuffix("ish")
    if stem and stem != word and (stem in words["parts"] or stem in _glued() or stem in _number_words()):
        return (*_spelt(stem), "ish")
    return (word,)


@cache
def _number_words() -> frozenset[str]:
    numbers = language()["numbers"]
    return frozenset(f"{numbers['ones']} {numbers['tens']} {numbers['hundred']}".split())
