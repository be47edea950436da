"""The strokes that every drawing of a report is made of: black on white, words escaped by the library.

Drawings are 360 units wide, so that their words can be read on a telephone. Coordinates are from the top left.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal
from xml.sax.saxutils import escape

from guide.problems import visible

WIDE = 360
SIZE = 11
"""The size of words."""

Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]


class Sketch:
    """One drawing; `title` is what a screen reader calls it."""

    def __init__(self, height: float, title: str) -> None:
        import drawsvg

        self._draw = drawsvg
        label = escape(visible(title), {'"': "&quot;"})  # the library escapes words, not attributes
        self._drawing = drawsvg.Drawing(
            WIDE, height, role="img", aria_label=label, font_family="sans-serif", fill="black"
        )

    def svg(self) -> str:
        """The drawing as one SVG element."""
        return str(self._drawing.as_svg(header=""))

    def line(self, a: Point, b: Point, width: float = 1, dash: str = "") -> None:
        """A straight line; `dash` is a pattern of strokes and gaps."""
        self._drawing.append(self._draw.Line(*_r(a), *_r(b), stroke="black", stroke_width=width, **_dashed(dash)))

    def outline(self, points: Sequence[Point], width: float = 1, dash: str = "", fill: str = "none") -> None:
        """A closed outline."""
        flat = [number for point in points for number in _r(point)]
        style: dict[str, Any] = {"fill": fill, "stroke": "black", "stroke_width": width, **_dashed(dash)}
        self._drawing.append(self._draw.Lines(*flat, close=True, **style))

    def box(self, x: float, y: float, width: float, height: float, fill: str = "none", stroke: float = 0) -> None:
        """A rectangle."""
        edge = {"stroke": "black", "stroke_width": stroke} if stroke else {}
        self._drawing.append(self._draw.Rectangle(*_r((x, y)), *_r((width, height)), fill=fill, **edge))

    def dot(self, at: Point, radius: float = 4, filled: bool = True) -> None:
        """A filled dot, or a ring."""
        fill = "black" if filled else "white"
        self._drawing.append(self._draw.Circle(*_r(at), radius, fill=fill, stroke="black", stroke_width=1.5))

    def arrow(self, a: Point, b: Point) -> None:
        """A line from a to b with a head at b; straight along x or y."""
        self.line(a, b, 2)
        (x, y), along = b, abs(b[0] - a[0]) > abs(b[1] - a[1])
        back = 6 * ((1 if b[0] < a[0] else -1) if along else (1 if b[1] < a[1] else -1))
        wings = [(x + back, y - 4), (x + back, y + 4)] if along else [(x - 4, y + back), (x + 4, y + back)]
        self.outline([b, *wings], fill="black")

    def words(self, text: str, at: Point, anchor: Anchor = "start", bold: bool = False, size: float = SIZE) -> None:
        """A line of words standing on a point."""
        style = {"font_weight": "bold"} if bold else {}
        shown = self._draw.Text(visible(text), size, *_r(at), text_anchor=anchor, **style)
        self._drawing.append(shown)


def _r(point: Point) -> tuple[float, float]:
    return round(point[0], 1), round(point[1], 1)


def _dashed(dash: str) -> dict[str, str]:
    return {"stroke_dasharray": dash} if dash else {}
