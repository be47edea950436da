"""Rows as columns and as Parquet files: the only door to pyarrow."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from guide.fleet.rows import TABLES, Kind, Row

CHUNK = 4_096
"""Rows that are held as Python's objects before they become columns, which take a tenth of the room."""


class Columns:
    """The rows of one table and month, taken in row by row and held as columns."""

    def __init__(self, table: str) -> None:
        self.schema = schema(table)
        self.rows = 0
        self._waiting: list[Row] = []
        self._chunks: list[Any] = []

    def extend(self, rows: Sequence[Row]) -> None:
        """Take rows: the values of every column of the table, in order."""
        self.rows += len(rows)
        self._waiting += rows
        if len(self._waiting) >= CHUNK:
            self._settle()

    def _settle(self) -> None:
        import pyarrow as pa

        if not self._waiting:
            return
        columns = zip(*self._waiting, strict=True)
        arrays = [_array(values, field.type) for values, field in zip(columns, self.schema, strict=True)]
        self._chunks.append(pa.RecordBatch.from_arrays(arrays, schema=self.schema))
        self._waiting = []

    def write(self, path: Path) -> int:
        """Write a Parquet file, make it durable, and let go of the rows; the file's size."""
        import pyarrow as pa
        import pyarrow.parquet as pq

        self._settle()
        table = pa.Table.from_batches(self._chunks, schema=self.schema)
        self._chunks = []
        with path.open("xb") as out:
            pq.write_table(table, out, compression="zstd")
            out.flush()
            os.fsync(out.fileno())
        return path.stat().st_size


def load() -> None:
    """See that pyarrow is there, before anything else is done; raises `ModuleNotFoundError`."""
    import pyarrow.parquet  # noqa: F401


def _array(values: Sequence[object], kind: Any) -> Any:
    import pyarrow as pa

    try:
        return pa.array(values, kind)
    except UnicodeEncodeError:  # half a character, which a record may hold and a file of text may not
        plain = [v.encode("utf-8", "backslashreplace").decode() if isinstance(v, str) else v for v in values]
        return pa.array(plain, kind)


def schema(table: str) -> Any:
    """The columns of a table with pyarrow's types; times in microseconds of UTC, without a zone."""
    import pyarrow as pa

    types: Mapping[Kind, Any] = {
        "text": pa.string(),
        "int": pa.int64(),
        "float": pa.float64(),
        "bool": pa.bool_(),
        "time": pa.timestamp("us"),
    }
    return pa.schema([pa.field(name, types[kind]) for name, kind in TABLES[table].items()])


def read_rows(path: Path, columns: Sequence[str]) -> Iterator[tuple[Any, ...]]:
    """The values of some columns of a Parquet file, row by row; raises `OSError` or `ValueError` for a damaged one."""
    import pyarrow.parquet as pq

    with pq.ParquetFile(path) as source:
        for batch in source.iter_batches(columns=list(columns)):
            by_name = {name: batch.column(name).to_pylist() for name in columns}
            yield from zip(*(by_name[name] for name in columns), strict=True)
