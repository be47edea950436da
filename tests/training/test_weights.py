"""The shipped weights are read by node and written back where they lie; the difference file brings the same."""

from collections.abc import Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import onnxruntime
import pytest
from numpy.typing import NDArray
from training.candidates import kept, restored
from training.export import in_levels, packed
from training.pack import packed_weights, unpacked_weights
from training.weights import PARTS, TIED, Floats, Shipped, to_levels

from guide.voice.embedded.difference import applied, read
from guide.voice.embedded.model import FILES, Model, find_weights
from guide.voice.embedded.tokens import Pieces
from guide.voice.wav import read_wav

CLIP = Path(__file__).parents[1] / "voice" / "clips" / "reading-clean.wav"


@pytest.fixture(scope="module")
def shipped() -> Shipped:
    """The weights as they are shipped."""
    return Shipped.load()


@pytest.fixture(scope="module")
def trained(shipped: Shipped) -> dict[str, Floats]:
    """Weights as training might leave them: small changes of low rank, larger ones in a few."""
    rng = np.random.default_rng(5)
    found = {}
    for name in shipped.trained():
        base = shipped.floats(name)
        flat = base.reshape(base.shape[0], -1)
        change = rng.standard_normal((flat.shape[0], 4)) @ rng.standard_normal((4, flat.shape[1]))
        found[name] = (base + 0.02 * base.std() * change.reshape(base.shape)).astype(np.float32)
    return found


def folder_of(files: Mapping[str, bytes], folder: Path) -> Path:
    """A folder that the ear can load."""
    folder.mkdir()
    for name in FILES:
        (folder / name).write_bytes(files.get(name) or (find_weights() / name).read_bytes())
    return folder


def heard(folder: Path) -> NDArray[np.float32]:
    """What the model makes of a clip, along a text."""
    pieces = Pieces.load(folder / "tokenizer.bin").encode("Thirty six and five eighths.")
    return Model(folder, threads=1).listen(read_wav(CLIP)).follow(pieces)


def test_every_weight_is_found_once(shipped: Shipped) -> None:
    matrices = [place for place in shipped.places.values() if place.scale is not None]
    assert (len(shipped.places), len(matrices)) == (161, 98)
    spans = sorted(
        (place.file, place.start, place.start + place.count * (4 if place.scale is None else 1))
        for place in shipped.places.values()
    )
    assert all(one[0] != two[0] or one[2] <= two[1] for one, two in pairwise(spans))
    assert sum(shipped.places[name].count for name in shipped.trained()) == 17_655_552


def test_the_outputs_matrix_is_the_embedding_turned_over(shipped: Shipped) -> None:
    assert np.array_equal(shipped.levels(TIED).T, shipped.levels("decoder.embed_tokens.weight"))


def test_written_back_unchanged_every_byte_is_the_same(shipped: Shipped) -> None:
    assert shipped.written({name: shipped.floats(name) for name in shipped.places}) == shipped.files


def test_a_difference_of_nothing_changes_nothing_that_is_heard(shipped: Shipped, tmp_path: Path) -> None:
    same = packed(shipped, {name: shipped.floats(name) for name in shipped.trained()}, 0.6)
    assert applied(read(same), shipped.files) == shipped.files
    assert len(same) < 1000


def test_the_difference_brings_the_levels_that_were_trained(shipped: Shipped, trained: dict[str, Floats]) -> None:
    made = Shipped(applied(read(packed(shipped, trained, 0.5)), shipped.files))
    for name, value in trained.items():
        place, base = shipped.places[name], shipped.floats(name)
        wanted = base + np.float32(0.5) * (value - base)
        if place.scale is not None:
            assert np.array_equal(made.levels(name), to_levels(wanted, place)), name
            assert np.array_equal(made.floats(name), in_levels(wanted, place)), name
        else:
            off = np.abs(made.floats(name) - wanted).max()
            assert off <= max(np.ptp(base) / 512, np.abs(wanted - base).max() / 127), name
    for name in (TIED, "decoder.embed_tokens.weight"):
        assert np.array_equal(made.levels(name), shipped.levels(name))


def test_what_is_kept_makes_the_trained_weights_again(shipped: Shipped, trained: dict[str, Floats]) -> None:
    again = restored(shipped, kept(shipped, trained))
    assert again.keys() == trained.keys()
    for name, value in trained.items():
        place = shipped.places[name]
        step = place.scale or np.abs(value - shipped.floats(name)).max() / 127 * 4
        assert np.abs(again[name] - value).max() <= 0.51 * step / 4 + 1e-6, name


def test_what_is_carried_comes_out_as_it_was_shipped(tmp_path: Path) -> None:
    unpacked_weights(packed_weights(find_weights()), tmp_path)
    for name in FILES:
        assert (tmp_path / name).read_bytes() == (find_weights() / name).read_bytes()


@pytest.mark.outside("onnx, an independent reader of the same model in another format", "computed")
def test_the_same_by_way_of_onnx(shipped: Shipped, trained: dict[str, Floats], tmp_path: Path) -> None:
    """The other format's tensors, found by node, are what was written; and the model says the same, bit for bit."""
    onnx = pytest.importorskip("onnx")
    folder = folder_of(applied(read(packed(shipped, trained, 1.0)), shipped.files), tmp_path / "made")
    made = Shipped.load(folder)
    for name, part in PARTS.items():
        options = onnxruntime.SessionOptions()
        options.optimized_model_filepath = str(tmp_path / f"{part}.onnx")
        options.graph_optimization_level = onnxruntime.GraphOptimizationLevel.ORT_DISABLE_ALL
        options.add_session_config_entry("session.save_model_format", "ONNX")
        onnxruntime.InferenceSession(str(folder / name), options)
        model = onnx.load(options.optimized_model_filepath)
        found = dict(tensors_by_node(onnx, model.graph, {}))
        wanted = {key.partition(".")[2] for key in made.places if key.startswith(part) and key != TIED}
        matrices = {key for key in wanted if made.places[f"{part}.{key}"].scale is not None and "embed" not in key}
        assert matrices <= found.keys()
        for key in matrices:
            assert np.array_equal(found[key], made.levels(f"{part}.{key}")), key
    assert not np.array_equal(heard(folder), heard(folder_of({}, tmp_path / "plain")))


def tensors_by_node(onnx: Any, graph: Any, outer: Mapping[str, Any]) -> Iterator[tuple[str, NDArray[np.uint8]]]:
    """The matrices of a model in levels, by the place of the node that multiplies with them."""
    known = {**outer, **{one.name: one for one in graph.initializer}}
    for node in graph.node:
        at = {"DynamicQuantizeMatMul": 1, "MatMulIntegerToFloat": 1}.get(node.op_type)
        if at is not None and node.input[at] in known:
            key = node.name.removeprefix("/model/decoder").strip("/").rpartition("/")[0].replace("/", ".")
            yield f"{key}.weight", onnx.numpy_helper.to_array(known[node.input[at]])
        for attribute in node.attribute:
            if attribute.HasField("g"):
                yield from tensors_by_node(onnx, attribute.g, known)
