"""The commands that try the voice by itself: say something."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from guide.problems import Problem, ProblemError, visible

if TYPE_CHECKING:
    from guide.screen.terminal import Screen
    from guide.session import Turn
    from guide.session.spoken import SpokenSession
    from guide.voice.settings import Settings
    from guide.voice.speaking import Speaking
    from guide.voice.supervise import Banner


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the commands to the command line."""
    say = commands.add_parser("say", help="say something, as in a job")
    say.add_argument("text", metavar="TEXT", nargs="*")
    say.add_argument("--to", metavar="FILE.wav", type=Path, help="write it to a WAV file instead of playing it")
    say.add_argument("--voices", action="store_true", help="list the voices there are")
    add_settings(say)
    say.set_defaults(command=_say)


def add_settings(parser: argparse.ArgumentParser) -> None:
    """Add what can be set about the mouth."""
    parser.add_argument("--rate", metavar="WORDS", type=int, help="words a minute (usually 150)")
    parser.add_argument("--volume", metavar="0-1", type=float)
    parser.add_argument("--voice-name", metavar="NAME", help="one of: guide say --voices")


def settings_of(arguments: argparse.Namespace) -> Settings:
    """The settings of the file with those of the command line in their place; raises `ProblemError`."""
    from guide.voice.settings import load_settings

    return load_settings(rate=arguments.rate, volume=arguments.volume, voice=arguments.voice_name)


def run_voiced(session: SpokenSession, screen: Screen, opening: list[Turn], settings: Settings) -> int:
    """Do a job by voice and keyboard together; returns the exit code."""
    from guide.screen.terminal import run
    from guide.screen.voiced import VoicedScreen
    from guide.voice.duplex import Duplex

    duplex = Duplex(settings)
    voiced = VoicedScreen(session, screen, duplex)
    duplex.start()
    wait = False
    try:
        code = run(session, voiced, opening, voice=voiced)
        wait = code == 0 and sys.stdin.isatty()
        return code
    finally:
        voiced.finish(wait)


def told(banner: Banner) -> None:
    """Show a banner on the error output; that all is well is not worth one."""
    if banner.state != "up":
        print(
            f"! {banner.part}: {visible(banner.detail or banner.why)} {visible(banner.hint)}".rstrip(), file=sys.stderr
        )


def _say(arguments: argparse.Namespace) -> int:
    from guide.voice.mouth_words import parts
    from guide.voice.speaking import Speaking

    settings = settings_of(arguments)
    text = " ".join(arguments.text)
    if not parts(text) and not arguments.voices:
        raise ProblemError([Problem("nothing-to-say", "there is nothing to say", hint='Try: guide say "36 3/16 in"')])
    speaking = Speaking(settings, told)
    speaking.start()
    try:
        if not speaking.wait_ready():
            raise ProblemError([Problem("no-mouth", "the mouth can't speak on this machine; see above")])
        if arguments.voices:
            for name, description in speaking.voices:
                print(f"{name}: {description}")
            return 0
        if arguments.voice_name is not None and arguments.voice_name.lower() not in dict(speaking.voices):
            message = f'there is no voice "{arguments.voice_name}"'
            raise ProblemError([Problem("no-such-voice", message, hint="All there are: guide say --voices")])
        return _said(speaking, text, arguments.to)
    finally:
        speaking.stop()


def _said(speaking: Speaking, text: str, to: Path | None) -> int:
    """Say it, or write it to a file; what can't be heard is shown."""
    ended = speaking.wait(speaking.say(text, play=to is None, to=os.path.abspath(to) if to else None))
    if ended.how == "done":
        return 0
    if ended.how in ("silent", "lost"):
        print(f"! mouth: {visible(ended.why) or 'the sound card went away'}; shown instead:", file=sys.stderr)
        print(visible(text))
        return 0
    raise ProblemError([Problem("not-said", ended.why or "the mouth's process ended before it was said")])
