"""Moves, doubts and proofs as sentences."""

from __future__ import annotations

from fractions import Fraction

import pytest

from guide.trade.fault import Suspect, Suspicion
from guide.trade.frame import Spot, Unit, frame_of
from guide.trade.learn import Surprise, SurpriseKind
from guide.trade.proof import Cannot, Cure, Row
from guide.trade.told import (
    READINGS,
    cannot_said,
    cannot_told,
    fault_told,
    move_told,
    spoken,
    spot_told,
    surprise_told,
    suspicion_told,
)

PAIR = frame_of(Unit(Fraction(72), Fraction(82)))
SINGLE = frame_of(Unit(Fraction(36), Fraction(82), 1))
POINTS = {point.name: point for point in (*PAIR.points, *SINGLE.points)}


@pytest.mark.parametrize(
    ("amount", "words"),
    [
        ("1/16", "a sixteenth"),
        ("-1/16", "a sixteenth"),
        ("3/16", "three sixteenths"),
        ("1/8", "an eighth"),
        ("3/8", "three eighths"),
        ("1/4", "a quarter"),
        ("1/2", "half an inch"),
        ("1", "an inch"),
        ("3/2", "an inch and a half"),
        ("5/4", "an inch and a quarter"),
        ("9/4", "two inches and a quarter"),
        ("13", "13 inches"),
        ("15/32", "15 thirty-seconds"),
        ("1/64", "a sixty-fourth"),
        ("0", "nothing"),
        ("1/3", "about 21/64 in"),
    ],
)
def test_lengths_as_said_on_a_site(amount: str, words: str) -> None:
    assert spoken(Fraction(amount)) == words


@pytest.mark.parametrize(
    ("point", "by", "sentence"),
    [
        ("left middle hinge", "1/16", "In at the left middle hinge, a sixteenth."),
        ("left middle hinge", "-1/16", "Out at the left middle hinge, a sixteenth."),
        ("right top hinge", "1/8", "Out at the right top hinge, an eighth."),
        ("right top hinge", "-1/8", "In at the right top hinge, an eighth."),
        ("right middle lock-side point", "-1/8", "In at the right middle lock-side point, an eighth."),
        ("head", "3/16", "Move the head to the right, three sixteenths."),
        ("sill", "-1/4", "Move the sill to the left, a quarter."),
        ("head centre", "1/16", "Push the middle of the head up, a sixteenth."),
        ("head centre", "-1/16", "Let the middle of the head down, a sixteenth."),
        ("left sill end", "1/8", "Raise the left end of the sill, an eighth."),
        ("right sill end", "-1/16", "Lower the right end of the sill, a sixteenth."),
        ("top left corner", "1/8", "Move the top left corner toward the room, an eighth."),
        ("bottom right corner", "-1/8", "Move the bottom right corner toward the outside, an eighth."),
    ],
)
def test_one_sentence_a_move(point: str, by: str, sentence: str) -> None:
    assert move_told(POINTS[point], Fraction(by)) == sentence


def test_every_move_and_every_reading_has_its_sentence() -> None:
    sentences = {move_told(point, by) for point in PAIR.points for by in (Fraction(1, 8), Fraction(-1, 8))}
    assert len(sentences) == 2 * len(PAIR.points)
    assert {reading for reading, _ in (*PAIR.spots, *SINGLE.spots)} <= set(READINGS)
    assert spot_told(("square", "top left")) == "the square, top left"
    assert spot_told(("twist", "")) == "the twist"
    assert spot_told(("odd_thing", "")) == "odd thing"


def test_every_fault_has_its_words_both_ways() -> None:
    told = {fault_told(fault.name, size) for fault in PAIR.faults for size in (0.1, -0.1)}
    assert len(told) == 2 * len(PAIR.faults)
    assert fault_told("left side frame", 0.2) == "the left side frame is too long"
    assert fault_told("head length", -0.2) == "the head is too short"
    assert fault_told("left leaf rack", 0.2) == "the left leaf is racked, its far top corner high"
    assert fault_told("right leaf height", 0.2) == "the right leaf is too tall"
    assert fault_told("leaf width", -0.2) == "the doors are too narrow"
    assert fault_told("leaf taper", 0.2) == "the doors are wider at the top"


def suspect(spot: Spot | None, fault: str | None, size: float) -> Suspect:
    """A cause."""
    return Suspect(spot, next((one for one in PAIR.faults if one.name == fault), None), size, 5.0)


def test_doubts() -> None:
    misread, racked = suspect(("square", "top left"), None, 0.24), suspect(None, "left leaf rack", -0.19)
    assert suspicion_told(Suspicion((misread,), (), None)) == []
    assert suspicion_told(Suspicion((), (misread,), None)) == [
        "No move explains these readings: the square, top left, may be misread by about a quarter."
    ]
    assert suspicion_told(Suspicion((), (racked,), None)) == [
        "It may be that the left leaf is racked, its far top corner low by about three sixteenths."
    ]
    both = suspicion_told(Suspicion((), (misread, racked), ("twist", "")))
    assert both[1].startswith("Or it may be that the left leaf is racked")
    assert both[2] == "Read the twist: that tells them apart."


KINDS: tuple[SurpriseKind, ...] = ("opposite", "not made", "twice")


def test_surprises() -> None:
    assert "Read the twist again" in surprise_told(Surprise(1, "reading", ("twist", ""), None, 0.2))
    told = {kind: surprise_told(Surprise(1, kind, None, "head", 0.0)) for kind in KINDS}
    assert told["opposite"] == "The move at the head had the opposite effect: it went the other way."
    assert "was not made, or came back" in told["not made"]
    assert "twice over" in told["twice"]


SQUARE = ("square", "top left")
ROW = Row(
    {
        ("square", "top left"): Fraction(1),
        ("hinge_reveal", "left top"): Fraction(-1, 2),
        ("twist", ""): Fraction(1, 99),
    },
    {"head": Fraction(-1)},
    Fraction(1, 2),
    Fraction(3, 8),
)
CURE = Cure("fault", "leaf width", Fraction(1, 4), "plane the far edge")
FREED = Cure("point", "head", Fraction(0), "let it be moved after all")


def test_a_proof_to_read() -> None:
    assert cannot_told(Cannot(ROW, True, None, (CURE, FREED))) == [
        "Whatever is moved, with what room there is at the head, this sum stays 1/2 in: + the square, top left "
        "− 0.50 × the gap on the hinge side, left top + a little of 1 other reading. The tolerances allow 3/8 in: "
        "short by 1/8 in.",
        "What would do it: leaf width: plane the far edge (by a quarter); or head: let it be moved after all.",
    ]
    assert "no more than the readings' own noise" in cannot_told(Cannot(ROW, False, None, ()))[1]
    hair = Row(ROW.weights, {}, Fraction(1, 2), Fraction(1, 2) - Fraction(1, 1000))
    assert "short by less than 1/64 in" in cannot_told(Cannot(hair, True, None, ()))[0]


def test_a_proof_to_hear() -> None:
    said = cannot_said(Cannot(ROW, True, None, (CURE,)))
    assert said[0] == (
        "Shims alone can't do it. The square, top left; the gap on the hinge side, left top: they pull against each "
        "other, short by 1/8 in."
    )
    assert said[1] == "What would do it: leaf width: plane the far edge (by a quarter)."
    assert "no more than noise" in cannot_said(Cannot(ROW, False, None, ()))[0]


def test_thinner_shims() -> None:
    for told in (cannot_told, cannot_said):
        assert told(Cannot(None, True, Fraction(1, 32), ())) == [
            "It needs thinner shims: steps of a thirty-second would do it."
        ]
        assert "not in steps that shims are made in" in told(Cannot(None, True, None, ()))[0]
