"""The beam search against every row there is, on small grammars: with made-up probabilities, and with the model."""

import itertools
from functools import cache

import numpy as np
import pytest
from made_up_model import MadeUp, every_row, small

from guide.voice.embedded.automaton import Graph
from guide.voice.embedded.model import Model, find_weights
from guide.voice.embedded.search import search
from guide.voice.embedded.tokens import END, Pieces

FULL = Pieces.load(find_weights() / "tokenizer.bin")


@pytest.mark.outside("every row of the grammar, scored one by one", "computed")
@pytest.mark.parametrize("seed", range(8))
def test_a_wide_beam_finds_the_likeliest_of_all_rows(seed: int) -> None:
    """The beam search finds the likeliest of all rows of a small grammar, with their weights."""
    graph, model = small(), MadeUp(seed)
    all_rows = every_row(graph, longest=5)
    assert len(all_rows) > 100
    best = sorted(((model.weight(row), row) for row in all_rows), reverse=True)[:5]
    found = [row for row in search(model, graph, beam=1500).rows if len(row.pieces) <= 5][:5]
    near = [pair for pair in best if pair[0] > found[0].weight - 8]
    assert [row.pieces for row in found][: len(near)] == [row for _, row in near]
    assert [row.weight for row in found][: len(near)] == pytest.approx([weight for weight, _ in near], abs=1e-3)


@cache
def model() -> Model:
    return Model(find_weights())


@pytest.mark.outside("every row of the grammar, scored by the same model one by one", "computed")
def test_the_model_ranks_rows_as_it_scores_them_one_by_one() -> None:
    """The speech model's rows come out in the order, and near the weights, that each has by itself."""
    rng = np.random.default_rng(5)
    t = np.arange(24_000) / 16_000
    sound = model().listen((0.1 * np.sin(2 * np.pi * 200 * t) * rng.random(len(t))).astype(np.float32))
    graph = Graph(FULL)
    for text in ("six", "sixteen", "sixty", "sixty-six", "16", "a half"):
        graph.text(0, text, graph.place())
    for end in range(2, graph.size()):
        graph.skip(end, 1)
    rows = search(sound, graph, beam=64).rows
    alone = {}
    for row in rows:
        along = sound.follow(row.pieces)
        alone[row.pieces] = float(sum(along[at, piece] for at, piece in enumerate([*row.pieces, END])))
        assert alone[row.pieces] == pytest.approx(row.weight, abs=1.5)  # rows side by side change each other a little
    for one, other in itertools.combinations(rows, 2):
        if one.weight - other.weight > 3:
            assert alone[one.pieces] > alone[other.pieces]
