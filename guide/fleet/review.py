"""A review: the questions asked of a store, and their answers as lines, page, paper, data or a table."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from guide.fleet.engines import Answer, Name, Which, opened
from guide.fleet.questions import QUESTIONS, Question
from guide.fleet.rows import FORMAT
from guide.fleet.show import document, lines
from guide.fleet.store import BATCHES, Manifest, manifests
from guide.fleet.words import counted, say
from guide.problems import Problem, ProblemError, visible
from guide.report.write import write

KINDS = (".html", ".pdf", ".json", ".csv")
Asked = list[tuple[Question, Answer]]


def review(store: Path, which: Which, name: str | None, to: Path | None, engine: Name) -> str:
    """Ask the questions and return what is told of them; with `to`, they are written there. Raises `ProblemError`."""
    questions = _questions(name)
    kind = _kind(to, name)
    batches = manifests(store)
    asked = ask(store, batches, which, questions, engine)
    if to is None:
        return lines(asked, _title(which), _foot(store, batches, which, engine))
    write(to, _bytes(asked, kind, store, batches, which, engine))
    return visible(say("review.written", path=to)) + "\n"


def ask(store: Path, batches: list[Manifest], which: Which, questions: list[Question], engine: Name) -> Asked:
    """The answers to questions of a store, for the jobs that are meant; raises `ProblemError` if there are none."""
    with opened(store, batches, engine) as at:
        asked = [(one, at.answer(one, which)) for one in questions]
        if not any(answer for _, answer in asked) and not at.jobs(which):
            only_invented = not which.invented and not at.jobs(Which()) and at.jobs(Which(invented=True))
            key = "only-invented" if only_invented else "empty"
            hint = say(f"review.{key}-hint")
            raise ProblemError([Problem("no-jobs", say(f"review.{key}", store=store), hint=hint)])
    return asked


def _questions(name: str | None) -> list[Question]:
    if name is None:
        return list(QUESTIONS.values())
    if name not in QUESTIONS:
        hint = say("review.unknown-hint", names=", ".join(QUESTIONS))
        raise ProblemError([Problem("no-question", say("review.unknown", name=name), hint=hint)])
    return [QUESTIONS[name]]


def _kind(to: Path | None, name: str | None) -> str:
    if to is None:
        return ""
    kind = to.suffix.lower()
    if kind not in KINDS:
        raise ProblemError([Problem("review-kind", say("review.kind", path=to), hint=say("review.kind-hint"))])
    if kind == ".csv" and name is None:
        hint = say("review.csv-hint", names=", ".join(QUESTIONS))
        raise ProblemError([Problem("review-csv", say("review.csv"), hint=hint)])
    return kind


def _bytes(asked: Asked, kind: str, store: Path, batches: list[Manifest], which: Which, engine: Name) -> bytes:
    if kind == ".json":
        return (json.dumps(data(asked, which), indent=1) + "\n").encode()
    if kind == ".csv":
        return _csv(*asked[0])
    whole = document(asked, _title(which), _foot(store, batches, which, engine))
    try:
        if kind == ".html":
            from guide.report.page import page

            return page(whole).encode()
        from guide.report.paper import paper

        return paper(whole, _made(store, batches))
    except ModuleNotFoundError as missing:
        message = say("engine.missing", package=missing.name)
        raise ProblemError([Problem("no-package", message, hint="pip install 'guide[report]'")]) from None


def _made(store: Path, batches: list[Manifest]) -> datetime:
    """When the newest batch was gathered: the same store gives the same paper."""
    newest = store / BATCHES / f"{batches[-1].batch:06}.json"
    return datetime.fromtimestamp(int(newest.stat().st_mtime), UTC)


def data(asked: Asked, which: Which) -> dict[str, Any]:
    """All answers as plain JSON data; times in seconds, lengths in inches, shares from 0 to 1."""
    return {
        "format": FORMAT,
        "invented": which.invented,
        "held_to": {name: getattr(which, name) for name in ("procedure", "crew", "since", "until")},
        "questions": {
            one.name: {"title": say(f"ask.{one.name}"), "about": say(f"about.{one.name}"), "rows": answer}
            for one, answer in asked
        },
    }


def _csv(question: Question, answer: Answer) -> bytes:
    out = io.StringIO()
    writer = csv.DictWriter(out, list(question.columns), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({name: _cell(value) for name, value in row.items()} for row in answer)
    return out.getvalue().encode()


def _cell(value: object) -> object:
    """A cell that no spreadsheet takes for a formula."""
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return "'" + value
    return value


def _title(which: Which) -> list[str]:
    """What is to be said first: of which jobs."""
    held = [
        say(f"review.held-{name}", value=value)
        for name in ("procedure", "crew", "since", "until")
        if (value := getattr(which, name))
    ]
    told = [say("review.held-to", what="; ".join(held))] if held else []
    return [say("review.invented"), *told] if which.invented else told


def _foot(store: Path, batches: list[Manifest], which: Which, engine: Name) -> list[str]:
    made = counted("review.store", len(batches), store=store, engine=_ENGINES[engine])
    return [made, say("review.shares"), say("review.causes")]


_ENGINES = {"duckdb": "DuckDB", "spark": "Apache Spark"}
