"""What a page may send is checked; whatever else comes is refused in words."""

from __future__ import annotations

import contextlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.screen.page.messages import LONGEST_WORDS, Here, Line, Played, Press, Say, Sound, TakeOver, read


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ({"kind": "here", "key": "k", "tab": "t", "last": 3}, Here("k", "t", 3)),
        ({"kind": "say", "id": 1, "words": "36 1/2", "by": "touch", "request": 4}, Say(1, "36 1/2", "touch", 4)),
        ({"kind": "line", "n": 2, "text": "3"}, Line(2, "3")),
        ({"kind": "press", "n": 2, "key": "3/16"}, Press(2, "3/16")),
        ({"kind": "take-over"}, TakeOver()),
        ({"kind": "sound", "rate": 48000, "why": ""}, Sound(48000, "")),
        ({"kind": "played", "id": 1, "how": "done"}, Played(1, "done")),
    ],
)
def test_messages(data: dict[str, object], message: object) -> None:
    assert read(json.dumps(data)) == message


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "that is not JSON"),
        ("[" * 100_000, "that is not JSON"),
        ("[]", "that is no message of a page"),
        ('{"kind": []}', "that is no message of a page"),
        ('{"kind": "leave"}', "that is no message of a page"),
        ('{"kind": "line", "n": 1}', '"text" has to be text'),
        ('{"kind": "line", "n": true, "text": ""}', '"n" has to be a whole number'),
        ('{"kind": "line", "n": 1e400, "text": ""}', '"n" has to be a whole number'),
        ('{"kind": "line", "n": -1, "text": ""}', '"n" has to be a whole number'),
        ('{"kind": "say", "id": 1, "words": "", "by": "voice", "request": 0}', '"by" has to be one of: typed, touch'),
    ],
)
def test_what_is_no_message_is_refused_in_words(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=f"^{why}$"):
        read(text)


def test_what_is_too_long_is_cut_and_half_characters_are_replaced() -> None:
    line = read(json.dumps({"kind": "line", "n": 1, "text": "9" * 5000}))
    assert isinstance(line, Line) and len(line.text) == LONGEST_WORDS
    assert read('{"kind": "line", "n": 1, "text": "\\ud83d x"}') == Line(1, "\ufffd x")
    assert read('{"kind": "line", "n": 1, "text": "\\ud83d\\udd27"}') == Line(1, "🔧")


_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(), lambda inner: st.lists(inner, max_size=3)
)
_NAMES = st.sampled_from(
    ["kind", "id", "n", "words", "text", "by", "request", "key", "tab", "last", "rate", "why", "how"]
)
_KINDS = st.sampled_from(["here", "say", "line", "press", "take-over", "sound", "played"])


@given(st.dictionaries(_NAMES, _VALUES, max_size=6), _KINDS)
def test_whatever_comes_is_a_message_or_refused(data: dict[str, object], kind: str) -> None:
    message = None
    with contextlib.suppress(ValueError):
        message = read(json.dumps({**data, "kind": kind}))
    assert message is None or isinstance(message, Here | Say | Line | Press | TakeOver | Sound | Played)
