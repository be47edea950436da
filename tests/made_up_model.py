"""A speech model with made-up probabilities over a table of few pieces, a small grammar, and every row of a grammar."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from guide.voice.embedded.automaton import Graph
from guide.voice.embedded.tokens import END, Pieces

PIECES = Pieces(
    b"".join(bytes([len(one)]) + one for one in (b"<unk>", b"<s>", b"</s>"))
    + b"".join(bytes([1, byte]) for byte in range(256))
    + b"".join(bytes([len(one)]) + one for one in ("▁".encode(), b"a", b"b", b"c", "▁a".encode(), b"bc"))
)
"""A table of few pieces."""
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
