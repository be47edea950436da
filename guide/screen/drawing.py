"""The order of a procedure's steps as a drawing (SVG), black on white, one column from top to bottom.

A box a step: square corners to do, round ones to check. On the left a thick line runs from the step that leaves a
hazard to the step that ends it. On the right each state of the work has a column: a filled dot where a step moves
it, a ring where a check watches it, a small dot where putting a check right moves it. Nothing is told by colour.
Widths of text are estimated for a wide font, since the reader's is not known.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from guide.job.figures import shown
from guide.problems import visible
from guide.procedure.model import Procedure, Step
from guide.screen.plan import Plan, always_with, spaced
from guide.talk.wording import Wording

_EDGE, _BOX, _PAD, _GAP = 12, 300, 9, 12
_HAZARD_LANE, _STATE_LANE = 24, 24
_NAME, _DETAIL, _HEADING, _TITLE = 14, 12, 15, 19
_LINE = 1.25
_LABEL_MOST = 16
_LABEL_EVERY = 640
"""A hazard's name stands beside its line at least this often, so that one is always on the screen."""


def drawing(procedure: Procedure) -> str:
    """The order of steps as one self-contained SVG text."""
    return _Sheet(Plan(procedure, Wording.load("en"))).svg()


@dataclass(frozen=True, slots=True)
class _Box:
    """Where a step's box stands."""

    step: Step
    top: float
    bottom: float

    @property
    def middle(self) -> float:
        return (self.top + self.bottom) / 2


@dataclass(frozen=True, slots=True)
class _Bracket:
    """A hazard from the step that leaves it to the step that ends it (None if none does), and those between."""

    hazard: str
    first: str
    last: str | None
    between: tuple[str, ...]


class _Sheet:
    """Lays out and draws one procedure."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.say = plan.wording.say
        self.states = plan.every_state()
        self.brackets = list(_brackets(plan))
        self.hazards = list(dict.fromkeys(bracket.hazard for bracket in self.brackets))
        self.left = _EDGE + _HAZARD_LANE * len(self.hazards) + 6
        self.right = self.left + _BOX
        self.width = self.right + 14 + _STATE_LANE * max(1, len(self.states)) + _EDGE
        self.root = Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "font-family": "sans-serif"})
        self.y: float = _EDGE
        self.boxes: dict[str, _Box] = {}
        self.marked: dict[str, list[float]] = {state: [] for state in self.states}

    def svg(self) -> str:
        """The whole drawing."""
        self._describe()
        ground = _rect(self.root, 0, 0, self.width, 0, fill="white")
        self._head()
        lanes, flow = SubElement(self.root, "g"), SubElement(self.root, "g")
        self._steps(flow)
        self._lanes(lanes)
        for bracket in self.brackets:
            self._hazard(bracket)
        height = round(self.y + _EDGE)
        ground.set("height", str(height))
        self.root.attrib.update(
            width=str(self.width),
            height=str(height),
            viewBox=f"0 0 {self.width} {height}",
            style="max-width:100%;height:auto",
        )
        indent(self.root, " ")
        return tostring(self.root, encoding="unicode") + "\n"

    def _describe(self) -> None:
        procedure = self.plan.procedure
        _told(self.root, "title", self.say("drawing.about", title=procedure.title))
        checks = sum(1 for step in self.plan.steps if procedure.is_check(step))
        _told(self.root, "desc", self.say("drawing.describe", steps=len(self.plan.steps), checks=checks))

    # Title and legend

    def _head(self) -> None:
        for line in _lines(self.plan.procedure.title, self.width - 2 * _EDGE, _TITLE):
            self.y += _TITLE * _LINE
            _text(self.root, _EDGE, self.y, line, _TITLE, bold=True)
        for line in _lines(self.plan.procedure.about, self.width - 2 * _EDGE, _DETAIL):
            self.y += _DETAIL * _LINE + 2
            _text(self.root, _EDGE, self.y, line, _DETAIL)
        self.y += 12
        legend = SubElement(self.root, "g", {"class": "legend"})
        for key, draw in _LEGEND:
            lines = _lines(self.say(key), self.width - 2 * _EDGE - 48, _DETAIL)
            draw(legend, _EDGE + 18, self.y + 11)
            for i, line in enumerate(lines):
                _text(legend, _EDGE + 48, self.y + 15 + i * _DETAIL * _LINE, line, _DETAIL)
            self.y += 22 + (len(lines) - 1) * _DETAIL * _LINE
        self.y += 6

    # Steps

    def _steps(self, flow: Element) -> None:
        part: str | None = None
        above: float | None = None
        for i, step in enumerate(self.plan.steps):
            if step.part != part:
                part = step.part
                below = [one for one in self.plan.steps[i:] if one.part == part]
                self._heading(part, below)
            if above is not None:
                _arrow(flow, self.left + 22, above, self.y)
            box = self._step(step)
            self.boxes[step.name] = box
            above = box.bottom
            self.y = box.bottom + _GAP

    def _heading(self, part: str, steps: list[Step]) -> None:
        """A part's name, with the names of the states' columns that its steps use."""
        used = [state for state in self.states if any(state in _touched(self.plan, step) for step in steps)]
        lines = _lines(part, _BOX, _HEADING)
        labels = [_cut(spaced(state)) for state in used]
        high = max([len(lines) * _HEADING * _LINE, *(len(label) * _DETAIL * 0.62 + 8 for label in labels)]) + 10
        self.y += 8
        group = SubElement(self.root, "g", {"class": "part"})
        _line(group, _EDGE, self.y, self.width - _EDGE, self.y, 1.2)
        self.y += high
        for i, line in enumerate(reversed(lines)):
            _text(group, self.left, self.y - 9 - i * _HEADING * _LINE, line, _HEADING, bold=True)
        for state, label in zip(used, labels, strict=True):
            _upright(group, self._lane(state), self.y - 4, label, anchor="start")

    def _step(self, step: Step) -> _Box:
        icons = [draw for wanted, draw in _ICONS if wanted(step)]
        number = f"{self.plan.numbers[step.name]}"
        start = self.left + _PAD + 10 + len(number) * _NAME * 0.66
        names = _lines(spaced(step.name), self.right - start - _PAD - 20 * len(icons), _NAME)
        details = [
            (line, bold)
            for words, bold in self._details(step)
            for line in _lines(words, _BOX - 2 * _PAD, _DETAIL, bold)
        ]
        top = self.y
        height = len(names) * _NAME * _LINE + len(details) * _DETAIL * _LINE + 11
        check = self.plan.procedure.is_check(step)
        group = SubElement(self.root, "g", {"class": "step", "data-step": step.name, "data-number": number})
        _told(group, "title", f"{number}. {self.plan.filled(step.say)}")
        outline = _rect(group, self.left, top, _BOX, height, rx=14 if check else 0, stroke="black")
        outline.set("class", "check" if check else "do")
        outline.set("stroke-width", "3" if step.hold is not None else "1.4")
        if step.when:
            outline.set("stroke-dasharray", "6 4")
        y = top + 3
        for i, line in enumerate(names):
            y += _NAME * _LINE
            if i == 0:
                _text(group, self.left + _PAD, y, number, _NAME, bold=True)
            _text(group, start, y, line, _NAME)
        for i, draw in enumerate(icons):
            draw(group, self.right - 16 - 20 * i, top + 14)
        for line, bold in details:
            y += _DETAIL * _LINE
            _text(group, self.left + _PAD, y, line, _DETAIL, bold=bold)
        box = _Box(step, top, top + height)
        self._marks(group, box)
        return box

    def _details(self, step: Step) -> Iterator[tuple[str, bool]]:
        """What is written under a step's name, and whether in bold."""
        if step.when:
            conditions = [
                self.say(
                    "drawing.condition",
                    choice=spaced(choice),
                    options=self.plan.wording.join([spaced(one) for one in options], "or"),
                )
                for choice, options in step.when.items()
            ]
            yield self.say("drawing.only-if", conditions=self.plan.wording.join(conditions)), False
        if step.take is not None:
            yield self._reading(step), False
        if step.crew > 1:
            yield self.say("drawing.crew", count=step.crew), False
        if step.safety:
            yield self.say("drawing.safety"), True
        if step.cannot_undo:
            yield self.say("drawing.no-undo"), True
        if step.hold is not None:
            yield self.say("drawing.hold", role=step.hold.by), True
        if step.wait is not None:
            yield self.say("drawing.wait", time=shown(step.wait.time), what=step.wait.what), True
        for hazard in step.leaves:
            yield self.say("drawing.leaves", hazard=spaced(hazard)), True
        for hazard in step.secures:
            yield self.say("drawing.secures", hazard=spaced(hazard)), True

    def _reading(self, step: Step) -> str:
        reading = self.plan.procedure.readings[step.take or ""]
        count = len(reading.places)
        limits = self._limits(step)
        if limits:
            key = "drawing.good-places" if count > 1 else "drawing.good"
            return self.say(key, limits=limits, count=count)
        return self.say("drawing.reading-places", count=count) if count > 1 else self.say("drawing.reading")

    def _limits(self, step: Step) -> str:
        """The tolerance, short; empty for a reading that nothing is judged by."""
        reading = self.plan.procedure.readings[step.take or ""]
        told = self.plan.wording.join([spaced(reading.options.get(one, one)) for one in reading.good], "or")
        known = self.plan.limits(step)
        if known is not None and known.high is not None and known.low == -known.high:
            told = self.say("drawing.either-way", limit=shown(known.high))
        elif step.within is not None:
            low, high = self.plan.ends(step.within)
            if low is None:
                told = self.say("drawing.at-most", high=high)
            elif high is None:
                told = self.say("drawing.at-least", low=low)
            else:
                told = self.plan.between(low, high)
        if step.even is not None:
            even = self.say("drawing.even", even=self.plan.figure(step.even.term))
            told = self.say("drawing.both", one=told, other=even) if told else even
        return told

    # States

    def _lane(self, state: str) -> float:
        return self.right + 14 + _STATE_LANE * (self.states.index(state) + 0.5)

    def _marks(self, group: Element, box: _Box) -> None:
        """Dots and rings in the columns of the states that the step has to do with."""
        touched = _touched(self.plan, box.step)
        if touched:
            farthest = max(self._lane(state) for state in touched)
            _line(group, self.right, box.middle, farthest, box.middle, 0.7, dashed="1 3")
        for state in self.states:
            for kind in touched.get(state, ()):
                key, name = f"drawing.{kind}", spaced(box.step.name)
                mark = _MARKS[kind](group, self._lane(state), box.middle)
                mark.attrib.update({"class": kind, "data-step": box.step.name, "data-state": state})
                _told(mark, "title", self.say(key, step=name, state=self.plan.state(state)))
            if state in touched:
                self.marked[state].append(box.middle)

    def _lanes(self, group: Element) -> None:
        for state, marks in self.marked.items():
            if marks:
                lane = _line(group, self._lane(state), min(marks), self._lane(state), max(marks), 0.9)
                lane.attrib.update({"class": "state", "data-state": state})

    # Hazards

    def _hazard(self, bracket: _Bracket) -> None:
        x = _EDGE + _HAZARD_LANE * (self.hazards.index(bracket.hazard) + 0.5) - 6
        first = self.boxes[bracket.first].middle
        last = self.boxes[bracket.last].middle if bracket.last else self.y - _GAP
        attributes = {"class": "hazard", "data-hazard": bracket.hazard, "data-from": bracket.first}
        group = SubElement(self.root, "g", attributes | ({"data-to": bracket.last} if bracket.last else {}))
        key = "drawing.left" if bracket.last else "drawing.left-open"
        names = {"first": spaced(bracket.first), "last": spaced(bracket.last or "")}
        _told(group, "title", self.say(key, hazard=spaced(bracket.hazard), **names))
        _line(group, x, first, x, last, 3.5)
        for step in filter(None, (bracket.first, *bracket.between, bracket.last)):
            _line(group, x - 1.75, self.boxes[step].middle, self.left, self.boxes[step].middle, 3.5)
        label = _cut(spaced(bracket.hazard))
        half = len(label) * _DETAIL * 0.31 + 4
        y = first + 6 + half
        while y == first + 6 + half or y + half < last:
            _upright(group, x + 13, y, label, anchor="middle")
            y += _LABEL_EVERY


def _brackets(plan: Plan) -> Iterator[_Bracket]:
    """Each hazard from where it is left to the first step that ends it in every such job, else to the last that may."""
    hazards = dict.fromkeys(hazard for step in plan.steps for hazard in step.leaves)
    for hazard in hazards:
        first: Step | None = None
        between: list[str] = []
        for i, step in enumerate(plan.steps):
            if first is not None and hazard in step.secures:
                again = any(hazard in one.secures for one in plan.steps[i + 1 :])
                if always_with(step, first) or not again:
                    yield _Bracket(hazard, first.name, step.name, tuple(between))
                    first, between = None, []
                else:
                    between.append(step.name)
            if hazard in step.leaves:
                if first is None:
                    first = step
                else:
                    between.append(step.name)
        if first is not None:
            yield _Bracket(hazard, first.name, None, tuple(between))


def _touched(plan: Plan, step: Step) -> dict[str, list[str]]:
    """State -> what the step does with it, of moves, watches, corrects."""
    found: dict[str, list[str]] = {}
    for kind, states in (("watches", step.watches), ("moves", step.disturbs), ("corrects", plan.adjusts(step))):
        for state in states:
            found.setdefault(state, []).append(kind)
    return found


# Shapes


def _lines(text: str, pixels: float, size: float, bold: bool = False) -> list[str]:
    """The text cut into lines that fit."""
    return textwrap.wrap(visible(" ".join(text.split())), max(8, int(pixels / (size * (0.66 if bold else 0.6)))))


def _cut(label: str) -> str:
    return label if len(label) <= _LABEL_MOST else label[: _LABEL_MOST - 1].rstrip() + "…"


def _n(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")


def _told(parent: Element, tag: str, text: str) -> None:
    SubElement(parent, tag).text = visible(" ".join(text.split()))


def _text(parent: Element, x: float, y: float, words: str, size: float, bold: bool = False) -> None:
    attributes = {"x": _n(x), "y": _n(y), "font-size": _n(size)}
    if bold:
        attributes["font-weight"] = "bold"
    SubElement(parent, "text", attributes).text = words


def _upright(parent: Element, x: float, y: float, words: str, anchor: str) -> None:
    """Words that run upwards, on a white ground, centred on x."""
    words = visible(words)
    long = len(words) * _DETAIL * 0.62
    below = y if anchor == "start" else y + long / 2
    _rect(parent, x - 8, below - long - 2, 16, long + 4, fill="white")
    attributes = {
        "x": _n(x + 4),
        "y": _n(y),
        "font-size": _n(_DETAIL),
        "text-anchor": anchor,
        "transform": f"rotate(-90 {_n(x + 4)} {_n(y)})",
    }
    SubElement(parent, "text", attributes).text = words


def _rect(
    parent: Element,
    x: float,
    y: float,
    width: float,
    height: float,
    rx: float = 0,
    fill: str = "white",
    stroke: str = "",
) -> Element:
    attributes = {"x": _n(x), "y": _n(y), "width": _n(width), "height": _n(height), "fill": fill}
    if rx:
        attributes["rx"] = _n(rx)
    if stroke:
        attributes["stroke"] = stroke
    return SubElement(parent, "rect", attributes)


def _line(parent: Element, x1: float, y1: float, x2: float, y2: float, width: float, dashed: str = "") -> Element:
    attributes = {"x1": _n(x1), "y1": _n(y1), "x2": _n(x2), "y2": _n(y2), "stroke": "black", "stroke-width": _n(width)}
    if dashed:
        attributes["stroke-dasharray"] = dashed
    return SubElement(parent, "line", attributes)


def _path(parent: Element, d: str, fill: str = "black") -> Element:
    return SubElement(parent, "path", {"d": d, "fill": fill, "stroke": "black", "stroke-width": "1.3"})


def _arrow(parent: Element, x: float, y1: float, y2: float) -> None:
    _line(parent, x, y1, x, y2, 1.2)
    _path(parent, f"M{_n(x - 4)} {_n(y2 - 7)}H{_n(x + 4)}L{_n(x)} {_n(y2 - 1)}Z")


def _circle(parent: Element, x: float, y: float, radius: float, fill: str) -> Element:
    attributes = {"cx": _n(x), "cy": _n(y), "r": _n(radius), "fill": fill, "stroke": "black", "stroke-width": "1.5"}
    return SubElement(parent, "circle", attributes)


def _moves(parent: Element, x: float, y: float) -> Element:
    return _circle(parent, x, y, 5.5, "black")


def _watches(parent: Element, x: float, y: float) -> Element:
    return _circle(parent, x, y, 6.5, "white")


def _corrects(parent: Element, x: float, y: float) -> Element:
    return _circle(parent, x, y, 2, "black")


def _hold(parent: Element, x: float, y: float) -> Element:
    """An octagon."""
    return _path(parent, f"M{_n(x - 3)} {_n(y - 7)}h6l4 4v6l-4 4h-6l-4-4v-6z")


def _wait(parent: Element, x: float, y: float) -> Element:
    """An hourglass."""
    return _path(parent, f"M{_n(x - 6)} {_n(y - 7)}h12l-12 14h12z", fill="none")


def _safety(parent: Element, x: float, y: float) -> Element:
    """A triangle with a bar and a dot in it."""
    _path(parent, f"M{_n(x)} {_n(y - 7)}l8 14h-16z", fill="none")
    return _path(parent, f"M{_n(x)} {_n(y - 2)}v4m0 2v.8", fill="none")


def _both(parent: Element, x: float, y: float) -> None:
    _watches(parent, x, y)
    _corrects(parent, x, y)


def _sample(rx: float, dashed: str = "") -> Callable[[Element, float, float], None]:
    def draw(parent: Element, x: float, y: float) -> None:
        outline = _rect(parent, x - 17, y - 8, 34, 16, rx=rx, stroke="black")
        if dashed:
            outline.set("stroke-dasharray", dashed)

    return draw


def _hazard_sample(parent: Element, x: float, y: float) -> None:
    for y1, y2, x2 in ((y - 8, y + 8, x - 6), (y - 8, y - 8, x + 8), (y + 8, y + 8, x + 8)):
        _line(parent, x - 6 if x2 < x else x - 7.75, y1, x2, y2, 3.5)


_MARKS = {"moves": _moves, "watches": _watches, "corrects": _corrects}
_ICONS: tuple[tuple[Callable[[Step], bool], Callable[[Element, float, float], Element]], ...] = (
    (lambda step: step.hold is not None, _hold),
    (lambda step: step.wait is not None, _wait),
    (lambda step: step.safety, _safety),
)
_LEGEND: tuple[tuple[str, Callable[[Element, float, float], object]], ...] = (
    ("drawing.legend-step", _sample(0)),
    ("drawing.legend-check", _sample(8)),
    ("drawing.legend-optional", _sample(0, "6 4")),
    ("drawing.legend-hold", _hold),
    ("drawing.legend-wait", _wait),
    ("drawing.legend-safety", _safety),
    ("drawing.legend-hazard", _hazard_sample),
    ("drawing.legend-moves", _moves),
    ("drawing.legend-watches", _watches),
    ("drawing.legend-corrects", _corrects),
    ("drawing.legend-both", _both),
)
