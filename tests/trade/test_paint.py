"""Old paint: what counts together, and that an old building is never let off."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.trade.paint import DAYS, YEAR, Disturbed, Space, Tested, Where, advice, face_area, spaces

disturbed = st.builds(
    Disturbed,
    st.sampled_from(["hall", "kitchen"]),
    st.sampled_from(["inside", "outside"]),
    st.fractions(F(1, 10), 40, max_denominator=10),
    st.integers(0, 60),
)


def test_what_counts_together() -> None:
    found = spaces(
        [
            Disturbed("hall", "inside", F(4)),
            Disturbed("front", "outside", F(12)),
            Disturbed("hall", "inside", F(2), days_ago=DAYS),
            Disturbed("hall", "inside", F(50), days_ago=DAYS + 1),
            Disturbed("kitchen", "inside", F(1)),
            Disturbed("back", "outside", F(9)),
        ]
    )
    assert found == [
        Space("hall", "inside", F(6)),
        Space("outside", "outside", F(21)),
        Space("kitchen", "inside", F(1)),
    ]
    assert [space.over for space in found] == [False, True, False]


@pytest.mark.parametrize(("where", "limit"), [("inside", 6), ("outside", 20)])
def test_exactly_the_limit_is_not_over(where: Where, limit: int) -> None:
    assert not Space("hall", where, F(limit)).over
    assert Space("hall", where, F(limit) + F(1, 100)).over
    assert Space("hall", where, F(limit)).limit == limit


def test_a_window_or_an_area_asks_for_lead_safe_work() -> None:
    small, large = [Space("hall", "inside", F(1))], [Space("hall", "inside", F(7))]
    assert advice(1962, "no", False, large) == "lead-safe work"
    assert advice(1962, "no", True, small) == "lead-safe work"
    assert advice(1962, "lead", False, small) == "assume lead"
    assert advice(1962, "no", False, []) == "assume lead"
    assert advice(1962, "free", True, large) == "tested free of lead"


@given(st.none() | st.integers(1600, YEAR - 1), st.sampled_from(["no", "lead"]), st.booleans(), st.lists(disturbed))
def test_before_the_date_or_unknown_nobody_is_let_off(
    built: int | None, tested: Tested, window: bool, work: list[Disturbed]
) -> None:
    assert advice(built, tested, window, spaces(work)) in {"lead-safe work", "assume lead"}


def test_the_date() -> None:
    large = [Space("hall", "inside", F(7))]
    assert advice(1978, "no", True, large) == "built after the rule's date"
    assert advice(1977, "no", True, large) == "lead-safe work"


def test_areas() -> None:
    assert face_area(F(36), F(80)) == 20
    assert face_area(F(36), F(80), faces=2) == 40
