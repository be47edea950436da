"""What is said for what is shown: figures as the trade says them, everything else as it stands."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.quantity import Quantity
from guide.talk.say import spoken, written
from guide.talk.words import Expect, hear
from guide.voice.mouth_words import LONGEST, Part, parts, said


@pytest.mark.parametrize(
    ("shown", "heard"),
    [
        ("Top: 36 3/16 in. Good.", "Top: thirty six and three sixteenths. Good."),
        ("1/16 in, the right end is high.", "a sixteenth, the right end is high."),
        ("Good is 0 in to 1/16 in.", "Good is zero inches to a sixteenth"),
        ("±1/8 in", "plus or minus an eighth"),
        ("−1/8 in off", "minus an eighth off"),
        ("6' 8 1/4\" high", "eighty and a quarter high"),
        ("36½ in", "thirty six and a half"),
        ("914 mm", "nine hundred fourteen millimetres"),
        ("24 h now for sealant", "twenty four hours now for sealant"),
        ('36" wide', "thirty six inches wide"),
        ("a 4-9/16 in frame", "a four and nine sixteenths frame"),
        ("a 3 in screw", "a three inch screw"),
        ("top 74 3/8, bottom 74", "top seventy four and three eighths , bottom 74"),
        ("120–124 in", "120 to one hundred twenty four inches"),
    ],
)
def test_figures_are_said_as_the_trade_says_them(shown: str, heard: str) -> None:
    assert said(shown).replace(" ,", ",") == heard.replace(" ,", ",")


@pytest.mark.parametrize(
    "shown",
    [
        "A 2x4 wall.",
        "IRC R311.2",
        "until Mon 14:35",
        "Step 3 in the list.",
        '"36" is no number.',
        "1: single.",
        "1/0 in",
        "on 2026-05-04",
        "number 10",
    ],
)
def test_what_is_no_figure_stays(shown: str) -> None:
    assert not any(part.figure for part in parts(shown))
    assert said(shown) == shown


def test_figures_stand_apart_so_that_they_can_be_said_slowly() -> None:
    assert parts("The head is 36 3/16 in now.") == (
        Part("The head is"),
        Part("thirty six and three sixteenths", figure=True),
        Part("now."),
    )


@pytest.mark.parametrize("nothing", ["", " \n", "...", "…", "— !"])
def test_nothing_to_say(nothing: str) -> None:
    assert parts(nothing) == ()


@given(st.integers(1, 16 * 144))
def test_every_sixteenth_is_said_so_that_it_reads_back(sixteenths: int) -> None:
    value = Quantity(Fraction(sixteenths, 16), "in")
    (part,) = parts(written(value))
    assert part == Part(spoken(value), figure=True)
    meanings = [one.value for heard in hear(part.words, Expect()) for one in heard.meanings]
    assert value in meanings


@given(st.text(max_size=80))
def test_any_text_can_be_said(text: str) -> None:
    assert all(part.words.isprintable() for part in parts(text))


def test_a_very_long_text_is_cut() -> None:
    assert len(said("word " * 5000)) <= LONGEST
