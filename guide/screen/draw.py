"""A conversation drawn as lines of text, or its turns as JSON: nothing is told by colour alone."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Mapping
from typing import TextIO

from guide.problems import visible
from guide.session.conversation import Conversation
from guide.session.turns import Turn
from guide.session.view import EarState, Line, Tone, Understood

NARROWEST = 24
WIDEST = 100

MARKS: Mapping[str, str] = {
    "say": " ",
    "ask": "?",
    "understood": "=",
    "accepted": "+",
    "refused": "x",
    "stale": "!",
    "advice": ">",
    "wait": "~",
    "finished": "*",
    "stopped": "*",
}
EAR_MARKS: Mapping[EarState, str] = {"off": "-", "listening": "o", "speaking": "»", "trouble": "!"}
_COLOURS: Mapping[str, str] = {
    "ask": "1",
    "accepted": "32",
    "refused": "31",
    "stale": "33",
    "advice": "1;36",
    "finished": "1;32",
    "stopped": "1",
}
_TONES: Mapping[Tone, str] = {"out": "33", "caution": "33", "part": "1"}


def mark_of(line: Line) -> str:
    """The sign in front of a line of the talk."""
    return "!" if line.tone in ("out", "caution", "banner") else "»" if line.kind == "crew" else MARKS[line.kind]


def reading_told(reading: Understood, so_far: str) -> str:
    """A reading in words: its place, its exact value, and what is thought of it; `so_far` while it is being typed."""
    out = reading.verdict == "out"
    place = f"{reading.place}: " if reading.place else ""
    judged = reading.words or so_far
    return f"{'! ' if out else ''}{place}{reading.text}. {judged.upper() if out else judged}"


class Drawing:
    """Draws the lines of a conversation's view on a text stream, each once."""

    def __init__(self, conversation: Conversation, out: TextIO, width: int = 80, colour: bool = False) -> None:
        self.out = out
        self.width = max(NARROWEST, min(WIDEST, width))
        self.colour = colour
        self._conversation = conversation
        self._drawn = 0

    def turns(self, turns: Iterable[Turn]) -> None:
        """Draw what the guide said, and flush."""
        self._conversation.turns(turns)
        self._draw()

    def crew(self, line: str) -> None:
        """Show what the crew said (where it was not typed on this screen)."""
        self._conversation.crew(line)
        self._draw()

    def prompt(self) -> None:
        """Invite a line."""
        self.out.write("> ")
        self.out.flush()

    def _draw(self) -> None:
        for line in self._conversation.lines:
            if line.number > self._drawn:
                self.out.write(self._text(line))
                self._drawn = line.number
        self.out.flush()

    def _text(self, line: Line) -> str:
        if line.kind == "crew":
            return self._wrapped("", "You: " + visible(line.text)) + "\n"
        text = "\n".join(self._wrapped(mark_of(line), part) for part in line.text.splitlines())
        if line.tone == "part":
            text = "\n" + text
        colour = _TONES.get(line.tone) or _COLOURS.get(line.kind)
        return f"\x1b[{colour}m{text}\x1b[0m\n" if self.colour and colour else text + "\n"

    def _wrapped(self, mark: str, text: str) -> str:
        lead = f"{mark} " if mark else ""
        return textwrap.fill(
            visible(text),
            self.width,
            initial_indent=lead,
            subsequent_indent=" " * len(lead),
            break_on_hyphens=False,
            replace_whitespace=False,
        )


class JsonLines:
    """Writes turns as one JSON object a line."""

    def __init__(self, out: TextIO) -> None:
        self.out = out

    def turns(self, turns: Iterable[Turn]) -> None:
        """Write turns and flush."""
        for turn in turns:
            self.out.write(json.dumps(turn.as_data()) + "\n")
        self.out.flush()

    def crew(self, line: str) -> None:
        """A program knows what it said."""

    def prompt(self) -> None:
        """A program needs no prompt."""
