"""The frame before and after it was put right, with the moves, and every reveal against its tolerance."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from guide.job import events as ev
from guide.job.figures import lookup
from guide.procedure.model import Together
from guide.procedure.worked import Missing, evaluate
from guide.quantity import LENGTH, Quantity, QuantityError, quantity
from guide.report import words
from guide.report.document import Figure
from guide.report.found import Found, Given
from guide.report.sketch import WIDE, Anchor, Sketch

_TOP, _ROOM = 64, 210
_OUT = 90.0
"""How many units an inch of lean or of a head out of level is drawn."""

Spots = Mapping[tuple[str, str], Quantity]
"""(reading, place) -> amount."""


@dataclass(frozen=True, slots=True)
class _Move:
    point: str
    by: Quantity
    direction: str


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the frame stands in the drawing, to scale."""

    left: float
    right: float
    low: float
    hinges: str = "left"
    """The side that a single door hangs on."""

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2

    def height(self, place: str) -> float:
        """How far down a place named after its height lies."""
        for word, share in (("top", 0.2), ("upper", 0.36), ("middle", 0.5), ("lower", 0.65), ("bottom", 0.88)):
            if word in place.split():
                return _TOP + (self.low - _TOP) * share
        return _TOP + (self.low - _TOP) * 0.5


def frame_figures(found: Found) -> Iterator[Figure]:
    """The frame before its first plan of moves and as it was read last, where there was such a plan."""
    planned = next((e.event for e in found.events(ev.Planned) if _moves_planned(e.event)), None)
    if not isinstance(planned, ev.Planned):
        return
    moves = [
        _Move(event.move.point, event.move.by, event.move.direction)
        for event in (entry.event for entry in found.events(ev.Adjusted, ev.MoveMade))
        if isinstance(event, ev.Adjusted | ev.MoveMade) and event.move is not None
    ]
    before = _before(found, planned)
    after = _after(found, planned.set)
    said = "; ".join(f"{move.point} {abs(move.by)} {move.direction}" for move in moves) or "none made"
    at = _place(found, found.procedure.together[planned.set])
    yield _figure("The frame before, with the moves", at, before, moves, f" Moves: {said}.")
    yield _figure("The frame after, as read last", at, after, [], "")


def _place(found: Found, one: Together) -> _Place:
    """The unit's proportions, if the record has them; a square stands for one that it has not."""
    width = height = 1.0
    if one.moves is not None:
        value_of = lookup(found.procedure, found.state)
        try:
            width = float(evaluate(one.moves.width, value_of).base)
            height = float(evaluate(one.moves.height, value_of).base)
        except (Missing, QuantityError):
            width = height = 1.0
    scale = _ROOM / max(width, height, 1e-9)
    half = width * scale / 2
    return _Place(WIDE / 2 - half, WIDE / 2 + half, _TOP + height * scale, _hung_on(found, one))


def _hung_on(found: Found, one: Together) -> str:
    """The side that the hinges of a single door are on, as the crew answered; left if they did not."""
    asked = one.moves.hinges if one.moves is not None else None
    answers = [given.value for given in found.given if given.reading == asked and given.replaced is None]
    return "right" if answers and answers[-1] == "right" else "left"


def _moves_planned(event: ev.Event) -> bool:
    return isinstance(event, ev.Planned) and bool(event.moves)


def _before(found: Found, planned: ev.Planned) -> Spots:
    spots = {}
    for key, text in planned.readings.items():
        check, _, place = key.partition(": ")
        step = found.procedure.steps.get(check)
        try:
            amount = quantity(text)
        except QuantityError:
            continue
        if step is not None and step.take is not None and amount.dimension == LENGTH:
            spots[step.take, place] = amount
    return spots


def _after(found: Found, name: str) -> Spots:
    spots = {}
    for check in found.procedure.together[name].checks:
        for place, taken in found.state.steps[check].last.items():
            if isinstance(taken.value, Quantity) and taken.value.dimension == LENGTH:
                spots[found.procedure.steps[check].take or "", place] = taken.value
    return spots


def _figure(title: str, at: _Place, spots: Spots, moves: list[_Move], more: str) -> Figure:
    sketch = Sketch(at.low + 50, title)
    left, right = (_bend(spots, f"{side} side") for side in ("left", "right"))
    level = _inch(spots.get(("head_level", ""))) * _OUT
    corners = (at.left + left, _TOP + level / 2), (at.right + right, _TOP - level / 2)
    sketch.outline([(at.left, at.low), (at.left, _TOP), (at.right, _TOP), (at.right, at.low)], dash="2 3")
    sketch.outline([(at.left, at.low), *corners, (at.right, at.low)], 3)
    if ("meeting_gap", "middle") in spots:
        sketch.line((at.middle, _TOP + 24), (at.middle, at.low - 6), 0.8)
    for (reading, place), amount in spots.items():
        _label(sketch, at, reading, place, amount, right if "right" in place.split() else left)
    for move in moves:
        _arrow(sketch, at, move)
    sketch.words("dotted: true; lean and level enlarged", (WIDE / 2, at.low + 44), "middle")
    told = "; ".join(
        f"{reading.replace('_', ' ')}{f' {place}' if place else ''} {amount}"
        for (reading, place), amount in spots.items()
    )
    return Figure(sketch.svg(), title, f"Seen from inside.{more}", f"Readings: {told}.")


def _inch(amount: Quantity | None) -> float:
    return float(amount.to("in").magnitude) if amount is not None else 0.0


def _bend(spots: Spots, side: str) -> float:
    return max(-40.0, min(40.0, _inch(spots.get(("plumb_along", side))) * _OUT))


def _label(sketch: Sketch, at: _Place, reading: str, place: str, amount: Quantity, lean: float) -> None:
    """A figure where it was read; readings without a place in the plane of the wall stand in the words only."""
    text, named = str(amount).removesuffix(" in"), place.split()
    right = "right" in named
    if not {"left", "right"} & set(named) and reading in ("hinge_reveal", "lock_reveal"):
        right = (at.hinges == "right") == (reading == "hinge_reveal")
    end: Anchor = "end" if right else "start"
    edge = WIDE - 4 if right else 4
    y = at.height(place)
    if reading in ("hinge_reveal", "lock_reveal"):
        bent = lean * (at.low - y) / (at.low - _TOP)
        sketch.words(text, ((at.right - 8 if right else at.left + 8) + bent, y + 4), end)
    elif reading == "meeting_gap":
        sketch.box(at.middle - 16, y - 8, 32, 13, fill="white")
        sketch.words(text, (at.middle, y + 3), "middle")
    elif reading == "head_reveal":
        share = {"left": 0.16, "left meeting": 0.4, "right meeting": 0.6, "right": 0.84}.get(place, 0.5)
        sketch.words(text, (at.left + (at.right - at.left) * share, _TOP + 16), "middle")
    elif reading == "plumb_along":
        sketch.words(f"leans {abs(amount)}" if amount else "plumb", (edge, at.low + 28), end)
    elif reading == "head_level":
        level = f"head {abs(amount)} out of level" if amount else "head level"
        sketch.words(level, (at.middle, at.low + 28), "middle")
    elif reading == "flush":
        proud = f"{abs(amount)} {'proud' if amount.magnitude > 0 else 'behind'}" if amount else "flush"
        sketch.words(proud, (edge, _TOP - 32 if place.startswith("top") else at.low + 14), end)


def _arrow(sketch: Sketch, at: _Place, move: _Move) -> None:
    """A move: an arrow in the plane of the wall, a ring with a word for one across it."""
    amount, point, plus = str(abs(move.by)), move.point.split(), move.by.magnitude > 0
    right = "right" in point
    side = at.right if right else at.left
    if "corner" in point:
        y = float(_TOP) if "top" in point else at.low
        sketch.dot((side, y), 6, filled=False)
        sketch.dot((side, y), 2)
        way = f"{amount} {'to the room' if plus else 'outward'}"
        sketch.words(way, (WIDE - 4 if right else 4, y - 14), "end" if right else "start", bold=True)
    elif move.point in ("head", "sill"):
        y = _TOP - 10 if move.point == "head" else at.low + 10
        ends = ((at.middle - 15, y), (at.middle + 15, y))
        sketch.arrow(*(ends if plus else ends[::-1]))
        sketch.words(amount, (at.middle, y - 6), "middle", bold=True)
    elif "centre" in point or "end" in point:
        x = at.middle if "centre" in point else side + (-14 if right else 14)
        y = float(_TOP) if "centre" in point else at.low
        ends = ((x, y + 14), (x, y - 8))
        sketch.arrow(*(ends if plus else ends[::-1]))
        sketch.words(amount, (x + 8, y - 4), bold=True)
    else:
        y = at.height(move.point)
        ends = ((side + (8 if right else -32), y), (side + (32 if right else -8), y))
        sketch.arrow(*(ends if plus else ends[::-1]))
        sketch.words(amount, (side + (20 if right else -20), y - 7), "middle", bold=True)


def reveals_figure(found: Found) -> Figure | None:
    """Every gap of the doors, first and last reading, against its tolerance."""
    rows = list(_gaps(found))
    if not rows:
        return None
    title, line = "Reveals: first and last reading against the tolerance", 34
    sketch = Sketch(20 + line * len(rows) + 34, title)
    most = max(_inch(one.value) for _, *both in rows for one in both if isinstance(one.value, Quantity))
    most = max(most, *(_inch(last.high) for _, _, last in rows)) or 1.0
    told = []
    for i, (name, first, last) in enumerate(rows):
        y = 26 + line * i
        sketch.words(name, (6, y - 4))
        sketch.line((10, y + 10), (350, y + 10), 0.5)
        low, high = (10 + 340 * _inch(end) / most for end in (last.low, last.high))
        sketch.box(low, y + 4, high - low, 12, fill="#ccc", stroke=0.8)
        for one, filled in ((first, False), (last, True)):
            assert isinstance(one.value, Quantity)
            x = 10 + 340 * max(0.0, _inch(one.value)) / most
            sketch.dot((x, y + 10), 4 if filled else 6, filled)
        sketch.words(str(last.value), (354, y - 4), "end")
        told.append(f"{name}: first {first.value}, last {last.value}, {words.limits(found.procedure, last)}")
    sketch.words("ring: first; dot: last; grey: within tolerance", (180, 26 + line * len(rows) + 10), "middle")
    lead = "Each place where a gap of the doors was read."
    return Figure(sketch.svg(), title, lead, "; ".join(told) + ".")


def _gaps(found: Found) -> Iterator[tuple[str, Given, Given]]:
    """Each place of a gap that is held to two limits: its first reading and its last."""
    ends: dict[tuple[str, str], tuple[Given, Given]] = {}
    for one in found.given:
        if is_reveal(found, one):
            key = (one.reading, one.place)
            ends[key] = (ends[key][0] if key in ends else one, one)
    for (name, place), (first, last) in ends.items():
        label = name.replace("_", " ")
        yield (f"{label}, {place}" if place else label), first, last


def is_reveal(found: Found, one: Given) -> bool:
    """Whether it is a reading of a gap that is held to two limits."""
    gap = found.procedure.readings[one.reading].about == "gap" and isinstance(one.value, Quantity)
    return gap and one.low is not None and one.high is not None
