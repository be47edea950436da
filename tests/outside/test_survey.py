"""The survey of an opening against least squares, distributions and blunders from elsewhere."""

from __future__ import annotations

import math
import random
from fractions import Fraction as F

import numpy as np
import pytest
from scipy import optimize, stats

from guide.trade import sizing
from guide.trade.opening import DETECTS, NAMES, POWER, STRAIGHT, Opening, Tools, survey

TAKEN = [name for name in NAMES if name not in STRAIGHT]
TRUE = (74.5, 74.4, 74.6, 82.6, 82.7, 82.5, 0.25, -0.1)
"""An opening in inches: three widths, three heights, the left stud's lean, the sill's fall."""

TAPE, LEVEL = (1 / 16, 1 / 16), (1 / 64, 1 / 2000)
"""Read to, and out by: a tape of NIST Handbook 44 to 30 ft (the same all along), a spirit level of 0.5 mm/m."""
ROUGH, BOWED = 1 / 16, 1 / 4
"""Limits of how an instrument sits on rough structure, and of how a member is bowed."""


def shown(name: str, true: tuple[float, ...]) -> float:
    """What a perfect instrument would show."""
    wb, wm, wt, hl, hm, hr, lean, sill = true
    corners = {"bl": (0.0, 0.0), "br": (wb, sill), "tl": (lean, hl), "tr": (lean + wt, sill + hr)}
    return {
        "width bottom": wb,
        "width middle": wm,
        "width top": wt,
        "height left": hl,
        "height middle": hm,
        "height right": hr,
        "diagonal rising": math.dist(corners["bl"], corners["tr"]),
        "diagonal falling": math.dist(corners["br"], corners["tl"]),
        "lean left": lean,
        "lean right": corners["tr"][0] - corners["br"][0],
        "sill": sill,
        "straight studs": wm - (wb + wt) / 2,
        "straight head and sill": hm - (hl + hr) / 2,
    }[name]


def is_taped(name: str) -> bool:
    return name.split()[0] in ("width", "height", "diagonal")


ALONG = {"sill": "width bottom", "lean left": "height left", "lean right": "height right"}
"""What a level is held along."""


def own(name: str, readings: dict[str, float] | None = None) -> float:
    """The variance of one observation by itself, a level's over the length that was read."""
    if name in STRAIGHT:
        return 2 * BOWED**2 / 3
    division, _ = TAPE if is_taped(name) else LEVEL
    length = 0.0 if is_taped(name) else (readings or {}).get(ALONG[name], shown(ALONG[name], TRUE))
    return (division / 2) ** 2 / 3 + ROUGH**2 / 3 + (LEVEL[1] * length) ** 2 / 3


def read(rng: random.Random) -> dict[str, float]:
    """All readings of an opening whose members are bowed at random, with an instrument error of their own each and
    the tape's in all of its readings."""
    wb, _, wt, hl, _, hr, lean, sill = TRUE
    bow = [rng.gauss(0, math.sqrt(own(name))) for name in STRAIGHT]
    true = (wb, (wb + wt) / 2 + bow[0], wt, hl, (hl + hr) / 2 + bow[1], hr, lean, sill)
    tape = rng.gauss(0, TAPE[1] / math.sqrt(3))
    return {
        name: shown(name, true) + rng.gauss(0, math.sqrt(own(name))) + (tape if is_taped(name) else 0.0)
        for name in TAKEN
    }


def surveyed(readings: dict[str, float]) -> Opening:
    return survey({name: F(value) for name, value in readings.items()})


def misfit(readings: dict[str, float], without: str | None = None) -> tuple[float, np.ndarray]:
    """The least weighted sum of squares, and the unknowns there, by a general minimiser; the tape's error is one more
    unknown, with its own spread."""
    names = [name for name in NAMES if (name in readings or name in STRAIGHT) and name != without]

    def residuals(x: np.ndarray) -> list[float]:
        rest = [
            (readings.get(name, 0.0) - shown(name, tuple(x[:8])) - (x[8] if is_taped(name) else 0.0))
            / math.sqrt(own(name, readings))
            for name in names
        ]
        return [*rest, x[8] / (TAPE[1] / math.sqrt(3))]

    start = np.array([*TRUE, 0.0])
    found = optimize.least_squares(residuals, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    return 2 * float(found.cost), found.x


@pytest.mark.outside("scipy.stats.norm", "computed")
def test_the_rule_and_the_smallest_blunder_it_finds() -> None:
    """Beyond 3.29 is 1 in 1,000, and a blunder of 4.13 standard deviations is found 80 % of the time"""
    assert 2 * stats.norm.sf(3.29) == pytest.approx(0.001, rel=0.005)
    found = stats.norm.sf(3.29 - DETECTS) + stats.norm.cdf(-3.29 - DETECTS)
    assert found == pytest.approx(POWER, abs=1e-6)
    assert round(DETECTS, 2) == 4.13


@pytest.mark.outside("scipy.optimize.least_squares on the corners of the opening", "computed")
def test_the_opening_by_least_squares() -> None:
    """The unknowns of random readings, and each standardised residual from leaving its reading out"""
    rng = random.Random(3)
    for _ in range(15):
        readings = read(rng)
        readings[rng.choice(TAKEN)] += rng.gauss(0, 0.5)
        ours = surveyed(readings)
        least, unknowns = misfit(readings)
        assert [float(v) for v in ours.values] == pytest.approx(list(unknowns[:8]), abs=1e-4)
        for one in ours.checked:
            assert one.standardised is not None
            dropped = least - misfit(readings, one.name)[0]
            assert one.standardised**2 == pytest.approx(dropped, abs=1e-2 * max(1.0, dropped))


@pytest.mark.outside("simulated readings", "computed")
def test_the_uncertainty_of_the_opening() -> None:
    """Over many surveys the unknowns scatter as their uncertainty says"""
    rng = random.Random(4)
    found = [surveyed(read(rng)) for _ in range(1000)]
    for name in ("width bottom", "width top", "lean", "sill"):
        stated = found[0].u(name)
        spread = np.std([float(one.of(name) or 0) for one in found])
        assert stated is not None
        assert spread == pytest.approx(stated, rel=0.08)


@pytest.mark.outside("planted blunders; scipy.stats.binom", "computed")
@pytest.mark.parametrize("name", TAKEN)
def test_a_blunder_is_found_as_often_as_stated(name: str) -> None:
    """A blunder of the stated size in each reading is found 80 % of the time, within what chance allows"""
    rng = random.Random(f"{name} 1")
    stated = next(one.detects for one in surveyed(read(rng)).checked if one.name == name)
    assert stated is not None
    tries, found = 500, 0
    for _ in range(tries):
        readings = read(rng)
        readings[name] += stated * rng.choice([-1, 1])
        w = next(one.standardised for one in surveyed(readings).checked if one.name == name)
        found += w is not None and abs(w) > 3.29
    low, high = stats.binom.interval(0.9999, tries, POWER)
    assert low <= found <= high, found / tries


@pytest.mark.outside("planted blunders; scipy.stats.binom", "computed")
def test_false_alarms_and_the_reading_named() -> None:
    """Without a blunder at most about 1 % of surveys ask for a reading; with one twice the stated size it is named"""
    rng = random.Random(9)
    tries = 1000
    false = sum(surveyed(read(rng)).doubt is not None for _ in range(tries))
    assert false <= stats.binom.ppf(0.9999, tries, 0.011)
    named = told = 0
    for _ in range(400):
        readings = read(rng)
        name = rng.choice([n for n in TAKEN if "middle" not in n])
        stated = next(one.detects for one in surveyed(readings).checked if one.name == name)
        assert stated is not None
        readings[name] += 2 * stated * rng.choice([-1, 1])
        doubt = surveyed(readings).doubt
        named += doubt is not None and doubt.name == name
        told += doubt is not None and name in (doubt.name, *doubt.others)
    assert named >= 0.9 * 400, named
    assert told >= 0.97 * 400, told


@pytest.mark.outside("2014/32/EU, Annex X; NIST Handbook 44, 5.52", "published")
def test_the_tape_sets_the_uncertainty() -> None:
    """One width alone has the uncertainty of its tape's limit, its division and the rough structure"""
    from guide.trade.instruments import INSTRUMENTS

    mm = 1 / 25.4
    for tape, limit, division in (("tape", 1 / 16, 1 / 16), ("tape class I", (0.1 + 0.1 * 2 + 0.1) * mm, 1 / 32)):
        u = survey({"width bottom": F(149, 2)}, Tools(INSTRUMENTS[tape])).u("width bottom")
        assert u == pytest.approx(math.sqrt((limit**2 + (division / 2) ** 2 + ROUGH**2) / 3), rel=1e-6)


@pytest.mark.outside("worked example: opening 74-1/2 x 82-5/8 in gives a unit 73-1/2 x 82-1/8 in", "common practice")
def test_the_unit_for_an_opening() -> None:
    """The unit's width and height from the smallest of three"""
    widths, heights = [F("74.5"), F("74.5625"), F("74.625")], [F("82.75"), F("82.625"), F("82.6875")]
    assert sizing.size(widths, heights) == (F("73.5"), F("82.125"))


@pytest.mark.outside("2x4 wall 7/16 + 3-1/2 + 1/2 in takes a 4-9/16 in frame, 2x6 a 6-9/16 in frame", "common practice")
@pytest.mark.parametrize(("stud", "frame", "floor"), [("3.5", "4.5625", 6), ("5.5", "6.5625", 8)])
def test_the_frame_and_the_floor_for_a_wall(stud: str, frame: str, floor: int) -> None:
    """The frame's depth from the wall's, and 6 or 8 in of subfloor under it"""
    depth = sizing.frame_depth(F(7, 16) + F(stud) + F(1, 2))
    assert (depth, sizing.bearing(depth)) == (F(frame), F(floor))
