"""Ways of putting a frame right on the simulated site: by the advice, by plain least squares, one member at a time.

Every way has the same crew, the same cap and the same end: every reading taken once since the last move, and good.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

import numpy as np
from site_world import EDGE, HEIGHT, HINGES, NOISE, POINTS, SIDES, TOLERANCE, WIDTH, Crew

from guide.trade.advice import Advice, Case, advise, with_round
from guide.trade.fault import WallLean
from guide.trade.frame import Frame, Spot, Unit, frame_of, wanted
from guide.trade.learn import Round

CAP = 20
STEP = Fraction(1, 16)
LEAN_U = Fraction(1, 48)
"""Standard uncertainty of the lean of the wall, as the survey gives it (in)."""


Observe = Callable[[Case, Advice, float], None]
"""Told the case, what was said to it, and the processor time that took (s)."""


class Rule(NamedTuple):
    """Readings accepted by a rule, those of them truly out, and both as expected."""

    accepted: int
    wrong: int
    expected: float
    expected_wrong: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a job went: how it ended, rounds of rechecks, moves, readings; then the truth behind the accepted readings.

    `wrong` is how many of the `accepted` readings at the end are truly out. `worst` is the largest true deviation over
    its tolerance, `excess` the largest beyond it (in). `first` is the moves of the first round. `plain` and `guarded`
    count over every reading of the job: how many were accepted by that rule, how many of those were truly out, and
    both as they are to be expected from the true values and the noise. `reason` is what was said at the end.
    """

    end: str
    rounds: int
    moves: int
    readings: int
    accepted: int
    wrong: int
    worst: float
    excess: float
    first: int
    plain: Rule
    guarded: Rule
    reason: str = ""


def frame() -> Frame:
    """The advice's model of the site's unit: what a crew would type in."""
    hinges = tuple(Fraction(z) for z in HINGES)
    return frame_of(Unit(Fraction(WIDTH), Fraction(HEIGHT), hinges=hinges, edge=Fraction(EDGE)))


def by_advice(crew: Crew, seconds: float = 2.0, observe: Observe | None = None) -> Outcome:
    """Do as the advice says."""
    model, lean = frame(), crew.wall_lean()
    case = Case(
        model,
        (),
        wanted([s for s in model.spots if s in crew.world.spots]),
        WallLean(lean["left"], lean["right"], LEAN_U),
    )
    now = crew.all_readings()
    case = with_round(case, Round(now))
    rounds = asked = first = 0
    while True:
        start = time.process_time()
        said = advise(case, seconds)
        if observe is not None:
            observe(case, said, time.process_time() - start)
        if said.kind != "move" and said.kind != "read again":
            return _outcome(crew, now, said.kind, rounds, first, " ".join(said.say))
        if rounds >= CAP or asked >= CAP:
            return _outcome(crew, now, "cap", rounds, first)
        if said.kind == "read again":
            asked += 1
            again = {spot: crew.reading(crew.world.spots.index(spot)) for spot in said.again}
            now |= again
            case = with_round(case, Round(again))
            continue
        moves = {step.point: step.by for step in said.steps}
        crew.move(moves)
        first = first or len(moves)
        now = crew.all_readings()
        rounds += 1
        case = with_round(case, Round(now, moves))


def by_least_squares(crew: Crew) -> Outcome:
    """All points at once by plain least squares on the model, rounded to sixteenths, every round anew."""
    model = frame()
    spots = crew.world.spots
    half = np.array([float(one.high - one.low) / 2 for one in wanted(spots).values()])
    nominal = np.array([float(one.nominal) for one in wanted(spots).values()])
    effect = np.array([[float(e) for e in model.effect[spot]] for spot in spots])
    least = np.array([float(point.low) for point in model.points])
    most = np.array([float(point.high) for point in model.points])
    stands = np.zeros(len(POINTS))
    now = crew.all_readings()
    rounds = first = 0
    while not _all_good(crew, now):
        if rounds >= CAP:
            return _outcome(crew, now, "cap", rounds, first)
        off = np.array([float(now[spot]) for spot in spots]) - nominal
        damped = np.vstack([effect / half[:, None], 1e-3 * np.eye(len(POINTS))])
        found = np.linalg.lstsq(damped, np.concatenate([-off / half, np.zeros(len(POINTS))]), rcond=None)[0]
        moves = np.clip(np.round(found * 16) / 16, least - stands, most - stands)
        if not moves.any():
            now = crew.all_readings()
            rounds += 1
            continue
        crew.move({name: float(by) for name, by in zip(POINTS, moves, strict=True) if by})
        stands = stands + moves
        first = first or int((moves != 0).sum())
        now = crew.all_readings()
        rounds += 1
    return _outcome(crew, now, "done", rounds, first)


def by_member(crew: Crew) -> Outcome:
    """One member at a time with the level as a straightedge, each rechecked alone; then everything, and over again.

    A round is one recheck after a correction: of the member, or of everything. It is a skilled crew's way: every
    member is corrected by what its own readings say, at its own points.
    """
    worker = _Members(crew)
    now: dict[Spot, Fraction] = {}
    while worker.rounds < CAP:
        for member in worker.members:
            worker.work(member)
        now = crew.all_readings()
        worker.rounds += 1
        if _all_good(crew, now):
            return _outcome(crew, now, "done", worker.rounds, 0)
    return _outcome(crew, now or crew.all_readings(), "cap", worker.rounds, 0)


class _Members:
    """A crew that corrects one member at a time."""

    def __init__(self, crew: Crew) -> None:
        self.crew, self.rounds = crew, 0
        self.members: list[Callable[[], dict[str, Fraction] | None]] = [
            self._corners,
            self._sill,
            *(lambda side=side: self._side(side) for side in SIDES),
            self._head,
            *(lambda side=side: self._leaf(side) for side in SIDES),
            self._meeting,
            *(lambda side=side: self._squares(side) for side in SIDES),
        ]

    def work(self, member: Callable[[], dict[str, Fraction] | None]) -> None:
        """Correct a member until its own readings are good, three times at most."""
        for _ in range(3):
            moves = member()
            if moves is None or self.rounds >= CAP:
                return
            moves = {name: by for name, by in moves.items() if by}
            if not moves:
                return
            self.crew.move(moves)
            self.rounds += 1

    def _read(self, reading: str, *places: str) -> list[Fraction] | None:
        """Deviations of these readings; None when all are good."""
        index = [self.crew.world.spots.index((reading, place)) for place in places]
        values = [self.crew.reading(at) for at in index]
        nominal = wanted([(reading, "")])[reading, ""].nominal
        if all(self.crew.good(at, value) for at, value in zip(index, values, strict=True)):
            return None
        return [value - nominal for value in values]

    def _corners(self) -> dict[str, Fraction] | None:
        places = ("bottom left", "bottom right", "top left", "top right")
        off = self._read("flush", *places)
        if off is not None:
            return {f"{place} corner": _sixteenths(-by) for place, by in zip(places, off, strict=True)}
        lean = self._read("plumb_across", "left side", "right side")
        if lean is not None:
            return {f"top {side} corner": _sixteenths(by / 2) for side, by in zip(SIDES, lean, strict=True)}
        twist = self._read("twist", "")
        return None if twist is None else {"top left corner": _sixteenths(-twist[0] / 2)}

    def _sill(self) -> dict[str, Fraction] | None:
        off = self._read("sill_level", "")
        if off is None:
            return None
        return {"left sill end" if off[0] > 0 else "right sill end": _sixteenths(abs(off[0]))}

    def _side(self, side: str) -> dict[str, Fraction] | None:
        lean = self._read("plumb_along", f"{side} side")
        straight = self.crew.straightedge(side)
        ends = lean[0] if lean is not None else Fraction(0)
        aims = (
            [by - ends * Fraction(z / HEIGHT) for by, z in zip(straight, HINGES, strict=True)] if not ends else straight
        )
        if lean is None and all(abs(by) <= STEP for by in aims):
            return None
        names = ("bottom", "middle", "top")
        moves = {f"{side} {name} hinge": _sixteenths(-by) for name, by in zip(names, aims, strict=True)}
        return moves | {"head": _sixteenths(-ends)}

    def _head(self) -> dict[str, Fraction] | None:
        off = self._read("head_level", "")
        if off is not None:
            return {"left sill end" if off[0] > 0 else "right sill end": _sixteenths(abs(off[0]))}
        far = self._read("head_reveal", "left meeting", "right meeting")
        return None if far is None else {"head centre": _sixteenths(-(far[0] + far[1]) / 2)}

    def _leaf(self, side: str) -> dict[str, Fraction] | None:
        names = ("bottom", "middle", "top")
        hinge = self._read("hinge_reveal", *(f"{side} {name}" for name in names))
        if hinge is not None:
            inward = 1 if side == "left" else -1
            return {f"{side} middle hinge": _sixteenths(inward * Fraction(3, 2) * hinge[1])}
        top = self._read("head_reveal", side, f"{side} meeting")
        if top is None:
            return None
        tip = (top[1] - top[0]) * Fraction((HINGES[2] - HINGES[0]) / (WIDTH / 2)) * (1 if side == "left" else -1)
        return {f"{side} top hinge": _sixteenths(-tip / 2), f"{side} bottom hinge": _sixteenths(tip / 2)}

    def _meeting(self) -> dict[str, Fraction] | None:
        off = self._read("meeting_gap", "bottom", "middle", "top")
        if off is None:
            return None
        return {
            f"right {name} hinge": _sixteenths(-by) for name, by in zip(("bottom", "middle", "top"), off, strict=True)
        }

    def _squares(self, side: str) -> dict[str, Fraction] | None:
        off = self._read("square", f"bottom {side}", f"top {side}")
        if off is None:
            return None
        inward = 1 if side == "left" else -1
        return {
            f"{side} bottom hinge": _sixteenths(inward * off[0]),
            f"{side} top hinge": _sixteenths(inward * off[1]),
        }


def _sixteenths(by: Fraction) -> Fraction:
    return Fraction(round(by * 16), 16)


def _all_good(crew: Crew, now: Mapping[Spot, Fraction]) -> bool:
    return all(crew.good(at, now[spot]) for at, spot in enumerate(crew.world.spots))


def _outcome(crew: Crew, now: Mapping[Spot, Fraction], end: str, rounds: int, first: int, reason: str = "") -> Outcome:
    world = crew.world
    good = [at for at, spot in enumerate(world.spots) if crew.good(at, now[spot])]
    over = np.abs(world.true) / world.tolerance
    wrong = sum(1 for at in good if over[at] > 1)
    excess = float(max(0.0, (np.abs(world.true) - world.tolerance).max()))
    plain, guarded = _by_rule(crew, 0.0), _by_rule(crew, 2.0)
    return Outcome(
        end, rounds, crew.moved, crew.read, len(good), wrong, float(over.max()), excess, first, plain, guarded, reason
    )


def _by_rule(crew: Crew, guard: float) -> Rule:
    """What a rule with a guard band of so many standard uncertainties made of every reading of the job."""
    accepted = wrong = 0
    expected = expected_wrong = 0.0
    for name, off, true in crew.log:
        limit, (deviation, division) = TOLERANCE[name], NOISE[name]
        u = crew.noise * (deviation**2 + division**2 / 12) ** 0.5
        edge, out = limit - guard * u, abs(true) > limit
        # A reading at the edge stands for all that is read to the same division.
        last = (math.floor(edge / division + 1e-9) + 0.5) * division
        chance = (math.erf((last - true) / deviation / 2**0.5) + math.erf((last + true) / deviation / 2**0.5)) / 2
        accepted += abs(off) <= edge
        wrong += abs(off) <= edge and out
        expected += chance
        expected_wrong += chance * out
    return Rule(accepted, wrong, expected, expected_wrong)


def share(hits: int, of: int) -> tuple[float, float, float]:
    """A share with its 95 % interval (Wilson's)."""
    n, z = of, 1.96
    p = hits / n
    width = z * (p * (1 - p) / n + z * z / (4 * n * n)) ** 0.5
    middle, whole = p + z * z / (2 * n), 1 + z * z / n
    return p, (middle - width) / whole, (middle + width) / whole
