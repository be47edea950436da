"""What a frame's own rounds have shown: where its readings stand, and what moves really do to it.

A linear Gaussian filter. It holds where every reading stands and, for every shim point, how much more or less than told
it moves and how far it drags its neighbours. Each round of readings is weighed against what the moves should have
done, so one round teaches what many readings agree on, and noise is not mistaken for a lesson. Before a round is
believed it is searched for one misread figure, or one move made the other way or not at all (a 3.29 test on what the
readings differ from the forecast: W. Baarda's, from memory). Lengths in inches; floats, for planning only.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Literal

from guide.trade.frame import SIDES, Frame, Spot

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

GAIN = 0.08
DRAG = 0.06
SHAPE = 0.03
"""Standard deviations of a move's own gain, of what it drags a neighbour by, and of what it does to one reading
besides; as shares of the move. Chosen on simulated frames."""

HAND = 0.010
HAND_SHARE = 0.10
"""Standard deviation of how a move is made: so many inches, and so much of the move. Chosen on simulated frames."""

CRITICAL = 3.29
"""Standard deviations beyond which a forecast missed by one cause is no chance: 1 in 1,000, two-sided."""

SurpriseKind = Literal["reading", "opposite", "not made", "twice"]


@dataclass(frozen=True, slots=True)
class Round:
    """What was moved since the readings before, by point as told (in), and what was read then, all or some places."""

    readings: Mapping[Spot, Fraction]
    moves: Mapping[str, Fraction] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Surprise:
    """One cause that a round's readings speak for: a misread figure, or a move made otherwise than told.

    `round` counts from 0; `by` is how far the figure is off (in), or what the move did as a share of what was told.
    """

    round: int
    kind: SurpriseKind
    spot: Spot | None
    point: str | None
    by: float


@dataclass(frozen=True, slots=True)
class Learned:
    """Where each reading stands, how sure that is (variance, in²), what an inch at each point does, and surprises.

    `confirmed` are places that were read again with nothing moved between, and came out the same.
    """

    spots: tuple[Spot, ...]
    at: tuple[float, ...]
    variance: tuple[float, ...]
    effect: tuple[tuple[float, ...], ...]
    surprises: tuple[Surprise, ...]
    confirmed: frozenset[Spot]


def neighbours(frame: Frame) -> list[tuple[int, int]]:
    """Pairs of points (place in the list) that drag each other: next on a member, or corners next to each other."""
    index = {point.name: at for at, point in enumerate(frame.points)}
    chains: list[list[str]] = []
    for side in SIDES:
        inner = [point.name for point in frame.points if point.kind == "along" and point.name.startswith(f"{side} ")]
        chains += [["sill", *inner, "head"], [f"bottom {side} corner", f"top {side} corner"]]
        chains.append([f"{side} sill end", "head"])
    chains += [[f"{end} left corner", f"{end} right corner"] for end in ("bottom", "top")]
    pairs = [(index[a], index[b]) for chain in chains for a, b in itertools.pairwise(chain)]
    return pairs + [(b, a) for a, b in pairs]


class _Filter:
    """State: the readings, then the gains and drags; its mean and covariance."""

    def __init__(self, frame: Frame, spots: Sequence[Spot], u: Mapping[Spot, Fraction]) -> None:
        import numpy as np

        self.np: Any = np
        self.spots = tuple(spots)
        self.points = [point.name for point in frame.points]
        self.effect: Array = np.array([[float(e) for e in frame.effect[spot]] for spot in spots])
        self.noise: Array = np.array([float(u[spot]) ** 2 for spot in spots])
        count = len(self.points)
        self.pairs = [(j, j) for j in range(count)] + neighbours(frame)
        self.size, self.read = len(spots) + len(self.pairs), len(spots)
        self.mean: Array = np.zeros(self.size)
        self.cov: Array = np.zeros((self.size, self.size))
        spread = [GAIN**2 if a == b else DRAG**2 for a, b in self.pairs]
        self.cov[range(self.read, self.size), range(self.read, self.size)] = spread

    def begin(self, values: Mapping[int, float]) -> None:
        """Take the first figures of these readings as they are."""
        for at, value in values.items():
            self.cov[at, :] = self.cov[:, at] = 0.0
            self.mean[at], self.cov[at, at] = value, self.noise[at]

    def gains(self) -> Array:
        """What an inch told at each point really moves every point by."""
        found: Array = self.np.eye(len(self.points))
        for value, (a, b) in zip(self.mean[self.read :], self.pairs, strict=True):
            found[a, b] += value
        return found

    def learned_effect(self) -> Array:
        """What an inch told at each point does to every reading."""
        return self.effect @ self.gains()

    def forecast(self, moves: Array) -> tuple[Array, Array]:
        """Mean and covariance after these moves."""
        np = self.np
        carry = np.eye(self.size)
        for k, (a, b) in enumerate(self.pairs):
            carry[: self.read, self.read + k] = self.effect[:, a] * moves[b]
        mean, cov = carry @ self.mean, carry @ self.cov @ carry.T
        mean[: self.read] += self.effect @ moves
        hand = np.where(moves != 0, HAND**2 + (HAND_SHARE * moves) ** 2, 0.0)
        shape = np.diag(SHAPE**2 * (self.effect**2 @ moves**2))
        cov[: self.read, : self.read] += self.effect @ np.diag(hand) @ self.effect.T + shape
        return mean, cov

    def weigh(self, mean: Array, cov: Array, values: Mapping[int, float]) -> None:
        """Take in these readings."""
        np = self.np
        if not values:
            self.mean, self.cov = mean, cov
            return
        at = np.array(sorted(values))
        read = np.array([values[i] for i in at])
        spread = cov[np.ix_(at, at)] + np.diag(self.noise[at])
        gain = np.linalg.solve(spread, cov[at]).T
        self.mean = mean + gain @ (read - mean[at])
        cov = cov - gain @ cov[at]
        self.cov = (cov + cov.T) / 2


def learn(frame: Frame, rounds: Sequence[Round], u: Mapping[Spot, Fraction]) -> Learned:
    """What the rounds together show; `u` is the standard uncertainty of one reading at each place (in).

    The first round may be followed by rounds without moves: readings taken again. Raises ValueError without readings.
    """
    spots = [spot for spot in frame.spots if any(spot in one.readings for one in rounds)]
    if not spots:
        raise ValueError("no readings to learn from")
    state = _Filter(frame, spots, u)
    index = {spot: at for at, spot in enumerate(spots)}
    seen: set[int] = set()
    fresh: set[int] = set()
    confirmed: set[int] = set()
    surprises: list[Surprise] = []
    for number, one in enumerate(rounds):
        values = {index[spot]: float(value) for spot, value in one.readings.items() if spot in index}
        if any(one.moves.values()):
            fresh, confirmed = set(), set()
            surprises += _after_moves(state, number, one.moves, {i: v for i, v in values.items() if i in seen})
        else:
            again = {i: v for i, v in values.items() if i in seen}
            agrees = {i: v for i, v in again.items() if _close(state, i, v)}
            state.begin({i: v for i, v in again.items() if i not in agrees})
            state.weigh(state.mean, state.cov, agrees)
            confirmed |= {i for i in agrees if i in fresh}
        state.begin({i: v for i, v in values.items() if i not in seen})
        seen |= set(values)
        fresh |= set(values)
    np = state.np
    return Learned(
        tuple(spots),
        tuple(float(v) for v in state.mean[: state.read]),
        tuple(float(v) for v in np.diag(state.cov)[: state.read]),
        tuple(tuple(float(e) for e in row) for row in state.learned_effect()),
        tuple(surprises),
        frozenset(spots[i] for i in confirmed),
    )


def _close(state: _Filter, at: int, value: float) -> bool:
    spread = state.cov[at, at] + state.noise[at]
    return bool((value - state.mean[at]) ** 2 <= CRITICAL**2 * spread)


def _after_moves(
    state: _Filter, number: int, moves: Mapping[str, Fraction], values: dict[int, float]
) -> Iterable[Surprise]:
    """Forecast, look for single causes, then take the readings in."""
    np = state.np
    told = np.array([float(moves.get(name, 0)) for name in state.points])
    made, found = told.copy(), list[Surprise]()
    believed = dict(values)
    for _ in range(4):
        mean, cov = state.forecast(made)
        cause = _cause(state, mean, cov, believed, told, made)
        if cause is None:
            break
        at, share, off = cause
        if share is None:
            found.append(Surprise(number, "reading", state.spots[at], None, off))
            del believed[at]
        else:
            kind: SurpriseKind = "opposite" if share < -0.5 else "not made" if share < 0.5 else "twice"
            found.append(Surprise(number, kind, None, state.points[at], share))
            made[at] = told[at] * round(share)
    mean, cov = state.forecast(made)
    state.weigh(mean, cov, believed)
    return found


def _cause(
    state: _Filter, mean: Array, cov: Array, values: Mapping[int, float], told: Array, made: Array
) -> tuple[int, float | None, float] | None:
    """The one cause that explains best what the readings differ by: (reading, None, off) or (point, share made, 0)."""
    np = state.np
    if not values:
        return None
    at = np.array(sorted(values))
    off = np.array([values[i] for i in at]) - mean[at]
    weight = np.linalg.inv(cov[np.ix_(at, at)] + np.diag(state.noise[at]))
    best = CRITICAL
    found: tuple[int, float | None, float] | None = None
    for n, i in enumerate(at):
        size = float(weight[n] @ off / weight[n, n])
        score = abs(size) * float(weight[n, n]) ** 0.5
        if score > best:
            best, found = score, (int(i), None, size)
    for j in np.flatnonzero((told != 0) & (made == told)):
        way = state.learned_effect()[at, j] * told[j]
        force = float(way @ weight @ way)
        if force < 1e-9:
            continue
        more = float(way @ weight @ off) / force
        for share in (-1.0, 0.0, 2.0):
            change = share - 1.0
            if abs(more - change) <= 0.4 and abs(more) * force**0.5 > best:
                best, found = abs(more) * force**0.5, (int(j), share, 0.0)
    return found
