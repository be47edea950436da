"""Every sentence that gathering and reviewing say stands in one file, and nothing else stands there."""

from __future__ import annotations

import re
from pathlib import Path

import guide.fleet
from guide.fleet.questions import QUESTIONS
from guide.fleet.words import words

SOURCES = [path.read_text(encoding="utf-8") for path in sorted(Path(guide.fleet.__file__).parent.glob("*.py"))]


def used() -> set[str]:
    """The keys that the code names, whole or by their beginning."""
    keys: set[str] = set()
    for text in SOURCES:
        keys |= set(re.findall(r"""["']((?:store|engine|refused|gather|review)\.[a-z-]+)["']""", text))
    for key in re.findall(r'counted\("([a-z.-]+)"', "".join(SOURCES)):
        keys = keys - {key} | {f"{key}-one", f"{key}-many"}
    keys |= {f"review.held-{name}" for name in ("procedure", "crew", "since", "until")}
    keys |= {f"review.{name}" for name in ("empty", "empty-hint", "only-invented", "only-invented-hint")}
    for question in QUESTIONS.values():
        keys |= {f"ask.{question.name}", f"about.{question.name}"}
        keys |= {f"head.{name}" for name in question.columns if not name.endswith(("_low", "_high"))}
    return keys - {"store.json"}  # a file's name


def test_every_sentence_is_there_and_every_one_is_said() -> None:
    assert set(words().names()) == used()


def test_sentences_end_as_sentences_do() -> None:
    for key in words().names():
        if key.startswith(("refused.", "about.")) and key != "refused.line":
            assert words().say(key, **dict.fromkeys(words().fields(key), "x")).endswith((".", "DIR")), key
