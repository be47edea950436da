"""WAV files of every kind, and files that are none."""

import struct
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from guide.problems import ProblemError
from guide.voice.wav import RATE, read_wav

RATES = [1_000, 8_000, 11_025, 16_000, 22_050, 44_100, 47_999, 48_000, 96_000]


def tone(rate: int, seconds: float = 1.0) -> NDArray[np.float64]:
    return 0.5 * np.sin(2 * np.pi * 220 * np.arange(round(rate * seconds)) / rate)


def wav(
    path: Path, samples: NDArray[np.float64], rate: int, form: int = 1, bits: int = 16, extended: bool = False
) -> Path:
    """Write samples, (length,) or (length, channels), as a WAV file of this kind."""
    rows = samples.reshape(len(samples), -1)
    if form == 3:
        body = rows.astype(f"<f{bits // 8}").tobytes()
    elif bits == 8:
        body = np.round(rows * 127 + 128).astype(np.uint8).tobytes()
    elif bits == 24:
        body = np.round(rows * (2**23 - 1)).astype("<i4")[..., None].view(np.uint8)[..., :3].tobytes()
    else:
        body = np.round(rows * (2 ** (bits - 1) - 1)).astype(f"<i{bits // 8}").tobytes()
    width = rows.shape[1] * bits // 8
    head = struct.pack("<HHIIHH", 0xFFFE if extended else form, rows.shape[1], rate, rate * width, width, bits)
    if extended:
        head += struct.pack("<HHIH", 22, bits, 0, form) + b"\0" * 14
    chunks = b"fmt " + struct.pack("<I", len(head)) + head + b"LIST\x03\x00\x00\x00abc\0"
    chunks += b"data" + struct.pack("<I", len(body)) + body
    path.write_bytes(b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks)
    return path


def alike(found: NDArray[np.float32], tolerance: float) -> bool:
    wanted = tone(RATE, len(found) / RATE)
    middle = slice(RATE // 10, -RATE // 10)
    return abs(len(found) - RATE) <= RATE // 100 and bool(np.abs(found - wanted)[middle].max() < tolerance)


@pytest.mark.parametrize("rate", RATES)
def test_every_rate_gives_the_same_sound(tmp_path: Path, rate: int) -> None:
    assert alike(read_wav(wav(tmp_path / "a.wav", tone(rate), rate)), 0.02)


@pytest.mark.parametrize(("form", "bits"), [(1, 8), (1, 16), (1, 24), (1, 32), (3, 32), (3, 64)])
@pytest.mark.parametrize("channels", [1, 2, 6])
@pytest.mark.parametrize("extended", [False, True])
def test_every_kind_of_sample_and_any_channels(
    tmp_path: Path, form: int, bits: int, channels: int, extended: bool
) -> None:
    samples = np.repeat(tone(RATE)[:, None], channels, axis=1)
    assert alike(read_wav(wav(tmp_path / "a.wav", samples, RATE, form, bits, extended)), 0.01)


def test_a_float_file_may_hold_what_is_no_number(tmp_path: Path) -> None:
    samples = tone(RATE)
    samples[100], samples[200] = np.nan, np.inf
    found = read_wav(wav(tmp_path / "a.wav", samples, RATE, form=3, bits=32))
    assert np.isfinite(found).all()


def test_a_file_cut_short_gives_what_is_there(tmp_path: Path) -> None:
    path = wav(tmp_path / "a.wav", tone(RATE), RATE)
    path.write_bytes(path.read_bytes()[: -RATE - 1])
    assert len(read_wav(path)) == RATE // 2 - 1


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "is no WAV file"),
        (b"not a wav file at all", "is no WAV file"),
        (b"RIFF\x04\0\0\0WAVE", "without its sound"),
        (b"RIFF\x24\0\0\0WAVEfmt \x02\0\0\0\x01\0data\0\0\0\0", "broken head"),
        (
            b"RIFF\x24\0\0\0WAVEfmt \x10\0\0\0" + struct.pack("<HHIIHH", 1, 1, 8000, 16000, 2, 16) + b"data\0\0\0\0",
            "no sound",
        ),
        (
            b"RIFF\x24\0\0\0WAVEfmt \x10\0\0\0" + struct.pack("<HHIIHH", 6, 1, 8000, 8000, 1, 8) + b"data\2\0\0\0aa",
            "form 6",
        ),
        (
            b"RIFF\x24\0\0\0WAVEfmt \x10\0\0\0" + struct.pack("<HHIIHH", 1, 0, 8000, 0, 0, 16) + b"data\2\0\0\0aa",
            "not read",
        ),
        (
            b"RIFF\x24\0\0\0WAVEfmt \x10\0\0\0" + struct.pack("<HHIIHH", 1, 1, 0, 0, 2, 16) + b"data\2\0\0\0aa",
            "0 samples",
        ),
    ],
)
def test_what_is_no_recording_is_said_plainly(tmp_path: Path, data: bytes, told: str) -> None:
    path = tmp_path / "bad.wav"
    path.write_bytes(data)
    with pytest.raises(ProblemError, match=told):
        read_wav(path)


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(ProblemError, match="no such file"):
        read_wav(tmp_path / "none.wav")
    with pytest.raises(ProblemError, match="is a folder"):
        read_wav(tmp_path)
