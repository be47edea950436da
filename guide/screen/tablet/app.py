"""The job on a tablet: the view of the conversation, drawn big; words, keys and touches go back to the session.

Nothing is decided here. The line for words always has the keyboard; keys put words into it or say them at once.
"""

from __future__ import annotations

import asyncio
import signal
from collections.abc import Callable, Mapping, Sequence
from typing import ClassVar, Protocol

from textual import events
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.theme import Theme
from textual.widgets import Input

from guide.job.events import Left
from guide.screen.tablet.door import door
from guide.screen.tablet.plan import Box, Part, Plan, Show, in_rows, plan
from guide.screen.tablet.rows import Row, banner_rows, bar_rows, figure_rows, request_rows, stale_rows
from guide.screen.tablet.themes import THEMES, Colours
from guide.screen.tablet.widgets import Keys, Rows, Talk
from guide.screen.terminal import CODES, NOT_KEPT
from guide.session import Conversation, Turn, View
from guide.session.keypad import Key, press
from guide.talk.wording import Wording

TICK = 1.0
"""Seconds between looks at the clock."""
EAR_TICK = 0.25
"""Seconds between looks at whether the mouth is still speaking."""
LONGEST = 2000
"""Characters that fit into the line for words; what is pasted beyond them is left out."""
PREVIEWED = 60
"""Characters up to which words being typed are looked at as a reading."""


class Voice(Protocol):
    """The voice beside the screen, as `guide.screen.voiced` has it."""

    descriptor: int

    def turns(self, turns: Sequence[Turn]) -> None:
        """Show and say turns."""

    def typed(self, line: str) -> bool:
        """A line was typed; whether that was all it was for."""

    def news(self) -> bool:
        """Take what was heard; whether anything was shown."""


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

    def __init__(
        self, conversation: Conversation, opening: Sequence[Turn], wording: Wording, theme: str = "sunlight"
    ) -> None:
        super().__init__()
        self.conversation = conversation
        self.wording = wording
        self.voice: Voice | None = None
        self.speaking: Callable[[], bool] = lambda: False
        """Whether the mouth is speaking."""
        self.now_view = conversation.view()
        self.now_plan: Plan | None = None
        self._opening = opening
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
        if self.voice is not None:
            self.voice.turns(self._opening)
            self.set_interval(EAR_TICK, self._look_at_ear)
            asyncio.get_running_loop().add_reader(self.voice.descriptor, self._news)
        else:
            self.conversation.turns(self._opening)
        self.set_interval(TICK, self._tick)
        for number, how in _SIGNALS.items():
            asyncio.get_running_loop().add_signal_handler(number, self.leave, how)
        self.query_one(Words).focus()
        self.draw()

    def _print_error_renderables(self) -> None:
        """What went wrong with the screen is told in one line by who started it; no traceback reaches a crew."""

    # Saying

    def say(self, words: str, by: str = "typed") -> None:
        """Hand words to the session, and draw what came of it."""
        session = self.conversation.session
        if session.over:
            self.exit(CODES["said"])
            return
        if self.voice is not None and self.voice.typed(words):
            self.draw()
            return
        self._asked_to_stop = False
        self._heard(words, by)

    def _heard(self, words: str, by: str) -> None:
        if self.voice is None:
            self.conversation.hear(words, by)
        else:
            self.conversation.said(words, by)
            self.voice.turns(self.conversation.session.hear(words, by))
        self.draw()

    def leave(self, how: Left) -> None:
        """Leave the job in the record, and the screen."""
        session = self.conversation.session
        self.conversation.turns(session.leave(how))
        self.exit(CODES[how] if session.over or session.looking_back else NOT_KEPT)

    def _tick(self) -> None:
        told = self.conversation.session.tick()
        if told:
            if self.voice is not None:
                self.voice.turns(told)
            else:
                self.conversation.turns(told)
            self.draw()

    def _news(self) -> None:
        if self.voice is not None and self.voice.news():
            self.draw()

    def _look_at_ear(self) -> None:
        if self.conversation.ear(self.speaking()) != self.now_view.ear:
            self.draw()

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
            line.value = (
                line.value + key.text if self.now_view.secret and key.text.isdigit() else press(line.value, key.text)
            )
            line.cursor_position = len(line.value)
        elif key.does == "send":
            self._send("touch")
        elif key.text == _CHANGE_OVER:
            self.action_change_over()
        else:
            line.value = ""
            self.say(key.text, "touch")

    def _send(self, by: str) -> None:
        line = self.query_one(Words)
        words, line.value = line.value, ""
        self.say(words, by)

    def action_interrupt(self) -> None:
        """Ctrl-C: the first means "stop", which makes the work safe; the second leaves at once."""
        session = self.conversation.session
        if session.over:
            self.exit(CODES["said"])
        elif self._asked_to_stop:
            self.leave("interrupted")
        else:
            self._asked_to_stop = True
            self._heard("stop", "typed")

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
        view = self.now_view = self.conversation.view(self.speaking())
        if view.request.number != self._asked:
            self._asked, self._show = view.request.number, "keys"
        elif self._answered():
            self._show = "talk"
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

    def _answered(self) -> bool:
        """Whether what was said last is an answer to read: the request stands as it was."""
        told = [line for line in self.now_view.lines if line.number > self._seen]
        self._seen = self.now_view.lines[-1].number if self.now_view.lines else 0
        return any(line.kind in ("say", "refused") and not line.tone for line in told)

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
        preview = self.conversation.preview(typed) if typed and len(typed) <= PREVIEWED else None
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
