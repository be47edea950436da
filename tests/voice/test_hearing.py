"""What ears hand over goes through JSON and back unchanged."""

import json
import math
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from guide.voice.hearing import Amount, Heard, Hearing, Partner

words = st.text(max_size=20)
numbers = st.floats(allow_nan=False, allow_infinity=False, width=32)
amounts = st.builds(
    Amount,
    value=words,
    inches=st.none() | st.fractions(),
    place=st.none() | words,
    hair=st.sampled_from([-1, 0, 1]),
    unsure=st.booleans(),
)
hearings = st.builds(
    Hearing,
    kind=st.sampled_from(["reading", "command", "answer"]),
    words=words,
    probability=st.floats(0, 1),
    weight=numbers,
    amounts=st.lists(amounts, max_size=3).map(tuple),
    command=st.none() | words,
    answer=st.none() | words,
    by_place=st.lists(st.tuples(words, words), max_size=3).map(tuple),
    safe=st.booleans(),
)
heard = st.builds(
    Heard,
    ear=words,
    hearings=st.lists(hearings, max_size=3).map(tuple),
    garbage=numbers,
    free=words,
    seconds=numbers,
    ms=st.integers(0, 10_000),
    cut_off=st.booleans(),
    partners=st.lists(st.builds(Partner, words, numbers), max_size=2).map(tuple),
)


@given(heard)
def test_through_json_and_back(one: Heard) -> None:
    assert Heard.from_data(json.loads(json.dumps(one.as_data()))) == one


def test_the_margin_is_between_the_first_two() -> None:
    first = Hearing("reading", "one", 0.9, -1.0)
    second = Hearing("reading", "two", 0.1, -3.0)
    both = Heard("x", (first, second), 0.0, "", 1.0, 10)
    assert math.isclose(both.margin, math.log(9))
    assert Heard("x", (first,), 0.0, "", 1.0, 10).margin == math.inf


def test_what_is_taken_is_handed_on_as_the_guide_writes_it() -> None:
    amounts = (Amount("74 1/2 in", Fraction(149, 2), "top"), Amount("74 3/8 in", Fraction(595, 8), "middle"))
    assert Hearing("reading", "…", 1, 0, amounts).written() == "top 74 1/2 in; middle 74 3/8 in"
    assert Hearing("command", "carry on", 1, 0, command="done").written() == "carry on"
