"""Text cut into lines of so many cells; wide characters count as two, what can't be seen is shown as an escape."""

from __future__ import annotations

from rich.cells import cell_len, chop_cells, set_cell_size

from guide.problems import visible


def wrap(text: str, width: int) -> list[str]:
    """Lines of at most `width` cells, broken between words where that can be; one empty line for no text."""
    return [line for part in text.splitlines() or [""] for line in _wrapped(visible(part), max(1, width))]


def _wrapped(text: str, width: int) -> list[str]:
    lines, line = [], ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if cell_len(longer) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        *full, line = chop_cells(word, width) if cell_len(word) > width else [word]
        lines += full
    return [*lines, line]


def fit(text: str, width: int) -> str:
    """One line of exactly `width` cells, cut with "…" where it is longer."""
    text = visible(text)
    if cell_len(text) > width:
        text = set_cell_size(text, max(0, width - 1)) + "…"
    return set_cell_size(text, width)
