"""A small drawing of the door as seen from inside, with the place of a reading or a move marked on it."""

from __future__ import annotations

from collections.abc import Iterable

from guide.session.spots import HIGH, Mark, Outline

MARK = "●"
"""The mark itself; a line between two marks is drawn heavy, so that nothing hangs on colour."""


def door(kind: Outline, marks: Iterable[Mark], width: int, height: int) -> list[str]:
    """Rows of the drawing, `width` by `height` cells; empty if there is nothing to draw or no room for it."""
    if not kind or width < 7 or height < 4:
        return []
    last, low = width - 1, height - 1
    cells = [[" "] * width for _ in range(height)]
    for across in range(width):
        cells[0][across] = cells[low][across] = "─"
    for up in range(height):
        cells[up][0] = cells[up][last] = "│"
    cells[0][0], cells[0][last], cells[low][0], cells[low][last] = "┌┐└┘"
    if kind == "pair":
        middle = last // 2
        for up in range(height):
            cells[up][middle] = "│"
        cells[0][middle], cells[low][middle] = "┬", "┴"
    for mark in marks:
        _draw(cells, mark)
    return ["".join(row) for row in cells]


def _draw(cells: list[list[str]], mark: Mark) -> None:
    last, low = len(cells[0]) - 1, len(cells) - 1
    start = (_at(mark.from_across, last), low - _at(mark.from_up, low))
    end = (_at(mark.to_across, last), low - _at(mark.to_up, low))
    long = max(abs(end[0] - start[0]), abs(end[1] - start[1]))
    stroke = "━" if start[1] == end[1] else "┃" if start[0] == end[0] else "•"
    for step in range(1, long):
        across = start[0] + round((end[0] - start[0]) * step / long)
        down = start[1] + round((end[1] - start[1]) * step / long)
        cells[down][across] = stroke
    for across, down in (start, end):
        cells[down][across] = MARK


def _at(part: int, last: int) -> int:
    return part * last // HIGH
