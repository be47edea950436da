"""The job on a tablet: the view of the conversation, drawn big; words, keys and touches go back to the session.

Nothing is decided here, and nothing is worked here: `guide.screen.desk` does that in a thread of its own and tells when
the view is another. The line for words always has the keyboard; keys put words into it or say them at once.
"""

from __future__ import annotations

import asyncio
import contextlib
import signal
from collections.abc import Callable, Mapping, Sequence
from typing import ClassVar

from textual import events
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.theme import Theme
from textual.widgets import Input

from guide.job.events import Left
from guide.screen.desk import Desk, Drawn, Ended, Failed, Told
from guide.screen.tablet.door import door
from guide.screen.tablet.plan import Box, Part, Plan, Show, in_rows, plan
from guide.screen.tablet.rows import Row, banner_rows, bar_rows, figure_rows, request_rows, stale_rows
from guide.screen.tablet.themes import THEMES, Colours
from guide.screen.tablet.widgets import Keys, Rows, Talk
from guide.session import View
from guide.session.keypad import Key, press
from guide.talk.wording import Wording

TICK = 1.0
"""Seconds between looks at the clock."""
EAR_TICK = 0.25
"""Seconds between looks at whether the mouth is still speaking."""
LONGEST = 2000
"""Characters that fit into the line for words; what is pasted beyond them is left out."""


class Words(Input):
    """The line for words. What is pasted is one line of bounded length."""

    def _on_paste(self, event: events.Paste) -> None:
        line = event.text[: 2 * LONGEST].splitlines()[:1]
        event.stop()
        event.prevent_default()
        if line:
            self.insert_text_at_cursor(line[0][: max(0, LONGEST - len(self.value))])


class Tablet(App[int]):
    """One job on the screen; its result is the exit code."""

    ENABLE_COMMAND_PALETTE = False
    CSS = """
    Screen { background: $background; overflow: hidden hidden; layers: base; }
    Rows, Keys, Talk, Words { position: absolute; }
    Talk { scrollbar-size-vertical: 1; }
    Words, Words:focus { border: none; padding: 0 1; height: 1; background: $surface; color: $foreground; }
    Words > .input--placeholder { color: $foreground; text-style: none; }
    Words > .input--cursor { background: $foreground; color: $surface; text-style: none; }
    Words > .input--selection { background: $foreground; color: $surface; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+c,ctrl+q", "interrupt", priority=True),
        Binding("f1", "help(0)", priority=True),
        Binding("f2", "help(1)", priority=True),
        Binding("f3", "help(2)", priority=True),
        Binding("f4", "change_over", priority=True),
        Binding("f5", "next_theme", priority=True),
        Binding("pageup", "page(-1)", priority=True),
        Binding("pagedown", "page(1)", priority=True),
    ]

    class Heard(Message):
        """The desk tells something; `told` is what."""

        def __init__(self, told: Told) -> None:
            super().__init__()
            self.told = told

    def __init__(self, desk: Desk, wording: Wording, theme: str = "sunlight") -> None:
        super().__init__()
        self.desk = desk
        self.wording = wording
        self.now_view = desk.view
        self.now_plan: Plan | None = None
        self._show: Show = "keys"
        self._asked = 0
        self._seen = 0
        self._asked_to_stop = False
        self._drawable = False
        for name, colours in THEMES.items():
            self.register_theme(_theme(name, colours))
        self.theme = theme

    def colours(self) -> Colours:
        """The colours of the theme in use."""
        return THEMES[self.theme]

    def compose(self) -> ComposeResult:
        """All the parts; where they stand is for the plan."""
        for part in ("bar", "banner", "request", "figure", "door", "stale"):
            yield Rows(self.colours, part)
        yield Talk(self.colours)
        yield Keys(self.colours, "keys")
        yield Keys(self.colours, "helps")
        yield Words(id="line", max_length=LONGEST)

    def on_mount(self) -> None:
        """Start the talk, the clock and the ear, and hear signals from outside."""
        self._drawable = True
        self.desk.tell = self._told
        self.desk.start()
        self.set_interval(TICK, self.desk.tick)
        if self.desk.voice is not None:
            self.set_interval(EAR_TICK, self.desk.tick)
            self._look_for_news()
        for number, how in _SIGNALS.items():
            asyncio.get_running_loop().add_signal_handler(number, self.desk.leave, how)
        self.query_one(Words).focus()
        self.draw()

    def _print_error_renderables(self) -> None:
        """What went wrong with the screen is told in one line by who started it; no traceback reaches a crew."""

    # Saying

    def say(self, words: str, by: str = "typed", request: int = 0) -> None:
        """Hand words to the session; what comes of them is drawn when it is there."""
        self._asked_to_stop = False
        self.desk.say(words, by, request)

    def _told(self, told: Told) -> None:
        """Hand over from the desk's thread; nobody is told once the screen is gone."""
        with contextlib.suppress(RuntimeError):
            self.post_message(self.Heard(told))

    def on_tablet_heard(self, event: Heard) -> None:
        """Draw what the desk tells, or end."""
        told = event.told
        if isinstance(told, Drawn):
            self.now_view = told.view
            self.draw()
        elif isinstance(told, Ended):
            self.exit(told.code)
        elif isinstance(told, Failed):
            raise told.fault

    def _look_for_news(self) -> None:
        """Hear of the voice's next news, once."""
        if self.desk.voice is not None:
            asyncio.get_running_loop().add_reader(self.desk.voice.descriptor, self._news, self.desk.voice.descriptor)

    def _news(self, descriptor: int) -> None:
        asyncio.get_running_loop().remove_reader(descriptor)
        self.desk.news(then=self._taken)

    def _taken(self) -> None:
        with contextlib.suppress(RuntimeError):
            self.call_later(self._look_for_news)

    # Keys and touches

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter: what stands in the line is said."""
        self._send("typed")

    def on_input_changed(self, event: Input.Changed) -> None:
        """What is being typed is shown big if it is a reading."""
        self._draw_figure()

    def on_keys_touched(self, event: Keys.Touched) -> None:
        """A key was touched."""
        self.touch(event.key)

    def touch(self, key: Key) -> None:
        """Do what a key does: type into the line, say something, or send the line."""
        line = self.query_one(Words)
        if key.does == "type":
            line.value = press(line.value, key.text, self.now_view.secret)
            line.cursor_position = len(line.value)
        elif key.does == "send":
            self._send("touch")
        elif key.text == _CHANGE_OVER:
            self.action_change_over()
        else:
            line.value = ""
            about_it = key not in self.now_view.helps
            self.say(key.text, "touch", self.now_view.request.number if about_it else 0)

    def _send(self, by: str) -> None:
        line = self.query_one(Words)
        words, line.value = line.value, ""
        self.say(words, by)

    def action_interrupt(self) -> None:
        """Ctrl-C: the first means "stop", which makes the work safe; the second leaves at once."""
        if self.now_view.over:
            self.say("")
        elif self._asked_to_stop:
            self.desk.leave("interrupted")
        else:
            self.say("stop")
            self._asked_to_stop = True

    def action_help(self, number: int) -> None:
        """Ask what a key beside the request asks."""
        if number < len(self.now_view.helps):
            self.touch(self.now_view.helps[number])

    def action_change_over(self) -> None:
        """Show the talk in the place of the keys, or the keys again."""
        self._show = "talk" if self._show == "keys" else "keys"
        self.draw()

    def action_next_theme(self) -> None:
        """From the one set of colours to the other."""
        names = list(THEMES)
        self.theme = names[(names.index(self.theme) + 1) % len(names)]
        self.draw()
        for part in (*self.query(Rows), *self.query(Keys), *self.query(Talk)):
            part.refresh()

    def action_page(self, way: int) -> None:
        """Turn a page of the talk."""
        talk = self.query_one(Talk)
        if way < 0:
            talk.scroll_page_up(animate=False)
        else:
            talk.scroll_page_down(animate=False)

    # Drawing

    def on_resize(self, event: events.Resize) -> None:
        """The screen was turned, or has another size."""
        if self._drawable:
            self.call_after_refresh(self.draw)
            self.draw()

    def draw(self) -> None:
        """Draw the view as it stands."""
        if not self._drawable:
            return
        view = self.now_view
        if view.request.number != self._asked:
            self._asked, self._show = view.request.number, "keys"
        elif view.answer > self._seen:
            self._show = "talk"
        self._seen = view.answer
        width, height = self.size
        planned = self.now_plan = plan(width, height, view, self._show)
        self._place(planned)
        self._write("bar", bar_rows(view, width))
        for part, rows_of in _TEXTS.items():
            box = planned.boxes.get(part)
            self._write(part, rows_of(view, box) if box else [])
        self._draw_keys(view, planned)
        line = self.query_one(Words)
        line.placeholder, line.password = view.hint, view.secret
        self._draw_figure()
        self.query_one(Talk).show(view.lines)
        self.call_after_refresh(self._show_talk)

    def _show_talk(self) -> None:
        self.query_one(Talk).show(self.now_view.lines)

    def _place(self, planned: Plan) -> None:
        for part in _PARTS:
            widget = self.query_one(f"#{part}")
            box = planned.boxes.get(part)
            widget.display = box is not None and box.width > 0 and box.height > 0
            if box is not None and widget.display:
                widget.styles.offset = (box.x, box.y)
                widget.styles.width, widget.styles.height = box.width, box.height

    def _draw_keys(self, view: View, planned: Plan) -> None:
        keys = [key for block in view.keypad.blocks for key in block]
        shown = [keys[at] for at in in_rows(view, planned.key_columns)]
        self.query_one("#keys", Keys).show(shown, planned.key_columns, planned.key_height)
        helps = list(view.helps)
        if keys and not planned.both:
            label = self.wording.say("tablet.talk" if self._show == "keys" else "tablet.keys")
            helps.append(Key(label, "say", _CHANGE_OVER))
        box = planned.boxes.get("helps")
        if box is not None:
            rows = -(-max(len(helps), 1) // planned.helps_columns)
            self.query_one("#helps", Keys).show(helps, planned.helps_columns, max(1, box.height // rows))

    def _draw_figure(self) -> None:
        planned = self.now_plan
        box = planned.boxes.get("figure") if planned is not None else None
        if box is None:
            return
        typed = self.query_one(Words).value
        preview = self.desk.preview(typed)
        reading = preview or (None if typed else self.now_view.reading)
        self._write("figure", figure_rows(reading, self.wording.say("tablet.so-far"), box))

    def _write(self, part: Part, rows: Sequence[Row]) -> None:
        self.query_one(f"#{part}", Rows).show(rows)


_PARTS: tuple[Part, ...] = ("bar", "banner", "request", "figure", "door", "helps", "stale", "talk", "keys", "line")
_TEXTS: Mapping[Part, Callable[[View, Box], list[Row]]] = {
    "banner": banner_rows,
    "request": request_rows,
    "door": lambda view, box: [
        Row(row, "strong") for row in door(view.request.outline, view.request.marks, box.width, box.height)
    ],
    "stale": stale_rows,
}
_CHANGE_OVER = "\0change over"
_SIGNALS: dict[signal.Signals, Left] = {
    signal.SIGINT: "interrupted",
    signal.SIGTERM: "terminated",
    signal.SIGHUP: "terminated",
}


def _theme(name: str, colours: Colours) -> Theme:
    text, ground = colours.plain
    line_text, line_ground = colours.line
    return Theme(
        name=name,
        primary=text,
        background=ground,
        surface=line_ground,
        foreground=line_text,
        dark=name == "dark",
        variables={
            "scrollbar": text,
            "scrollbar-hover": text,
            "scrollbar-active": text,
            "scrollbar-background": ground,
            "scrollbar-background-hover": ground,
            "scrollbar-background-active": ground,
            "scrollbar-corner-color": ground,
        },
    )
