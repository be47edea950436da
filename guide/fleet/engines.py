"""What answers a question: DuckDB inside this program, or Apache Spark for a fleet that outgrows one machine."""

from __future__ import annotations

import contextlib
import os
import warnings
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from guide.fleet.questions import Question, Table, Tables, asked
from guide.fleet.rows import TABLES
from guide.fleet.store import Manifest, files_of
from guide.fleet.words import say
from guide.problems import Problem, ProblemError

Name = Literal["duckdb", "spark"]
Answer = list[dict[str, Any]]
MASTER = "GUIDE_SPARK"
"""Names the cluster ("spark://host:7077"); without it Spark runs inside this machine."""
USED = ("jobs", "readings", "steps", "decisions", "oddities")


@dataclass(frozen=True, slots=True)
class Which:
    """The jobs that are meant."""

    invented: bool = False
    """Invented jobs instead of real ones: the two are never counted together."""
    procedure: str = ""
    crew: str = ""
    since: str = ""
    """From this month on ("2026-05"), by when a job began."""
    until: str = ""
    """To the end of this month."""


class Engine:
    """Tables of a store, and answers to questions of them. Use `opened`."""

    def __init__(self, backend: Any, tables: dict[str, Table], superseded: Table | None) -> None:
        self._backend = backend
        self._tables = tables
        self._superseded = superseded

    def tables(self, which: Which) -> Tables:
        """The tables held to the jobs that are meant, each job with its newest rows only."""
        return Tables(**{name: self._held(self._tables[name], which) for name in USED})

    def _held(self, table: Table, which: Which) -> Table:
        table = table.filter(table.invented == which.invented)
        if self._superseded is not None:
            old = self._superseded
            table = table.anti_join(old, [table.job == old.old_job, table.batch == old.old_batch])
        if which.procedure:
            table = table.filter(table.procedure == which.procedure)
        if which.crew:
            table = table.filter(table.crew == which.crew)
        if which.since:
            table = table.filter(table.month >= which.since)
        if which.until:
            table = table.filter(table.month <= which.until)
        return table

    def answer(self, question: Question, which: Which) -> Answer:
        """The rows of a question's answer, in its order."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of libraries about each other
            found = self._backend.to_pyarrow(asked(question, self.tables(which)))
        rows: Answer = found.to_pylist()
        return rows

    def jobs(self, which: Which) -> int:
        """How many jobs are meant."""
        rows = self._backend.to_pyarrow(self._held(self._tables["jobs"], which).count().as_table())
        return int(rows.to_pylist()[0].popitem()[1])


@contextlib.contextmanager
def opened(store: Path, batches: list[Manifest], name: Name = "duckdb") -> Iterator[Engine]:
    """The store under an engine; raises `ProblemError` if the engine is not there or a file can't be read."""
    open_one: Callable[[Path, list[Manifest]], Any] = _duckdb if name == "duckdb" else _spark
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with _told(name), open_one(store, batches) as engine:
            yield engine


@contextlib.contextmanager
def _told(name: Name) -> Iterator[None]:
    extra = "fleet" if name == "duckdb" else "spark"
    try:
        yield
    except ModuleNotFoundError as missing:
        message = say("engine.missing", package=missing.name)
        raise ProblemError([Problem("no-package", message, hint=f"pip install 'guide[{extra}]'")]) from None


def _old(batches: Sequence[Manifest]) -> list[tuple[str, int]]:
    """Jobs, each with a batch whose rows of it no longer count."""
    return [(job, batch) for one in batches for batch, jobs in one.replaces.items() for job in jobs]


def _paths(store: Path, batches: list[Manifest], table: str) -> list[str]:
    return [str((store / one.path).resolve()) for one in files_of(batches, table)]


def _unread(fault: Exception) -> ProblemError:
    said = next(iter(str(fault).splitlines()), type(fault).__name__)
    return ProblemError([Problem("store-damaged", say("store.unread", fault=said), hint=say("store.again"))])


@contextlib.contextmanager
def _duckdb(store: Path, batches: list[Manifest]) -> Iterator[Engine]:
    import duckdb
    import ibis

    backend = ibis.duckdb.connect(autoinstall_known_extensions=False)  # nothing is fetched
    try:
        tables = {}
        for name in USED:
            paths = _paths(store, batches, name)
            if paths:
                tables[name] = backend.read_parquet(paths, table_name=name, hive_partitioning=False)
            else:
                tables[name] = backend.create_table(name, schema=_ibis_schema(name))
        yield Engine(backend, tables, _superseded(backend, batches))
    except (duckdb.IOException, duckdb.InvalidInputException) as fault:
        raise _unread(fault) from None
    finally:
        backend.disconnect()


@contextlib.contextmanager
def _spark(store: Path, batches: list[Manifest]) -> Iterator[Engine]:
    import ibis
    from py4j.protocol import Py4JError
    from pyspark.errors import PySparkException
    from pyspark.sql import SparkSession

    builder = SparkSession.builder.appName("guide review").config("spark.ui.showConsoleProgress", "false")
    if os.environ.get(MASTER):
        builder = builder.master(os.environ[MASTER])
    else:
        builder = builder.master("local[*]").config("spark.ui.enabled", "false")
        builder = builder.config("spark.sql.shuffle.partitions", str(2 * (os.cpu_count() or 1)))
    ours = SparkSession.getActiveSession() is None
    try:
        session = builder.getOrCreate()
    except (PySparkException, RuntimeError) as fault:
        raise ProblemError(
            [Problem("no-spark", say("engine.no-spark", fault=fault), hint=say("engine.java"))]
        ) from None
    session.sparkContext.setLogLevel("ERROR")
    try:
        backend = ibis.pyspark.connect(session)
        tables = {}
        for name in USED:
            paths = _paths(store, batches, name)
            if paths:
                frame = session.read.parquet(*(f"file://{path}" for path in paths))
                frame.createOrReplaceTempView(name)
                tables[name] = backend.table(name)
            else:
                tables[name] = backend.create_view(name, ibis.memtable([], schema=_ibis_schema(name)), overwrite=True)
        yield Engine(backend, tables, _superseded(backend, batches))
    except (PySparkException, Py4JError) as fault:
        raise _unread(fault) from None
    finally:
        if ours:
            session.stop()


def _ibis_schema(table: str) -> Any:
    import ibis

    kinds = {"text": "string", "int": "int64", "float": "float64", "bool": "boolean", "time": "timestamp"}
    return ibis.schema({name: kinds[kind] for name, kind in TABLES[table].items()})


def _superseded(backend: Any, batches: Sequence[Manifest]) -> Table | None:
    import ibis

    old = _old(batches)
    if not old:
        return None
    return ibis.memtable(
        {"old_job": [job for job, _ in old], "old_batch": [batch for _, batch in old]},
        schema={"old_job": "string", "old_batch": "int64"},
    )
