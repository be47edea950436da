"""The record against published standards."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from fakes import FakeClock

from guide.job import events as ev
from guide.record import Journal
from guide.record.reader import hash_of

RFC_3339 = re.compile(
    r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])T([01]\d|2[0-3]):[0-5]\d:([0-5]\d|60)(\.\d+)?(Z|[+-]([01]\d|2[0-3]):[0-5]\d)"
)
"""The `date-time` production of RFC 3339 section 5.6."""


@pytest.mark.outside("RFC 3339 section 5.6, the date-time grammar", "published, from memory")
@pytest.mark.parametrize("offset", [UTC, timezone(timedelta(hours=-7)), timezone(timedelta(hours=5, minutes=45))])
def test_times_in_the_record(tmp_path: Path, offset: timezone) -> None:
    clock = FakeClock(datetime(2026, 2, 28, 23, 59, 59, 123456, offset))
    started = ev.Started(ev.FORMAT, "0", "shelf", "A shelf", "", ())
    journal, _ = Journal.create(tmp_path / "job", clock, [started], "Bo")
    journal.append([ev.Done("set", until=clock.at + timedelta(days=1))], "Bo")
    text = (tmp_path / "job" / "record.jsonl").read_text(encoding="utf-8")
    times = re.findall(r'"(?:at|until)":"([^"]+)"', text)
    assert len(times) == 3
    assert all(RFC_3339.fullmatch(time) for time in times)


@pytest.mark.outside("FIPS 180-4, SHA-256 of its example messages", "published")
@pytest.mark.parametrize(
    ("message", "digest"),
    [
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
    ],
)
def test_the_hash_of_the_chain(message: bytes, digest: str) -> None:
    assert hash_of(message[:1].decode("ascii"), message[1:]) == digest
