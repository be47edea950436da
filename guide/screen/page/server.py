"""The server of one job's page, and the only door to aiohttp: fixed files, a code for a pass, and the talk.

    GET  /          the page, and the few files it is made of: nothing of the job, no path that a request could choose
    POST /enter     a code for a pass (a cookie, and a key that the page keeps)
    GET  /here      whether the cookie is known
    GET  /talk      the WebSocket: everything of the job

A request that came by another name than ours, or from another page than ours, is refused before anything else.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import socket
import ssl
from collections.abc import AsyncIterator, Mapping
from importlib.resources import files
from weakref import WeakSet

from aiohttp import WSCloseCode, WSMsgType, web

from guide.screen.page.address import Address
from guide.screen.page.doors import PASS_LASTS, Allowance, Doors
from guide.screen.page.hub import Hub, Seat
from guide.screen.page.messages import LONGEST, Here, read
from guide.screen.page.words import colours, index

NOT_KNOWN, NOT_HERE, REPLACED, TOO_MUCH, FAULTY = 4401, 4408, 4409, 4429, 4400
"""Why a talk is closed: no pass, nobody said who they are, the same page came again, too fast, not our messages."""
MOST_SEATS = 8
BEAT = 5.0
"""Seconds between signs of life to a page."""
FIRST = 10.0
"""Seconds for a page to say who it is."""
WRONG_CODE_WAITS = 0.5
SMALL = 4096
"""Bytes of a request's body."""
MESSAGES, MESSAGES_SAVED = 60.0, 240.0
BYTES, BYTES_SAVED = 600_000.0, 2_000_000.0
"""A second, and saved up: a microphone at 192,000 a second needs 384,000 bytes of it."""
FAULTS = 20
"""Messages that are none of ours, before the talk is closed."""
LAST_WORDS = 2.0

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}


class Server:
    """Serves one job at one address."""

    def __init__(self, hub: Hub, doors: Doors, address: Address) -> None:
        self._hub, self._doors, self._address = hub, doors, address
        self._files = load_files(address, hub)
        self._cookie = f"__Host-guide-{address.port}" if address.secure else f"guide-{address.port}"
        self._entries = Allowance(2.0, 10.0)
        self._headers = headers(address)
        self._talks: WeakSet[web.WebSocketResponse] = WeakSet()

    def app(self) -> web.Application:
        """The application, for a runner."""
        app = web.Application(middlewares=[self._guard], client_max_size=SMALL)
        app.router.add_get("/", self._file)
        for name in self._files:
            app.router.add_get(f"/{name}", self._file)
        app.router.add_post("/enter", self._enter)
        app.router.add_get("/here", self._is_here)
        app.router.add_get("/talk", self._talk)
        app.on_response_prepare.append(self._dress)
        app.on_shutdown.append(self._end)
        return app

    @contextlib.asynccontextmanager
    async def serving(self, listening: socket.socket, secure: ssl.SSLContext | None) -> AsyncIterator[None]:
        """Serve as long as this lasts."""
        runner = web.AppRunner(self.app(), access_log=None, handle_signals=False, shutdown_timeout=LAST_WORDS)
        await runner.setup()
        try:
            await web.SockSite(runner, listening, ssl_context=secure).start()
            yield
        finally:
            await runner.cleanup()

    @web.middleware
    async def _guard(self, request: web.Request, handler: object) -> web.StreamResponse:
        """Names and pages that are not ours go no further; what fails is told without its insides."""
        if request.headers.get("Host", "") not in self._address.hosts:
            return _plain(421, "This is not the address of this server.")
        origin = request.headers.get("Origin")
        needs_origin = request.method == "POST" or request.path == "/talk"
        if (needs_origin or origin is not None) and origin not in self._address.origins:
            return _plain(403, "Only this server's own page may ask for that.")
        try:
            answer: web.StreamResponse = await handler(request)  # type: ignore[operator]
            return answer
        except web.HTTPException as refused:
            return _plain(refused.status, refused.reason)

    async def _dress(self, request: web.Request, answer: web.StreamResponse) -> None:
        answer.headers.update(self._headers)

    async def _end(self, app: web.Application) -> None:
        for talk in set(self._talks):
            await talk.close(code=WSCloseCode.GOING_AWAY, message=b"the end")

    async def _file(self, request: web.Request) -> web.Response:
        body, kind = self._files[request.path.removeprefix("/") or "index.html"]
        return web.Response(body=body, headers={"Content-Type": kind})

    async def _enter(self, request: web.Request) -> web.Response:
        """A code for a pass. Wrong codes are slow, and few are taken."""
        if not self._entries.take():
            return _plain(429, "Too many tries. Wait a moment.")
        try:
            data = json.loads(await request.text())
            code = data["code"]
        except (ValueError, LookupError, TypeError, RecursionError):
            return _plain(400, "There is no code in that.")
        made = self._doors.enter(code) if isinstance(code, str) else None
        if made is None:
            await asyncio.sleep(WRONG_CODE_WAITS)
            return _plain(403, "That is not the code.")
        self._hub.entered()
        answer = web.json_response({"key": made.key})
        answer.set_cookie(
            self._cookie,
            made.ticket,
            max_age=int(PASS_LASTS),
            path="/",
            httponly=True,
            samesite="Strict",
            secure=self._address.secure,
        )
        return answer

    async def _is_here(self, request: web.Request) -> web.Response:
        return web.Response(status=204 if self._doors.knows(request.cookies.get(self._cookie, "")) else 401)

    async def _talk(self, request: web.Request) -> web.StreamResponse:
        ticket = request.cookies.get(self._cookie, "")
        if not self._doors.knows(ticket):
            return _plain(401, "Give the code first.")
        if len(self._hub.seats) >= MOST_SEATS:
            return _plain(503, "There are too many pages already.")
        talk = web.WebSocketResponse(max_msg_size=LONGEST, heartbeat=3 * BEAT, compress=False)
        await talk.prepare(request)
        self._talks.add(talk)
        seat = await self._seated(talk, ticket)
        if seat is None:
            return talk
        sending = asyncio.create_task(self._send(talk, seat, ticket))
        try:
            await self._receive(talk, seat, ticket)
        finally:
            self._hub.rise(seat)
            sending.cancel()
            with contextlib.suppress(asyncio.CancelledError, ConnectionError):
                await sending
        return talk

    async def _seated(self, talk: web.WebSocketResponse, ticket: str) -> Seat | None:
        """Let a page sit down that says who it is, with its half of the pass."""
        try:
            first = await talk.receive(FIRST)
            here = read(first.data) if first.type is WSMsgType.TEXT else None
        except (TimeoutError, ValueError):
            here = None
        if not isinstance(here, Here):
            await talk.close(code=NOT_HERE, message=b"say who you are")
            return None
        if not self._doors.lets(ticket, here.key):
            await talk.close(code=NOT_KNOWN, message=b"give the code")
            return None
        return self._hub.sit(f"{ticket} {here.tab}", here.last)

    async def _receive(self, talk: web.WebSocketResponse, seat: Seat, ticket: str) -> None:
        messages, sound = Allowance(MESSAGES, MESSAGES_SAVED), Allowance(BYTES, BYTES_SAVED)
        faults = 0
        async for message in talk:
            if message.type not in (WSMsgType.TEXT, WSMsgType.BINARY):
                return
            if not messages.take() or not sound.take(len(message.data)):
                await talk.close(code=TOO_MUCH, message=b"too fast")
                return
            try:
                if message.type is WSMsgType.TEXT:
                    self._hub.take(seat, read(message.data))
                    self._doors.used(ticket)
                else:
                    self._hub.heard(seat, message.data)
            except ValueError as fault:
                faults += 1
                if faults > FAULTS:
                    await talk.close(code=FAULTY, message=b"not our messages")
                    return
                seat.out.put({"kind": "fault", "text": str(fault)})

    async def _send(self, talk: web.WebSocketResponse, seat: Seat, ticket: str) -> None:
        """Send what waits, a sign of life where nothing does, and an end where the pass has ended."""
        out = seat.out
        while not talk.closed:
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(out.news.wait(), BEAT)
            out.news.clear()
            if out.full:
                await talk.close(code=TOO_MUCH, message=b"too slow")
                return
            if out.replaced:
                await talk.close(code=REPLACED, message=b"the same page is there again")
                return
            if not self._doors.knows(ticket):
                await talk.close(code=NOT_KNOWN, message=b"the pass has ended")
                return
            if not out.view and not out.waiting:
                await talk.send_json({"kind": "beat"})
            if out.view:
                out.view = False
                await talk.send_json(self._hub.data(seat))
            while out.waiting:
                one = out.waiting.popleft()
                await (talk.send_bytes(one) if isinstance(one, bytes) else talk.send_json(one))


def load_files(address: Address, hub: Hub) -> Mapping[str, tuple[bytes, str]]:
    """The page's files by name, each with its type. There are no others."""
    found: dict[str, tuple[bytes, str]] = {}
    for one in files("guide.screen.page").joinpath("static").iterdir():
        suffix = one.name[one.name.rfind(".") :]
        if suffix in TYPES:
            found[one.name] = (one.read_bytes(), TYPES[suffix])
    found["colours.css"] = (colours().encode(), TYPES[".css"])
    text, kind = found["index.html"]
    found["index.html"] = (index(text.decode("utf-8"), hub.wording).encode(), kind)
    return found


def headers(address: Address) -> Mapping[str, str]:
    """What every answer carries: nothing from elsewhere, nothing inline, in nobody's frame, told to nobody."""
    talk = " ".join(sorted(origin.replace("http", "ws", 1) for origin in address.origins))
    return {
        "Content-Security-Policy": (
            "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
            f"connect-src 'self' {talk}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; "
            "require-trusted-types-for 'script'"
        ),
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
        "Referrer-Policy": "no-referrer",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Permissions-Policy": "microphone=(self), camera=(), geolocation=()",
        "Cache-Control": "no-store",
        "Server": "guide",
    }


def _plain(status: int, text: str) -> web.Response:
    return web.Response(status=status, text=text)
