"""A job served to browsers from inside a test, and a page that a test plays itself, through an independent client."""

from __future__ import annotations

import asyncio
import http.client
import json
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from typing import Any

from fakes import FakePeople, Ticks
from talking import PHRASES, WORDING, Talk
from websockets.sync.client import ClientConnection, connect
from websockets.typing import Origin

from guide.screen.desk import Desk
from guide.screen.page.address import LOOPBACK, Address, listening
from guide.screen.page.doors import Doors
from guide.screen.page.hub import Hub
from guide.screen.page.server import Server
from guide.screen.page.start import tick, voice
from guide.session import Conversation
from guide.session.spoken import SpokenSession
from guide.voice.settings import Settings

PATIENCE = 30.0


@dataclass
class Served:
    """A job that is served. What is done to the hub is done in the server's own thread."""

    hub: Hub
    server: Server
    doors: Doors
    address: Address
    loop: asyncio.AbstractEventLoop

    def cut(self) -> None:
        """Cut every page's connection, as a lost network does."""
        done = threading.Event()

        def cut() -> None:
            for talk in set(self.server._talks):
                if talk._req is not None and talk._req.transport is not None:
                    talk._req.transport.abort()
            done.set()

        self.loop.call_soon_threadsafe(cut)
        assert done.wait(PATIENCE)

    @property
    def url(self) -> str:
        """The address with a fresh code."""
        return self.address.with_code(self.doors.new_code())

    @property
    def origin(self) -> str:
        return self.address.url.rstrip("/")

    def request(
        self, method: str, path: str, body: str = "", origin: str | None = None, host: str = "", cookie: str = ""
    ) -> tuple[int, dict[str, str], bytes]:
        """Status, headers and body of a plain request."""
        link = http.client.HTTPConnection(self.address.host, self.address.port, timeout=PATIENCE)
        headers = {"Host": host or f"{self.address.host}:{self.address.port}"}
        if origin is not None:
            headers["Origin"] = origin
        if cookie:
            headers["Cookie"] = cookie
        link.request(method, path, body or None, headers)
        answer = link.getresponse()
        found = answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()
        link.close()
        return found

    def enter(self, code: str = "") -> tuple[str, str]:
        """The cookie and the key that a code is exchanged for."""
        given = json.dumps({"code": code or self.doors.new_code()})
        status, headers, body = self.request("POST", "/enter", given, self.origin)
        assert status == 200, body
        return headers["set-cookie"].partition(";")[0], json.loads(body)["key"]

    def connect(self, cookie: str, origin: str | None = "", **more: Any) -> ClientConnection:
        """A WebSocket, whose page has not yet said who it is."""
        address = f"ws://{self.address.host}:{self.address.port}/talk"
        headers = {"Cookie": cookie} if cookie else {}
        given = self.origin if origin == "" else origin
        return connect(
            address,
            origin=Origin(given) if given is not None else None,
            additional_headers=headers,
            open_timeout=PATIENCE,
            max_size=None,
            proxy=None,
            legacy=True,
            **more,
        )

    def page(self, tab: str = "one", let_in: tuple[str, str] | None = None, last: int = 0) -> PlayedPage:
        """A page that is let in and sits down."""
        cookie, key = let_in or self.enter()
        page = PlayedPage(self.connect(cookie))
        page.send(kind="here", key=key, tab=tab, last=last)
        return page


@dataclass
class PlayedPage:
    """A page as a test plays it: what it sends, what came, and the view as it stands."""

    socket: ClientConnection
    view: dict[str, Any] = field(default_factory=dict)
    lines: list[dict[str, Any]] = field(default_factory=list)
    role: dict[str, Any] = field(default_factory=dict)
    came: list[Any] = field(default_factory=list)
    count: int = 0

    def send(self, **message: object) -> None:
        self.socket.send(json.dumps(message))

    def next(self) -> Any:
        """The next message, kept."""
        data = self.socket.recv(PATIENCE)
        message = json.loads(data) if isinstance(data, str) else data
        if isinstance(message, dict) and message["kind"] == "view":
            self.view = message["view"]
            self.lines = [*([] if message["all"] else self.lines), *self.view["lines"]]
        elif isinstance(message, dict) and message["kind"] == "role":
            self.role = message
        self.came.append(message)
        return message

    def until(self, kind: str, **fields: object) -> dict[str, Any]:
        """The next message of a kind with these fields."""
        end = time.monotonic() + PATIENCE
        while True:
            assert time.monotonic() < end, f"no {kind} came"
            message = self.next()
            if isinstance(message, dict) and message["kind"] == kind and fields.items() <= message.items():
                return message

    def say(self, words: str, by: str = "typed", request: int = 0) -> None:
        """Say words, and wait until they were taken."""
        self.count += 1
        self.send(kind="say", id=self.count, words=words, by=by, request=request)
        self.until("taken", id=self.count)

    def close(self) -> None:
        self.socket.close()


@contextmanager
def served(job: Talk, ticks: Ticks | None = None, settings: Settings | None = None) -> Iterator[Served]:
    """Serve a job on loopback for as long as it is needed; with settings it also speaks and hears."""
    started: list[Served] = []
    ready, enough = threading.Event(), asyncio.Event()

    async def serve() -> None:
        session = job.session
        desk = Desk(Conversation(session), job.turns)
        hub = Hub(desk, WORDING)
        taken = listening(LOOPBACK, 0)
        address = Address(LOOPBACK, taken.getsockname()[1], False)
        doors = Doors(ticks) if ticks is not None else Doors()
        afar = voice(hub, desk, session, settings) if settings is not None else None  # type: ignore[arg-type]
        hub.start(afar)
        ticking = asyncio.create_task(tick(hub))
        server = Server(hub, doors, address)
        async with server.serving(taken, None):
            started.append(Served(hub, server, doors, address, asyncio.get_running_loop()))
            ready.set()
            await enough.wait()
        ticking.cancel()
        await asyncio.to_thread(desk.close)
        if afar is not None:
            await asyncio.to_thread(afar.stop)

    thread = threading.Thread(target=lambda: asyncio.run(serve()), daemon=True)
    thread.start()
    assert ready.wait(PATIENCE), "it was not served"
    try:
        yield started[0]
    finally:
        with suppress(RuntimeError):
            started[0].loop.call_soon_threadsafe(enough.set)
        thread.join(PATIENCE)


def speaking(job: Talk) -> Talk:
    """The same job with a session that hears."""
    job.session = SpokenSession(job.session.job, PHRASES, FakePeople())
    job.turns = job.session.open()
    return job
