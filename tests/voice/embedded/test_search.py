"""The beam search against every row there is, on small grammars: with made-up probabilities, and with the model."""

import itertools
import random
from collections.abc import Sequence
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from guide.voice.embedded.automaton import Graph
from guide.voice.embedded.model import Model, find_weights
from guide.voice.embedded.search import search
from guide.voice.embedded.tokens import END, Pieces

FULL = Pieces.load(find_weights() / "tokenizer.bin")
PIECES = Pieces(
    b"".join(bytes([len(one)]) + one for one in (b"<unk>", b"<s>", b"</s>"))
    + b"".join(bytes([1, byte]) for byte in range(256))
    + b"".join(bytes([len(one)]) + one for one in ("▁".encode(), b"a", b"b", b"c", "▁a".encode(), b"bc"))
)
"""A table of few pieces, for probabilities that are made up."""
Floats = NDArray[np.float32]


class MadeUp:
    """Probabilities that depend on the whole beginning, the same every time."""

    def __init__(self, seed: int) -> None:
        self.seed = seed

    def after(self, pieces: tuple[int, ...]) -> Floats:
        rng = np.random.default_rng([self.seed, *pieces])
        logits = 3 * rng.standard_normal(len(PIECES))
        found: Floats = (logits - np.log(np.exp(logits).sum())).astype(np.float32)
        return found

    def begin(self) -> tuple[Floats, list[tuple[int, ...]]]:
        return self.after(())[None], [()]

    def step(
        self, rows: list[tuple[int, ...]], chosen: Sequence[int], pieces: Sequence[int]
    ) -> tuple[Floats, list[tuple[int, ...]]]:
        new = [(*rows[at], piece) for at, piece in zip(chosen, pieces, strict=True)]
        return np.stack([self.after(row) for row in new]), new

    def weight(self, pieces: Sequence[int]) -> float:
        row = (*pieces, END)
        return float(sum(self.after(row[:at])[piece] for at, piece in enumerate(row)))


def small() -> Graph:
    """ "a", "b", "a b", "a bc", "b bc"."""
    graph = Graph(PIECES)
    middle = graph.place()
    for one in ("a", "b"):
        graph.text(0, one, 1)
        graph.text(0, one, middle)
    for two in ("b", "bc"):
        graph.text(middle, two, 1)
    return graph


def every_row(graph: Graph, longest: int) -> set[tuple[int, ...]]:
    """Every row of at most so many pieces that the grammar lets through, by trying all of them."""
    found: set[tuple[int, ...]] = set()
    stack: list[tuple[tuple[int, ...], frozenset[int]]] = [((), graph.start())]
    while stack:
        row, places = stack.pop()
        following = graph.after(places)
        for piece, after in zip(following.pieces, following.sets, strict=True):
            if piece == END:
                found.add(row)
            elif len(row) < longest:
                stack.append(((*row, piece), after))
    return found


@pytest.mark.outside("every row of the grammar, scored one by one", "computed")
@pytest.mark.parametrize("seed", range(8))
def test_a_wide_beam_finds_the_likeliest_of_all_rows(seed: int) -> None:
    graph, model = small(), MadeUp(seed)
    all_rows = every_row(graph, longest=5)
    assert len(all_rows) > 100
    best = sorted(((model.weight(row), row) for row in all_rows), reverse=True)[:5]
    found = [row for row in search(model, graph, beam=1500).rows if len(row.pieces) <= 5][:5]
    near = [pair for pair in best if pair[0] > found[0].weight - 8]
    assert [row.pieces for row in found][: len(near)] == [row for _, row in near]
    assert [row.weight for row in found][: len(near)] == pytest.approx([weight for weight, _ in near], abs=1e-3)


def test_nothing_outside_the_grammar_comes_out() -> None:
    graph = small()
    for seed in range(5):
        for row in search(MadeUp(seed), graph, beam=8).rows:
            assert graph.read(row.pieces)


def test_the_free_row_takes_the_likeliest_piece_each_time() -> None:
    model = MadeUp(3)
    free = search(model, small(), beam=4).free
    row: tuple[int, ...] = ()
    weight = 0.0
    for piece in [*free.pieces, END][: len(free.pieces) + 1]:
        best = int(model.after(row).argmax())
        weight += float(model.after(row)[best])
        if best == END or len(row) == len(free.pieces):
            break
        assert piece == best
        row = (*row, best)
    assert free.weight == pytest.approx(weight, abs=1e-3)


@cache
def model() -> Model:
    return Model(find_weights())


@pytest.mark.outside("every row of the grammar, scored by the same model one by one", "computed")
def test_the_model_ranks_rows_as_it_scores_them_one_by_one() -> None:
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


def test_a_narrow_beam_never_finds_more_than_a_wide_one() -> None:
    graph = small()
    chance = random.Random(1)
    for seed in (chance.randrange(1000) for _ in range(6)):
        wide, narrow = (search(MadeUp(seed), graph, beam=beam).rows for beam in (400, 2))
        if narrow:
            assert wide[0].weight >= narrow[0].weight - 1e-6
