"""Who speaks and listens at the pages: only the one that writes, once it has begun, and nobody after it is gone."""

from __future__ import annotations

import asyncio
import base64
import struct
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field

import pytest
from fakes import FakeDuplex
from small import SHELF
from talking import WORDING, Talk, talk

from guide.screen.desk import Desk
from guide.screen.page.hub import Hub, Seat
from guide.screen.page.messages import Played, Sound, TakeOver
from guide.session import Conversation


@dataclass
class FakeAfar(FakeDuplex):
    """A voice of somebody else's device that writes down what happens to it."""

    loud: bool = False
    begun: int = 0
    heard: list[tuple[bytes, int]] = field(default_factory=list)
    told: list[tuple[int, str]] = field(default_factory=list)
    hushed: int = 0

    def __post_init__(self) -> None:
        super().__init__()

    def begin(self) -> None:
        self.begun += 1

    def hush(self) -> bool:
        self.hushed += 1
        return super().hush()

    def sound(self, samples: bytes, rate: int) -> None:
        if len(samples) % 2:
            raise ValueError("no sound")
        self.heard.append((samples, rate))

    def missed(self) -> None:
        self.heard.append((b"", 0))

    def played(self, number: int, how: str) -> None:
        self.told.append((number, how))


def run(act: Callable[[Hub, FakeAfar, Talk], Awaitable[None]]) -> None:
    async def whole() -> None:
        job, afar = talk(SHELF), FakeAfar()
        desk = Desk(Conversation(job.session), job.turns)
        hub = Hub(desk, WORDING)
        hub.start(afar)  # type: ignore[arg-type]
        await settled(hub)
        await act(hub, afar, job)
        await asyncio.to_thread(desk.close)
        afar.inbox.close()

    asyncio.run(whole())


async def settled(hub: Hub) -> None:
    while hub.desk.busy:  # type: ignore[union-attr]
        await asyncio.sleep(0.001)
    await asyncio.sleep(0.01)


def speech(number: int = 3, last: bool = True) -> dict[str, object]:
    return {"kind": "sound", "id": number, "rate": 22_050, "data": base64.b64encode(b"\1\0\2\0").decode(), "last": last}


def bytes_for(seat: Seat) -> list[bytes]:
    return [one for one in seat.out.waiting if isinstance(one, bytes)]


def test_a_page_that_begins_hears_what_is_asked_and_is_heard() -> None:
    async def act(hub: Hub, afar: FakeAfar, job: Talk) -> None:
        seat = hub.sit("one", 0)
        hub.heard(seat, b"\0\0")
        assert afar.heard == [] and hub.desk.view.ear.words == "voice off"
        hub.take(seat, Sound(48_000, ""))
        await settled(hub)
        assert afar.loud and afar.begun == 1 and afar.said == ["Is there a back? 1: with a back board. 2: no back."]
        assert hub.desk.view.ear.words == "listening"
        hub.heard(seat, b"\0\0")
        hub.heard(seat, b"")
        assert afar.heard == [(b"\0\0", 48_000), (b"", 0)]
        with pytest.raises(ValueError, match="no sound"):
            hub.heard(seat, b"\0")
        hub.play(speech())
        await settled(hub)
        assert bytes_for(seat) == [struct.pack("<III", 3, 22_050, 1) + b"\1\0\2\0"]
        hub.take(seat, Played(3, "done"))
        assert afar.told == [(3, "done")]
        hub.play({"kind": "quiet"})
        await settled(hub)
        assert seat.out.waiting[-1] == {"kind": "quiet"}

    run(act)


def test_a_page_that_only_watches_is_neither_heard_nor_spoken_to() -> None:
    async def act(hub: Hub, afar: FakeAfar, job: Talk) -> None:
        one, two = hub.sit("one", 0), hub.sit("two", 0)
        hub.take(two, Sound(48_000, ""))
        hub.heard(two, b"\0\0")
        hub.take(two, Played(1, "done"))
        hub.play(speech())
        await settled(hub)
        assert not afar.loud and afar.heard == [] and bytes_for(two) == bytes_for(one) == []
        assert afar.told == [(3, "hushed")], "what nobody can play is over at once"

    run(act)


@pytest.mark.parametrize("how", ["taken over", "gone"])
def test_when_the_writer_changes_the_mouth_is_quiet_and_the_new_one_begins_by_itself(how: str) -> None:
    async def act(hub: Hub, afar: FakeAfar, job: Talk) -> None:
        one, two = hub.sit("one", 0), hub.sit("two", 0)
        hub.take(one, Sound(48_000, ""))
        await settled(hub)
        if how == "gone":
            hub.rise(one)
            assert hub.writer is None
        hub.take(two, TakeOver())
        assert hub.writer is two and not afar.loud and afar.hushed >= 1
        hub.heard(one, b"\0\0")
        hub.heard(two, b"\0\0")
        assert afar.heard == []
        hub.take(two, Sound(44_100, ""))
        hub.heard(two, b"\0\0")
        assert afar.loud and afar.heard == [(b"\0\0", 44_100)]

    run(act)
