"""Every sentence in one place: what the code asks for is there, and what is there is asked for."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import guide
from guide.job import engine
from guide.job.engine import TABLE
from guide.job.events import Verdict
from guide.screen.drawing import _MARKS
from guide.talk.wording import Wording

WORDING = Wording.load("en")
CODE = Path(guide.__file__).parent
TALKERS = [*CODE.glob("session/*.py"), *CODE.glob("talk/*.py"), *CODE.glob("screen/**/*.py")]
MADE_UP = (
    "legal",
    "refused",
    "verdict",
    "decided",
    "decision",
    "proof",
    "unknown",
    "why-not",
    "accepted",
    "finished",
    "works",
)
"""Tables whose keys are put together in the code; each is covered by a test below."""


def keys_in_code() -> set[str]:
    text = "\n".join(path.read_text(encoding="utf-8") for path in TALKERS)
    return set(re.findall(r'"([a-z][a-z-]*\.[a-z][a-z-]*)"', text))


def test_every_sentence_the_code_names_is_there() -> None:
    tables = {key.partition(".")[0] for key in WORDING.names()}
    named = {key for key in keys_in_code() if key.partition(".")[0] in tables}
    assert len(named) > 100
    assert named - set(WORDING.names()) == set()


def test_every_sentence_is_used() -> None:
    made_up = {f"answer.reading-{verdict}" for verdict in get_args(Verdict)} | {f"drawing.{kind}" for kind in _MARKS}
    unused = set(WORDING.names()) - keys_in_code() - made_up
    assert {key for key in unused if key.partition(".")[0] not in MADE_UP} == set()


def test_every_refusal_of_the_engine_has_its_sentence() -> None:
    source = "\n".join(path.read_text(encoding="utf-8") for path in CODE.glob("job/*.py"))
    codes = set(re.findall(r'Refusal\(\s*"([a-z-]+)"', source)) | {f"while-{status}" for status in TABLE}
    assert len(codes) > 30
    for code in codes:
        assert WORDING.has(f"refused.{code}"), code


def test_everything_that_can_be_legal_has_its_sentence() -> None:
    doors = set(engine._OPEN_DOORS.values())
    wants = {"choice", "cautions", "crew", "reading", "done", "adjust", "lead", "doubt", "look", "make-safe", "found"}
    for code in doors | wants | {"clear", "wait"}:
        assert WORDING.has(f"legal.{code}"), code


def test_sentences_are_short_enough_to_be_said() -> None:
    for key in WORDING.names():
        sentences = re.split(r"(?<=[.?!]) ", WORDING.say(key, **dict.fromkeys(WORDING.fields(key), "x")))
        assert all(len(sentence.split()) <= 30 for sentence in sentences), key


def test_join() -> None:
    assert WORDING.join([]) == ""
    assert WORDING.join(["a"]) == "a"
    assert WORDING.join(["a", "b", "c"]) == "a, b and c"
    assert WORDING.join(["a", "b"], last="or") == "a or b"
