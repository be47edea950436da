"""Random walks over the shipped procedures, drawn by hypothesis, against the plain model."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from walking import walk, walks

from guide.procedure import load, shipped

SHIPPED = {name: load(name) for name in shipped()}


@pytest.mark.parametrize("name", SHIPPED)
@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 2**32), oddness=st.sampled_from([0.0, 0.02, 0.1, 0.4, 0.9]))
def test_a_walk_keeps_the_promises(name: str, seed: int, oddness: float) -> None:
    walk(SHIPPED[name], seed, 300, oddness, every=40)


@pytest.mark.parametrize("name", SHIPPED)
def test_walks_get_to_the_end_and_do_everything(name: str, record_property: Callable[[str, object], None]) -> None:
    total = walks(SHIPPED[name], range(6), 1200, every=300)
    told = f"{name}: {total.commands} commands, {total.refused} refused, {total.finished} finishes"
    record_property("figure", told)
    assert total.finished >= 1
    assert {"took", "done", "advised", "adjusted", "corrected", "stopped", "resumed", "hurt"} <= total.kinds
