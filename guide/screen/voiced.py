"""A screen that also speaks what it shows, and hears: the voice beside the keyboard, and its banners."""

from __future__ import annotations

import contextlib
import select
import time
from collections.abc import Sequence

from guide.screen.terminal import Screen
from guide.session import Turn
from guide.session.spoken import SpokenSession
from guide.voice.attending import Plugged, Utterance
from guide.voice.duplex import Duplex
from guide.voice.speaking import Ended
from guide.voice.supervise import Banner

LAST_WORDS = 30.0
"""Seconds that the end of a job is spoken for at most."""


_BANNERS = {
    ("mouth", "missing"): "voice.mouth-missing",
    ("mouth", "restarting"): "voice.mouth-restarting",
    ("mouth", "down"): "voice.mouth-down",
    ("mouth", "up"): "voice.mouth-up",
    ("ear", "missing"): "voice.ear-missing",
    ("ear", "restarting"): "voice.ear-restarting",
    ("ear", "down"): "voice.ear-down",
    ("ear", "up"): "voice.ear-up",
}


class VoicedScreen:
    """Shows on another screen, speaks what it shows, and hands what was heard to the session."""

    def __init__(self, session: SpokenSession, screen: Screen, duplex: Duplex) -> None:
        self.descriptor = duplex.inbox.descriptor
        self._session = session
        self._screen = screen
        self._duplex = duplex
        self._failed: set[str] = set()
        """Parts that were reported as failed, and are told when they are back."""
        self._silent = False
        self._plugged = True

    def turns(self, turns: Sequence[Turn]) -> None:
        """Show and say turns, and tell the ears what is asked now."""
        self._screen.turns(list(turns))
        self._duplex.expect(*self._session.expecting())
        said = " ".join(_aloud(turn) for turn in turns)
        if said.strip():
            self._duplex.say(said)

    def crew(self, line: str) -> None:
        """Show what the crew said."""
        self._screen.crew(line)

    def prompt(self) -> None:
        """Invite a line."""
        self._screen.prompt()

    def typed(self, line: str) -> bool:
        """A key cuts short what is being said; an empty line does nothing else then."""
        return self._duplex.hush() and not line.strip()

    def news(self) -> bool:
        """Take what was heard and what became of the voice, and show it; whether anything was shown."""
        shown = False
        for told in self._duplex.inbox.take():
            if isinstance(told, Utterance):
                shown = self._heard(told) or shown
            elif isinstance(told, Banner):
                shown = self._banner(told) or shown
            elif isinstance(told, Ended) and told.how in ("silent", "lost") and not self._silent:
                self._silent = True
                shown = self._show("voice.silent", told.why or "the sound card went away", aloud=False)
            elif isinstance(told, Ended) and told.how == "done":
                self._silent = False
            elif isinstance(told, Plugged) and told.there is not self._plugged:
                self._plugged = told.there
                shown = self._show("voice.plugged" if told.there else "voice.unplugged", aloud=True)
        return shown

    def finish(self, wait: bool) -> None:
        """End the voice, once the last words were said if they are to be waited for; Ctrl-C ends them at once."""
        end = time.monotonic() + LAST_WORDS
        with contextlib.suppress(KeyboardInterrupt):
            while wait and self._duplex.speaking and time.monotonic() < end:
                select.select([self.descriptor], [], [], 0.2)
                self._duplex.inbox.take()
        self._duplex.stop()

    def _heard(self, utterance: Utterance) -> bool:
        if self._session.over:
            return False
        words, turns = self._session.heard(utterance.by, bool(utterance.cut))
        if not turns:
            return False
        self._duplex.hush()  # who speaks while the mouth does wears a headset, and cuts it short
        self._screen.crew(words)
        self.turns(turns)
        return True

    def _banner(self, banner: Banner) -> bool:
        if banner.state == "up" and banner.part not in self._failed:
            return False
        if banner.state == "up":
            self._failed.discard(banner.part)
        else:
            self._failed.add(banner.part)
        why = banner.detail or banner.why
        return self._show(_BANNERS[banner.part, banner.state], why, banner.hint, aloud=banner.part == "ear")

    def _show(self, key: str, why: str = "", hint: str = "", *, aloud: bool) -> bool:
        text = self._session.wording.say(key, why=why, hint=hint).strip()
        self._screen.turns([Turn("say", text, {"banner": key})])
        if aloud:
            self._duplex.say(text)
        return True


def _aloud(turn: Turn) -> str:
    """What is said of a turn: of a long list only its first line."""
    return turn.text.partition("\n")[0]
