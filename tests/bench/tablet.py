"""Key to screen on the tablet: `PYTHONPATH=tests python tests/bench/tablet.py [TURNS]`.

From the moment a key or a touch is handed to the screen until the cells that show it are written, under Textual's
pilot, behind so many turns of conversation (usually 5,000), at three sizes: a digit shown big as it is typed, a key
touched, and "why", which goes through the session and back. What memory grows by over the second
half of the turns is told as well. Prints milliseconds, by the clock and, since a busy machine makes others wait, of the
processor's time; asserts nothing.
"""

from __future__ import annotations

import asyncio
import gc
import sys
import time
import tracemalloc
from collections.abc import Callable
from itertools import cycle
from statistics import median, quantiles
from typing import Any

from settling import settled
from small import SHELF, START
from talking import WORDING, talk

from guide.screen.desk import Desk
from guide.screen.tablet.app import Tablet, Words
from guide.screen.tablet.widgets import Keys
from guide.session import Conversation

SIZES = ((60, 20), (80, 24), (200, 60))
TIMES = 200
LONGEST = 5.0


class Watched(Tablet):
    """Notes when cells were written that show what is waited for."""

    wanted = ""
    shown_at = used = 0.0

    def _display(self, screen: Any, renderable: Any) -> None:
        super()._display(screen, renderable)
        now, used = time.perf_counter(), time.process_time()
        if self.wanted and not self.shown_at and self.wanted in self.cells():
            self.shown_at, self.used = now, used

    def cells(self) -> str:
        """Everything on the screen."""
        strips = self.screen._compositor.render_strips()
        return "\n".join("".join(segment.text for segment in strip) for strip in strips)


async def until_shown(app: Watched, wanted: str, act: Callable[[], object]) -> tuple[float, float]:
    """Milliseconds from an act until what it brings is on the screen, and those the processor worked."""
    app.wanted, app.shown_at = wanted, 0.0
    start, used = time.perf_counter(), time.process_time()
    act()
    while not app.shown_at and time.perf_counter() - start < LONGEST:
        await asyncio.sleep(0.0005)
    app.wanted = ""
    return (1000 * (app.shown_at - start), 1000 * (app.used - used)) if app.shown_at else (float("inf"), float("inf"))


async def measure(size: tuple[int, int], turns: int) -> None:
    """Print the times for one size of screen."""
    job = talk(SHELF)
    app = Watched(Desk(Conversation(job.session), job.turns), WORDING)
    async with app.run_test(size=size) as pilot:
        app.say(START[0])
        await settled(pilot)
        while app.desk.conversation.view().lines[-1].number < turns:
            app.desk.conversation.hear("what's next")
        app.say("what's next")
        await settled(pilot)
        gc.collect()
        gc.freeze()  # as a job on the tablet does
        line, keys = app.query_one(Words), app.query_one("#keys", Keys)
        typed, touched, asked = [], [], []
        digits = cycle("123456789")
        for _ in range(TIMES):
            app._show = "keys"
            app.draw()
            digit = next(digits)
            line.value = "1"
            await pilot.pause()
            line.cursor_position = 1
            typed.append(await until_shown(app, f"top: 1{digit} in. so far", lambda key=digit: app.simulate_key(key)))  # type: ignore[misc]
            key = next(key for key in keys.keys if key.label == "3/16")
            wanted = f"top: 1{digit} 3/16 in. so far"
            touched.append(await until_shown(app, wanted, lambda key=key: keys.post_message(Keys.Touched(key))))  # type: ignore[misc]
            line.value = ""
            app.say("what's next")
            await settled(pilot)
            asked.append(await until_shown(app, "» why", lambda: app.simulate_key("f1")))
    for name, times in (("digit typed", typed), ("key touched", touched), ("why", asked)):
        told = [
            f"{what} median {median(of):5.1f} p99 {quantiles(of, n=100)[98]:5.1f} most {max(of):5.1f}"
            for what, of in zip(("clock", "processor"), zip(*times, strict=True), strict=True)
        ]
        print(f"{size[0]:3} x {size[1]:2}  {name:12} {'   '.join(told)}", flush=True)


def memory(turns: int) -> None:
    """Print what the conversation kept grows by, once it is full."""
    job = talk(SHELF)
    conversation = Conversation(job.session)
    conversation.hear(START[0])
    tracemalloc.start()
    grown = []
    for count in range(turns):
        conversation.hear("why")
        if count in (turns // 2, turns - 1):
            conversation.view()
            gc.collect()
            grown.append(tracemalloc.get_traced_memory()[0])
    tracemalloc.stop()
    print(
        f"memory of the conversation: {(grown[1] - grown[0]) / 1024:+.1f} KiB from {turns // 2} to {turns} utterances"
    )


if __name__ == "__main__":
    most = int(sys.argv[1]) if len(sys.argv) > 1 else 5_000
    for each in SIZES:
        asyncio.run(measure(each, most))
    memory(most)
