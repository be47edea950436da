"""The server, from outside: what it gives, to whom, and the job as a page that a test plays has it."""

from __future__ import annotations

import json
import time

import pytest
from fakes import Ticks
from served import PATIENCE, PlayedPage, Served, served
from small import START, SURVEYED
from talking import Talk
from websockets.exceptions import ConnectionClosed, InvalidStatus

from guide.job import events as ev
from guide.screen.page import server as serving
from guide.screen.page.doors import PASS_LASTS, TRIES
from guide.screen.page.hub import Seat

LARGEST = 150 * 1024
"""Bytes of the page in all."""


# The page, and who is let in


def test_the_page_comes_whole_from_here_is_small_and_says_nothing_of_the_job(door: Served) -> None:
    names = ["", *(name for name in serving.load_files(door.address, door.hub) if name != "index.html")]
    total = 0
    for name in names:
        status, headers, body = door.request("GET", f"/{name}")
        assert status == 200
        total += len(body)
        text = body.decode()
        assert "{{" not in text
        assert "http://" not in text.replace("http://www.w3.org/", "") and "https://" not in text.replace(
            "https://www.w3.org/", ""
        )
        assert "Hang a shelf" not in text
        assert headers["x-content-type-options"] == "nosniff" and headers["cache-control"] == "no-store"
    assert 20_000 < total < LARGEST


def test_every_answer_forbids_what_is_from_elsewhere_or_inline(door: Served) -> None:
    for path in ("/", "/nothing", "/here", "/talk"):
        _, headers, _ = door.request("GET", path, origin=door.origin)
        policy = dict(part.strip().split(" ", 1) for part in headers["content-security-policy"].split(";"))
        assert policy["default-src"] == "'none'" and policy["script-src"] == policy["style-src"] == "'self'"
        assert policy["frame-ancestors"] == policy["form-action"] == "'none'"
        assert headers["server"] == "guide" and headers["referrer-policy"] == "no-referrer"


@pytest.mark.parametrize(
    "path", ["/nothing", "/../../etc/passwd", "/%2e%2e/server.py", "/static/page.js", "/page.js/../server.py", "//etc"]
)
def test_no_path_leads_anywhere_else(door: Served, path: str) -> None:
    status, _, body = door.request("GET", path)
    assert status == 404 and body == b"Not Found"


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS"])
def test_only_what_is_asked_as_it_should_be_is_answered(door: Served, method: str) -> None:
    assert door.request(method, "/enter", origin=door.origin)[0] == 405


@pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "127.0.0.1", "127.0.0.1.evil.example"])
def test_another_name_for_this_machine_is_refused(door: Served, host: str) -> None:
    assert door.request("GET", "/", host=host)[0] == 421
    assert door.request("GET", "/", host=f"localhost:{door.address.port}")[0] == 200


@pytest.mark.parametrize("origin", [None, "http://evil.example", "null", "http://127.0.0.1", "https://127.0.0.1"])
def test_other_pages_get_neither_pass_nor_talk(door: Served, origin: str | None) -> None:
    code = door.doors.new_code()
    assert door.request("POST", "/enter", json.dumps({"code": code}), origin)[0] == 403
    cookie, _ = door.enter(code)
    with pytest.raises(InvalidStatus, match="403"):
        door.connect(cookie, origin=origin)


def test_the_code_is_spent_and_the_cookie_is_for_nobody_else(door: Served) -> None:
    code = door.doors.new_code()
    body = json.dumps({"code": code})
    status, headers, _ = door.request("POST", "/enter", body, door.origin)
    cookie = headers["set-cookie"]
    assert status == 200 and {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(cookie.split("; "))
    assert door.request("POST", "/enter", body, door.origin)[0] == 403
    assert door.request("GET", "/here", cookie=cookie.partition(";")[0])[0] == 204
    assert door.request("GET", "/here", cookie=cookie[:30])[0] == 401


def test_wrong_codes_are_slow_and_few(door: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "WRONG_CODE_WAITS", 0.0)
    code = door.doors.new_code()
    found = [door.request("POST", "/enter", '{"code": "WRONG"}', door.origin)[0] for _ in range(TRIES + 5)]
    assert found[0] == 403 and 429 in found
    assert door.doors.enter(code) is None


@pytest.mark.parametrize("body", ["", "[]", "{}", '{"code": 7}', '"x"', "[" * 3000, "{" + " " * 10_000 + "}"])
def test_what_is_no_code_is_refused(door: Served, body: str) -> None:
    assert door.request("POST", "/enter", body, door.origin)[0] in (400, 403, 413)


def test_a_stranger_gets_nothing_of_the_job(door: Served) -> None:
    for cookie in ("", f"guide-{door.address.port}=made-up"):
        with pytest.raises(InvalidStatus, match="401"):
            door.connect(cookie)
    assert door.hub.seats == []


def test_the_cookie_alone_which_other_ports_of_this_machine_get_too_is_not_enough(door: Served) -> None:
    cookie, _ = door.enter()
    talk_ = door.connect(cookie)
    talk_.send(json.dumps({"kind": "here", "key": "guessed", "tab": "x", "last": 0}))
    with pytest.raises(ConnectionClosed) as closed:
        talk_.recv(PATIENCE)
    assert closed.value.rcvd is not None and closed.value.rcvd.code == serving.NOT_KNOWN
    assert door.hub.seats == []


def test_who_does_not_say_who_they_are_is_let_go(door: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "FIRST", 0.05)
    cookie, _ = door.enter()
    for first in ('{"kind": "take-over"}', "rubbish", b"\0\0", None):
        talk_ = door.connect(cookie)
        if first is not None:
            talk_.send(first)
        with pytest.raises(ConnectionClosed) as closed:
            talk_.recv(PATIENCE)
        assert closed.value.rcvd is not None and closed.value.rcvd.code == serving.NOT_HERE


def test_a_pass_ends_and_its_talk_with_it(job: Talk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "BEAT", 0.05)
    ticks = Ticks()
    with served(job, ticks) as door:
        page = door.page()
        page.until("beat")
        ticks.at += PASS_LASTS + 1
        with pytest.raises(ConnectionClosed) as closed:
            page.until("never")
        assert closed.value.rcvd is not None and closed.value.rcvd.code == serving.NOT_KNOWN


def test_there_are_not_more_pages_than_a_job_needs(door: Served) -> None:
    let_in = door.enter()
    pages = [door.page(str(number), let_in) for number in range(serving.MOST_SEATS)]
    for page in pages:
        page.until("role")
    with pytest.raises(InvalidStatus, match="503"):
        door.connect(let_in[0])


# The job


def test_what_a_page_says_is_answered_in_the_view_and_in_the_record(job: Talk, door: Served) -> None:
    page = door.page()
    page.until("view")
    assert page.view["request"]["headline"] == "Is there a back?" and page.lines[0]["text"] == "Hang a shelf frame."
    page.until("role", writes=True)
    page.say("2", "touch", page.view["request"]["number"])
    page.say("20 1/2")
    took = job.events[-1]
    assert isinstance(took, ev.Took) and (str(took.value), took.heard.by) == ("20 1/2 in", "typed")
    assert page.view["reading"]["told"] == "top: 20 1/2 in. noted" and page.view["request"]["place"] == "bottom"
    assert [line["number"] for line in page.lines] == list(range(1, len(page.lines) + 1))
    assert page.lines[-1]["mark"] == "?"


def test_keys_are_put_together_and_what_is_typed_is_shown_as_it_would_be_understood(door: Served) -> None:
    page = door.page()
    page.say(START[0])
    for n, key in enumerate(("2", "0", "3/16", "no such key", "back", "1/8"), 1):
        page.send(kind="press", n=n, key=key)
    answer = page.until("line", n=6)
    assert answer["text"] == "20 1/8" and answer["reading"]["told"] == "top: 20 1/8 in. so far"
    page.send(kind="line", n=7, text="why")
    assert page.until("line", n=7)["reading"] is None


def test_a_key_for_what_was_asked_before_changes_nothing(job: Talk, door: Served) -> None:
    page = door.page()
    for line in SURVEYED:
        page.say(line)
    number, entries = page.view["request"]["number"], len(job.journal.entries)
    page.say("understood", "touch", number)
    assert len(job.journal.entries) == entries + 1
    page.say("understood", "touch", number)
    assert len(job.journal.entries) == entries + 1 and "That key was for" in page.lines[-1]["text"]


def test_a_page_that_comes_back_goes_on_where_it_was_and_nothing_is_taken_twice(job: Talk, door: Served) -> None:
    let_in = door.enter()
    page = door.page("tablet", let_in)
    page.say(START[0])
    page.send(kind="say", id=2, words="20 1/2", by="typed", request=0)
    page.close()  # before it knows whether that was taken
    again = door.page("tablet", let_in, last=page.lines[-1]["number"])
    again.send(kind="say", id=2, words="20 1/2", by="typed", request=0)
    again.until("taken", id=2)
    again.count = 2
    again.say("why")
    assert again.came[0]["all"] is False and all(line["number"] > page.lines[-1]["number"] for line in again.lines)
    assert sum(isinstance(event, ev.Took) for event in job.events) == 1
    assert again.view["request"]["place"] == "bottom" and again.role["writes"]


def test_the_same_page_twice_is_one_page(door: Served) -> None:
    let_in = door.enter()
    one, again = door.page("tablet", let_in), door.page("tablet", let_in)
    with pytest.raises(ConnectionClosed) as closed:
        one.until("never")
    assert closed.value.rcvd is not None and closed.value.rcvd.code == serving.REPLACED
    again.until("role", writes=True, others=0)


def test_what_was_lost_on_the_way_is_said_again_and_taken_once(job: Talk, door: Served) -> None:
    let_in = door.enter()
    page = door.page("tablet", let_in)
    page.say(START[0])
    page.close()
    again = door.page("tablet", let_in)
    again.send(kind="say", id=2, words="20 1/2", by="typed", request=0)
    again.until("taken", id=2)
    assert isinstance(job.events[-1], ev.Took) and again.came[0]["all"] is True


def test_a_second_page_watches_until_it_takes_over(job: Talk, door: Served) -> None:
    let_in = door.enter()
    one, two = door.page("one", let_in), door.page("two", door.enter())
    one.until("role", writes=True, others=1)
    two.until("role", writes=False)
    entries = len(job.journal.entries)
    two.send(kind="say", id=1, words="2", by="touch", request=0)
    two.until("not-taken", id=1)
    two.send(kind="line", n=1, text="20")
    two.until("role", writes=False)
    assert len(job.journal.entries) == entries
    two.send(kind="take-over")
    two.until("role", writes=True)
    one.until("role", writes=False)
    two.count = 1
    two.say(START[0])
    one.until("view")
    while one.view["request"]["place"] != "top":
        one.until("view")
    two.close()
    one.until("role", writes=False, others=0)
    one.send(kind="take-over")
    one.until("role", writes=True)


def test_whoever_comes_first_after_the_writer_is_gone_writes(door: Served) -> None:
    one = door.page("one")
    one.until("role", writes=True)
    one.close()
    end = time.monotonic() + PATIENCE
    while door.hub.seats:
        assert time.monotonic() < end
        time.sleep(0.01)
    door.page("two").until("role", writes=True)


def test_a_pin_is_not_in_the_view(door: Served) -> None:
    page = door.page()
    for line in (*SURVEYED, "understood", "done", "understood", "yes", "done", "1/4", "0", "leave it as it is", "Ana"):
        page.say(line)
    assert page.view["secret"]
    for n, key in enumerate("12345", 1):
        page.send(kind="press", n=n, key=key)
    page.send(kind="press", n=6, key="back")
    answer = page.until("line", n=6)
    assert answer["text"] == "1234" and answer["reading"] is None
    page.say("1234")
    assert not page.view["secret"] and "1234" not in json.dumps([page.view, page.lines])


# Trouble


def test_megabytes_end_the_talk_and_not_the_job(job: Talk, door: Served) -> None:
    let_in = door.enter()
    for _ in range(5):
        page = door.page("one", let_in)
        page.until("role")
        with pytest.raises(ConnectionClosed) as closed:
            _insist(page, json.dumps({"kind": "line", "n": 1, "text": "9" * 3_000_000}), 1)
        if closed.value.rcvd is not None:
            break  # else the connection was reset, as may be while one still sends, and the code lost with it
    assert closed.value.rcvd is not None and closed.value.rcvd.code == 1009
    again = door.page("one", let_in)
    again.say(START[0])
    assert any(isinstance(event, ev.Chosen) for event in job.events)


def test_long_words_and_odd_characters_are_answered_and_can_be_seen(job: Talk, door: Served) -> None:
    page = door.page()
    entries = len(job.journal.entries)
    page.say("9" * 60_000)
    assert "too long" in json.dumps(page.lines)
    page.say("a\x1b[31m\u202e\U0001f469\u200d\U0001f527\x00 \ud83d b")
    said = [line for line in page.lines if line["kind"] == "crew"][-1]["text"]
    assert "\\u202e" in said and "\\x1b" in said and "\u202e" not in json.dumps(page.lines, ensure_ascii=False)
    assert len(job.journal.entries) == entries


def test_a_full_disk_is_told_on_the_page_and_no_reading_is_lost(job: Talk, door: Served) -> None:
    page = door.page()
    page.say(START[0])
    job.journal.fails = True
    page.say("20 1/2")
    assert "The disk is full. Free some space and say it again." in [line["text"] for line in page.lines]
    assert page.view["request"]["place"] == "top"
    job.journal.fails = False
    page.say("20 1/2")
    assert sum(isinstance(event, ev.Took) for event in job.events) == 1


def test_rubbish_is_refused_in_words_and_at_last_not_listened_to(door: Served) -> None:
    page = door.page()
    page.socket.send("rubbish")
    assert page.until("fault")["text"] == "that is not JSON"
    with pytest.raises(ConnectionClosed) as closed:
        _insist(page, '{"kind": "leave"}')
    assert closed.value.rcvd is not None and closed.value.rcvd.code == serving.FAULTY


@pytest.mark.parametrize("message", ['{"kind": "line", "n": 1, "text": ""}', bytes(60_000)])
def test_who_sends_too_fast_is_let_go(door: Served, message: str | bytes) -> None:
    page = door.page()
    page.until("role")
    with pytest.raises(ConnectionClosed) as closed:
        _insist(page, message)
    assert closed.value.rcvd is not None and closed.value.rcvd.code == serving.TOO_MUCH


def _insist(page: PlayedPage, message: str | bytes, times: int = 1000) -> None:
    """Send the same until one is sent away."""
    for _ in range(times):
        page.socket.send(message)
    page.until("never")


def test_a_page_that_takes_nothing_is_given_up(door: Served) -> None:
    seat = Seat("slow", 0)
    for _ in range(1000):
        seat.out.put({"kind": "beat"})
    assert seat.out.full and len(seat.out.waiting) <= 300


def test_a_job_that_was_left_is_told_to_every_page(job: Talk, door: Served) -> None:
    page = door.page()
    page.say("stop")
    assert page.view["over"] and not door.hub.ended.done()
    page.say("", "touch")
    end = time.monotonic() + PATIENCE
    while not door.hub.ended.done():
        assert time.monotonic() < end
        time.sleep(0.01)
    assert door.hub.ended.result() == 0 and isinstance(job.events[-1], ev.Stopped)
    door.loop.call_soon_threadsafe(door.hub.close, "The end.")
    assert page.until("end")["text"] == "The end."


def test_a_fault_of_the_program_ends_the_serving_and_says_so(job: Talk, door: Served) -> None:
    page = door.page()
    page.until("role")

    def fails(text: str, by: str = "typed") -> list[object]:
        raise ZeroDivisionError

    job.session.hear = fails  # type: ignore[method-assign, assignment]
    page.send(kind="say", id=1, words="x", by="typed", request=0)
    end = time.monotonic() + PATIENCE
    while not door.hub.ended.done():
        assert time.monotonic() < end
        time.sleep(0.01)
    assert door.hub.ended.result() == 3 and isinstance(door.hub.fault, ZeroDivisionError)
