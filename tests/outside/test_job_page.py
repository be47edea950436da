"""The job's page against the world: an accessibility checker, an independent client of its protocol, and openssl."""

from __future__ import annotations

import json
import socket
import ssl
import subprocess
import threading
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import pytest
from browser import CHROMIUM, Browser
from served import PATIENCE, Served, served
from small import SHELF, START
from talking import Talk, talk
from websockets.exceptions import ConnectionClosed

from guide.screen.page.certificate import context

AXE = files("axe_core_python").joinpath("axe.min.js")
LINES = ["no back", "20", "20 1/8", "understood", "done", "understood", "yes", "done", "1/4", "help", "0"]


@pytest.fixture
def job() -> Talk:
    return talk(SHELF)


@pytest.fixture
def door(job: Talk) -> Iterator[Served]:
    with served(job) as one:
        yield one


@pytest.mark.needs(*CHROMIUM)
@pytest.mark.outside("axe-core in Chromium, every rule of it (contrast in both themes among them)", "published")
def test_no_view_of_a_job_has_a_fault(door: Served) -> None:
    """The page of a job, at every kind of request, as writer and as watcher, has no fault that a checker knows"""
    browser = Browser()
    try:
        for width, height, dark in ((360, 740, False), (1280, 800, True)):
            page = browser.page(door.address.url, width, height, dark=dark)
            page.shows("Type the code")
            page.value(AXE.read_text(encoding="utf-8"))
            faults = {"code": _faults(page)}
            page.value(f"document.getElementById('code').value = {json.dumps(door.doors.new_code())}")
            page.value("document.getElementById('entry-form').requestSubmit()")
            page.until("document.body.dataset.state === 'job'")
            for line in LINES if not dark else ["why", "1/4"]:
                faults[line] = _faults(page)
                page.value(f"document.getElementById('line').value = {json.dumps(line)}")
                page.value("document.getElementById('say').requestSubmit()")
                page.until("document.body.dataset.pending === '0'")
            faults["end"] = _faults(page)
            watcher = browser.page(door.address.url, width, height, beside=page, dark=dark)
            watcher.shows("You are watching")
            watcher.value(AXE.read_text(encoding="utf-8"))
            faults["watcher"] = _faults(watcher)
            assert {name: found for name, found in faults.items() if found} == {}
            watcher.close()
            page.close()
    finally:
        browser.close()


def _faults(page: object) -> object:
    said = page.value(  # type: ignore[attr-defined]
        "axe.run(document, {resultTypes: ['violations']}).then(found => ({rules: found.passes.length, faults: "
        "found.violations.map(one => [one.id, one.nodes.map(node => node.html + node.failureSummary)])}))"
    )
    assert said["rules"] > 10
    return said["faults"]


@pytest.mark.outside("websockets, an independent client: fragments, pings, close codes of RFC 6455", "published")
def test_the_talk_is_a_websocket(door: Served, job: Talk) -> None:
    """The talk joins fragments, answers pings with what they carry, and closes with the codes that RFC 6455 has"""
    page = door.page()
    message = json.dumps({"kind": "say", "id": 1, "words": START[0], "by": "typed", "request": 0})
    page.socket.send(message[at : at + 7] for at in range(0, len(message), 7))
    page.until("taken", id=1)
    assert page.view["request"]["place"] == "top"
    answered = page.socket.ping(b"are you there")
    threading.Timer(0.2, lambda: page.socket.send('{"kind": "line", "n": 1, "text": ""}')).start()
    page.until("line", n=1)
    assert answered.wait(PATIENCE)
    page.socket.close(1000, "the end")
    assert page.socket.close_code == 1000
    let_in = door.enter()
    for bad, code in ((b"\xff\xfe", 1007), (b'{"kind": "' + b"x" * 100_000, 1009)):
        page = door.page("one", let_in)
        page.until("role")
        page.socket.send(bad, text=True)
        with pytest.raises(ConnectionClosed):
            page.until("never")
        assert page.socket.close_code == code
    raw = _upgraded(door, let_in[0], "Sec-WebSocket-Version: 12\r\n")
    assert raw.startswith((b"HTTP/1.1 426", b"HTTP/1.1 400"))
    raw = _upgraded(door, let_in[0], "Sec-WebSocket-Version: 13\r\n")
    assert b"Sec-WebSocket-Accept: s3pPLMBiTxaQ9kYGzzhZRbK+xOo=" in raw


def _upgraded(door: Served, cookie: str, version: str) -> bytes:
    """What the server answers to the key that RFC 6455 has as its example."""
    with socket.create_connection((door.address.host, door.address.port), PATIENCE) as link:
        link.sendall(
            f"GET /talk HTTP/1.1\r\nHost: {door.address.host}:{door.address.port}\r\nOrigin: {door.origin}\r\n"
            f"Cookie: {cookie}\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
            f"Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n{version}\r\n".encode()
        )
        return link.recv(65536)


@pytest.mark.needs("openssl")
@pytest.mark.outside("openssl s_client and x509: the handshake, the name, the dates, the fingerprint", "computed")
def test_our_certificate_and_tls(tmp_path: Path) -> None:
    """The certificate verifies for its own address and no other, with the fingerprint told; old TLS is refused"""
    secure, fingerprint = context(tmp_path, "127.0.0.1")
    with socket.create_server(("127.0.0.1", 0)) as listening:
        port = listening.getsockname()[1]
        threading.Thread(target=_greet, args=(listening, secure), daemon=True).start()
        pem = tmp_path / "guide.pem"
        found = _openssl("x509", "-in", str(pem), "-noout", "-fingerprint", "-sha256")
        assert fingerprint in found
        reach = ["s_client", "-connect", f"127.0.0.1:{port}", "-CAfile", str(pem), "-verify_return_error"]
        assert "Verify return code: 0 (ok)" in _openssl(*reach, "-verify_ip", "127.0.0.1")
        assert "IP address mismatch" in _openssl(*reach, "-verify_ip", "127.0.0.2")
        assert "alert protocol version" in _openssl(*reach, "-tls1_1", "-cipher", "ALL:@SECLEVEL=0")


def _greet(listening: socket.socket, secure: ssl.SSLContext) -> None:
    while True:
        try:
            link, _ = listening.accept()
            secure.wrap_socket(link, server_side=True).close()
        except ssl.SSLError:
            continue
        except OSError:
            return


def _openssl(*arguments: str) -> str:
    done = subprocess.run(
        ["openssl", *arguments], input="", capture_output=True, text=True, timeout=PATIENCE, check=False
    )
    return done.stdout + done.stderr
