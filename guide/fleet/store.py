"""A store of many jobs: Parquet files, and manifests that say which of them count.

    STORE/store.json                             what the folder is, and the format of its rows
    STORE/batches/000007.json                    a batch: its files with rows and bytes, and which jobs it replaces
    STORE/readings/month=2026-05/000007.parquet  the rows of a batch, of jobs that began in a month
    STORE/lock                                   held while somebody gathers
    STORE/aside                                  what is being written, and what a killed gathering left

A batch's files are written aside, made durable, and renamed into place; then its manifest is, by a link that can be
made only once: that is the moment from which it counts. A file that no manifest names counts for nothing, and the next
gathering takes it away. Nothing that counts is ever changed: a job that grew comes again in a later batch, whose
manifest names the batch that no longer counts for it.
"""

from __future__ import annotations

import errno
import fcntl
import json
import os
import shutil
import stat
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from guide.fleet.columns import Columns, load
from guide.fleet.rows import COMMON, FORMAT, TABLES, Row
from guide.fleet.words import say
from guide.problems import Problem, ProblemError
from guide.record.files import Files, told

SAYS = "guide fleet"
MARK, LOCK, BATCHES, ASIDE = "store.json", "lock", "batches", "aside"


@dataclass(frozen=True, slots=True)
class File:
    """A Parquet file of a batch; `path` is relative to the store."""

    table: str
    path: str
    rows: int
    bytes: int


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a batch brought: its files, and the jobs of earlier batches whose rows no longer count."""

    batch: int
    files: tuple[File, ...]
    jobs: int
    events: int
    replaces: Mapping[int, tuple[str, ...]] = field(default_factory=dict)

    def as_data(self) -> dict[str, object]:
        """It as plain JSON data."""
        return {
            "format": FORMAT,
            "batch": self.batch,
            "jobs": self.jobs,
            "events": self.events,
            "files": [{"table": f.table, "path": f.path, "rows": f.rows, "bytes": f.bytes} for f in self.files],
            "replaces": {str(batch): list(jobs) for batch, jobs in self.replaces.items()},
        }


def manifests(store: Path) -> list[Manifest]:
    """The batches that count, in order; raises `ProblemError` for what is no store, newer, or damaged."""
    _see_that_it_is_one(store)
    try:
        names = sorted(one for one in os.listdir(store / BATCHES) if one.endswith(".json"))
        return [_manifest(store, store / BATCHES / name) for name in names]
    except OSError as fault:
        raise told(fault, say("store.unreadable", store=store)) from None


def _see_that_it_is_one(store: Path) -> None:
    path = store / MARK
    try:
        if not stat.S_ISREG(os.lstat(path).st_mode):
            raise ValueError
        data = json.loads(path.read_bytes()[:10_000])
        said, number = data["store"], data["format"]
    except FileNotFoundError:
        raise _problem("no-store", "store.none", "store.none-hint", store=store) from None
    except OSError as fault:
        raise told(fault, say("store.unreadable", store=store)) from None
    except (ValueError, KeyError, TypeError, RecursionError):
        said, number = "", 0
    if said != SAYS or type(number) is not int:
        raise _problem("not-a-store", "store.foreign", "store.foreign-hint", store=store)
    if number > FORMAT:
        raise _problem("store-newer", "store.newer", "store.newer-hint", store=store, format=number, known=FORMAT)


def _manifest(store: Path, path: Path) -> Manifest:
    try:
        data: dict[str, Any] = json.loads(path.read_bytes())
        if data["format"] > FORMAT:
            raise _problem(
                "store-newer", "store.newer", "store.newer-hint", store=store, format=data["format"], known=FORMAT
            )
        files = tuple(File(f["table"], f["path"], f["rows"], f["bytes"]) for f in data["files"])
        replaces = {int(batch): tuple(jobs) for batch, jobs in data["replaces"].items()}
        made = Manifest(data["batch"], files, data["jobs"], data["events"], replaces)
        if path.name != f"{made.batch:06}.json" or any(f.table not in TABLES for f in files):
            raise ValueError("it is named otherwise than it says")
        for one in files:
            _see_that_it_is_whole(store, one)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        raise _problem("store-damaged", "store.manifest", "store.damaged-hint", path=path, fault=fault) from None
    return made


def _see_that_it_is_whole(store: Path, one: File) -> None:
    path = store / one.path
    if ".." in Path(one.path).parts or Path(one.path).is_absolute():
        raise ValueError("it names a file outside the store")
    try:
        size = os.lstat(path).st_size
    except FileNotFoundError:
        raise _problem("store-damaged", "store.file-gone", "store.damaged-hint", path=path) from None
    if size != one.bytes:
        raise _problem("store-damaged", "store.file-size", "store.damaged-hint", path=path, size=size, bytes=one.bytes)


def _problem(code: str, key: str, hint: str, **fields: object) -> ProblemError:
    return ProblemError([Problem(code, say(key, **fields), hint=say(hint, **fields))])


class Writer:
    """A store open for gathering, by one process at a time. Use `Writer.open`, and close it."""

    def __init__(self, store: Path, lock: int, files: Files) -> None:
        self.store = store
        self.batches: list[Manifest] = []
        self.events = self.jobs = 0
        """Of the batch that is being put together."""
        self._lock = lock
        self._files = files
        self._columns: dict[tuple[str, str], Columns] = {}
        self._replaces: dict[int, list[str]] = {}

    @classmethod
    def open(cls, store: Path, wait: Callable[[], None], files: Files | None = None) -> Writer:
        """Make a store, or open one; `wait` is called if another gathering has to be waited for first."""
        load()
        files = files or Files()
        what = say("store.unwritable", store=store)
        try:
            made = files.make_folder(store)
            for folder in reversed(made):
                files.sync_folder(folder.parent)
            ours = {LOCK, BATCHES, ASIDE}
            if not os.path.lexists(store / MARK) and any(
                one not in ours and not one.startswith(f".{MARK}.") for one in os.listdir(store)
            ):
                raise _problem("not-a-store", "store.foreign", "store.foreign-hint", store=store)
            lock = _locked(files, store / LOCK, wait)
        except OSError as fault:
            raise told(fault, what) from None
        writer = cls(store, lock, files)
        try:
            writer._take_up()
        except OSError as fault:
            writer.close()
            raise told(fault, what) from None
        except BaseException:
            writer.close()
            raise
        return writer

    def _take_up(self) -> None:
        if not os.path.lexists(self.store / MARK):
            (self.store / BATCHES).mkdir(exist_ok=True)
            self._put(self.store / MARK, json.dumps({"store": SAYS, "format": FORMAT}) + "\n")
        self.batches = manifests(self.store)
        self._clear_away()

    def _clear_away(self) -> None:
        """Take away what a gathering that was killed left: none of it counts."""
        shutil.rmtree(self.store / ASIDE, ignore_errors=True)
        (self.store / ASIDE).mkdir()
        counts = {one.path for batch in self.batches for one in batch.files}
        for table in TABLES:
            for path in (self.store / table).glob("month=*/*.parquet"):
                if str(path.relative_to(self.store)) not in counts:
                    path.unlink()

    @property
    def batch(self) -> int:
        """The number of the batch that is being put together."""
        return self.batches[-1].batch + 1 if self.batches else 1

    def add(self, common: Row, month: str, tables: Mapping[str, list[Row]], events: int, replaces: int | None) -> None:
        """Take a whole job: the values of the common columns behind format and batch, and its rows by table.

        `replaces` is the batch whose rows of this job no longer count.
        """
        head = (FORMAT, self.batch, *common)
        assert len(head) == len(COMMON)
        for table, rows in tables.items():
            if rows:
                columns = self._columns.get((table, month))
                if columns is None:
                    columns = self._columns[table, month] = Columns(table)
                columns.extend([head + row for row in rows])
        if replaces is not None:
            self._replaces.setdefault(replaces, []).append(str(common[0]))
        self.events += events
        self.jobs += 1

    def commit(self) -> None:
        """Make the batch count, whole: from here on it is in the store, also if the power fails."""
        if not self.jobs:
            return
        try:
            self._commit()
        except OSError as fault:
            raise told(fault, say("store.unwritable", store=self.store)) from None

    def _commit(self) -> None:
        number, put = self.batch, []
        folders: dict[Path, None] = {}
        for (table, month), columns in sorted(self._columns.items()):
            place = Path(table) / f"month={month}" / f"{number:06}.parquet"
            aside = self.store / ASIDE / f"{table}-{month}.parquet"
            rows = columns.rows
            put.append((aside, File(table, str(place), rows, columns.write(aside))))
        self._columns = {}
        for aside, one in put:
            place = self.store / one.path
            made = self._files.make_folder(place.parent)
            folders |= dict.fromkeys([place.parent, *(folder.parent for folder in made)])
            os.rename(aside, place)
        for folder in folders:
            self._files.sync_folder(folder)
        replaces = {batch: tuple(jobs) for batch, jobs in self._replaces.items()}
        manifest = Manifest(number, tuple(one for _, one in put), self.jobs, self.events, replaces)
        self._put(self.store / BATCHES / f"{number:06}.json", json.dumps(manifest.as_data(), indent=1) + "\n")
        self.batches.append(manifest)
        self.events = self.jobs = 0
        self._replaces = {}

    def _put(self, path: Path, text: str) -> None:
        """A small file, whole or not there at all, and never in another's place."""
        beside = path.with_name(f".{path.name}.{os.getpid()}")
        try:
            with beside.open("w", encoding="utf-8") as out:
                out.write(text)
                out.flush()
                os.fsync(out.fileno())
            try:
                os.link(beside, path)
            except OSError as fault:
                if fault.errno not in (errno.EPERM, errno.EOPNOTSUPP) or os.path.lexists(path):
                    raise
                os.rename(beside, path)  # a disk without links; the lock keeps others out
            self._files.sync_folder(path.parent)
        except FileExistsError:
            raise _problem("store-raced", "store.raced", "store.raced-hint", path=path) from None
        finally:
            beside.unlink(missing_ok=True)

    def close(self) -> None:
        """Let go of the store; what was not committed counts for nothing."""
        os.close(self._lock)


def _locked(files: Files, path: Path, wait: Callable[[], None]) -> int:
    try:
        return files.lock(path)
    except BlockingIOError:
        wait()
    handle = os.open(path, os.O_RDWR | os.O_NOFOLLOW)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
    except BaseException:
        os.close(handle)
        raise
    return handle


def files_of(batches: list[Manifest], table: str) -> Iterator[File]:
    """The files of a table that count, in the order of the batches."""
    for batch in batches:
        yield from (one for one in batch.files if one.table == table)
