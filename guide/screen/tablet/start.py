"""How a job gets onto the tablet's screen, with or without a voice, and what happens where there is no screen."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from guide.problems import Problem, ProblemError, render

if TYPE_CHECKING:
    from guide.screen.tablet.app import Tablet
    from guide.session import Turn
    from guide.session.spoken import SpokenSession
    from guide.voice.settings import Settings


SCREEN_FAILED = 3
"""Exit code where the screen could not go on."""


def add_settings(parser: argparse.ArgumentParser) -> None:
    """Add what can be chosen about the screen."""
    parser.add_argument("--screen", choices=("terminal", "tablet"), default="terminal", help="what the job is drawn on")
    parser.add_argument(
        "--theme", choices=("sunlight", "dark"), default="sunlight", help="the tablet's colours (F5 changes them)"
    )


def check(arguments: argparse.Namespace) -> None:
    """Raise `ProblemError` for what does not go together, before there is a job."""
    if arguments.screen == "tablet" and arguments.json:
        message = "--json is for a program, and --screen tablet for a crew"
        raise ProblemError([Problem("json-and-tablet", message, hint="Leave one of them out.")])


def run(
    arguments: argparse.Namespace, session: SpokenSession, opening: list[Turn], settings: Settings | None
) -> int | None:
    """Do a job on the tablet's screen; the exit code, or None if there is no such screen, which `opening` then says."""
    missing = _missing()
    if missing:
        from guide.session import Turn

        opening.insert(0, Turn("say", session.wording.say(missing), {"banner": missing}))
        return None
    import gc

    from guide.screen.desk import Desk
    from guide.screen.tablet.app import Tablet
    from guide.session import Conversation

    gc.freeze()  # what is loaded stays loaded: the collector need not walk it while a thumb waits
    desk = Desk(Conversation(session), opening)
    app = Tablet(desk, session.wording, arguments.theme)
    return _run(app) if settings is None else _run_voiced(app, session, settings)


def _missing() -> str:
    """Why there can be no such screen, as the key of a sentence; empty if there can."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()) or os.environ.get("TERM", "dumb") == "dumb":
        return "tablet.no-terminal"
    try:
        import textual  # noqa: F401
    except ImportError:
        return "tablet.no-package"
    return ""


def _run(app: Tablet) -> int:
    try:
        return _finished(app, app.run())
    finally:
        app.desk.close()


def _run_voiced(app: Tablet, session: SpokenSession, settings: Settings) -> int:
    from guide.screen.desk import Shown
    from guide.screen.voiced import VoicedScreen
    from guide.voice.duplex import Duplex

    duplex = Duplex(settings)
    voiced = VoicedScreen(session, Shown(app.desk.conversation), duplex)
    app.desk.voice, app.desk.speaking = voiced, lambda: duplex.speaking
    app.desk.conversation.listens()
    duplex.start()
    code = None
    try:
        code = _run(app)
        return code
    finally:
        voiced.finish(code == 0)


def _finished(app: Tablet, code: int | None) -> int:
    """The exit code; a screen that failed leaves the job in the record, and says so."""
    if code is not None:
        return code
    app.desk.close()
    app.desk.conversation.session.leave("terminated")
    message = "the tablet's screen failed; the job is in the record, and resume goes on with it"
    hint = "Resume it without --screen tablet to go on in lines."
    print(render(Problem("screen-failed", message, hint=hint)), file=sys.stderr)
    return SCREEN_FAILED
