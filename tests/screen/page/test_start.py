"""guide serve as a process: the address it prints, TLS on the network, signals, going on with a job, and refusals."""

from __future__ import annotations

import fcntl
import json
import os
import pty
import re
import select
import signal
import socket
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from running import GUIDE, environment, guide
from served import PlayedPage
from websockets.sync.client import connect
from websockets.typing import Origin

PATIENCE = 60.0


class Serving:
    """The command, run in a folder of its own."""

    def __init__(self, tmp_path: Path, *arguments: str, **more: str) -> None:
        env = environment(tmp_path, PYTHONUNBUFFERED="1", **more)
        self.process = subprocess.Popen(
            [*GUIDE, "serve", *arguments],
            cwd=tmp_path,
            env=env,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.said = ""
        self.url, self.code = self.address()

    def address(self) -> tuple[str, str]:
        """The next address that is printed, and its code."""
        while True:
            found = re.search(r"(https?://\S+/)#(\w+)", line := self.line())
            if found is not None:
                return found[1], found[2]
            assert line, self.said

    def line(self) -> str:
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        self.said += line
        return line

    def page(self) -> PlayedPage:
        """A page that gives the code and sits down."""
        origin = self.url.rstrip("/")
        request = urllib.request.Request(
            f"{self.url}enter", json.dumps({"code": self.code}).encode(), {"Origin": origin}, method="POST"
        )
        with urllib.request.urlopen(request, timeout=PATIENCE) as answer:
            cookie, key = answer.headers["Set-Cookie"].partition(";")[0], json.load(answer)["key"]
        socket_ = connect(
            f"{origin.replace('http', 'ws', 1)}/talk",
            origin=Origin(origin),
            additional_headers={"Cookie": cookie},
            proxy=None,
            legacy=True,
        )
        page = PlayedPage(socket_)
        page.send(kind="here", key=key, tab="one", last=0)
        page.until("role", writes=True)
        return page

    def end(self) -> int:
        """Everything that is said until the end, and the exit code."""
        assert self.process.stdout is not None
        self.said += self.process.stdout.read()
        self.process.stdout.close()
        return self.process.wait(PATIENCE)


@pytest.fixture
def serving(tmp_path: Path) -> Iterator[Serving]:
    one = Serving(tmp_path, "picture-rail", "--who", "Bo", "--job", "job", "--port", "0", "--quiet")
    yield one
    if one.process.poll() is None:
        one.process.kill()
        one.end()


def kinds(job: Path) -> list[str]:
    return [json.loads(line)["kind"] for line in (job / "record.jsonl").read_text(encoding="utf-8").splitlines()]


def test_a_job_in_a_browser_left_there_and_gone_on_with(serving: Serving, tmp_path: Path) -> None:
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", serving.url)
    page = serving.page()
    page.say("stop")
    page.send(kind="say", id=2, words="", by="touch", request=0)
    assert page.until("end")["text"] == "The job was left. All of it is in the record."
    assert serving.end() == 0 and "The record is in job" in serving.said
    assert "A page is in." in serving.said and kinds(tmp_path / "job")[-1] == "stopped"

    again = Serving(tmp_path, "job", "--port", "0", "--quiet")
    page = again.page()
    assert any("Back on the job" in line["text"] for line in page.lines)
    again.process.send_signal(signal.SIGTERM)
    page.until("end")
    assert again.end() == 143 and kinds(tmp_path / "job")[-1] == "stopped"


def test_the_first_ctrl_c_is_stop_and_the_second_leaves(serving: Serving, tmp_path: Path) -> None:
    page = serving.page()
    serving.process.send_signal(signal.SIGINT)
    while not any(line["kind"] == "crew" and line["text"] == "stop" for line in page.lines):
        page.until("view")
    serving.process.send_signal(signal.SIGINT)
    page.until("end")
    assert serving.end() in (0, 130) and 'That is "stop"' in serving.said
    assert kinds(tmp_path / "job")[-1] == "stopped"


def test_a_second_process_is_kept_from_the_same_job(serving: Serving, tmp_path: Path) -> None:
    done = guide(tmp_path, "serve", "job", "--port", "0")
    assert done.returncode == 3 and "open" in done.stderr and "Traceback" not in done.stderr


def test_a_taken_port_is_said_before_there_is_a_job(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        done = guide(tmp_path, "serve", "picture-rail", "--port", str(taken.getsockname()[1]))
    assert done.returncode == 3 and "is taken already" in done.stderr
    assert not (tmp_path / "jobs").exists()


@pytest.mark.parametrize("missing", ["aiohttp", "cryptography"])
def test_without_its_packages_it_says_how_to_get_them(tmp_path: Path, missing: str) -> None:
    none = tmp_path / "none"
    none.mkdir()
    (none / f"{missing}.py").write_text("raise ImportError(name=__name__)")
    env = environment(tmp_path, PYTHONPATH=str(none))
    done = guide(tmp_path, "serve", "picture-rail", "--port", "0", "--lan", "127.0.0.1", env=env)
    assert done.returncode == 3 and f"the package {missing} is not installed" in done.stderr
    assert "pip install 'guide[serve]'" in done.stderr and not (tmp_path / "jobs").exists()


@pytest.mark.needs("openssl")
def test_on_the_network_there_is_tls_by_the_fingerprint_that_is_printed(tmp_path: Path) -> None:
    one = Serving(
        tmp_path, "picture-rail", "--who", "Bo", "--job", "job", "--port", "0", "--quiet", "--lan", "127.0.0.1"
    )
    try:
        assert one.url.startswith("https://127.0.0.1:")
        port = one.url.rstrip("/").rpartition(":")[2]
        shown = subprocess.run(
            f"openssl s_client -connect 127.0.0.1:{port} </dev/null 2>/dev/null "
            "| openssl x509 -noout -fingerprint -sha256 -ext subjectAltName",
            shell=True,
            capture_output=True,
            text=True,
            timeout=PATIENCE,
            check=True,
        ).stdout
        printed = re.search(r"\b([0-9A-F]{2}(?::[0-9A-F]{2}){31})\b", one.said)
        assert printed is not None and printed[1] in shown and "IP Address:127.0.0.1" in shown
    finally:
        one.process.send_signal(signal.SIGTERM)
        assert one.end() == 143


def test_in_a_terminal_enter_brings_another_code_and_the_network_a_square(tmp_path: Path) -> None:
    master, slave = pty.openpty()
    process = subprocess.Popen(
        [*GUIDE, "serve", "picture-rail", "--job", "job", "--port", "0", "--quiet", "--lan", "127.0.0.1"],
        stdin=slave,
        stdout=slave,
        stderr=slave,
        cwd=tmp_path,
        env=environment(tmp_path),
        start_new_session=True,
        preexec_fn=lambda: fcntl.ioctl(0, 0x540E, 0),  # the terminal is the process's own
    )
    os.close(slave)
    shown = b""

    def until(what: bytes, count: int = 1) -> list[bytes]:
        nonlocal shown
        end = time.monotonic() + PATIENCE
        while len(found := re.findall(what, shown)) < count:
            assert time.monotonic() < end, shown
            if select.select([master], [], [], 0.2)[0]:
                shown += os.read(master, 65536)
        return found

    address = rb"https://127\.0\.0\.1:\d+/#(\w{8})"
    first = until(address)
    os.write(master, b"\r")
    both = until(address, 2)
    assert both[0] == first[0] != both[1] and "▄".encode() in shown
    os.write(master, b"\x03")
    until(b"That is .stop.")
    os.write(master, b"\x03")
    assert process.wait(PATIENCE) in (0, 130)
    os.close(master)


def test_without_a_job_the_page_asks_which_and_goes_on_with_it(tmp_path: Path) -> None:
    guide(tmp_path, "start", "picture-rail", "--who", "Bo", "--job", "jobs/rail", lines=["stop"])
    one = Serving(tmp_path, "--port", "0", "--quiet")
    page = one.page()
    while not page.view:
        page.next()
    assert page.view["request"]["headline"] == "Which job?"
    offered = [key["words"] for key in page.view["keypad"]["blocks"][0]]
    assert offered[0] == "Go on: rail" and any(words.startswith("Start: ") for words in offered[1:])
    page.say("1", "touch", page.view["request"]["number"])
    while not any("Back on the job" in line["text"] for line in page.lines):
        page.until("view")
    page.say("stop")
    page.send(kind="say", id=3, words="", by="touch", request=0)
    page.until("end")
    assert one.end() == 0 and "The record is in jobs/rail" in one.said
