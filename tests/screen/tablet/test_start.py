"""How a job gets onto the tablet's screen: in a real terminal, and in lines where there is none."""

from __future__ import annotations

import fcntl
import json
import os
import pty
import select
import signal
import struct
import subprocess
import termios
import time
from pathlib import Path

import pytest
from running import GUIDE, environment, guide


class Terminal:
    """The command line in a terminal of 80 by 24."""

    def __init__(self, tmp_path: Path, *arguments: str, piece: int = 65536, pause: float = 0.0, **more: str) -> None:
        self.master, slave = pty.openpty()
        self.piece, self.pause = piece, pause
        self.resize(80, 24)
        env = environment(tmp_path, **{"TERM": "xterm-256color", **more})
        self.process = subprocess.Popen(
            [*GUIDE, *arguments], stdin=slave, stdout=slave, stderr=slave, cwd=tmp_path, env=env, start_new_session=True
        )
        os.close(slave)
        self.shown = b""

    def until(self, text: bytes, seconds: float = 60) -> None:
        """Wait until this was written."""
        end = time.monotonic() + seconds
        while text not in self.shown:
            assert time.monotonic() < end, self.shown[-2000:]
            if select.select([self.master], [], [], 0.2)[0]:
                try:
                    time.sleep(self.pause)
                    self.shown += os.read(self.master, self.piece)
                except OSError:
                    break
        assert text in self.shown, self.shown[-2000:]
        self.shown = self.shown.partition(text)[2]

    def resize(self, columns: int, rows: int) -> None:
        fcntl.ioctl(self.master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def keys(self, keys: bytes) -> None:
        os.write(self.master, keys)

    def end(self) -> int:
        """The exit code, once the end was written."""
        self.until(b"The record is in")
        code = self.process.wait(60)
        os.close(self.master)
        return code


def kinds(job: Path) -> list[str]:
    lines = (job / "record.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line)["kind"] for line in lines]


def test_a_job_in_a_terminal_and_again_and_ended_by_a_signal(tmp_path: Path) -> None:
    terminal = Terminal(tmp_path, "start", "picture-rail", "--screen", "tablet", "--job", "job")
    terminal.until(b"Who is speaking?")
    terminal.keys(b"Bo\r")
    terminal.until("» Bo".encode())
    terminal.keys(b"\x03")
    terminal.until(b"Press Enter to leave.")
    terminal.keys(b"\x03")
    assert terminal.end() == 0
    assert kinds(tmp_path / "job")[-1] == "stopped"

    again = Terminal(tmp_path, "resume", "job", "--screen", "tablet", "--theme", "dark")
    again.until(b"Back on the job")
    again.process.send_signal(signal.SIGTERM)
    assert again.end() == 143
    assert kinds(tmp_path / "job")[-1] == "stopped"


POOR = {
    "sixteen colours": {"TERM": "linux", "COLORTERM": ""},
    "no colour": {"NO_COLOR": "1"},
    "an old terminal": {"TERM": "vt100", "COLORTERM": ""},
}


@pytest.mark.parametrize("more", POOR.values(), ids=POOR)
def test_a_poor_terminal_on_a_slow_line_without_a_mouse_will_do(tmp_path: Path, more: dict[str, str]) -> None:
    start = ("start", "picture-rail", "--screen", "tablet", "--job", "job")
    terminal = Terminal(tmp_path, *start, piece=512, pause=0.005, **more)
    terminal.until(b"Who is speaking?")
    terminal.keys(b"Bo\r")
    terminal.until("» Bo".encode())
    terminal.keys(b"\x03")
    terminal.until(b"Press Enter to leave.")
    terminal.keys(b"\r")
    assert terminal.end() == 0
    assert kinds(tmp_path / "job")[-1] == "stopped"


def test_a_storm_of_sizes_loses_no_word(tmp_path: Path) -> None:
    terminal = Terminal(tmp_path, "start", "picture-rail", "--screen", "tablet", "--job", "job")
    terminal.until(b"Who is speaking?")
    for number in range(80):
        terminal.resize(*((60, 20), (200, 60), (80, 24), (1, 1), (24, 80))[number % 5])
        terminal.process.send_signal(signal.SIGWINCH)
        if number == 40:
            terminal.keys(b"Bo\r")
        if select.select([terminal.master], [], [], 0.01)[0]:
            terminal.shown += os.read(terminal.master, 65536)
    terminal.resize(80, 24)
    terminal.process.send_signal(signal.SIGWINCH)
    terminal.until("» Bo".encode())
    terminal.keys(b"\x03")
    terminal.until(b"Press Enter to leave.")
    terminal.keys(b"\r")
    assert terminal.end() == 0
    assert kinds(tmp_path / "job")[:2] == ["started", "spoke"]


def test_without_a_screen_the_job_goes_on_in_lines(tmp_path: Path) -> None:
    done = guide(tmp_path, "start", "picture-rail", "--screen", "tablet", "--job", "job", lines=["Bo", "stop"])
    assert done.returncode == 0 and done.stderr == ""
    assert done.stdout.splitlines()[0].strip() == "! There is no screen to draw on here. The job goes on in lines."
    assert "Bo is speaking" in done.stdout and "Stopped" in done.stdout


def test_without_the_package_the_job_goes_on_in_lines(tmp_path: Path) -> None:
    none = tmp_path / "none"
    none.mkdir()
    (none / "textual.py").write_text("raise ImportError(name=__name__)")
    arguments = ("start", "picture-rail", "--screen", "tablet", "--job", "job")
    terminal = Terminal(tmp_path, *arguments, PYTHONPATH=str(none))
    terminal.until(b"is not installed")
    terminal.keys(b"Bo\nstop\n")
    assert terminal.end() == 0


@pytest.mark.parametrize("command", [("start", "picture-rail"), ("resume", "job")])
def test_a_program_and_a_crew_do_not_share_a_screen(tmp_path: Path, command: tuple[str, str]) -> None:
    done = guide(tmp_path, *command, "--screen", "tablet", "--json")
    assert done.returncode == 3 and "--json is for a program" in done.stderr
    assert not (tmp_path / "jobs").exists()
