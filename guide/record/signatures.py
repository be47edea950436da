"""Who signed a record: signatures beside it, each over the record's last hash at the time, and what they are worth.

`DIR/signatures.jsonl` holds one JSON object a line: `format`, `name`, `role` (installer, supervisor), `key` (the public
key), `at`, `lines` and `hash` (how many lines the record had, and the hash of its last), `signature` (Ed25519 over
`guide signature`, a newline, and the other members as compact JSON with sorted keys). The record itself is not touched.
A signature by a known key over the last hash shows that nothing was cut off or rewritten since it was made.
"""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any, Literal, get_args

from guide.problems import Problem, ProblemError
from guide.record.files import Files, told
from guide.record.journal import LOCK, RECORD
from guide.record.keys import Keys
from guide.record.verification import REWRITE, SEAL_CUT, Verification
from guide.record.verify import verify

FILE = "signatures.jsonl"
FORMAT = 1
MOST_BYTES = 1_000_000
Role = Literal["installer", "supervisor"]
Standing = Literal["good", "stale", "elsewhere", "false", "unchecked"]
"""Over the record as it is; over an earlier end of it; over another record; not by that key; no library to check it."""


@dataclass(frozen=True, slots=True)
class Signature:
    """One line of the file; `known` is the name that its key is known by, or None."""

    name: str
    role: Role
    key: str
    at: str
    lines: int
    hash: str
    signature: str = ""
    format: int = FORMAT
    standing: Standing = "unchecked"
    known: str | None = None

    def message(self) -> bytes:
        """The bytes that are signed."""
        said = {key: value for key, value in asdict(self).items() if key in _SIGNED}
        return b"guide signature\n" + json.dumps(said, sort_keys=True, separators=(",", ":")).encode()


_SIGNED = ("format", "name", "role", "key", "at", "lines", "hash")


@dataclass(frozen=True, slots=True)
class Signed:
    """The signatures of a record, and what is wrong with their file, if anything."""

    signatures: tuple[Signature, ...] = ()
    problem: str = ""

    @property
    def ok(self) -> bool:
        """Whether nothing speaks against the record: no signature is false or over something else."""
        return not self.problem and all(one.standing in ("good", "stale", "unchecked") for one in self.signatures)

    @property
    def vouched(self) -> tuple[Signature, ...]:
        """Those by a known key over the record as it is."""
        return tuple(one for one in self.signatures if one.standing == "good" and one.known is not None)

    def as_data(self) -> dict[str, object]:
        """All of it as plain JSON data."""
        return {"ok": self.ok, "problem": self.problem, "signatures": [asdict(one) for one in self.signatures]}


def sign(directory: Path, name: str, role: Role | None, at: datetime, keys: Keys, passphrase: str = "") -> Signature:
    """Sign the last hash of a finished or stopped record and keep the signature beside it; raises `ProblemError`.

    Without a role the first to sign a hash does so as installer, the next as supervisor; the supervisor signs after
    an installer, with another key.
    """
    files = Files()
    what = f"{directory} can't be signed"
    try:
        if not stat.S_ISREG(os.lstat(directory / RECORD).st_mode):
            raise _problem("record-not-a-file", f"{directory / RECORD} is not an ordinary file.")
        lock = files.lock(directory / LOCK)
    except FileNotFoundError:
        raise _problem("no-job", f"there is no job in {directory}.", "Name the job's folder.") from None
    except BlockingIOError:
        raise _problem("job-open", f"{directory}: the job is open elsewhere.", "Stop it there, then sign.") from None
    except OSError as fault:
        raise told(fault, what) from None
    try:
        found = verify(directory)
        _see_that_it_can_be_signed(directory, found)
        before = examine(directory, found, keys)
        if not before.ok:
            raise _problem("signatures-doubtful", f"{what}: {_worst(before)}", "Look: guide verify DIR")
        made = _signature(found, before, name, role, at, keys, passphrase)
        _append(files, directory / FILE, made)
        return replace(made, standing="good", known=keys.named(made.key))
    except OSError as fault:
        raise told(fault, what) from None
    finally:
        os.close(lock)


def _see_that_it_can_be_signed(directory: Path, found: Verification) -> None:
    if not found.ok:
        message = f"the record in {directory} is not whole: {found.problems[0].message}"
        raise _problem("record-not-whole", message, f"Look at it with: guide verify {directory}")
    if found.torn or not found.sealed:
        message = f"the job in {directory} is not finished and not stopped, so there is nothing to sign yet."
        raise _problem("job-open", message, f"Finish it, or stop it: guide resume {directory}")


def _signature(
    found: Verification, before: Signed, name: str, role: Role | None, at: datetime, keys: Keys, passphrase: str
) -> Signature:
    here = [one for one in before.signatures if one.standing == "good"]
    installers = [one for one in here if one.role == "installer"]
    role = role or ("supervisor" if installers else "installer")
    private = keys.private(name, passphrase)
    key = private.public_key().public_bytes_raw().hex()
    if any(one.key == key for one in here):
        raise _problem(
            "signed-already", f"{name} has signed this record already.", "Each signs once, with a key of theirs."
        )
    if role == "supervisor" and not installers:
        raise _problem("installer-first", "the installer signs first, then the supervisor.")
    made = Signature(keys.spelled(name), role, key, at.isoformat(), found.lines, found.last_hash)
    return replace(made, signature=private.sign(made.message()).hex())


def _append(files: Files, path: Path, made: Signature) -> None:
    """The file with one line more, written aside, made durable, then put in its place."""
    lines = path.read_bytes() if os.path.lexists(path) else b""
    line = {key: value for key, value in asdict(made).items() if key in _SIGNED} | {"signature": made.signature}
    beside = path.with_suffix(f".{os.getpid()}")
    try:
        with beside.open("xb") as out:
            out.write(lines + json.dumps(line).encode() + b"\n")
            out.flush()
            os.fsync(out.fileno())
        os.replace(beside, path)
        files.sync_folder(path.parent)
    finally:
        beside.unlink(missing_ok=True)


def examine(directory: Path, found: Verification, keys: Keys) -> Signed:
    """What the signatures beside a record are worth; never raises for anything the file can hold."""
    path = directory / FILE
    try:
        if not os.path.lexists(path):
            return Signed()
        if not stat.S_ISREG(os.lstat(path).st_mode) or os.lstat(path).st_size > MOST_BYTES:
            return Signed(problem=f"{path} is no ordinary file, or far too large.")
        read = [_read(line) for line in path.read_bytes().splitlines()]
        ends = _hashes(directory / RECORD, {one.lines for one in read}) if found.ok else {}
    except OSError as fault:
        return Signed(problem=f"{path} can't be read: {fault.strerror}.")
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as fault:
        return Signed(problem=f"{path} holds a line that is no signature ({fault}).")
    try:
        names: Mapping[str, str] = {one.key: one.name for one in keys.known()}
        problem = ""
    except ProblemError as fault:
        names, problem = {}, fault.problems[0].message
    return Signed(tuple(_weighed(one, found, ends, names) for one in read), problem)


def _read(line: bytes) -> Signature:
    data: dict[str, Any] = json.loads(line)
    if sorted(data) != sorted((*_SIGNED, "signature")) or type(data["lines"]) is not int:
        raise ValueError("its members are others")
    if data["format"] != FORMAT:
        raise ValueError(f"format {data['format']!r} is not known; a newer guide may know it")
    one = Signature(**data)
    if one.role not in get_args(Role) or any(type(data[key]) is not str for key in ("name", "at", "hash")):
        raise ValueError("a member has another form")
    datetime.fromisoformat(one.at)
    if len(bytes.fromhex(one.key)) != 32 or len(bytes.fromhex(one.signature)) != 64:
        raise ValueError("a key or a signature has another length")
    return one


def _hashes(record: Path, wanted: set[int]) -> dict[int, str]:
    """The hash at the end of each line wanted."""
    with record.open("rb") as source:
        return {at: line[-67:-3].decode("ascii", "replace") for at, line in enumerate(source, 1) if at in wanted}


def _weighed(one: Signature, found: Verification, ends: Mapping[int, str], names: Mapping[str, str]) -> Signature:
    standing: Standing
    try:
        from cryptography.exceptions import InvalidSignature
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
    except ModuleNotFoundError:
        return one
    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(one.key)).verify(bytes.fromhex(one.signature), one.message())
    except InvalidSignature:
        standing = "false"
    else:
        whole = one.lines == found.lines and one.hash == found.last_hash
        standing = "good" if found.ok and whole else "stale" if ends.get(one.lines) == one.hash else "elsewhere"
    return replace(one, standing=standing, known=names.get(one.key))


def _worst(signed: Signed) -> str:
    return signed.problem or "a signature beside it does not belong to it."


def weigh(found: Verification, signed: Signed) -> None:
    """Say in the verification what the signatures let it rely on."""
    for one in signed.vouched if found.ok else ():
        found.relied_on.append(
            f"{one.known} signed this hash with the key known here: a cut or a rewrite since then would show."
        )
        found.not_seen = [text for text in found.not_seen if text not in (SEAL_CUT, REWRITE)]


_WORTH: Mapping[Standing, str] = {
    "good": "over the record as it is",
    "stale": "STALE: events were added after it",
    "elsewhere": "NOT OVER THIS RECORD: it signs other content, so the record or the signature was replaced",
    "false": "FALSE: the signature was not made by that key over what it says",
    "unchecked": "not checked: the package cryptography is not installed",
}


def signature_lines(signed: Signed) -> list[str]:
    """The signatures in words, one a line."""
    lines = [f"Signatures: {signed.problem}"] if signed.problem else []
    for one in signed.signatures:
        lines.append(f"Signed: {one.name}, {one.role}, {one.at[:19].replace('T', ' ')}: {worth(one)}.")
    return lines or ["Signed: by nobody."]


def worth(one: Signature) -> str:
    """What a signature is worth, in words: of what, and by whose key."""
    if one.standing in ("false", "unchecked"):
        return _WORTH[one.standing]
    whose = f"key {one.key[:16]}… is not known here: anybody may have made it"
    if one.known is not None:
        whose = "known key" if one.known == one.name else f"the key is known here as that of {one.known}"
    return f"{_WORTH[one.standing]}; {whose}"


def _problem(code: str, message: str, hint: str | None = None) -> ProblemError:
    return ProblemError([Problem(code, message, hint=hint)])
