"""What many jobs cost: verifying a record, gathering a fleet, and asking it, each against something else in one run.

PYTHONPATH=tests:. python tests/bench/fleet.py [verify DIR | gather DIR STORE | review STORE [TIMES] | small]

    verify DIR       the records under DIR, one by one: against sha256sum and json.loads of the same files
    gather DIR STORE gathers what is under DIR (made by tests/fleet_jobs.py), the fleet in quarters of its months
    review STORE     each question against the same in SQL by hand (tests/fleet_sql.py)
    small            all of it on a few invented jobs, to see that it runs

Seconds are the processor's unless said, since the machine may have other work. Nothing here asserts a time.
"""

from __future__ import annotations

import hashlib
import json
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import duckdb
from fleet_jobs import write
from fleet_sql import PLAIN, QUERIES, asked, unlike
from records import TINY, TINY_DONE, put, talked

from guide.fleet.engines import Which, opened
from guide.fleet.gather import Gathered, Gathering
from guide.fleet.questions import QUESTIONS
from guide.fleet.store import Writer, manifests
from guide.record.keys import Keys
from guide.record.verify import verify

MOST = 300
"""Records that are verified at most."""


def spent(act: Callable[[], object], times: int = 1) -> float:
    """Seconds of the processor, with all that the process has running; the least of some times."""
    tries = []
    for _ in range(times):
        begins = time.process_time()
        act()
        tries.append(time.process_time() - begins)
    return min(tries)


def memory() -> float:
    """The most memory that the process had so far, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def measure_verify(folder: Path) -> None:
    """Records one after the other, as `guide verify` reads them; the least work: hash and parse every line."""
    paths = sorted(folder.rglob("record.jsonl"))[:MOST]

    def plain() -> None:
        for path in paths:
            with path.open("rb") as source:
                hashlib.file_digest(source, "sha256")
                source.seek(0)
                for line in source:
                    json.loads(line)

    def ours() -> None:
        for path in paths:
            assert verify(path.parent).ok

    lines = sum(path.read_bytes().count(b"\n") for path in paths)
    with tempfile.TemporaryDirectory() as name:  # loads what verifying needs, and remembers nothing of these
        put(Path(name) / "job", talked(Path(name) / "talked", TINY, TINY_DONE))
        assert verify(Path(name) / "job").ok
    first = spent(ours)
    both = [(spent(ours), spent(plain)) for _ in range(5)]
    again, least = min(one for one, _ in both), min(other for _, other in both)
    print(
        f"verify: {len(paths)} records, {lines:,} lines: {least / first:.2f} of the rate of SHA-256 and json.loads the "
        f"first time, {least / again:.2f} once lines were seen before; {lines / again:,.0f} lines a second"
    )


def measure_gather(folder: Path, store: Path) -> None:
    """How long each further quarter of the jobs takes: the same, if gathering is linear."""
    marks: list[tuple[int, float, float]] = [(0, time.process_time(), memory())]
    total = sum(1 for _ in folder.rglob("record.jsonl"))

    def mark(did: Gathered) -> None:
        if did.taken >= total * len(marks) // 4:
            marks.append((did.events, time.process_time(), memory()))

    writer, begins = Writer.open(store, lambda: None), time.perf_counter()
    did = Gathering(writer, Keys(store / "none")).gather([folder], mark)
    writer.close()
    ends = time.process_time()
    print(
        f"gather: {did.taken:,} jobs, {did.events:,} entries, {len(did.refused)} refused, {ends - marks[0][1]:.0f} s "
        f"of the processor ({time.perf_counter() - begins:.0f} s by the clock), at most {memory():.0f} MB"
    )
    for (before, begun, _), (events, ended, most) in pairwise(marks):
        each = 1e6 * (ended - begun) / (events - before)
        print(f"  entries {before:,} to {events:,}: {each:.0f} microseconds each, {most:.0f} MB so far")
    size = sum(path.stat().st_size for path in store.rglob("*.parquet"))
    print(f"  {size / 1e6:.0f} MB of Parquet; gathered again: {_again(folder, store):.1f} s of the processor")


def _again(folder: Path, store: Path) -> float:
    def once() -> None:
        writer = Writer.open(store, lambda: None)
        assert not Gathering(writer, Keys(store / "none")).gather([folder]).taken
        writer.close()

    return spent(once)


def measure_review(store: Path, times: int = 3) -> None:
    """Each question as `guide review` asks it, its expression made anew each time, and by hand."""
    ours = theirs = 0.0
    which = Which(invented=True)
    with opened(store, manifests(store)) as engine:
        by_hand = duckdb.connect()
        for name, question in QUESTIONS.items():
            told = unlike(engine.answer(question, which), asked(by_hand, store, name, PLAIN))
            one = spent(lambda question=question: engine.answer(question, which), times)  # type: ignore[misc]
            other = spent(lambda name=name: asked(by_hand, store, name, PLAIN), times)  # type: ignore[misc]
            ours, theirs = ours + one, theirs + other
            print(
                f"  {name}: {one:.2f} s, by hand {other:.2f} s: {one / other:.2f}{', OTHER: ' + told if told else ''}"
            )
    print(f"review: {len(QUERIES)} questions, {ours:.2f} s, by hand {theirs:.2f} s: {ours / theirs:.2f} times")


def small() -> None:
    """Everything, on a few jobs."""
    with tempfile.TemporaryDirectory() as name:
        write(Path(name) / "jobs", 12)
        measure_verify(Path(name) / "jobs")
        measure_gather(Path(name) / "jobs", Path(name) / "store")
        measure_review(Path(name) / "store", 1)


def main() -> None:
    what, *rest = sys.argv[1:] or ["small"]
    if what == "verify":
        measure_verify(Path(rest[0]))
    elif what == "gather":
        measure_gather(Path(rest[0]), Path(rest[1]))
    elif what == "review":
        measure_review(Path(rest[0]), int(rest[1]) if len(rest) > 1 else 3)
    else:
        small()


if __name__ == "__main__":
    main()
