"""What is wrong with a text before it is YAML, and YAML's own complaints put into plain words with a cure."""

from __future__ import annotations

import bisect
import re
from collections.abc import Callable
from dataclasses import dataclass

from guide.problems import Place, Problems
from guide.procedure.nodes import Source

MOST_OF_A_KIND = 20
"""Faults of one kind in the characters that are told one by one."""

UNFIT = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b\u2028-\u202e\u2060\u2066-\u2069\ud800-\udfff\ue000-\uf8ff\ufeff\ufffe\uffff]"
)
"""Characters that can't be seen, aren't text, or make other characters show in another order."""

_BYTE_ORDER_MARK = "\ufeff"
_INDENTATION = re.compile(r"^[ ]*([\t\u00a0][ \t\u00a0]*)(?=[^\s#])", re.MULTILINE)


def fit_text(source: Source, problems: Problems) -> tuple[str, frozenset[int]] | None:
    """The text with unfit characters replaced one for one, and the lines with a tab in their indentation.

    Notes every such character. None when there are so many that the file can't be a text at all.
    """
    if source.text.startswith(_BYTE_ORDER_MARK):
        source.text = source.text[1:]
        problems.add("character", *_spotted(source, _BYTE_ORDER_MARK, 0, 0))
    text = source.text
    found = list(UNFIT.finditer(text))
    starts = _LineStarts(text) if found else None
    for one in found[:MOST_OF_A_KIND]:
        assert starts is not None
        problems.add("character", *_spotted(source, one[0], *starts.of(one.start())))
    if len(found) > MOST_OF_A_KIND:
        more = f"{len(found) - MOST_OF_A_KIND:,} more characters of {source.file} are no text"
        problems.add("character", more, hint="Is it a text file at all? Nothing else in it was checked.")
        return None
    if found:
        text = UNFIT.sub("\N{REPLACEMENT CHARACTER}", text)
    tabs = _indentation(source, text, problems)
    return text.replace("\u00a0", " "), tabs


def _indentation(source: Source, text: str, problems: Problems) -> frozenset[int]:
    """Note tabs and non-breaking spaces that indent a line; the lines that have a tab."""
    if "\t" not in text and "\u00a0" not in text:
        return frozenset()
    starts = _LineStarts(text)
    tabs: set[int] = set()
    for number, one in enumerate(_INDENTATION.finditer(text)):
        line, column = starts.of(one.start(1))
        what = "tab" if "\t" in one[1] else "non-breaking space"
        if what == "tab":
            tabs.add(line)
        if number < MOST_OF_A_KIND:
            message = f"a {what} in the indentation, where YAML takes only spaces"
            problems.add(what.replace(" ", "-"), message, source.spot(line, column), "Use spaces.")
        elif number == MOST_OF_A_KIND:
            problems.add(what.replace(" ", "-"), f"further lines of {source.file} are indented so", hint="Use spaces.")
    return frozenset(tabs)


class _LineStarts:
    """Line and column of an offset."""

    def __init__(self, text: str) -> None:
        self._starts = [0, *(one.end() for one in re.finditer(r"\r\n|\r|\n", text))]

    def of(self, offset: int) -> tuple[int, int]:
        line = bisect.bisect_right(self._starts, offset) - 1
        return line, offset - self._starts[line]


def _spotted(source: Source, char: str, line: int, column: int) -> tuple[str, Place, str]:
    message, hint = _unfit(char)
    return message, source.spot(line, column), hint


def _unfit(char: str) -> tuple[str, str]:
    code = ord(char)
    if 0xDC80 <= code <= 0xDCFF:
        return f"byte 0x{code - 0xDC00:02X} is not UTF-8", "Save the file as UTF-8."
    if char == _BYTE_ORDER_MARK:
        return "a byte order mark (U+FEFF)", "Save the file as UTF-8 without a byte order mark."
    if char == "\0":
        return "a NUL character (U+0000)", "Delete it."
    return f"the character U+{code:04X}, which can't be seen or has no meaning", "Delete it."


@dataclass(frozen=True, slots=True)
class Complaint:
    """What YAML's reader says: its words, the line it stopped in, the rest of it, and what it was about."""

    problem: str
    context: str
    line: str
    column: int
    same_line: bool
    """Whether what it was reading began on this line."""

    @property
    def rest(self) -> str:
        """The line from where it stopped."""
        return self.line[self.column :]

    @property
    def first(self) -> bool:
        """Whether nothing but spaces stands before it."""
        return not self.line[: self.column].strip()


@dataclass(frozen=True, slots=True)
class Told:
    """The complaint in plain words; `at_start` when the fault lies where the unfinished thing began."""

    message: str
    hint: str
    at_start: bool = False


_QUOTE = "Put the whole text in quotes."
_QUOTE_SIGNS = 'Put words with { } [ ] , or ": " in quotes.'


def syntax_fault(said: Complaint) -> Told:
    """A syntax error in plain words, with the likely cure."""
    for needle, tell in _SYNTAX:
        if needle in said.problem or needle in said.context:
            return tell(said)
    return Told(f"this can't be read as YAML: {said.problem}", _QUOTE)


def _colon(said: Complaint) -> Told:
    if re.fullmatch(r"\s*[\w-]+\s*", said.line[: said.column]):
        return Told("this key is indented under a text that can't have keys", "Line it up with the keys it belongs to.")
    return Told('a ":" inside a text', 'Put words with ": " in quotes.')


def _block_end(said: Complaint) -> Told:
    if said.first:
        return Told("this line's indentation fits nothing above it", "Line it up with the keys it belongs to.")
    if not {'"', "'"}.intersection(said.line[: said.column]):
        return Told("this can't stand here", _QUOTE)
    return Told(
        "something follows the closing quote",
        "Put the whole text in quotes; inside ' ' write '' for an apostrophe.",
    )


def _unclosed(said: Complaint) -> Told:
    opening, closing = ("{", "}") if "}" in said.problem else ("[", "]")
    before = said.line[: said.column]
    if said.same_line and said.rest.strip() or said.rest[:1] in {"{", "["} or ":" in before:
        shown = said.rest[:1].strip() or "this"
        return Told(f'"{shown}" can\'t stand here inside {opening} {closing}', _QUOTE_SIGNS)
    return Told(f'this "{opening}" is never closed', f'Close it with "{closing}".', at_start=True)


def _no_token(said: Complaint) -> Told:
    char = said.rest[:1]
    if char == "\t":
        return Told("a tab where YAML takes only spaces", "Use spaces.")
    return Told(f'a text can\'t begin with "{char}"', _QUOTE)


def _name(said: Complaint) -> Told:
    sign = "*" if "alias" in said.context else "&"
    return Told(f'a text can\'t begin with "{sign}"', _QUOTE, at_start=True)


def _always(message: str, hint: str, at_start: bool = False) -> Callable[[Complaint], Told]:
    return lambda said: Told(message, hint, at_start)


_SYNTAX: tuple[tuple[str, Callable[[Complaint], Told]], ...] = (
    ("maximum nesting depth", _always("this is nested far too deep", "Is a bracket not closed?")),
    ("mapping values are not allowed", _colon),
    ("could not find expected ':'", _always('this line has no ":"', 'Write "key: value".', at_start=True)),
    ("',' or '}'", _unclosed),
    ("',' or ']'", _unclosed),
    ("parsing a block collection", _always('this line of a list has no "-"', 'Begin it with "- ".')),
    ("parsing a block mapping", _block_end),
    ("node content", lambda said: Told(f'a value can\'t begin with "{said.rest[:1]}"', _QUOTE)),
    ("found a tab character", _always("a tab where YAML takes only spaces", "Use spaces.")),
    ("cannot start any token", _no_token),
    ("scanning an alias", _name),
    ("scanning an anchor", _name),
    (
        "escape",
        _always('an unknown escape after "\\"', r"Write \\ for a backslash, or use ' ' in place of the double quotes."),
    ),
    ("hexdecimal", _always('an unknown escape after "\\"', r"Write \\ for a backslash.")),
    ("hexadecimal", _always('an unknown escape after "\\"', r"Write \\ for a backslash.")),
    ("quoted scalar", _always("this quote is never closed", "Close it, or leave it out.", at_start=True)),
    ("tag", _always('a text that begins with "!" is a tag, and tags are not understood here', _QUOTE)),
    (
        "sequence entries are not allowed",
        _always('a list with "-" can\'t begin in the middle of a line', "Begin it on a line of its own."),
    ),
    (
        "scanning a block scalar",
        _always('nothing may follow "|" or ">" on its line', "Begin the text on the next line."),
    ),
    ("directive", _always('a line that begins with "%" is not understood here', "Remove it.")),
    ("incompatible YAML document", _always('a line that begins with "%" is not understood here', "Remove it.")),
    ("<document start>", _always("this stands outside the document", 'Remove the line "..." or "%" before it.')),
)
