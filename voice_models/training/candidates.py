"""Folders of weights that the ear can load, made of what training wrote, and what is kept of it to make others later.

    PYTHONPATH=voice_models:. python -m training.candidates OUT --trained A.npz B.npz --scales 0.4 0.6

Writes `OUT/A-0.4/` and so on; with several trained ones also their mean, `OUT/mean-0.6/`. `--keep FOLDER` writes
`A.kept` besides: the whole difference in quarters of a level, of which `restored` makes the trained weights again.
"""

from __future__ import annotations

import argparse
import io
import lzma
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from guide.voice.embedded.difference import FILTERS, applied, read
from guide.voice.embedded.model import find_weights
from training.export import packed
from training.weights import Floats, Shipped

QUARTER = 4


def candidate(shipped: Shipped, trained: Mapping[str, Floats], scale: float, folder: Path, tokenizer: bytes) -> None:
    """A folder of weights: shipped + scale x difference, by way of the file that would be shipped."""
    folder.mkdir(parents=True, exist_ok=True)
    data = packed(shipped, trained, scale, folder.name)
    (folder / "ear.diff").write_bytes(data)
    for name, made in applied(read(data), shipped.files).items():
        (folder / name).write_bytes(made)
    (folder / "tokenizer.bin").write_bytes(tokenizer)


def mean(trained: Sequence[Mapping[str, Floats]]) -> dict[str, Floats]:
    """The mean of several trained weights."""
    return {name: np.mean([one[name] for one in trained], axis=0, dtype=np.float32) for name in trained[0]}


def kept(shipped: Shipped, trained: Mapping[str, Floats]) -> bytes:
    """The whole difference in steps of a quarter of a level, compressed."""
    out = io.BytesIO()
    arrays = {}
    for name, value in trained.items():
        place, change = shipped.places[name], value - shipped.floats(name)
        step = (place.scale or max(float(np.abs(change).max()), 1e-9) / 127 * QUARTER) / QUARTER
        arrays[name] = np.clip(np.rint(change / step), -127, 127).astype(np.int8)
        arrays[f"{name} step"] = np.array(step, np.float32)
    np.savez(out, **arrays)
    return lzma.compress(out.getvalue(), lzma.FORMAT_RAW, filters=list(FILTERS))


def restored(shipped: Shipped, data: bytes) -> dict[str, Floats]:
    """Trained weights again, each within an eighth of a level."""
    with np.load(io.BytesIO(lzma.decompress(data, lzma.FORMAT_RAW, filters=list(FILTERS)))) as arrays:
        return {
            name: shipped.floats(name) + arrays[name].astype(np.float32) * arrays[f"{name} step"]
            for name in arrays
            if not name.endswith(" step")
        }


def load(shipped: Shipped, path: Path) -> dict[str, Floats]:
    """Trained weights from what training wrote, or from what was kept of it."""
    if path.suffix == ".kept":
        return restored(shipped, path.read_bytes())
    with np.load(path) as found:
        return dict(found)


def main() -> None:
    """Write folders."""
    parser = argparse.ArgumentParser()
    parser.add_argument("out", type=Path)
    parser.add_argument("--trained", type=Path, nargs="+", required=True)
    parser.add_argument("--scales", type=float, nargs="+", default=[0.6])
    parser.add_argument("--weights", type=Path)
    parser.add_argument("--keep", type=Path)
    arguments = parser.parse_args()
    folder = arguments.weights or find_weights()
    shipped, tokenizer = Shipped.load(folder), (folder / "tokenizer.bin").read_bytes()
    trained = {path.stem: load(shipped, path) for path in arguments.trained}
    if arguments.keep:
        for name, values in trained.items():
            (arguments.keep / f"{name}.kept").write_bytes(kept(shipped, values))
        return
    if len(trained) > 1:
        trained = {"mean": mean(list(trained.values()))}
    for name, values in trained.items():
        for scale in arguments.scales:
            candidate(shipped, values, scale, arguments.out / f"{name}-{scale:g}", tokenizer)
            print(arguments.out / f"{name}-{scale:g}", flush=True)


if __name__ == "__main__":
    main()
