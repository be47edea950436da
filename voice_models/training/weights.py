"""The shipped weights, found by the node that uses each, read as floats, and written back where they lie.

An `.ort` file is a flatbuffer: every tensor's bytes stand in it one after another, at a place of their own. So a weight
is changed in its place, and everything else in the file stays as it was shipped. Names are those of the nodes
(`encoder.layers.0.self_attn.q_proj.weight`): tensors' own names are not unique to a use. Matrices are uint8 with one
scale and one zero point each, and stay so; what else is trained (convolutions, norms, biases) is float32.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from onnxruntime.tools.ort_format_model.ort_flatbuffers_py.fbs.InferenceSession import InferenceSession

from guide.voice.embedded.model import FILES, find_weights

Floats = NDArray[np.float32]
PARTS = {"encoder_model.ort": "encoder", "decoder_model_merged.ort": "decoder"}
TIED = "decoder.proj_out.weight"
"""The output's matrix: the embedding, turned over. Neither is trained."""
_FLOAT, _UINT8 = 1, 2
_RAW = 12
"""Place of a tensor's bytes in its flatbuffer table (`raw_data`, the fifth field)."""
_MATRICES = {"DynamicQuantizeMatMul": (1, 2, 3, 4), "MatMulIntegerToFloat": (1, 3, 5, 6)}
"""Inputs of a node that hold its matrix, the scale, the zero point and the bias."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a tensor lies."""

    file: str
    start: int
    """Byte in the file."""
    shape: tuple[int, ...]
    scale: float | None = None
    """None for float32; else what one level of uint8 is worth."""
    zero: int = 0

    @property
    def count(self) -> int:
        """How many values."""
        return int(np.prod(self.shape, dtype=np.int64))


class Shipped:
    """The weights of the encoder and the decoder, as files and as floats."""

    def __init__(self, files: Mapping[str, bytes]) -> None:
        """From the files' bytes, by name."""
        self.files = dict(files)
        self.places: dict[str, Place] = {}
        for name, part in PARTS.items():
            for key, place in _found(name, self.files[name]):
                self.places[f"{part}.{key}"] = place

    @classmethod
    def load(cls, folder: Path | None = None) -> Shipped:
        """From a folder; by default the one of the installed package, whose files are checked."""
        folder = folder or find_weights()
        return cls({name: (folder / name).read_bytes() for name in FILES if name in PARTS})

    def levels(self, name: str) -> NDArray[np.uint8]:
        """A matrix as it is shipped."""
        place = self.places[name]
        return np.frombuffer(self.files[place.file], np.uint8, place.count, place.start).reshape(place.shape)

    def floats(self, name: str) -> Floats:
        """A weight's values."""
        place = self.places[name]
        if place.scale is None:
            return np.frombuffer(self.files[place.file], "<f4", place.count, place.start).reshape(place.shape)
        return (self.levels(name).astype(np.float32) - place.zero) * np.float32(place.scale)

    def trained(self) -> list[str]:
        """The weights that training may change: all but the embedding and its twin."""
        return [name for name in self.places if name not in (TIED, "decoder.embed_tokens.weight")]

    def written(self, values: Mapping[str, Floats]) -> dict[str, bytes]:
        """The files with these values in their places, brought to levels as they are shipped."""
        files = {name: bytearray(data) for name, data in self.files.items()}
        for name, new in values.items():
            place = self.places[name]
            data = new.astype("<f4").tobytes() if place.scale is None else to_levels(new, place).tobytes()
            files[place.file][place.start : place.start + len(data)] = data
        return {name: bytes(data) for name, data in files.items()}


def to_levels(values: Floats, place: Place) -> NDArray[np.uint8]:
    """Values as the levels of their matrix; what lies outside its range becomes its nearest end."""
    assert place.scale is not None
    found = np.rint(values.astype(np.float32) / np.float32(place.scale)) + place.zero
    return np.asarray(np.clip(found, 0, 255).reshape(place.shape), np.uint8)


def _found(file: str, data: bytes) -> Iterator[tuple[str, Place]]:
    graph = InferenceSession.GetRootAs(data, 0).Model().Graph()
    seen: set[str] = set()
    for known, node in _nodes(graph, {}):
        for key, tensor, scale, zero in _weights(node, known):
            if key in seen:  # the two branches of the decoder use the same tensors
                continue
            seen.add(key)
            place = Place(file, tensor._tab.Vector(tensor._tab.Offset(_RAW)), _shape(tensor))
            if scale is not None:
                worth = float(np.frombuffer(_bytes(scale), "<f4")[0])
                place = replace(place, scale=worth, zero=_bytes(zero)[0] if zero is not None else 0)
            yield key, place


def _nodes(graph: Any, outer: Mapping[str, Any]) -> Iterator[tuple[dict[str, Any], Any]]:
    """Every node of a graph and of those inside it, with the tensors that it can name."""
    tensors = (graph.Initializers(at) for at in range(graph.InitializersLength()))
    known = {**outer, **{tensor.Name().decode(): tensor for tensor in tensors}}
    for at in range(graph.NodesLength()):
        node = graph.Nodes(at)
        yield known, node
        for one in range(node.AttributesLength()):
            inside = node.Attributes(one).G()
            if inside is not None:
                yield from _nodes(inside, known)


def _weights(node: Any, known: Mapping[str, Any]) -> Iterator[tuple[str, Any, Any, Any]]:
    """The weights that a node uses, by name, with the scale and zero point of those in levels."""
    inputs = [node.Inputs(at).decode() for at in range(node.InputsLength())]
    given = [known.get(name) for name in inputs]
    name, kind = re.sub(r"^/(model/decoder/)?", "", node.Name().decode()), node.OpType().decode()
    key = name.rpartition("/")[0].replace("/", ".")
    if kind in _MATRICES:
        at = _MATRICES[kind]
        if given[at[0]] is not None:
            yield f"{key}.weight", given[at[0]], given[at[1]], given[at[2]]
        if len(given) > at[3] and given[at[3]] is not None:
            yield f"{key}.bias", given[at[3]], None, None
    elif kind == "Gather" and name.startswith("embed_tokens"):
        twin = inputs[0].removesuffix("_quantized")
        yield f"{key}.weight", given[0], known[f"{twin}_scale"], known[f"{twin}_zero_point"]
    elif kind in ("Conv", "FusedConv"):
        yield f"{key}.weight", given[1], None, None
        if len(given) > 2:
            yield f"{key}.bias", given[2], None, None
    elif kind == "LayerNormalization":
        yield f"{key}.weight", given[1], None, None
    elif kind == "SkipLayerNormalization":
        yield "layer_norm.weight", given[2], None, None
    elif key == "groupnorm" and kind in ("Mul", "Add"):
        yield f"{key}.{'weight' if kind == 'Mul' else 'bias'}", given[1], None, None


def _shape(tensor: Any) -> tuple[int, ...]:
    return tuple(tensor.Dims(at) for at in range(tensor.DimsLength()))


def _bytes(tensor: Any) -> bytes:
    return bytes(tensor.RawData(at) for at in range(tensor.RawDataLength()))
