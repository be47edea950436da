"""Every question asked of DuckDB and of Spark: one set of expressions, the same answers. Needs Java."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fleet_jobs import gathered, write
from fleet_sql import unlike
from records import TINY, TINY_DONE, talked

from guide.fleet.engines import Name, Which, opened
from guide.fleet.questions import QUESTIONS
from guide.fleet.review import review
from guide.fleet.store import manifests

ENGINES: tuple[Name, ...] = ("duckdb", "spark")
pytestmark = pytest.mark.needs("java")


@pytest.fixture(scope="module")
def spark() -> Iterator[Any]:
    """A Spark of one thread that plans little: these rows are few."""
    from pyspark.sql import SparkSession

    builder = SparkSession.builder.master("local[1]").appName("tests")
    settings = {
        "spark.ui.enabled": "false",
        "spark.ui.showConsoleProgress": "false",
        "spark.driver.memory": "1g",
        "spark.sql.shuffle.partitions": "1",
        "spark.sql.adaptive.enabled": "false",
        "spark.sql.codegen.wholeStage": "false",
        "spark.sql.codegen.factoryMode": "NO_CODEGEN",
    }
    for name, value in settings.items():
        builder = builder.config(name, value)
    session = builder.getOrCreate()
    yield session
    session.stop()


@pytest.fixture(scope="module")
def grown(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store in which some jobs were gathered twice, with concessions, corrections and all that is asked about."""
    folder = tmp_path_factory.mktemp("grown")
    write(folder / "jobs", 20)
    write(folder / "jobs", 6, first=30_005, seed=3)
    path = sorted((folder / "jobs").rglob("record.jsonl"))[3]
    whole = path.read_bytes()
    path.write_bytes(b"".join(whole.splitlines(keepends=True)[:30]))
    gathered(folder / "store", folder / "jobs")
    path.write_bytes(whole)
    assert gathered(folder / "store", folder / "jobs").grown == 1
    return folder / "store"


def test_every_answer_is_the_same(spark: Any, grown: Path) -> None:
    which, batches = Which(invented=True), manifests(grown)
    with opened(grown, batches) as duck, opened(grown, batches, "spark") as sparks:
        for name, question in QUESTIONS.items():
            ours = duck.answer(question, which)
            assert ours or name == "concessions", f"{name}: nothing would be compared"
            assert (name, unlike(ours, sparks.answer(question, which))) == (name, "")
        assert duck.jobs(which) == sparks.jobs(which) == 26


def test_a_store_without_rows_of_some_tables(spark: Any, tmp_path: Path) -> None:
    """Tables that no batch has a file of are there, and empty; a store is told by Spark as by DuckDB."""
    talked(tmp_path / "job", TINY, TINY_DONE)
    gathered(tmp_path / "store", tmp_path / "job")
    assert not (tmp_path / "store" / "decisions").exists()
    told = [review(tmp_path / "store", Which(), "concessions", None, engine) for engine in ENGINES]
    assert told[0].replace("DuckDB", "Apache Spark") == told[1]
