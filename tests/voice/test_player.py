"""Playing: stopped at once, ended when the last sample is out, and a device that goes away is noticed."""

from __future__ import annotations

import pytest
from fakes import FakeSpeaker, Ticks

from guide.voice.sound import BLOCKS_BEHIND, LOST_AFTER, Player, SoundError


@pytest.fixture
def ticks() -> Ticks:
    return Ticks()


@pytest.fixture
def speaker() -> FakeSpeaker:
    return FakeSpeaker()


@pytest.fixture
def player(speaker: FakeSpeaker, ticks: Ticks) -> Player:
    return Player(speaker.open, ticks)


def test_every_sample_is_played_once_and_in_order(player: Player, speaker: FakeSpeaker) -> None:
    sound = bytes(range(250))
    player.play(sound, 1000)
    played = b"".join(speaker.pull(20) for _ in range(20))
    assert played == sound + bytes(len(played) - len(sound))


def test_it_ends_only_after_the_last_sample_was_heard(player: Player, speaker: FakeSpeaker) -> None:
    player.play(bytes(200), 1000)
    for _ in range(5 + BLOCKS_BEHIND):  # five blocks of sound, and those that are still on their way to the ear
        speaker.pull(20)
        assert player.look() is None and player.playing
    speaker.pull(20)
    speaker.pull(20)
    assert player.look() == "done"
    assert not player.playing and not speaker.running
    assert player.look() is None


def test_stop_is_at_once(player: Player, speaker: FakeSpeaker) -> None:
    player.play(bytes(10_000), 1000)
    speaker.pull(20)
    player.stop()
    assert not speaker.running and not player.playing
    assert player.look() is None


def test_a_second_piece_takes_the_place_of_the_first(player: Player, speaker: FakeSpeaker) -> None:
    player.play(b"\1\1" * 100, 1000)
    player.play(b"\2\2" * 100, 1000)
    assert speaker.pull(4) == b"\2\2" * 4
    assert speaker.opened == 1


def test_another_rate_opens_the_device_anew(player: Player, speaker: FakeSpeaker) -> None:
    player.play(bytes(10), 1000)
    player.play(bytes(10), 2000)
    assert (speaker.opened, speaker.rate) == (2, 2000)


def test_a_device_that_asks_for_nothing_more_is_lost(player: Player, speaker: FakeSpeaker, ticks: Ticks) -> None:
    player.play(bytes(10_000), 1000)
    speaker.pull(20)
    ticks.at += LOST_AFTER + 0.1
    assert player.look() == "lost"
    assert not player.playing
    player.play(bytes(10), 1000)
    assert speaker.opened == 2


def test_no_sound_card(player: Player, speaker: FakeSpeaker) -> None:
    speaker.there = False
    with pytest.raises(SoundError, match="no sound card"):
        player.play(bytes(10), 1000)
    assert not player.playing
    speaker.there = True
    player.play(bytes(10), 1000)
    assert player.playing
