"""One conversation worked in a thread of its own: in order, so that a screen draws and takes keys all the while.

Everything that reaches the session comes through here, one thing after the other. A screen is told of it: the view
once anything changed, the end, or that the program itself failed. What it is told from is this thread.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from guide.job.events import Left
from guide.screen.terminal import CODES, NOT_KEPT
from guide.session import Conversation, Turn, View
from guide.session.view import Understood

NOT_PREVIEWED = 60
"""Characters from which words being typed are no longer looked at as a reading."""


class Voice(Protocol):
    """The voice beside a screen, as `guide.screen.voiced` has it."""

    descriptor: int
    """Readable while there is news."""

    def turns(self, turns: Sequence[Turn]) -> None:
        """Show and say turns."""

    def typed(self, line: str) -> bool:
        """A line was typed; whether that was all it was for."""

    def news(self) -> bool:
        """Take what was heard; whether anything was shown."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """The view is another one."""

    view: View


@dataclass(frozen=True, slots=True)
class Ended:
    """The job was left, with the program's exit code."""

    code: int


@dataclass(frozen=True, slots=True)
class Failed:
    """A fault of the program: nothing more is worked."""

    fault: Exception


Told = Drawn | Ended | Failed


class Shown:
    """The conversation as a screen that the voice speaks beside; what is drawn is what it keeps."""

    def __init__(self, conversation: Conversation) -> None:
        self._conversation = conversation

    def turns(self, turns: list[Turn]) -> None:
        """Keep what the guide said."""
        self._conversation.turns(turns)

    def crew(self, line: str) -> None:
        """Keep what was heard."""
        self._conversation.crew(line, "voice")

    def prompt(self) -> None:
        """The line for words is always there."""


class Desk:
    """Works one conversation. Nothing that screens call here waits, but `close`."""

    def __init__(self, conversation: Conversation, opening: Sequence[Turn]) -> None:
        self.conversation = conversation
        self.voice: Voice | None = None
        self.speaking: Callable[[], bool] = lambda: False
        """Whether the mouth is speaking."""
        self.view = conversation.view()
        """The last view that was told, or the first."""
        self.tell: Callable[[Told], None] = lambda told: None
        """Called from the desk's own thread."""
        self._opening = opening
        self._waiting: queue.SimpleQueue[Callable[[], bool] | None] = queue.SimpleQueue()
        self._undone = 0
        self._counting = threading.Lock()
        self._working = threading.Lock()
        self._thread = threading.Thread(target=self._work, name="desk", daemon=True)

    def start(self) -> None:
        """Begin with the opening."""
        self.do(self._open)
        self._thread.start()

    @property
    def busy(self) -> bool:
        """Whether anything is being worked, or waits to be."""
        return self._undone > 0

    def do(self, act: Callable[[], bool], then: Callable[[], None] | None = None) -> None:
        """Do something in order with all else; `act` says whether anything to be drawn has changed."""

        def whole() -> bool:
            changed = act()
            if changed:
                self.view = self.conversation.view(self.speaking())
                self.tell(Drawn(self.view))
            if then is not None:
                then()
            return changed

        with self._counting:
            self._undone += 1
        self._waiting.put(whole)

    def say(self, words: str, by: str = "typed", request: int = 0, then: Callable[[], None] | None = None) -> None:
        """Hand words to the session; `request` is the number of what they answer, 0 for whatever is asked then.

        `then` is called once they were answered, and what came of them is in the record.
        """
        self.do(lambda: self._say(words, by, request), then)

    def tick(self) -> None:
        """Look at the clock, and at whether the mouth is still speaking."""
        if not self.busy:
            self.do(self._tick)

    def news(self, then: Callable[[], None] | None = None) -> None:
        """Take what the voice has."""
        self.do(lambda: self.voice is not None and self.voice.news(), then)

    def leave(self, how: Left) -> None:
        """Leave the job in the record, behind everything that was said before."""
        self.do(lambda: self._leave(how))

    def preview(self, text: str) -> Understood | None:
        """What a reading being typed would be understood as; None too while something is being worked."""
        if not text or len(text) > NOT_PREVIEWED or not self._working.acquire(blocking=False):
            return None
        try:
            return self.conversation.preview(text)
        finally:
            self._working.release()

    def close(self) -> None:
        """Work what waits, and end."""
        self._waiting.put(None)
        if self._thread.ident is not None:
            self._thread.join()

    # In the desk's thread

    def _work(self) -> None:
        while (act := self._waiting.get()) is not None:
            try:
                with self._working:
                    act()
            except Exception as fault:
                self.tell(Failed(fault))
                self._undone = 0
                return
            with self._counting:
                self._undone -= 1

    def _open(self) -> bool:
        self._turns(self._opening)
        return True

    def _turns(self, turns: Sequence[Turn]) -> None:
        if self.voice is not None:
            self.voice.turns(turns)
        else:
            self.conversation.turns(turns)

    def _say(self, words: str, by: str, request: int) -> bool:
        session = self.conversation.session
        if session.over:
            self.tell(Ended(CODES["said"]))
            return False
        if request and request != self.view.request.number:
            late = self.conversation.wording.say("view.late")
            self.conversation.turns([Turn("refused", late, {"why": "late", "legal": []})])
            return True
        if self.voice is not None and self.voice.typed(words):
            return True
        self.conversation.said(words, by)
        self._turns(session.hear(words, by))
        return True

    def _tick(self) -> bool:
        told = self.conversation.session.tick()
        if told:
            self._turns(told)
        return bool(told) or self.conversation.ear(self.speaking()) != self.view.ear

    def _leave(self, how: Left) -> bool:
        session = self.conversation.session
        self.conversation.turns(session.leave(how))
        self.tell(Ended(CODES[how] if session.over or session.looking_back else NOT_KEPT))
        return True
