"""Key to screen on the page: `PYTHONPATH=tests python tests/bench/page.py [TURNS [TIMES]]`.

In a real Chromium on this machine's loopback, behind so many turns of conversation (usually 2,000): from a touch's
click until the next frame that has what it brings, for a digit put into the line and shown big, for "why", and from the
first byte that is asked for until the job can be used. Prints milliseconds; asserts nothing.
"""

from __future__ import annotations

import sys
from statistics import median, quantiles
from typing import Any

from browser import Browser, Page
from served import Served, served
from small import SHELF, START
from talking import talk

from guide.screen.desk import Desk

WAITED = """
(act, shown) => new Promise(done => {
  const start = performance.now();
  const drawn = () => done(performance.now() - start);
  const look = () => requestAnimationFrame(shown() ? drawn : look);
  act();
  look();
})
"""
KEY = "[...document.querySelectorAll('%s button')].find(b => b.firstChild.textContent === '%s')"


def waited(page: Page, act: str, shown: str) -> float:
    """Milliseconds from an act until a frame was drawn in which something holds."""
    return float(page.value(f"({WAITED})(() => {{ {act} }}, () => {shown})"))


def loaded(browser: Browser, door: Served) -> float:
    """Milliseconds from asking for the page until the job is drawn and its keys can be touched."""
    page = browser.page(door.url)
    page.until("document.body.dataset.drawn > 0")
    took = float(page.value("performance.getEntriesByName('usable')[0].startTime"))
    page.close()
    return took


def measure(turns: int, times: int) -> dict[str, list[float]]:
    """The times of each kind."""
    job = talk(SHELF)
    browser = Browser()
    try:
        with served(job) as door:
            page = browser.page(door.url)
            page.until("document.body.dataset.drawn > 0")
            door.hub.desk.say(START[0])
            page.shows("Width, top?")
            desk = door.hub.desk
            assert isinstance(desk, Desk)
            for _ in range(turns // 2):
                desk.conversation.hear("what's next")
            desk.say("what's next")
            page.until("document.querySelectorAll('#talk p').length > 2")
            found: dict[str, list[float]] = {"digit touched": [], "why": [], "usable": []}
            for at in range(times):
                digit = "123456789"[at % 9]
                page.value("document.body.dataset.show = 'keys'")
                act = f"{KEY % ('#keys', digit)}.click()"
                shown = f"document.getElementById('told-size').textContent.startsWith('top: {digit} in')"
                found["digit touched"].append(waited(page, act, shown))
                page.value("document.getElementById('line').value = ''")
                page.value("document.getElementById('line').dispatchEvent(new Event('input'))")
                page.until("document.getElementById('told-size').textContent === ''")
                page.value("document.body.dataset.before = document.body.dataset.drawn")
                act = f"{KEY % ('#helps', 'Why')}.click()"
                found["why"].append(waited(page, act, "document.body.dataset.drawn !== document.body.dataset.before"))
            found["usable"] = [loaded(browser, door) for _ in range(max(2, times // 10))]
    finally:
        browser.close()
    return found


def told(times: Any) -> str:
    """Median, 99th of a hundred, and the most."""
    return f"median {median(times):6.1f}  p99 {quantiles(times, n=100)[98]:6.1f}  most {max(times):6.1f} ms"


if __name__ == "__main__":
    numbers = [int(one) for one in sys.argv[1:]]
    for name, of in measure(*(numbers or [2_000, 100]), *([100] if len(numbers) == 1 else [])).items():
        print(f"{name:14} {told(of)}")
