"""The command `guide report`: the first page to read, the whole as a page, as paper or as data, and two sheets."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from guide.problems import Problem, ProblemError, render, visible

if TYPE_CHECKING:
    from guide.report.document import Document
    from guide.report.found import Found

KINDS = (".html", ".pdf", ".json")
NOT_WHOLE = 1


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the command line."""
    report = commands.add_parser("report", help="what a job came to: the answer first, then everything behind it")
    report.add_argument("job", metavar="DIR", type=Path)
    report.add_argument("--to", metavar="FILE", type=Path, help="FILE.html, .pdf or .json (none: the first page)")
    report.add_argument("--sheet", choices=("care", "order"), help="the owner's sheet, or what to order")
    report.set_defaults(command=_report)


def _report(arguments: argparse.Namespace) -> int:
    from guide.report.found import find

    kind = arguments.to.suffix.lower() if arguments.to is not None else ""
    if kind not in ("", *KINDS) or (arguments.to is not None and not kind):
        message = f'"{arguments.to}" is none of {", ".join(f"FILE{one}" for one in KINDS)}.'
        raise ProblemError([Problem("report-kind", message, hint="The end of the name says what is written.")])
    try:
        found = find(arguments.job)
    except ProblemError as fault:
        for problem in fault.problems:
            print(render(problem), file=sys.stderr)
        print("No report was made: the record is not whole.", file=sys.stderr)
        return NOT_WHOLE
    return _made(found, arguments.sheet, kind, arguments.to)


def _made(found: Found, sheet: str | None, kind: str, to: Path | None) -> int:
    from guide.report.job import job_document
    from guide.report.sheets import care_document, order_document
    from guide.report.text import first_page
    from guide.report.write import write

    make = {"care": care_document, "order": order_document}.get(sheet or "", job_document)
    try:
        document = make(found)
        if to is None:
            print(first_page(document), end="")
            return 0
        data = _bytes(found, document, kind, sheet)
    except ModuleNotFoundError as missing:
        message = f"a report needs the package {missing.name}."
        raise ProblemError([Problem("no-package", message, hint="pip install 'guide[report]'")]) from None
    write(to, data)
    print(visible(f"{document.answer} Written to {to}"))
    return 0


def _bytes(found: Found, document: Document, kind: str, sheet: str | None) -> bytes:
    if kind == ".html":
        from guide.report.page import page

        return page(document).encode()
    if kind == ".pdf":
        from guide.report.paper import paper

        return paper(document, found.ended)
    import json

    from guide.report.data import document_data, job_data

    data = job_data(found) if sheet is None else document_data(document)
    return (json.dumps(data, indent=1) + "\n").encode()
