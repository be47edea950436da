"""Signatures beside a record: who may sign what and when, what each is worth later, and files somebody meddled with."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from fakes import FakeClock
from records import TINY, TINY_DONE, Quick, edited, put, talked

from guide.job import events as ev
from guide.problems import ProblemError
from guide.record import Journal
from guide.record.files import Files
from guide.record.keys import Keys
from guide.record.signatures import FILE, examine, sign, signature_lines, weigh
from guide.record.verification import REWRITE, SEAL_CUT
from guide.record.verify import verify

NOW = datetime(2026, 5, 4, 13, 0, tzinfo=UTC)


@pytest.fixture
def keys(tmp_path: Path) -> Keys:
    found = Keys(tmp_path / "data" / "keys")
    found.make("Bo")
    found.make("Ana")
    return found


@pytest.fixture
def job(tmp_path: Path) -> Path:
    talked(tmp_path / "job", TINY, TINY_DONE)
    return tmp_path / "job"


def refused(job: Path, keys: Keys, name: str, role: str | None = None) -> str:
    with pytest.raises(ProblemError) as fault:
        sign(job, name, role, NOW, keys)  # type: ignore[arg-type]
    return fault.value.problems[0].code


def standings(job: Path, keys: Keys) -> list[tuple[str, str, str | None]]:
    return [(one.role, one.standing, one.known) for one in examine(job, verify(job), keys).signatures]


def test_the_installer_then_the_supervisor(job: Path, keys: Keys) -> None:
    record = (job / "record.jsonl").read_bytes()
    assert refused(job, keys, "Ana", "supervisor") == "installer-first"
    assert sign(job, "bo", None, NOW, keys).name == "Bo"
    assert refused(job, keys, "Bo") == "signed-already"
    assert sign(job, "Ana", None, NOW, keys).role == "supervisor"
    assert standings(job, keys) == [("installer", "good", "Bo"), ("supervisor", "good", "Ana")]
    assert (job / "record.jsonl").read_bytes() == record
    found = verify(job)
    weigh(found, examine(job, found, keys))
    assert not {SEAL_CUT, REWRITE} & set(found.not_seen)
    assert sum("signed this hash" in text for text in found.relied_on) == 2


def test_an_unfinished_or_damaged_job_is_not_signed(tmp_path: Path, keys: Keys) -> None:
    talked(tmp_path / "open", TINY, TINY_DONE[:2])
    assert refused(tmp_path / "open", keys, "Bo") == "job-open"
    data = talked(tmp_path / "bad", TINY, TINY_DONE)
    put(tmp_path / "bad", data.replace(b"1/16", b"1/32", 1))
    assert refused(tmp_path / "bad", keys, "Bo") == "record-not-whole"
    assert refused(tmp_path / "nowhere", keys, "Bo") == "no-job"
    assert refused(tmp_path / "bad", keys, "Nobody") == "record-not-whole"
    assert not (tmp_path / "bad" / FILE).exists()


def test_a_job_that_is_open_elsewhere_is_not_signed(job: Path, keys: Keys) -> None:
    journal, _ = Journal.open(job, FakeClock(), Quick())
    assert refused(job, keys, "Bo") == "job-open"
    journal.close()
    assert refused(job, keys, "Cy") == "no-key"


def test_a_signature_before_later_events_is_stale(job: Path, keys: Keys) -> None:
    sign(job, "Bo", None, NOW, keys)
    journal, _ = Journal.open(job, FakeClock(NOW), Quick())
    journal.append([ev.Resumed(), ev.Noted("one thing more"), ev.Finished("good")], "Bo")
    journal.close()
    assert verify(job).ok
    assert standings(job, keys) == [("installer", "stale", "Bo")]
    signed = examine(job, verify(job), keys)
    assert "STALE: events were added after it" in signature_lines(signed)[0]
    assert signed.ok and not signed.vouched
    sign(job, "Bo", None, NOW, keys)
    assert standings(job, keys) == [("installer", "stale", "Bo"), ("installer", "good", "Bo")]


def test_a_rewrite_of_the_whole_record_shows(job: Path, keys: Keys) -> None:
    sign(job, "Bo", None, NOW, keys)
    lines = (job / "record.jsonl").read_bytes().splitlines(keepends=True)
    put(job, edited(lines, 1, lambda data: data["data"]["person"].update(name="Al")))
    assert standings(job, keys) == [("installer", "elsewhere", "Bo")]
    signed = examine(job, verify(job), keys)
    assert not signed.ok and "NOT OVER THIS RECORD" in signature_lines(signed)[0]
    assert refused(job, keys, "Ana") in ("record-not-whole", "signatures-doubtful")


def test_a_cut_together_with_the_seal_shows(tmp_path: Path, keys: Keys) -> None:
    data = talked(tmp_path / "job", TINY, TINY_DONE)
    sign(tmp_path / "job", "Bo", None, NOW, keys)
    put(tmp_path / "job", b"".join(data.splitlines(keepends=True)[:5]))
    assert standings(tmp_path / "job", keys) == [("installer", "elsewhere", "Bo")]


@pytest.mark.parametrize("member", ["name", "role", "at", "lines", "hash", "key", "signature"])
def test_every_member_is_covered(job: Path, keys: Keys, member: str) -> None:
    sign(job, "Bo", None, NOW, keys)
    data = json.loads((job / FILE).read_bytes())
    other = {"name": "Al", "role": "supervisor", "at": "2026-05-04T13:00:01+00:00", "lines": data["lines"] - 1}
    flipped = format(int(data.get(member, "0"), 16) ^ 1, "x") if member in ("hash", "key", "signature") else ""
    data[member] = other.get(member, flipped.rjust(len(str(data[member])), "0"))
    (job / FILE).write_text(json.dumps(data))
    signed = examine(job, verify(job), keys)
    assert not signed.ok
    assert [one.standing for one in signed.signatures] in ([], ["false"])


@pytest.mark.parametrize(
    "text",
    ["", "\n", "{}", "[]", "null", "{", "[" * 100_000, '{"format":2}', "\xff", '{"name":1}'],
    ids=["empty", "blank", "object", "array", "null", "cut", "deep", "future", "latin", "other"],
)
def test_any_other_file_is_told(job: Path, keys: Keys, text: str) -> None:
    (job / FILE).write_bytes(text.encode("latin-1"))
    signed = examine(job, verify(job), keys)
    assert signed.ok == (text == "")
    assert signed.signatures == ()
    assert signature_lines(signed)


def test_a_future_format_a_link_and_a_folder_are_told(job: Path, keys: Keys) -> None:
    sign(job, "Bo", None, NOW, keys)
    (job / FILE).write_text((job / FILE).read_text().replace('"format": 1', '"format": 2'))
    assert "a newer guide may know it" in examine(job, verify(job), keys).problem
    (job / FILE).rename(job / "elsewhere")
    (job / FILE).symlink_to(job / "elsewhere")
    assert "no ordinary file" in examine(job, verify(job), keys).problem
    (job / FILE).unlink()
    (job / FILE).mkdir()
    assert "no ordinary file" in examine(job, verify(job), keys).problem


def test_an_unknown_key_is_said_to_be_unknown(job: Path, keys: Keys, tmp_path: Path) -> None:
    sign(job, "Bo", None, NOW, keys)
    elsewhere = Keys(tmp_path / "other" / "keys")
    signed = examine(job, verify(job), elsewhere)
    assert signed.ok and not signed.vouched
    assert "is not known here: anybody may have made it" in signature_lines(signed)[0]
    elsewhere.add("Boris", signed.signatures[0].key)
    assert "known here as that of Boris" in signature_lines(examine(job, verify(job), elsewhere))[0]


def test_nothing_is_left_half_written(job: Path, keys: Keys, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(source: object, target: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", broken)
    assert refused(job, keys, "Bo") == "disk-full"
    assert sorted(path.name for path in job.iterdir()) == ["lock", "record.jsonl"]


def test_a_folder_that_can_t_be_locked_is_told(job: Path, keys: Keys, monkeypatch: pytest.MonkeyPatch) -> None:
    def locked(self: Files, path: Path) -> int:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(Files, "lock", locked)
    assert refused(job, keys, "Bo") == "read-only"


def test_the_command_line_signs_and_verifies(job: Path, tmp_path: Path) -> None:
    def guide(*words: str, said: str = "") -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "guide", *words]
        here = {**os.environ, "GUIDE_DATA": str(tmp_path / "own")}
        return subprocess.run(command, input=said, capture_output=True, text=True, env=here, check=False)

    assert guide("sign", str(job), "--who", "Bo").returncode == 3
    assert "can sign as Bo" in guide("keys", "--make", "Bo").stdout
    assert "can sign" not in guide("keys", "--make", "Ana", "--passphrase", said="correct horse\n").stdout
    assert guide("sign", str(job), "--who", "Bo").returncode == 0
    wrong = guide("sign", str(job), "--who", "Ana", said="battery\n")
    assert wrong.returncode == 3 and "passphrase is wrong" in wrong.stderr
    assert guide("sign", str(job), "--who", "Ana", said="correct horse\n").returncode == 0
    done = guide("verify", str(job))
    assert done.returncode == 0
    assert "Signed: Ana, supervisor" in done.stdout and "Check value: " in done.stdout
    assert "To ask about: " not in done.stdout
    data = json.loads(guide("verify", str(job), "--json").stdout)
    assert data["oddities"] == [] and data["check_value"] in done.stdout
    assert data["ok"] and len(data["signed"]["signatures"]) == 2
    (job / FILE).write_text("{}\n")
    assert guide("verify", str(job)).returncode == 1


def test_without_the_library_a_signature_is_said_to_be_unchecked(
    job: Path, keys: Keys, monkeypatch: pytest.MonkeyPatch
) -> None:
    sign(job, "Bo", None, NOW, keys)
    for name in [one for one in sys.modules if one.partition(".")[0] == "cryptography"]:
        monkeypatch.setitem(sys.modules, name, None)
    signed = examine(job, verify(job), keys)
    assert signed.ok and not signed.vouched
    assert "not checked: the package cryptography is not installed" in signature_lines(signed)[0]
    assert refused(job, keys, "Ana") == "no-cryptography"


def test_a_list_of_keys_that_others_can_change_vouches_for_nobody(job: Path, keys: Keys) -> None:
    sign(job, "Bo", None, NOW, keys)
    (keys.folder / "known.json").chmod(0o666)
    signed = examine(job, verify(job), keys)
    assert not signed.ok and not signed.vouched and "others may read or change" in signed.problem
