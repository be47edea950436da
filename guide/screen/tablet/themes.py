"""Two sets of colours: for sun on the glass, and for the dark. Contrast as WCAG 2.2 defines it, for a test to compute.

Source: Web Content Accessibility Guidelines 2.2, success criteria 1.4.3 and 1.4.11, and their definition of relative
luminance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Literal

Role = Literal["plain", "bar", "strong", "quiet", "crew", "key", "sure", "warn", "bad", "line"]

TEXT_LEAST = 4.5
"""The least contrast of text."""
PARTS_LEAST = 3.0
"""The least contrast of what shows where a key ends."""


@dataclass(frozen=True, slots=True)
class Colours:
    """Text on ground for each role, as "#rrggbb"."""

    plain: tuple[str, str]
    bar: tuple[str, str]
    strong: tuple[str, str]
    quiet: tuple[str, str]
    crew: tuple[str, str]
    key: tuple[str, str]
    sure: tuple[str, str]
    warn: tuple[str, str]
    bad: tuple[str, str]
    line: tuple[str, str]

    def pairs(self) -> Mapping[str, tuple[str, str]]:
        """Every role with its text and ground."""
        return {field.name: getattr(self, field.name) for field in fields(self)}


SUNLIGHT = Colours(
    plain=("#000000", "#ffffff"),
    bar=("#ffffff", "#1a1a1a"),
    strong=("#000000", "#ffffff"),
    quiet=("#3d3d3d", "#ffffff"),
    crew=("#003a70", "#ffffff"),
    key=("#000000", "#dcdcdc"),
    sure=("#ffffff", "#004d26"),
    warn=("#000000", "#ffd24d"),
    bad=("#ffffff", "#8f0012"),
    line=("#000000", "#f2f2f2"),
)
DARK = Colours(
    plain=("#f2f2f2", "#101010"),
    bar=("#101010", "#d9d9d9"),
    strong=("#ffffff", "#101010"),
    quiet=("#bdbdbd", "#101010"),
    crew=("#9fd0ff", "#101010"),
    key=("#ffffff", "#333333"),
    sure=("#000000", "#6fd693"),
    warn=("#000000", "#ffd24d"),
    bad=("#000000", "#ff8f8f"),
    line=("#ffffff", "#262626"),
)
THEMES: Mapping[str, Colours] = {"sunlight": SUNLIGHT, "dark": DARK}


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours, 1 to 21."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
