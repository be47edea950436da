"""How a job gets into a browser: the address is found and told before there is a job, then the job is served."""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import os
import signal
import socket
import ssl
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from guide.problems import Problem, ProblemError, render, visible

if TYPE_CHECKING:
    from guide.screen.desk import Desk
    from guide.screen.page.address import Address
    from guide.screen.page.doors import Doors
    from guide.screen.page.hub import Hub
    from guide.screen.page.lobby import Offer, Opened
    from guide.session.spoken import SpokenSession
    from guide.talk.wording import Wording
    from guide.voice.afar import Afar
    from guide.voice.settings import Settings

TICK = 0.25
"""Seconds between looks at the clock, and at whether the mouth is still speaking."""
LAST_WORDS = 2.0
"""Seconds for the pages to hear that the job was left."""
INSTALL = "pip install 'guide[serve]'"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a job will be served."""

    listening: socket.socket
    address: Address
    secure: ssl.SSLContext | None
    fingerprint: str

    def close(self) -> None:
        """Give the port back."""
        self.listening.close()


def find_place(arguments: argparse.Namespace) -> Place:
    """Take the port, and make ready for TLS where it is wanted; raises `ProblemError` before there is a job."""
    from guide.screen.page.address import LOOPBACK, PORT, Address, listening, own_address
    from guide.screen.page.certificate import context
    from guide.voice.settings import data_folder

    try:
        import_module("guide.screen.page.server")
    except ImportError as fault:
        raise ProblemError([Problem("no-server", f"the package {fault.name} is not installed", hint=INSTALL)]) from None
    port = PORT if arguments.port is None else arguments.port
    if arguments.lan is None:
        taken = listening(LOOPBACK, port)
        return Place(taken, Address(LOOPBACK, taken.getsockname()[1], False), None, "")
    host = own_address(arguments.lan)
    try:
        secure, fingerprint = context(data_folder() / "serve", host)
    except ImportError as fault:
        raise ProblemError([Problem("no-tls", f"the package {fault.name} is not installed", hint=INSTALL)]) from None
    taken = listening(host, port)
    return Place(taken, Address(host, taken.getsockname()[1], True), secure, fingerprint)


def run(
    place: Place, job: Opened | Callable[[], Sequence[Offer]], settings: Settings | None, wording: Wording
) -> tuple[int, Path | None]:
    """Serve a job, or the choice of one, until it is left; the exit code, and where the record is.

    Without settings there is no voice.
    """
    import gc

    gc.freeze()  # what is loaded stays loaded: the collector need not walk it while a thumb waits
    try:
        return asyncio.run(_Serving(place, settings, wording).serve(job))
    finally:
        place.close()


class _Serving:
    """One serving, from the first address to the last word."""

    def __init__(self, place: Place, settings: Settings | None, wording: Wording) -> None:
        self._place, self._settings, self._wording = place, settings, wording
        self._afar: Afar | None = None
        self._opened: Opened | None = None

    async def serve(self, job: Opened | Callable[[], Sequence[Offer]]) -> tuple[int, Path | None]:
        """Serve until the job is left."""
        from guide.screen.page.doors import Doors
        from guide.screen.page.hub import Hub
        from guide.screen.page.lobby import Lobby, Opened
        from guide.screen.page.server import Server

        if isinstance(job, Opened):
            desk = self._desk(job)
            hub = self._hub = Hub(desk, self._wording)
            hub.start(self._speak(hub, desk))
        else:
            hub = self._hub = Hub(Lobby(self._wording, job, self._begin), self._wording)
            hub.start()
        doors = Doors()
        door = _Door(self._place, doors)
        hub.entered = door.entered
        ticking = asyncio.create_task(tick(hub))
        try:
            async with Server(hub, doors, self._place.address).serving(self._place.listening, self._place.secure):
                with _signals(hub):
                    door.begin()
                    code = await hub.ended
                hub.close(self._wording.say("page.ended"))
                await _all_told(hub)
        finally:
            ticking.cancel()
            door.close()
            await asyncio.to_thread(hub.desk.close)
            if self._afar is not None:
                await asyncio.to_thread(self._afar.stop)
        if hub.fault is not None:
            self._failed(hub.fault)
        return code, self._opened.directory if self._opened is not None else None

    def _desk(self, opened: Opened) -> Desk:
        from guide.screen.desk import Desk
        from guide.session import Conversation

        self._opened = opened
        return Desk(Conversation(opened.session), opened.opening)

    def _speak(self, hub: Hub, desk: Desk) -> Afar | None:
        if self._settings is not None and self._opened is not None:
            self._afar = voice(hub, desk, self._opened.session, self._settings)
        return self._afar

    def _begin(self, opened: Opened) -> None:
        """A job was chosen."""
        desk = self._desk(opened)
        self._hub.begin(desk, self._speak(self._hub, desk))

    def _failed(self, fault: Exception) -> None:
        if self._opened is not None:
            self._opened.session.leave("terminated")
        message = f"the program failed ({type(fault).__name__}); the job is in the record, and resume goes on with it"
        print(render(Problem("serve-failed", message)), file=sys.stderr)


def voice(hub: Hub, desk: Desk, session: SpokenSession, settings: Settings) -> Afar:
    """A mouth and an ear for the page that writes."""
    from guide.screen.desk import Shown
    from guide.screen.voiced import VoicedScreen
    from guide.voice.afar import Afar

    afar = Afar(settings, hub.play)
    desk.voice = VoicedScreen(session, Shown(desk.conversation), afar)
    desk.speaking = lambda: afar.speaking
    return afar


async def tick(hub: Hub) -> None:
    """Look at the clock again and again."""
    while True:
        await asyncio.sleep(TICK)
        hub.desk.tick()


async def _all_told(hub: Hub) -> None:
    """Wait until every page has the last of it, for a moment."""
    end = asyncio.get_running_loop().time() + LAST_WORDS
    while asyncio.get_running_loop().time() < end and any(seat.out.waiting or seat.out.view for seat in hub.seats):
        await asyncio.sleep(0.02)
    await asyncio.sleep(0.05)


@contextlib.contextmanager
def _signals(hub: Hub) -> Iterator[None]:
    """Ctrl-C: the first means "stop", which makes the work safe; the second leaves at once, as other signals do."""
    loop = asyncio.get_running_loop()
    asked = False

    def interrupt() -> None:
        nonlocal asked
        if asked or hub.desk.view.over:
            hub.desk.leave("interrupted")
        else:
            asked = True
            print('\nThat is "stop": answer on the page. Ctrl-C again leaves at once.', flush=True)
            hub.desk.say("stop")

    loop.add_signal_handler(signal.SIGINT, interrupt)
    for number in (signal.SIGTERM, signal.SIGHUP):
        loop.add_signal_handler(number, hub.desk.leave, "terminated")
    try:
        yield
    finally:
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            loop.remove_signal_handler(number)


class _Door:
    """Tells the address with a code in the terminal; another code at every press of Enter, and when one was used up."""

    def __init__(self, place: Place, doors: Doors) -> None:
        self._place, self._doors = place, doors
        self._at_keyboard = False

    def begin(self) -> None:
        """Tell the first code."""
        self._at_keyboard = sys.stdin.isatty() and sys.stdout.isatty()
        if self._at_keyboard:
            asyncio.get_running_loop().add_reader(0, self._asked)
        if self._place.fingerprint:
            print("The certificate is this machine's own. Go on in the browser only if its warning shows this SHA-256:")
            print(f"  {self._place.fingerprint}")
        self._tell("Open in a browser on this machine:" if not self._place.secure else "Open on the tablet:")

    def entered(self) -> None:
        """A code was used: whoever comes next needs another."""
        print("A page is in. It works until the job is left.", flush=True)
        if self._at_keyboard:
            print("Press Enter for another page's code.", flush=True)
        else:
            self._tell("For another page:")

    def close(self) -> None:
        """Let go of the keyboard."""
        if self._at_keyboard:
            asyncio.get_running_loop().remove_reader(0)

    def _asked(self) -> None:
        if not os.read(0, 4096):
            asyncio.get_running_loop().remove_reader(0)
            return
        self._tell("For another page:")

    def _tell(self, what: str) -> None:
        from guide.screen.page.address import square
        from guide.screen.page.doors import CODE_LASTS

        code = self._doors.new_code()
        url = self._place.address.with_code(code)
        print(f"{what}\n  {visible(url)}")
        print(f"  The code, {code[:4]} {code[4:]}, works once, within {CODE_LASTS / 60:.0f} minutes.", flush=True)
        if self._place.secure and self._at_keyboard:
            print(square(url), flush=True)
