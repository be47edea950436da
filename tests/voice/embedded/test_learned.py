"""What training changed is put on the shipped weights, or the shipped weights are used and it is said why."""

import json
import lzma
import os
from pathlib import Path

import numpy as np
import pytest

from guide.problems import ProblemError
from guide.voice.embedded import learned
from guide.voice.embedded.difference import FILTERS, FIRST, DifferenceError, applied, read, sha256
from guide.voice.embedded.model import find_weights
from guide.voice.settings import want_ear

SHIPPED = {
    "encoder_model.ort": bytes(range(200)) + np.array([0.5, -1.25, 3.0], "<f4").tobytes() + b"end",
    "decoder_model_merged.ort": bytes(300),
    "tokenizer.bin": b"pieces",
}
RESULT = {
    **SHIPPED,
    "encoder_model.ort": bytes([255, 0, 3])
    + bytes(range(3, 200))
    + np.array([0.5, -1.0, 3.0], "<f4").tobytes()
    + b"end",
}
PARTS = [(0, 3, 0.0), (200, 3, 0.125)]
NUMBERS = bytes([255, 255, 1, 0, 2, 0])


def made(parts: object = PARTS, numbers: bytes = NUMBERS, **hashes: str) -> bytes:
    """A difference for the made-up files."""
    name = "encoder_model.ort"
    change = {"base": sha256(SHIPPED[name]), "result": sha256(RESULT[name]), "parts": parts, **hashes}
    head = json.dumps({"note": "made up", "files": {name: change}}).encode()
    return FIRST + head + b"\n" + lzma.compress(numbers, lzma.FORMAT_RAW, filters=list(FILTERS))


@pytest.fixture
def ground(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Made-up weights, a difference for them, a cache: as a machine that has them all."""
    monkeypatch.setenv("GUIDE_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("GUIDE_DATA", str(tmp_path / "data"))
    monkeypatch.delenv("GUIDE_EAR", raising=False)
    (tmp_path / "shipped").mkdir()
    for name, data in SHIPPED.items():
        (tmp_path / "shipped" / name).write_bytes(data)
    place = tmp_path / "ear.diff"
    place.write_bytes(made())
    monkeypatch.setattr(learned, "FILES", {name: sha256(data) for name, data in SHIPPED.items()})
    monkeypatch.setattr(learned, "find_weights", lambda: tmp_path / "shipped")
    monkeypatch.setattr(learned, "difference_file", lambda: place)
    monkeypatch.setattr(learned, "SHA256", sha256(place.read_bytes()))
    return tmp_path


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a folder."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_bytes_turn_over_and_floats_go_by_steps() -> None:
    assert applied(read(made()), SHIPPED) == {"encoder_model.ort": RESULT["encoder_model.ort"]}


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"something else", "does not begin"),
        (FIRST + b"{}\n", "damaged"),
        (FIRST + b"[1, 2\n", "damaged"),
        (made()[:-12], "damaged|holds"),
        (made(numbers=NUMBERS[:4]), "holds 4 numbers of 6"),
        (made(parts=[(199, 3, 0.0), (207, 3, 0.125)]), "beyond the end"),
        (made(parts=[(-1, 3, 0.0), (200, 3, 0.125)]), "beyond the end"),
        (made(parts=[(0, 1 << 40, 0.0)]), "more numbers than any ear"),
        (made(base="0" * 64), "not made for this encoder_model.ort"),
        (made(result="0" * 64), "makes another encoder_model.ort"),
        (made(numbers=bytes(6)), "makes another encoder_model.ort"),
    ],
)
def test_what_is_no_difference_or_does_not_fit_is_refused(data: bytes, why: str) -> None:
    with pytest.raises(DifferenceError, match=why):
        applied(read(data), SHIPPED)


def test_the_trained_ear_is_made_once_and_then_found(ground: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = learned.wanted_weights()
    assert found.trained and found.problem is None
    assert contents(found.folder) == RESULT
    monkeypatch.setattr(learned, "_make", lambda *_: pytest.fail("made again"))
    assert learned.wanted_weights() == found


def test_a_damaged_file_of_the_cache_is_made_again(ground: Path) -> None:
    folder = learned.wanted_weights().folder
    (folder / "encoder_model.ort").write_bytes(b"damaged")
    (folder / "tokenizer.bin").unlink()
    assert contents(learned.wanted_weights().folder) == RESULT


def test_the_plain_ear_by_variable_by_file_and_by_the_command_line(
    ground: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = learned.Weights(ground / "shipped", trained=False)
    (ground / "data").mkdir()
    (ground / "data" / "voice.toml").write_text('ear = "plain"\n')
    assert learned.wanted_weights() == plain
    monkeypatch.setenv("GUIDE_EAR", "trained")
    assert learned.wanted_weights().trained
    want_ear("plain")
    assert learned.wanted_weights() == plain
    with pytest.raises(ProblemError, match="ear can't be 'other'"):
        want_ear("other")


def test_without_a_difference_that_comes_with_the_guide_the_ear_is_plain(
    ground: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(learned, "SHA256", "")
    assert learned.wanted_weights() == learned.Weights(ground / "shipped", trained=False)


@pytest.mark.parametrize("data", [None, b"", made()[:-1], made() + b"1"])
def test_a_damaged_difference_leaves_the_shipped_weights_and_says_so(ground: Path, data: bytes | None) -> None:
    place = ground / "ear.diff"
    place.unlink() if data is None else place.write_bytes(data)
    found = learned.wanted_weights()
    assert (found.folder, found.trained) == (ground / "shipped", False)
    assert found.problem is not None and found.problem.message.startswith(f"{place}: ")
    assert found.problem.hint is not None and "Install the guide again" in found.problem.hint


def test_a_full_disk_leaves_the_shipped_weights_and_nothing_behind(
    ground: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    found = learned.wanted_weights()
    assert (found.folder, found.trained) == (ground / "shipped", False)
    assert found.problem is not None and "No space left on device" in found.problem.message
    assert not [path for path in (ground / "cache").rglob("*") if path.is_file()]


def test_a_cache_that_is_no_folder_leaves_the_shipped_weights(ground: Path) -> None:
    (ground / "cache").write_text("a file")
    found = learned.wanted_weights()
    assert (found.folder, found.trained) == (ground / "shipped", False)
    assert found.problem is not None and "can't be kept" in found.problem.message


def test_the_difference_that_comes_with_the_guide_makes_the_trained_ear(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GUIDE_CACHE", str(tmp_path))
    monkeypatch.setenv("GUIDE_DATA", str(tmp_path / "data"))
    monkeypatch.delenv("GUIDE_EAR", raising=False)
    assert sha256(learned.difference_file().read_bytes()) == learned.SHA256
    assert learned.difference_file().stat().st_size < 8_000_000
    weights = learned.wanted_weights()
    assert weights.trained
    assert weights.problem is None
    shipped = contents(find_weights())
    made = contents(weights.folder)
    assert made["tokenizer.bin"] == shipped["tokenizer.bin"]
    for name in ("encoder_model.ort", "decoder_model_merged.ort"):
        assert len(made[name]) == len(shipped[name])
        assert made[name] != shipped[name]
