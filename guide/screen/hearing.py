"""The commands that try the ears: the microphone, what is there and what is missing, and the model to fetch."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from guide.problems import Problem, ProblemError, render, visible

SECONDS = 8
WAITING = 60
"""Seconds that a try may take beyond what is recorded."""
BAR = 30


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the commands to the command line."""
    listen = commands.add_parser("listen", help="try the microphone, or a recording: level, noise, what was heard")
    listen.add_argument("files", metavar="FILE.wav", nargs="*", type=Path, help="recordings instead of the microphone")
    listen.add_argument("--seconds", metavar="N", type=float, default=SECONDS, help=f"how long (usually {SECONDS})")
    listen.add_argument("--json", action="store_true", help="one JSON object a try")
    add_ear(listen)
    listen.set_defaults(command=_listen)

    ears = commands.add_parser("ears", help="what is there for the voice, what is missing, and how to get it")
    ears.add_argument("--json", action="store_true", help="one JSON object")
    add_ear(ears)
    ears.set_defaults(command=_ears)
    more = ears.add_subparsers(metavar="COMMAND")
    fetch = more.add_parser("fetch", help="fetch Vosk's small English model from its publisher")
    fetch.add_argument("--into", metavar="FOLDER", type=Path, help="where to put it (usually where models are kept)")
    fetch.set_defaults(command=_fetch)


def add_ear(parser: argparse.ArgumentParser) -> None:
    """Add which weights the embedded ear has; the command line acts on it for every command."""
    parser.add_argument("--ear", metavar="EAR", help='"trained" (usually), or "plain": as its makers ship it')


def _ears(arguments: argparse.Namespace) -> int:
    import json

    from guide.voice.inventory import inventory

    things = inventory()
    if arguments.json:
        print(
            json.dumps([{"name": t.name, "there": t.there, "about": t.about, "cure": t.cure} for t in things], indent=1)
        )
        return 0
    for thing in things:
        print(f"{'there  ' if thing.there else 'MISSING'}  {thing.name}: {visible(thing.about)}")
        if not thing.there and thing.cure:
            print(f"         {visible(thing.cure)}")
    return 0


def _fetch(arguments: argparse.Namespace) -> int:
    from guide.voice.fetch import fetch
    from guide.voice.models import VOSK_ENGLISH, find_vosk, models_folder

    found = find_vosk()
    if found is not None and arguments.into is None:
        print(f"It is there already: {found}")
        return 0
    into = arguments.into if arguments.into is not None else models_folder()
    print(f"From {VOSK_ENGLISH.url}\ninto {into}")
    bar = _Bar()
    try:
        folder = fetch(VOSK_ENGLISH, into, bar.show)
    finally:
        bar.end()
    print(f"Size and SHA-256 are as published: {VOSK_ENGLISH.sha256}\nThe model is in {folder}")
    return 0


class _Bar:
    """Progress on the error output: a bar on a terminal, else a line each tenth."""

    def __init__(self) -> None:
        self._last = -1
        self._drawn = False

    def show(self, done: int, size: int) -> None:
        """Show how much has come."""
        share = done / size
        step = int(100 * share) if sys.stderr.isatty() else 10 * int(10 * share)
        if step == self._last:
            return
        self._last = step
        if sys.stderr.isatty():
            filled = round(BAR * share)
            print(f"\r[{'#' * filled}{' ' * (BAR - filled)}] {step} %", end="", file=sys.stderr, flush=True)
            self._drawn = True
        else:
            print(f"{step} %", file=sys.stderr)

    def end(self) -> None:
        """Leave the line of the bar."""
        if self._drawn:
            print(file=sys.stderr)


def _listen(arguments: argparse.Namespace) -> int:
    if not 1 <= arguments.seconds <= 60:
        raise ProblemError([Problem("seconds", "--seconds is from 1 to 60")])
    if not arguments.files:
        _show(_try_microphone(arguments.seconds, arguments.json), arguments.json)
        return 0
    return _try_files(arguments.files, arguments.json)


def _try_files(files: list[Path], as_json: bool) -> int:
    """Judge recordings; those that can't be read are told, and the rest go on."""
    from guide.voice.ear import load_ears
    from guide.voice.endpoint import load_detector
    from guide.voice.trial import as_data, judge_file

    try:
        detector, ears = load_detector(), load_ears()[0]
    except ImportError as fault:
        message = f"the package {fault.name} is not installed"
        raise ProblemError([Problem("no-ear", message, hint="pip install 'guide[voice]'")]) from None
    unread = 0
    for file in files:
        try:
            tried = judge_file(file, detector, ears)
        except ProblemError as fault:
            unread += 1
            for problem in fault.problems:
                print(render(problem), file=sys.stderr)
            continue
        if not as_json:
            print(f"{visible(str(file))}:")
        _show({"file": str(file), **as_data(tried)}, as_json)
    return 3 if unread else 0


def _try_microphone(seconds: float, as_json: bool) -> Mapping[str, Any]:
    """Record in a process of its own, and show the level meanwhile."""
    import queue

    from guide.voice.child import Message
    from guide.voice.supervise import Banner, Limits, Supervisor

    told: queue.Queue[Message | Banner] = queue.Queue()
    command = [sys.executable, "-m", "guide.voice.trial", str(seconds)]
    supervisor = Supervisor("microphone", command, told.put, told.put, Limits(restarts=0, hang=WAITING))
    supervisor.start()
    try:
        while True:
            one = told.get(timeout=seconds + 2 * WAITING)
            if isinstance(one, Banner):
                if one.state != "up":
                    raise ProblemError([Problem("no-microphone", one.detail or one.why, hint=one.hint or None)])
                if not as_json:
                    print(f"Speak now, for {seconds:g} seconds: say a reading, and a moment of nothing.", flush=True)
            elif one["kind"] == "level" and sys.stderr.isatty() and not as_json:
                filled = round(BAR * float(str(one["peak"])) ** 0.5)
                print(f"\r[{'#' * filled}{' ' * (BAR - filled)}]", end="", file=sys.stderr, flush=True)
            elif one["kind"] == "tried":
                return {name: value for name, value in one.items() if name != "kind"}
    except queue.Empty:
        raise ProblemError([Problem("no-microphone", "the microphone's process does not answer")]) from None
    finally:
        supervisor.stop()
        if sys.stderr.isatty() and not as_json:
            print(file=sys.stderr)


def _show(tried: Mapping[str, Any], as_json: bool) -> None:
    """Show what came of a try."""
    import json

    from guide.voice.levels import CURES

    if as_json:
        print(json.dumps(tried), flush=True)
        return
    levels = [f"loudest {tried['loudest_db']:g} dB"]
    for name in ("voice", "noise"):
        if tried[f"{name}_db"] is not None:
            levels.append(f"{name} {tried[f'{name}_db']:g} dB")
    print(f"Level: {', '.join(levels)} (0 dB is the loudest there is).")
    for one in tried["heard"]:
        print(f'Heard: "{visible(one["words"])}" ({_OUTCOMES[one["outcome"]]})')
    for advice in tried["advice"]:
        print(CURES[advice])


_OUTCOMES = {
    "taken": "a reading; in a job it would be taken",
    "asked": "a reading; in a job it would be asked about",
    "again": "not sure; in a job it would be asked for again",
    "command": "a command",
    "none": "nothing for the guide",
}
