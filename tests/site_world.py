"""A simulated site: a frame of wood that bends, in a wall that leans, and a crew that reads and moves it imperfectly.

Written apart from the advice and importing nothing of it. Head, sill and side frames are beams in the plane of the
wall (Euler-Bernoulli finite elements), joined by corners that give; shims are springs, so that a push at one point
drags its neighbours. Leaves hang on hinges of unequal stiffness, sag and tip. Across the wall the corners pull at each
other. Every figure of the world below is invented; `Trouble` says how rough it is. Inches and pounds; x to the right
as seen from inside, y toward the room, z up. True values are deviations from nominal, named (reading, place).
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Spot = tuple[str, str]

WIDTH, HEIGHT = 72.5, 82.0
HINGES = (11.0, 42.0, 74.0)
LEG, EDGE = 24.0, 2.0
SIDES = ("left", "right")
HINGE_NAMES = ("bottom", "middle", "top")
POINTS = (
    "left sill end",
    "right sill end",
    "sill",
    "head",
    *(f"left {name} hinge" for name in HINGE_NAMES),
    *(f"right {name} hinge" for name in HINGE_NAMES),
    "head centre",
    "bottom left corner",
    "bottom right corner",
    "top left corner",
    "top right corner",
)
MODULUS = 1.5e6
THICK, DEEP = 1.25, 4.5625
INERTIA = DEEP * THICK**3 / 12
AREA = THICK * DEEP

FAULTS = (
    "left side frame",
    "right side frame",
    "head length",
    "sill length",
    "left leaf rack",
    "right leaf rack",
    "leaf width",
    "leaf taper",
    "left leaf height",
    "right leaf height",
)

NOISE: Mapping[str, tuple[float, float]] = {
    "square": (1 / 128, 1 / 64),
    "plumb_along": (0.020, 1 / 64),
    "plumb_across": (0.020, 1 / 64),
    "sill_level": (0.018, 1 / 64),
    "head_level": (0.018, 1 / 64),
    "flush": (1 / 64, 1 / 32),
    "head_reveal": (1 / 64, 1 / 64),
    "hinge_reveal": (1 / 64, 1 / 64),
    "meeting_gap": (1 / 64, 1 / 64),
    "twist": (1 / 64, 1 / 64),
}
"""Standard deviation of one reading, and what it is read to."""

TOLERANCE: Mapping[str, float] = {
    "square": 1 / 16,
    "plumb_along": 1 / 8,
    "plumb_across": 1 / 8,
    "sill_level": 1 / 8,
    "head_level": 1 / 8,
    "flush": 1 / 16,
    "head_reveal": 1 / 16,
    "hinge_reveal": 1 / 16,
    "meeting_gap": 1 / 16,
    "twist": 1 / 8,
}


NOMINAL: Mapping[str, Fraction] = {name: Fraction(1, 8) for name in ("head_reveal", "hinge_reveal", "meeting_gap")}
"""What a reading should be where that is not zero."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """How rough the world is. `stiff` is the least and most stiffness of a shim (lb/in), `grip` how far a move's gain
    is off, `drag` the most a move drags a neighbour beyond what the beams do, `tip` how far the tops tilt more or less
    than a rigid leaf, `hands` the clumsiness: "small" errs by the smaller of 1/32 and 20 %, "large" by the larger."""

    stiff: tuple[float, float] = (40_000.0, 100_000.0)
    loose: tuple[float, float] = (300.0, 3_000.0)
    off: float = 3 / 8
    give: tuple[float, float] = (1_000.0, 5_000.0)
    grip: float = 0.05
    drag: float = 0.05
    tip: float = 0.10
    hinge_spread: float = 0.15
    hands: str = "small"


@dataclass(slots=True)
class _Elements:
    """A plane frame of beams: three unknowns a node (x, z, turn), gathered member by member."""

    places: list[tuple[float, float]] = field(default_factory=list)
    beams: list[tuple[int, int]] = field(default_factory=list)

    def member(self, start: tuple[float, float], end: tuple[float, float], stations: list[float]) -> list[int]:
        """Nodes along a straight member at these distances from its start, joined by beams."""
        length = float(np.hypot(end[0] - start[0], end[1] - start[1]))
        nodes = []
        for station in stations:
            share = station / length
            self.places.append((start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])))
            nodes.append(len(self.places) - 1)
        self.beams += list(itertools.pairwise(nodes))
        return nodes

    def stiffness(self) -> Array:
        """The stiffness matrix of all beams, unjoined and unsupported."""
        count = 3 * len(self.places)
        total = np.zeros((count, count))
        for a, b in self.beams:
            (xa, za), (xb, zb) = self.places[a], self.places[b]
            length = float(np.hypot(xb - xa, zb - za))
            cos, sin = (xb - xa) / length, (zb - za) / length
            ea, ei = MODULUS * AREA / length, MODULUS * INERTIA / length**3
            local = np.array(
                [
                    [ea, 0, 0, -ea, 0, 0],
                    [0, 12 * ei, 6 * ei * length, 0, -12 * ei, 6 * ei * length],
                    [0, 6 * ei * length, 4 * ei * length**2, 0, -6 * ei * length, 2 * ei * length**2],
                    [-ea, 0, 0, ea, 0, 0],
                    [0, -12 * ei, -6 * ei * length, 0, 12 * ei, -6 * ei * length],
                    [0, 6 * ei * length, 2 * ei * length**2, 0, -6 * ei * length, 4 * ei * length**2],
                ]
            )
            turn = np.eye(6)
            turn[0:2, 0:2] = turn[3:5, 3:5] = [[cos, sin], [-sin, cos]]
            index = [3 * a, 3 * a + 1, 3 * a + 2, 3 * b, 3 * b + 1, 3 * b + 2]
            total[np.ix_(index, index)] += turn.T @ local @ turn
        return total


class World:
    """One true frame in one true wall: what every shim does to every true reading, and where it stands now.

    `faults` adds unit faults (in) by name to the small ones every unit has.
    """

    def __init__(
        self, rng: np.random.Generator, trouble: Trouble = Trouble(), faults: Mapping[str, float] | None = None
    ) -> None:
        self.rng, self.trouble = rng, trouble
        self.fault = {name: float(np.clip(rng.normal(0, 1 / 64), -1 / 32, 1 / 32)) for name in FAULTS}
        for name, amount in (faults or {}).items():
            self.fault[name] += amount
        self.spots: list[Spot] = []
        self.edge_effect: Array
        self.edge_true: Array
        plane, start = self._in_plane()
        across, wall = self._across()
        self.effect = np.zeros((len(self.spots), len(POINTS)))
        self.effect[: len(plane), :11] = plane
        self.effect[len(plane) :, 11:] = across
        hands_on = self._hands_on()
        self.effect = self.effect @ hands_on
        self.edge_effect = np.pad(self.edge_effect, ((0, 0), (0, 4))) @ hands_on
        self.true = np.concatenate([start, wall + across @ rng.uniform(-1 / 4, 1 / 4, 4)])
        self.tolerance = np.array([TOLERANCE[reading] for reading, _ in self.spots])

    def _hands_on(self) -> Array:
        """What a move really does at its own point and at its neighbours, beside what the beams do."""
        rng, trouble = self.rng, self.trouble
        gain = np.eye(len(POINTS)) + np.diag(rng.uniform(-trouble.grip, trouble.grip, len(POINTS)))
        chains = [[2, 4, 5, 6, 3], [2, 7, 8, 9, 3], [11, 13], [12, 14], [11, 12], [13, 14]]
        for chain in chains:
            for a, b in itertools.pairwise(chain):
                gain[a, b] += rng.uniform(0, trouble.drag)
                gain[b, a] += rng.uniform(0, trouble.drag)
        for end in (0, 1):
            gain[3, end] += rng.uniform(-trouble.drag, trouble.drag)
        return gain

    def _in_plane(self) -> tuple[Array, Array]:
        """Effect of the moves in the wall's plane, and the readings at the start: two states of one set of members."""
        rng, trouble = self.rng, self.trouble
        elements = _Elements()
        up = sorted({0.0, 1.0, *HINGES, LEG, HEIGHT / 2, HEIGHT - LEG, HEIGHT - 1.0, HEIGHT})
        half = WIDTH / 2
        over = sorted({0.0, EDGE, LEG, half - EDGE, half, half + EDGE, WIDTH - LEG, WIDTH - EDGE, WIDTH})
        self.up, self.over = up, over
        self.jamb = {
            "left": elements.member((0, 0), (0, HEIGHT), up),
            "right": elements.member((WIDTH, 0), (WIDTH, HEIGHT), up),
        }
        self.head = elements.member((0, HEIGHT), (WIDTH, HEIGHT), over)
        self.sill = elements.member((0, 0), (WIDTH, 0), over)
        bare, built = self._joined(elements.stiffness())
        read = self._plane_readings(len(bare))
        stiff, load = self._shimmed(bare, [float(rng.uniform(*trouble.stiff)) for _ in range(13)])
        effect = read[:, : len(bare)] @ np.linalg.solve(stiff, load)
        loose, lean = self._shimmed(bare, [float(rng.uniform(*trouble.loose)) for _ in range(13)])
        rests = np.concatenate(
            [rng.uniform(0, 1 / 8, 2), rng.uniform(-trouble.off, trouble.off, 8), rng.uniform(-1 / 16, 1 / 16, 1)]
        )
        state = np.concatenate([np.linalg.solve(loose, lean @ rests + built), list(self.fault.values())])
        edges = [(3 * self.jamb[side][self.up.index(z)], 3 * self.jamb[side][0]) for side in SIDES for z in HINGES]
        moved = np.linalg.solve(stiff, load)
        self.edge_effect = np.stack([moved[a] - moved[b] for a, b in edges])
        self.edge_true = np.array([state[a] - state[b] for a, b in edges])
        crooked = rng.normal(0, 1 / 128, len(read))
        return effect, read @ state + crooked

    def _joined(self, stiff: Array) -> tuple[Array, Array]:
        """The members joined at the corners, and the forces that members cut too long or too short bring."""
        force = np.zeros(len(stiff))
        joint = 2e6

        def tie(a: int, b: int, k: float, apart: float = 0.0) -> None:
            stiff[[a, b], [a, b]] += k
            stiff[[a, b], [b, a]] -= k
            force[b] -= apart * k
            force[a] += apart * k

        for n, side in enumerate(SIDES):
            foot, top, end, sign = self.jamb[side][0], self.jamb[side][-1], -n, 2 * n - 1
            tie(3 * foot, 3 * self.sill[end], joint, sign * self.fault["sill length"] / 2)
            tie(3 * foot + 1, 3 * self.sill[end] + 1, joint)
            tie(3 * foot + 2, 3 * self.sill[end] + 2, self.rng.uniform(*self.trouble.give))
            tie(3 * top, 3 * self.head[end], joint, sign * self.fault["head length"] / 2)
            tie(3 * top + 1, 3 * self.head[end] + 1, joint, -self.fault[f"{side} side frame"])
            tie(3 * top + 2, 3 * self.head[end] + 2, self.rng.uniform(*self.trouble.give))
        return stiff, force

    def _shimmed(self, bare: Array, springs: list[float]) -> tuple[Array, Array]:
        """The joined members on shims of this stiffness, and the force on each unknown for an inch at each shim."""
        stiff, load, at = bare.copy(), np.zeros((len(bare), 11)), iter(springs)

        def shim(parts: Mapping[int, float], k: float, move: int) -> None:
            for a, share in parts.items():
                load[a, move] += share * k
                for b, other in parts.items():
                    stiff[a, b] += share * other * k

        for n, side in enumerate(SIDES):
            shim({3 * self.sill[-n] + 1: 1.0}, next(at), n)
            for height, move in zip((0.0, *HINGES, HEIGHT), (2, *range(4 + 3 * n, 7 + 3 * n), 3), strict=True):
                shim({3 * self.jamb[side][self.up.index(height)]: 1.0}, next(at), move)
        middle = 3 * self.head[self.over.index(WIDTH / 2)] + 1
        shim({middle: 1.0, 3 * self.head[0] + 1: -0.5, 3 * self.head[-1] + 1: -0.5}, next(at), 10)
        return stiff, load

    def _plane_readings(self, unknowns: int) -> Array:
        """Every reading in the plane as a sum of the members' unknowns and of the unit's faults."""
        rng, trouble = self.rng, self.trouble
        one = np.eye(unknowns + len(FAULTS))
        x = {side: {z: one[3 * node] for z, node in zip(self.up, self.jamb[side], strict=True)} for side in SIDES}
        h = {at: one[3 * node + 1] for at, node in zip(self.over, self.head, strict=True)}
        s = {at: one[3 * node + 1] for at, node in zip(self.over, self.sill, strict=True)}
        fault = {name: one[unknowns + at] for at, name in enumerate(FAULTS)}
        rows: list[Array] = []

        def read(reading: str, place: str, row: Array) -> None:
            self.spots.append((reading, place))
            rows.append(row)

        read("square", "bottom left", -(x["left"][LEG] - x["left"][0.0]) - (s[LEG] - s[0.0]))
        read("square", "bottom right", (x["right"][LEG] - x["right"][0.0]) - (s[WIDTH - LEG] - s[WIDTH]))
        read("square", "top left", (x["left"][HEIGHT] - x["left"][HEIGHT - LEG]) + (h[LEG] - h[0.0]))
        read("square", "top right", -(x["right"][HEIGHT] - x["right"][HEIGHT - LEG]) + (h[WIDTH - LEG] - h[WIDTH]))
        for side in SIDES:
            read("plumb_along", f"{side} side", x[side][HEIGHT - 1] - x[side][1.0])
        read("sill_level", "", s[WIDTH] - s[0.0])
        read("head_level", "", h[WIDTH] - h[0.0])
        edges = {}
        for side in SIDES:
            sign = 1.0 if side == "left" else -1.0
            weight = 1 + rng.uniform(-trouble.hinge_spread, trouble.hinge_spread, 3)
            design = np.stack([np.ones(3), np.array(HINGES)])
            fit = np.linalg.solve(design * weight @ design.T, design * weight)
            place = fit @ np.stack([x[side][z] for z in HINGES])
            tilt = 1 + rng.uniform(-trouble.tip, trouble.tip)
            end = s[0.0] if side == "left" else s[WIDTH]
            for off, name in ((EDGE, side), (WIDTH / 2 - EDGE, f"{side} meeting")):
                at = off if side == "left" else WIDTH - off
                top = end - sign * tilt * off * place[1] + off / (WIDTH / 2) * fault[f"{side} leaf rack"]
                read("head_reveal", name, h[at] - top - fault[f"{side} leaf height"])
            for z, name in zip(HINGES, HINGE_NAMES, strict=True):
                read("hinge_reveal", f"{side} {name}", sign * (place[0] + z * place[1] - x[side][z]))
            edges[side] = place
        for z, name in zip((HINGES[0], HEIGHT / 2, HINGES[2]), HINGE_NAMES, strict=True):
            gap = edges["right"][0] + z * edges["right"][1] - edges["left"][0] - z * edges["left"][1]
            read("meeting_gap", name, gap - fault["leaf width"] - (z / HEIGHT - 0.5) * fault["leaf taper"])
        return np.stack(rows)

    def _across(self) -> tuple[Array, Array]:
        rng, trouble = self.rng, self.trouble
        twist = np.array([-1.0, 1.0, 1.0, -1.0])
        corner = rng.uniform(*trouble.stiff, 4)
        resist = rng.uniform(300.0, 1500.0)
        y = np.linalg.solve(np.diag(corner) + resist * np.outer(twist, twist), np.diag(corner))
        rows = [y[0], y[1], y[2], y[3]]
        places = ["bottom left", "bottom right", "top left", "top right"]
        self.wall_lean = {side: float(rng.uniform(-1 / 8, 1 / 8)) for side in SIDES}
        self.spots += [("flush", place) for place in places]
        off = [0.0, 0.0, -self.wall_lean["left"], -self.wall_lean["right"]]
        share = 80.0 / 82.0
        for side, bottom, top in (("left", 0, 2), ("right", 1, 3)):
            self.spots.append(("plumb_across", f"{side} side"))
            rows.append(-(y[top] - y[bottom]) * share * (1 + rng.uniform(-0.02, 0.02)))
            off.append(0.0)
        self.spots.append(("twist", ""))
        rows.append(twist @ y)
        off.append(0.0)
        return np.stack(rows), np.array(off)

    def move(self, amounts: Array) -> None:
        """Move every point by exactly this much, true inches."""
        self.true = self.true + self.effect @ amounts
        self.edge_true = self.edge_true + self.edge_effect @ amounts

    def can_be_put_right(self) -> bool:
        """Whether some set of shims, in sixteenths and within half an inch a point, brings every true value inside."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        least = np.array([0.0, 0.0, *[-8.0] * 8, -2.0, *[-8.0] * 4])
        most = np.array([4.0, 4.0, *[8.0] * 8, 2.0, *[8.0] * 4])
        inside = LinearConstraint(self.effect / 16, -self.tolerance - self.true, self.tolerance - self.true)
        found = milp(
            np.zeros(len(POINTS)), constraints=[inside], integrality=np.ones(len(POINTS)), bounds=Bounds(least, most)
        )
        return found.x is not None


class Crew:
    """People with instruments: they read with noise and to a division, and move shims not quite as told.

    `log` has every reading: its name, and how far it was off as read and truly (in).
    """

    def __init__(self, world: World, rng: np.random.Generator, noise: float = 1.0) -> None:
        self.world, self.rng, self.noise = world, rng, noise
        self.read = 0
        self.moved = 0
        self.log: list[tuple[str, float, float]] = []

    def reading(self, at: int, misread: float = 0.0) -> Fraction:
        """One reading, as the instrument shows it; `misread` is a blunder on top (in)."""
        self.read += 1
        name = self.world.spots[at][0]
        deviation, division = NOISE[name]
        shown = self.world.true[at] + misread + self.noise * self.rng.normal(0, deviation)
        off = Fraction(round(shown / division)) * Fraction(division)
        self.log.append((name, float(off), float(self.world.true[at])))
        return off + NOMINAL.get(name, 0)

    def good(self, at: int, value: Fraction) -> bool:
        """Whether a reading is within its tolerance, by the plain rule."""
        name = self.world.spots[at][0]
        return abs(value - NOMINAL.get(name, 0)) <= Fraction(TOLERANCE[name])

    def straightedge(self, side: str) -> list[Fraction]:
        """How far the side frame stands at each hinge from where it stands at its foot, off a plumb straightedge."""
        first = 3 * SIDES.index(side)
        found = []
        for true in self.world.edge_true[first : first + 3]:
            self.read += 1
            found.append(Fraction(round((true + self.noise * self.rng.normal(0, 1 / 64)) * 64), 64))
        return found

    def all_readings(self, misread: Mapping[int, float] | None = None) -> dict[Spot, Fraction]:
        """Every reading once."""
        blunders = misread or {}
        return {spot: self.reading(at, blunders.get(at, 0.0)) for at, spot in enumerate(self.world.spots)}

    def wall_lean(self) -> dict[str, Fraction]:
        """How far the wall leans toward the room beside each side frame, from the survey, read to 1/64."""
        found = {}
        for side, true in self.world.wall_lean.items():
            found[side] = Fraction(round((true + self.rng.normal(0, 0.020)) * 64), 64)
        return found

    def move(self, amounts: Mapping[str, Fraction | float]) -> None:
        """Move these points by about this much."""
        real = np.zeros(len(POINTS))
        for name, amount in amounts.items():
            self.moved += 1
            asked = float(amount)
            bounds = (1 / 32, 0.2 * abs(asked))
            most = min(bounds) if self.world.trouble.hands == "small" else max(bounds)
            real[POINTS.index(name)] = asked + self.rng.uniform(-most, most)
        self.world.move(real)
