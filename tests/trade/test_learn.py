"""What a frame's own rounds teach: what moves really do, a move made the other way, a figure that can't be."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import numpy as np
import pytest

from guide.trade.frame import Spot, Unit, frame_of, wanted
from guide.trade.learn import Learned, Round, learn, neighbours

PAIR = frame_of(Unit(Fraction(145, 2), Fraction(82), hinges=(Fraction(11), Fraction(42), Fraction(74))))
SPOTS = tuple(spot for spot in PAIR.spots if spot[0] not in ("string_gap", "sill_level"))
LIMITS = wanted(SPOTS)
U = {spot: one.u for spot, one in LIMITS.items()}
START = {spot: one.nominal + Fraction(1, 16) for spot, one in LIMITS.items()}
NAMES = [point.name for point in PAIR.points]
TOLD = {"left top hinge": Fraction(1, 4), "right bottom hinge": Fraction(-3, 16), "top left corner": Fraction(1, 4)}


def moved(now: Mapping[Spot, Fraction], **shares: float) -> dict[Spot, Fraction]:
    """The readings after the moves told, each made by so much of what was told (1 unless said)."""
    made = {name: by * Fraction(shares.get(name.replace(" ", "_"), 1.0)) for name, by in TOLD.items()}
    return PAIR.after(now, [made.get(name, Fraction(0)) for name in NAMES])


def effect(found: Learned, spot: Spot, point: str) -> float:
    """What an inch at the point does to the reading, as learned."""
    return found.effect[found.spots.index(spot)][NAMES.index(point)]


def test_before_anything_is_moved_the_model_stands() -> None:
    found = learn(PAIR, [Round(START)], U)
    assert found.spots == SPOTS
    assert found.at == pytest.approx([float(START[spot]) for spot in SPOTS])
    assert found.variance == pytest.approx([float(U[spot]) ** 2 for spot in SPOTS])
    for spot, row in zip(found.spots, found.effect, strict=True):
        assert row == pytest.approx([float(e) for e in PAIR.effect[spot]])
    assert found.surprises == ()
    assert found.confirmed == frozenset()


def test_moves_as_told_are_no_surprise_and_change_no_effect() -> None:
    found = learn(PAIR, [Round(START), Round(moved(START), TOLD)], U)
    assert found.surprises == ()
    for spot, row in zip(found.spots, found.effect, strict=True):
        assert row == pytest.approx([float(e) for e in PAIR.effect[spot]], abs=1e-6)
    assert all(v < float(U[spot]) ** 2 for spot, v in zip(found.spots, found.variance, strict=True))


def test_a_point_that_answers_less_is_learned() -> None:
    found = learn(PAIR, [Round(START), Round(moved(START, top_left_corner=0.8), TOLD)], U)
    assert found.surprises == ()
    spot, point = ("flush", "top left"), "top left corner"
    assert 0.85 < effect(found, spot, point) < 0.98
    again = [Round(START), Round(now := moved(START, top_left_corner=0.8), TOLD)]
    for _ in range(4):
        back = {name: -by for name, by in TOLD.items()}
        last = again[-1].moves == TOLD
        told = back if last else dict(TOLD)
        made = {name: by * (Fraction(4, 5) if name == point else 1) for name, by in told.items()}
        now = PAIR.after(now, [made.get(name, Fraction(0)) for name in NAMES])
        again.append(Round(now, told))
    more = learn(PAIR, again, U)
    assert abs(effect(more, spot, point) - 0.8) < abs(effect(found, spot, point) - 0.8)


@pytest.mark.parametrize(("share", "kind"), [(-1.0, "opposite"), (0.0, "not made"), (2.0, "twice")])
@pytest.mark.parametrize("point", list(TOLD))
def test_a_move_made_otherwise_is_named(share: float, kind: str, point: str) -> None:
    now = moved(START, **{point.replace(" ", "_"): share})
    found = learn(PAIR, [Round(START), Round(now, TOLD)], U)
    assert [(one.kind, one.point, one.round) for one in found.surprises] == [(kind, point, 1)]
    assert found.surprises[0].by == share
    assert found.at == pytest.approx([float(now[spot]) for spot in found.spots], abs=0.02)


def test_a_figure_that_does_not_go_with_the_others() -> None:
    spot = ("square", "bottom left")
    now = moved(START)
    now[spot] += Fraction(3, 16)
    found = learn(PAIR, [Round(START), Round(now, TOLD)], U)
    assert [(one.kind, one.spot) for one in found.surprises] == [("reading", spot)]
    assert found.surprises[0].by == pytest.approx(3 / 16, abs=0.02)
    assert found.at[found.spots.index(spot)] == pytest.approx(float(moved(START)[spot]), abs=0.01)


def test_read_again_with_nothing_moved() -> None:
    spot, other = ("square", "bottom left"), ("flush", "top left")
    wrong = START | {spot: START[spot] + Fraction(1, 4)}
    found = learn(PAIR, [Round(wrong), Round({spot: START[spot], other: START[other]})], U)
    assert found.at[found.spots.index(spot)] == float(START[spot])
    assert found.confirmed == {other}
    assert found.variance[found.spots.index(other)] == pytest.approx(float(U[other]) ** 2 / 2)
    assert found.variance[found.spots.index(spot)] == pytest.approx(float(U[spot]) ** 2)
    after = learn(PAIR, [Round(wrong), Round({spot: START[spot]}), Round(moved(START), TOLD)], U)
    assert after.confirmed == frozenset()


def test_some_readings_only() -> None:
    part = {spot: START[spot] for spot in SPOTS[:5]}
    found = learn(PAIR, [Round(part), Round({SPOTS[7]: Fraction(0)}, TOLD)], U)
    assert found.spots == (*SPOTS[:5], SPOTS[7])


def test_without_readings() -> None:
    with pytest.raises(ValueError, match="no readings"):
        learn(PAIR, [], U)
    with pytest.raises(ValueError, match="no readings"):
        learn(PAIR, [Round({})], U)


def test_noise_is_not_taken_for_a_lesson() -> None:
    """Over rounds with nothing but noise, hardly a surprise, and effects stay near the model."""
    rng = np.random.default_rng(3)
    surprises, far = 0, 0.0
    for _ in range(30):
        noisy = [
            {spot: by + Fraction(float(rng.normal(0, float(U[spot])))) for spot, by in now.items()}
            for now in (START, moved(START))
        ]
        found = learn(PAIR, [Round(noisy[0]), Round(noisy[1], TOLD)], U)
        surprises += len(found.surprises)
        far = max(far, abs(effect(found, ("flush", "top left"), "top left corner") - 1))
    assert surprises <= 2
    assert far < 0.2


def test_neighbours_are_next_to_each_other() -> None:
    pairs = {(NAMES[a], NAMES[b]) for a, b in neighbours(PAIR)}
    assert ("sill", "left bottom hinge") in pairs
    assert ("left top hinge", "head") in pairs
    assert ("left bottom hinge", "left top hinge") not in pairs
    assert all((b, a) in pairs for a, b in pairs)
