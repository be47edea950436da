"""What stands in the parts of the tablet's screen that are text: rows, worked out from the view and the room."""

from __future__ import annotations

from dataclasses import dataclass

from guide.screen.draw import EAR_MARKS, reading_told
from guide.screen.tablet.figures import figures
from guide.screen.tablet.plan import Box, request_lines, stale_text
from guide.screen.tablet.themes import Role
from guide.screen.tablet.wrapping import fit, wrap
from guide.session import View
from guide.session.view import Understood


@dataclass(frozen=True, slots=True)
class Row:
    """One row of text in one role."""

    text: str
    role: Role = "plain"
    bold: bool = False


def bar_rows(view: View, width: int) -> list[Row]:
    """The part of the job, how far along it is, and what the ear does."""
    left = f" {view.progress.part or view.title}"
    ear = "" if view.over else f" {EAR_MARKS[view.ear.state]} {view.ear.words} "
    right = f" {view.progress.text} {ear}"
    return [Row(fit(left, max(0, width - len(right))) + right, "bar", True)]


def banner_rows(view: View, box: Box) -> list[Row]:
    """What the crew should know besides the job."""
    return [Row(f" {row}", "warn", True) for row in _within(view.banner, box)]


def request_rows(view: View, box: Box) -> list[Row]:
    """What is asked, whole; "…" only where no screen of this size could hold it."""
    headline, details = request_lines(view, box.width)
    rows = [Row(f" {row}", "strong", True) for row in headline] + [Row(f" {row}", "quiet") for row in details]
    if len(rows) <= box.height:
        return rows
    return [*rows[: box.height - 1], Row(fit(rows[box.height - 1].text + "…", box.width), "strong", True)]


def stale_rows(view: View, box: Box) -> list[Row]:
    """What has to be read again and why, its count first."""
    rows = _within(stale_text(view), box)
    return [Row(f" {' ' if at else '!'} {row}", "warn", True) for at, row in enumerate(rows)]


def _within(text: str, box: Box) -> list[str]:
    """Lines of the text that the box has room for, the last one cut with "…" if there are more."""
    lines = wrap(text, box.width - 4)
    if len(lines) <= box.height:
        return lines
    return [*lines[: box.height - 1], fit(" ".join(lines[box.height - 1 :]), box.width - 4)]


def figure_rows(reading: Understood | None, so_far: str, box: Box) -> list[Row]:
    """The reading in big figures, and under them in words: the place, the exact value, what is thought of it."""
    if reading is None:
        return []
    out = reading.verdict == "out"
    words = reading_told(reading, so_far)
    rows = figures(reading.whole, reading.part, box.width - 1, box.height - 1)
    told = wrap(words, box.width - 2) if box.height > len(rows) else []
    if len(told) > box.height - len(rows):
        told = [words]
    return [
        *(Row(f" {row}", "strong", True) for row in rows),
        *(Row(fit(f" {row}", box.width), "bad" if out else "plain", True) for row in told),
    ]
