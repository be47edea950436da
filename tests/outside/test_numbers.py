"""Number words against an independent library."""

from __future__ import annotations

import pytest
from num2words import num2words

from guide.quantity import Quantity
from guide.talk.say import whole
from guide.talk.words import Expect, hear


def reads(text: str) -> list[Quantity]:
    said = hear(text, Expect())
    assert len(said) == 1, text
    return [meaning.value for meaning in said[0].meanings]


@pytest.mark.outside("num2words, every whole number to 9,999, with and without its 'and'", "published")
def test_every_number_in_words() -> None:
    for number in range(1, 10_000):
        words = num2words(number).replace(",", "")
        assert f"{number} in" in [str(value) for value in reads(words)], words
        bare = words.replace(" and ", " ").replace("-", " ")
        assert f"{number} in" in [str(value) for value in reads(bare)], bare


@pytest.mark.outside("num2words, whole numbers as they are said back", "published")
def test_every_number_said_back() -> None:
    for number in range(10_000):
        assert whole(number) == num2words(number).replace(",", "").replace(" and ", " ").replace("-", " ")


@pytest.mark.outside("num2words, both readings of hundreds (nineteen hundred, one thousand nine hundred)", "published")
def test_hundreds_said_as_years_are() -> None:
    for hundreds in range(11, 100):
        if hundreds % 10:
            words = f"{num2words(hundreds).replace('-', ' ')} hundred"
            assert f"{hundreds * 100} in" in [str(value) for value in reads(words)], words
