"""Lines, boxes, words and signs of a drawing (SVG), black on white; every sign is drawn around its middle.

Coordinates are pixels from the top left. Widths of words are estimated for a wide font, since the reader's own is
not known.
"""

from __future__ import annotations

import textwrap
from xml.etree.ElementTree import Element, SubElement

from guide.problems import visible

SMALL = 13
"""The size of small words, in pixels."""
_WIDE, _WIDE_BOLD = 0.6, 0.66
"""The width of a letter, as a part of its size."""
_LABEL_MOST = 16


def cut_into_lines(words: str, pixels: float, size: float, bold: bool = False) -> list[str]:
    """The words in lines that fit."""
    letters = int(pixels / (size * (_WIDE_BOLD if bold else _WIDE)))
    return textwrap.wrap(visible(" ".join(words.split())), max(8, letters))


def cut_short(label: str, pixels: float = 1000) -> str:
    """A label that is short enough for its place, with a mark where it was cut."""
    most = min(_LABEL_MOST, int(pixels / (SMALL * _WIDE)))
    return label if len(label) <= most else label[: most - 1].rstrip() + "…"


def length(label: str) -> float:
    """How long a label in small words is, in pixels."""
    return len(label) * SMALL * _WIDE


def told(parent: Element, tag: str, words: str) -> None:
    """A title or description, for those who listen or point."""
    SubElement(parent, tag).text = visible(" ".join(words.split()))


def text(parent: Element, x: float, y: float, words: str, size: float, bold: bool = False) -> None:
    """One line of words, from x on, standing on y."""
    attributes = {"x": _n(x), "y": _n(y), "font-size": _n(size)}
    if bold:
        attributes["font-weight"] = "bold"
    SubElement(parent, "text", attributes).text = words


def upright(parent: Element, x: float, bottom: float, label: str) -> None:
    """Small words that run upwards from `bottom`, on a white ground, centred on x."""
    long = length(label)
    rect(parent, x - 8, bottom - long - 2, 16, long + 4)
    turned = f"rotate(-90 {_n(x + 4)} {_n(bottom)})"
    attributes = {"x": _n(x + 4), "y": _n(bottom), "font-size": _n(SMALL), "transform": turned}
    SubElement(parent, "text", attributes).text = visible(label)


def rect(parent: Element, x: float, y: float, width: float, height: float) -> Element:
    """A white ground without an outline."""
    attributes = {"x": _n(x), "y": _n(y), "width": _n(width), "height": _n(height), "fill": "white"}
    return SubElement(parent, "rect", attributes)


def box(
    parent: Element, x: float, y: float, width: float, height: float, round_by: float, heavy: bool, dashed: bool
) -> Element:
    """An outlined box."""
    outline = rect(parent, x, y, width, height)
    outline.attrib.update({"stroke": "black", "stroke-width": "3" if heavy else "1.4"})
    if round_by:
        outline.set("rx", _n(round_by))
    if dashed:
        outline.set("stroke-dasharray", "6 4")
    return outline


def line(parent: Element, x1: float, y1: float, x2: float, y2: float, width: float, dotted: bool = False) -> Element:
    """A straight line."""
    attributes = {"x1": _n(x1), "y1": _n(y1), "x2": _n(x2), "y2": _n(y2), "stroke": "black", "stroke-width": _n(width)}
    if dotted:
        attributes["stroke-dasharray"] = "1 3"
    return SubElement(parent, "line", attributes)


def arrow(parent: Element, x: float, y1: float, y2: float) -> None:
    """A line down to y2, with a head."""
    line(parent, x, y1, x, y2, 1.2)
    _path(parent, f"M{_n(x - 4)} {_n(y2 - 7)}h8L{_n(x)} {_n(y2 - 1)}Z", "black")


# Signs


def filled_dot(parent: Element, x: float, y: float) -> Element:
    return _circle(parent, x, y, 5.5, "black")


def ring(parent: Element, x: float, y: float) -> Element:
    return _circle(parent, x, y, 6.5, "white")


def small_dot(parent: Element, x: float, y: float) -> Element:
    return _circle(parent, x, y, 2, "black")


def ring_with_dot(parent: Element, x: float, y: float) -> Element:
    ring(parent, x, y)
    return small_dot(parent, x, y)


def octagon(parent: Element, x: float, y: float) -> Element:
    return _path(parent, f"M{_n(x - 3)} {_n(y - 7)}h6l4 4v6l-4 4h-6l-4-4v-6z", "black")


def hourglass(parent: Element, x: float, y: float) -> Element:
    return _path(parent, f"M{_n(x - 6)} {_n(y - 7)}h12l-12 14h12z", "none")


def triangle(parent: Element, x: float, y: float) -> Element:
    """A triangle with an exclamation mark in it."""
    return _path(parent, f"M{_n(x)} {_n(y - 7)}l8 14h-16zM{_n(x)} {_n(y - 2)}v4m0 2v.8", "none")


def bracket(parent: Element, x: float, y: float) -> Element:
    drawn = _path(parent, f"M{_n(x + 8)} {_n(y - 8)}h-14v16h14", "none")
    drawn.set("stroke-width", "3.5")
    return drawn


def small_box(parent: Element, x: float, y: float) -> Element:
    return box(parent, x - 17, y - 8, 34, 16, round_by=0, heavy=False, dashed=False)


def small_round_box(parent: Element, x: float, y: float) -> Element:
    return box(parent, x - 17, y - 8, 34, 16, round_by=8, heavy=False, dashed=False)


def small_dashed_box(parent: Element, x: float, y: float) -> Element:
    return box(parent, x - 17, y - 8, 34, 16, round_by=0, heavy=False, dashed=True)


def _circle(parent: Element, x: float, y: float, radius: float, fill: str) -> Element:
    attributes = {"cx": _n(x), "cy": _n(y), "r": _n(radius), "fill": fill, "stroke": "black", "stroke-width": "1.5"}
    return SubElement(parent, "circle", attributes)


def _path(parent: Element, d: str, fill: str) -> Element:
    return SubElement(parent, "path", {"d": d, "fill": fill, "stroke": "black", "stroke-width": "1.3"})


def _n(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")
