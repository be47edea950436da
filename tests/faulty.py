"""Faulty procedures in tests: a text with a mark before each spot where a fault is to be found."""

from __future__ import annotations

from guide.problems import Problem
from guide.procedure.build import examine_source
from guide.procedure.model import Procedure, SourceFile

MARK = "▸"
HEAD = "format: 1\ntitle: Set a shelf\n"

Expected = tuple[str, str | None]
"""A fault's message and hint."""


def marked(text: str) -> tuple[str, list[tuple[int, int]]]:
    """The text without its marks, and the line and column of each, from 1."""
    spots = []
    while (at := text.find(MARK)) >= 0:
        before = text[:at]
        spots.append((before.count("\n") + 1, at - before.rfind("\n")))
        text = before + text[at + 1 :]
    return text, spots


def examined(text: str) -> tuple[Procedure | None, list[Problem], list[Problem]]:
    """A text as `guide check` sees it, under the name bench.yaml."""
    return examine_source(SourceFile("bench.yaml", text), "bench.yaml")


def assert_faults(text: str, expected: list[Expected], head: str = HEAD) -> None:
    """The text has these faults and no others, each where a mark stands, in that order."""
    clean, spots = marked(head + text.removeprefix("\n"))
    procedure, faults, _ = examined(clean)
    assert procedure is None
    assert [(fault.message, fault.hint) for fault in faults] == expected
    assert [(f.place.line, f.place.column) for f in faults if f.place is not None] == spots
    for fault in faults:
        assert fault.place is None or fault.place.text == clean.split("\n")[fault.place.line - 1].rstrip("\r")


def assert_remarks(text: str, expected: list[str], head: str = HEAD) -> None:
    """The text has no fault, and these remarks and no others, each where a mark stands."""
    clean, spots = marked(head + text.removeprefix("\n"))
    procedure, faults, remarks = examined(clean)
    assert (procedure is not None, faults) == (True, [])
    assert [remark.message for remark in remarks] == expected
    assert [(r.place.line, r.place.column) for r in remarks if r.place is not None] == spots


def good(text: str, head: str = HEAD) -> Procedure:
    """The procedure in a text that has no fault."""
    procedure, faults, _ = examined(head + text.removeprefix("\n"))
    assert procedure is not None, [fault.message for fault in faults]
    return procedure
