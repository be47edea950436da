"""The commands as processes: every way in and out of a job, and what a program sees."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import time
from pathlib import Path

import pytest
from running import GUIDE, environment, guide, turns
from small import CHECKED, SET, SHELF, START

WHOLE = [*CHECKED, "done", "0", "0", "yes", "0", "Ana", "yes"]


@pytest.fixture
def shelf(tmp_path: Path) -> str:
    (tmp_path / "shelf.yaml").write_text(SHELF, encoding="utf-8")
    return "shelf.yaml"


def start(tmp_path: Path, shelf: str, lines: list[str], *more: str) -> subprocess.CompletedProcess[str]:
    return guide(tmp_path, "start", shelf, "--job", "job", "--who", "Bo", *more, lines=lines)


def test_a_whole_job_through_a_pipe(tmp_path: Path, shelf: str) -> None:
    done = start(tmp_path, shelf, WHOLE, "--pretend-clock")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "The job is finished." in done.stdout
    assert done.stderr == ""
    assert guide(tmp_path, "verify", "job").returncode == 0
    started = json.loads((tmp_path / "job" / "record.jsonl").read_text(encoding="utf-8").splitlines()[0])
    assert started["data"]["pretended"] is True


def test_end_of_input_stops_and_resume_goes_on(tmp_path: Path, shelf: str) -> None:
    first = start(tmp_path, shelf, SET, "--json")
    assert first.returncode == 0
    assert turns(first.stdout)[-1]["kind"] == "stopped"
    assert turns(first.stdout)[-1]["left"] == ["unsupported"]
    second = guide(tmp_path, "resume", "job", "--json", "--pretend-clock", lines=["yes", *WHOLE[len(SET) :]])
    assert turns(second.stdout)[-1]["kind"] == "finished", second.stdout + second.stderr
    assert guide(tmp_path, "verify", "job").returncode == 0


def test_every_line_said_is_one_object_with_a_known_kind(tmp_path: Path, shelf: str) -> None:
    said = turns(start(tmp_path, shelf, [*SET, "1/8", "0", "done", "nonsense", "stop", "done", "Bo"], "--json").stdout)
    kinds = {"say", "ask", "understood", "accepted", "refused", "stale", "advice", "wait", "finished", "stopped"}
    assert {turn["kind"] for turn in said} <= kinds
    assert all(isinstance(turn["text"], str) and turn["text"] for turn in said)
    for turn in said:
        if turn["kind"] == "ask":
            assert turn["expects"] in {"number", "choice", "yes-no", "done", "name", "text"}
            assert {"step", "reading", "place", "unit", "low", "high", "likely", "sign", "choices"} <= set(turn)
            assert {"wanted", "round"} <= set(turn)
        if turn["kind"] == "accepted":
            assert {"step", "reading", "place", "value", "verdict"} <= set(turn)
        if turn["kind"] == "refused":
            assert {"why", "legal"} <= set(turn)
        if turn["kind"] == "stale":
            assert turn["checks"]


def test_a_program_that_answers_what_is_asked_finishes_the_job(tmp_path: Path, shelf: str) -> None:
    job = subprocess.Popen(
        [*GUIDE, "start", shelf, "--job", "job", "--json", "--pretend-clock"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=tmp_path,
        env=environment(tmp_path),
    )
    assert job.stdin is not None
    assert job.stdout is not None
    kinds = []
    for line in job.stdout:
        turn = json.loads(line)
        kinds.append(turn["kind"])
        if turn["kind"] == "ask":
            answer = {
                "number": turn["high"] or (turn["likely"] or [None])[0],
                "choice": (turn["choices"] or [None])[0],
                "yes-no": turn["wanted"],
                "done": "done",
                "name": "Ana",
                "text": "as agreed",
            }[turn["expects"]]
            job.stdin.write(f"{answer}\n")
            job.stdin.flush()
    assert job.wait(30) == 0
    assert kinds[-1] == "finished"


def test_a_second_process_is_kept_out(tmp_path: Path, shelf: str) -> None:
    first = subprocess.Popen(
        [*GUIDE, "start", shelf, "--job", "job", "--who", "Bo"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=tmp_path,
        env=environment(tmp_path),
    )
    assert first.stdout is not None
    first.stdout.readline()
    second = guide(tmp_path, "resume", "job")
    assert second.returncode == 3
    assert str(first.pid) in second.stderr
    first.communicate("stop\n", timeout=30)
    assert guide(tmp_path, "resume", "job").returncode == 0


@pytest.mark.parametrize(("number", "code"), [(signal.SIGTERM, 143), (signal.SIGHUP, 143), (signal.SIGINT, 130)])
def test_a_signal_leaves_the_job_in_the_record(tmp_path: Path, shelf: str, number: int, code: int) -> None:
    job = subprocess.Popen(
        [*GUIDE, "start", shelf, "--job", "job", "--who", "Bo", "--json"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=tmp_path,
        env=environment(tmp_path),
    )
    assert job.stdout is not None
    while json.loads(job.stdout.readline())["kind"] != "ask":
        pass
    time.sleep(0.2)
    job.send_signal(number)
    out, err = job.communicate(timeout=30)
    assert job.returncode == code
    assert err == ""
    assert turns(out)[-1]["kind"] == "stopped"
    assert guide(tmp_path, "verify", "job").returncode == 0


def test_a_closed_pipe_is_a_stop_without_a_word(tmp_path: Path, shelf: str) -> None:
    script = f'yes next | "{GUIDE[0]}" -m guide start {shelf} --job job --who Bo | head -n 3; echo "${{PIPESTATUS[1]}}"'
    run = subprocess.run(
        ["bash", "-c", script], capture_output=True, text=True, cwd=tmp_path, env=environment(tmp_path), timeout=60
    )
    assert run.stdout.splitlines()[-1] == "141"
    assert run.stderr == ""
    assert guide(tmp_path, "verify", "job").returncode == 0


def test_at_a_keyboard_the_first_ctrl_c_means_stop(tmp_path: Path, shelf: str) -> None:
    pid, terminal = pty.fork()
    if pid == 0:
        os.chdir(tmp_path)
        os.execvpe(
            GUIDE[0],
            [*GUIDE, "start", shelf, "--job", "job", "--who", "Bo"],
            environment(tmp_path, TERM="xterm", COLUMNS="40"),
        )
    _until(terminal, b"> ")
    for line in SET:
        os.write(terminal, line.encode() + b"\n")
        _until(terminal, b"> ")
    os.write(terminal, b"\x03")
    assert b"Prop the frame." in _until(terminal, b"> ")
    os.write(terminal, b"done\n")
    _until(terminal, b"> ")
    os.write(terminal, b"Bo\n")
    assert b"Stopped." in _until(terminal, b"record is in")
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0


def _until(terminal: int, mark: bytes) -> bytes:
    seen = b""
    deadline = time.monotonic() + 20
    while mark not in seen:
        assert time.monotonic() < deadline, seen
        seen += os.read(terminal, 4096)
    return seen


@pytest.mark.parametrize("columns", ["1", "24", "40"])
def test_a_narrow_terminal_is_written_in_narrow_lines(tmp_path: Path, shelf: str, columns: str) -> None:
    env = environment(tmp_path, COLUMNS=columns)
    done = guide(tmp_path, "start", shelf, "--job", "job", "--who", "Bo", lines=["help", *START], env=env)
    assert done.returncode == 0
    lines = done.stdout.split("\nThe record is in")[0].splitlines()
    assert max(len(line) for line in lines) <= max(24, int(columns))


def test_no_colour_where_it_is_not_wanted(tmp_path: Path, shelf: str) -> None:
    assert "\x1b" not in start(tmp_path, shelf, START).stdout


def test_an_ascii_terminal_gets_escapes_and_no_traceback(tmp_path: Path, shelf: str) -> None:
    env = environment(tmp_path, PYTHONIOENCODING="ascii", PYTHONUTF8="0", LC_ALL="C")
    done = guide(tmp_path, "start", shelf, "--job", "job", "--who", "Bo", lines=["ø ½ 🚪", *START], env=env)
    assert done.returncode == 0
    assert done.stderr == ""


def test_not_utf8_on_the_way_in(tmp_path: Path, shelf: str) -> None:
    run = subprocess.run(
        [*GUIDE, "start", shelf, "--job", "job", "--who", "Bo"],
        input=b"\xff\xfe\x00\nno back\n",
        capture_output=True,
        cwd=tmp_path,
        env=environment(tmp_path),
        timeout=60,
    )
    assert run.returncode == 0
    assert run.stderr == b""


def test_a_pin_never_reaches_the_record_or_the_screen(tmp_path: Path, shelf: str) -> None:
    added = guide(tmp_path, "people", "--add", "Ana", "--role", "lead", lines=["4711"])
    assert added.returncode == 0, added.stderr
    done = start(tmp_path, shelf, [*SET, "1/2", "0", "leave it", "Ana", "4711", "behind the trim"])
    assert "by PIN" in done.stdout
    assert "4711" not in done.stdout
    record = (tmp_path / "job" / "record.jsonl").read_text(encoding="utf-8")
    assert '"proof":"pin"' in record
    assert "4711" not in record
    assert "4711" not in (tmp_path / "data" / "people.json").read_text(encoding="utf-8")


def test_faults_are_told_in_one_go(tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text(SHELF.replace("say: Fix it.", "sya: Fix it."), encoding="utf-8")
    found = guide(tmp_path, "check", "bad.yaml")
    assert found.returncode == 1
    assert 'Did you mean "say"?' in found.stdout
    begun = guide(tmp_path, "start", "bad.yaml", "--job", "job")
    assert begun.returncode == 3
    assert not (tmp_path / "job").exists()


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["start", "no-such-procedure"], 3),
        (["resume", "nowhere"], 3),
        (["verify", "nowhere"], 1),
        (["check", "nowhere.yaml"], 1),
        (["explain", "exterior-pair", "no-such-step"], 3),
        (["nonsense"], 2),
        ([], 2),
        (["--help"], 0),
        (["--version"], 0),
        (["procedures"], 0),
        (["explain", "exterior-pair"], 0),
    ],
)
def test_exit_codes_and_no_traceback(tmp_path: Path, arguments: list[str], code: int) -> None:
    done = guide(tmp_path, *arguments)
    assert done.returncode == code, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout or done.stderr


def test_a_job_is_not_started_over_another(tmp_path: Path, shelf: str) -> None:
    start(tmp_path, shelf, START)
    again = start(tmp_path, shelf, START)
    assert again.returncode == 3
    assert "resume" in again.stderr


@pytest.mark.parametrize("line", [("start", "no-such-job", "--json"), ("resume", "nowhere", "--json")])
def test_a_program_is_told_why_there_is_no_job(tmp_path: Path, line: tuple[str, ...]) -> None:
    run = guide(tmp_path, *line)
    assert run.returncode == 3
    told = turns(run.stdout)
    assert [turn["kind"] for turn in told] == ["refused"] * len(told)
    assert told[0]["why"]
    assert told[0]["text"]
