"""The one decision: every doubt by itself is enough to ask."""

from dataclasses import replace
from fractions import Fraction

import pytest

from guide.quantity import Quantity
from guide.talk.expect import Expect
from guide.voice.decide import Doubt, Outcome, Thresholds, decide
from guide.voice.hearing import Amount, Heard, Hearing, Partner

BY = Thresholds.load()
TAUGHT = "embedded-trained"
SIZE = Amount("36 3/16 in", Fraction(579, 16))
FIRST = Hearing("reading", "thirty six and three sixteenths", 0.9999, -1.0, (SIZE,))
SECOND = Hearing("reading", "thirty six and five sixteenths", 0.0001, -9.0, (Amount("36 5/16 in", Fraction(581, 16)),))
SURE = Heard("embedded", (FIRST, SECOND), garbage=-1.0, free="", seconds=2.0, ms=100)
ASKED = Expect()


def with_first(**changes: object) -> Heard:
    return replace(SURE, hearings=(replace(FIRST, **changes), SECOND))  # type: ignore[arg-type]


def with_amount(**changes: object) -> Heard:
    return with_first(amounts=(replace(SIZE, **changes),))  # type: ignore[arg-type]


def test_a_sure_reading_is_taken() -> None:
    decision = decide(SURE, ASKED)
    assert (decision.outcome, decision.hearing, decision.doubts) == ("taken", FIRST, ())


WHOLE = {"value": "36 in", "inches": Fraction(36), "unit_given": True}


@pytest.mark.parametrize(
    ("heard", "doubt"),
    [
        (replace(SURE, hearings=(replace(FIRST, probability=0.6), replace(SECOND, probability=0.4))), "margin"),
        (replace(SURE, garbage=BY.unexpected.garbage + 0.1), "garbage"),
        (replace(SURE, partners=(Partner("thirteen six", BY.unexpected.partner - 0.1),)), "partner"),
        (with_first(ambiguous=True), "ambiguous"),
        (with_amount(unsure=True), "unsure"),
        (with_first(likely=False), "unlikely"),
        (with_amount(side_missing=True), "side"),
        (with_amount(value="625 1/8 in", inches=Fraction(5001, 8)), "odd"),
        (with_amount(value="36 23/50 in", inches=Fraction(1823, 50)), "odd"),
        (with_amount(value="914 mm", inches=Fraction(4570, 127), unit_given=True), "unit"),
        (replace(SURE, cut_off=True), "cut-off"),
        (with_amount(value="2 in", inches=Fraction(2)), "noise-prone"),
        (replace(with_amount(**WHOLE), stops=True), "cut-off"),
        (replace(with_amount(**WHOLE), goes_on=BY.goes_on + 0.1), "cut-off"),
        (replace(SURE, ear=TAUGHT, unfinished=Thresholds.load(TAUGHT).unfinished + 0.1), "cut-off"),
        (replace(with_first(weight=-4.0), ear=TAUGHT), "margin"),
    ],
)
def test_each_doubt_by_itself_asks(heard: Heard, doubt: Doubt) -> None:
    decision = decide(heard, ASKED)
    assert (decision.outcome, decision.doubts) == ("asked", (doubt,))
    assert decision.choices[0] == heard.hearings[0]


def test_a_reading_with_its_fraction_is_not_cut_by_a_loud_end() -> None:
    assert decide(replace(SURE, stops=True, goes_on=0.0), ASKED).outcome == "taken"


def test_a_crew_that_works_in_millimetres_is_not_asked_for_the_unit() -> None:
    heard = with_amount(value="914 mm", inches=Fraction(4570, 127), unit_given=True)
    assert decide(heard, Expect(unit="mm", metric=True)).outcome == "taken"


def test_more_is_asked_for_where_nothing_is_expected() -> None:
    bounded = Expect(likely_low=Quantity(Fraction(30), "in"), likely_high=Quantity(Fraction(40), "in"))
    garbage = BY.unexpected.garbage + 0.1
    assert BY.expected.needed(garbage, FIRST.weight) < SURE.margin
    heard = replace(SURE, garbage=garbage)
    assert decide(heard, bounded).outcome == "taken"
    assert decide(heard, ASKED).doubts == ("garbage",)
    assert decide(replace(heard, hearings=(replace(FIRST, likely=False),)), bounded).doubts == ("garbage", "unlikely")


def test_a_bare_small_number_is_taken_where_it_is_expected() -> None:
    heard = with_amount(value="2 in", inches=Fraction(2))
    bounded = Expect(likely_low=Quantity(Fraction(1), "in"), likely_high=Quantity(Fraction(3), "in"))
    assert decide(heard, bounded).outcome == "taken"


def command(safe: bool = True, garbage: float = -1.0, sure: float = 0.999) -> Heard:
    first = Hearing("command", "carry on", sure, -1.0, command="done", safe=safe)
    second = Hearing("reading", "ten", 1 - sure, -6.0, (Amount("10 in", Fraction(10)),))
    return Heard("embedded", (first, second), garbage, "", 1.0, 50)


@pytest.mark.parametrize(
    ("heard", "outcome"),
    [
        (command(), "command"),
        (command(safe=False), "asked"),
        (command(sure=0.6), "asked"),
        (command(garbage=BY.command.garbage + 0.1), "none"),
        (Heard("embedded", (), 3.0, "", 1.0, 50), "none"),
        (replace(SURE, garbage=BY.none_unexpected + 0.1), "none"),
        (replace(with_first(weight=-6.1), ear=TAUGHT), "none"),
        (replace(command(), ear=TAUGHT, unfinished=1.0), "asked"),
        (replace(command(), unfinished=1.0), "command"),
    ],
)
def test_commands_and_talk(heard: Heard, outcome: Outcome) -> None:
    assert decide(heard, ASKED).outcome == outcome


def test_at_most_three_choices_and_none_far_behind() -> None:
    near = [Hearing("reading", f"{n}", 0.2, -2, (Amount(f"{n} in", Fraction(n)),)) for n in range(4)]
    far = Hearing("reading", "far", 1e-9, -20, (Amount("9 in", Fraction(9)),))
    decision = decide(replace(SURE, hearings=(*near, far)), ASKED)
    assert decision.choices == tuple(near[:3])
    assert decide(replace(SURE, hearings=(near[0], far), garbage=BY.unexpected.garbage + 1), ASKED).choices == (
        near[0],
    )


def states(sure: float = 0.9999, **changes: object) -> Heard:
    first = Hearing(
        "answer", "top works middle binds", sure, -1.0, answer="no", by_place=(("top", "yes"), ("middle", "no"))
    )
    second = Hearing(
        "answer", "top works middle works", 1 - sure, -9.0, answer="yes", by_place=(("top", "yes"), ("middle", "yes"))
    )
    return replace(SURE, hearings=(first, second), **changes)  # type: ignore[arg-type]


def test_what_works_where_is_taken_when_it_is_sure() -> None:
    decision = decide(states(), Expect(states=True, places=("top", "middle")))
    assert (decision.outcome, decision.hearing, decision.choices) == ("taken", states().hearings[0], ())


@pytest.mark.parametrize(
    ("heard", "doubt"),
    [
        (states(0.6), "margin"),
        (states(garbage=BY.expected.garbage + 0.1), "garbage"),
        (states(partners=(Partner("top works middle fine", BY.unexpected.partner - 0.1),)), "partner"),
        (states(cut_off=True), "cut-off"),
        (states(stops=True), "cut-off"),
    ],
)
def test_each_doubt_of_what_works_where_asks_with_what_else_it_may_have_been(heard: Heard, doubt: Doubt) -> None:
    decision = decide(heard, Expect(states=True, places=("top", "middle")))
    assert decision.outcome == "asked" and doubt in decision.doubts
    assert decision.choices == (heard.hearings if doubt == "margin" else heard.hearings[:1])


def test_what_names_its_places_may_be_long_but_nothing_else_may_be_faint() -> None:
    by = Thresholds.load("embedded-trained")
    heard = states(garbage=0.0)
    faint = replace(heard, hearings=(replace(heard.hearings[0], weight=-5.0), heard.hearings[1]))
    plain = replace(faint, hearings=(replace(faint.hearings[0], by_place=()), faint.hearings[1]))
    assert decide(faint, by=by).outcome == "taken" and decide(plain, by=by).doubts == ("margin",)
    fainter = replace(heard, hearings=(replace(heard.hearings[0], weight=-2 * by.none_faint - 0.1), heard.hearings[1]))
    assert decide(fainter, by=by).outcome == "none"


def test_what_may_be_a_place_misheard_is_asked_about() -> None:
    heard = states()
    first = replace(heard.hearings[0], by_place=(), ambiguous=True)
    assert decide(replace(heard, hearings=(first, heard.hearings[1]))).doubts == ("ambiguous",)
