"""An archive fetched from its publisher: gone on with where it broke off, held to its size and hash, then unpacked.

Nothing is fetched unless a person asks for it. What did not come whole is kept, to be gone on with; what came whole and
is not what was published is thrown away.
"""

from __future__ import annotations

import contextlib
import fcntl
import hashlib
import http.client
import os
import shutil
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from guide.problems import Problem, ProblemError
from guide.voice.models import Archive, lacking
from guide.voice.unpack import unpack

TRIES = 4
"""Times that nothing more may come before it is given up."""
WAIT = 30.0
"""Seconds that a server may keep silent."""
_BLOCK = 1 << 16
_LOCAL = {"localhost", "127.0.0.1", "::1"}

Progress = Callable[[int, int], None]
"""Told the bytes that have come and the bytes there are."""


class _BrokeOff(Exception):
    """The connection ended early, or could not be made; the message says how."""


class _CarefulRedirects(urllib.request.HTTPRedirectHandler):
    """Goes where the publisher sends us, a few times, but never from a safe connection to an unsafe one."""

    max_redirections = 5

    def redirect_request(self, req: Any, fp: Any, code: int, msg: str, headers: Any, newurl: str) -> Any:
        before, after = urlsplit(req.full_url), urlsplit(newurl)
        if after.scheme != "https" and not (before.hostname in _LOCAL and after.hostname in _LOCAL):
            raise ProblemError([Problem("fetch-unsafe", f"the publisher sends us to an unsafe address: {newurl}")])
        return super().redirect_request(req, fp, code, msg, headers, newurl)


def fetch(archive: Archive, into: Path, progress: Progress = lambda done, size: None, wait: float = WAIT) -> Path:
    """Fetch and unpack an archive into a folder; returns the folder in it. Raises `ProblemError`.

    An archive that already lies there under its name is not fetched again.
    """
    try:
        into.mkdir(parents=True, exist_ok=True)
        with _alone(into):
            return _fetched(archive, into, progress, wait)
    except OSError as fault:
        raise ProblemError([Problem("fetch-disk", f"{into} can't be written: {fault.strerror}")]) from None


def _fetched(archive: Archive, into: Path, progress: Progress, wait: float) -> Path:
    whole, part = into / f"{archive.name}.zip", into / f"{archive.name}.zip.part"
    if not whole.exists():
        have = part.stat().st_size if part.exists() else 0
        if shutil.disk_usage(into).free < archive.size - have + archive.most // 3:
            message = f"{into} has too little room: it takes {(archive.size + archive.most // 3) // 10**6} MB"
            raise ProblemError([Problem("fetch-room", message)])
        _download(archive, part, progress, wait)
        if found := _other_hash(archive, part):
            part.unlink()
            raise _wrong(archive, f"has SHA-256 {found}, not {archive.sha256}; it was thrown away")
        part.rename(whole)
    elif found := _other_hash(archive, whole):
        message = f"{whole} has SHA-256 {found}, not {archive.sha256}"
        raise ProblemError([Problem("fetch-wrong", message, hint="It is not what was published: remove it.")])
    folder = unpack(whole, into, archive.name, archive.most)
    if missing := lacking(folder):
        shutil.rmtree(folder)
        raise ProblemError([Problem("no-model", f"{whole} holds no model that can be used: it has no {missing[0]}")])
    whole.unlink()
    return folder


@contextlib.contextmanager
def _alone(into: Path) -> Iterator[None]:
    """Hold the folder, so that two do not fetch into one file."""
    handle = os.open(into / ".fetching", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    except BlockingIOError:
        raise ProblemError([Problem("fetch-twice", "it is being fetched already, by another guide")]) from None
    finally:
        os.close(handle)


def _download(archive: Archive, part: Path, progress: Progress, wait: float) -> None:
    """Fetch what is missing of the archive, in as many goes as it takes while each brings something."""
    opener = urllib.request.build_opener(_CarefulRedirects)
    tries = 0
    while (have := part.stat().st_size if part.exists() else 0) != archive.size:
        if have > archive.size:
            part.unlink()
            continue
        try:
            _go(opener, archive, part, have, progress, wait)
        except _BrokeOff as broke:
            gained = (part.stat().st_size if part.exists() else 0) > have
            tries = 1 if gained else tries + 1
            if tries >= TRIES:
                raise ProblemError([Problem("fetch-offline", *_by_hand(archive, part.parent, broke))]) from None


def _by_hand(archive: Archive, into: Path, broke: _BrokeOff) -> tuple[str, None, str]:
    """What to say when the network does not do it, and how to do without."""
    message = f"{archive.url} can't be fetched: {broke}"
    hint = (
        "Run this again to go on where it stopped. Without a network: fetch that file on another machine, and put it "
        f"here as {into / archive.name}.zip; then run this again. Its SHA-256 is {archive.sha256}."
    )
    return message, None, hint


def _go(opener: Any, archive: Archive, part: Path, have: int, progress: Progress, wait: float) -> None:
    """One connection: go on behind what there is, to the end; raises `_BrokeOff` if the end does not come."""
    headers = {"User-Agent": "guide", "Accept-Encoding": "identity"}
    if have:
        headers["Range"] = f"bytes={have}-"
    try:
        with opener.open(urllib.request.Request(archive.url, headers=headers), timeout=wait) as answer:
            have = _agreed(archive, answer, have)
            with part.open("r+b" if have else "wb") as out:
                out.seek(have)
                out.truncate()
                progress(have, archive.size)
                while block := _read(answer, min(_BLOCK, archive.size + 1 - have)):
                    if have + len(block) > archive.size:
                        out.truncate(0)
                        raise _wrong(archive, f"goes on behind the {archive.size:,} bytes that were published")
                    out.write(block)
                    have += len(block)
                    progress(have, archive.size)
    except urllib.error.HTTPError as fault:
        fault.close()
        if fault.code == 416 and have:
            part.unlink()
            raise _BrokeOff("it could not be gone on with") from None
        raise _BrokeOff(f"the publisher answers {fault.code} {fault.reason}") from None
    except urllib.error.URLError as fault:
        raise _BrokeOff(str(fault.reason)) from None
    except (http.client.HTTPException, ConnectionError, TimeoutError) as fault:
        raise _BrokeOff(_words(fault)) from None
    if have < archive.size:
        raise _BrokeOff(f"it broke off after {have:,} of {archive.size:,} bytes")


def _read(answer: Any, most: int) -> bytes:
    """Some bytes of the answer; raises `_BrokeOff` if the connection does not bring them."""
    try:
        return bytes(answer.read(most))
    except (http.client.HTTPException, OSError) as fault:
        raise _BrokeOff(_words(fault)) from None


def _words(fault: Exception) -> str:
    return str(fault) or type(fault).__name__


def _agreed(archive: Archive, answer: Any, have: int) -> int:
    """From which byte the answer goes on; raises `ProblemError` if it is not as large as was published."""
    said = answer.headers.get("Content-Length")
    if answer.status == 206:
        start, _, total = answer.headers.get("Content-Range", "").removeprefix("bytes ").partition("/")
        if start.partition("-")[0] != str(have) or total not in ("*", str(archive.size)):
            raise _wrong(archive, f"is not the file that was begun ({total} bytes)")
        return have
    if said is not None and said != str(archive.size):
        raise _wrong(archive, f"has {said} bytes, not the {archive.size:,} that were published")
    return 0


def _other_hash(archive: Archive, path: Path) -> str:
    """The file's SHA-256 if it is not what was published, else nothing."""
    with path.open("rb") as file:
        found = hashlib.file_digest(file, "sha256").hexdigest()
    return "" if found == archive.sha256 else found


def _wrong(archive: Archive, what: str) -> ProblemError:
    hint = "It may have been tampered with, or newly published: don't use it before you know which."
    return ProblemError([Problem("fetch-wrong", f"{archive.url} {what}", hint=hint)])
