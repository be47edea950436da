"""What the tablet's screen is made of: rows of text, keys to touch, and the talk; all draw what they are given."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip
from textual.widget import Widget

from guide.screen.draw import mark_of
from guide.screen.tablet.rows import Row
from guide.screen.tablet.themes import Colours, Role
from guide.screen.tablet.wrapping import fit, wrap
from guide.session.keypad import Key
from guide.session.view import Line

_ROLES: dict[str, Role] = {"crew": "crew", "ask": "strong", "advice": "strong", "finished": "strong", "say": "plain"}


class Painted(Widget):
    """A widget that paints rows of text itself, in the colours of the theme."""

    can_focus = False

    def __init__(self, colours: Callable[[], Colours], part: str) -> None:
        super().__init__(id=part)
        self.colours = colours

    def style_of(self, role: Role, bold: bool = False) -> Style:
        """The style of a role; what is bold is also said in words."""
        text, ground = getattr(self.colours(), role)
        return Style(color=text, bgcolor=ground, bold=bold)


class Rows(Painted):
    """Rows of text, from the top; the rest is empty."""

    rows: Sequence[Row] = ()
    empty: Role = "plain"

    def show(self, rows: Iterable[Row]) -> None:
        """Show these rows."""
        rows = tuple(rows)
        if rows != self.rows:
            self.rows = rows
            self.refresh()

    def render_line(self, y: int) -> Strip:
        """One row, as wide as the widget."""
        row = self.rows[y] if y < len(self.rows) else Row("", self.empty)
        width = self.size.width
        return Strip([Segment(fit(row.text, width), self.style_of(row.role, row.bold))], width)


class Keys(Painted):
    """Keys in a grid: each a block with a line under it and a gap beside it. Touching one tells which."""

    class Touched(Message):
        """A key was touched."""

        def __init__(self, key: Key) -> None:
            super().__init__()
            self.key = key

    keys: Sequence[Key] = ()
    columns = 1
    key_height = 2

    def show(self, keys: Sequence[Key], columns: int, key_height: int) -> None:
        """Show these keys, in rows from left to right."""
        if (keys, columns, key_height) != (self.keys, self.columns, self.key_height):
            self.keys, self.columns, self.key_height = keys, max(1, columns), max(1, key_height)
            self.refresh()

    def key_at(self, x: int, y: int) -> Key | None:
        """The key in a cell."""
        edges = self._edges()
        column = next((at for at in range(self.columns) if edges[at] <= x < edges[at + 1]), None)
        if column is None:
            return None
        index = y // self.key_height * self.columns + column
        return self.keys[index] if index < len(self.keys) else None

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """A thumb came down: that is enough, gloves don't lift off cleanly."""
        event.stop()
        key = self.key_at(event.x, event.y)
        if key is not None:
            self.post_message(self.Touched(key))

    def _edges(self) -> list[int]:
        return [self.size.width * at // self.columns for at in range(self.columns + 1)]

    def render_line(self, y: int) -> Strip:
        """One row of cells through a row of keys."""
        row, line = divmod(y, self.key_height)
        edges = self._edges()
        plain, face = self.style_of("plain"), self.style_of("key")
        segments = []
        for column in range(self.columns):
            index = row * self.columns + column
            wide = edges[column + 1] - edges[column]
            if index >= len(self.keys):
                segments.append(Segment(" " * wide, plain))
                continue
            key = self.keys[index]
            style = self.style_of("sure", True) if key.does == "send" else face
            segments += [Segment(self._cells(key, line, wide - 1), style), Segment(" ", plain)]
        return Strip(segments, self.size.width)

    def _cells(self, key: Key, line: int, wide: int) -> str:
        """One line of a key: its label in the middle, and the line that ends it."""
        if line == self.key_height - 1 and self.key_height > 1:
            return "▁" * wide
        rows = max(1, self.key_height - 1)
        label = self._label(key, wide, rows)
        at = line - (rows - len(label)) // 2
        if not 0 <= at < len(label):
            return " " * wide
        text = label[at]
        lead = max(0, (wide - len(text)) // 2) if not self._listed else 1
        return fit(" " * lead + text, wide)

    @property
    def _listed(self) -> bool:
        """Whether the keys are numbered choices, read from the left."""
        return any(key.words and key.does == "say" for key in self.keys)

    def _label(self, key: Key, wide: int, rows: int) -> list[str]:
        if key.words and key.does == "say":
            return wrap(f"{key.label}  {key.words}", wide - 2)[:rows]
        if key.words and rows > 1:
            return [key.label, *wrap(key.words, wide)][:rows]
        return [key.label]


class Talk(ScrollView):
    """The conversation, newest last. What is new is shown from its beginning, also when it is longer than the pane."""

    can_focus = False

    def __init__(self, colours: Callable[[], Colours]) -> None:
        super().__init__(id="talk")
        self.colours = colours
        self._lines: tuple[Line, ...] = ()
        self._rows: list[Row] = []
        self._starts: dict[int, int] = {}
        self._width = 0
        self._seen = Size(0, 0)

    def show(self, lines: tuple[Line, ...]) -> None:
        """Show the conversation; what the crew said last, and what was answered, comes into sight."""
        width = self.size.width - 1
        if width < 8 or (lines == self._lines and self.size == self._seen):
            return
        known = self._lines[-1].number if self._lines and width == self._width else 0
        if known and lines and lines[0].number == self._lines[0].number:
            self._add(lines[len(self._lines) :], width)
        else:
            self._rows.clear()
            self._starts.clear()
            self._add(lines, width)
        self._lines, self._width, self._seen = lines, width, self.size
        self.virtual_size = Size(width, len(self._rows))
        self._come_into_sight()
        self.refresh()

    def _add(self, lines: Iterable[Line], width: int) -> None:
        for line in lines:
            self._starts[line.number] = len(self._rows)
            role: Role = _ROLES.get(line.kind, "plain")
            mark = mark_of(line)
            bold = line.tone in ("out", "part") or role == "strong"
            for at, text in enumerate(wrap(line.text, width - 2)):
                self._rows.append(Row(f"{mark if not at else ' '} {text}", role, bold))

    def _come_into_sight(self) -> None:
        said = [line for line in self._lines if line.kind == "crew"]
        first = self._starts[said[-1].number] if said else 0
        end = max(0, len(self._rows) - self.size.height)
        self.scroll_to(y=min(first, end), animate=False, force=True)

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """A touch in the upper half turns a page back, in the lower half on."""
        if event.y < self.size.height // 2:
            self.scroll_page_up(animate=False)
        else:
            self.scroll_page_down(animate=False)

    def render_line(self, y: int) -> Strip:
        """One row of what is in sight; the last one tells that there is more below."""
        width = self.size.width
        at = y + self.scroll_offset.y
        below = len(self._rows) - self.scroll_offset.y - self.size.height
        row = self._rows[at] if at < len(self._rows) else Row("")
        if below > 0 and y == self.size.height - 1:
            row = Row(f"  ▼ {below + 1}", "bar", True)
        text, ground = getattr(self.colours(), row.role)
        return Strip([Segment(fit(row.text, width), Style(color=text, bgcolor=ground, bold=row.bold))], width)
