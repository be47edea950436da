"""The order of a procedure's steps as a drawing (SVG), black on white, one column from top to bottom.

A box a step: square corners to do, round ones to check. On the left a thick line runs from the step that leaves a
hazard to the step that ends it. On the right each state of the work has a column: a filled dot where a step moves
it, a ring where a check watches it, a small dot where putting a check right moves it. Nothing is told by colour.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from guide.job.figures import shown
from guide.procedure.model import Procedure, Step
from guide.screen import shapes
from guide.screen.plan import Plan, spaced
from guide.talk.wording import Wording

_EDGE, _BOX, _PAD, _GAP = 12, 284, 9, 12
_HAZARD_LANE, _STATE_LANE = 23, 22
_NAME, _DETAIL, _HEADING, _TITLE = 15, shapes.SMALL, 16, 20
_LINE = 1.25
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
        ground = shapes.rect(self.root, 0, 0, self.width, 0)
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
        shapes.told(self.root, "title", self.say("drawing.about", title=procedure.title))
        checks = sum(1 for step in self.plan.steps if procedure.is_check(step))
        shapes.told(self.root, "desc", self.say("drawing.describe", steps=len(self.plan.steps), checks=checks))

    # Title and legend

    def _head(self) -> None:
        for line in shapes.cut_into_lines(self.plan.procedure.title, self.width - 2 * _EDGE, _TITLE):
            self.y += _TITLE * _LINE
            shapes.text(self.root, _EDGE, self.y, line, _TITLE, bold=True)
        for line in shapes.cut_into_lines(self.plan.procedure.about, self.width - 2 * _EDGE, _DETAIL):
            self.y += _DETAIL * _LINE + 2
            shapes.text(self.root, _EDGE, self.y, line, _DETAIL)
        self.y += 12
        legend = SubElement(self.root, "g", {"class": "legend"})
        for key, draw in _LEGEND:
            lines = shapes.cut_into_lines(self.say(key), self.width - 2 * _EDGE - 48, _DETAIL)
            draw(legend, _EDGE + 18, self.y + 11)
            for i, line in enumerate(lines):
                shapes.text(legend, _EDGE + 48, self.y + 15 + i * _DETAIL * _LINE, line, _DETAIL)
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
                shapes.arrow(flow, self.right - 22, above, self.y)
            box = self._step(step)
            self.boxes[step.name] = box
            above = box.bottom
            self.y = box.bottom + _GAP

    def _heading(self, part: str, steps: list[Step]) -> None:
        """A part's name, with the names of the states' columns that its steps use."""
        used = [state for state in self.states if any(state in _touched(self.plan, step) for step in steps)]
        lines = shapes.cut_into_lines(part, _BOX - 32, _HEADING, bold=True)
        labels = [shapes.cut_short(spaced(state)) for state in used]
        high = max([len(lines) * _HEADING * _LINE, *(shapes.length(label) + 8 for label in labels)]) + 10
        self.y += 8
        group = SubElement(self.root, "g", {"class": "part"})
        shapes.line(group, _EDGE, self.y, self.width - _EDGE, self.y, 1.2)
        self.y += high
        for i, line in enumerate(lines, 1):
            shapes.text(group, self.left, self.y - 9 - (len(lines) - i) * _HEADING * _LINE, line, _HEADING, bold=True)
        for state, label in zip(used, labels, strict=True):
            shapes.upright(group, self._lane(state), self.y - 4, label)

    def _step(self, step: Step) -> _Box:
        icons = [draw for wanted, draw in _ICONS if wanted(step)]
        number = f"{self.plan.numbers[step.name]}"
        start = self.left + _PAD + 10 + len(number) * _NAME * 0.66
        names = shapes.cut_into_lines(spaced(step.name), self.right - start - _PAD - 20 * len(icons), _NAME)
        details = [
            (line, bold)
            for words, bold in self._details(step)
            for line in shapes.cut_into_lines(words, _BOX - 2 * _PAD, _DETAIL, bold)
        ]
        top = self.y
        height = len(names) * _NAME * _LINE + len(details) * _DETAIL * _LINE + 11
        check = self.plan.procedure.is_check(step)
        group = SubElement(self.root, "g", {"class": "step", "data-step": step.name, "data-number": number})
        shapes.told(group, "title", f"{number}. {self.plan.filled(step.say)}")
        heavy, dashed = step.hold is not None, bool(step.when)
        outline = shapes.box(group, self.left, top, _BOX, height, 14 if check else 0, heavy, dashed)
        outline.set("class", "check" if check else "do")
        y = top + 3
        for i, line in enumerate(names):
            y += _NAME * _LINE
            if i == 0:
                shapes.text(group, self.left + _PAD, y, number, _NAME, bold=True)
            shapes.text(group, start, y, line, _NAME)
        for i, draw in enumerate(icons):
            draw(group, self.right - 16 - 20 * i, top + 14)
        for line, bold in details:
            y += _DETAIL * _LINE
            shapes.text(group, self.left + _PAD, y, line, _DETAIL, bold=bold)
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
            yield self.say("drawing.only-if", conditions="; ".join(conditions)), False
        plain = [self._reading(step)] if step.take is not None else []
        if step.crew > 1:
            plain.append(self.say("drawing.crew", count=step.crew))
        if step.safety:
            plain.append(self.say("drawing.safety"))
        if step.cannot_undo:
            plain.append(self.say("drawing.no-undo"))
        if plain:
            yield "; ".join(plain), False
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
            shapes.line(group, self.right, box.middle, farthest, box.middle, 0.7, dotted=True)
        for state in self.states:
            for kind in touched.get(state, ()):
                draw, key = _MARKS[kind]
                name = spaced(box.step.name)
                mark = draw(group, self._lane(state), box.middle)
                mark.attrib.update({"class": kind, "data-step": box.step.name, "data-state": state})
                shapes.told(mark, "title", self.say(key, step=name, state=self.plan.state(state)))
            if state in touched:
                self.marked[state].append(box.middle)

    def _lanes(self, group: Element) -> None:
        for state, marks in self.marked.items():
            if marks:
                lane = shapes.line(group, self._lane(state), min(marks), self._lane(state), max(marks), 0.9)
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
        shapes.told(group, "title", self.say(key, hazard=spaced(bracket.hazard), **names))
        shapes.line(group, x, first, x, last, 3.5)
        for step in filter(None, (bracket.first, *bracket.between, bracket.last)):
            shapes.line(group, x - 1.75, self.boxes[step].middle, self.left, self.boxes[step].middle, 3.5)
        label = shapes.cut_short(spaced(bracket.hazard), last - first - 12)
        bottom = first + 6 + shapes.length(label)
        shapes.upright(group, x + 13, bottom, label)
        while (bottom := bottom + _LABEL_EVERY) < last:
            shapes.upright(group, x + 13, bottom, label)


def _brackets(plan: Plan) -> Iterator[_Bracket]:
    """Each hazard from the step that leaves it to the one by which it is ended in every job, else to the last."""
    for hazard in dict.fromkeys(hazard for step in plan.steps for hazard in step.leaves):
        at = [i for i, step in enumerate(plan.steps) if hazard in (*step.leaves, *step.secures)]
        inside: list[Step] = []
        for i in at:
            step = plan.steps[i]
            inside += [step] if inside or hazard in step.leaves else []
            again = any(hazard in plan.steps[later].secures for later in at if later > i)
            if inside and hazard in step.secures and (not again or _ended(plan, hazard, inside)):
                yield _bracket(hazard, inside, ended=True)
                inside = [step] if hazard in step.leaves else []
        if inside:
            yield _bracket(hazard, inside, ended=False)


def _bracket(hazard: str, inside: list[Step], ended: bool) -> _Bracket:
    first, *rest = (step.name for step in inside)
    return _Bracket(hazard, first, rest.pop() if ended and rest else None, tuple(rest))


def _ended(plan: Plan, hazard: str, inside: list[Step]) -> bool:
    """Whether in every job each step that leaves the hazard has one behind it that ends it."""
    return all(
        plan.one_is_there(step, [one for one in inside[i + 1 :] if hazard in one.secures])
        for i, step in enumerate(inside[:-1])
        if hazard in step.leaves
    )


def _touched(plan: Plan, step: Step) -> dict[str, list[str]]:
    """State -> what the step does with it, of moves, watches, corrects."""
    found: dict[str, list[str]] = {}
    for kind, states in (("watches", step.watches), ("moves", step.disturbs), ("corrects", plan.adjusts(step))):
        for state in states:
            found.setdefault(state, []).append(kind)
    return found


_Sign = Callable[[Element, float, float], Element]
_MARKS: Mapping[str, tuple[_Sign, str]] = {
    "moves": (shapes.filled_dot, "drawing.moves"),
    "watches": (shapes.ring, "drawing.watches"),
    "corrects": (shapes.small_dot, "drawing.corrects"),
}
_ICONS: tuple[tuple[Callable[[Step], bool], _Sign], ...] = (
    (lambda step: step.hold is not None, shapes.octagon),
    (lambda step: step.wait is not None, shapes.hourglass),
    (lambda step: step.safety, shapes.triangle),
)
_LEGEND: tuple[tuple[str, _Sign], ...] = (
    ("drawing.legend-step", shapes.small_box),
    ("drawing.legend-check", shapes.small_round_box),
    ("drawing.legend-optional", shapes.small_dashed_box),
    ("drawing.legend-hold", shapes.octagon),
    ("drawing.legend-wait", shapes.hourglass),
    ("drawing.legend-safety", shapes.triangle),
    ("drawing.legend-hazard", shapes.bracket),
    ("drawing.legend-moves", shapes.filled_dot),
    ("drawing.legend-watches", shapes.ring),
    ("drawing.legend-corrects", shapes.small_dot),
    ("drawing.legend-both", shapes.ring_with_dot),
)
