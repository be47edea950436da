"""How the checks stood through the job: fresh, stale, out or accepted, entry by entry."""

from __future__ import annotations

from guide.report import words
from guide.report.document import Figure
from guide.report.found import Found, Span
from guide.report.sketch import Sketch

_LINE = 26
_FIRST, _LAST = 8, 352


def timeline_figure(found: Found) -> Figure | None:
    """A bar for each check that was ever stale, out or accepted; None where there is none."""
    told = {
        step.name: found.spans[step.name]
        for step in found.checks()
        if any(span.standing != "fresh" for span in found.spans[step.name])
    }
    if not told:
        return None
    title = "Checks fresh and stale, in the order of the record"
    sketch = Sketch(24 + _LINE * len(told) + 50, title)
    for i, (name, spans) in enumerate(told.items()):
        y = 20 + _LINE * i
        sketch.words(words.named(name), (_FIRST, y))
        for span in spans:
            _bar(sketch, span, y + 4, len(found.entries))
    below = 20 + _LINE * len(told) + 8
    ends = (words.hour(found, found.began), words.hour(found, found.ended))
    sketch.words(ends[0], (_FIRST, below))
    sketch.words(ends[1], (_LAST, below), "end")
    _legend(sketch, below + 20)
    rest = len(found.checks()) - len(told)
    text = "; ".join(f"{words.named(name)}: {_summary(spans)}" for name, spans in told.items())
    more = f" The other {rest} checks were good from their first reading on." if rest else ""
    lead = f"A bar for each check that was ever out or went stale.{more}"
    return Figure(sketch.svg(), title, lead, f"{text}.")


def _bar(sketch: Sketch, span: Span, y: float, entries: int) -> None:
    x = _FIRST + (_LAST - _FIRST) * span.begins / entries
    ends = _FIRST + (_LAST - _FIRST) * (span.ends if span.ends is not None else entries) / entries
    _mark(sketch, span.standing, x, y, max(1.0, ends - x))


def _mark(sketch: Sketch, standing: str, x: float, y: float, width: float) -> None:
    """Told apart without colour: filled, empty, a cross line, two lines."""
    if standing == "fresh":
        sketch.box(x, y, width, 7, fill="black")
    elif standing == "stale":
        sketch.box(x, y, width, 7, fill="white", stroke=0.8)
    elif standing == "out":
        sketch.box(x, y - 1, max(width, 3), 9, fill="#888", stroke=1.5)
    else:
        sketch.line((x, y + 1), (x + width, y + 1), 2)
        sketch.line((x, y + 6), (x + width, y + 6), 2)


def _legend(sketch: Sketch, y: float) -> None:
    signs = (("fresh", "fresh", 0), ("stale", "stale", 70), ("out", "out", 140), ("conceded", "accepted as it is", 200))
    for standing, name, right in signs:
        x = _FIRST + right
        _mark(sketch, standing, x, y - 8, 18)
        sketch.words(name, (x + 22, y))


def _summary(spans: list[Span]) -> str:
    stale = sum(1 for span in spans if span.standing == "stale")
    out = sum(1 for span in spans if span.standing == "out")
    last = spans[-1].standing if spans[-1].ends is None else "not finished"
    parts = [f"out {_times(out)}"] * bool(out) + [f"stale {_times(stale)}"] * bool(stale)
    return ", ".join([*parts, f"at the end {'accepted as it is' if last == 'conceded' else last}"])


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
