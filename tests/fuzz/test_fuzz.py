"""The fuzz targets, a little: mutations of real material drawn by hypothesis (at length by `tests/fuzz/run.py`)."""

from __future__ import annotations

import pytest
from fuzz_targets import TARGETS, seeds
from hypothesis import given, settings
from hypothesis import strategies as st

COUNTS = {"utterance": 150, "amount": 400, "procedure": 60, "record": 60, "conversation": 25, "driving": 25}


@st.composite
def mutated(draw: st.DrawFn, material: list[bytes]) -> bytes:
    """A piece of real material with a few bytes changed, taken out, doubled or put in."""
    data = bytearray(draw(st.sampled_from(material)))
    for _ in range(draw(st.integers(0, 4))):
        at = draw(st.integers(0, max(0, len(data) - 1)))
        what = draw(st.sampled_from(["change", "drop", "double", "insert"]))
        if what == "change" and data:
            data[at] = draw(st.integers(0, 255))
        elif what == "drop":
            del data[at : at + draw(st.integers(1, 30))]
        elif what == "double":
            data[at:at] = data[at : at + draw(st.integers(1, 30))]
        else:
            data[at:at] = draw(st.binary(max_size=8) | st.text(max_size=6).map(str.encode))
    return bytes(data)


@pytest.mark.parametrize("name", TARGETS)
def test_nothing_breaks_it(name: str) -> None:
    @settings(max_examples=COUNTS[name], deadline=None)
    @given(mutated(seeds(name)) | st.binary(max_size=200))
    def run(data: bytes) -> None:
        TARGETS[name](data)

    run()
