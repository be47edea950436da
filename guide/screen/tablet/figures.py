"""A reading in figures five rows high, to be read from two metres: whole units and the fraction, all the same size."""

from __future__ import annotations

from collections.abc import Mapping

HIGH = 5
"""Rows of a figure at its plain size."""

_BOLD: Mapping[str, tuple[str, ...]] = {
    "0": ("█████", "██ ██", "██ ██", "██ ██", "█████"),
    "1": ("███ ", " ██ ", " ██ ", " ██ ", "████"),
    "2": ("█████", "   ██", "█████", "██   ", "█████"),
    "3": ("█████", "   ██", " ████", "   ██", "█████"),
    "4": ("██ ██", "██ ██", "█████", "   ██", "   ██"),
    "5": ("█████", "██   ", "█████", "   ██", "█████"),
    "6": ("█████", "██   ", "█████", "██ ██", "█████"),
    "7": ("█████", "   ██", "  ██ ", " ██  ", " ██  "),
    "8": ("█████", "██ ██", "█████", "██ ██", "█████"),
    "9": ("█████", "██ ██", "█████", "   ██", "█████"),
    "/": ("   █", "  ██", " ██ ", "██  ", "█   "),
    ".": ("  ", "  ", "  ", "  ", "██"),
    "-": ("    ", "    ", "████", "    ", "    "),
    " ": (" ",) * HIGH,
}
_SLIM: Mapping[str, tuple[str, ...]] = {
    "0": ("███", "█ █", "█ █", "█ █", "███"),
    "1": ("██ ", " █ ", " █ ", " █ ", "███"),
    "2": ("███", "  █", "███", "█  ", "███"),
    "3": ("███", "  █", " ██", "  █", "███"),
    "4": ("█ █", "█ █", "███", "  █", "  █"),
    "5": ("███", "█  ", "███", "  █", "███"),
    "6": ("███", "█  ", "███", "█ █", "███"),
    "7": ("███", "  █", " █ ", " █ ", " █ "),
    "8": ("███", "█ █", "███", "█ █", "███"),
    "9": ("███", "█ █", "███", "  █", "███"),
    "/": ("  █", "  █", " █ ", "█  ", "█  "),
    ".": (" ", " ", " ", " ", "█"),
    "-": ("  ", "  ", "██", "  ", "  "),
    " ": (" ",) * HIGH,
}


def figures(whole: str, part: str, width: int, height: int) -> list[str]:
    """Rows of the figures in at most so many columns and rows, as large as they go; empty if they don't fit."""
    text = " ".join(filter(None, [whole, part]))
    for times in range(height // HIGH, 0, -1):
        for font in (_BOLD, _SLIM):
            rows = _rows(text, font)
            if rows and len(rows[0]) * times <= width:
                wide = ["".join(char * times for char in row) for row in rows]
                return [row for row in wide for _ in range(times)]
    return []


def _rows(text: str, font: Mapping[str, tuple[str, ...]]) -> list[str]:
    if not text or any(char not in font for char in text):
        return []
    return [" ".join(font[char][at] for char in text) for at in range(HIGH)]
