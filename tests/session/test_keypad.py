"""Keys put answers together as a crew would type them, and what they type is always read as what they show."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from talking import WORDING

from guide.session.keypad import SIXTEENTHS, Keypad, keypad, press
from guide.session.turns import Ask
from guide.talk.expect import Expect
from guide.talk.words import hear, settle


def pressed(*keys: str, text: str = "") -> str:
    for key in keys:
        text = press(text, key)
    return text


@pytest.mark.parametrize(
    ("keys", "text"),
    [
        (["3", "6", "3/16"], "36 3/16"),
        (["3/16", "3", "6"], "36 3/16"),
        (["6", "ft", "8", "1/4"], "6' 8 1/4\""),
        (["6", "ft"], "6'"),
        (["9", "1", "4", "mm"], "914 mm"),
        (["mm", "9", "1", "4"], "914 mm"),
        (["9", "1", "4", ".", "5", ".", "mm"], "914.5 mm"),
        (["-", "1/16"], "-1/16"),
        (["1/16", "-", "+"], "+1/16"),
        (["+", "+", "1/8"], "1/8"),
        (["3/16", "+1/32"], "7/32"),
        (["15/16", "+1/32"], "31/32"),
        (["15/16", "+1/32", "+1/32"], "1"),
        (["3", "15/16", "+1/32", "+1/32"], "4"),
        (["1/2", "1/2"], ""),
        (["1/2", "5/8"], "5/8"),
        (["3", "6", "3/16", "back"], "36"),
        (["3", "6", "back"], "3"),
        (["6", "ft", "8", "back", "back"], "6"),
        (["-", "back"], ""),
        (["9", "mm", "1/2"], "9 1/2"),
        (["mm", "back"], ""),
    ],
)
def test_what_keys_make(keys: list[str], text: str) -> None:
    assert pressed(*keys) == text


def test_keys_on_typed_words_begin_anew_but_the_last_letter_can_be_taken_back() -> None:
    assert press("about a foot", "3") == "3"
    assert press("about a foot", "back") == "about a foo"
    assert press("36 1/0", "4") == "364"


def test_no_more_digits_than_a_figure_has() -> None:
    assert len(pressed(*("9" * 100))) == 12


KEYS = ["0", "1", "2", "7", "9", *(str(part) for part in SIXTEENTHS), "+1/32", "ft", "mm", "back", "+", "-"]


@given(st.lists(st.sampled_from(KEYS), max_size=8))
def test_what_keys_make_is_read_as_one_reading_or_is_none_yet(keys: list[str]) -> None:
    text = pressed(*keys)
    said = hear(text, Expect(unit="in"))
    assert len(said) <= 1
    if any(c.isdigit() for c in text):
        assert len(said) == 1 and settle(said[0], Expect(unit="in")) is not None, text


@pytest.mark.parametrize("part", SIXTEENTHS)
def test_every_sixteenth_has_its_key(part: Fraction) -> None:
    keys = keypad(Ask("Width?", "number", "reading", unit="in"), None, (), WORDING)
    assert str(part) in [key.text for key in keys.blocks[1]]


@pytest.mark.parametrize(
    ("ask", "kind", "labels"),
    [
        (None, "none", []),
        (Ask("PIN?", "text", "pin", secret=True), "secret", ["1", "2"]),
        (Ask("Width?", "number", unit="mm"), "millimetres", ["1", "2"]),
        (Ask("Weight?", "number", unit="lb"), "digits", ["1", "2"]),
        (Ask("Which?", "choice", choices=("a", "b"), labels=("left", "right")), "choice", ["1", "2"]),
        (Ask("Good?", "yes-no"), "yes-no", ["Yes", "No"]),
        (Ask("Do it.", "done", "done"), "done", ["Done"]),
        (Ask("Beware.", "done", "cautions"), "done", ["Understood"]),
        (Ask("Who?", "name"), "name", ["Ana", "Bo"]),
        (Ask("Why?", "text"), "text", []),
    ],
)
def test_which_keys_fit(ask: Ask | None, kind: str, labels: list[str]) -> None:
    keys = keypad(ask, None, ("Ana", "Bo"), WORDING)
    assert keys.kind == kind
    assert [key.label for block in keys.blocks for key in block][:2] == labels


def test_a_choice_is_answered_by_its_number() -> None:
    keys: Keypad = keypad(Ask("Which?", "choice", choices=("a", "b"), labels=("left", "right")), None, (), WORDING)
    assert [(key.text, key.words) for key in keys.blocks[0]] == [("1", "left"), ("2", "right")]


def test_of_a_secret_every_digit_counts_however_many_and_back_takes_the_last() -> None:
    text = ""
    for digit in "0012345678901234":
        text = press(text, digit, secret=True)
    assert text == "0012345678901234"
    assert press("1234", "back", secret=True) == "123"
