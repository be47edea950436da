"""Neural voices made small enough to be carried: python -m training.shrink kokoro|piper IN.onnx OUT.onnx [--bits N].

Needs onnx. Weights become whole numbers of a few bits with a scale for each channel; onnxruntime turns them back as it
loads them, and computes in floats. The Kokoro model comes with weights of 8 bits that are multiplied in whole numbers;
that is undone, for it is no faster, and its durations are given out, which tell where words end.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

DURATIONS = "/encoder/Clip_output_0"
LARGE = {"kokoro": 100_000, "piper": 4_000}
"""Numbers in a weight of floats from which it is worth while."""
Array = NDArray[Any]


class Graph:
    """An ONNX model, to be changed."""

    def __init__(self, path: Path) -> None:
        self.onnx = import_module("onnx")
        self.model = self.onnx.load(str(path))
        self.graph = self.model.graph
        self.weights = {one.name: one for one in self.graph.initializer}
        self.makers = {out: node for node in self.graph.node for out in node.output}
        self.users: dict[str, list[Any]] = defaultdict(list)
        for node in self.graph.node:
            for name in node.input:
                self.users[name].append(node)
        self._new: list[Any] = []
        self._gone: set[int] = set()

    def array(self, name: str) -> Array:
        """A weight's numbers."""
        return np.asarray(self.onnx.numpy_helper.to_array(self.weights[name]))

    def replace(self, old: list[Any], *new: Any) -> None:
        """Other nodes for some."""
        self._gone |= {id(node) for node in old}
        self._new += new

    def small(self, name: str, numbers: Array, axis: int, bits: int) -> str:
        """Numbers as a weight of so many bits; the name of what it is when it is floats again."""
        top = 2 ** (bits - 1) - 1
        others = tuple(i for i in range(numbers.ndim) if i != axis)
        scales = np.maximum(np.abs(numbers).max(axis=others), 1e-9) / top
        shape = [1] * numbers.ndim
        shape[axis] = -1
        levels = np.clip(np.round(numbers / scales.reshape(shape)), -top, top).astype(np.int8)
        parts = (levels, scales.astype(np.float32), np.zeros(len(scales), np.int8))
        names = [f"{name}.{end}" for end in ("levels", "scales", "zeros")]
        for part, called in zip(parts, names, strict=True):
            self.graph.initializer.append(self.onnx.numpy_helper.from_array(part, called))
        node = self.onnx.helper.make_node("DequantizeLinear", names, [f"{name}.floats"], axis=axis)
        self._new.append(node)
        return f"{name}.floats"

    def save(self, path: Path, more: tuple[str, ...] = ()) -> None:
        """Write what the outputs need, in an order in which it can be computed."""
        nodes = [node for node in (*self.graph.node, *self._new) if id(node) not in self._gone]
        makers = {out: node for node in nodes for out in node.output}
        order: list[Any] = []
        seen: set[int] = set()
        stack = [(makers[name], False) for name in (*(one.name for one in self.graph.output), *more)]
        while stack:
            node, ready = stack.pop()
            if ready:
                order.append(node)
            elif id(node) not in seen:
                seen.add(id(node))
                stack.append((node, True))
                stack += [(makers[name], False) for name in node.input if name in makers]
        used = {name for node in order for name in node.input}
        kept = [one for one in self.graph.initializer if one.name in used]
        copies = [type(node).FromString(node.SerializeToString()) for node in order]
        weights = [type(one).FromString(one.SerializeToString()) for one in kept]
        del self.graph.node[:], self.graph.initializer[:]
        self.graph.node.extend(copies)
        self.graph.initializer.extend(weights)
        for name in more:
            self.graph.output.append(self.onnx.helper.make_tensor_value_info(name, self.onnx.TensorProto.FLOAT, None))
        self.onnx.save(self.model, str(path))


def floats_large(graph: Graph, bits: int, large: int) -> None:
    """Every large weight of floats in a few bits."""
    for one in list(graph.graph.initializer):
        if one.data_type == graph.onnx.TensorProto.FLOAT and len(one.dims) > 1 and one.dims[0] > 1:
            numbers = graph.array(one.name)
            if numbers.size > large:
                floats = graph.small(one.name, numbers, 0, bits)
                for node in (*graph.graph.node, *graph._new):
                    for at, name in enumerate(node.input):
                        if name == one.name:
                            node.input[at] = floats


def undo_whole(graph: Graph, bits: int) -> None:
    """Products of whole numbers as products of floats again."""
    known: dict[str, str] = {}
    for node in list(graph.graph.node):
        if node.op_type not in ("ConvInteger", "MatMulInteger") or node.input[1] not in graph.weights:
            continue
        axis = 0 if node.op_type == "ConvInteger" else 1
        (after,) = graph.users[node.output[0]]
        gone, bias = [node], None
        if after.op_type == "Add":
            gone.append(after)
            bias = _bias(graph, next(name for name in after.input if name != node.output[0]))
            (after,) = graph.users[after.output[0]]
        (scaled,) = graph.users[after.output[0]]
        scale = graph.makers[next(name for name in scaled.input if name != after.output[0])]
        (own,) = (name for name in scale.input if name in graph.weights)
        weight = node.input[1]
        if weight not in known:
            numbers = graph.array(weight).astype(np.float32)
            shape = [-1 if i == axis else 1 for i in range(numbers.ndim)]
            zero = graph.array(node.input[3]).astype(np.float32).reshape(-1) if len(node.input) > 3 else np.zeros(1)
            scales = graph.array(own).reshape(-1)
            broad = [one.reshape(shape) if one.size > 1 else one[0] for one in (zero, scales)]
            known[weight] = graph.small(weight, (numbers - broad[0]) * broad[1], axis, bits)
        given = [graph.makers[node.input[0]].input[0], known[weight], *([bias] if bias else [])]
        kind = "Conv" if node.op_type == "ConvInteger" else "MatMul"
        floats = graph.onnx.helper.make_node(kind, given, [scaled.output[0]])
        floats.attribute.extend(node.attribute)
        graph.replace([*gone, after, scaled], floats)


def _bias(graph: Graph, name: str) -> str:
    """The float bias that a bias in whole numbers was made from."""
    while graph.makers[name].op_type != "Div":
        name = graph.makers[name].input[0]
    return str(graph.makers[name].input[0])


def main() -> None:
    """Make one small."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kind", choices=("kokoro", "piper"))
    parser.add_argument("given", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--bits", type=int, default=0)
    arguments = parser.parse_args()
    bits = arguments.bits or {"kokoro": 6, "piper": 7}[arguments.kind]
    graph = Graph(arguments.given)
    if arguments.kind == "kokoro":
        undo_whole(graph, bits)
    floats_large(graph, bits, LARGE[arguments.kind])
    graph.save(arguments.out, (DURATIONS,) if arguments.kind == "kokoro" else ())


if __name__ == "__main__":
    main()
