"""The trade's figures against the published texts, and against arithmetic of other libraries."""

from __future__ import annotations

import math
from fractions import Fraction as F

import pytest
from scipy import integrate, stats

from guide.quantity import quantity
from guide.trade import doorway, fixings, lifting, paint, sealing, weighing
from guide.trade.decision import (
    COVERAGE,
    Limits,
    Measured,
    acceptance,
    conformance_probability,
    global_risk,
    proves,
    specific_risk,
)
from guide.trade.instruments import INSTRUMENTS, MM, hb44_tape_limit, mid_tape_limit
from guide.trade.lifting import Lift


@pytest.mark.outside("NIOSH 94-110, example 4", "published")
def test_weight_limit_from_its_multipliers() -> None:
    """RWL 34.9 lb from HM 1, VM .94, DM .87, AM 1, FM .88, CM .95"""
    factors = {"HM": F(1), "VM": F(94, 100), "DM": F(87, 100), "AM": F(1), "FM": F(88, 100), "CM": F(95, 100)}
    assert float(lifting.weight_limit(factors)) == pytest.approx(34.87, abs=0.005)


@pytest.mark.outside("NIOSH 94-110, example 2", "published, from memory")
def test_a_lift_by_its_distances() -> None:
    """H 20, V 27, D 33 in, CM .90: RWL 19.6 lb, and LI 1.8 for 35 lb (the manual rounds each multiplier)"""
    limit = lifting.recommended_limit(Lift(F(20), F(27), F(33), cm=F(90, 100)))
    assert float(limit) == pytest.approx(19.6, abs=0.4)
    index = lifting.lifting_index(F(35), limit)
    assert index is not None
    assert round(float(index), 1) == 1.8


@pytest.mark.outside("JCGM 106:2012, 7.4", "published")
def test_probability_between_two_limits() -> None:
    """13.6, u 1.8, limits 12.5 to 16.3: conformance probability 0.66"""
    found = conformance_probability(Measured(F("13.6"), F("1.8") ** 2), Limits(F("12.5"), F("16.3")))
    assert round(found, 2) == 0.66


@pytest.mark.outside("JCGM 106:2012, 7.3", "published, from memory")
def test_probability_at_one_limit() -> None:
    """-5.47, u .05, at most -5.40: 0.919; 509.7, u 8.6, at least 490: 0.989"""
    at_most = conformance_probability(Measured(F("-5.47"), F("0.05") ** 2), Limits(None, F("-5.40")))
    at_least = conformance_probability(Measured(F("509.7"), F("8.6") ** 2), Limits(F(490), None))
    assert (round(at_most, 3), round(at_least, 3)) == (0.919, 0.989)


@pytest.mark.outside("ILAC-G8:09/2019, guard band rule", "computed")
@pytest.mark.parametrize(("guard", "low", "high"), [("0.83", 9.166, 10.834), ("1", 9.2, 10.8)])
def test_acceptance_limits(guard: str, low: float, high: float) -> None:
    """10 ± 1 with U .2: accepted from 9.166 to 10.834 with w = .83 U, 9.2 to 10.8 with w = U"""
    variance = (F("0.2") / COVERAGE) ** 2
    assert acceptance(Limits(F(9), F(11)), variance, "guarded", F(guard)) == pytest.approx((low, high), abs=1e-9)


@pytest.mark.outside("ILAC-G8:09/2019: false accepts under 5 % with 0.83 U, under 2.5 % with U", "published")
@pytest.mark.parametrize(("guard", "most"), [("0.83", 0.05), ("1", 0.025)])
def test_risk_at_the_acceptance_limit(guard: str, most: float) -> None:
    """A reading just accepted is wrong at most so often"""
    edge = F(1) - F(guard) * COVERAGE * F("0.1")
    risk = specific_risk(Measured(edge, F("0.1") ** 2), Limits(None, F(1)))
    assert 0.9 * most < risk < most


@pytest.mark.outside("2014/32/EU (MID), Annex X", "published")
@pytest.mark.parametrize(
    ("tape_class", "plain", "hooked"), [("II", "0.9", "1.1"), ("I", "0.4", "0.5"), ("III", "1.8", "2.1")]
)
def test_tape_classes(tape_class: str, plain: str, hooked: str) -> None:
    """Over 2.032 m: class II ±0.9 mm, from the hook ±1.1; class I ±0.4, ±0.5; class III ±1.8, ±2.1"""
    assert mid_tape_limit(tape_class, F(2032)) == F(plain)
    assert mid_tape_limit(tape_class, F(2032), hook=True) == F(hooked)
    assert INSTRUMENTS[f"tape class {tape_class}"].limit(F(80)) == F(hooked) * MM


@pytest.mark.outside("NIST Handbook 44, 5.52", "published")
@pytest.mark.parametrize(("feet", "inch"), [(6, "1/32"), (30, "1/16"), (50, "1/8"), (100, "1/4")])
def test_tape_tolerances(feet: int, inch: str) -> None:
    """To 6 ft 1/32 in, to 30 ft 1/16, over 30 to 50 ft 1/8, 100 ft 1/4"""
    assert hb44_tape_limit(F(12 * feet)) == F(inch)


@pytest.mark.outside("0.5 mm/m and ±0.1° over 80 in", "computed")
def test_levels_over_a_door() -> None:
    """0.040 in for a spirit level; 0.140 in for a digital one, which can't prove 1/8 in"""
    spirit, digital = INSTRUMENTS["spirit level"], INSTRUMENTS["digital level"]
    assert spirit.limit(F(80)) == F("0.040")
    assert float(digital.limit(F(80)) or 0) == pytest.approx(80 * math.tan(math.pi / 1800), abs=1e-9)
    assert round(float(digital.limit(F(80)) or 0), 3) == 0.140
    eighth = Limits(F(-1, 8), F(1, 8))
    assert proves(eighth, spirit.variance(F(80)) or F(0))
    assert not proves(eighth, digital.variance(F(80)) or F(0))


@pytest.mark.outside("NDS, withdrawal of wood screws: 2850 G² D", "computed")
def test_withdrawal() -> None:
    """G .45, D .190: 109.65 lb an inch of thread (printed tables round)"""
    assert round(float(fixings.withdrawal(F(45, 100), 10)), 2) == 109.65


@pytest.mark.outside("wood screw diameter 0.060 + 0.013 x gauge", "published")
@pytest.mark.parametrize(("gauge", "inch"), [(8, "0.164"), (10, "0.190"), (12, "0.216")])
def test_screw_diameters(gauge: int, inch: str) -> None:
    """#8 0.164, #10 0.190, #12 0.216 in"""
    assert fixings.diameter(gauge) == F(inch)


@pytest.mark.outside("handbook table of pilot holes, on the basis of the USDA Wood Handbook", "published")
@pytest.mark.parametrize(
    ("gauge", "soft", "hard"), [(6, "1/16", "5/64"), (8, "5/64", "3/32"), (10, "3/32", "7/64"), (12, "7/64", "1/8")]
)
def test_pilot_holes(gauge: int, soft: str, hard: str) -> None:
    """#10 in hard wood 7/64, in soft 3/32 in, and the rest of the table"""
    assert (fixings.pilot_hole(gauge, False), fixings.pilot_hole(gauge, True)) == (F(soft), F(hard))


@pytest.mark.outside("handbook table in the spirit of ASTM C1193", "published")
@pytest.mark.parametrize(("width", "depth"), [("3/4", "3/8"), ("5/4", "1/2")])
def test_joint_depths(width: str, depth: str) -> None:
    """A joint of 3/4 in is 3/8 deep, one of 1-1/4 in 1/2"""
    assert sealing.joint_depth(F(width)) == F(depth)


@pytest.mark.outside("10.1 US fl oz of 231/128 in³ (NIST SP 811)", "computed")
@pytest.mark.parametrize(
    ("width", "depth", "feet"),
    [("1/4", "1/4", 24.3), ("3/8", "1/4", 16.2), ("1/2", "1/4", 12.2), ("3/16", "3/16", 43.2)],
)
def test_sealant_yields(width: str, depth: str, feet: float) -> None:
    """Feet of bead from a cartridge of 10.1 fl oz, 18.227 in³"""
    assert float(sealing.cartridge_volume()) == pytest.approx(18.227, abs=0.0005)
    assert quantity("1 fl oz").to("in3").magnitude == sealing.FLUID_OUNCE
    assert round(float(sealing.feet_per_cartridge(F(width), F(depth))), 1) == feet


@pytest.mark.outside("IRC R311.3.1", "published")
@pytest.mark.parametrize(
    ("step", "swings_over", "allowed"),
    [("31/4", False, True), ("31/4", True, False), ("3/2", False, True), ("3/2", True, True)],
)
def test_landings(step: str, swings_over: bool, allowed: bool) -> None:
    """7-3/4 in outside is allowed if the door does not swing over it, 1-1/2 either way"""
    assert doorway.landing(F(step), True, swings_over).meets is allowed


@pytest.mark.outside("40 CFR 745.83", "computed")
def test_old_paint_on_a_leaf() -> None:
    """A 36 x 80 in leaf is 20.0 ft²: over the 6 inside; outside exactly at 20, and over with frame and trim"""
    leaf = paint.face_area(F(36), F(80))
    trim = paint.face_area(F(3), F(80))
    assert leaf == 20
    assert paint.Space("hall", "inside", leaf).over
    assert leaf == paint.Space("outside", "outside", leaf).limit
    assert paint.Space("outside", "outside", leaf + trim).over


@pytest.mark.outside("handbook table of glass weights", "published")
@pytest.mark.parametrize(("inch", "pounds"), [("1/8", "1.64"), ("3/16", "2.45"), ("1/4", "3.27"), ("1/2", "6.54")])
def test_glass(inch: str, pounds: str) -> None:
    """1/8 in 1.64, 3/16 2.45, 1/4 3.27, 1/2 6.54 lb/ft²"""
    assert weighing.glass_weight(F(inch)) == F(pounds)


@pytest.mark.outside("glass at 2,500 kg/m³", "computed")
def test_glass_from_its_density() -> None:
    """A thickness the table lacks, 5/16 in, from 2,500 kg/m³, by pint's factors"""
    per_foot = 2500 * float(quantity("5/16 in").to("m").magnitude) * float(quantity("1 ft2").to("m2").magnitude)
    assert float(weighing.glass_weight(F(5, 16))) == pytest.approx(per_foot / 0.45359237, rel=1e-9)


@pytest.mark.outside("scipy.stats.norm", "computed")
@pytest.mark.parametrize("away", [-40, -8, -3.29, -1, 0, 0.5, 2, 6])
def test_probabilities_far_out(away: float) -> None:
    """Shares of the normal distribution, far into its tails"""
    risk = specific_risk(Measured(F(away), F(1)), Limits(F(0), None))
    assert risk == pytest.approx(stats.norm.cdf(-away), rel=1e-9)


@pytest.mark.outside("scipy: normal distributions and adaptive quadrature", "computed")
@pytest.mark.parametrize("ratio", [0.01, 0.3, 1.0, 3.0])
@pytest.mark.parametrize("offset", [0.0, 0.7])
def test_global_risk(ratio: float, offset: float) -> None:
    """False accepts over many, by the plain rule with limits at ±1"""
    made, noise = Measured(F(offset), F(36, 100)), F(ratio * 0.6)
    found = global_risk(made, Limits(F(-1), F(1)), noise**2, "plain")

    def kept(true: float) -> float:
        inside = stats.norm.cdf((1 - true) / float(noise)) - stats.norm.cdf((-1 - true) / float(noise))
        return float(stats.norm.pdf(true, offset, 0.6) * inside)

    ends = (-1 - 8 * float(noise), -1), (1, 1 + 8 * float(noise))
    theirs = sum(integrate.quad(kept, *piece, epsabs=1e-13, limit=200)[0] for piece in ends)
    assert found.false_accept == pytest.approx(theirs, abs=1e-8)
    spread = 0.36 + float(noise) ** 2
    accepts = stats.norm.cdf(1, offset, math.sqrt(spread)) - stats.norm.cdf(-1, offset, math.sqrt(spread))
    assert found.accepts == pytest.approx(accepts, abs=1e-8)
