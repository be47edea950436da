"""Answers for people: a document with tables and drawings, and lines for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

from guide.fleet.engines import Answer
from guide.fleet.questions import SURE, Question, Shape
from guide.fleet.words import counted, say, words
from guide.problems import visible
from guide.report.document import Block, Document, Figure, Paragraph, Section, Table

Asked = Sequence[tuple[Question, Answer]]
DRAWN = 20
"""Rows that a drawing has at most: the first ones."""
ON_PAGE, IN_LINES = 200, 12
"""Rows of a table on a page, and in a terminal."""


def document(asked: Asked, told: Sequence[str], foot: Sequence[str]) -> Document:
    """The whole review, for page and paper."""
    sections = [Section(say(f"ask.{one.name}"), list(_blocks(one, answer))) for one, answer in asked]
    return Document(say("review.title"), _answer(asked), "", [Paragraph(one) for one in told], sections, foot)


def _answer(asked: Asked) -> str:
    for one, answer in asked:
        if one.name == "jobs":
            return counted("review.answer", sum(row["jobs"] for row in answer))
    return ""


def _blocks(question: Question, answer: Answer) -> Iterator[Block]:
    yield Paragraph(say(f"about.{question.name}"))
    if not answer:
        yield Paragraph(say("review.nothing"))
        return
    if question.bars is not None:
        yield _bars(question, answer)
    rows = [cells(question, row) for row in answer[:ON_PAGE]]
    strong = frozenset(i for i, row in enumerate(answer[:ON_PAGE]) if stands_out(question, row))
    yield Table(say(f"ask.{question.name}"), heads(question), rows, strong)
    if len(answer) > ON_PAGE:
        yield Paragraph(say("review.more", number=f"{len(answer) - ON_PAGE:,}"))


def lines(asked: Asked, told: Sequence[str], foot: Sequence[str]) -> str:
    """The review for a terminal: every question with its first rows; control characters shown as escapes."""
    out = [_answer(asked) or say("review.title"), *told, ""]
    for one, answer in asked:
        out += [say(f"ask.{one.name}"), *textwrap.wrap(say(f"about.{one.name}"), 80)]
        out += _grid(one, answer) if answer else [say("review.nothing")]
        if len(answer) > IN_LINES:
            out.append(say("review.more", number=f"{len(answer) - IN_LINES:,}"))
        out.append("")
    for text in foot:
        out += textwrap.wrap(text, 80, subsequent_indent="  ")
    return "".join(visible(line) + "\n" for line in out)


def _grid(question: Question, answer: Answer) -> Iterator[str]:
    """A table in columns; a row that stands out begins with "!"."""
    shown = [heads(question), *(cells(question, row) for row in answer[:IN_LINES])]
    marks = [" ", *("!" if stands_out(question, row) else " " for row in answer[:IN_LINES])]
    wide = [max(len(visible(row[at])) for row in shown) for at in range(len(shown[0]))]
    for mark, row in zip(marks, shown, strict=True):
        parts = [
            visible(cell).ljust(width) if shape == "text" else visible(cell).rjust(width)
            for cell, width, shape in zip(row, wide, _shapes(question), strict=True)
        ]
        yield f"{mark} {'  '.join(parts)}".rstrip()


def stands_out(question: Question, row: dict[str, Any]) -> bool:
    """Whether a row is pointed at: a difference or a drift beyond what chance gives 1 time in 1,000."""
    return any(
        shape == "sure" and row[name] is not None and abs(row[name]) >= SURE for name, shape in question.columns.items()
    )


def heads(question: Question) -> tuple[str, ...]:
    """The heads of a question's columns; an interval stands in the column of its share."""
    return tuple(_head(question, name) for name in _columns(question))


def _head(question: Question, name: str) -> str:
    own = f"head.{question.name}-{name}"
    return say(own if words().has(own) else f"head.{name}")


def cells(question: Question, row: dict[str, Any]) -> tuple[str, ...]:
    """A row in words."""
    return tuple(_cell(question.columns[name], row, name) for name in _columns(question))


def _columns(question: Question) -> list[str]:
    return [name for name in question.columns if not name.endswith(("_low", "_high"))]


def _shapes(question: Question) -> list[Shape]:
    return [question.columns[name] for name in _columns(question)]


def _cell(shape: Shape, row: dict[str, Any], name: str) -> str:
    value = row[name]
    if value is None:
        return ""
    if shape == "share":
        low, high = row.get(f"{name}_low"), row.get(f"{name}_high")
        between = f" ({100 * low:.1f}–{100 * high:.1f})" if low is not None and high is not None else ""
        return f"{100 * value:.1f} %{between}"
    if shape == "seconds":
        return span(value)
    if shape == "count":
        return f"{value:,}"
    if shape == "amount":
        return f"{value:.4f}"
    return value if shape == "text" else f"{value:.2f}"


def span(seconds: float) -> str:
    """How long, to three figures or so: "42 s", "7.5 min", "3.2 h"."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.1f} min" if seconds < 90 * 60 else f"{seconds / 3600:,.1f} h"


LINE, LABEL, EDGE = 22, 150, 46
"""Units of a row, of the room for its name, and of that for its figure."""


def _bars(question: Question, answer: Answer) -> Figure:
    """A bar for each row from nothing, with its interval; told apart by length, never by colour."""
    from guide.report.sketch import WIDE, Sketch

    assert question.bars is not None
    value, low, high = question.bars
    rows = [row for row in answer[:DRAWN] if row[value] is not None]
    shape = question.columns[value]
    most = max((row[high or value] or 0.0 for row in rows), default=0.0) or 1.0
    room = WIDE - LABEL - EDGE
    sketch = Sketch(LINE * len(rows) + 8, say(f"ask.{question.name}"))
    for at, row in enumerate(rows):
        y = 4 + at * LINE
        name = _name(question, row)
        sketch.words(name if len(name) <= 26 else name[:25] + "…", (0, y + 14), size=10)
        sketch.box(LABEL, y + 5, max(0.5, room * row[value] / most), 11, fill="#777")
        if low and row[low] is not None:
            a, b = (LABEL + room * row[end] / most for end in (low, high))
            sketch.line((a, y + 10.5), (b, y + 10.5), 1.5)
            for x in (a, b):
                sketch.line((x, y + 6.5), (x, y + 14.5), 1.5)
        told = f"{100 * row[value]:.1f} %" if shape == "share" else _cell(shape, row, value)
        sketch.words(told, (WIDE, y + 14), anchor="end", size=10)
    drawn = say("review.drawn" if low else "review.drawn-plain")
    if len(answer) > len(rows):
        drawn += " " + say("review.drawn-some", number=len(rows))
    title = f"{say(f'ask.{question.name}')}: {_head(question, value).lower()}"
    return Figure(sketch.svg(), title, drawn)


def _name(question: Question, row: dict[str, Any]) -> str:
    """What a row is about: the last of its keys first, since the first is often the same."""
    return ", ".join(str(row[name]) for name in reversed(question.keys) if row[name])
