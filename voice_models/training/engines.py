"""The engines that speak: text in, sound out, and where each word ends where the engine tells it.

Each is loaded when it is first used, once in a process, from the folder `TRAINING_VOICES` if it is set, else from where
the packages of `VOICES.md` put it.
"""

from __future__ import annotations

import ctypes
import json
import os
import sys
import wave
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np

from training.sound import Floats, at_rate, trimmed

CARRIED = "TRAINING_VOICES"
FLITE = "/usr/lib/x86_64-linux-gnu"
FETCHED = "/tmp/voices-work/voices"
"""Where `training.carry` lays the neural voices out."""
PROMPTS = "/usr/share/asterisk/sounds/en_US_f_Allison"


@dataclass(frozen=True)
class Spoken:
    """What an engine said, at `RATE`."""

    samples: Floats
    ends: tuple[int, ...] = ()
    """Where each word of the text ends, in samples; () when the engine does not tell."""


def folder(name: str, otherwise: str) -> Path:
    """Where an engine's files lie."""
    carried = os.environ.get(CARRIED)
    return Path(carried, name) if carried else Path(otherwise)


def say(engine: str, setting: str, text: str, speed: float = 1.0, seed: int = 0) -> Spoken | None:
    """The text spoken by an engine in one of its voices; None when it can't say it."""
    # flite takes the noise in its voices from the C library
    ctypes.CDLL(None).srand(seed % 2**31)
    return ENGINES[engine](setting, text, speed, seed)


def there(engine: str) -> bool:
    """Whether an engine's files were carried here; where nothing was carried, it is taken to be installed."""
    carried = os.environ.get(CARRIED)
    return not carried or Path(carried, _FOLDERS.get(engine, engine)).exists()


_FOLDERS = {"hibari": "neural", "piper": "joe"}


# espeak-ng: the library with its data, word ends from its events


class _Event(ctypes.Structure):
    _fields_ = (
        ("kind", ctypes.c_int),
        ("message", ctypes.c_uint),
        ("at", ctypes.c_int),
        ("length", ctypes.c_int),
        ("ms", ctypes.c_int),
        ("sample", ctypes.c_int),
        ("user", ctypes.c_void_p),
        ("name", ctypes.c_char * 8),
    )


@cache
def _espeak_library() -> tuple[Any, Any, list[bytes], list[tuple[int, int]], int]:
    found = folder("espeak", "")
    if not os.environ.get(CARRIED):
        import espeakng_loader

        found = Path(espeakng_loader.get_library_path()).parent
    library = ctypes.CDLL(str(found / "libespeak-ng.so"))
    rate = library.espeak_Initialize(2, 0, str(found / "espeak-ng-data").encode(), 0)
    heard: list[bytes] = []
    words: list[tuple[int, int]] = []

    def keep(samples: Any, count: int, events: Any) -> int:
        if samples and count > 0:
            heard.append(ctypes.string_at(samples, 2 * count))
        i = 0
        while events and events[i].kind:
            if events[i].kind == 1:
                words.append((events[i].at, events[i].ms))
            i += 1
        return 0

    kind = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.POINTER(_Event))
    kept = kind(keep)
    library.espeak_SetSynthCallback(kept)
    library.espeak_TextToPhonemes.restype = ctypes.c_char_p
    return library, kept, heard, words, rate


def _espeak(setting: str, text: str, speed: float, seed: int) -> Spoken | None:
    """`setting`: accent+variant, and behind a colon the pitch, 0 to 99."""
    library, _, heard, words, rate = _espeak_library()
    name, _, pitch = setting.partition(":")
    heard.clear()
    words.clear()
    if library.espeak_SetVoiceByName(name.encode()):
        return None
    library.espeak_ng_SetRandSeed(ctypes.c_long(1 + seed % 2**31))
    library.espeak_SetParameter(1, round(165 * speed), 0)
    library.espeak_SetParameter(3, int(pitch or 50), 0)
    data = text.encode()
    library.espeak_Synth(data, len(data) + 1, 0, 1, 0, 1, None, None)
    library.espeak_Synchronize()
    samples = np.asarray(np.frombuffer(b"".join(heard), "<i2") / 32768.0, np.float32)
    found = at_rate(samples, rate)
    return Spoken(found, _word_ends(text, words, len(found)))


def _word_ends(text: str, events: list[tuple[int, int]], length: int) -> tuple[int, ...]:
    """Ends of the words of a text from where each begins: (place in the text from 1 on, ms)."""
    starts, at = [], 0
    for word in text.split():
        at = text.index(word, at)
        starts.append(at + 1)
        at += len(word)
    begins = {place: 16 * ms for place, ms in events}
    if any(start not in begins for start in starts):
        return ()
    return (*(begins[start] for start in starts[1:]), length)


def phonemes(text: str, voice: str) -> str:
    """Text as espeak-ng's IPA, a blank between words."""
    library, *_ = _espeak_library()
    library.espeak_SetVoiceByName(voice.encode())
    left = ctypes.c_char_p(text.encode())
    parts = []
    while left.value:
        parts.append(library.espeak_TextToPhonemes(ctypes.byref(left), 1, 0x02).decode())
    return " ".join(parts)


# flite: its libraries, one for each voice


class _Wave(ctypes.Structure):
    _fields_ = (
        ("kind", ctypes.c_char_p),
        ("rate", ctypes.c_int),
        ("count", ctypes.c_int),
        ("channels", ctypes.c_int),
        ("samples", ctypes.POINTER(ctypes.c_short)),
    )


class _FliteVoice(ctypes.Structure):
    _fields_ = (("name", ctypes.c_char_p), ("features", ctypes.c_void_p))


@cache
def _flite_library() -> Any:
    where = folder("flite", FLITE)
    for name in ("libasound.so.2", "libflite.so.1", "libflite_usenglish.so.1", "libflite_cmulex.so.1"):
        library = ctypes.CDLL(str(where / name), mode=ctypes.RTLD_GLOBAL)
        if name == "libflite.so.1":
            flite = library
    flite.flite_init()
    flite.flite_text_to_wave.restype = ctypes.POINTER(_Wave)
    flite.flite_text_to_wave.argtypes = (ctypes.c_char_p, ctypes.c_void_p)
    flite.delete_wave.argtypes = (ctypes.POINTER(_Wave),)
    flite.feat_float.argtypes = (ctypes.c_void_p, ctypes.c_char_p)
    flite.feat_set_float.argtypes = (ctypes.c_void_p, ctypes.c_char_p, ctypes.c_float)
    return flite


@cache
def _flite_voice(name: str) -> Any:
    _flite_library()
    voice = ctypes.CDLL(str(folder("flite", FLITE) / f"libflite_cmu_us_{name}.so.1"), mode=ctypes.RTLD_GLOBAL)
    register = getattr(voice, f"register_cmu_us_{name}")
    register.restype = ctypes.POINTER(_FliteVoice)
    register.argtypes = (ctypes.c_char_p,)
    return register(None)


def _flite(setting: str, text: str, speed: float, seed: int) -> Spoken | None:
    flite, voice = _flite_library(), _flite_voice(setting)
    flite.feat_set_float(voice.contents.features, b"duration_stretch", 1 / speed)
    wave_ = flite.flite_text_to_wave(text.encode(), ctypes.cast(voice, ctypes.c_void_p))
    if not wave_:
        return None
    found = wave_.contents
    samples = np.ctypeslib.as_array(found.samples, (found.count,)).astype(np.float32) / 32768
    rate = found.rate
    flite.delete_wave(wave_)
    return Spoken(at_rate(np.asarray(samples, np.float32), rate))


# neural voices, all on onnxruntime


@cache
def _session(path: str) -> Any:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.log_severity_level = 3
    return onnxruntime.InferenceSession(path, options, providers=["CPUExecutionProvider"])


@cache
def _hibari(british: bool) -> tuple[Any, Any]:
    """The package's own reader of text, and its module."""
    where = str(folder("neural", f"{FETCHED}/neural"))
    if where not in sys.path:
        sys.path.append(where)
    hibari = import_module("hibari")
    return import_module("hibari.g2p").G2P(british=british), hibari


@cache
def _hibari_voice() -> Any:
    g2p, hibari = _hibari(False)
    return hibari.Hibari(threads=1, g2p=g2p)


def _heart(setting: str, text: str, speed: float, seed: int) -> Spoken | None:
    found = _hibari_voice()(text, speed=speed, seed=seed)
    return Spoken(at_rate(np.asarray(found, np.float32), 24_000))


_FRAME = 600
"""Samples (of 24,000 a second) in one unit of the Kokoro model's durations."""


@cache
def _kokoro() -> tuple[Any, dict[str, int]]:
    where = folder("kokoro", f"{FETCHED}/kokoro")
    return _session(str(where / "kokoro.onnx")), json.loads((where / "vocab.json").read_text())


@cache
def _style(setting: str) -> Floats:
    """One voice's styles, or a mean of several: "af_sky+bf_lily"."""
    where = folder("kokoro", f"{FETCHED}/kokoro") / "voices"
    every = [np.load(where / f"{name}.npy") for name in setting.split("+")]
    return np.asarray(np.mean([one.astype(np.float32) for one in every], axis=0), np.float32)


@cache
def _read(text: str, british: bool) -> str:
    return str(_hibari(british)[0](text))


def _kokoro_says(setting: str, text: str, speed: float, seed: int) -> Spoken | None:
    """`setting`: voice or voices, and ":gb" behind it for British pronunciation."""
    session, vocabulary = _kokoro()
    name, _, accent = setting.partition(":")
    words = _read(text, accent == "gb")
    ids, ends = [0], []
    for char in words:
        if char == " ":
            ends.append(len(ids))
        if char in vocabulary:
            ids.append(vocabulary[char])
    ends.append(len(ids))
    style = _style(name)
    names = [one.name for one in session.get_outputs()]
    given = {
        "tokens": np.array([[*ids, 0]], np.int64),
        "style": style[min(len(ids) - 1, len(style) - 1)].reshape(1, 256),
        "speed": np.array([speed], np.float32),
    }
    found = session.run(None, given)
    samples = at_rate(np.asarray(found[0], np.float32).ravel(), 24_000)
    if len(names) < 2 or len(ends) != len(text.split()):
        return Spoken(samples)
    frames = np.cumsum(np.asarray(found[1]).ravel())
    return Spoken(samples, tuple(int(frames[end - 1] * _FRAME * 2 // 3) for end in ends))


@cache
def _joe_voice() -> tuple[Any, dict[str, list[int]], int]:
    where = folder("joe", f"{FETCHED}/joe")
    path = next(where.glob("*.onnx"))
    told = json.loads(Path(f"{path}.json").read_text())
    return _session(str(path)), told["phoneme_id_map"], told["audio"]["sample_rate"]


def _joe(setting: str, text: str, speed: float, seed: int) -> Spoken | None:
    session, ids, rate = _joe_voice()
    row = [*ids["^"], *ids["_"]]
    for char in phonemes(text, "en-us"):
        if char in ids:
            row += [*ids[char], *ids["_"]]
    row += ids["$"]
    given = {
        "input": np.array([row], np.int64),
        "input_lengths": np.array([len(row)], np.int64),
        "scales": np.array([0.667, 1 / speed, 0.8], np.float32),
    }
    samples = np.asarray(session.run(None, given)[0], np.float32).ravel()
    return Spoken(at_rate(samples, rate))


# recordings


@cache
def _prompt(name: str) -> Floats | None:
    path = folder("prompts", PROMPTS) / f"{name}.wav"
    if not path.exists():
        return None
    with wave.open(str(path)) as file:
        data = np.frombuffer(file.readframes(file.getnframes()), "<i2")
        return trimmed(at_rate(np.asarray(data / 32768, np.float32), file.getframerate()), 400)


_SAID_AS = {"eighth": "h-8", "eighths": "h-8", "sixteenth": "h-16", "sixteenths": "h-16", "oh": "letters/o"}


def _prompts(setting: str, text: str, speed: float, seed: int) -> Spoken | None:
    """Recorded number words one after another; whole recordings are `prompts.whole()`."""
    from guide.talk.numbers import ones, tens

    values = {**ones(), **tens()}
    found, ends, at = [], [], 0
    for word in text.replace("-", " ").split():
        name = _SAID_AS.get(word, str(values.get(word, word)))
        sound = _prompt(name if "/" in name else f"digits/{name}")
        if sound is None:
            return None
        found.append(sound)
        at += len(sound)
        ends.append(at)
    return Spoken(np.concatenate(found), tuple(ends)) if found else None


ENGINES: dict[str, Callable[[str, str, float, int], Spoken | None]] = {
    "espeak": _espeak,
    "flite": _flite,
    "hibari": _heart,
    "kokoro": _kokoro_says,
    "piper": _joe,
    "prompts": _prompts,
}
