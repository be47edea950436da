"""Which hand a door is: every way of seeing it, both names, and the sketch."""

from __future__ import annotations

import pytest

from guide.trade.handing import Face, Hand, Side, Swing, hand, other_side, sketch


@pytest.mark.parametrize(
    ("hinges", "opens", "code", "name", "din"),
    [
        ("left", "in", "LH", "left hand", "right"),
        ("right", "in", "RH", "right hand", "left"),
        ("left", "out", "LHR", "left hand reverse", "left"),
        ("right", "out", "RHR", "right hand reverse", "right"),
    ],
)
def test_the_four_hands(hinges: Side, opens: Swing, code: str, name: str, din: Side) -> None:
    found = hand(hinges, opens)
    assert (found.code, found.name, found.din) == (code, name, din)
    assert hand(other_side(hinges), opens, "inside") == found


@pytest.mark.parametrize("seen_from", ["outside", "inside"])
@pytest.mark.parametrize("hinges", ["left", "right"])
@pytest.mark.parametrize("opens", ["in", "out"])
def test_din_is_what_is_seen_from_the_hinges(seen_from: Face, hinges: Side, opens: Swing) -> None:
    found = hand(hinges, opens, seen_from)
    hinges_show_outside = opens == "out"
    assert (found.din == hinges) == (hinges_show_outside == (seen_from == "outside"))


def test_a_single_door_drawn() -> None:
    assert sketch(Hand("left", "in")).splitlines() == [
        "INSIDE",
        "           /",
        "          /",
        "         /",
        "        /",
        "#######o                #######",
        "OUTSIDE",
    ]
    assert sketch(Hand("right", "out")).splitlines()[1] == "#######                o#######"


def test_a_mirrored_door_is_drawn_mirrored() -> None:
    swap = str.maketrans("/\\", "\\/")
    for opens in ("in", "out"):
        for pair in (False, True):
            left = [line.ljust(31)[::-1].translate(swap).rstrip() for line in _plan(Hand("left", opens), pair)]
            assert left == _plan(Hand("right", opens), pair)


def _plan(found: Hand, pair: bool) -> list[str]:
    return sketch(found, pair).splitlines()[1:-1]


def test_a_pair_drawn_names_its_active_leaf() -> None:
    drawn = sketch(Hand("right", "in"), pair=True)
    assert "active leaf on the right, seen from outside" in drawn
    assert drawn.count("o") == 2 + "active leaf on the right, seen from outside".count("o")
