"""Fetching a model from a publisher that breaks off, lies, redirects, or serves something else; and unpacking it."""

from __future__ import annotations

import contextlib
import hashlib
import io
import stat
import threading
import zipfile
from collections.abc import Iterable
from pathlib import Path

import pytest
from serving import Publisher, publisher

from guide.problems import ProblemError
from guide.voice.fetch import fetch
from guide.voice.models import NEEDED, Archive, find_vosk, lacking

NAME = "invented-model-1"


def packed(entries: Iterable[tuple[str, bytes]] = (), filler: int = 200_000) -> bytes:
    """A zip of an invented model, and further entries."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        for name in NEEDED:
            file.writestr(f"{NAME}/{name}", b"x" * (filler // len(NEEDED)))
        for name, data in entries:
            file.writestr(name, data)
    return out.getvalue()


DATA = packed()


def archive(server: Publisher, data: bytes = DATA, most: int = 1_000_000) -> Archive:
    return Archive(NAME, server.url, len(data), hashlib.sha256(data).hexdigest(), most)


def refused(into: Path, one: Archive, wait: float = 5) -> str:
    """What is told when the archive can't be fetched or used; nothing but a part of it may be left."""
    with pytest.raises(ProblemError) as caught:
        fetch(one, into, wait=wait)
    assert {path.name for path in into.iterdir()} <= {".fetching", f"{NAME}.zip.part", f"{NAME}.zip"}
    (problem,) = caught.value.problems
    return f"{problem.message} | {problem.hint}"


def test_an_archive_is_fetched_checked_and_unpacked(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    with publisher(DATA) as server:
        folder = fetch(archive(server), tmp_path / "new" / "models", lambda done, size: told.append((done, size)))
    assert folder == tmp_path / "new" / "models" / NAME
    assert lacking(folder) == ()
    assert told[0] == (0, len(DATA)) and told[-1] == (len(DATA), len(DATA)) and told == sorted(told)
    assert not (folder.parent / f"{NAME}.zip").exists()


def test_a_model_that_was_there_is_replaced(tmp_path: Path) -> None:
    (tmp_path / NAME).mkdir()
    (tmp_path / NAME / "old").write_text("old")
    with publisher(DATA) as server:
        folder = fetch(archive(server), tmp_path)
    assert not (folder / "old").exists()


def test_what_breaks_off_is_gone_on_with(tmp_path: Path) -> None:
    with publisher(DATA, "breaks off") as server:
        folder = fetch(archive(server), tmp_path)
        assert lacking(folder) == ()
        third = len(DATA) // 3
        assert server.asked[:3] == [None, f"bytes={third}-", f"bytes={2 * third}-"]


def test_a_later_run_goes_on_where_the_first_stopped(tmp_path: Path) -> None:
    (tmp_path / f"{NAME}.zip.part").write_bytes(DATA[:5000])
    with publisher(DATA) as server:
        fetch(archive(server), tmp_path)
        assert server.asked == ["bytes=5000-"]


@pytest.mark.parametrize("how", ["no range", "416", "says nothing"])
def test_a_server_that_cannot_go_on_begins_anew(tmp_path: Path, how: str) -> None:
    (tmp_path / f"{NAME}.zip.part").write_bytes(b"y" * 5000 if how == "no range" else DATA[:5000])
    with publisher(DATA, how) as server:
        assert lacking(fetch(archive(server), tmp_path)) == ()


def test_a_part_that_is_too_long_is_thrown_away(tmp_path: Path) -> None:
    (tmp_path / f"{NAME}.zip.part").write_bytes(DATA + b"more")
    with publisher(DATA) as server:
        assert lacking(fetch(archive(server), tmp_path)) == ()
        assert server.asked == [None]


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ("says more", f"has {len(DATA) + 1000} bytes, not the {len(DATA):,} that were published"),
        ("says less", f"has {len(DATA) - 1000} bytes, not the {len(DATA):,} that were published"),
        ("endless", f"goes on behind the {len(DATA):,} bytes that were published"),
        ("gone", "the publisher answers 404 Not Found"),
        ("silent", f"it broke off after 0 of {len(DATA):,} bytes"),
    ],
)
def test_a_server_that_lies_or_has_nothing(tmp_path: Path, how: str, told: str) -> None:
    with publisher(DATA, how) as server:
        assert told in refused(tmp_path, archive(server))


def test_a_server_that_stalls_is_not_waited_for(tmp_path: Path) -> None:
    with publisher(DATA, "stalls") as server:
        (tmp_path / f"{NAME}.zip.part").write_bytes(DATA[:-450])
        assert "timed out" in refused(tmp_path, archive(server), wait=0.2)


def test_a_part_of_another_file_is_not_gone_on_with(tmp_path: Path) -> None:
    (tmp_path / f"{NAME}.zip.part").write_bytes(DATA[:5000])
    with publisher(DATA, "another file") as server:
        assert "is not the file that was begun" in refused(tmp_path, archive(server))


def test_a_bad_hash_is_thrown_away_and_both_are_shown(tmp_path: Path) -> None:
    other = DATA[:-1] + b"!"
    with publisher(other) as server:
        told = refused(tmp_path, archive(server))
    assert hashlib.sha256(other).hexdigest() in told and hashlib.sha256(DATA).hexdigest() in told
    assert "thrown away" in told and "tampered" in told
    assert not (tmp_path / f"{NAME}.zip.part").exists()


def test_a_part_that_was_spoilt_is_found_out_and_the_next_run_is_good(tmp_path: Path) -> None:
    (tmp_path / f"{NAME}.zip.part").write_bytes(b"y" * 5000)
    with publisher(DATA) as server:
        assert "thrown away" in refused(tmp_path, archive(server))
        assert lacking(fetch(archive(server), tmp_path)) == ()


def test_redirects_are_followed_but_never_to_an_unsafe_address(tmp_path: Path) -> None:
    with publisher(DATA) as last, publisher(DATA, f"to {last.url}") as first:
        assert lacking(fetch(archive(first), tmp_path / "a")) == ()
    with publisher(DATA, "to http://publisher.invalid/archive.zip") as server:
        assert "unsafe address: http://publisher.invalid/archive.zip" in refused(tmp_path / "b", archive(server))
    with publisher(DATA) as server:
        server.how = f"to {server.url}"
        assert "can't be fetched" in refused(tmp_path / "b", archive(server))
    with publisher(DATA, "to file:///etc/passwd") as server:
        assert "file:///" in refused(tmp_path / "b", archive(server))


def test_offline_is_said_with_what_to_do_by_hand(tmp_path: Path) -> None:
    with publisher(DATA) as server:
        one = archive(server)
    told = refused(tmp_path, one)
    assert f"{one.url} can't be fetched: " in told and "refused" in told
    assert f"put it here as {tmp_path / NAME}.zip; then run this again" in told and one.sha256 in told


def test_an_archive_put_there_by_hand_needs_no_network(tmp_path: Path) -> None:
    with publisher(DATA) as server:
        one = archive(server)
    (tmp_path / f"{NAME}.zip").write_bytes(DATA)
    assert lacking(fetch(one, tmp_path)) == ()


def test_a_wrong_archive_put_there_by_hand_is_refused_and_left_alone(tmp_path: Path) -> None:
    with publisher(DATA) as server:
        one = archive(server)
    (tmp_path / f"{NAME}.zip").write_bytes(b"something else")
    assert "not what was published: remove it" in refused(tmp_path, one)
    assert (tmp_path / f"{NAME}.zip").read_bytes() == b"something else"


def test_two_do_not_fetch_into_one_file(tmp_path: Path) -> None:
    with publisher(DATA, "stalls") as server:
        one = archive(server)
        begun = threading.Event()

        def fetch_first() -> None:
            with contextlib.suppress(ProblemError):
                fetch(one, tmp_path, lambda done, size: begun.set(), 0.3)

        first = threading.Thread(target=fetch_first)
        first.start()
        assert begun.wait(10)
        assert "by another guide" in refused(tmp_path, one)
        first.join()


def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with publisher(DATA) as server, pytest.raises(ProblemError, match="can't be written"):
        fetch(archive(server), tmp_path / "file" / "models")


def bad(tmp_path: Path, data: bytes, most: int = 1_000_000) -> str:
    with publisher(data) as server:
        return refused(tmp_path / "models", archive(server, data, most))


@pytest.mark.parametrize(
    "name",
    [
        f"{NAME}/../../outside",
        "../outside",
        "/outside",
        f"{NAME}/..\\outside",
        "C:/outside",
        f"{NAME}/a/../../../outside",
    ],
)
def test_no_path_leads_outside(tmp_path: Path, name: str) -> None:
    assert "has a path that leads outside" in bad(tmp_path, packed([(name, b"evil")]))
    assert not list(tmp_path.rglob("outside"))


def test_nothing_lies_beside_the_folder(tmp_path: Path) -> None:
    assert "not in its folder" in bad(tmp_path, packed([("other/file", b"x")]))


def special(name: str, mode: int, target: bytes) -> bytes:
    out = io.BytesIO(packed())
    with zipfile.ZipFile(out, "a") as file:
        info = zipfile.ZipInfo(f"{NAME}/{name}")
        info.external_attr = mode << 16
        file.writestr(info, target)
    return out.getvalue()


@pytest.mark.parametrize("mode", [stat.S_IFLNK | 0o777, stat.S_IFIFO | 0o644, stat.S_IFCHR | 0o644])
def test_no_links_and_no_devices(tmp_path: Path, mode: int) -> None:
    assert "holds a link or a device" in bad(tmp_path, special("link", mode, b"/etc/passwd"))


def test_a_bomb_that_says_so(tmp_path: Path) -> None:
    out = io.BytesIO(packed())
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as file:
        file.writestr(f"{NAME}/bomb", bytes(5_000_000))
    assert "would take more than 1,000,000 bytes" in bad(tmp_path, out.getvalue())


def test_a_bomb_that_lies_about_its_size(tmp_path: Path) -> None:
    out = io.BytesIO(packed())
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as file:
        file.writestr(f"{NAME}/bomb", bytes(5_000_000))
    data = out.getvalue().replace((5_000_000).to_bytes(4, "little"), (500).to_bytes(4, "little"))
    told = bad(tmp_path, data)
    assert "can't be unpacked" in told or "holds more than it says" in told
    assert not (tmp_path / "models" / NAME).exists()


def test_too_many_files(tmp_path: Path) -> None:
    many = packed((f"{NAME}/{number}", b"") for number in range(1001))
    assert "holds more than 1000 files" in bad(tmp_path, many)


def test_the_same_file_twice(tmp_path: Path) -> None:
    assert "holds the same file twice" in bad(tmp_path, packed([(f"{NAME}/A", b"1"), (f"{NAME}/a", b"2")]))


@pytest.mark.parametrize("spoil", ["cut", "byte", "no zip"])
def test_what_is_no_whole_zip(tmp_path: Path, spoil: str) -> None:
    data = {"cut": DATA[:-50], "byte": DATA[:3000] + b"!" + DATA[3001:], "no zip": b"hello" * 100}[spoil]
    assert "can't be unpacked" in bad(tmp_path, data)


def test_a_zip_without_a_model(tmp_path: Path) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        file.writestr(f"{NAME}/readme", b"x")
    assert "holds no model that can be used: it has no am/final.mdl" in bad(tmp_path, out.getvalue())


def test_where_a_model_is_looked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GUIDE_DATA", str(tmp_path))
    monkeypatch.delenv("GUIDE_VOSK_MODEL", raising=False)
    assert find_vosk(NAME) is None
    with publisher(DATA) as server:
        folder = fetch(archive(server), tmp_path / "voice_models")
    assert find_vosk(NAME) == folder
    monkeypatch.setenv("GUIDE_VOSK_MODEL", str(tmp_path))
    with pytest.raises(
        ProblemError, match=r"GUIDE_VOSK_MODEL names .*, which is no Vosk model: it has no am/final.mdl"
    ):
        find_vosk(NAME)
    monkeypatch.setenv("GUIDE_VOSK_MODEL", str(folder))
    assert find_vosk("anything") == folder
