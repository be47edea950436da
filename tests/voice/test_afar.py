"""Mouth and ear of a device somewhere else: sound out, sound in, through the real processes and piece by piece."""

from __future__ import annotations

import base64
import queue
import threading
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fakes import Ticks

from guide.quantity import quantity
from guide.talk.expect import Expect
from guide.voice.afar import PATIENCE, PIECE, Afar, Fed, Sent
from guide.voice.attending import Utterance
from guide.voice.child import Message
from guide.voice.settings import Settings
from guide.voice.sound import LOST_AFTER, MOST_BLOCKS, Block
from guide.voice.speaking import Ended

WAIT = 60


def block(at: float = 0.0, lost: bool = False, samples: bytes = b"\1\0") -> dict[str, object]:
    return {"kind": "sound", "data": base64.b64encode(samples).decode(), "rate": 48_000, "at": at, "lost": lost}


def test_sound_that_is_handed_over_comes_in_order_and_gaps_are_told() -> None:
    ticks = Ticks()
    fed = Fed(ticks)
    assert not fed.lost and fed.take() == []
    fed.put(block(1.0))
    fed.put(block(2.0, lost=True))
    assert fed.take() == [Block(b"\1\0", 48_000, 1.0, False), Block(b"\1\0", 48_000, 2.0, True)]
    ticks.at += LOST_AFTER + 0.1
    assert not fed.lost, "an ear that was busy all the while has not looked yet"
    assert fed.take() == [] and fed.lost and not fed.reopen()
    fed.put(block(3.0))
    assert [one.lost for one in fed.take()] == [True] and not fed.lost


def test_sound_that_nobody_takes_does_not_grow() -> None:
    fed = Fed(Ticks())
    for number in range(MOST_BLOCKS + 10):
        fed.put(block(float(number)))
    assert len(fed.take()) == MOST_BLOCKS
    fed.put(block())
    fed.put(block())
    assert [one.lost for one in fed.take()] == [True, False]


class Written:
    """A channel that writes down what is sent."""

    def __init__(self) -> None:
        self.sent: list[dict[str, Any]] = []

    def send(self, kind: str, **data: object) -> None:
        self.sent.append({"kind": kind, **data})


def test_a_speech_goes_out_in_pieces_and_ends_when_it_was_played() -> None:
    channel, ticks = Written(), Ticks()
    sent = Sent(channel, ticks)  # type: ignore[arg-type]
    samples = bytes(PIECE + 100)
    sent.play(samples, 22_050)
    assert b"".join(base64.b64decode(one["data"]) for one in channel.sent) == samples
    assert [one["last"] for one in channel.sent] == [False, True] and channel.sent[0]["id"] == 1
    assert sent.look() is None
    sent.played({"id": 7, "how": "done"})
    assert sent.look() is None
    sent.played({"id": 1, "how": "done"})
    assert sent.look() == "done" and sent.look() is None


def test_a_speech_that_nobody_reports_is_given_up_and_one_cut_short_is_quiet() -> None:
    channel, ticks = Written(), Ticks()
    sent = Sent(channel, ticks)  # type: ignore[arg-type]
    sent.stop()
    assert channel.sent == []
    sent.play(bytes(22_050 * 2), 22_050)
    ticks.at += 1 + PATIENCE - 0.1
    assert sent.look() is None
    ticks.at += 0.2
    assert sent.look() == "hushed"
    sent.play(b"\0\0", 22_050)
    sent.stop()
    assert channel.sent[-1] == {"kind": "quiet"} and sent.look() is None


@pytest.mark.parametrize(("samples", "rate"), [(b"\0", 16_000), (b"\0\0", 0), (b"\0\0", 10**9)])
def test_what_is_no_sound_is_refused(samples: bytes, rate: int) -> None:
    with pytest.raises(ValueError, match="are no sound"):
        Afar(Settings(), lambda message: None).sound(samples, rate)


def test_what_the_mouth_says_is_played_elsewhere_and_sound_from_there_is_heard(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GUIDE_CACHE", str(tmp_path))
    pieces: queue.Queue[Message] = queue.Queue()
    told_of: list[Any] = []
    afar = Afar(Settings(rate=140, voice="gmw/en-gb-x-rp"), pieces.put)
    assert not afar.say("before there is a loudspeaker")
    afar.begin()
    afar.loud = True
    try:
        end = time.monotonic() + WAIT
        while not afar._attending._supervisor.up:
            assert time.monotonic() < end
            time.sleep(0.05)
        afar.expect(Expect(likely_low=quantity("10 in"), likely_high=quantity("40 in")), {})
        assert afar.say("twenty and three eighths")
        piece = pieces.get(timeout=WAIT)
        samples, rate = base64.b64decode(str(piece["data"])), int(str(piece["rate"]))
        assert piece["last"] and afar.speaking
        quiet = np.zeros(rate, np.int16).tobytes()
        size = 2 * round(0.04 * rate)
        _feed(afar, samples + quiet, rate, size)  # what the device hears of its own mouth
        afar.played(int(str(piece["id"])), "done")
        told = _until(afar, Ended, told_of)
        assert told.how == "done" and not afar.speaking

        time.sleep(0.5)  # behind the tail of the mouth
        feeding = threading.Thread(target=_feed, args=(afar, quiet + samples + quiet + quiet, rate, size))
        feeding.start()
        heard = _until(afar, Utterance, told_of)
        feeding.join()
        assert heard.cut == "" and heard.by[0].hearings[0].written() == "20 3/8 in"
        told_of += afar.inbox.take()
        assert [one for one in told_of if isinstance(one, Utterance)] == [heard], "its own mouth was heard"
    finally:
        afar.stop()


def _feed(afar: Afar, sound: bytes, rate: int, size: int) -> None:
    for at in range(0, len(sound), size):
        afar.sound(sound[at : at + size], rate)
        time.sleep(0.02)


def _until(afar: Afar, kind: type[Any], told_of: list[Any]) -> Any:
    """The next of a kind that is told; all that is told is kept."""
    end = time.monotonic() + WAIT
    while time.monotonic() < end:
        new = afar.inbox.take()
        told_of += new
        if found := [told for told in new if isinstance(told, kind)]:
            return found[0]
        time.sleep(0.02)
    raise AssertionError(f"no {kind.__name__} came")
