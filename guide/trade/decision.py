"""A reading against a tolerance, with its uncertainty.

Every figure of one decision is in one unit, whichever it is. An uncertainty is given as a variance (the standard
uncertainty squared), so that pooled readings stay exact fractions: verdicts compare squares and never take a root.
Probabilities are for showing only; they are floats, from the normal distribution.

Sources: JCGM 106:2012 (conformance probability, guarded acceptance, specific and global risk), ILAC-G8:09/2019
(decision rules, the four outcomes), ISO 14253-1 (0.83 U).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

Rule = Literal["plain", "guarded"]
Outcome = Literal["pass", "conditional pass", "conditional fail", "fail"]

COVERAGE = Fraction(2)
"""Expanded uncertainty U = 2 u, about 95 % (ILAC-G8:09/2019)."""

GUARD = Fraction(83, 100)
"""Guard band as a share of U: 0.83 keeps false accepts under 5 %, 1 under 2.5 % (ILAC-G8:09/2019, ISO 14253-1)."""

BLUNDER = Fraction(329, 100)
"""Standard deviations beyond which a repeat is not noise: 1 in 1,000, two-sided."""


@dataclass(frozen=True, slots=True)
class Limits:
    """A tolerance, both ends included; one end may be open (None), not both. Raises ValueError if it is empty."""

    low: Fraction | None
    high: Fraction | None

    def __post_init__(self) -> None:
        if self.low is None and self.high is None:
            raise ValueError("a tolerance needs a limit")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"the tolerance is empty: {self.low} is more than {self.high}")

    def hold(self, value: Fraction) -> bool:
        """Whether the value lies within."""
        return (self.low is None or self.low <= value) and (self.high is None or value <= self.high)

    @property
    def width(self) -> Fraction | None:
        """From end to end; None when one end is open."""
        return None if self.low is None or self.high is None else self.high - self.low


@dataclass(frozen=True, slots=True)
class Measured:
    """A value and its variance (standard uncertainty squared), 0 for a value taken as it is."""

    value: Fraction
    variance: Fraction = Fraction(0)

    @property
    def u(self) -> float:
        """The standard uncertainty, for showing."""
        return math.sqrt(self.variance)


@dataclass(frozen=True, slots=True)
class Pooled:
    """Repeats of one reading as one; `odd` is the position of the repeat that noise can't explain, if there is one."""

    measured: Measured
    odd: int | None


def pool(values: Sequence[Fraction], variance: Fraction, shared: Fraction = Fraction(0)) -> Pooled:
    """Repeats of one reading pooled: their mean, whose variance is `variance` / n + `shared`.

    `variance` is that of one reading's own scatter; `shared` is what every repeat with the same instrument has in
    common (its calibration), which no repeating takes away. Raises ValueError without values.
    """
    if not values:
        raise ValueError("no readings to pool")
    count = len(values)
    mean = sum(values, Fraction(0)) / count
    odd = max(range(count), key=lambda at: (abs(values[at] - mean), -at))
    spread = variance * (count - 1) / count
    is_odd = (values[odd] - mean) ** 2 > BLUNDER**2 * spread
    return Pooled(Measured(mean, variance / count + shared), odd if is_odd else None)


def _reaches(distance: Fraction, factor: Fraction, variance: Fraction) -> bool:
    """Whether distance >= factor * sqrt(variance), without a root."""
    return distance >= 0 and distance**2 >= factor**2 * variance


def _factor(rule: Rule, guard: Fraction) -> Fraction:
    return guard * COVERAGE if rule == "guarded" else Fraction(0)


def outcome(measured: Measured, limits: Limits, rule: Rule = "plain", guard: Fraction = GUARD) -> Outcome:
    """Pass or fail by the plain rule; the guarded rule has two outcomes between, inside the guard band.

    Guarded: "pass" is at least the guard band inside every limit; "conditional pass" is within the tolerance;
    "conditional fail" is outside by less than the guard band; "fail" is further out. Source: ILAC-G8:09/2019.
    """
    factor = _factor(rule, guard)
    margins = [
        margin
        for margin in (
            None if limits.low is None else measured.value - limits.low,
            None if limits.high is None else limits.high - measured.value,
        )
        if margin is not None
    ]
    if all(_reaches(margin, factor, measured.variance) for margin in margins):
        return "pass"
    if all(margin >= 0 for margin in margins):
        return "conditional pass"
    if factor and not any(_reaches(-margin, factor, measured.variance) for margin in margins):
        return "conditional fail"
    return "fail"


def accepted(found: Outcome) -> bool:
    """Whether work goes on: only a pass is accepted; between, the reading is taken again and pooled."""
    return found == "pass"


def guard_band(variance: Fraction, rule: Rule, guard: Fraction = GUARD) -> float:
    """How far the acceptance limits are drawn in: 0 by the plain rule, guard * U by the guarded; for showing."""
    return float(_factor(rule, guard)) * math.sqrt(variance)


def acceptance(
    limits: Limits, variance: Fraction, rule: Rule, guard: Fraction = GUARD
) -> tuple[float | None, float | None]:
    """The acceptance limits; for showing. They cross when the instrument can't prove the tolerance."""
    band = guard_band(variance, rule, guard)
    low = None if limits.low is None else float(limits.low) + band
    return low, None if limits.high is None else float(limits.high) - band


def proves(limits: Limits, variance: Fraction, guard: Fraction = GUARD) -> bool:
    """Whether any reading with this variance can pass by the guarded rule: two guard bands fit into the tolerance."""
    width = limits.width
    return width is None or _reaches(width, 2 * _factor("guarded", guard), variance)


def repeats_needed(
    limits: Limits, variance: Fraction, shared: Fraction = Fraction(0), guard: Fraction = GUARD
) -> int | None:
    """How many pooled repeats prove the tolerance; None when no number does, the shared part being too large."""
    width = limits.width
    if width is None:
        return 1
    room = (width / (2 * _factor("guarded", guard))) ** 2 - shared
    if variance == 0:
        return 1 if room >= 0 else None
    return max(1, math.ceil(variance / room)) if room > 0 else None


def conformance_probability(measured: Measured, limits: Limits) -> float:
    """How probable it is that the true value lies within, the reading being normal about it (JCGM 106:2012, 7.2)."""
    return 1.0 - specific_risk(measured, limits)


def specific_risk(measured: Measured, limits: Limits) -> float:
    """How probable it is that this reading, if accepted, is of a true value out of tolerance (JCGM 106:2012, 9.3)."""
    if measured.variance == 0:
        return 0.0 if limits.hold(measured.value) else 1.0
    below = 0.0 if limits.low is None else _tail(measured.value - limits.low, measured.variance)
    above = 0.0 if limits.high is None else _tail(limits.high - measured.value, measured.variance)
    return min(1.0, below + above)


def _tail(away: Fraction, variance: Fraction) -> float:
    """The share of a normal distribution further than `away` from its middle on one side, exact far out as well."""
    return 0.5 * math.erfc(float(away) / math.sqrt(2 * variance))


@dataclass(frozen=True, slots=True)
class GlobalRisk:
    """Of all that is measured: the share accepted wrongly, rejected wrongly, and accepted at all."""

    false_accept: float
    false_reject: float
    accepts: float


_STEPS = 1000
_REACH = 8.5
"""Standard deviations beyond which a normal distribution holds nothing that a float could show."""


def global_risk(made: Measured, limits: Limits, variance: Fraction, rule: Rule, guard: Fraction = GUARD) -> GlobalRisk:
    """Risks over many: true values normal about `made`, each read with `variance` (JCGM 106:2012, 9.5).

    Simpson's rule over the true values, piece by piece between the limits and where readings begin to be accepted;
    good to about 1e-9. Raises ValueError when either has no spread: then there is nothing to average over.
    """
    if made.variance == 0 or variance == 0:
        raise ValueError("global risk needs a spread of true values and an uncertainty")
    centre, spread, noise = float(made.value), math.sqrt(made.variance), math.sqrt(variance)
    zone = acceptance(limits, variance, rule, guard)
    ends = (centre - _REACH * spread, centre + _REACH * spread)
    cuts = {float(cut) for cut in (limits.low, limits.high) if cut is not None}
    cuts |= {cut + side * _REACH * noise for cut in zone if cut is not None for side in (-1, 0, 1)}
    edges = [ends[0], *sorted(cut for cut in cuts if ends[0] < cut < ends[1]), ends[1]]
    false_accept = false_reject = accepts = 0.0
    for left, right in itertools.pairwise(edges):
        share, kept = _piece(left, right, centre, spread, zone, noise)
        accepts += kept
        if limits.hold(Fraction((left + right) / 2)):
            false_reject += share - kept
        else:
            false_accept += kept
    return GlobalRisk(false_accept, max(0.0, false_reject), accepts)


def _piece(
    left: float, right: float, centre: float, spread: float, zone: tuple[float | None, float | None], noise: float
) -> tuple[float, float]:
    """Over true values from left to right: their share, and the share that is read inside the acceptance zone."""
    step = (right - left) / _STEPS
    share = kept = 0.0
    for at in range(_STEPS + 1):
        true = left + at * step
        weight = (1 if at in (0, _STEPS) else 4 if at % 2 else 2) * step / 3
        density = weight * math.exp(-0.5 * ((true - centre) / spread) ** 2) / (spread * math.sqrt(2 * math.pi))
        share += density
        kept += density * _read_inside(true, zone, noise)
    return share, kept


def _read_inside(true: float, zone: tuple[float | None, float | None], noise: float) -> float:
    """How probable it is that a reading of the true value falls into the acceptance zone."""
    low, high = zone
    if low is not None and high is not None and low > high:
        return 0.0
    under = 0.0 if low is None else 0.5 * math.erfc((true - low) / noise / math.sqrt(2))
    over = 0.0 if high is None else 0.5 * math.erfc((high - true) / noise / math.sqrt(2))
    return max(0.0, 1.0 - under - over)
