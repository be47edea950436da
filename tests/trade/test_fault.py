"""One misread figure, or one thing wrong with the unit, named from readings that no move explains."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import numpy as np
import pytest
from moves_cases import mirror_name, mirrored

from guide.trade.fault import CRITICAL, LEAST, Suspicion, WallLean, suspicion
from guide.trade.frame import Spot, Unit, frame_of, wanted

PAIR = frame_of(Unit(Fraction(145, 2), Fraction(82), hinges=(Fraction(11), Fraction(42), Fraction(74))))
SPOTS = tuple(spot for spot in PAIR.spots if spot[0] != "string_gap")
LIMITS = wanted(SPOTS)
NOMINAL = {spot: one.nominal for spot, one in LIMITS.items()}
U = {spot: one.u for spot, one in LIMITS.items()}
WALL = WallLean(Fraction(0), Fraction(0), Fraction(1, 48))
MOVED = [Fraction((5 * n) % 7 - 3, 32) for n in range(len(PAIR.points))]


def readings(fault: str | None = None, amount: Fraction = Fraction(0)) -> dict[Spot, Fraction]:
    """What a frame with moved points reads, exactly, with one fault of the unit."""
    effect = next((one.effect for one in PAIR.faults if one.name == fault), {})
    return {spot: by + amount * effect.get(spot, 0) for spot, by in PAIR.after(NOMINAL, MOVED).items()}


def found(now: Mapping[Spot, Fraction], **more: object) -> Suspicion:
    """What these readings speak for."""
    return suspicion(PAIR, now, NOMINAL, U, WALL, **more)  # type: ignore[arg-type]


def test_what_moves_explain_is_no_suspicion() -> None:
    calm = found(readings())
    assert calm.named == ()
    assert calm.settle is None
    assert all(one.score < 1e-6 for one in calm.suspects)


@pytest.mark.parametrize("spot", SPOTS, ids=" ".join)
@pytest.mark.parametrize("by", [Fraction(1, 4), Fraction(-1, 4)])
def test_a_misread_quarter_is_named(spot: Spot, by: Fraction) -> None:
    said = found(readings() | {spot: readings()[spot] + by})
    best = [one for one in said.named if one.spot == spot]
    assert best, [one.name for one in said.named]
    assert best[0].size == pytest.approx(float(by), abs=0.02)
    assert best[0].score > CRITICAL
    assert best[0].name == " ".join(part for part in spot if part)


@pytest.mark.parametrize("fault", [one.name for one in PAIR.faults])
@pytest.mark.parametrize("amount", [Fraction(1, 4), Fraction(-1, 4)])
def test_a_fault_of_the_unit_is_named(fault: str, amount: Fraction) -> None:
    said = found(readings(fault, amount), confirmed=SPOTS)
    named = {one.name: one for one in said.named}
    assert fault in named or ("rack" in fault and any("rack" in name for name in named)), list(named)
    if fault in named:
        assert named[fault].size == pytest.approx(float(amount), abs=0.02)
    assert [one.score for one in said.suspects] == sorted((one.score for one in said.suspects), reverse=True)


def test_a_confirmed_reading_is_not_suspected() -> None:
    spot = ("square", "top left")
    now = readings() | {spot: readings()[spot] + Fraction(1, 4)}
    assert spot in [one.spot for one in found(now).named]
    assert spot not in [one.spot for one in found(now, confirmed=[spot]).suspects]


def test_what_is_too_small_is_not_named() -> None:
    small = Fraction(LEAST) * Fraction(9, 10)
    precise = {spot: u / 1000 for spot, u in U.items()}
    spot = ("plumb_along", "left side")
    now = readings() | {spot: readings()[spot] + small}
    assert suspicion(PAIR, now, NOMINAL, precise, WALL).named == ()


def test_the_size_of_the_noise_decides() -> None:
    spot = ("head_level", "")
    now = readings() | {spot: readings()[spot] + Fraction(1, 8)}
    coarse = {one: 10 * u for one, u in U.items()}
    assert found(now).named
    assert suspicion(PAIR, now, NOMINAL, coarse, WALL).named == ()


def test_a_leaning_wall_is_no_misread_figure_when_it_is_known() -> None:
    now = readings()
    for side in ("left", "right"):
        now["flush", f"top {side}"] -= Fraction(3, 16)
    assert suspicion(PAIR, now, NOMINAL, U, WallLean(Fraction(3, 16), Fraction(3, 16), Fraction(1, 48))).named == ()
    assert suspicion(PAIR, now, NOMINAL, U, None).named == ()
    assert suspicion(PAIR, now, NOMINAL, U, WallLean(Fraction(0), Fraction(0), Fraction(1, 200))).suspects[0].score > 2


def test_a_reading_that_settles_it() -> None:
    """Without one reading two faults look alike; that reading, or one as good, is asked for."""
    asked = 0
    for fault in PAIR.faults:
        for missing in SPOTS:
            now = {spot: by for spot, by in readings(fault.name, Fraction(1, 4)).items() if spot != missing}
            said = found(now, confirmed=SPOTS)
            if said.settle is not None:
                asked += 1
                assert said.settle not in now
                assert sum(one.fault is not None for one in said.named) > 1
    assert asked


def test_one_reading_alone_says_nothing() -> None:
    assert suspicion(PAIR, {("head_level", ""): Fraction(1)}, NOMINAL, U).suspects == ()


def test_false_alarms_over_noise_are_few() -> None:
    """Noise of the stated size on frames that moves explain: an alarm in fewer than one of fifty."""
    rng = np.random.default_rng(7)
    alarms = 0
    for _ in range(200):
        now = {spot: by + Fraction(float(rng.normal(0, float(U[spot])))) for spot, by in readings().items()}
        alarms += bool(found(now).named)
    assert alarms <= 4


def test_mirrored_readings_raise_mirrored_suspicions() -> None:
    spot = ("head_reveal", "left meeting")
    now = readings() | {spot: readings()[spot] + Fraction(1, 4)}
    here, there = found(now), found(mirrored(now))
    assert [mirror_name(one.name) for one in here.named] == [one.name for one in there.named]
    assert [one.score for one in here.named] == pytest.approx([one.score for one in there.named])
