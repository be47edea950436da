"""What a reading is like before anything is heard: what nobody says so loses a little, never everything."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from guide.quantity import Quantity
from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.talk.say import ways
from guide.voice.embedded.meanings import Meanings, weigh
from guide.voice.embedded.priors import OVER_ONE, PRIOR_MOST, UNREDUCED, unreduced

PHRASES = Phrases.load("en")


@pytest.mark.parametrize(
    ("said", "nats"),
    [
        ("thirteen sixteenths", 0),
        ("thirty six and thirteen sixteenths", 0),
        ("fourteen sixteenths", UNREDUCED),
        ("four eighths", UNREDUCED),
        ("thirty sixteenths", OVER_ONE),
        ("thirty six and thirty sixteenths", OVER_ONE),
        ("nine eighths", OVER_ONE),
        ("six thirty seconds", UNREDUCED),
        ("an eighth", 0),
        ("thirty five sixteenths", 0),  # 30 5/16
        ("thirty six sixteenths", UNREDUCED),  # 36/16, or 30 and six of them
        ("three quarters", 0),
        ("sixteen", 0),
        ("eighths", 0),
        ("one thirty second", 0),
    ],
)
def test_a_part_that_a_crew_would_have_reduced(said: str, nats: float) -> None:
    assert unreduced(said) == nats


def test_no_way_of_saying_a_size_in_its_lowest_terms_loses_anything() -> None:
    chance = random.Random(2)
    for _ in range(300):
        value = Quantity(Fraction(chance.randrange(1, 32 * 100), 32), "in")
        said = [way for way in ways(value) if way.replace(" ", "").isalpha()]
        assert said and min(unreduced(way) for way in said) == 0


def first(*texts: tuple[str, float]) -> str:
    meanings = Meanings(PHRASES, Expect(), None)
    return weigh([(way, weight) for text, weight in texts for way in meanings.of(text)])[0].words


def test_between_two_that_sound_alike_the_one_in_lowest_terms_comes_first() -> None:
    assert first(("fourteen sixteenths", -1.0), ("thirteen sixteenths", -1.5)) == "thirteen sixteenths"
    assert first(("thirty sixteenths", -1.0), ("thirteen sixteenths", -1.5)) == "thirteen sixteenths"


def test_what_was_clearly_said_is_heard_all_the_same() -> None:
    assert max(UNREDUCED, OVER_ONE) <= PRIOR_MOST
    assert first(("fourteen sixteenths", -1.0), ("thirteen sixteenths", -5.5)) == "fourteen sixteenths"


def test_three_hundred_inches_are_less_likely_than_sixteenths_that_were_run_together() -> None:
    texts = (("three hundred sixteen", -1.0), ("three sixteenths", -2.0))
    assert first(*texts) == "three sixteenths"
