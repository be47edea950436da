"""Gathering: each record once, whole or not at all, whatever lies in the folders and whenever it is cut off."""

from __future__ import annotations

import contextlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pyarrow.dataset
import pyarrow.parquet
import pytest
from fleet_jobs import gathered, write
from records import TINY, TINY_DONE, edited, put, rehashed, talked
from running import GUIDE, environment, guide
from small import SHELF

from guide.fleet import gather, store
from guide.fleet.engines import Which, opened
from guide.fleet.gather import Gathered
from guide.fleet.questions import QUESTIONS
from guide.fleet.rows import COMMON, TABLES
from guide.fleet.store import Manifest, Writer, manifests
from guide.problems import ProblemError
from guide.record.files import Files
from guide.record.keys import Keys
from guide.record.signatures import sign


def rows(folder: Path, table: str = "jobs") -> list[dict[str, Any]]:
    """The rows of a table that its manifests name."""
    paths = [folder / one.path for one in store.files_of(manifests(folder), table)]
    return [row for path in paths for row in pyarrow.parquet.read_table(path).to_pylist()]


def why(did: Gathered) -> list[str]:
    """The codes of what was refused."""
    return [one.code for one in did.refused]


def jobs(folder: Path) -> int:
    """How many jobs a review counts."""
    with opened(folder, manifests(folder)) as engine:
        return engine.jobs(Which()) + engine.jobs(Which(invented=True))


@pytest.fixture(scope="module")
def tiny(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The record of a small finished job."""
    return talked(tmp_path_factory.mktemp("tiny") / "job", TINY, TINY_DONE)


def test_every_row_of_a_job_has_its_common_columns(store: Path) -> None:
    for table, columns in TABLES.items():
        found = rows(store, table)
        assert (found or table == "moves") and all(list(row) == list(columns) for row in found)
        for row in found:
            assert all(row[name] is not None for name in COMMON)
            assert row["month"] in ("2025-01", "2026-05", "2026-06")


def test_gathering_again_changes_nothing(fleet: Path, store: Path, tmp_path: Path) -> None:
    shutil.copytree(store, tmp_path / "store")
    before = {path: path.read_bytes() for path in (tmp_path / "store").rglob("*") if path.is_file()}
    did = gathered(tmp_path / "store", fleet)
    assert (did.taken, did.grown, did.unchanged, did.copies, did.refused) == (0, 0, 64, 0, [])
    after = {path: path.read_bytes() for path in (tmp_path / "store").rglob("*") if path.is_file()}
    assert {path for path in before if path.name != "lock"} == {path for path in after if path.name != "lock"}
    assert all(before[path] == after[path] for path in before if path.name != "lock")


def test_the_size_of_a_batch_changes_no_answer(fleet: Path, store: Path, tmp_path: Path) -> None:
    gathered(tmp_path / "one", fleet, a_batch=10**9)
    assert len(manifests(tmp_path / "one")) == 1 < len(manifests(store))
    every = []
    for folder in (store, tmp_path / "one"):
        with opened(folder, manifests(folder)) as engine:
            every.append([engine.answer(one, Which(True)) for one in (QUESTIONS["jobs"], QUESTIONS["rounds"])])
    assert every[0] == every[1]


def test_a_job_that_grew_replaces_what_was_there(tiny: bytes, tmp_path: Path) -> None:
    lines = tiny.splitlines(keepends=True)
    job = put(tmp_path / "job", b"".join(lines[:4]))
    for upto, taken, grown in ((4, 1, 0), (4, 0, 0), (7, 0, 1), (len(lines), 0, 1)):
        put(job, b"".join(lines[:upto]))
        did = gathered(tmp_path / "store", job)
        assert (did.taken, did.grown, did.refused) == (taken, grown, [])
        assert jobs(tmp_path / "store") == 1
    assert [row["lines"] for row in rows(tmp_path / "store")] == [4, 7, len(lines)]
    assert [dict(batch.replaces) for batch in manifests(tmp_path / "store")] == [
        {},
        {1: (rows(tmp_path / "store")[0]["job"],)},
        {2: (rows(tmp_path / "store")[0]["job"],)},
    ]


def test_a_longer_copy_in_the_same_gathering_replaces_the_shorter(tiny: bytes, tmp_path: Path) -> None:
    put(tmp_path / "a", tiny[: tiny.index(b'{"seq":5')])
    put(tmp_path / "b", tiny)
    did = gathered(tmp_path / "store", tmp_path / "a", tmp_path / "b")
    assert (did.taken, did.grown, jobs(tmp_path / "store")) == (1, 1, 1)


def test_a_copy_and_an_earlier_copy_count_once(tiny: bytes, tmp_path: Path) -> None:
    put(tmp_path / "a", tiny)
    put(tmp_path / "b", tiny)
    put(tmp_path / "c", tiny[: tiny.index(b'{"seq":5')])
    did = gathered(tmp_path / "store", tmp_path / "a", tmp_path / "b", tmp_path / "c")
    assert (did.taken, did.copies, did.refused, jobs(tmp_path / "store")) == (1, 2, [], 1)


def test_a_changed_copy_with_the_same_ends_is_no_copy(tiny: bytes, tmp_path: Path) -> None:
    """Nor is what was taken and then changed in its place: it is verified again, and what was taken stays."""
    put(tmp_path / "a", tiny)
    put(tmp_path / "b", tiny.replace(b'"who":"Bo"', b'"who":"Be"', 3))
    did = gathered(tmp_path / "store", tmp_path / "a", tmp_path / "b")
    assert (did.taken, why(did)) == (1, ["chain"])
    put(tmp_path / "a", (tmp_path / "b" / "record.jsonl").read_bytes())
    did = gathered(tmp_path / "store", tmp_path / "a")
    assert (did.taken, did.unchanged, why(did), jobs(tmp_path / "store")) == (0, 0, ["chain"], 1)


def rewritten(tiny: bytes) -> bytes:
    """The same job, told otherwise from line 4 on, with its chain made good again."""
    lines = tiny.splitlines(keepends=True)[:5]
    return edited(lines, 4, lambda data: data.update(who="Eve"))


@pytest.mark.parametrize("longer", [True, False])
def test_the_same_job_with_other_content_is_refused_with_both_places(tiny: bytes, tmp_path: Path, longer: bool) -> None:
    first, second = (tiny, rewritten(tiny)) if longer else (rewritten(tiny), tiny)
    put(tmp_path / "a", first)
    put(tmp_path / "b", second)
    did = gathered(tmp_path / "store", tmp_path / "a", tmp_path / "b")
    assert (did.taken, why(did)) == (1, ["job-twice"])
    assert did.refused[0].place == str(tmp_path / "b") and str(tmp_path / "a") in did.refused[0].why
    assert rows(tmp_path / "store")[0]["place"] == str(tmp_path / "a")


def test_a_shorter_one_whose_longer_one_is_gone_cannot_be_told(tiny: bytes, tmp_path: Path) -> None:
    gathered(tmp_path / "store", put(tmp_path / "a", tiny))
    shutil.rmtree(tmp_path / "a")
    did = gathered(tmp_path / "store", put(tmp_path / "b", tiny[: tiny.index(b'{"seq":5')]))
    assert why(did) == ["job-twice"] and "can't be told" in did.refused[0].why


def bad_folders(folder: Path, tiny: bytes) -> dict[str, str]:
    """Everything that can be wrong with a record, by the name of its folder and the code it is refused with."""
    folder.mkdir()
    lines = tiny.splitlines(keepends=True)
    newer = json.loads(lines[0])["data"]["format"] + 1
    bad: dict[str, tuple[bytes, str]] = {
        "changed": (tiny.replace(b'"who":"Bo"', b'"who":"Be"', 3), "chain"),
        "first-gone": (b"".join(lines[1:]), "chain"),
        "empty": (b"", "record-empty"),
        "torn-only": (tiny[:50], "record-empty"),
        "foreign": (b"PK\x03\x04" * 500, "record-empty"),
        "text": (b"Dear diary,\ntoday we hung a door.\n", "line-form"),
        "json": (b'{"a": 1}\n' * 3, "line-form"),
        "future": (rehashed([lines[0].replace(b'"format":1', b'"format":%d' % newer), *lines[1:]]), "format-newer"),
        "line-long": (lines[0] + b'{"seq":1,"at":"' + b"x" * 1_000_001 + b'"}\n', "line-long"),
        "no-procedure": (edited(lines, 0, lambda data: data["data"].update(sources=[])), "procedure-hash"),
        "impossible": (rehashed([*lines[:2], *lines[3:]]), "number"),
    }
    for name, (data, _) in bad.items():
        put(folder / name, data)
    (folder / "link").mkdir()
    (folder / "link" / "record.jsonl").symlink_to(folder / "changed" / "record.jsonl")
    (folder / "folder" / "record.jsonl").mkdir(parents=True)
    os.mkfifo(folder / "link" / "pipe")
    (folder / "pipe").mkdir()
    os.mkfifo(folder / "pipe" / "record.jsonl")
    (folder / "elsewhere").symlink_to(folder / "changed", target_is_directory=True)
    put(folder / "signed", tiny)
    (folder / "signed" / "signatures.jsonl").write_text("nonsense\n")
    codes = {name: code for name, (_, code) in bad.items()}
    return codes | {
        "link": "record-link",
        "folder": "record-not-a-file",
        "pipe": "record-not-a-file",
        "elsewhere": "link",
        "signed": "signatures",
    }


def test_each_bad_record_is_told_and_the_rest_is_taken(tiny: bytes, tmp_path: Path) -> None:
    expected = bad_folders(tmp_path / "jobs", tiny)
    put(tmp_path / "jobs" / "good", talked(tmp_path / "other", TINY, ["done", "1/16"]))
    did = gathered(tmp_path / "store", tmp_path / "jobs")
    assert {Path(one.place).name: one.code for one in did.refused} == expected
    assert all(one.why.endswith(".") or ":" in one.why for one in did.refused)
    assert did.taken == 1 and [Path(row["place"]).name for row in rows(tmp_path / "store")] == ["good"]
    for table in TABLES:
        assert {row["job"] for row in rows(tmp_path / "store", table)} <= {rows(tmp_path / "store")[0]["job"]}


def test_a_huge_record_is_not_read(tiny: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gather, "MOST_BYTES", len(tiny) - 1)
    did = gathered(tmp_path / "store", put(tmp_path / "job", tiny))
    assert why(did) == ["record-huge"] and f"{len(tiny):,}" in did.refused[0].why


def test_what_can_not_be_read_is_told(tiny: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "jobs").mkdir()
    put(tmp_path / "jobs" / "a", tiny)
    put(tmp_path / "jobs" / "b", talked(tmp_path / "other", TINY, ["done"]))
    real = os.open

    def refuse(path: Any, *arguments: Any, **more: Any) -> int:
        if str(path).endswith("a/record.jsonl"):
            raise PermissionError(13, "Permission denied")
        return real(path, *arguments, **more)

    monkeypatch.setattr(os, "open", refuse)
    did = gathered(tmp_path / "store", tmp_path / "jobs")
    assert (did.taken, why(did)) == (1, ["unreadable"]) and "Permission denied" in did.refused[0].why


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
def test_a_folder_that_can_not_be_read_is_told(tmp_path: Path) -> None:
    (tmp_path / "shut").mkdir(mode=0)
    assert why(gathered(tmp_path / "store", tmp_path / "shut")) == ["unreadable", "no-job"]


def test_no_folder_and_no_record_are_told(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    did = gathered(tmp_path / "store", tmp_path / "nowhere", tmp_path / "empty")
    assert why(did) == ["no-folder", "no-job", "no-job"]


def test_numbers_and_words_beyond_all_measure(tmp_path: Path) -> None:
    """Half a character, a time before all time: told or taken, never a traceback, and the rest goes in."""
    lines = talked(tmp_path / "one", TINY, TINY_DONE, who="B\ud800o").splitlines(keepends=True)
    put(tmp_path / "jobs", b"".join(lines))
    old = edited(lines[:2], 0, lambda data: data.update(at="0001-01-01T00:00:00+14:00"))
    put(tmp_path / "jobs" / "old", old)
    did = gathered(tmp_path / "store", tmp_path / "jobs")
    assert (did.taken, why(did)) == (1, ["beyond"])
    assert rows(tmp_path / "store")[0]["crew"] == "B\\ud800o"


def test_a_folder_of_something_else_is_left_alone(tiny: bytes, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("Dear all")
    with pytest.raises(ProblemError, match="nothing was written"):
        gathered(tmp_path / "mine", put(tmp_path / "job", tiny))
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["letter.txt"]


def test_a_signature_that_came_later_is_taken_up(tiny: bytes, tmp_path: Path) -> None:
    from datetime import UTC, datetime

    keys = Keys(tmp_path / "keys")
    keys.make("Bo")
    job = put(tmp_path / "job", tiny)
    gathered(tmp_path / "store", job, keys=tmp_path / "keys")
    sign(job, "Bo", None, datetime(2026, 5, 5, tzinfo=UTC), keys)
    copy = shutil.copytree(job, tmp_path / "copy")
    (copy / "signatures.jsonl").unlink()
    did = gathered(tmp_path / "store", job, copy, keys=tmp_path / "keys")
    assert (did.grown, did.copies) == (1, 1)
    assert [row["vouched"] for row in rows(tmp_path / "store")] == [0, 1]


# Two at once, and killed


def test_two_at_once_wait_for_each_other(fleet: Path, tmp_path: Path) -> None:
    command = [*GUIDE, "gather", str(fleet), "--into", str(tmp_path / "store"), "--json"]
    both = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment(tmp_path)) for _ in range(2)]
    said = [json.loads(one.communicate(timeout=120)[0]) for one in both]
    assert sorted(one["taken"] for one in said) == [0, 64]
    assert sorted(one["unchanged"] for one in said) == [0, 64]
    assert jobs(tmp_path / "store") == len(rows(tmp_path / "store")) == 64


def test_without_locks_the_later_one_gives_way(fleet: Path, tiny: bytes, tmp_path: Path) -> None:
    """Where a disk keeps nobody out, a batch can still be made only once."""

    class NoLocks(Files):
        def lock(self, path: Path) -> int:
            return os.open(path, os.O_RDWR | os.O_CREAT)

    first, second = (Writer.open(tmp_path / "store", lambda: None, NoLocks()) for _ in range(2))
    for writer in (second, first):
        runs = gather.Gathering(writer, Keys(tmp_path / "none"))
        if writer is first:
            with pytest.raises(ProblemError, match="same time"):
                runs.gather([put(tmp_path / "job", tiny)])
        else:
            runs.gather([put(tmp_path / "job", tiny)])
        writer.close()
    assert jobs(tmp_path / "store") == 1


@pytest.fixture(scope="module")
def few(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A few jobs, which begin in two months."""
    folder = tmp_path_factory.mktemp("few")
    write(folder, 6)
    write(folder, 3, first=10_000)
    return folder


class Dies(BaseException):
    """The power fails."""


@pytest.mark.parametrize("act", ["link", "rename", "fsync", "unlink"])
@pytest.mark.parametrize("after", range(0, 24, 3))
def test_cut_off_at_any_step_nothing_is_half_in(
    few: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, act: str, after: int
) -> None:
    """What is committed is whole; the next gathering brings the rest, and the answers are the same."""
    real, count = getattr(os, act), 0

    def dying(*arguments: Any, **more: Any) -> Any:
        nonlocal count
        count += 1
        if count > after:
            raise Dies
        return real(*arguments, **more)

    with monkeypatch.context() as patched:
        patched.setattr(os, act, dying)
        with contextlib.suppress(Dies):
            gathered(tmp_path / "store", few, a_batch=300)
    if (tmp_path / "store" / "store.json").exists():
        whole = {row["job"]: row["readings"] for row in rows(tmp_path / "store")}
        found: dict[str, int] = dict.fromkeys(whole, 0)
        for row in rows(tmp_path / "store", "readings"):
            found[row["job"]] += 1
        assert found == whole
    did = gathered(tmp_path / "store", few)
    assert did.taken + did.unchanged == 9 and not did.refused
    gathered(tmp_path / "other", few)
    for table in TABLES:
        key = lambda row: json.dumps([row[name] for name in row if name != "batch"], default=str)  # noqa: E731
        assert sorted(map(key, rows(tmp_path / "store", table))) == sorted(map(key, rows(tmp_path / "other", table)))
    named = {one.path for batch in manifests(tmp_path / "store") for one in batch.files}
    there = {str(path.relative_to(tmp_path / "store")) for path in (tmp_path / "store").rglob("*.parquet")}
    assert named == there


def test_files_of_a_batch_that_never_counted_are_taken_away(
    few: Path, tiny: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also when what is gathered next is something else, and has no files of those names."""
    real = os.link

    def dying(source: Path, path: Path) -> None:
        if path.name == "000001.json":
            raise Dies
        real(source, path)

    with monkeypatch.context() as patched:
        patched.setattr(os, "link", dying)
        with pytest.raises(Dies):
            gathered(tmp_path / "store", few)
    assert len(list((tmp_path / "store").rglob("month=*/*.parquet"))) > 5 and not manifests(tmp_path / "store")
    gathered(tmp_path / "store", put(tmp_path / "job", tiny))
    named = {tmp_path / "store" / one.path for batch in manifests(tmp_path / "store") for one in batch.files}
    assert set((tmp_path / "store").rglob("*.parquet")) == named


def test_killed_over_and_over(fleet: Path, tmp_path: Path) -> None:
    """A real process, killed at random moments: each job is in exactly once in the end."""
    draw = random.Random(7)
    code = (
        "import sys; from pathlib import Path; from fleet_jobs import gathered;"
        "print('ready', flush=True); gathered(Path(sys.argv[1]), Path(sys.argv[2]), a_batch=300)"
    )
    command = [sys.executable, "-c", code, str(tmp_path / "store"), str(fleet)]
    path = os.pathsep.join(one for one in sys.path if one)
    for _ in range(6):
        child = subprocess.Popen(command, stdout=subprocess.PIPE, env=environment(tmp_path, PYTHONPATH=path))
        assert child.stdout is not None and child.stdout.readline() == b"ready\n"
        time.sleep(draw.uniform(0.0, 0.6))
        child.send_signal(signal.SIGKILL)
        child.communicate()
    gathered(tmp_path / "store", fleet)
    assert len({row["job"] for row in rows(tmp_path / "store")}) == len(rows(tmp_path / "store")) == 64


def test_an_open_format(store: Path) -> None:
    """Anything that reads Parquet in Hive's folders reads it, the month among the columns."""
    for table in TABLES:
        if (store / table).exists():
            found = pyarrow.dataset.dataset(store / table, partitioning="hive").to_table()
            assert found.num_rows == len(rows(store, table)) and "month" in found.column_names


def test_the_command(tiny: bytes, tmp_path: Path) -> None:
    put(tmp_path / "good", tiny)
    put(tmp_path / "bad", tiny.replace(b'"who":"Bo"', b'"who":"Be"', 3))
    done = guide(tmp_path, "gather", "good", "bad", "--into", "store")
    assert done.returncode == 1
    assert "1 new, 0 taken again" in done.stdout and "1 was refused" in done.stdout and "bad: Line 1: " in done.stdout
    assert "does not come with this guide" in done.stdout
    again = guide(tmp_path, "gather", "good", "--into", "store", "--json")
    assert again.returncode == 0 and json.loads(again.stdout)["unchanged"] == 1
    assert guide(tmp_path, "gather", "good", "--into", "good").returncode == 3


def test_jobs_beside_the_store_and_inside_other_jobs(tiny: bytes, tmp_path: Path) -> None:
    (tmp_path / "jobs").mkdir()
    put(tmp_path / "jobs" / "a", tiny)
    put(tmp_path / "jobs" / "a" / "inside", talked(tmp_path / "other", SHELF, ["no back"]))
    did = gathered(tmp_path / "jobs" / "store", tmp_path / "jobs")
    assert (did.taken, did.refused) == (2, [])
    assert gathered(tmp_path / "jobs" / "store", tmp_path / "jobs").unchanged == 2


def test_a_manifest_as_data() -> None:
    made = Manifest(3, (store.File("jobs", "jobs/month=2026-05/000003.parquet", 1, 100),), 1, 9, {1: ("ab",)})
    assert made.as_data()["replaces"] == {"1": ["ab"]} and made.as_data()["format"] == 1


def test_many_months_make_many_folders(tmp_path: Path) -> None:
    write(tmp_path / "jobs", 2)
    write(tmp_path / "jobs", 1, first=10_000)
    gathered(tmp_path / "store", tmp_path / "jobs")
    assert len(list((tmp_path / "store" / "jobs").iterdir())) == 2


def test_folders_deeper_than_any_stack_and_links_in_a_ring(tiny: bytes, tmp_path: Path) -> None:
    deep = tmp_path / "jobs"
    deep.mkdir()
    (deep / "ring").symlink_to("ring")
    (deep / "up").symlink_to("..", target_is_directory=True)
    top = deep
    for _ in range(1_100):
        deep = deep / "d"
        os.mkdir(deep)
    did = gathered(tmp_path / "store", put(tmp_path / "jobs" / "e", tiny), tmp_path / "jobs")
    while deep != top:  # what clears up after tests does not go as deep
        os.rmdir(deep)
        deep = deep.parent
    assert (did.taken, did.unchanged) == (1, 1) and set(why(did)) == {"link", "unreadable"}
