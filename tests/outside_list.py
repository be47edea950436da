"""The list of outside checks for DEVELOPERS.md, taken from the markers in tests/outside.

`python tests/outside_list.py` prints it; with `--write` it is put between the two comments in DEVELOPERS.md.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent
DOCUMENT = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- outside checks: begin -->", "<!-- outside checks: end -->"
STANDINGS = ("published", "published, from memory", "common practice", "computed")


class Check(NamedTuple):
    """One outside check: its file and name, what it shows, what against, and how well that is known."""

    file: str
    name: str
    shows: str
    source: str
    standing: str


def fault_of(marks: Sequence[object] | None) -> str | None:
    """What is wrong with a marker's arguments, or None."""
    if marks is None or len(marks) != 2 or not all(isinstance(mark, str) and mark for mark in marks):
        return 'an outside check is marked @pytest.mark.outside("source", "standing")'
    if marks[1] not in STANDINGS:
        return f'"{marks[1]}" is not a standing; one of: {"; ".join(STANDINGS)}'
    return None


def checks(folder: Path = ROOT / "tests" / "outside") -> list[Check]:
    """Every marked test under the folder, by file and in the order written; raises ValueError on a faulty marker."""
    found = []
    for path in sorted(folder.rglob("test_*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                found.append(_check(path, node))
    return found


def _check(path: Path, node: ast.FunctionDef) -> Check:
    file = path.relative_to(ROOT).as_posix() if path.is_relative_to(ROOT) else path.name
    marks: tuple[object, ...] | None = None
    for decorator in node.decorator_list:
        if isinstance(decorator, ast.Call) and ast.unparse(decorator.func) == "pytest.mark.outside":
            marks = tuple(ast.literal_eval(argument) for argument in decorator.args)
    fault = fault_of(marks)
    if fault or marks is None:
        raise ValueError(f"{file}:{node.lineno}: {node.name}: {fault}")
    shows = (ast.get_docstring(node) or node.name.removeprefix("test_").replace("_", " ")).splitlines()[0].rstrip(".")
    return Check(file, node.name, shows, str(marks[0]), str(marks[1]))


def table(found: Sequence[Check]) -> str:
    """The checks as a Markdown table."""
    lines = ["| shows | checked against | standing | test |", "|---|---|---|---|"]
    for check in found:
        where = f"`{check.file.removeprefix('tests/outside/')}::{check.name}`"
        cells = (check.shows, check.source, check.standing, where)
        lines.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(lines)


def with_list(document: str, listed: str) -> str:
    """The document with what lies between its two comments replaced by the list."""
    before, _, rest = document.partition(BEGIN)
    _, _, after = rest.partition(END)
    if not after:
        raise ValueError(f"the document lacks {BEGIN} or {END}")
    return f"{before}{BEGIN}\n{listed}\n{END}{after}"


def main(arguments: Sequence[str]) -> int:
    """Print the list, or write it into DEVELOPERS.md."""
    listed = table(checks())
    if "--write" in arguments:
        DOCUMENT.write_text(with_list(DOCUMENT.read_text(encoding="utf-8"), listed), encoding="utf-8")
    else:
        print(listed)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
