"""Every drawing that a record has the figures for."""

from __future__ import annotations

from collections.abc import Iterator

from guide.report.document import Figure
from guide.report.found import Found
from guide.report.frame_drawing import frame_figures, reveals_figure
from guide.report.opening_drawing import opening_figure
from guide.report.timeline_drawing import timeline_figure


def figures(found: Found) -> Iterator[Figure]:
    """The opening, the frame before and after, reveals, and how the checks stood."""
    yield from (one for one in (opening_figure(found),) if one is not None)
    yield from frame_figures(found)
    yield from (one for one in (reveals_figure(found), timeline_figure(found)) if one is not None)
