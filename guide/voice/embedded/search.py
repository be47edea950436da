"""Beam search: the likeliest rows of pieces that the grammar lets through, and the likeliest row without a grammar.

All beginnings are one length and go through the decoder together; the row without a grammar goes with them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING, Any, Protocol

from guide.voice.embedded.automaton import Graph
from guide.voice.embedded.tokens import END

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float32]

BEAM = 16
"""Beginnings kept. Margins depend on it: thresholds are calibrated at this width."""
LONGEST = 48
"""Pieces of an utterance."""
FAR = 12.0
"""Nats behind the best whole row, or the best beginning, at which a beginning is given up."""
HOPELESS = 16.0
"""Nats behind the row without a grammar at which a beginning is given up: that far behind, all that it could still
become is garbage (`thresholds.toml`, "none")."""


class Decoder(Protocol):
    """What the search needs of a model that has taken in some sound; what it keeps of its rows is its own."""

    def begin(self) -> tuple[Floats, Any]:
        """Log-probabilities of the first piece, (1, pieces), and the empty row."""

    def step(self, rows: Any, chosen: Sequence[int], pieces: Sequence[int]) -> tuple[Floats, Any]:
        """The chosen rows with one more piece each: log-probabilities (rows, pieces) of the next, and the new rows."""


@dataclass(frozen=True, slots=True)
class Row:
    """A whole row of pieces, without its end, and its log-probability."""

    pieces: tuple[int, ...]
    weight: float


@dataclass(frozen=True, slots=True)
class Result:
    """What a search came to."""

    rows: tuple[Row, ...]
    """In the grammar, the likeliest first."""
    free: Row
    """Without a grammar, the likeliest piece taken each time."""


@dataclass(slots=True)
class _Free:
    """The row without a grammar, on its way."""

    pieces: list[int] = field(default_factory=list)
    weight: float = 0.0
    done: bool = False

    def take(self, found: Floats) -> None:
        """One more piece."""
        best = int(found.argmax())
        self.weight += float(found[best])
        if best == END or len(self.pieces) >= LONGEST:
            self.done = True
        else:
            self.pieces.append(best)


def search(decoder: Decoder, graph: Graph, beam: int = BEAM) -> Result:
    """The likeliest whole rows in the grammar, and the likeliest one without it."""
    import numpy as np

    found, rows = decoder.begin()
    free = _Free()
    free.take(found[0])
    live: list[tuple[tuple[int, ...], frozenset[int], float]] = [((), graph.start(), 0.0)]
    done: list[Row] = []
    while live:
        weights, steps = [], []
        for at, (_, places, weight) in enumerate(live):
            following = graph.after(places)
            weights.append(weight + found[at, list(following.pieces)])
            steps.append(following)
        best = [(at, int(i)) for at, row in enumerate(weights) for i in np.argsort(-row)[: beam + 1]]
        best.sort(key=lambda one: -weights[one[0]][one[1]])
        chosen: list[int] = []
        new: list[tuple[tuple[int, ...], frozenset[int], float]] = []
        first = max([row.weight for row in done] + [float(weights[at][i]) for at, i in best[:1]])
        least = max(first - FAR, free.weight - HOPELESS if free.done else -inf)
        for at, i in best:
            piece, weight = steps[at].pieces[i], float(weights[at][i])
            if len(new) >= beam or weight < least:
                break
            if piece == END:
                done.append(Row(live[at][0], weight))
            elif len(live[at][0]) < LONGEST:
                chosen.append(at)
                new.append(((*live[at][0], piece), steps[at].sets[i], weight))
        free_at = len(found) - 1
        live = new
        pieces = [row[0][-1] for row in live]
        if not free.done:
            chosen, pieces = [*chosen, free_at], [*pieces, free.pieces[-1]]
        if pieces:
            found, rows = decoder.step(rows, chosen, pieces)
            if not free.done:
                free.take(found[-1])
    while not free.done:
        found, rows = decoder.step(rows, [len(found) - 1], [free.pieces[-1]])
        free.take(found[-1])
    done.sort(key=lambda row: -row.weight)
    return Result(tuple(done), Row(tuple(free.pieces), free.weight))
