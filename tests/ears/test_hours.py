"""Hours of a site: what is expected changes in kind, and whether memory grew is told as it was."""

from __future__ import annotations

import random
from collections import Counter

from ears.hours import MINUTE, expectations, heard, memory, verdict


def test_every_kind_of_expecting_comes_within_an_hour() -> None:
    chance = random.Random(1)
    found = [expectations(chance) for _ in range(60)]
    assert set(Counter(kind for kind, _, _ in found)) == {"reading", "choice", "works", "nothing"}
    assert len({(expect.about, expect.sign, expect.places) for _, expect, _ in found if expect}) > 8
    assert all(lists["step"] for _, _, lists in found)


def test_memory_that_grows_is_told_as_growing() -> None:
    assert verdict([300.0 + minute for minute in range(60)]).startswith("growing")
    assert verdict([300.0 + 0.5 * minute for minute in range(480)]).startswith("growing")


def test_memory_that_only_warms_up_is_told_as_flat() -> None:
    assert verdict([300.0 + min(minute, 15) for minute in range(60)]).startswith("flat: highest 315.0, then 315.0")
    assert verdict([300.0 + minute % 7 for minute in range(480)]).startswith("flat")


def test_a_short_run_says_that_it_is_too_short() -> None:
    assert verdict([300.0]) == "too short to tell"


def test_a_minute_of_noise_is_heard_through_the_ears_own_loop() -> None:
    found = heard((1, 1.5 * MINUTE / 3600, "", 600.0))
    assert found["hours"] >= 1.5 * MINUTE / 3600
    assert sum(found["asked"].values()) == 2
    assert len(found["memory"]) == 3
    assert 0 < found["memory"][-1] < 2 * memory()
    assert found["outcomes"] == [{}], "noise alone is no utterance"
