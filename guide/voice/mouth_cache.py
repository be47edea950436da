"""Sound that was made before: WAV files by the hash of what they say and how, the longest unused ones dropped."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from pathlib import Path

MOST_BYTES = 40_000_000
MOST_FILES = 400


class Cache:
    """WAV files in one folder. Whatever goes wrong with the disk, nothing is raised: then the sound is made again."""

    def __init__(self, folder: Path, most_bytes: int = MOST_BYTES, most_files: int = MOST_FILES) -> None:
        self.folder = folder
        self._most_bytes = most_bytes
        self._most_files = most_files

    @staticmethod
    def key(said: object) -> str:
        """The name for what is said and how (JSON values)."""
        return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()

    def get(self, key: str) -> bytes | None:
        """The file's bytes if it is there and whole."""
        path = self._path(key)
        try:
            data = path.read_bytes()
            os.utime(path)
        except OSError:
            return None
        whole = data[:4] == b"RIFF" and int.from_bytes(data[4:8], "little") == len(data) - 8
        return data if whole else None

    def put(self, key: str, data: bytes) -> None:
        """Keep a file, and drop what is too much."""
        path = self._path(key)
        beside = path.with_suffix(f".{os.getpid()}")
        try:
            self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            beside.write_bytes(data)
            os.replace(beside, path)
            self._trim()
        except OSError:
            with contextlib.suppress(OSError):
                beside.unlink()

    def _path(self, key: str) -> Path:
        return self.folder / f"{key}.wav"

    def _trim(self) -> None:
        found = sorted(
            ((one.stat().st_mtime_ns, one.stat().st_size, one) for one in self.folder.iterdir()), reverse=True
        )
        total = 0
        for number, (_, size, path) in enumerate(found):
            total += size
            if number >= self._most_files or total > self._most_bytes:
                path.unlink(missing_ok=True)
