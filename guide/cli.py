"""The command line: commands, exit codes, and the only place where the parts are wired together.

Exit codes: 0 done, finished or stopped so that `resume` can go on; 1 a file has faults, a record is not whole, or
a demo did not finish; 2 wrong usage; 3 the job can't be opened or kept; 130 Ctrl-C; 141 nobody reads the output any
more; 143 ended by a signal. Heavy libraries are imported by the command that needs them.
"""

from __future__ import annotations

import argparse
import contextlib
import functools
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from guide.fleet import commands as fleet
from guide.problems import Problem, ProblemError, render
from guide.report import commands as reporting
from guide.screen import hearing, looking, page, signing, speech, tablet

if TYPE_CHECKING:
    from guide.screen.page.lobby import Offer, Opened
    from guide.session import Turn
    from guide.session.spoken import SpokenSession
    from guide.talk.wording import Wording
    from guide.voice.settings import Settings

VERSION = "0.1.0"
DONE, FAULTS, USAGE, NOT_OPENED, INTERRUPTED = 0, 1, 2, 3, 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; faults are told, never raised."""
    arguments = _parser().parse_args(argv)
    command: Callable[[argparse.Namespace], int] = arguments.command
    try:
        if getattr(arguments, "ear", None) is not None:
            from guide.voice.settings import want_ear

            want_ear(arguments.ear)
        return command(arguments)
    except ProblemError as fault:
        for problem in fault.problems:
            print(render(problem), file=sys.stderr)
            if command in (_start, _resume) and arguments.json:
                _refuse(problem)
        if command in (_start, _demo):
            count = len(fault.problems)
            print(f"{count} {'problem' if count == 1 else 'problems'}; the job was not started.", file=sys.stderr)
        return NOT_OPENED
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 141


def _refuse(problem: Problem) -> None:
    """A program at the other end is told on its own line, too, why there is no job."""
    import json

    text = problem.message + (f" {problem.hint}" if problem.hint else "")
    print(json.dumps({"kind": "refused", "text": text, "why": problem.code, "legal": []}), flush=True)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="guide",
        description="Talks a crew through a job step by step: takes readings, checks each, and keeps the record.",
    )
    parser.add_argument("--version", action="version", version=f"guide {VERSION}")
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    demo = commands.add_parser("demo", help="play an invented job on the real engine")
    demo.add_argument("--fast", action="store_true", help="without pauses")
    demo.add_argument("--job", metavar="DIR", type=Path, help="where to keep the record (default: a new folder)")
    demo.add_argument("--json", action="store_true", help="one JSON object a line")
    demo.set_defaults(command=_demo)

    start = commands.add_parser("start", help="start a job")
    start.add_argument("procedure", metavar="PROCEDURE", help="a shipped procedure's name, or a file")
    start.add_argument("--job", metavar="DIR", type=Path, help="where to keep the record (default: jobs/DATE-NAME)")
    _talking(start)
    start.set_defaults(command=_start)

    resume = commands.add_parser("resume", help="go on with a job that was left")
    resume.add_argument("job", metavar="DIR", type=Path)
    _talking(resume)
    resume.set_defaults(command=_resume)

    serve = commands.add_parser(
        "serve", help="do a job in a browser: on this machine, or on a tablet of the local network"
    )
    serve.add_argument(
        "what",
        metavar="PROCEDURE|DIR",
        nargs="?",
        help="start a procedure, or go on with a job's folder (none: the page asks which)",
    )
    serve.add_argument("--job", metavar="DIR", type=Path, help="where to keep a new record (default: jobs/DATE-NAME)")
    serve.add_argument("--who", metavar="NAME", help="who is speaking")
    page.add_settings(serve)
    speech.add_settings(serve)
    hearing.add_ear(serve)
    serve.add_argument("--pretend-clock", action="store_true", help="jump over waits; the record says so for ever")
    serve.set_defaults(command=_serve)

    hear = commands.add_parser("hear", help="what the ears make of recordings")
    hear.add_argument("files", metavar="FILE.wav", nargs="+", type=Path)
    hear.add_argument("--expect", metavar="RANGE", help='what the reading may be: "72 in to 75 in"')
    hear.add_argument("--json", action="store_true", help="one JSON object a file")
    hearing.add_ear(hear)
    hear.set_defaults(command=_hear)

    people = commands.add_parser("people", help="who may prove their name with a PIN")
    people.add_argument("--add", metavar="NAME")
    people.add_argument("--remove", metavar="NAME")
    people.add_argument("--role", choices=("crew", "lead", "inspector"), default="lead")
    people.set_defaults(command=_people)

    looking.add_commands(commands)
    speech.add_commands(commands)
    hearing.add_commands(commands)
    signing.add_commands(commands)
    reporting.add_commands(commands)
    fleet.add_commands(commands)
    return parser


def _talking(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--who", metavar="NAME", help="who is speaking")
    parser.add_argument("--json", action="store_true", help="one JSON object a line, for a program")
    parser.add_argument("--voice", action="store_true", help="speak and listen, beside the keyboard")
    speech.add_settings(parser)
    hearing.add_ear(parser)
    tablet.add_settings(parser)
    parser.add_argument("--pretend-clock", action="store_true", help="jump over waits; the record says so for ever")


def _demo(arguments: argparse.Namespace) -> int:
    from guide.screen.demo import PACE, PROCEDURE, crew_lines
    from guide.screen.terminal import play, screen_for

    session, opening, directory = _new_job(PROCEDURE, arguments.job, who="", pretended=True, invented=True, name="demo")
    screen = screen_for(session, sys.stdout, arguments.json)
    code = play(session, screen, opening, crew_lines(), 0 if arguments.fast else PACE)
    _say_where(directory, arguments.json)
    return code


def _start(arguments: argparse.Namespace) -> int:
    tablet.check(arguments)
    settings = speech.settings_of(arguments) if arguments.voice else None
    session, opening, directory = _new_job(
        arguments.procedure,
        arguments.job,
        who=arguments.who or "",
        pretended=arguments.pretend_clock,
        invented=False,
        name=None,
    )
    return _talk(arguments, session, opening, directory, settings)


def _talk(
    arguments: argparse.Namespace,
    session: SpokenSession,
    opening: list[Turn],
    directory: Path,
    settings: Settings | None,
) -> int:
    """Do the job on the screen asked for, and by voice where there are settings for it."""
    from guide.screen.terminal import run, screen_for

    code = tablet.run(arguments, session, opening, settings) if arguments.screen == "tablet" else None
    if code is None:
        screen = screen_for(session, sys.stdout, arguments.json)
        if settings is None:
            code = run(session, screen, opening)
        else:
            code = speech.run_voiced(session, screen, opening, settings)
    _say_where(directory, arguments.json)
    return code


def _say_where(directory: Path, as_json: bool) -> None:
    if not as_json:
        with contextlib.suppress(BrokenPipeError):
            print(f"\nThe record is in {directory}")
            sys.stdout.flush()


def _new_job(
    procedure_name: str, job: Path | None, who: str, pretended: bool, invented: bool, name: str | None
) -> tuple[SpokenSession, list[Turn], Path]:
    from guide.job import events as ev
    from guide.job.fold import replay
    from guide.procedure import load
    from guide.record import Journal
    from guide.screen.clocks import PretendedClock, WallClock

    procedure = load(procedure_name)
    clock = PretendedClock() if pretended else WallClock()
    directory = job if job is not None else _new_folder(name or procedure.name)
    started = ev.Started(
        ev.FORMAT,
        VERSION,
        procedure.name,
        procedure.title,
        procedure.sha256,
        tuple(ev.Source(source.name, source.text) for source in procedure.sources),
        pretended,
        invented,
    )
    events: list[ev.Event] = [started]
    if who.strip():
        events.append(ev.Spoke(ev.Person(" ".join(who.split()), "crew", "claimed")))
    journal, entries = Journal.create(directory, clock, events, who.strip())
    session = _session(procedure, replay(procedure, entries), journal, clock)
    return session, session.open(), directory


def _new_folder(name: str) -> Path:
    from datetime import date

    stem = f"{date.today():%Y-%m-%d}-{name}"
    for number in range(1, 10_000):
        folder = Path("jobs") / (stem if number == 1 else f"{stem}-{number}")
        if not folder.exists():
            return folder
    raise ProblemError([Problem("no-folder", "no free folder name is left under jobs/", hint="Name one with --job.")])


def _session(procedure: object, state: object, journal: object, clock: object) -> SpokenSession:
    from guide.record.people import PeopleList
    from guide.session import Job
    from guide.session.spoken import SpokenSession
    from guide.talk.phrases import Phrases
    from guide.talk.wording import Wording

    job = Job(procedure, state, journal, clock, Wording.load("en"))  # type: ignore[arg-type]
    return SpokenSession(job, Phrases.load("en"), PeopleList())


def _resume(arguments: argparse.Namespace) -> int:
    tablet.check(arguments)
    settings = speech.settings_of(arguments) if arguments.voice else None
    session, opening = _reopened(arguments.job, arguments.pretend_clock)
    return _talk(arguments, session, opening, arguments.job, settings)


def _serve(arguments: argparse.Namespace) -> int:
    from guide.screen.page.start import find_place, run
    from guide.talk.wording import Wording

    settings = None if arguments.quiet else speech.settings_of(arguments)
    wording = Wording.load("en")
    place = find_place(arguments)
    try:
        job = _served(arguments, arguments.what) if arguments.what is not None else lambda: _offers(arguments, wording)
        code, directory = run(place, job, settings, wording)
    finally:
        place.close()
    if directory is not None:
        _say_where(directory, as_json=False)
    return code


def _served(arguments: argparse.Namespace, what: str) -> Opened:
    """The job to serve: a folder that has a record is gone on with, anything else is a procedure to start."""
    from guide.record.journal import RECORD
    from guide.screen.page.lobby import Opened

    if os.path.lexists(Path(what) / RECORD):
        return Opened(*_reopened(Path(what), arguments.pretend_clock), Path(what))
    pretended, who = arguments.pretend_clock, arguments.who or ""
    return Opened(*_new_job(what, arguments.job, who, pretended, invented=False, name=None))


def _offers(arguments: argparse.Namespace, wording: Wording) -> list[Offer]:
    """What a page may choose from: the jobs in the jobs folder and the procedures that ship."""
    from guide.procedure import load, shipped
    from guide.screen.page.lobby import offers

    procedures = {name: load(name).title for name in shipped()}
    return offers(Path("jobs"), procedures, functools.partial(_served, arguments), wording)


def _reopened(directory: Path, pretended: bool) -> tuple[SpokenSession, list[Turn]]:
    from guide.job import events as ev
    from guide.job.fold import replay
    from guide.procedure import load_sources
    from guide.procedure.model import SourceFile
    from guide.record import Journal
    from guide.screen.clocks import PretendedClock, WallClock

    clock = PretendedClock() if pretended else WallClock()
    journal, entries = Journal.open(directory, clock)
    started = entries[0].event
    if not isinstance(started, ev.Started):
        raise ProblemError([Problem("record-no-start", f"{directory}: the record does not begin with a start")])
    procedure = load_sources([SourceFile(source.name, source.text) for source in started.sources])
    try:
        state = replay(procedure, entries)
    except (LookupError, ValueError) as fault:
        message = f"{directory}: the record does not add up: {fault}"
        hint = f"Look at it with: guide verify {directory}"
        raise ProblemError([Problem("record-replay", message, hint=hint)]) from None
    if state.pretended or pretended:
        clock = PretendedClock(state.at)
        journal.clock = clock
    session = _session(procedure, state, journal, clock)
    opening = session.reopen(torn=bool(journal.torn))
    if pretended:
        opening = session.pretend_clock() + opening
    return session, opening


def _hear(arguments: argparse.Namespace) -> int:
    from guide.talk.expect import Expect
    from guide.voice.recordings import expectation, hear_files

    expect = expectation(arguments.expect) if arguments.expect else Expect()
    unread = hear_files(arguments.files, expect, arguments.json, sys.stdout, sys.stderr)
    return NOT_OPENED if unread else DONE


def _people(arguments: argparse.Namespace) -> int:
    from getpass import getpass

    from guide.record.people import PeopleList

    people = PeopleList()
    if arguments.add:
        pin = getpass("PIN: ") if sys.stdin.isatty() else sys.stdin.readline().strip()
        people.put(arguments.add, arguments.role, pin)
    if arguments.remove and not people.remove(arguments.remove):
        raise ProblemError([Problem("nobody", f'nobody called "{arguments.remove}" is on the list')])
    for name, role in people.names():
        print(f"{name}: {role}")
    return DONE
