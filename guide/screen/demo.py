"""The demo: an invented crew's lines, played on the real engine. Nothing but the lines is scripted."""

from __future__ import annotations

from importlib.resources import files

PACE = 0.12
"""Seconds a word is given, when the demo is not fast."""
PROCEDURE = "exterior-pair"


def crew_lines() -> list[str]:
    """What the invented crew says, line by line; lines that begin with # are remarks for whoever reads the file."""
    text = files("guide.screen").joinpath("demo-crew.txt").read_text(encoding="utf-8")
    return [line.strip() for line in text.splitlines() if line.strip() and not line.startswith("#")]
