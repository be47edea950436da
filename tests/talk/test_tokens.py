"""What is typed, cut into words: every kind of quote, dash, slash and fraction sign, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.talk.tokens import LONGEST, cut


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("36 3/16", "36 3/16"),
        ("36-3/16", "36-3/16"),
        ("36 3 / 16", "36 3/16"),
        ("36¾", "36 3/4"),
        ("36³⁄₁₆", "36 3/16"),
        ("36 ¹¹⁄₁₆", "36 11/16"),
        ("¾6", "3/4 6"),
        ("36²", "36 2"),
        ("３６ ３／１６", "36 3/16"),
        ("36⁄16", "36/16"),
        ("3∕16", "3/16"),
        ("6'-8\"", "6 ' 8 \""),
        ("16'-8\"", "16 ' 8 \""),
        ("6’ 8”", "6 ' 8 \""),
        ("6′ 8″", "6 ' 8 \""),
        ("6ft-8", "6 ft ~- 8"),
        ("36''", '36 "'),
        ("6-8", "6-8"),
        ("-1/16", "- 1/16"),
        ("−1/16", "- 1/16"),
        ("–1/16", "- 1/16"),
        ("+1/16", "+ 1/16"),
        ("top -1/8", "top - 1/8"),
        ("top - 1/8", "top ~- 1/8"),
        ("top-1/8", "top ~- 1/8"),
        ("top- 1/8", "top ~- 1/8"),
        ("-a sixteenth", "- a sixteenth"),
        ("- a sixteenth", "- a sixteenth"),
        ("+a sixteenth", "+ a sixteenth"),
        ("top -an eighth", "top - an eighth"),
        ("1/16 - high", "1/16 , high"),
        ('36"-', '36 " ~-'),
        ("1/8-", "1/8 ~-"),
        ("1/8+", "1/8 ~+"),
        ("36+3/16", "36 and 3/16"),
        ("top 6+3/16", "top 6 and 3/16"),
        ("top-a half", "top a half"),
        ("36 & 3/16", "36 and 3/16"),
        ("thirty-six", "thirty six"),
        ("thirtysix", "thirty six"),
        ("3-foot", "3 foot"),
        ("fourty", "forty"),
        ("sixish", "six ish"),
        ("36ish", "36 ish"),
        ("it's", "it is"),
        ("It’s", "it is"),
        ("the left's", "the left is"),
        ("we've", "we have"),
        ("approx.", "about"),
        ("~36", "about 36"),
        ("16ths", "16th"),
        ("32nds", "32th"),
        ("3/16ths", "3/16"),
        ("914mm", "914 mm"),
        ("20 ft2", "20 ft2"),
        ("0.5 mm/m", "0.5 mm/m"),
        ("36,5", "36,5"),
        ("36, 5", "36 , 5"),
        ("36,5/8", "36 , 5/8"),
        ("1,250.5", "1,250.5"),
        ("1.250,5", "1.250,5"),
        ("1 250 mm", "1250 mm"),
        ("1 250", "1 250"),
        (",5", ".5"),
        ("36.", "36"),
        ("36 1/8.", "36 1/8"),
        ("36 in. top", "36 in top"),
        ("36!?", "36"),
        ("top: 36", "top 36"),
        ("top:36", "top 36"),
        ("top = 36", "top is 36"),
        ("1/8 @ top", "1/8 at top"),
        ("36\n37", "36 ; 37"),
        ("36,", "36"),
        ("3\u200b6", "36"),
        ("36\u00a03/16", "36 3/16"),
        ("", ""),
    ],
)
def test_words(text: str, words: str) -> None:
    found = cut(text)
    assert found is not None
    assert " ".join(found.words) == words


def test_a_comma_can_part_two_numbers() -> None:
    found = cut("74,75 3/8,1.5", commas_part=True)
    assert found is not None
    assert found.words == ("74", ",", "75", "3/8", ",", "1.5")


@pytest.mark.parametrize(
    "text",
    [
        "12:30",
        "1/2/3",
        "3/16/8",
        "1.5/8",
        "±1/16",
        "(36)",
        "36€",
        "٣٦",
        "36\u202e",
        "x" * (LONGEST + 1),
        "1 " * 130,
    ],
)
def test_what_no_reading_holds(text: str) -> None:
    assert cut(text) is None


def test_the_text_of_some_words_is_as_it_was_typed() -> None:
    found = cut("Top: 36¾ STRONG, middle 36 3 / 16.")
    assert found is not None
    assert found.words == ("top", "36", "3/4", "strong", ",", "middle", "36", "3/16")
    assert found.said(1, 4) == "36¾ STRONG"
    assert found.part(4, 8).said() == "middle 36 3 / 16"


@given(st.text(max_size=LONGEST + 5))
def test_anything_can_be_cut(text: str) -> None:
    for commas_part in (False, True):
        found = cut(text, commas_part)
        if found is not None:
            assert len(found.words) == len(found.spans)
            assert all(0 <= start < end <= len(text) for start, end in found.spans)
            assert all(before[0] <= behind[0] for before, behind in zip(found.spans, found.spans[1:], strict=False))


def test_a_comma_between_digits_belongs_to_one_number_or_parts_two() -> None:
    for text, joined, parted in (
        ("74,75", "74,75", "74 , 75"),
        ("36,5 and 37,5", "36,5 and 37,5", "36 , 5 and 37 , 5"),
        (",5", ".5", ".5"),
        (",5,6", "5,6", "5 , 6"),
        (",5 ,6", ".5 , 6", ".5 , 6"),
    ):
        for commas_part, words in ((False, joined), (True, parted)):
            found = cut(text, commas_part)
            assert found is not None
            assert " ".join(found.words) == words, (text, commas_part)
