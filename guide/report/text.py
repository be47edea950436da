"""The first page of a document as lines for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from guide.problems import visible
from guide.report.document import Document, Facts, Items, Paragraph, Table


def first_page(document: Document, width: int = 80) -> str:
    """Title, answer and lead, wrapped; every control character shown as an escape."""
    lines = [document.title, document.answer, ""]
    for one in document.lead:
        if isinstance(one, Paragraph):
            lines += [one.text]
        elif isinstance(one, Items):
            lines += [f"- {item}" for item in one.items]
        elif isinstance(one, Facts):
            lines += [f"{term}: {text}" for term, text in one.rows]
        elif isinstance(one, Table):
            lines += ["", f"{one.caption}:", *_rows(one), ""]
    wrapped = (textwrap.wrap(visible(line), width, subsequent_indent="  ") or [""] for line in lines)
    return "\n".join(line for part in wrapped for line in part) + "\n"


def _rows(table: Table) -> Iterator[str]:
    for i, row in enumerate(table.rows):
        mark = "!" if i in table.strong else "-"
        rest = "; ".join(f"{head.lower()}: {cell}" for head, cell in zip(table.heads[1:], row[1:], strict=True) if cell)
        yield f"{mark} {row[0]}: {rest}"
