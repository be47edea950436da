"""The opening in a wall from its readings: least squares, what checks what, and which reading to take again.

Seen from inside; x across to the right, z up, from the foot of the left stud. Lengths are inches; readings are exact
fractions. Eight unknowns describe the opening: three widths, three heights, how far the left stud's top leans to the
right, and how far the sill's right end is high. The corners are joined by straight members, save that the middle
width and height may differ from the mean of their ends by a bow; that members are straight counts as an observation
with a spread of its own, so the middle readings are checked as well, only less sharply than the corners.

The diagonals are no linear function of the unknowns, so the solution is found in a few Gauss-Newton steps from the
readings themselves. A direction of the unknowns that the readings fix no better than an inch counts as not known:
what does not depend on it is still told. Sources: JCGM 100 (uncertainty); Baarda 1968 (standardised residuals, the
1 in 1,000 rule, minimal detectable blunder); spreads of rough structure are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from operator import add, mul, sub
from statistics import NormalDist
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from guide.trade.decision import BLUNDER
from guide.trade.instruments import INSTRUMENTS, Instrument
from guide.trade.slips import slip

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Matrix = NDArray[Any]

UNKNOWNS = ("width bottom", "width middle", "width top", "height left", "height middle", "height right", "lean", "sill")
"""The unknowns in order; "lean" is the left stud's, its top to the right; "sill" its right end high."""

NAMES: Mapping[str, str] = MappingProxyType(
    {
        "width bottom": "the width at the bottom",
        "width middle": "the width in the middle",
        "width top": "the width at the top",
        "height left": "the height on the left",
        "height middle": "the height in the middle",
        "height right": "the height on the right",
        "diagonal rising": "the diagonal from bottom left to top right",
        "diagonal falling": "the diagonal from bottom right to top left",
        "lean left": "the lean of the left stud along the wall",
        "lean right": "the lean of the right stud along the wall",
        "sill": "the level of the sill",
        "straight studs": "a stud that is bowed",
        "straight head and sill": "a header or floor that is bowed",
    }
)
"""Every observation and what it is called. A lean is plus when the top leans to the right, the sill when its right
end is high."""

STRAIGHT = ("straight studs", "straight head and sill")
TAPED = tuple(name for name in NAMES if name.split()[0] in ("width", "height", "diagonal"))

SETTING = Fraction(1, 16)
"""How far off an instrument may sit on rough structure, each time anew, in inches (common practice)."""

BOW = Fraction(1, 4)
"""How far a stud, header or floor may be bowed in the middle, in inches (common practice)."""

POWER = 0.8
"""How often the smallest blunder that is stated for a reading is found."""

DETECTS = float(BLUNDER) + NormalDist().inv_cdf(POWER)
"""Standard deviations of a blunder found so often by the 1 in 1,000 rule: 3.29 + 0.84."""

APART = NormalDist().inv_cdf(0.975)
"""Standard deviations by which two readings' statistics must differ to tell them apart (95 %, two-sided)."""

UNKNOWN = 1.0
"""Inches of standard uncertainty beyond which a thing counts as not known."""

GRID = Fraction(1, 1024 * 127 * 25)
"""Adjusted figures are rounded to this many inches; 1/1024 in and 1/100 mm are whole multiples of it, so readings
that agree come out as they were read, and verdicts on them are exact."""

STEPS = 5
CHECKED = 0.02
"""The share of an error that must show in a reading's own residual for anything to count as checking it."""

_WANTED = (
    "width bottom",
    "width top",
    "height left",
    "height right",
    "sill",
    "lean left",
    "diagonal rising",
    "lean right",
    "diagonal falling",
)
"""In which order readings are asked for that would make the opening known."""


@dataclass(frozen=True, slots=True)
class Tools:
    """The tape and the level, the lengths over which the level was read (None: over the whole member), and the
    length of the tape's case (None: not known)."""

    tape: Instrument = INSTRUMENTS["tape"]
    level: Instrument = INSTRUMENTS["spirit level"]
    lean_over: Fraction | None = None
    sill_over: Fraction | None = None
    case: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Checked:
    """One observation against all the others. Lengths in inches; None where nothing checks it."""

    name: str
    given: Fraction
    adjusted: Fraction
    standardised: float | None
    """Baarda's statistic: standard normal when only noise is in the readings."""
    share: float
    """The redundancy number: how much of an error of this reading shows in its own residual, 0 to 1."""
    detects: float | None
    """The smallest blunder that the 3.29 rule finds 80 % of the time."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """The reading to take again: what it is off by as the others have it, its standard uncertainty, and why perhaps.

    `others` are observations that the readings can't tell from it.
    """

    name: str
    others: tuple[str, ...]
    off: float
    u: float
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Term:
    """A linear combination of the unknowns: its exact value in inches, and its slope in each unknown."""

    value: Fraction
    slope: tuple[float, ...]

    def __add__(self, other: Term) -> Term:
        return Term(self.value + other.value, tuple(map(add, self.slope, other.slope)))

    def __sub__(self, other: Term) -> Term:
        return Term(self.value - other.value, tuple(map(sub, self.slope, other.slope)))

    def times(self, factor: Fraction | int) -> Term:
        """So many times itself."""
        by = float(factor)
        return Term(self.value * factor, tuple(one * by for one in self.slope))


NOTHING = Term(Fraction(0), (0.0,) * len(UNKNOWNS))


@dataclass(frozen=True, slots=True)
class Opening:
    """The opening as it comes out, in inches: the unknowns in the order of `UNKNOWNS`, and how well they are known."""

    values: tuple[Fraction, ...]
    covariance: tuple[tuple[float, ...], ...]
    unknown: tuple[tuple[float, ...], ...]
    """Directions of the unknowns that the readings leave open; empty when all is known."""
    given: Mapping[str, Fraction]
    checked: tuple[Checked, ...]
    redundancy: int
    """Observations more than unknowns that they fix."""
    doubt: Doubt | None
    missing: tuple[str, ...]
    """The fewest readings, found one after the other, with which all would be known."""

    def term(self, name: str) -> Term:
        """One unknown as a term."""
        at = UNKNOWNS.index(name)
        return Term(self.values[at], tuple(float(i == at) for i in range(len(UNKNOWNS))))

    def knows(self, term: Term) -> bool:
        """Whether a term is known: it does not depend on a direction left open."""
        return all(abs(sum(map(mul, term.slope, way))) < 0.02 for way in self.unknown)

    def variance(self, term: Term) -> Fraction:
        """The variance of a term, in square inches."""
        rows = (sum(map(mul, row, term.slope)) for row in self.covariance)
        return Fraction(max(0.0, sum(map(mul, term.slope, rows))))

    def of(self, name: str) -> Fraction | None:
        """One unknown, or None where it is not known."""
        term = self.term(name)
        return term.value if self.knows(term) else None

    def u(self, name: str) -> float | None:
        """The standard uncertainty of one unknown, in inches, or None where it is not known."""
        term = self.term(name)
        return math.sqrt(self.variance(term)) if self.knows(term) else None

    def smallest(self, what: str) -> Fraction | None:
        """The smallest of the widths or heights as they were read, the trade's own figure; None without any."""
        return min((value for name, value in self.given.items() if name.startswith(f"{what} ")), default=None)


def survey(readings: Mapping[str, Fraction], tools: Tools | None = None) -> Opening:
    """The opening from readings by name (the keys of `NAMES`), in inches; about a millisecond.

    Raises ValueError without a reading, for a name that is none, and for a length that is not above zero.
    """
    for name, value in readings.items():
        if name not in NAMES or name in STRAIGHT:
            raise ValueError(f'there is no reading "{name}"')
        if name in TAPED and value <= 0:
            raise ValueError(f"{NAMES[name]} is {value}: a length is more than zero")
    if not readings:
        raise ValueError("no readings to survey")
    return _survey(readings, tools or Tools())


def _survey(readings: Mapping[str, Fraction], tools: Tools) -> Opening:
    import numpy as np

    names = [name for name in NAMES if name in readings or name in STRAIGHT]
    seen = np.array([float(readings.get(name, 0)) for name in names])
    at = _start(readings)
    scale = _scales(tools, at)
    own, shared = _spreads(readings, names, tools, at)
    cover = np.diag(own) + np.outer(shared, shared)
    root = np.linalg.cholesky(cover)
    whiten = np.linalg.inv(root)
    for _ in range(STEPS):
        model, slope = _model(names, at, scale)
        left, size, right = np.linalg.svd(whiten @ slope, full_matrices=True)
        rank = int(np.sum(size > 1 / UNKNOWN))
        step = right[:rank].T @ ((left[:, :rank].T @ (whiten @ (seen - model))) / size[:rank])
        at = at + step
    model, slope = _model(names, at, scale)
    left, size, right = np.linalg.svd(whiten @ slope, full_matrices=True)
    rank = int(np.sum(size > 1 / UNKNOWN))
    basis = left[:, :rank]
    free = np.eye(len(names)) - basis @ basis.T
    known = right[:rank] / size[:rank, None]
    checked, doubt = _baarda(names, seen, model, whiten, root, free, readings, tools)
    values = tuple(round(Fraction(float(v)) / GRID) * GRID for v in at)
    return Opening(
        values,
        tuple(map(tuple, (known.T @ known).tolist())),
        tuple(map(tuple, right[rank:].tolist())),
        MappingProxyType(dict(readings)),
        checked,
        len(names) - rank,
        doubt,
        _missing(names, at, scale, right[rank:]),
    )


def _start(readings: Mapping[str, Fraction]) -> Matrix:
    """Where the steps begin: each width and height as read or as its like, no lean, no fall."""
    import numpy as np

    def like(what: str, names: Sequence[str]) -> list[float]:
        known = [float(v) for name, v in readings.items() if name.startswith(what)]
        mean = sum(known) / len(known) if known else None
        return [float(readings[n]) if n in readings else mean or 0.0 for n in names]

    widths, heights = like("width ", UNKNOWNS[:3]), like("height ", UNKNOWNS[3:6])
    slant = max((float(v) for name, v in readings.items() if name.startswith("diagonal ")), default=0.0)
    if not widths[0]:
        widths = [math.sqrt(max(slant**2 - heights[0] ** 2, 0.0)) if heights[0] and slant else 36.0] * 3
    if not heights[0]:
        heights = [math.sqrt(max(slant**2 - widths[0] ** 2, 0.0)) if slant else 80.0] * 3
    return np.array([*widths, *heights, 0.0, 0.0])


_LEVELLED: Mapping[str, int] = MappingProxyType({"lean left": 3, "lean right": 5, "sill": 0})
"""What a level was held along, as an unknown: the left stud, the right one, the sill."""


def _over(tools: Tools, name: str) -> Fraction | None:
    return tools.sill_over if name == "sill" else tools.lean_over


def _scales(tools: Tools, at: Matrix) -> dict[str, float]:
    """What a level shows of the whole lean of each stud, and of the whole fall of the sill."""
    over = {name: _over(tools, name) for name in _LEVELLED}
    return {name: float(one) / float(at[_LEVELLED[name]]) if one is not None else 1.0 for name, one in over.items()}


def _spreads(
    readings: Mapping[str, Fraction], names: Sequence[str], tools: Tools, at: Matrix
) -> tuple[list[float], list[float]]:
    """Variance of each observation by itself, and what each shares with all others of the same tape (its error)."""
    own, shared = [], []
    for name in names:
        if name in STRAIGHT:
            own.append(float(2 * BOW**2 / 3))
            shared.append(0.0)
            continue
        tape = name in TAPED
        tool = tools.tape if tape else tools.level
        length = readings[name] if tape else _over(tools, name) or Fraction(float(at[_LEVELLED[name]]))
        common = tool.calibration(length)
        if common is None:
            raise ValueError(f"the source gives no figure for a {tool.name} over {float(length):g} in")
        own.append(float(tool.reading() + SETTING**2 / 3 + (0 if tape else common)))
        shared.append(math.sqrt(common) if tape else 0.0)
    return own, shared


def _row(name: str, at: Sequence[float], scale: Mapping[str, float]) -> tuple[float, list[float]]:
    """What an observation would be with the unknowns at these values, and its slope in each of them."""
    wb, _, wt, hl, _, hr, lean, sill = at
    slope = [0.0] * len(UNKNOWNS)
    if name in UNKNOWNS[:6]:
        slope[UNKNOWNS.index(name)] = 1.0
    elif name == "sill":
        slope[7] = scale[name]
    elif name == "lean left":
        slope[6] = scale[name]
    elif name == "lean right":
        slope[0], slope[2], slope[6] = -scale[name], scale[name], scale[name]
    elif name == "straight studs":
        slope[0:3] = [-0.5, 1.0, -0.5]
    elif name == "straight head and sill":
        slope[3:6] = [-0.5, 1.0, -0.5]
    else:
        rising = name == "diagonal rising"
        x, z = (lean + wt, sill + hr) if rising else (wb - lean, hl - sill)
        length = math.hypot(x, z)
        across, up = x / length, z / length
        if rising:
            slope[2], slope[5], slope[6], slope[7] = across, up, across, up
        else:
            slope[0], slope[3], slope[6], slope[7] = across, up, -across, -up
        return length, slope
    return sum(s * v for s, v in zip(slope, at, strict=True)), slope


def _model(names: Sequence[str], at: Matrix, scale: Mapping[str, float]) -> tuple[Matrix, Matrix]:
    import numpy as np

    rows = [_row(name, at.tolist(), scale) for name in names]
    return np.array([value for value, _ in rows]), np.array([slope for _, slope in rows])


def _baarda(
    names: Sequence[str],
    seen: Matrix,
    model: Matrix,
    whiten: Matrix,
    root: Matrix,
    free: Matrix,
    readings: Mapping[str, Fraction],
    tools: Tools,
) -> tuple[tuple[Checked, ...], Doubt | None]:
    """Standardised residuals, with what each observation would show of a blunder, and the reading in doubt.

    For correlated observations: w = (C⁻¹e) / √diag(C⁻¹ Qe C⁻¹), with e the residuals and Qe their covariance.
    """
    import numpy as np

    weight = whiten.T @ free @ whiten
    strength = np.diag(weight)
    force = whiten.T @ (free @ (whiten @ (seen - model)))
    share = np.diag(root @ free @ whiten)
    checks = [bool(share[i] > CHECKED) for i in range(len(names))]
    w = [float(force[i] / math.sqrt(strength[i])) if checks[i] else 0.0 for i in range(len(names))]
    told = tuple(
        Checked(
            name,
            readings.get(name, Fraction(0)),
            round(Fraction(float(model[i])) / GRID) * GRID,
            w[i] if checks[i] else None,
            float(share[i]),
            DETECTS / math.sqrt(strength[i]) if checks[i] else None,
        )
        for i, name in enumerate(names)
    )
    taken = [i for i in range(len(names)) if checks[i] and names[i] not in STRAIGHT]
    worst = max(taken, key=lambda i: abs(w[i]), default=None)
    if worst is None or abs(w[worst]) <= float(BLUNDER):
        return told, None
    others = []
    for i in range(len(names)):
        if i == worst or not checks[i] or abs(w[i]) <= float(BLUNDER):
            continue
        alike = min(1.0, abs(float(weight[i, worst])) / math.sqrt(strength[i] * strength[worst]))
        if abs(w[worst]) - abs(w[i]) <= APART * math.sqrt(2 * (1 - alike)) + 1e-9:
            others.append(names[i])
    off, u = float(force[worst] / strength[worst]), 1 / math.sqrt(strength[worst])
    name = names[worst]
    why = slip(off, u, readings[name], name in TAPED, tools.case)
    return told, Doubt(name, tuple(others), off, float(u), why)


def _missing(names: Sequence[str], at: Matrix, scale: Mapping[str, float], open_: Matrix) -> tuple[str, ...]:
    """Readings that would close the directions left open, one after the other, the handiest first."""
    import numpy as np

    found: list[str] = []
    while len(open_):
        for name in _WANTED:
            shown = open_ @ np.array(_row(name, at.tolist(), scale)[1])
            if name not in names and name not in found and float(np.abs(shown).max()) > 0.1:
                break
        else:
            return tuple(found)
        found.append(name)
        open_ = np.linalg.svd(shown[None, :], full_matrices=True)[2][1:] @ open_
    return tuple(found)
