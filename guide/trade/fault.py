"""What no move could explain: one misread figure, or one thing wrong with the unit itself, named from the readings.

There are more readings than things that can move, so some sums of readings are the same whatever is moved. Where such
a sum is out by more than noise, small faults every unit has and the model's own error allow, one cause at a time is
tried, and the one that explains it best is named. Source: data snooping with a 3.29 test, W. Baarda (from memory).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from guide.trade.frame import Fault, Frame, Spot

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

CRITICAL = 4.0
CRITICAL_FAULT = 3.5
"""Standard deviations beyond which a misread figure, or a fault of the unit, is named: 3.29 is 1 in 1,000 for one
cause, but some ten faults and thirty readings are tried (chosen on simulated frames for 1 in 100 over all of them)."""

LEAST = 1 / 16
"""A cause smaller than this (in) is not named: shims put it right."""

USUAL = 0.0125
"""Standard deviation of the small faults every unit has, in inches (chosen on simulated frames)."""

CROOKED = 0.0095
"""Standard deviation of what crooked wood adds to a reading, in inches (chosen on simulated frames)."""

TRUST = 0.04
TRUST_SQUARE = 0.055
"""Standard deviation of the model's own error, as a share of how far points are off; a square looks at a member's end,
where bending counts most (chosen on simulated frames)."""

ALIKE = 4.0
"""Causes whose squared scores differ by less than this can't be told apart by these readings."""

APART = 3.0
"""Standard deviations by which a reading must tell two causes apart to be worth asking for."""

WALL_UNKNOWN = Fraction(7, 100)
"""Standard deviation of how far a wall leans over its height when nobody has measured it (in)."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """One cause: a place that was misread or a fault of the unit, how large it would be (in), and its score."""

    spot: Spot | None
    fault: Fault | None
    size: float
    score: float

    @property
    def name(self) -> str:
        """The fault's name, or the reading and its place."""
        if self.fault is not None:
            return self.fault.name
        assert self.spot is not None
        return " ".join(part for part in self.spot if part)


@dataclass(frozen=True, slots=True)
class Suspicion:
    """Causes in the order of their scores, best first; `named` are those that can't be told from the best.

    Empty `named` means that everything can be explained. `settle` is a reading not taken yet that would tell the
    named faults apart, if there is one.
    """

    suspects: tuple[Suspect, ...]
    named: tuple[Suspect, ...]
    settle: Spot | None


@dataclass(frozen=True, slots=True)
class WallLean:
    """How far the wall leans toward the room over its height beside each side frame, with its standard uncertainty."""

    left: Fraction
    right: Fraction
    u: Fraction


def suspicion(
    frame: Frame,
    readings: Mapping[Spot, Fraction],
    nominal: Mapping[Spot, Fraction],
    u: Mapping[Spot, Fraction],
    wall: WallLean | None = None,
    confirmed: Collection[Spot] = (),
) -> Suspicion:
    """What the readings (in) speak for, if anything; places in `confirmed` were read twice and are not misread."""
    algebra = _Algebra(frame, tuple(readings), u, wall)
    off = algebra.off(readings, nominal, wall)
    unmoved = algebra.unmoved(off)
    suspects = []
    for n, spot in enumerate(algebra.spots):
        if spot not in confirmed:
            way = [0.0] * len(algebra.spots)
            way[n] = 1.0
            suspects += _scored(unmoved, off, way, spot, None)
    for fault in frame.faults:
        suspects += _scored(unmoved, off, algebra.way(fault), None, fault)
    suspects.sort(key=lambda one: (-one.score, one.name))
    large = [
        one
        for one in suspects
        if one.score > (CRITICAL if one.fault is None else CRITICAL_FAULT) and abs(one.size) >= LEAST
    ]
    near = tuple(one for one in large if large[0].score ** 2 - one.score**2 < ALIKE)
    return Suspicion(tuple(suspects), near, _settling(frame, near, algebra.spots, u, wall))


def _scored(unmoved: Array, off: Array, way: Sequence[float], spot: Spot | None, fault: Fault | None) -> list[Suspect]:
    import numpy as np

    along = np.array(way)
    force = float(along @ unmoved @ along)
    if force < 1.0:
        return []
    size = float(along @ unmoved @ off) / force
    return [Suspect(spot, fault, size, abs(size) * force**0.5)]


class _Algebra:
    """The readings' effects and spreads as arrays."""

    def __init__(
        self, frame: Frame, spots: tuple[Spot, ...], u: Mapping[Spot, Fraction], wall: WallLean | None
    ) -> None:
        import numpy as np

        self.spots = spots
        self.effect: Array = np.array([[float(e) for e in frame.effect[spot]] for spot in spots])
        ways = np.array([self.way(fault) for fault in frame.faults]).T
        self.spread: Array = np.diag([float(u[spot]) ** 2 + CROOKED**2 for spot in spots]) + USUAL**2 * ways @ ways.T
        lean = float(WALL_UNKNOWN if wall is None else wall.u) ** 2
        for n, (reading, place) in enumerate(spots):
            if reading == "flush" and place.startswith("top"):
                self.spread[n, n] += lean

    def way(self, fault: Fault) -> list[float]:
        """What an inch of the fault does to each reading."""
        return [float(fault.effect.get(spot, 0)) for spot in self.spots]

    def off(self, readings: Mapping[Spot, Fraction], nominal: Mapping[Spot, Fraction], wall: WallLean | None) -> Array:
        """The readings from nominal, the wall's own lean taken out where it is known."""
        import numpy as np

        values = [float(readings[spot] - nominal[spot]) for spot in self.spots]
        for n, (reading, place) in enumerate(self.spots):
            if wall is not None and reading == "flush" and place.startswith("top"):
                values[n] += float(wall.left if place.endswith("left") else wall.right)
        return np.array(values)

    def unmoved(self, off: Array | None = None) -> Array:
        """The weight of every pair of readings once all that moves can do is taken out."""
        import numpy as np

        spread = self.spread
        if off is not None:
            scale = 1 / np.sqrt(np.diag(spread))
            points = np.linalg.lstsq(self.effect * scale[:, None], off * scale, rcond=1e-9)[0]
            trust = np.array([TRUST_SQUARE if reading == "square" else TRUST for reading, _ in self.spots])
            spread = spread + np.diag(trust**2 * (self.effect**2 @ points**2))
        weight = np.linalg.inv(spread)
        moved = weight @ self.effect
        left: Array = weight - moved @ np.linalg.pinv(self.effect.T @ moved, rcond=1e-9) @ moved.T
        return left


def _settling(
    frame: Frame, named: Sequence[Suspect], spots: tuple[Spot, ...], u: Mapping[Spot, Fraction], wall: WallLean | None
) -> Spot | None:
    """A reading not taken yet by which the two likeliest faults differ, whatever is moved."""
    import numpy as np

    faults = [one for one in named if one.fault is not None]
    if len(faults) < 2:
        return None
    first, second = faults[0], faults[1]
    assert first.fault is not None
    assert second.fault is not None
    for spot in frame.spots:
        if spot in spots or spot not in u:
            continue
        algebra = _Algebra(frame, (*spots, spot), u, wall)
        unmoved = algebra.unmoved()
        a, b = (np.array(algebra.way(fault)) for fault in (first.fault, second.fault))
        force = float(b @ unmoved @ b)
        left = float(a @ unmoved @ a) - (float(a @ unmoved @ b) ** 2 / force if force > 0 else 0.0)
        if abs(first.size) * max(0.0, left) ** 0.5 >= APART:
            return spot
    return None
