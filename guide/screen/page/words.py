"""The page's own words: all from the wording, put into the page where it names them, and handed to its scripts."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator

from guide.screen.tablet.themes import THEMES, Colours
from guide.talk.wording import Wording

SAID = (
    *("page.start", "page.starting", "page.no-sound", "page.no-microphone", "page.offline", "page.waiting"),
    *("page.watching", "page.others", "page.take-over", "page.code-wrong", "page.code-late", "page.ended"),
    *("page.sunlight", "page.dark", "page.unreached", "tablet.so-far", "tablet.talk", "tablet.keys"),
)
"""What the scripts say."""
WRITTEN = (
    *("page.code", "page.code-why", "page.enter", "page.line", "page.request", "page.talk", "page.keys", "page.helps"),
    *("page.door", "page.figure", "page.no-script", "page.stale", "page.cautions"),
)
"""What stands in the page itself."""
_PLACE = re.compile(r"\{\{([a-z.-]+)\}\}")


def colours() -> str:
    """The tablet's two sets of colours as a style sheet: the browser's wish, unless the page was switched."""
    sunlight, dark = (" ".join(_variables(THEMES[name])) for name in ("sunlight", "dark"))
    return (
        f":root {{ color-scheme: light; {sunlight} }}\n"
        f"@media (prefers-color-scheme: dark) {{ :root:not([data-theme=sunlight]) {{ color-scheme: dark; {dark} }} }}\n"
        f":root[data-theme=dark] {{ color-scheme: dark; {dark} }}\n"
    )


def _variables(theme: Colours) -> Iterator[str]:
    for role, (text, ground) in theme.pairs().items():
        yield f"--{role}: {text}; --{role}-ground: {ground};"


def index(text: str, wording: Wording) -> str:
    """The page with its words in it."""
    known = {key: wording.say(key, why="{why}") for key in (*SAID, *WRITTEN)}
    known["said"] = json.dumps({key.partition(".")[2]: known[key] for key in SAID})
    return _PLACE.sub(lambda found: html.escape(known[found[1]], quote=True), text)
