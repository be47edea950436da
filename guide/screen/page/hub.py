"""Who sits at the pages of one job: one writes, the others watch. Everything here happens in the server's own thread.

What a page says goes to the desk; what the desk tells goes to every page. A page that was away comes back to where it
was: it names the last line it has, and says again what it does not know to be taken, which is never taken twice.
"""

from __future__ import annotations

import asyncio
import base64
import contextlib
import struct
from collections import OrderedDict, deque
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from guide.problems import visible
from guide.screen.desk import Desk, Drawn, Ended, Failed, Told
from guide.screen.draw import EAR_MARKS, mark_of, reading_told
from guide.screen.page.lobby import Lobby
from guide.screen.page.messages import Line, Message, Played, Press, Say, Sound, TakeOver
from guide.session import View
from guide.session.keypad import press
from guide.talk.wording import Wording
from guide.voice.afar import Afar

MOST_WAITING = 300
"""Messages that may wait to be sent to one page; a page that takes none is given up."""
MOST_TABS = 200
FAILED = 3
"""Exit code where the program could not go on."""


@dataclass(eq=False, slots=True)
class Out:
    """What waits to be sent to one page: messages in order, and the view once, however often it has changed."""

    waiting: deque[Mapping[str, object] | bytes] = field(default_factory=deque)
    view: bool = False
    news: asyncio.Event = field(default_factory=asyncio.Event)
    full: bool = False
    replaced: bool = False
    """The same page has another seat now."""

    def put(self, message: Mapping[str, object] | bytes) -> None:
        """Send this behind what waits."""
        if len(self.waiting) >= MOST_WAITING:
            self.full = True
        else:
            self.waiting.append(message)
        self.news.set()

    def draw(self) -> None:
        """Send the view as it is when its turn comes."""
        self.view = True
        self.news.set()


@dataclass(eq=False, slots=True)
class Seat:
    """One page that is there."""

    tab: str
    seen: int
    """The last line of the talk that it has."""
    out: Out = field(default_factory=Out)
    line: str = ""
    rate: int = 0
    """Of its microphone."""
    loud: bool = False


class Hub:
    """The pages of one job."""

    def __init__(self, desk: Desk | Lobby, wording: Wording) -> None:
        self.desk = desk
        self.wording = wording
        self.seats: list[Seat] = []
        self.writer: Seat | None = None
        self.ended: asyncio.Future[int] = asyncio.get_running_loop().create_future()
        """The exit code, once the job was left."""
        self.fault: Exception | None = None
        self.entered: Callable[[], None] = lambda: None
        """Called when a page was let in."""
        self._afar: Afar | None = None
        self._loop = asyncio.get_running_loop()
        self._taken: OrderedDict[str, int] = OrderedDict()

    def start(self, afar: Afar | None = None) -> None:
        """Hear of the desk and of the voice from now on."""
        self.desk.tell = lambda told: self._soon(lambda: self._told(told))
        self.desk.start()
        self._afar = afar
        self._look_for_news()

    def begin(self, desk: Desk, afar: Afar | None) -> None:
        """A job was chosen: its desk takes the place of what was here, for every page that is there."""
        self.desk = desk
        for seat in self.seats:
            seat.seen, seat.line = 0, ""
            seat.out.draw()
        self.start(afar)
        self._roles()

    def sit(self, tab: str, last: int) -> Seat:
        """A page is there; it writes if nobody else does. The same page's seat before this one is empty now."""
        for old in [seat for seat in self.seats if seat.tab == tab]:
            old.out.replaced = True
            old.out.news.set()
            self.rise(old)
        newest = self.desk.view.lines[-1].number if self.desk.view.lines else 0
        seat = Seat(tab, last if last <= newest else 0)
        self.seats.append(seat)
        if self.writer is None:
            self.writer = seat
        self._roles()
        seat.out.draw()
        return seat

    def rise(self, seat: Seat) -> None:
        """A page is gone."""
        if seat in self.seats:
            self.seats.remove(seat)
            if self.writer is seat:
                self.writer = None
                self._silence()
            self._roles()

    def take(self, seat: Seat, message: Message) -> None:
        """What a page says. Only the one that writes is listened to."""
        if isinstance(message, TakeOver):
            self._take_over(seat)
        elif isinstance(message, Say):
            self._say(seat, message)
        elif seat is not self.writer:
            self._roles()
        elif isinstance(message, Line):
            seat.line = message.text
            self._line(seat, message.n)
        elif isinstance(message, Press):
            view = self.desk.view
            if any(key.does == "type" and key.text == message.key for block in view.keypad.blocks for key in block):
                seat.line = press(seat.line, message.key, view.secret)
            self._line(seat, message.n)
        elif isinstance(message, Sound):
            self._sound(seat, message)
        elif isinstance(message, Played) and self._afar is not None and seat.loud:
            self._afar.played(message.id, message.how)

    def heard(self, seat: Seat, samples: bytes) -> None:
        """Sound of a page's microphone, nothing where some was lost; raises `ValueError` for what is none."""
        if self._afar is not None and seat is self.writer and seat.rate:
            if samples:
                self._afar.sound(samples, seat.rate)
            else:
                self._afar.missed()

    def play(self, message: Mapping[str, object]) -> None:
        """The mouth wants sound played, or quiet; called from any thread."""
        self._soon(lambda: self._play(message))

    def data(self, seat: Seat) -> Mapping[str, object]:
        """The view for a page: of the talk what it does not have yet."""
        view, first = self.desk.view, seat.seen == 0
        lines = tuple(line for line in view.lines if line.number > seat.seen)
        data = {"kind": "view", "view": shown(replace(view, lines=lines)), "all": first}
        if lines:
            seat.seen = lines[-1].number
        return data

    def close(self, text: str) -> None:
        """Tell every page that this is the end."""
        for seat in self.seats:
            seat.out.put({"kind": "end", "text": text})

    # What pages say

    def _take_over(self, seat: Seat) -> None:
        if self.writer is not seat:
            self.writer = seat
            self._silence()
        self._roles()

    def _roles(self) -> None:
        voice = self._afar is not None
        for seat in self.seats:
            seat.out.put({"kind": "role", "writes": seat is self.writer, "others": len(self.seats) - 1, "voice": voice})

    def _say(self, seat: Seat, message: Say) -> None:
        """What was taken is never taken again; it counts as taken once it is answered and in the record."""
        reply = {"kind": "taken", "id": message.id}
        again = message.id <= self._taken.get(seat.tab, 0)
        if not again and seat is not self.writer:
            seat.out.put({"kind": "not-taken", "id": message.id})
            self._roles()
            return
        told = self._then(lambda: seat.out.put(reply))
        if again:
            self.desk.do(lambda: False, told)
            return
        self._taken[seat.tab] = message.id
        self._taken.move_to_end(seat.tab)
        while len(self._taken) > MOST_TABS:
            self._taken.popitem(last=False)
        seat.line = ""
        self.desk.say(message.words, message.by, message.request, told)

    def _line(self, seat: Seat, n: int) -> None:
        reading = None if self.desk.view.secret else self.desk.preview(seat.line)
        told = None
        if reading is not None:
            so_far = self.wording.say("tablet.so-far")
            told = _visible({**asdict(reading), "told": reading_told(reading, so_far)})
        seat.out.put({"kind": "line", "n": n, "text": seat.line, "reading": told})

    # The voice

    def _sound(self, seat: Seat, message: Sound) -> None:
        if self._afar is None or not isinstance(self.desk, Desk):
            return
        conversation = self.desk.conversation
        seat.rate, seat.loud = message.rate, True
        afar = self._afar
        afar.loud = True
        afar.begin()

        def begin() -> bool:
            conversation.listens()
            ask = conversation.session.asking.last
            afar.say(ask.text if ask is not None else self.desk.view.request.text)
            return True

        self.desk.do(begin)

    def _silence(self) -> None:
        """The page that spoke and listened is gone, or only watches now."""
        for seat in self.seats:
            seat.loud, seat.rate = False, 0
        if self._afar is not None:
            self._afar.hush()
            self._afar.loud = False

    def _play(self, message: Mapping[str, object]) -> None:
        if self.writer is None or not self.writer.loud:
            if self._afar is not None and message.get("last"):
                self._afar.played(int(str(message["id"])), "hushed")
        elif message["kind"] == "quiet":
            self.writer.out.put({"kind": "quiet"})
        else:
            number, rate = int(str(message["id"])), int(str(message["rate"]))
            head = struct.pack("<III", number, rate, int(bool(message["last"])))
            self.writer.out.put(head + base64.b64decode(str(message["data"])))

    def _look_for_news(self) -> None:
        if self._afar is not None and not self.ended.done():
            descriptor = self._afar.inbox.descriptor
            self._loop.add_reader(descriptor, self._news, descriptor)

    def _news(self, descriptor: int) -> None:
        self._loop.remove_reader(descriptor)
        self.desk.news(self._then(self._look_for_news))

    # What the desk tells

    def _told(self, told: Told) -> None:
        if isinstance(told, Drawn):
            for seat in self.seats:
                seat.out.draw()
        elif not self.ended.done():
            self.fault = told.fault if isinstance(told, Failed) else None
            self.ended.set_result(told.code if isinstance(told, Ended) else FAILED)

    def _then(self, act: Callable[[], None]) -> Callable[[], None]:
        return lambda: self._soon(act)

    def _soon(self, act: Callable[[], None]) -> None:
        """Do something in the server's thread; nothing once that has ended."""
        with contextlib.suppress(RuntimeError):
            self._loop.call_soon_threadsafe(act)


def shown(view: View) -> Mapping[str, Any]:
    """The view as JSON values; what can't be seen is shown as an escape, but for what a key says when it is touched."""
    data: dict[str, Any] = view.as_data()
    for line, drawn in zip(data["lines"], view.lines, strict=True):
        line["mark"] = mark_of(drawn)
    data["ear"]["mark"] = EAR_MARKS[view.ear.state]
    if view.reading is not None:
        data["reading"]["told"] = reading_told(view.reading, "")
    kept = [key.text for key in view.helps], [[key.text for key in block] for block in view.keypad.blocks]
    safe: dict[str, Any] = _visible(data)
    for key, text in zip(safe["helps"], kept[0], strict=True):
        key["text"] = text
    for block, texts in zip(safe["keypad"]["blocks"], kept[1], strict=True):
        for key, text in zip(block, texts, strict=True):
            key["text"] = text
    return safe


def _visible(value: Any) -> Any:
    """The same with every text made safe to show; lines stay lines."""
    if isinstance(value, str):
        return "\n".join(visible(line) for line in value.splitlines())
    if isinstance(value, Mapping):
        return {name: _visible(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_visible(one) for one in value]
    return value
