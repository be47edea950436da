"""Half-duplex: the ear is shut before the first word and opened a tail behind the last."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from fakes import Ticks

from guide.voice.duplex import MOST_NEWS, TAIL, Duplex, Inbox
from guide.voice.settings import Settings
from guide.voice.speaking import Ended
from guide.voice.supervise import Banner


class Order:
    """Ears and a mouth that only write down what they are told, in order."""

    def __init__(self) -> None:
        self.told: list[tuple[str, object]] = []
        self.open_speeches = 0
        self.can_speak = True
        self.on_ended: Callable[[Ended], None] = lambda ended: None

    def shut(self, at: float) -> None:
        self.told.append(("shut", at))

    def open(self, at: float) -> None:
        self.told.append(("open", at))

    def say(self, text: str) -> int:
        if self.can_speak:
            self.told.append(("say", text))
            self.open_speeches += 1
        return int(self.can_speak)

    def hush(self) -> None:
        self.told.append(("hush", None))

    @property
    def speaking(self) -> bool:
        return self.open_speeches > 0

    def stop(self) -> None:
        self.told.append(("stop", None))

    def end(self, duplex: Duplex, how: str = "done") -> None:
        self.open_speeches -= 1
        duplex._ended(Ended(1, how))  # type: ignore[arg-type]


def made(headset: bool = False) -> tuple[Duplex, Order, Ticks]:
    ticks, order = Ticks(), Order()
    duplex = Duplex(Settings(headset=headset), now=ticks)
    duplex._attending = duplex._speaking = order  # type: ignore[assignment]
    return duplex, order, ticks


def test_the_ear_is_shut_before_the_first_word_and_opened_behind_the_last() -> None:
    duplex, order, ticks = made()
    assert duplex.say("one") and duplex.say("two")
    ticks.at += 5
    order.end(duplex)
    ticks.at += 5
    order.end(duplex)
    assert order.told == [
        ("shut", 100.0),
        ("say", "one"),
        ("shut", 100.0),
        ("say", "two"),
        ("open", 110.0 + TAIL),
    ]


@pytest.mark.parametrize("how", ["done", "hushed", "silent", "lost", "gone"])
def test_however_a_speech_ends_the_ear_is_opened(how: str) -> None:
    duplex, order, ticks = made()
    duplex.say("one")
    order.end(duplex, how)
    assert order.told[-1] == ("open", ticks.at + TAIL)
    assert duplex.inbox.take() == [Ended(1, how)]  # type: ignore[arg-type]


def test_what_cannot_be_said_leaves_the_ear_open() -> None:
    duplex, order, _ = made()
    order.can_speak = False
    assert not duplex.say("one")
    assert order.told == [("shut", 100.0), ("open", 100.0 + TAIL)]


def test_with_a_headset_the_ear_stays_open() -> None:
    duplex, order, _ = made(headset=True)
    duplex.say("one")
    order.end(duplex)
    assert [name for name, _ in order.told] == ["say"]


def test_hushing_tells_whether_anything_was_said() -> None:
    duplex, _, _ = made()
    assert not duplex.hush()
    duplex.say("one")
    assert duplex.hush()


def test_the_inbox_keeps_order_and_is_bounded() -> None:
    inbox = Inbox()
    for number in range(MOST_NEWS + 10):
        inbox.put(Banner("ear", "up", detail=str(number)))
    taken = inbox.take()
    assert [one.detail for one in taken if isinstance(one, Banner)] == [str(n) for n in range(10, MOST_NEWS + 10)]
    assert inbox.take() == []
    inbox.close()
    inbox.put(Banner("ear", "up"))  # too late, and no fault
