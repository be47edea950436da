"""What is carried to a machine without a network, in one folder: PYTHONPATH=voice_models:. python -m training.pack OUT.

`ear.xz` holds the shipped weights without the output's matrix, which is the embedding turned over; `wheels/` what the
guide needs and such a machine lacks. `--unpack FOLDER` makes the weights again, and checks them.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import lzma
import subprocess
import sys
from pathlib import Path

import numpy as np

from guide.voice.embedded.model import FILES, find_weights
from training.weights import TIED, Shipped

WHEELS = ("pint", "flexparser", "flexcache", "platformdirs")
PYTHON = "3.12"


def packed_weights(folder: Path) -> bytes:
    """The weights' files, compressed."""
    shipped = Shipped.load(folder)
    twin = shipped.places[TIED]
    files = {name: bytearray((folder / name).read_bytes()) for name in FILES}
    files[twin.file][twin.start : twin.start + twin.count] = bytes(twin.count)
    embedding = shipped.places["decoder.embed_tokens.weight"]
    head = {
        "sizes": {name: len(data) for name, data in files.items()},
        "file": twin.file,
        "to": twin.start,
        "from": embedding.start,
        "shape": embedding.shape,
    }
    return lzma.compress(json.dumps(head).encode() + b"\n" + b"".join(files.values()), preset=6)


def unpacked_weights(data: bytes, folder: Path) -> None:
    """The files again, in a folder; raises `ValueError` if one is not as it was shipped."""
    line, _, rest = lzma.decompress(data).partition(b"\n")
    head = json.loads(line)
    folder.mkdir(parents=True, exist_ok=True)
    at = 0
    for name, size in head["sizes"].items():
        made = bytearray(rest[at : at + size])
        at += size
        if name == head["file"]:
            rows, columns = head["shape"]
            matrix = np.frombuffer(made, np.uint8, rows * columns, head["from"]).reshape(rows, columns)
            made[head["to"] : head["to"] + rows * columns] = matrix.T.tobytes()
        if hashlib.sha256(made).hexdigest() != FILES[name]:
            raise ValueError(f"{name} did not come out as it was shipped")
        (folder / name).write_bytes(made)


def main() -> None:
    """Pack, or unpack the weights."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--unpack", type=Path)
    arguments = parser.parse_args()
    if arguments.unpack:
        unpacked_weights((arguments.folder / "ear.xz").read_bytes(), arguments.unpack)
        return
    (arguments.folder / "wheels").mkdir(parents=True, exist_ok=True)
    (arguments.folder / "ear.xz").write_bytes(packed_weights(find_weights()))
    command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--only-binary=:all:"]
    command += ["--python-version", PYTHON, "--dest", str(arguments.folder / "wheels"), *WHEELS]
    subprocess.run(command, check=True)
    for path in sorted(arguments.folder.rglob("*")):
        if path.is_file():
            print(f"{path.stat().st_size:>12,} {path.relative_to(arguments.folder)}")


if __name__ == "__main__":
    main()
