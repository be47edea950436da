"""The beam search: nothing outside the grammar, the free row, narrow beams."""

import random

import pytest
from made_up_model import MadeUp, small

from guide.voice.embedded.search import search
from guide.voice.embedded.tokens import END


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


def test_a_narrow_beam_never_finds_more_than_a_wide_one() -> None:
    graph = small()
    chance = random.Random(1)
    for seed in (chance.randrange(1000) for _ in range(6)):
        wide, narrow = (search(MadeUp(seed), graph, beam=beam).rows for beam in (400, 2))
        if narrow:
            assert wide[0].weight >= narrow[0].weight - 1e-6
