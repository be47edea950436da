"""Sound from WAV files: any rate, any number of channels, whole numbers or floats. The only door to scipy's resampling.

The file is taken apart here, for the standard library's reader knows neither floats nor the extended header.
"""

from __future__ import annotations

import struct
from math import gcd
from pathlib import Path
from typing import TYPE_CHECKING

from guide.problems import Problem, ProblemError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RATE = 16_000
"""Samples a second that the ears take."""
SLOWEST, FASTEST = 1_000, 768_000
MOST_BYTES = 256 * 1024 * 1024
LONGEST_SECONDS = 120
"""What comes later in a recording is left out: no utterance is that long."""
_WHOLE, _FLOAT, _EXTENDED = 1, 3, 0xFFFE
_AS_WAV = "record it again as WAV: 16 bits, 16,000 samples a second, one channel is best"


def read_wav(path: Path) -> NDArray[np.float32]:
    """One channel of sound at `RATE`, -1 to 1, channels averaged; raises `ProblemError` if it can't be read."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _fault(path, f"is larger than {MOST_BYTES // 1024 // 1024} MB", "cut it into single utterances")
        data = path.read_bytes()
    except FileNotFoundError as error:
        raise _fault(path, "there is no such file", "look at the spelling of its name") from error
    except IsADirectoryError as error:
        raise _fault(path, "is a folder", "name the recordings in it, e.g. FOLDER/*.wav") from error
    except OSError as error:
        raise _fault(path, f"can't be read: {error.strerror}", None) from error
    return _samples(path, data)


def _samples(path: Path, data: bytes) -> NDArray[np.float32]:
    chunks = _chunks(path, data)
    form, channels, rate, bits = _format(path, chunks)
    body = chunks[b"data"]
    width = bits // 8 * channels
    body = body[: min(len(body) // width, LONGEST_SECONDS * rate) * width]
    if not body:
        raise _fault(path, "holds no sound", _AS_WAV)
    found = _floats(body, bits) if form == _FLOAT else _whole(body, bits)
    return at_rate(found.reshape(-1, channels).mean(axis=1), rate)


def _floats(body: bytes, bits: int) -> NDArray[np.float32]:
    import numpy as np

    found = np.nan_to_num(np.frombuffer(body, f"<f{bits // 8}"), nan=0.0, posinf=1.0, neginf=-1.0)
    return np.asarray(np.clip(found, -1, 1), np.float32)


def _whole(body: bytes, bits: int) -> NDArray[np.float32]:
    import numpy as np

    if bits == 8:
        return np.asarray(np.frombuffer(body, np.uint8) / 128.0 - 1, np.float32)
    if bits == 24:
        widened = np.zeros((len(body) // 3, 4), np.uint8)
        widened[:, 1:] = np.frombuffer(body, np.uint8).reshape(-1, 3)
        return np.asarray(widened.reshape(-1).view("<i4") / 2.0**31, np.float32)
    return np.asarray(np.frombuffer(body, f"<i{bits // 8}") / 2.0 ** (bits - 1), np.float32)


def at_rate(samples: NDArray[np.float32], rate: int) -> NDArray[np.float32]:
    """Sound of one channel brought from `rate` to `RATE` samples a second."""
    if rate == RATE:
        return samples
    import numpy as np
    from scipy.signal import resample_poly

    common = gcd(rate, RATE)
    return np.asarray(resample_poly(samples, RATE // common, rate // common), np.float32)


def _chunks(path: Path, data: bytes) -> dict[bytes, bytes]:
    """The file's parts by name; the first of a name counts, and a part cut short counts as far as it goes."""
    if len(data) < 12 or data[:4] not in (b"RIFF", b"RF64") or data[8:12] != b"WAVE":
        raise _fault(path, "is no WAV file", _AS_WAV)
    found: dict[bytes, bytes] = {}
    at = 12
    while at + 8 <= len(data):
        name, size = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
        found.setdefault(name, data[at + 8 : at + 8 + size])
        at += 8 + size + size % 2
    if b"fmt " not in found or b"data" not in found:
        raise _fault(path, "is a WAV file without its sound", "it was cut short: copy or record it again")
    return found


def _format(path: Path, chunks: dict[bytes, bytes]) -> tuple[int, int, int, int]:
    """How samples are written, channels, samples a second, bits of a sample."""
    head = chunks[b"fmt "]
    if len(head) < 16:
        raise _fault(path, "is a WAV file with a broken head", "copy or record it again")
    form, channels, rate, _, _, bits = struct.unpack("<HHIIHH", head[:16])
    if form == _EXTENDED and len(head) >= 26:
        form = int.from_bytes(head[24:26], "little")
    known = (form == _WHOLE and bits in (8, 16, 24, 32)) or (form == _FLOAT and bits in (32, 64))
    if not known or not 0 < channels <= 64:
        raise _fault(path, f"holds sound in a form that is not read (form {form}, {bits} bits)", _AS_WAV)
    if not SLOWEST <= rate <= FASTEST:
        raise _fault(path, f"says it has {rate} samples a second", _AS_WAV)
    return form, channels, rate, bits


def _fault(path: Path, message: str, hint: str | None) -> ProblemError:
    return ProblemError([Problem("recording", f"{path}: {message}", hint=hint)])
