"""Procedures: found, read, cross-checked. The format is described in `procedures/README.md`.

`load` and its like return a procedure in which every name resolves, or raise `ProblemError` with every fault that
one pass can find; `examine` returns faults and remarks instead of raising.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from guide.problems import Problem, ProblemError, Problems, did_you_mean
from guide.procedure import files
from guide.procedure.build import examine_source
from guide.procedure.model import Procedure, SourceFile
from guide.procedure.shares import Found

__all__ = ["examine", "load", "load_sources", "load_text", "shipped"]


def shipped() -> Mapping[str, Path]:
    """The procedures that come with the guide: name -> file."""
    return files.shipped()


def load(name_or_path: str | Path) -> Procedure:
    """The shipped procedure of that name, or the one in that file; raises `ProblemError` with every fault."""
    return _whole(examine(name_or_path))


def load_text(name: str, text: str) -> Procedure:
    """The procedure in a text, `name` being its file's name; raises `ProblemError` with every fault."""
    return _whole(examine_source(SourceFile(name, text), name))


def load_sources(sources: Sequence[SourceFile]) -> Procedure:
    """The procedure in the sources kept by a record, its own file first; raises `ProblemError` with every fault."""
    kept = {source.name: source.text for source in sources[1:]}

    def fetch(name: str) -> Found | Problem:
        if name in kept:
            return Found(kept[name], name)
        return Problem("missing", f'there is no file "{name}" among those given', hint=did_you_mean(name, kept))

    if not sources:
        raise _foreign("a procedure is one file or more, and here is none")
    procedure = _whole(examine_source(sources[0], sources[0].name, fetch, kept=True))
    if procedure.sources != tuple(sources):
        shares = ", ".join(source.name for source in procedure.sources[1:]) or "none"
        raise _foreign(f"the files do not belong together: {sources[0].name} shares {shares}")
    return procedure


def _foreign(message: str) -> ProblemError:
    return ProblemError([Problem("sources", message, hint="The record was not written by this guide.")])


def examine(name_or_path: str | Path) -> tuple[Procedure | None, list[Problem], list[Problem]]:
    """The procedure if it has no fault, its faults, and remarks on what is odd without being wrong."""
    path = files.find(name_or_path)
    problems = Problems()
    text = files.read(path, problems)
    if text is None:
        return None, problems.in_order(), []
    return examine_source(SourceFile(path.name, text), str(path), files.beside(path))


def _whole(examined: tuple[Procedure | None, list[Problem], list[Problem]]) -> Procedure:
    procedure, faults, _ = examined
    if procedure is None:
        raise ProblemError(faults)
    return procedure
