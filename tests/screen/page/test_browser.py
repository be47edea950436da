"""The page in a real Chromium, by touch: a whole job, a spoken reading, sleep, two tabs, a stranger, every size."""

from __future__ import annotations

import re
import wave
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest
from bench.page import measure
from bench.page import told as measured
from browser import CHROMIUM, Browser, Page
from served import Served, served, speaking
from small import SHELF, START, SURVEYED
from talking import Talk, talk

from guide.job import events as ev
from guide.screen.demo import crew_lines
from guide.screen.page import server as serving
from guide.voice.mouth import Speech, Voice
from guide.voice.settings import Settings
from guide.voice.wav import read_wav

pytestmark = pytest.mark.needs(*CHROMIUM)

PICTURES = Path(__file__).parents[3] / "build" / "pictures"
"""What the page looked like, for people to look at."""
SPOKEN = "twenty and three eighths"


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """A browser in whose microphone somebody says a reading again and again."""
    folder = tmp_path_factory.mktemp("said")
    (folder / "said.wav").write_bytes(Voice().make(Speech(((SPOKEN, False),), 140, 1.0, "gmw/en-gb-x-rp")))
    quiet = np.zeros(4 * 16_000, np.float32)
    sound = np.concatenate([quiet, read_wav(folder / "said.wav"), quiet])
    with wave.open(str(folder / "microphone.wav"), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(16_000)
        out.writeframes((sound * 32767).astype("<i2").tobytes())
    one = Browser(
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-audio-capture={folder / 'microphone.wav'}",
    )
    yield one
    one.close()


@pytest.fixture
def page(browser: Browser, door: Served) -> Iterator[Page]:
    one = browser.page(door.url)
    one.until("document.body.dataset.state === 'job'")
    yield one
    away = "WebSocket connection to"  # what a lost network brings
    assert [text for text in one.complaints() if not text.startswith(away)] == []
    one.close()


def enter(page: Page, line: str) -> None:
    """Type a line and touch OK."""
    page.touch("document.getElementById('line')")
    page.type(line)
    page.touch("document.getElementById('send')")
    settled(page)


def settled(page: Page) -> None:
    """Wait until all that was sent is taken."""
    page.until("document.body.dataset.pending === '0'")


# A whole job


FIGURE = re.compile(r"(?:(?P<whole>\d+) ?)?(?P<part>\d+/\d+)?")


def by_touch(page: Page, line: str) -> None:
    """Answer with the keys on the screen where they have the answer, else by typing; always end with a touch."""
    labels = page.value(
        "[...document.querySelectorAll('#keys button')].map(b => [b.firstChild.textContent, "
        "b.querySelector('small')?.textContent ?? ''])"
    )
    known = {text.lower(): text for pair in labels for text in pair if text}
    found = FIGURE.fullmatch(line)
    if line == "why":
        page.touch_key("Why", "#helps")
    elif page.value("document.body.dataset.pad") != "inches" and line.lower() in known:
        page.touch_key(known[line.lower()])
    elif page.value("document.body.dataset.pad") == "inches" and found and (found["part"] or "") in (*known, ""):
        for key in (*(found["whole"] or ""), *filter(None, [found["part"]])):
            page.touch_key(key)
        page.touch_key("OK")
    else:
        enter(page, line)
    settled(page)


def told(job: Talk) -> list[tuple[object, ...]]:
    """What was recorded, but for the words it was heard in: a key says a number where a crew says a choice's words."""
    return [
        (type(event), *(getattr(event, one.name) for one in fields(event) if one.name != "heard"))
        for event in job.events
    ]


def test_the_whole_demo_by_touch_gives_the_events_of_the_demo_in_lines(browser: Browser) -> None:
    in_lines = talk("exterior-pair", who="", pretended=True)
    in_lines.say(*crew_lines())
    touched = talk("exterior-pair", who="", pretended=True)
    with served(touched) as door:
        page = browser.page(door.url, 800, 1280)
        page.until("document.body.dataset.state === 'job'")
        for line in crew_lines():
            by_touch(page, line)
        page.shows("finished")
        page.picture(PICTURES / "finished-800.png")
        assert list(page.complaints()) == []
        page.touch_key("Leave")
        page.until("document.body.dataset.pending === '0'")
        page.close()
    assert told(touched) == told(in_lines)
    by = [event.heard.by for event in touched.events if isinstance(event, ev.Took)]
    assert by.count("touch") > 20


# What is on the screen


SIZES = [(360, 740), (800, 1280), (1280, 800)]


@pytest.mark.parametrize("dark", [False, True], ids=["sunlight", "dark"])
def test_what_is_asked_is_whole_and_keys_are_as_large_as_a_thumb_at_every_size(
    browser: Browser, door: Served, dark: bool
) -> None:
    page = browser.page(door.url, dark=dark)
    page.until("document.body.dataset.state === 'job'")
    for name, lines in (
        ("choice", []),
        ("inches", [*SURVEYED[:2]]),
        ("cautions", [SURVEYED[2]]),
        ("stale", ["understood", "done", "understood", "yes", "done", "1/4"]),
        ("out", ["0"]),
        ("answer", ["help"]),
    ):
        for line in lines:
            enter(page, line)
        for width, height in SIZES:
            page.resize(width, height)
            page.until(f"innerWidth === {width}")
            page.picture(PICTURES / f"{name}-{width}-{'dark' if dark else 'sunlight'}.png")
            asked = page.value(
                "(r => [r.top >= 0, r.bottom <= innerHeight, document.getElementById('request').scrollHeight <= "
                "document.getElementById('request').clientHeight + 1])"
                "(document.getElementById('request').getBoundingClientRect())"
            )
            assert asked == [True, True, True], (name, width, asked)
            small = page.value(
                "[...document.querySelectorAll('button, input')].filter(b => b.offsetParent).map(b => "
                "[b.textContent, b.offsetWidth, b.offsetHeight]).filter(([, w, h]) => w < 48 || h < 48)"
            )
            assert small == [], (name, width)
            assert page.value("document.documentElement.scrollWidth <= innerWidth"), (name, width)
            assert page.value("document.getElementById('say').getBoundingClientRect().bottom <= innerHeight + 1")
    assert list(page.complaints()) == []
    page.close()


def test_a_reading_is_big_while_it_is_typed_and_when_it_is_taken(page: Page, job: Talk) -> None:
    enter(page, START[0])
    for key in ("2", "0", "3/16"):
        page.touch_key(key)
    page.shows("top: 20 3/16 in. so far")
    assert page.value("document.getElementById('line').value") == "20 3/16"
    assert page.value("parseFloat(getComputedStyle(document.getElementById('size')).fontSize)") >= 60
    page.touch_key("OK")
    page.shows("top: 20 3/16 in. noted")
    assert isinstance(job.events[-1], ev.Took)


def test_quick_thumbs_and_the_key_that_sends_lose_nothing(page: Page, job: Talk) -> None:
    enter(page, START[0])
    page.value(
        "for (const label of ['2', '0', '3/8', 'OK']) "
        "[...document.querySelectorAll('#keys button')].find(b => b.firstChild.textContent === label).click()"
    )
    page.shows("top: 20 3/8 in. noted")
    took = job.events[-1]
    assert isinstance(took, ev.Took) and str(took.value) == "20 3/8 in" and took.heard.by == "touch"


def test_colours_are_changed_by_a_key_and_kept(page: Page) -> None:
    light = page.value("getComputedStyle(document.body).backgroundColor")
    page.touch("document.getElementById('theme')")
    dark = page.value("getComputedStyle(document.body).backgroundColor")
    assert light != dark
    page.ask("Page.reload")
    page.until("document.body.dataset.drawn > 0 && document.documentElement.dataset.theme === 'dark'")
    assert page.value("getComputedStyle(document.body).backgroundColor") == dark


def test_the_keyboard_alone_is_enough(page: Page, job: Talk) -> None:
    page.value("document.querySelector('#keys button:last-child').focus()")
    page.press("Enter")
    settled(page)
    page.value("document.getElementById('line').focus()")
    page.type("20 1/2")
    page.press("Enter")
    settled(page)
    took = job.events[-1]
    assert isinstance(took, ev.Took) and took.heard.by == "typed"


# Sound


def test_a_reading_spoken_into_the_browser_is_heard_taken_and_said_back(
    browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GUIDE_CACHE", str(tmp_path))
    job = speaking(talk(SHELF))
    with served(job, settings=Settings(rate=250)) as door:
        page = browser.page(door.url, 800, 1280)
        page.until("document.body.dataset.state === 'job'")
        enter(page, START[0])
        page.touch("document.getElementById('start')")
        page.until("document.getElementById('start').hidden")
        page.shows("listening")
        page.until(
            f"[...document.querySelectorAll('#talk .crew')].some(line => line.textContent.includes('{SPOKEN}'))", 150
        )
        page.until("document.getElementById('told-size').textContent.includes('20 3/8 in')")
        page.picture(PICTURES / "spoken-800.png")
        assert list(page.complaints()) == []
        page.close()
    took = next(event for event in job.events if isinstance(event, ev.Took))
    assert (str(took.value), took.place, took.heard.by, took.heard.said) == ("20 3/8 in", "top", "voice", SPOKEN)


def test_without_a_microphone_the_page_says_so_and_works(browser: Browser) -> None:
    job = speaking(talk(SHELF))
    with served(job, settings=Settings()) as door:
        page = browser.page(door.url)
        page.until("document.body.dataset.state === 'job'")
        page.value(
            "navigator.mediaDevices.getUserMedia = async () => { throw new DOMException('', 'NotAllowedError') }"
        )
        page.touch("document.getElementById('start')")
        page.shows("This browser gives no microphone (NotAllowedError).")
        enter(page, START[0])
        enter(page, "20 1/2")
        page.close()
    assert any(isinstance(event, ev.Took) for event in job.events)


# Sleep, other pages, strangers


def say_while_cut_off(page: Page, door: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reading, with no connection and none to be had."""
    monkeypatch.setattr(serving, "MOST_SEATS", 0)
    door.cut()
    page.shows("No connection. What you send now is kept")
    page.value("document.getElementById('line').focus()")
    page.type("20 1/2")
    page.press("Enter")


def test_a_tablet_that_slept_comes_back_to_the_same_place_with_what_was_said_meanwhile(
    page: Page, door: Served, job: Talk, monkeypatch: pytest.MonkeyPatch
) -> None:
    enter(page, START[0])
    say_while_cut_off(page, door, monkeypatch)
    assert page.value("document.body.dataset.pending") == "1"
    page.ask("Page.setWebLifecycleState", state="frozen")
    monkeypatch.setattr(serving, "MOST_SEATS", 8)
    page.ask("Page.setWebLifecycleState", state="active")
    page.value("dispatchEvent(new Event('online'))")
    settled(page)
    page.shows("Width, bottom?")
    assert not page.text().startswith("No connection")
    assert sum(isinstance(event, ev.Took) for event in job.events) == 1


def test_a_page_that_is_loaded_anew_still_sends_what_it_had(
    page: Page, door: Served, job: Talk, monkeypatch: pytest.MonkeyPatch
) -> None:
    enter(page, START[0])
    say_while_cut_off(page, door, monkeypatch)
    page.ask("Page.reload")
    page.until("document.body.dataset.state === 'wait' && document.body.dataset.pending === '1'")
    monkeypatch.setattr(serving, "MOST_SEATS", 8)
    page.until("document.body.dataset.state === 'job'")
    settled(page)
    page.shows("Width, bottom?")
    assert sum(isinstance(event, ev.Took) for event in job.events) == 1


def test_what_the_browser_complains_of_would_be_noticed(browser: Browser, door: Served) -> None:
    page = browser.page(door.url)
    page.value("fetch('nothing')")
    page.value("document.body.setAttribute('style', 'color: red')")
    page.value("setTimeout(() => { throw new Error('made up') })")
    complaints = " ".join(page.complaints())
    assert "404" in complaints and "Content Security Policy" in complaints and "made up" in complaints
    page.close()


def test_two_tabs_one_writes_the_other_watches_and_takes_over_by_a_touch(
    browser: Browser, page: Page, door: Served, job: Talk
) -> None:
    other = browser.page(door.address.url, beside=page)
    other.shows("Somebody else writes on this job. You are watching.")
    assert not other.value("document.getElementById('keys').offsetParent")
    enter(page, START[0])
    other.shows("Width, top?")
    other.picture(PICTURES / "watching-800.png")
    other.touch("document.getElementById('take-over')")
    page.shows("You are watching.")
    enter(other, "20 1/2")
    page.shows("Width, bottom?")
    assert isinstance(job.events[-1], ev.Took)
    other.close()


def test_a_stranger_sees_nothing_of_the_job_until_the_code_is_typed(browser: Browser, door: Served) -> None:
    stranger = browser.page(door.address.url, 360, 740)
    stranger.shows("Type the code that stands in the terminal.")
    assert "Hang a shelf" not in stranger.value("document.documentElement.outerHTML")
    stranger.picture(PICTURES / "code-360.png")
    code = door.doors.new_code()
    for given, shown in (("WRONG", "That is not the code"), (f"{code[:4].lower()} {code[4:]}", "Is there a back?")):
        stranger.value("document.getElementById('code').value = ''")
        stranger.touch("document.getElementById('code')")
        stranger.type(given)
        stranger.press("Enter")
        stranger.shows(shown)
    assert stranger.value("location.hash") == ""
    stranger.close()


def test_an_address_with_a_code_that_is_opened_on_a_page_that_waits_lets_it_in(browser: Browser, door: Served) -> None:
    page = browser.page(door.address.url)
    page.shows("Type the code that stands in the terminal.")
    page.value(f"location.hash = '{door.doors.new_code()}'")
    page.shows("Is there a back?")
    assert page.value("location.href") == door.address.url
    page.close()


# Trouble


def test_pasted_megabytes_and_odd_characters_change_nothing_and_are_answered(page: Page, job: Talk) -> None:
    before = len(job.journal.entries)
    page.value("document.getElementById('line').focus()")
    page.type("9" * 3_000_000)
    assert page.value("document.getElementById('line').value.length") == 2000
    page.touch("document.getElementById('send')")
    page.shows("too long")
    enter(page, "<b onclick=x>a\u202e\U0001f469\u200d\U0001f527 b</b>")
    page.shows("<b onclick=x>a\\u202e")
    assert page.value("document.querySelectorAll('#talk b').length") == 0
    assert len(job.journal.entries) == before


def test_a_full_disk_is_told_and_no_reading_is_lost(page: Page, job: Talk) -> None:
    enter(page, START[0])
    job.journal.fails = True
    enter(page, "20 1/2")
    page.shows("The disk is full. Free some space and say it again.")
    job.journal.fails = False
    enter(page, "20 1/2")
    page.shows("Width, bottom?")
    assert sum(isinstance(event, ev.Took) for event in job.events) == 1


def test_a_pin_is_never_on_the_screen(page: Page) -> None:
    for line in (*SURVEYED, "understood", "done", "understood", "yes", "done", "1/4", "0", "leave it as it is", "Ana"):
        enter(page, line)
    for key in "1234":
        page.touch_key(key)
    page.until("document.getElementById('line').value === '1234'")
    assert page.value("document.getElementById('line').type") == "password" and "1234" not in page.text()
    page.touch_key("OK")
    settled(page)
    assert "1234" not in page.text() and page.value("document.getElementById('line').type") == "text"


def test_the_benchmark_runs() -> None:
    found = measure(turns=10, times=3)
    assert {name: len(times) for name, times in found.items()} == {"digit touched": 3, "why": 3, "usable": 2}
    assert all("median" in measured(times) for times in found.values())
