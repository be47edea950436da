"""Which job, asked on the page as anything else is asked: it stands where a desk does, until there is one.

A page names what it wants by its number among what was offered, and by nothing else: no name and no path comes from it.
"""

from __future__ import annotations

import asyncio
import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from guide.job.events import Left
from guide.problems import ProblemError
from guide.record.journal import RECORD
from guide.screen.desk import Drawn, Ended, Told
from guide.screen.terminal import CODES
from guide.session import Turn, View
from guide.session.keypad import Key, Keypad
from guide.session.view import Ear, Pinned, Progress, Understood
from guide.talk.wording import Wording

if TYPE_CHECKING:
    from guide.session.spoken import SpokenSession


OFFERED = 12
"""Jobs that a page may choose from."""
FIRST_NUMBER = 1_000_000
"""Of the requests here: no touch for one of them can be taken for an answer in the job that follows."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A job that is open, and where it is kept."""

    session: SpokenSession
    opening: Sequence[Turn]
    directory: Path


@dataclass(frozen=True, slots=True)
class Offer:
    """One that can be chosen: what it is called, and what opens it, which may raise `ProblemError`."""

    words: str
    open: Callable[[], Opened]


def offers(
    folder: Path, procedures: Mapping[str, str], open_: Callable[[str], Opened], wording: Wording
) -> list[Offer]:
    """The jobs that lie in a folder itself, newest first, then the procedures by their titles. No link is followed."""
    kept = [one for one in folder.glob("*") if one.is_dir() and not one.is_symlink() and (one / RECORD).is_file()]
    newest = sorted(kept, key=lambda one: (one / RECORD).stat().st_mtime, reverse=True)[:OFFERED]
    named = [(wording.say("page.go-on", name=one.name), str(one)) for one in newest]
    named += [(wording.say("page.begin", title=title), name) for name, title in procedures.items()]
    return [Offer(words, functools.partial(open_, what)) for words, what in named]


class Lobby:
    """Offers jobs until one is open. Used in the server's own thread only."""

    def __init__(
        self, wording: Wording, offers: Callable[[], Sequence[Offer]], opened: Callable[[Opened], None]
    ) -> None:
        self.wording = wording
        self.tell: Callable[[Told], None] = lambda told: None
        self._look = offers
        self._opened = opened
        self._opening: asyncio.Task[None] | None = None
        self._banner = ""
        self._number = FIRST_NUMBER
        self._offers: Sequence[Offer] = ()
        self.view = self._drawn()

    def start(self) -> None:
        """There is nothing to begin."""

    def say(self, words: str, by: str = "typed", request: int = 0, then: Callable[[], None] | None = None) -> None:
        """The number of what is wanted; `stop` ends the serving."""
        wanted = next((offer for n, offer in enumerate(self._offers, 1) if words == str(n)), None)
        if words == "stop":
            self.tell(Ended(CODES["said"]))
        elif wanted is not None and self._opening is None and request in (0, self._number):
            self._opening = asyncio.get_running_loop().create_task(self._open(wanted))
        if then is not None:
            then()

    async def _open(self, offer: Offer) -> None:
        try:
            opened = await asyncio.to_thread(offer.open)
        except ProblemError as fault:
            self._opening = None
            self._banner = " ".join(filter(None, (one for p in fault.problems for one in (p.message, p.hint))))
            self.view = self._drawn()
            self.tell(Drawn(self.view))
        else:
            self._opened(opened)

    def do(self, act: Callable[[], bool], then: Callable[[], None] | None = None) -> None:
        """There is nothing to be done in order with."""
        if then is not None:
            then()

    def tick(self) -> None:
        """No clock runs here."""

    def news(self, then: Callable[[], None] | None = None) -> None:
        """Nobody listens here."""

    def preview(self, text: str) -> Understood | None:
        """Nothing is read here."""
        return None

    def leave(self, how: Left) -> None:
        """Nothing was begun: there is nothing to keep."""
        self.tell(Ended(CODES[how]))

    def close(self) -> None:
        """There is nothing to end."""

    def _drawn(self) -> View:
        """What is offered now, as a request with numbered choices."""
        self._offers = self._look()
        self._number += 1
        say = self.wording.say
        keys = tuple(Key(f"{n}", "say", f"{n}", offer.words) for n, offer in enumerate(self._offers, 1))
        return View(
            title=say("page.which"),
            lines=(),
            request=Pinned("lobby", say("page.which"), expects="choice", number=self._number),
            keypad=Keypad("choice", (keys,)),
            helps=(),
            reading=None,
            stale=(),
            progress=Progress(0, 0, "", ""),
            crew="",
            cautions=(),
            ear=Ear("off", say("view.ear-off")),
            banner=self._banner,
            hint=say("view.type"),
            answer=0,
            secret=False,
            over=False,
        )
