"""A review: what is told, drawn and written, of which jobs; and what cannot be asked."""

from __future__ import annotations

import csv
import io
import json
import shutil
import sys
from pathlib import Path
from typing import Any

import html5lib
import pytest
from fleet_jobs import CREWS, gathered, write
from fleet_sql import unlike
from records import TINY, TINY_DONE, talked
from running import guide

from guide.cli import main
from guide.fleet.engines import Which
from guide.fleet.questions import QUESTIONS, SURE
from guide.fleet.review import ask, data, review
from guide.fleet.show import span, stands_out
from guide.fleet.store import manifests
from guide.problems import ProblemError
from guide.report import page

ALL = list(QUESTIONS.values())
INVENTED = Which(invented=True)


def told(store: Path, which: Which = INVENTED) -> dict[str, list[dict[str, Any]]]:
    """Every answer by the question's name."""
    return {one.name: answer for one, answer in ask(store, manifests(store), which, ALL, "duckdb")}


def code(store: Path, which: Which = INVENTED, name: str | None = None, to: Path | None = None) -> str:
    """The code of the problem that a review ends with."""
    with pytest.raises(ProblemError) as caught:
        review(store, which, name, to, "duckdb")
    assert all(problem.hint for problem in caught.value.problems)
    return caught.value.problems[0].code


def test_every_question_has_its_words_and_every_job_is_counted(store: Path) -> None:
    answers = told(store)
    assert sum(row["jobs"] for row in answers["jobs"]) == 64
    assert {row["crew"] for row in answers["crews"]} == set(CREWS)
    assert {row["step"] for row in answers["first-try"]} == {
        *("level", "plumb", "square", "joint", "held", "reveal", "swings")
    }
    text = review(store, INVENTED, None, None, "duckdb")
    assert text.startswith("64 jobs\nThese jobs are invented")
    for one in ALL:
        assert set(one.columns) == set(answers[one.name][0] if answers[one.name] else one.columns)


def test_real_jobs_and_invented_ones_are_never_counted_together(fleet: Path, tmp_path: Path) -> None:
    talked(tmp_path / "jobs" / "real", TINY, TINY_DONE)
    gathered(tmp_path / "both", fleet / "2025-01", tmp_path / "jobs")
    assert [row["jobs"] for row in told(tmp_path / "both", Which())["jobs"]] == [1]
    assert sum(row["jobs"] for row in told(tmp_path / "both")["jobs"]) == 60


def test_only_invented_jobs_are_said_to_be_so(store: Path, tmp_path: Path) -> None:
    assert code(store, Which()) == "no-jobs"
    done = guide(tmp_path, "review", str(store))
    assert done.returncode == 3 and "--invented" in done.stderr


def test_no_concession_is_an_answer_too(tmp_path: Path) -> None:
    talked(tmp_path / "job", TINY, TINY_DONE)
    gathered(tmp_path / "store", tmp_path / "job")
    text = review(tmp_path / "store", Which(), "concessions", None, "duckdb")
    assert "Concessions" in text and "Nothing to tell." in text


def test_jobs_are_held_to_procedure_crew_and_months(store: Path) -> None:
    every = told(store)["jobs"]
    assert told(store, Which(True, procedure="row"))["jobs"] == every
    assert sum(row["jobs"] for row in told(store, Which(True, crew=CREWS[0]))["jobs"]) == 7
    assert sum(row["jobs"] for row in told(store, Which(True, since="2025-02"))["jobs"]) == 4
    assert sum(row["jobs"] for row in told(store, Which(True, until="2025-01"))["jobs"]) == 60
    assert code(store, Which(True, procedure="other")) == "no-jobs"
    assert "jobs begun in 2025-02 or later" in review(store, Which(True, since="2025-02"), None, None, "duckdb")


def test_a_page_for_a_browser(store: Path, tmp_path: Path) -> None:
    review(store, INVENTED, None, tmp_path / "review.html", "duckdb")
    text = (tmp_path / "review.html").read_text(encoding="utf-8")
    html5lib.HTMLParser(strict=True).parse(text)
    assert text.count("<svg") == sum(one.bars is not None for one in ALL)
    assert "<script" not in text and "These jobs are invented" in text


def test_paper(store: Path, tmp_path: Path) -> None:
    review(store, INVENTED, None, tmp_path / "review.pdf", "duckdb")
    first = (tmp_path / "review.pdf").read_bytes()
    assert first.startswith(b"%PDF")
    review(store, INVENTED, None, tmp_path / "review.pdf", "duckdb")
    assert (tmp_path / "review.pdf").read_bytes() == first


def test_data_and_a_table_say_the_same(store: Path, tmp_path: Path) -> None:
    answers = told(store)
    review(store, INVENTED, None, tmp_path / "review.json", "duckdb")
    read = json.loads((tmp_path / "review.json").read_text(encoding="utf-8"))
    told_too = data([(one, answers[one.name]) for one in ALL], INVENTED)
    assert {**read, "questions": ""} == {**told_too, "questions": ""}
    for one in ALL:
        assert unlike(read["questions"][one.name]["rows"], answers[one.name]) == ""
        review(store, INVENTED, one.name, tmp_path / "one.csv", "duckdb")
        rows = list(csv.DictReader(io.StringIO((tmp_path / "one.csv").read_text(encoding="utf-8"))))
        assert [float(row["n"]) for row in rows if "n" in row] == [row["n"] for row in answers[one.name] if "n" in row]


@pytest.mark.parametrize("begins", ["=", "+", "-", "@"])
def test_a_cell_is_no_formula(tmp_path: Path, begins: str) -> None:
    """What people said goes into a spreadsheet as words."""
    name = f"{begins}cmd|' /C calc'!A0"
    talked(tmp_path / "job", TINY, TINY_DONE, who=name)
    gathered(tmp_path / "store", tmp_path / "job")
    review(tmp_path / "store", Which(), "crews", tmp_path / "crews.csv", "duckdb")
    (row,) = csv.DictReader(io.StringIO((tmp_path / "crews.csv").read_text(encoding="utf-8")))
    assert row["crew"] == "'" + name


def test_what_cannot_be_asked(store: Path, tmp_path: Path) -> None:
    assert code(store, name="weather") == "no-question"
    assert code(store, to=tmp_path / "all.csv") == "review-csv"
    assert code(store, to=tmp_path / "all.doc") == "review-kind"
    done = guide(tmp_path, "review", str(store), "--since", "2026-13")
    assert done.returncode == 3 and "is not a month" in done.stderr


@pytest.mark.parametrize(
    ("package", "arguments", "extra"),
    [
        ("pyarrow", ["gather", "jobs", "--into", "new"], "fleet"),
        ("duckdb", ["review", "STORE"], "fleet"),
        ("ibis", ["review", "STORE"], "fleet"),
        ("pyspark", ["review", "STORE", "--engine", "spark"], "spark"),
        ("jinja2", ["review", "STORE", "--invented", "--to", "FILE.html"], "report"),
    ],
)
def test_a_package_that_is_not_there_is_named(
    store: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    package: str,
    arguments: list[str],
    extra: str,
) -> None:
    for name in [name for name in sys.modules if name.partition(".")[0] == package]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, package, None)
    monkeypatch.chdir(tmp_path)
    page._template.cache_clear()
    assert main([str(store) if one == "STORE" else one for one in arguments]) == 3
    said = capsys.readouterr().err
    assert package in said and f"guide[{extra}]" in said
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_store(store: Path, tmp_path: Path) -> None:
    assert code(tmp_path / "nowhere") == "no-store"
    (tmp_path / "store.json").write_text('{"store": "something else", "format": 1}')
    assert code(tmp_path) == "not-a-store"
    shutil.copytree(store, tmp_path / "copy")
    (tmp_path / "copy" / "store.json").write_text('{"store": "guide fleet", "format": 2}')
    assert code(tmp_path / "copy") == "store-newer"


@pytest.mark.parametrize("harm", ["gone", "cut", "overwritten", "manifest", "newer", "outside"])
def test_a_damaged_store_is_told(store: Path, tmp_path: Path, harm: str) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(store, copy)
    path = next((copy / "steps").glob("*/*.parquet"))
    manifest = copy / "batches" / "000001.json"
    if harm == "gone":
        path.unlink()
    elif harm == "cut":
        path.write_bytes(path.read_bytes()[:-100])
    elif harm == "overwritten":
        path.write_bytes(b"\1" * path.stat().st_size)
    elif harm == "manifest":
        manifest.write_text("[]")
    elif harm == "newer":
        manifest.write_text(manifest.read_text().replace('"format": 1', '"format": 2'))
    else:
        manifest.write_text(manifest.read_text().replace("steps/month", "../steps/month"))
    assert code(copy) == ("store-newer" if harm == "newer" else "store-damaged")


def test_what_stands_out() -> None:
    row: dict[str, Any] = dict.fromkeys(QUESTIONS["crews"].columns)
    assert not stands_out(QUESTIONS["crews"], row | {"sure": None})
    assert not stands_out(QUESTIONS["crews"], row | {"sure": SURE - 0.01})
    assert stands_out(QUESTIONS["crews"], row | {"sure": -SURE})


def test_a_drift_that_was_put_in_is_found_and_no_other(tmp_path: Path) -> None:
    """The level of one crew moves by 1/64 in in thirty days; 40 jobs spread over 500 days show it."""
    for number in range(40):
        write(tmp_path / "jobs", 2, first=number * 1_750)
    gathered(tmp_path / "store", tmp_path / "jobs")
    found = told(tmp_path / "store")["drift"]
    pointed = {(row["crew"], row["reading"]) for row in found if stands_out(QUESTIONS["drift"], row)}
    assert pointed <= {("Cedar", "level"), ("Cedar", "plumb")}


@pytest.mark.parametrize(("seconds", "said"), [(0, "0 s"), (89, "89 s"), (90, "1.5 min"), (5_400, "1.5 h")])
def test_spans(seconds: float, said: str) -> None:
    assert span(seconds) == said
