"""Child processes that crash, hang, flood, exit or are not there: always a banner, never a fault of the guide."""

from __future__ import annotations

import os
import queue
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import misbehaving
import pytest

from guide.voice.child import Message
from guide.voice.supervise import Banner, Limits, Supervisor

QUICK = Limits(start=20, beat=0.05, hang=1.5, restarts=2, first_wait=0.01, grace=0.3)
PATIENCE = 30


class Watched:
    """A supervisor whose messages and banners come in order into one queue."""

    def __init__(self, how: str, mark: str = "", limits: Limits = QUICK) -> None:
        self.told: queue.Queue[Banner | Message] = queue.Queue()
        command = [sys.executable, misbehaving.__file__, how, mark]
        environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
        self.supervisor = Supervisor("ear", command, self.told.put, self.told.put, limits, environment)
        self.supervisor.start()

    def banner(self) -> Banner:
        """The next banner, messages passed over."""
        while not isinstance(told := self.told.get(timeout=PATIENCE), Banner):
            pass
        return told

    def message(self) -> Message:
        """The next message; a banner before it is a fault."""
        told = self.told.get(timeout=PATIENCE)
        assert not isinstance(told, Banner), told
        return told


@pytest.fixture
def watch() -> Iterator[Callable[..., Watched]]:
    made: list[Watched] = []

    def make(*arguments: object, **more: object) -> Watched:
        made.append(Watched(*arguments, **more))  # type: ignore[arg-type]
        return made[-1]

    yield make
    for one in made:
        one.supervisor.stop()


def test_messages_go_both_ways(watch: Callable[..., Watched]) -> None:
    one = watch("well")
    assert one.banner() == Banner("ear", "up")
    assert one.message()["kind"] == "ready"
    for number in range(100):
        assert one.supervisor.send("count", number=number)
    assert [one.message()["said"] for _ in range(100)] == [{"kind": "count", "number": n} for n in range(100)]


def test_what_a_library_prints_is_no_message_and_not_on_the_terminal(
    watch: Callable[..., Watched], capfd: pytest.CaptureFixture[str]
) -> None:
    one = watch("well")
    one.banner()
    assert one.message()["kind"] == "ready"
    one.supervisor.send("hello")
    assert one.message()["kind"] == "echo"
    one.supervisor.stop()
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(
    ("order", "why", "detail"),
    [
        ("crash", "crash", "signal SIGSEGV: and on the error output"),
        ("exit", "crash", "exit code 1: the device went up in smoke"),
        ("hang", "hang", "and on the error output"),
    ],
)
def test_a_child_that_fails_is_started_again_and_works(
    watch: Callable[..., Watched], order: str, why: str, detail: str
) -> None:
    one = watch("well")
    one.banner()
    one.supervisor.send(order)
    assert one.banner() == Banner("ear", "restarting", why, detail)  # type: ignore[arg-type]
    assert one.banner() == Banner("ear", "up")
    assert one.message()["kind"] == "ready"
    one.supervisor.send("hello")
    assert one.message()["kind"] == "echo"


@pytest.mark.parametrize("how", ["flood", "endless"])
def test_a_flood_is_stopped(watch: Callable[..., Watched], tmp_path: Path, how: str) -> None:
    one = watch(how, str(tmp_path / "mark"), replace(QUICK, flood=200, longest=200_000))
    while (banner := one.banner()).state == "up":  # the flood may come along with "ready"
        pass
    assert (banner.state, banner.why) == ("restarting", "flood")
    assert one.banner().state == "up"


def test_complaints_without_end_are_read_and_dropped(watch: Callable[..., Watched]) -> None:
    one = watch("chatter", limits=replace(QUICK, hang=0.2))
    assert one.banner().state == "up"
    failed = one.banner()
    assert failed.why == "hang" and len(failed.detail) <= 200


def test_what_is_no_message_is_passed_over(watch: Callable[..., Watched]) -> None:
    one = watch("garbled")
    one.banner()
    assert one.message()["kind"] == "ready"
    one.supervisor.send("hello")
    assert one.message()["kind"] == "echo"


def test_a_child_that_never_gets_ready_is_given_up(watch: Callable[..., Watched]) -> None:
    one = watch("silent", limits=replace(QUICK, start=0.05))
    assert [(b.state, b.why) for b in (one.banner(), one.banner(), one.banner())] == [
        ("restarting", "hang"),
        ("restarting", "hang"),
        ("down", "hang"),
    ]
    assert not one.supervisor.send("hello")


def test_a_child_that_keeps_failing_is_given_up(watch: Callable[..., Watched]) -> None:
    one = watch("early")
    assert [one.banner().state for _ in range(3)] == ["restarting", "restarting", "down"]
    assert not one.supervisor.up


def test_failures_long_ago_do_not_count(watch: Callable[..., Watched]) -> None:
    one = watch("well", limits=replace(QUICK, restarts=1, window=0.0))
    for _ in range(3):
        assert one.banner().state == "up"
        one.supervisor.send("crash")
        assert one.banner().state == "restarting"


def test_what_is_missing_is_not_tried_again(watch: Callable[..., Watched]) -> None:
    one = watch("missing")
    assert one.banner() == Banner("ear", "missing", "missing", "there is no microphone", "plug one in")
    one.supervisor._thread.join(PATIENCE)
    assert one.told.empty()


def test_a_program_that_is_not_there(watch: Callable[..., Watched]) -> None:
    told: queue.Queue[Banner] = queue.Queue()
    supervisor = Supervisor("ear", ["/nonexistent/program"], lambda message: None, told.put, QUICK)
    supervisor.start()
    assert [told.get(timeout=PATIENCE).state for _ in range(3)] == ["restarting", "restarting", "down"]
    supervisor.stop()


def test_a_child_that_does_not_read_is_not_waited_for(watch: Callable[..., Watched]) -> None:
    one = watch("deaf", limits=replace(QUICK, longest=100_000, hang=0.3))
    one.banner()
    sent = [one.supervisor.send("much", text="x" * 1000) for _ in range(1000)]
    assert not all(sent)
    assert one.banner().why == "hang"


@pytest.mark.parametrize("how", ["well", "deaf", "stubborn", "silent"])
def test_the_end_is_clean_whatever_the_child_does(watch: Callable[..., Watched], how: str) -> None:
    one = watch(how, limits=replace(QUICK, hang=60, beat=60))
    if how != "silent":
        one.banner()
    one.supervisor.stop()
    one.supervisor.stop()
    assert not one.supervisor.up
    assert not _running(misbehaving.__file__, how)


def test_an_end_before_the_start(watch: Callable[..., Watched]) -> None:
    Supervisor("ear", ["true"], lambda message: None, lambda banner: None).stop()


@pytest.mark.parametrize("how", ["well", "deaf"])
def test_the_child_ends_when_the_guide_is_killed(how: str) -> None:
    program = (
        "import sys, time; from guide.voice.supervise import Supervisor; import threading\n"
        "up = threading.Event()\n"
        f"s = Supervisor('ear', [sys.executable, {misbehaving.__file__!r}, {how!r}, '', 'orphan'], "
        "lambda m: None, lambda b: up.set())\n"
        "s.start(); up.wait(); print('up', flush=True); time.sleep(60)"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    guide = subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, env=environment)
    assert guide.stdout and guide.stdout.readline() == b"up\n"
    guide.kill()
    guide.wait()
    guide.stdout.close()
    end = time.monotonic() + PATIENCE
    while _running("orphan", how):
        assert time.monotonic() < end
        time.sleep(0.05)


def _running(*words: str) -> bool:
    """Whether a process runs with these words among its arguments."""
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                arguments = (entry / "cmdline").read_bytes().decode("utf-8", "replace").split("\0")
            except OSError:
                continue
            if all(word in arguments for word in words):
                return True
    return False
