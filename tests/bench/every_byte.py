"""Change every byte of a real job's record, one at a time, and see that each change is found at its line. Run by hand.

PYTHONPATH=tests python tests/bench/every_byte.py [PROCEDURE [EACH]]      (default picture-rail, every byte)

Each byte is changed twice: one bit of it, and to another value at random; with EACH, only every so many bytes.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from pathlib import Path

from records import put, talked
from talking import obliging, talk

from guide.procedure import shipped
from guide.record.verify import verify


def changes(record: bytes, folder: Path, each: int, seed: int) -> tuple[int, list[str]]:
    """How many changes were tried, and those that were not found or were placed at another line."""
    chance = random.Random(seed)
    tried, missed = 0, []
    file = folder / "record.jsonl"
    line = 1
    for at, byte in enumerate(record):
        if at % each == 0:
            for value in {byte ^ (1 << chance.randrange(8)), chance.randrange(256)} - {byte}:
                with file.open("r+b") as out:
                    out.seek(at)
                    out.write(bytes([value]))
                found = verify(folder)
                tried += 1
                if found.ok or found.first_bad_line != line:
                    missed.append(f"byte {at} of line {line}, {byte} to {value}: {found.first_bad_line}")
            with file.open("r+b") as out:
                out.seek(at)
                out.write(bytes([byte]))
        line += byte == ord("\n")
    return tried, missed


def said(name: str) -> list[str]:
    """What an obliging crew says from the beginning of a job to its end."""
    job, lines = talk(name, pretended=True), []
    while not job.session.over:
        lines.append(obliging(job.ask))
        job.say(lines[-1])
    return lines


def main() -> None:
    name = sys.argv[1] if len(sys.argv) > 1 else "picture-rail"
    each = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    start = time.perf_counter()
    with tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").is_dir() else None) as folder:
        text = shipped()[name].read_text(encoding="utf-8")
        record = talked(Path(folder) / "made", text, said(name))
        job = put(Path(folder), record)
        assert verify(job).ok
        tried, missed = changes(record, job, each, seed=1)
        assert verify(job).ok
    print(
        f"{name}: {len(record):,} bytes, {record.count(10):,} lines; {tried:,} changes of one byte, "
        f"{len(missed)} not found at their line, {time.perf_counter() - start:.0f} s"
    )
    print("\n".join(missed[:20]))


if __name__ == "__main__":
    main()
