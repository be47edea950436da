"""The opening from its readings: what is known, what is checked, which reading is named and why."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.trade.instruments import INSTRUMENTS
from guide.trade.opening import NAMES, STRAIGHT, UNKNOWNS, Opening, Tools, survey
from guide.trade.slips import slip

# Four corners whose distances are whole sixteenths: 72 x 96 with diagonals of 120, plumb and level.
SQUARE = {
    **{f"width {place}": F(72) for place in ("bottom", "middle", "top")},
    **{f"height {place}": F(96) for place in ("left", "middle", "right")},
    "diagonal rising": F(120),
    "diagonal falling": F(120),
    "lean left": F(0),
    "lean right": F(0),
    "sill": F(0),
}


def named(opening: Opening) -> str | None:
    return None if opening.doubt is None else opening.doubt.name


def off(name: str, by: str) -> Opening:
    """The square opening with one reading off by so much."""
    return survey({**SQUARE, name: SQUARE[name] + F(by)})


def test_readings_that_agree_come_out_as_read() -> None:
    opening = survey(SQUARE)
    assert opening.values == tuple(F(n) for n in (72, 72, 72, 96, 96, 96, 0, 0))
    assert (opening.redundancy, opening.doubt, opening.missing, opening.unknown) == (5, None, (), ())
    assert all(one.adjusted == one.given for one in opening.checked)
    assert sum(one.share for one in opening.checked) == pytest.approx(opening.redundancy)


def test_millimetres_that_agree_come_out_as_read() -> None:
    mm = F(10, 254)
    readings = {"width bottom": 1890 * mm, "width top": 1891 * mm, "height left": F("2098.7") * mm}
    opening = survey(readings)
    assert {name: opening.of(name) for name in readings} == readings


def test_a_leaning_opening() -> None:
    """Both studs lean an inch to the right: the diagonals show it with no level at all."""
    lean = {
        **SQUARE,
        "diagonal rising": F(round(math.hypot(73, 96) * 1024), 1024),
        "diagonal falling": F(round(math.hypot(71, 96) * 1024), 1024),
    }
    del lean["lean left"], lean["lean right"]
    opening = survey(lean)
    assert float(opening.of("lean") or 0) == pytest.approx(1, abs=0.002)
    assert opening.missing == ()
    levelled = survey({**lean, "lean left": F(1), "lean right": F(1)})
    assert (levelled.u("lean") or 1) < (opening.u("lean") or 0)


def test_a_level_shorter_than_the_stud() -> None:
    """A quarter inch over four feet is half an inch over eight."""
    short = {**SQUARE, "lean left": F(1, 4), "lean right": F(1, 4)}
    del short["diagonal rising"], short["diagonal falling"]
    opening = survey(short, Tools(lean_over=F(48)))
    assert float(opening.of("lean") or 0) == pytest.approx(0.5)


@pytest.mark.parametrize("name", [name for name in SQUARE if "middle" not in name])
@pytest.mark.parametrize("by", ["1/2", "-1/2", "1", "-3"])
def test_the_reading_that_is_off_is_named(name: str, by: str) -> None:
    doubt = off(name, by).doubt
    assert doubt is not None
    assert doubt.name == name
    assert doubt.off == pytest.approx(float(F(by)), abs=0.03)


def test_noise_names_nothing() -> None:
    assert named(off("width top", "1/8")) is None


def test_a_middle_reading_can_not_be_told_from_a_bow() -> None:
    assert named(off("width middle", "1/4")) is None, "studs are bowed so much"
    doubt = off("width middle", "-1").doubt
    assert doubt is not None
    assert (doubt.name, doubt.others) == ("width middle", ("straight studs",))


def test_what_can_not_be_told_apart_is_named_with_it() -> None:
    """Without any diagonal, two leans and three widths: a lean and its neighbour both explain the misfit."""
    readings = {**SQUARE, "lean left": F(2)}
    del readings["diagonal rising"], readings["diagonal falling"]
    doubt = survey(readings).doubt
    assert doubt is not None
    assert {doubt.name, *doubt.others} == {"lean left", "lean right"}


@pytest.mark.parametrize(
    ("name", "by", "why"),
    [
        ("width top", "1", ("the tape may have been held at the one-inch mark",)),
        ("width top", "-1", ("an inch may have been miscounted",)),
        ("width top", "17/16", ("the tape may have been held at the one-inch mark",)),
        ("width top", "3/2", ()),
        ("width top", "12", ("a foot may have been miscounted",)),
        ("diagonal rising", "-12", ("a foot may have been miscounted",)),
        ("diagonal rising", "5", ("5 inches may be miscounted",)),
        ("height left", "-7/2", ("the length of the tape's case may have been left out",)),
        (
            "height left",
            "-3",
            ("the length of the tape's case may have been left out", "3 inches may be miscounted"),
        ),
    ],
)
def test_why_a_reading_may_be_off(name: str, by: str, why: tuple[str, ...]) -> None:
    doubt = off(name, by).doubt
    assert doubt is not None
    assert doubt.why == why


def test_a_lean_said_to_the_wrong_side() -> None:
    true = {**SQUARE, "lean left": F(1, 2), "lean right": F(1, 2)}
    true["diagonal rising"] = F(round(math.hypot(F(145, 2), 96) * 64), 64)
    true["diagonal falling"] = F(round(math.hypot(F(143, 2), 96) * 64), 64)
    assert survey(true).doubt is None
    doubt = survey({**true, "lean right": F(-1, 2)}).doubt
    assert doubt is not None
    assert (doubt.name, doubt.why) == ("lean right", ("its side may be the wrong way round",))


def test_the_tapes_own_case() -> None:
    assert slip(-2.75, 0.05, F(70), True, F(11, 4)) == ("the length of the tape's case may have been left out",)
    assert slip(-3.0, 0.05, F(70), True, F(11, 4)) == ("3 inches may be miscounted",)
    assert slip(-36.0, 0.05, F(70), True) == ("a foot may have been miscounted",)
    assert slip(17.0, 0.05, F(70), True) == ()


def test_what_is_missing_is_named_shortly() -> None:
    def missing(*dropped: str) -> tuple[str, ...]:
        return survey({name: value for name, value in SQUARE.items() if name not in dropped}).missing

    assert missing("lean left", "lean right") == ()
    assert missing("lean left", "lean right", "sill") == ("sill",)
    assert missing("diagonal rising", "diagonal falling", "lean left", "lean right") == ("lean left",)
    assert missing("width top", "diagonal rising", "diagonal falling") == ()
    assert missing("width top", "width middle", "diagonal rising", "diagonal falling") == ()
    assert missing("width top", "width middle", "diagonal rising", "diagonal falling", "lean right") == ("width top",)


def test_one_reading_alone() -> None:
    opening = survey({"width middle": F(72)})
    assert opening.of("width middle") == 72
    assert (opening.redundancy, opening.doubt) == (0, None)
    assert [opening.of(name) for name in UNKNOWNS if name != "width middle"] == [None] * 7
    assert len(opening.missing) == 5
    assert all(one.standardised is None and one.detects is None for one in opening.checked)
    complete = {name: F(SQUARE[name]) for name in opening.missing}
    assert survey({"width middle": F(72), **complete}).missing == ()


def test_only_a_level_or_only_diagonals() -> None:
    assert survey({"sill": F(1, 8)}).of("sill") == F(1, 8)
    opening = survey({"diagonal rising": F(120), "diagonal falling": F(120)})
    assert opening.of("width bottom") is None
    assert survey({"diagonal rising": F(120), "height left": F(96)}).redundancy == 0


@pytest.mark.parametrize(
    ("readings", "message"),
    [
        ({}, "no readings"),
        ({"width": F(1)}, "there is no reading"),
        ({"straight studs": F(0)}, "there is no reading"),
        ({"width top": F(0)}, "more than zero"),
        ({"diagonal rising": F(-1)}, "more than zero"),
        ({"width top": F(1201)}, "gives no figure"),
    ],
)
def test_what_can_not_be_surveyed(readings: dict[str, F], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        survey(readings)


def test_the_smallest_of_three_is_kept() -> None:
    opening = survey({**SQUARE, "width middle": F(143, 2)})
    assert (opening.smallest("width"), opening.smallest("height")) == (F(143, 2), F(96))
    assert survey({"sill": F(0)}).smallest("width") is None


sixteenths = st.integers(-8, 8).map(lambda n: F(n, 16))
some = st.fixed_dictionaries(dict.fromkeys(SQUARE, sixteenths)).map(
    lambda by: {name: SQUARE[name] + by[name] for name in SQUARE}
)
subsets = st.tuples(some, st.sets(st.sampled_from(sorted(SQUARE)), max_size=8)).map(
    lambda pair: {name: value for name, value in pair[0].items() if name not in pair[1]}
)

_SWAP = {"left": "right", "right": "left", "rising": "falling", "falling": "rising"}


def mirrored(name: str) -> str:
    return " ".join(_SWAP.get(word, word) for word in name.split()) if name not in STRAIGHT else name


def mirror(readings: dict[str, F]) -> dict[str, F]:
    """The same opening seen from the other side."""
    signed = {"lean left", "lean right", "sill"}
    return {mirrored(name): -value if name in signed else value for name, value in readings.items()}


@settings(max_examples=60, deadline=None)
@given(subsets)
def test_a_mirrored_opening_gives_the_mirrored_survey(readings: dict[str, F]) -> None:
    ours, theirs = survey(readings), survey(mirror(readings))
    assert ours.redundancy == theirs.redundancy
    there = {one.name: one for one in theirs.checked}
    for one in ours.checked:
        other = there[mirrored(one.name)]
        assert (one.standardised is None) == (other.standardised is None)
        assert abs(one.standardised or 0) == pytest.approx(abs(other.standardised or 0), abs=1e-5)
        assert (one.detects or 0) == pytest.approx(other.detects or 0, abs=1e-5)
    for what in ("width bottom", "width top", "height left", "height middle"):
        if ours.of(what) is not None:
            assert float(ours.of(what) or 0) == pytest.approx(float(theirs.of(mirrored(what)) or 0), abs=1e-5)


def finer(by: F) -> Tools:
    """A poor tape and level made so much finer."""
    tape, level = INSTRUMENTS["tape class III"], INSTRUMENTS["digital level"]
    return Tools(
        replace(tape, limit=lambda length: (tape.limit(length) or 0) * by, division=tape.division * by),
        replace(level, limit=lambda length: (level.limit(length) or 0) * by, division=level.division * by),
    )


@settings(max_examples=60, deadline=None)
@given(some)
def test_finer_instruments_never_let_a_larger_blunder_pass(readings: dict[str, F]) -> None:
    coarse, fine = survey(readings, finer(F(1))), survey(readings, finer(F(1, 2)))
    for one, other in zip(coarse.checked, fine.checked, strict=True):
        assert other.detects is not None
        assert one.detects is not None
        assert other.detects <= one.detects + 1e-9
    assert (fine.u("width top") or 1) < (coarse.u("width top") or 0)


def test_nothing_heavy_is_loaded_before_a_survey() -> None:
    code = (
        "import sys, guide.trade.work, guide.trade.opening, guide.trade.fit\n"
        "assert not {'numpy', 'scipy', 'pint'} & set(sys.modules)\n"
        "from fractions import Fraction\n"
        "guide.trade.opening.survey({'width top': Fraction(72)})\n"
        "assert 'scipy' not in sys.modules and 'numpy' in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


def test_every_reading_has_a_name() -> None:
    assert set(SQUARE) | set(STRAIGHT) == set(NAMES)
