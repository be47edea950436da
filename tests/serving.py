"""A publisher's server on this machine, that serves an archive well or in one of many bad ways."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


class Publisher(ThreadingHTTPServer):
    """Serves `data`; `how` says in which way. `asked` keeps the ranges that were asked for."""

    daemon_threads = True

    def __init__(self, data: bytes, how: str = "well") -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.data = data
        self.how = how
        self.asked: list[str | None] = []
        self.url = f"http://127.0.0.1:{self.server_port}/archive.zip"

    def handle_error(self, request: object, client_address: object) -> None:
        """What goes wrong here is meant to."""


class _Handler(BaseHTTPRequestHandler):
    server: Publisher

    def do_GET(self) -> None:
        """Answer in the way that the server has."""
        asked = self.headers.get("Range")
        self.server.asked.append(asked)
        how, data = self.server.how, self.server.data
        start = int(asked.removeprefix("bytes=").removesuffix("-")) if asked else 0
        if how.startswith("to "):
            self.send_response(302)
            self.send_header("Location", how.removeprefix("to "))
            self.end_headers()
            return
        if how == "gone":
            self.send_error(404)
            return
        if how == "no range":
            start, asked = 0, None
        if how == "416" and asked:
            self.send_error(416)
            return
        self.send_response(206 if asked else 200)
        length = len(data) - start
        if how == "says more":
            length += 1000
        if how == "says less":
            length -= 1000
        if how != "says nothing" and how != "endless":
            self.send_header("Content-Length", str(length))
        if asked:
            total = len(data) + (7 if how == "another file" else 0)
            self.send_header("Content-Range", f"bytes {start}-{len(data) - 1}/{total}")
        self.end_headers()
        if how == "breaks off":
            self.wfile.write(data[start : start + len(data) // 3])
            self.close_connection = True
        elif how == "stalls":
            self.wfile.write(data[start : start + 100])
            self.wfile.flush()
            threading.Event().wait(20)
        elif how == "endless":
            with contextlib.suppress(OSError):
                for _ in range(10_000):
                    self.wfile.write(bytes(65536))
        elif how != "silent":
            self.wfile.write(data[start:])

    def log_message(self, format: str, *args: object) -> None:
        """Nothing is logged."""


@contextlib.contextmanager
def publisher(data: bytes, how: str = "well") -> Iterator[Publisher]:
    """A publisher for as long as it is needed."""
    server = Publisher(data, how)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        server.server_close()
