"""Computations by name: a reading against its tolerance, and what an instrument can prove."""

from __future__ import annotations

import math
from fractions import Fraction

from guide.trade import decision
from guide.trade.answer import Answer, Work, by_tape, decimal, in_words
from guide.trade.decision import Limits, Measured
from guide.trade.given import Given
from guide.trade.instruments import INSTRUMENTS


def _share(value: float) -> str:
    return f"{100 * value:.2g} %" if value < 0.1 else f"{100 * value:.1f} %"


def _limits(given: Given, unit: str) -> Limits:
    low, high = given.optional("low", unit), given.optional("high", unit)
    if low is None and high is None:
        given.fault(None, 'a tolerance needs "low", "high" or both', "Give them: low: 0 in, high: 1/8 in.", "missing")
    elif low is not None and high is not None and low > high:
        given.fault("high", f"the tolerance is empty: low is {low}, high is {high}", "Are the two the wrong way round?")
    given.problems.raise_if_any()
    return Limits(low, high)


def _decide(given: Given) -> Answer:
    unit = given.unit_of("measured", "low", "high", "u")
    values = given.amounts("measured", unit)
    u = given.amount("u", unit, least=0)
    shared = given.amount("u_shared", unit, 0, least=0)
    rule: decision.Rule = "guarded" if given.choice("rule", ("plain", "guarded"), "plain") == "guarded" else "plain"
    guard = given.amount("guard", "", decision.GUARD, above=0, most=2)
    spread, mean = given.optional("spread", unit, above=0), given.optional("mean", unit)
    if spread is not None and u == 0 == shared:
        given.fault("u", 'with a "spread" of true values an uncertainty is needed')
    if mean is not None and spread is None:
        given.fault("mean", '"mean" tells where true values lie; it goes with "spread"')
    limits = _limits(given, unit)
    given.finish()
    pooled = decision.pool(values, u**2, shared**2)
    measured = pooled.measured
    found = decision.outcome(measured, limits, rule, guard)
    probability = decision.conformance_probability(measured, limits)
    low, high = decision.acceptance(limits, measured.variance, rule, guard)
    able = decision.proves(limits, measured.variance, guard)
    result: dict[str, object] = {
        "probability": round(probability, 4),
        "outcome": found,
        "accepted": decision.accepted(found),
        "risk": float(f"{decision.specific_risk(measured, limits):.3g}"),
        "acceptance": {
            "low": None if low is None else round(low, 6),
            "high": None if high is None else round(high, 6),
        },
        "proves": able,
        "unit": unit,
    }
    working = [
        f"Measured {in_words(measured.value, unit, 4)}, standard uncertainty {measured.u:.3g} {unit}".rstrip() + ".",
        _limits_in_words(limits, unit),
        f"Share of a normal distribution about the reading that lies within: {probability:.3f}.",
    ]
    if len(values) > 1:
        result["pooled"] = decimal(measured.value, 6)
        working.insert(
            0, f"{len(values)} readings pooled: the mean; their scatter shrinks with the root of the number."
        )
    if pooled.odd is not None:
        result["take_again"] = pooled.odd
        working.append(f"Reading number {pooled.odd + 1} is too far from the others to be noise: take it again.")
    if rule == "guarded":
        working.append(
            f"Guard band {in_words(guard, '')} U = {decision.guard_band(measured.variance, rule, guard):.3g}, U = 2 u: "
            f"accepted {_zone(low, high)}."
        )
    if not able:
        working.append("By the guarded rule no single reading like this can pass: the instrument can't prove it.")
    if spread is not None:
        risk = decision.global_risk(
            Measured(mean if mean is not None else _middle(limits), spread**2), limits, measured.variance, rule, guard
        )
        result["global"] = {
            "false_accept": float(f"{risk.false_accept:.4g}"),
            "false_reject": float(f"{risk.false_reject:.4g}"),
        }
        working.append(
            f"Over true values spread by {in_words(spread, unit, 4)}: accepted though out {_share(risk.false_accept)}, "
            f"rejected though good {_share(risk.false_reject)}."
        )
    uncertainty = f"u = {measured.u:.3g} {unit}".rstrip() + f", U = 2 u = {2 * measured.u:.3g} {unit}".rstrip() + "."
    source = ("JCGM 106:2012 (published)", "ILAC-G8:09/2019, ISO 14253-1 (published)")
    return Answer(result, uncertainty, tuple(working), source)


def _middle(limits: Limits) -> Fraction:
    ends = [end for end in (limits.low, limits.high) if end is not None]
    return sum(ends, Fraction(0)) / len(ends)


def _limits_in_words(limits: Limits, unit: str) -> str:
    low, high = limits.low, limits.high
    if low is None or high is None:
        end = high if low is None else low
        assert end is not None
        return f"Tolerance: at {'most' if low is None else 'least'} {in_words(end, unit, 4)}."
    return f"Tolerance: {in_words(low, unit, 4)} to {in_words(high, unit, 4)}."


def _zone(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return f"up to {high:.4g}" if low is None else f"from {low:.4g}"
    return "nowhere" if low > high else f"from {low:.4g} to {high:.4g}"


def _instrument(given: Given) -> Answer:
    instrument = INSTRUMENTS[given.choice("instrument", INSTRUMENTS)]
    length = given.amount("length", "in", above=0)
    guard = given.amount("guard", "", decision.GUARD, above=0, most=2)
    limits = _limits(given, "in")
    limit, shared = instrument.limit(length), instrument.calibration(length)
    if limit is None:
        given.fault("length", f"the source gives no figure for a {instrument.name} over {in_words(length, 'in')}")
    given.finish()
    assert limit is not None
    assert shared is not None
    variance = shared + instrument.reading()
    able = decision.proves(limits, variance, guard)
    repeats = decision.repeats_needed(limits, instrument.reading(), shared, guard)
    low, high = decision.acceptance(limits, variance, "guarded", guard)
    u = math.sqrt(variance)
    width = limits.width
    result: dict[str, object] = {
        "limit": decimal(limit, 4),
        "u": round(u, 5),
        "proves": able,
        "repeats": repeats,
        "acceptance": {"low": None if low is None else round(low, 5), "high": None if high is None else round(high, 5)},
        "unit": "in",
    }
    working = [
        f"It may be out by {in_words(limit, 'in', 3)} over {in_words(length, 'in')}, and is read to "
        f"{by_tape(instrument.division, instrument.division)}.",
        f"Together u = {u:.3f} in, U = 2 u = {2 * u:.3f} in; "
        f"guard band {in_words(guard, '')} U = {2 * float(guard) * u:.3f} in.",
        "It can prove the tolerance: readings are accepted " + _zone(low, high) + " in."
        if able
        else "It can't prove the tolerance: two guard bands are wider than its "
        f"{in_words(width or Fraction(0), 'in', 3)}.",
    ]
    if not able and repeats is not None:
        working.append(f"{repeats} readings pooled would.")
    elif not able:
        working.append(
            "Nor can any number of readings pooled: what is out in the instrument itself does not average away."
        )
    working.append(f"Prove it first by {instrument.proved_by}.")
    uncertainty = f"U = {2 * u:.3f} in for one reading, limit and division taken as rectangular."
    return Answer(
        result, uncertainty, tuple(working), (instrument.source, "JCGM 100, JCGM 106:2012, ILAC-G8:09/2019 (published)")
    )


WORKS: tuple[Work, ...] = (
    Work(
        "instrument",
        "whether an instrument can prove a tolerance, and how many pooled readings would",
        "instrument: digital level\nlength: 80 in\nlow: -1/8 in\nhigh: 1/8 in\n",
        _instrument,
    ),
    Work(
        "decide",
        "a reading against a tolerance with its uncertainty: pass, fail or between, and how probable",
        "measured: 13.6\nu: 1.8\nlow: 12.5\nhigh: 16.3\nrule: guarded\n",
        _decide,
    ),
)
