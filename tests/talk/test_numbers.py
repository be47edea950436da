"""Numbers typed and said: every amount that the words can mean, exactly, and nothing left over."""

from __future__ import annotations

from fractions import Fraction

import pytest

from guide.talk.numbers import LARGEST, Numbers
from guide.talk.tokens import cut


def amounts(text: str, seconds: bool = False) -> list[str]:
    """The amounts that use up all the words, the most usual first."""
    found = cut(text)
    assert found is not None
    return [
        str(read.value)
        for read in Numbers(found.words, seconds).at(0)
        if read.end == len(found.words) and not read.only
    ]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("0", ["0"]),
        ("00", ["0"]),
        ("36", ["36"]),
        ("999999", []),
        ("1234567", []),
        ("36 3/16", ["579/16"]),
        ("36-3/16", ["579/16"]),
        ("36 and 3/16", ["579/16"]),
        ("36, and 3/16", ["579/16"]),
        ("36, 3/16", []),
        ("36 16/16", []),
        ("36 0/16", ["36"]),
        ("3/7", ["3/7"]),
        ("5/3", ["5/3"]),
        ("0/4", ["0"]),
        ("1/0", []),
        ("36 1/0", []),
        ("36 - 3/16", ["579/16", "573/16"]),
        ("36-17/16", []),
        (".125", ["1/8"]),
        ("0.125", ["1/8"]),
        ("36.5", ["73/2"]),
        ("36,5", ["73/2"]),
        ("1,250", ["1250", "5/4"]),
        ("0,250", ["1/4"]),
        ("1,25", ["5/4"]),
        ("1,250.5", ["2501/2"]),
        ("1.250,5", ["2501/2"]),
        ("3 sixteenths", ["3/16"]),
        ("3 16ths", ["3/16"]),
        ("36 3 16ths", ["579/16"]),
        ("36 and a half", ["73/2"]),
        ("36 and three sixteenths", ["579/16"]),
        ("thirty six and 3/16", ["579/16"]),
        ("a 1/16", ["1/16"]),
        ("36 36", []),
    ],
)
def test_figures(text: str, found: list[str]) -> None:
    assert amounts(text) == found


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("zero", ["0"]),
        ("oh", ["0"]),
        ("nine hundred fourteen", ["914"]),
        ("nine hundred and fourteen", ["914"]),
        ("a hundred and one", ["101"]),
        ("hundred and twelve", ["112"]),
        ("nineteen hundred", ["1900"]),
        ("one thousand nine hundred", ["1900"]),
        ("two thousand and thirty two", ["2032"]),
        ("twelve thousand three hundred and forty five", ["12345"]),
        ("nine fourteen", ["914", "457/50"]),
        ("twenty thirty two", ["2032", "508/25"]),
        ("twelve oh five", ["1205"]),
        ("nine one four", ["914"]),
        ("one oh four", ["104"]),
        ("six eight", ["68"]),
        ("two forty", ["240", "12/5"]),
        ("two forty and a half", ["481/2"]),
        ("thirty six point five", ["73/2"]),
        ("thirty six point two five", ["145/4"]),
        ("thirty six point twenty five", ["145/4"]),
        ("thirty six point one twenty five", ["289/8"]),
        ("point one two five", ["1/8"]),
        ("oh point five", ["1/2"]),
        ("ninety one point 4", ["457/5"]),
        ("point", []),
        ("thirty six point", []),
        ("ten point ten point ten", []),
        ("thirty thirty six", ["3036", "759/25"]),
        ("six thirty", ["630", "63/10"]),
        ("hundred hundred", []),
    ],
)
def test_whole_numbers_and_decimals_in_words(text: str, found: list[str]) -> None:
    assert amounts(text) == found


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("half", ["1/2"]),
        ("a half", ["1/2"]),
        ("one half", ["1/2"]),
        ("two halves", ["1"]),
        ("three quarters", ["3/4"]),
        ("three quarter", ["3/4"]),
        ("a fourth", ["1/4"]),
        ("an eighth", ["1/8"]),
        ("one eighth", ["1/8"]),
        ("five eights", ["5/8"]),
        ("three sixteenth", ["3/16"]),
        ("half a sixteenth", ["1/32"]),
        ("half an eighth", ["1/16"]),
        ("one thirty second", ["1/32"]),
        ("thirty second", ["1/32"]),
        ("three thirty seconds", ["3/32"]),
        ("one sixty fourth", ["1/64"]),
        ("sixty fourth", ["1/64"]),
        ("thirty six and three sixteenths", ["579/16"]),
        ("thirty six and half", ["73/2"]),
        ("thirty six a half", ["73/2"]),
        ("thirty six half", ["73/2"]),
        ("six quarter", ["25/4", "3/2"]),
        ("thirty six and one thirty second", ["1153/32"]),
        ("thirty six sixteenths", ["243/8", "9/4"]),
        ("twenty one eighths", ["161/8", "21/8"]),
        ("thirty sixteenths", ["15/8"]),
        ("one hundred and one eighth", ["801/8", "101/8"]),
        ("one hundred and forty one quarter", ["561/4", "141/4"]),
        ("thirty six three sixteenths", ["579/16", "363/16"]),
        ("eighty two five eighths", ["661/8", "825/8"]),
        ("twenty five thirty seconds", ["25/32", "645/32"]),
        ("one three sixteenths", ["19/16", "13/16"]),
        ("one one eighths", ["9/8"]),
        ("three and five sixteenths", ["53/16"]),
        ("three five sixteenths", ["53/16"]),
        ("thirty six and", []),
        ("and a half", []),
        ("sixteenths of", []),
    ],
)
def test_fractions_in_words(text: str, found: list[str]) -> None:
    assert amounts(text) == found


def test_thirty_seconds_are_a_time_where_a_time_is_asked_for() -> None:
    assert amounts("thirty second") == ["1/32"]
    assert amounts("thirty second", seconds=True) == []


def test_what_is_a_prefix_is_found_with_its_end() -> None:
    found = Numbers(("thirty", "six", "and", "a", "half")).at(0)
    assert [(read.value, read.end) for read in found] == [(Fraction(73, 2), 5), (Fraction(36), 2), (Fraction(30), 1)]


def test_no_number_is_larger_than_the_largest() -> None:
    assert amounts(str(LARGEST)) == [str(LARGEST)]
    assert amounts(str(LARGEST + 1)) == []
    assert amounts("one hundred thousand") == []


FLAGS = ("fraction", "typed", "run_on", "parts")


@pytest.mark.parametrize(
    ("text", "ways"),
    [
        ("36", ["36 typed"]),
        ("thirty six", ["36"]),
        ("36.5", ["73/2 typed"]),
        ("36,5", ["73/2 typed"]),
        ("1,250", ["1250 typed", "5/4 typed ~1"]),
        ("1.250", ["5/4 typed", "1250 typed ~2 only mm"]),
        ("1,250.5", ["2501/2 typed"]),
        ("1.250,5", ["2501/2 typed"]),
        ("3/16", ["3/16 fraction typed parts"]),
        ("a 3/16", ["3/16 fraction typed parts"]),
        ("an eighth", ["1/8 fraction parts"]),
        ("three sixteenths", ["3/16 fraction parts"]),
        ("half a sixteenth", ["1/32 fraction parts"]),
        ("1 16th", ["1/16 fraction parts"]),
        ("1 15th", []),
        ("nine fourteen", ["914 run_on", "457/50 run_on ~2"]),
        ("twelve oh five", ["1205 run_on"]),
        ("thirty oh", []),
        ("twelve oh", []),
        ("thirty six three sixteenths", ["579/16 parts", "363/16 fraction parts ~3"]),
        ("twenty five nine sixteenths", ["409/16 parts", "259/16 fraction parts ~3"]),
        ("thirty six sixteenths", ["243/8 parts ~1", "9/4 fraction parts ~2"]),
        ("6 quarter", ["25/4 parts ~1", "3/2 fraction parts ~2"]),
        ("36 3/16", ["579/16 typed parts"]),
        ("36-3/16", ["579/16 typed parts"]),
        ("36 - 3/16", ["579/16 typed parts", "573/16 typed parts ~3"]),
        ("12345", ["12345 typed"]),
        ("000001", ["1 typed"]),
        ("0000001", []),
    ],
)
def test_how_a_number_was_put(text: str, ways: list[str]) -> None:
    """Its amount, what is known of how it was put, how unusual it is, and the unit without which it is none."""
    found = cut(text)
    assert found is not None
    reads = [read for read in Numbers(found.words).at(0) if read.end == len(found.words)]
    assert [
        " ".join(
            [str(read.value)]
            + [flag for flag in FLAGS if getattr(read, flag)]
            + [f"~{read.usual}"] * bool(read.usual)
            + [f"only {read.only}"] * bool(read.only)
        )
        for read in reads
    ] == ways
