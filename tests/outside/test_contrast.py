"""The contrast of the tablet's colours against another implementation of WCAG's formula."""

from __future__ import annotations

import pytest
import wcag_contrast_ratio
from hypothesis import given
from hypothesis import strategies as st

from guide.screen.tablet.themes import PARTS_LEAST, THEMES, contrast

COLOURS = st.tuples(*[st.integers(min_value=0, max_value=255)] * 3)


def theirs(one: str, other: str) -> float:
    """The contrast ratio as the other library has it."""
    shares = [tuple(int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)) for colour in (one, other)]
    return float(wcag_contrast_ratio.rgb(*shares))


def written(colour: tuple[int, ...]) -> str:
    """A colour as the themes write it."""
    return "#" + "".join(f"{part:02x}" for part in colour)


@pytest.mark.outside("wcag-contrast-ratio, an independent implementation of WCAG's relative luminance", "published")
@given(COLOURS, COLOURS)
def test_contrast_of_any_two_colours(one: tuple[int, ...], other: tuple[int, ...]) -> None:
    """The contrast of two colours"""
    assert contrast(written(one), written(other)) == pytest.approx(theirs(written(one), written(other)), rel=1e-3)


@pytest.mark.outside("wcag-contrast-ratio: WCAG AA for text, 3 to 1 for what ends a key", "published")
@pytest.mark.parametrize("theme", list(THEMES))
def test_both_themes_pass(theme: str) -> None:
    """Text of both themes in every role has the contrast of WCAG AA"""
    for text, ground in THEMES[theme].pairs().values():
        assert wcag_contrast_ratio.passes_AA(theirs(text, ground))
    assert theirs(THEMES[theme].key[0], THEMES[theme].plain[1]) >= PARTS_LEAST
