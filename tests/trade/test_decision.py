"""Decisions on readings: rules, outcomes at their very edges, pooling, what an instrument can prove, risks."""

from __future__ import annotations

import math
from fractions import Fraction as F
from statistics import NormalDist

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from guide.trade.decision import (
    GUARD,
    Limits,
    Measured,
    Rule,
    acceptance,
    accepted,
    conformance_probability,
    global_risk,
    guard_band,
    outcome,
    pool,
    proves,
    repeats_needed,
    specific_risk,
)

values = st.fractions(-5, 5, max_denominator=64)
uncertainties = st.fractions(F(1, 1000), 2, max_denominator=1000)
rules: st.SearchStrategy[Rule] = st.sampled_from(["plain", "guarded"])
ONE = Limits(F(-1), F(1))
FIFTH = F(1, 10) ** 2
"""u = 0.1, so U = 0.2 and the guard band is 0.166."""


@st.composite
def tolerances(draw: st.DrawFn) -> Limits:
    low, high = draw(st.none() | values), draw(st.none() | values)
    assume(low is not None or high is not None)
    if low is not None and high is not None and low > high:
        low, high = high, low
    return Limits(low, high)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("0", "pass"),
        ("0.834", "pass"),
        ("0.8340001", "conditional pass"),
        ("1", "conditional pass"),
        ("1.0000001", "conditional fail"),
        ("1.1659999", "conditional fail"),
        ("1.166", "fail"),
        ("9", "fail"),
    ],
)
@pytest.mark.parametrize("sign", [1, -1])
def test_the_four_outcomes_at_their_edges(value: str, expected: str, sign: int) -> None:
    found = outcome(Measured(sign * F(value), FIFTH), ONE, "guarded")
    assert found == expected
    assert accepted(found) == (expected == "pass")


@pytest.mark.parametrize(("value", "expected"), [("1", "pass"), ("1.0000001", "fail"), ("-1", "pass"), ("-2", "fail")])
def test_the_plain_rule_has_two(value: str, expected: str) -> None:
    assert outcome(Measured(F(value), FIFTH), ONE, "plain") == expected


def test_a_tolerance_open_at_one_end() -> None:
    at_least = Limits(F(78), None)
    assert outcome(Measured(F(78), F(0)), at_least) == "pass"
    assert outcome(Measured(F(78), FIFTH), at_least, "guarded") == "conditional pass"
    assert outcome(Measured(F(1000), FIFTH), at_least, "guarded") == "pass"
    assert outcome(Measured(F(77), FIFTH), at_least, "guarded") == "fail"
    low, high = acceptance(at_least, FIFTH, "guarded")
    assert low == pytest.approx(78.166)
    assert high is None


def test_without_uncertainty_the_rules_agree() -> None:
    for value in (F(-1), F(1), F(1) + F(1, 10**12), F(0)):
        measured = Measured(value)
        assert outcome(measured, ONE, "guarded") == outcome(measured, ONE, "plain")
        assert conformance_probability(measured, ONE) == (1.0 if ONE.hold(value) else 0.0)


def test_a_tolerance_of_no_width_and_an_empty_one() -> None:
    zero = Limits(F(3), F(3))
    assert outcome(Measured(F(3)), zero, "guarded") == "pass"
    assert outcome(Measured(F(3), FIFTH), zero, "guarded") == "conditional pass"
    for low, high in ((F(1), F(0)), (None, None)):
        with pytest.raises(ValueError):
            Limits(low, high)


@given(values, uncertainties, tolerances(), rules)
def test_what_is_accepted_lies_within(value: F, u: F, limits: Limits, rule: Rule) -> None:
    found = outcome(Measured(value, u**2), limits, rule)
    assert (found in {"pass", "conditional pass"}) == limits.hold(value)
    assert accepted(found) <= limits.hold(value)


@given(values, uncertainties, tolerances())
def test_outcomes_are_what_the_acceptance_limits_say(value: F, u: F, limits: Limits) -> None:
    low, high = acceptance(limits, u**2, "guarded")
    band = guard_band(u**2, "guarded")
    away = [abs(float(value) - edge) for edge in (low, high) if edge is not None]
    away += [abs(abs(float(value) - float(end)) - band) for end in (limits.low, limits.high) if end is not None]
    assume(min(away) > 1e-9)
    inside = (low is None or value >= low) and (high is None or value <= high)
    assert (outcome(Measured(value, u**2), limits, "guarded") == "pass") == inside


@given(values, uncertainties, uncertainties, tolerances())
def test_a_better_instrument_never_turns_a_pass_into_anything_else(value: F, u: F, v: F, limits: Limits) -> None:
    worse, better = max(u, v), min(u, v)
    if outcome(Measured(value, worse**2), limits, "guarded") == "pass":
        assert outcome(Measured(value, better**2), limits, "guarded") == "pass"
    if proves(limits, worse**2):
        assert proves(limits, better**2)


@given(values, uncertainties, tolerances(), rules)
def test_a_mirror_changes_nothing(value: F, u: F, limits: Limits, rule: Rule) -> None:
    mirrored = Limits(
        None if limits.high is None else -limits.high,
        None if limits.low is None else -limits.low,
    )
    assert outcome(Measured(value, u**2), limits, rule) == outcome(Measured(-value, u**2), mirrored, rule)


@given(values, uncertainties, tolerances(), rules)
def test_another_unit_changes_nothing(value: F, u: F, limits: Limits, rule: Rule) -> None:
    inch = F(254, 10)
    scaled = Limits(
        None if limits.low is None else limits.low * inch,
        None if limits.high is None else limits.high * inch,
    )
    there = Measured(value * inch, (u * inch) ** 2)
    here = Measured(value, u**2)
    assert outcome(there, scaled, rule) == outcome(here, limits, rule)
    assert conformance_probability(there, scaled) == pytest.approx(conformance_probability(here, limits), abs=1e-12)


@given(values, uncertainties, tolerances())
def test_the_guard_band_keeps_its_promise(value: F, u: F, limits: Limits) -> None:
    measured = Measured(value, u**2)
    for guard, risk in ((GUARD, 0.05), (F(1), 0.025)):
        if outcome(measured, limits, "guarded", guard) == "pass":
            tails = 1 if None in (limits.low, limits.high) else 2
            assert specific_risk(measured, limits) < tails * risk
            if tails == 1:
                assert specific_risk(measured, limits) < risk


@given(values, uncertainties, tolerances())
def test_probabilities_against_the_normal_distribution(value: F, u: F, limits: Limits) -> None:
    theirs = NormalDist(float(value), float(u))
    low = 0.0 if limits.low is None else theirs.cdf(float(limits.low))
    high = 1.0 if limits.high is None else theirs.cdf(float(limits.high))
    ours = conformance_probability(Measured(value, u**2), limits)
    assert ours == pytest.approx(high - low, abs=1e-9)
    assert 0 <= ours <= 1
    assert specific_risk(Measured(value, u**2), limits) == pytest.approx(1 - ours, abs=1e-12)


def test_a_small_risk_is_not_lost() -> None:
    assert specific_risk(Measured(F(0), F(1)), Limits(None, F(10))) == pytest.approx(7.619853e-24, rel=1e-5)


def test_pooling() -> None:
    one = pool([F(1, 8)], FIFTH)
    assert (one.measured, one.odd) == (Measured(F(1, 8), FIFTH), None)
    four = pool([F(1), F(2), F(3), F(4)], F(4), shared=F(1, 9))
    assert four.measured == Measured(F(5, 2), 1 + F(1, 9))
    with pytest.raises(ValueError, match="no readings"):
        pool([], FIFTH)


def test_a_repeat_that_noise_cannot_explain_is_named() -> None:
    u = F(1, 64)
    good = [F(1, 8), F(9, 64), F(7, 64), F(1, 8)]
    assert pool(good, u**2).odd is None
    assert pool([*good, F(3, 8)], u**2).odd == 4
    assert pool([F(3, 8), *good], u**2).odd == 0
    assert pool([F(0), F(1)], F(0)).odd == 0


def test_named_repeats_are_rare_when_there_is_only_noise() -> None:
    import random

    noise = random.Random(5)
    pools = [pool([F(noise.gauss(0, 1)) for _ in range(3)], F(1)).odd for _ in range(4000)]
    assert sum(odd is not None for odd in pools) / len(pools) < 0.006


@pytest.mark.parametrize(
    ("width", "u", "able"),
    [("0.332", "0.1", True), ("0.3319", "0.1", False), ("0", "0", True), ("0.25", "0.0807", False)],
)
def test_what_an_instrument_can_prove(width: str, u: str, able: bool) -> None:
    tolerance = Limits(F(0), F(width))
    assert proves(tolerance, F(u) ** 2) is able
    assert proves(Limits(F(0), None), F(100))


@given(uncertainties, uncertainties, st.fractions(F(1, 100), 4, max_denominator=100))
def test_repeats_are_as_few_as_can_be(u: F, shared: F, width: F) -> None:
    limits = Limits(F(0), width)
    number = repeats_needed(limits, u**2, shared**2)
    if number is None:
        assert not proves(limits, shared**2 + u**2 / 10**12)
        return
    assert proves(limits, u**2 / number + shared**2)
    assert number == 1 or not proves(limits, u**2 / (number - 1) + shared**2)


def test_repeats_at_the_ends() -> None:
    assert repeats_needed(Limits(F(0), None), F(1)) == 1
    assert repeats_needed(ONE, F(0)) == 1
    assert repeats_needed(ONE, F(0), F(100)) is None


def test_global_risk_balances() -> None:
    risk = global_risk(Measured(F(0), F(1, 32) ** 2), Limits(F(-1, 16), F(1, 16)), F(1, 64) ** 2, "plain")
    inside = math.erf(2 / math.sqrt(2))
    assert risk.accepts - risk.false_accept + risk.false_reject == pytest.approx(inside, abs=1e-9)
    guarded = global_risk(Measured(F(0), F(1, 32) ** 2), Limits(F(-1, 16), F(1, 16)), F(1, 64) ** 2, "guarded")
    assert guarded.false_accept < risk.false_accept
    assert guarded.false_reject > risk.false_reject


def test_global_risk_when_nothing_can_be_accepted() -> None:
    risk = global_risk(Measured(F(0), F(1)), Limits(F(-1), F(1)), F(9), "guarded")
    assert (risk.accepts, risk.false_accept) == (0, 0)
    assert risk.false_reject == pytest.approx(0.6826895, abs=1e-7)


@pytest.mark.parametrize(("spread", "noise"), [(0, 1), (1, 0)])
def test_global_risk_needs_something_to_average_over(spread: int, noise: int) -> None:
    with pytest.raises(ValueError):
        global_risk(Measured(F(0), F(spread)), ONE, F(noise), "plain")


def test_readings_on_a_simulated_crew_are_as_risky_as_computed() -> None:
    import random

    crew = random.Random(7)
    limits, spread, noise = Limits(F(-1, 16), F(1, 16)), 1 / 32, 1 / 64
    expected = global_risk(Measured(F(0), F(spread) ** 2), limits, F(noise) ** 2, "plain")
    wrong = taken = 0
    for _ in range(20_000):
        true = crew.gauss(0, spread)
        if outcome(Measured(F(true + crew.gauss(0, noise))), limits, "plain") == "pass":
            taken += 1
            wrong += not limits.hold(F(true))
    share = expected.false_accept / expected.accepts
    assert wrong / taken == pytest.approx(share, abs=4 * math.sqrt(share * (1 - share) / taken))
