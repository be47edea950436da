"""Number words and fraction signs against independent sources."""

from __future__ import annotations

import unicodedata
from fractions import Fraction

import pytest
from num2words import num2words

from guide.quantity import Quantity
from guide.talk.say import whole
from guide.talk.words import Expect, hear


def reads(text: str) -> list[Quantity]:
    said = hear(text, Expect())
    assert len(said) == 1, text
    return [meaning.value for meaning in said[0].meanings]


def plain(words: str) -> str:
    return words.replace(",", "").replace("-", " ")


@pytest.mark.outside("num2words, every whole number to 9,999, with and without its 'and'", "published")
def test_every_number_in_words() -> None:
    for number in range(1, 10_000):
        for words in (plain(num2words(number)), plain(num2words(number)).replace(" and ", " ")):
            assert reads(words) == [Quantity(Fraction(number), "in")], words


@pytest.mark.outside("num2words, whole numbers as they are said back", "published")
def test_every_number_said_back() -> None:
    for number in range(10_000):
        assert whole(number) == plain(num2words(number)).replace(" and ", " ")


@pytest.mark.outside("num2words, both readings of hundreds (nineteen hundred, one thousand nine hundred)", "published")
def test_hundreds_said_as_years_are() -> None:
    for number in range(1100, 10_000, 3):
        hundreds, rest = divmod(number, 100)
        if hundreds % 10:
            words = f"{plain(num2words(hundreds))} hundred"
            for link in (" and ", " "):
                said = words + (link + plain(num2words(rest)) if rest else "")
                assert reads(said)[0] == Quantity(Fraction(number), "in"), said


@pytest.mark.outside("num2words, years (nineteen fourteen)", "published")
def test_two_numbers_run_together() -> None:
    for number in range(1110, 10_000, 7):
        words = plain(num2words(number, to="year"))
        assert Quantity(Fraction(number), "in") in reads(words), words


@pytest.mark.outside("num2words, ordinals as the names of parts (sixteenth, thirty-second)", "published")
def test_parts_of_one() -> None:
    for size in (3, 4, 8, 10, 16, 32, 64):
        name = plain(num2words(size, to="ordinal"))
        for count in range(2, min(size, 20)):
            assert reads(f"{plain(num2words(count))} {name}s")[0] == Quantity(Fraction(count, size), "in"), (
                count,
                name,
            )
        assert reads(f"one {name}") == [Quantity(Fraction(1, size), "in")]


@pytest.mark.outside("num2words, decimals to three places", "published")
def test_decimals_in_words() -> None:
    for thousandths in range(1, 40_000, 37):
        number = thousandths / 1000
        words = plain(num2words(number))
        assert reads(words) == [Quantity(Fraction(thousandths, 1000), "in")], words


@pytest.mark.outside("Unicode Character Database, every vulgar fraction sign", "published")
def test_every_fraction_sign() -> None:
    signs = [chr(code) for code in range(0x110000) if unicodedata.name(chr(code), "").startswith("VULGAR FRACTION")]
    assert len(signs) >= 19
    for sign in signs:
        value = Fraction(unicodedata.numeric(sign)).limit_denominator(100)
        assert reads(sign) == [Quantity(value, "in")], sign
        assert reads(f"36{sign}") == reads(f"36 {sign}") == [Quantity(36 + value, "in")], sign
