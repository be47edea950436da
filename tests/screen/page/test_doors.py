"""Who is let in: codes once, few tries, passes of two halves that end; and what may be sent how fast."""

from __future__ import annotations

import pytest
from fakes import Ticks
from hypothesis import given
from hypothesis import strategies as st

from guide.screen.page.doors import (
    ALPHABET,
    CODE_LASTS,
    LENGTH,
    MOST_PASSES,
    PASS_LASTS,
    TRIES,
    Allowance,
    Doors,
)


def test_a_code_works_once() -> None:
    doors = Doors(Ticks())
    code = doors.new_code()
    assert len(code) == LENGTH and set(code) <= set(ALPHABET)
    made = doors.enter(code)
    assert made is not None and doors.knows(made.ticket) and doors.lets(made.ticket, made.key)
    assert doors.enter(code) is None and not doors.open


@pytest.mark.parametrize("written", ["{0}", " {1}-{2} ", "{1} {2}"])
def test_a_code_may_be_typed_in_small_letters_and_in_groups(written: str) -> None:
    doors = Doors(Ticks())
    code = doors.new_code()
    assert doors.enter(written.format(code, code[:4], code[4:]).lower()) is not None


def test_before_there_is_a_code_nothing_is_one() -> None:
    assert Doors(Ticks()).enter("") is None


def test_too_many_wrong_codes_void_the_right_one() -> None:
    doors = Doors(Ticks())
    code = doors.new_code()
    for _ in range(TRIES - 1):
        assert doors.enter("22222222") is None and doors.open
    assert doors.enter("22222222") is None and not doors.open
    assert doors.enter(code) is None
    assert doors.enter(doors.new_code()) is not None


def test_a_new_code_and_time_void_the_old_one() -> None:
    ticks = Ticks()
    doors = Doors(ticks)
    old, new = doors.new_code(), doors.new_code()
    assert doors.enter(old) is None
    ticks.at += CODE_LASTS
    assert not doors.open and doors.enter(new) is None


def test_a_pass_takes_both_halves_of_the_same_one() -> None:
    doors = Doors(Ticks())
    one, other = (doors.enter(doors.new_code()) for _ in range(2))
    assert one is not None and other is not None
    assert not doors.lets(one.ticket, other.key) and not doors.lets(one.ticket, "")
    assert not doors.lets("", one.key) and not doors.knows("") and not doors.lets(one.ticket, "é\ud800")


def test_a_pass_ends_unless_it_is_used() -> None:
    ticks = Ticks()
    doors = Doors(ticks)
    kept, left = (doors.enter(doors.new_code()) for _ in range(2))
    assert kept is not None and left is not None
    ticks.at += PASS_LASTS - 1
    assert doors.lets(kept.ticket, kept.key)
    ticks.at += 2
    assert doors.knows(kept.ticket) and not doors.knows(left.ticket) and not doors.lets(left.ticket, left.key)
    doors.used(left.ticket)
    assert not doors.knows(left.ticket)


def test_passes_do_not_grow() -> None:
    ticks = Ticks()
    doors = Doors(ticks)
    first = doors.enter(doors.new_code())
    for _ in range(MOST_PASSES):
        ticks.at += 1
        last = doors.enter(doors.new_code())
    assert first is not None and last is not None
    assert not doors.knows(first.ticket) and doors.knows(last.ticket)


@given(st.text())
def test_no_text_is_a_code_but_the_code(text: str) -> None:
    doors = Doors(Ticks())
    code = doors.new_code()
    assert (doors.enter(text) is None) == ("".join(text.upper().split()).replace("-", "") != code)


def test_an_allowance_is_saved_up_to_a_most() -> None:
    ticks = Ticks()
    allowance = Allowance(2.0, 4.0, ticks)
    assert [allowance.take() for _ in range(5)] == [True] * 4 + [False]
    ticks.at += 1
    assert [allowance.take() for _ in range(3)] == [True, True, False]
    ticks.at += 100
    assert not allowance.take(5) and allowance.take(4)
