"""What a review answers, against SQL written by hand and against numpy and scipy on the same rows."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pyarrow.dataset
import pytest
from fleet_jobs import gathered, write
from fleet_sql import asked, unlike
from scipy import stats

from guide.fleet.engines import Which, opened
from guide.fleet.questions import QUESTIONS
from guide.fleet.store import manifests

Rows = list[dict[str, Any]]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of an invented fleet, a few of whose jobs were gathered twice: when they were open, and later."""
    folder = tmp_path_factory.mktemp("store")
    write(folder / "jobs", 80)
    for number in range(8):
        write(folder / "jobs", 10, first=8_000 * (number + 1))
    later = {}
    for path in sorted((folder / "jobs").rglob("record.jsonl"))[::9]:
        later[path] = path.read_bytes()
        path.write_bytes(b"".join(later[path].splitlines(keepends=True)[:40]))
    gathered(folder / "store", folder / "jobs")
    for path, data in later.items():
        path.write_bytes(data)
    did = gathered(folder / "store", folder / "jobs")
    assert did.grown == len(later) and not did.refused
    return folder / "store"


@pytest.fixture(scope="module")
def answers(store: Path) -> dict[str, Rows]:
    """What the review answers."""
    with opened(store, manifests(store)) as engine:
        return {name: engine.answer(one, Which(invented=True)) for name, one in QUESTIONS.items()}


@pytest.fixture(scope="module")
def tables(store: Path) -> dict[str, Rows]:
    """The rows that count, read by pyarrow: of each job those of its newest batch."""
    read = {
        name: pyarrow.dataset.dataset(store / name).to_table().to_pylist() for name in ("jobs", "steps", "readings")
    }
    newest: dict[str, int] = {}
    for row in read["jobs"]:
        newest[row["job"]] = max(row["batch"], newest.get(row["job"], 0))
    return {name: [row for row in rows if row["batch"] == newest[row["job"]]] for name, rows in read.items()}


@pytest.mark.outside("DuckDB, SQL written by hand", "computed")
@pytest.mark.parametrize("name", list(QUESTIONS))
def test_every_answer_by_hand(store: Path, answers: dict[str, Rows], name: str) -> None:
    """Every question of a review, answered by SQL over the files as anybody can read them"""
    assert answers[name], "nothing would be compared"
    assert unlike(answers[name], asked(duckdb.connect(), store, name)) == ""


@pytest.mark.outside("scipy.stats.binomtest, Wilson's interval", "computed")
def test_shares_and_their_intervals(answers: dict[str, Rows], tables: dict[str, list[dict[str, Any]]]) -> None:
    """Shares of checks that fail on the first try, with their intervals"""
    for row in answers["first-try"]:
        tries = [one["first_try"] for one in tables["steps"] if one["step"] == row["step"] and one["check"]]
        tries = [one for one in tries if one is not None]
        found = stats.binomtest(tries.count(False), len(tries))
        low, high = found.proportion_ci(0.95, method="wilson")
        assert (row["n"], row["failed"]) == (len(tries), tries.count(False))
        assert [row["share"], row["share_low"], row["share_high"]] == pytest.approx(
            [found.statistic, low, high], abs=1e-12
        )


@pytest.mark.outside("numpy.quantile and numpy.mean", "computed")
def test_percentiles(answers: dict[str, Rows], tables: dict[str, Rows]) -> None:
    """Medians and ninth deciles of rounds and of times"""
    for question, column in (("rounds", "rounds"), ("time", "seconds")):
        for row in answers[question]:
            steps = [one for one in tables["steps"] if one["step"] == row["step"]]
            steps = [one for one in steps if one["times"] > 0 or question == "rounds"]
            values = [float(one[column]) for one in steps if one[column] is not None]
            assert row["n"] == len(values)
            assert [row["median"], row["ninth"]] == pytest.approx(np.quantile(values, [0.5, 0.9]), rel=1e-12)
            if question == "rounds":
                assert row["mean"] == pytest.approx(np.mean(values), rel=1e-12)


@pytest.mark.outside("scipy.stats.linregress", "computed")
def test_lines_through_time(answers: dict[str, Rows], tables: dict[str, Rows]) -> None:
    """The drift of every kind of reading of every crew, with its standard error"""
    for row in answers["drift"]:
        first = [
            one
            for one in tables["readings"]
            if (one["crew"], one["reading"]) == (row["crew"], row["reading"])
            and one["first"]
            and one["replaced_by"] is None
        ]
        aims = [(one["low_number"] + one["high_number"]) / 2 for one in first]
        off = [one["number"] - aim for one, aim in zip(first, aims, strict=True)]
        assert row["n"] == len(first)
        if min(off) == max(off):
            assert (row["month"], row["month_error"]) == (0, 0)
            continue
        line = stats.linregress([one["day"] for one in first], off)
        assert [row["month"], row["month_error"]] == pytest.approx([30 * line.slope, 30 * line.stderr], rel=1e-6)


@pytest.mark.outside("scipy.stats.chi2_contingency", "computed")
def test_crews_against_all_the_others(answers: dict[str, Rows], tables: dict[str, Rows]) -> None:
    """How far the share of a crew lies from that of all the others: its square is chi-squared"""
    checks = [one for one in tables["steps"] if one["check"] and one["first_try"] is not None]
    for row in answers["crews"]:
        table = np.zeros((2, 2))
        for one in checks:
            table[int(one["crew"] == row["crew"]), int(one["first_try"])] += 1
        expected = stats.chi2_contingency(table, correction=False).statistic
        assert row["sure"] ** 2 == pytest.approx(expected, rel=1e-9)
