"""Sound kept for the next time: bounded, whole or not at all, and never in the way."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from guide.voice.mouth_cache import Cache


def wav(size: int) -> bytes:
    return b"RIFF" + (size - 8).to_bytes(4, "little") + bytes(size - 8)


def test_what_was_put_is_there_again(tmp_path: Path) -> None:
    cache = Cache(tmp_path / "deep" / "mouth")
    assert cache.get("a") is None
    cache.put("a", wav(100))
    assert cache.get("a") == wav(100)
    assert (tmp_path / "deep" / "mouth").stat().st_mode & 0o077 == 0


def test_the_key_tells_words_and_settings_apart() -> None:
    keys = {Cache.key(said) for said in (["a", 150], ["a", 160], ["b", 150], ["a", "150"])}
    assert len(keys) == 4
    assert Cache.key(["a", 150]) == Cache.key(["a", 150])


@pytest.mark.parametrize("bad", [b"", b"RIFF", wav(100)[:-1], wav(100) + b"x", b"JUNK" + wav(100)[4:]])
def test_a_file_that_is_not_whole_counts_as_none(tmp_path: Path, bad: bytes) -> None:
    (tmp_path / "a.wav").write_bytes(bad)
    assert Cache(tmp_path).get("a") is None


def test_too_many_files_drop_the_longest_unused(tmp_path: Path) -> None:
    cache = Cache(tmp_path, most_files=2)
    for age, name in ((300, "a"), (200, "b")):
        cache.put(name, wav(50))
        os.utime(tmp_path / f"{name}.wav", (1e9 - age, 1e9 - age))
    assert cache.get("a") is not None  # used just now, so b is the longest unused
    cache.put("c", wav(50))
    assert sorted(one.stem for one in tmp_path.iterdir()) == ["a", "c"]


def test_too_many_bytes_are_dropped(tmp_path: Path) -> None:
    cache = Cache(tmp_path, most_bytes=250)
    for number in range(10):
        cache.put(str(number), wav(100))
        os.utime(tmp_path / f"{number}.wav", (1e9 + number, 1e9 + number))
    assert sum(one.stat().st_size for one in tmp_path.iterdir()) <= 250


def test_a_folder_that_cannot_be_written_is_no_fault(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    cache = Cache(tmp_path / "file" / "mouth")
    cache.put("a", wav(100))
    assert cache.get("a") is None
