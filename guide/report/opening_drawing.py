"""The opening as it was surveyed, to scale, its errors drawn many times as large and each labelled with its figure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from guide.quantity import LENGTH, Quantity, QuantityError, quantity
from guide.report.document import Figure
from guide.report.found import Found
from guide.report.sketch import WIDE, Sketch
from guide.session.measured import measured

_ROOM = 200
"""The most that the opening takes in the drawing, either way."""
_TIMES = (80, 40, 20, 10, 5, 2, 1)
_FAR = 22
"""How far the largest error may stand out."""


def opening_figure(found: Found) -> Figure | None:
    """The drawing, or None where the record has no width and no height of an opening."""
    data = measured(found.procedure, found.state).data
    widths, heights = _inches(data.get("widths")), _inches(data.get("heights"))
    if not widths or not heights:
        return None
    lean, sill, diagonals = _inches(data.get("lean")), _inch(data.get("sill")), _inches(data.get("diagonals"))
    drawn = _Opening(widths, heights, lean, sill or 0.0)
    title = "The opening as surveyed"
    words = _words(data, drawn.times)
    return Figure(drawn.svg(title, data, diagonals), title, words)


def _inch(text: object) -> float | None:
    """A length in inches, for drawing only."""
    if not isinstance(text, str):
        return None
    try:
        amount = quantity(text)
    except QuantityError:
        return None
    return float(amount.to("in").magnitude) if amount.dimension == LENGTH else None


def _inches(values: object) -> dict[str, float]:
    found = {str(key): _inch(text) for key, text in values.items()} if isinstance(values, dict) else {}
    return {key: value for key, value in found.items() if value is not None}


class _Opening:
    """Corners of the opening, nominal and as read, in the drawing's units."""

    def __init__(
        self, widths: Mapping[str, float], heights: Mapping[str, float], lean: Mapping[str, float], sill: float
    ) -> None:
        self.width, self.height = max(widths.values()), max(heights.values())
        self.scale = _ROOM / max(self.width, self.height, 1e-9)
        self.left = (WIDE - self.width * self.scale) / 2
        self.top = 52.0
        self.widths, self.heights = widths, heights
        lean_left = lean.get("left", 0.0)
        self.across = {at: lean_left * share for at, share in (("bottom", 0.0), ("middle", 0.5), ("top", 1.0))}
        self.rise = {"left": 0.0, "middle": sill / 2, "right": sill}
        off = [abs(v) for v in (*lean.values(), sill, *(self.width - v for v in widths.values()))]
        off += [self.height - v for v in heights.values()]
        most = max(off) * self.scale
        self.times = next((times for times in _TIMES if most * times <= _FAR), 1)

    def at(self, x: float, z: float) -> tuple[float, float]:
        """A point of the drawing, x from the left, z from the sill, in inches."""
        return self.left + x * self.scale, self.top + (self.height - z) * self.scale

    def side(self, place: str, right: bool) -> tuple[float, float]:
        """Where a stud stands at the bottom, middle or top, its error enlarged."""
        z = {"bottom": 0.0, "middle": self.height / 2, "top": self.height}[place]
        x = self.across[place] * self.times
        if right:
            x += self.width - (self.width - self._width(place)) * self.times
        if place == "middle":
            return self.at(x, z)
        corner = "right" if right else "left"
        off = self.rise[corner] - ((self.height - self._height(corner)) if place == "top" else 0.0)
        return self.at(x, z + off * self.times)

    def _width(self, place: str) -> float:
        """A width, or what lies between the others."""
        known = self.widths
        return known.get(place, sum(known.values()) / len(known))

    def _height(self, place: str) -> float:
        known = self.heights
        return known.get(place, sum(known.values()) / len(known))

    def svg(self, title: str, data: Mapping[str, Any], diagonals: Mapping[str, float]) -> str:
        below = self.top + self.height * self.scale
        sketch = Sketch(below + 62, title)
        sketch.outline([self.at(x, z) for x, z in self._corners()], dash="2 3")
        if "rising" in diagonals:
            sketch.line(self.side("bottom", False), self.side("top", True), 0.7, "6 4")
        if "falling" in diagonals:
            sketch.line(self.side("top", False), self.side("bottom", True), 0.7, "6 4")
        middle_top = self.at(self.width / 2, self.height + self._middle_off())
        outline = [self.side(place, False) for place in ("bottom", "middle", "top")]
        outline += [middle_top, *(self.side(place, True) for place in ("top", "middle", "bottom"))]
        sketch.outline(outline, 2.5)
        self._labels(sketch, data, below)
        return sketch.svg()

    def _corners(self) -> list[tuple[float, float]]:
        return [(0, 0), (0, self.height), (self.width, self.height), (self.width, 0)]

    def _middle_off(self) -> float:
        off = self.rise["middle"] - (self.height - self._height("middle")) if "middle" in self.heights else 0.0
        return off * self.times

    def _labels(self, sketch: Sketch, data: Mapping[str, Any], below: float) -> None:
        centre = WIDE / 2
        for place, z in (("top", 0.86), ("middle", 0.5), ("bottom", 0.1)):
            if place in self.widths:
                y = self.at(0, self.height * z)[1]
                text = f"{data['widths'][place]}"
                sketch.box(centre - 36, y - 11, 72, 15, fill="white")
                sketch.words(text, (centre, y), "middle")
        for place, x, anchor in (("left", self.left, "start"), ("right", WIDE - self.left, "end")):
            if place in self.heights:
                sketch.words(f"{data['heights'][place]} high", (x, self.top - 26), anchor)  # type: ignore[arg-type]
        if "middle" in self.heights:
            sketch.words(str(data["heights"]["middle"]), (centre, self.top - 40), "middle")
        lean = data.get("lean", {})
        for side, x, anchor in (("left", self.left, "start"), ("right", WIDE - self.left, "end")):
            if side in lean:
                sketch.words(_leans(str(lean[side])), (x, below + 24), anchor)  # type: ignore[arg-type]
        if "sill" in data:
            sketch.words(_falls(str(data["sill"])), (centre, below + 40), "middle")
        sketch.words(f"errors drawn {self.times} times as large", (centre, below + 56), "middle")


def _leans(text: str) -> str:
    amount = quantity(text)
    if not amount:
        return "plumb"
    return f"leans {abs(amount)} {'right' if amount.magnitude > 0 else 'left'}"


def _falls(text: str) -> str:
    amount = quantity(text)
    if not amount:
        return "sill level"
    return f"sill: {'right' if amount.magnitude > 0 else 'left'} end {abs(amount)} high"


def _words(data: Mapping[str, Any], times: int) -> str:
    """The drawing in words."""
    told = []
    for key, name in (("widths", "Widths"), ("heights", "Heights"), ("diagonals", "Diagonals")):
        values = data.get(key)
        if isinstance(values, dict) and values:
            told.append(f"{name}: {', '.join(f'{place} {amount}' for place, amount in values.items())}.")
    lean = data.get("lean", {})
    told += [f"The {side} stud: {_leans(str(amount))}." for side, amount in lean.items() if _is_length(amount)]
    if "sill" in data:
        told.append(f"The {_falls(str(data['sill']))}.")
    return " ".join([*told, f"Seen from inside, to scale; errors are drawn {times} times as large; dotted: true."])


def _is_length(text: object) -> bool:
    return isinstance(text, str) and isinstance(quantity(text), Quantity)
