"""What works where, through the real ear: rendered words, one or several places in one breath, and talk."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from states_said import DOORS, HEADS, SIDES, THREE

from guide.talk.answered import answered
from guide.talk.expect import Expect
from guide.voice.agree import agreed
from guide.voice.embedded.ear import Ear, swapped
from guide.voice.embedded.learned import wanted_weights
from guide.voice.embedded.meanings import alike
from guide.voice.hearing import Heard
from guide.voice.mouth import Speech, Voice
from guide.voice.wav import RATE, read_wav

LEAVES = ("active door", "inactive door")


class Listener:
    """The ear as it is in a job, and a voice that speaks to it."""

    def __init__(self, folder: Path) -> None:
        weights = wanted_weights()
        self._ear = Ear(weights.folder, trained=weights.trained)
        self._voice, self._file = Voice(), folder / "said.wav"

    def hears(self, words: str, places: tuple[str, ...]) -> tuple[Heard, Expect]:
        self._file.write_bytes(self._voice.make(Speech(((words, False),), 150, 1.0, "gmw/en-gb-x-rp")))
        quiet = np.zeros(RATE // 4, np.float32)
        expect = Expect(states=True, places=places)
        return self._ear.hear(np.concatenate([quiet, read_wav(self._file), quiet]), expect), expect


@pytest.fixture(scope="module")
def listener(tmp_path_factory: pytest.TempPathFactory) -> Listener:
    return Listener(tmp_path_factory.mktemp("sound"))


@pytest.mark.parametrize(
    ("words", "places"),
    [
        ("top works, middle binds, bottom works", THREE),
        ("yes at the top, no at the bottom", THREE),
        ("top and bottom work, middle binds", THREE),
        ("binds at the head", HEADS),
        ("left works, right sticks", DOORS),
        ("both doors swing free", DOORS),
        ("hinge side touches, lock side bulges", SIDES),
        ("top binds, the rest are fine", THREE),
    ],
)
def test_what_is_said_is_taken_at_its_places(listener: Listener, words: str, places: tuple[str, ...]) -> None:
    heard, expect = listener.hears(words, places)
    decision = agreed([heard], expect)
    assert decision.hearing is not None
    assert (decision.outcome, (decision.hearing.by_place,)) == ("taken", answered(words, places)), heard


@pytest.mark.parametrize(
    "words", ["pass me the bottom one would you", "did you see the game on sunday", "mind your head"]
)
def test_talk_is_not_taken(listener: Listener, words: str) -> None:
    for places in (THREE, HEADS):
        heard, expect = listener.hears(words, places)
        assert agreed([heard], expect).outcome == "none", heard


def test_a_place_that_sounds_like_another_is_held_against_it(listener: Listener) -> None:
    assert alike(LEAVES) == {"active": ("inactive",), "inactive": ("active",)}
    assert alike(("from inside", "from outside")) == {"inside": ("outside",), "outside": ("inside",)}
    assert not alike(THREE)
    assert swapped("The Active door works", alike(LEAVES)) == ["The inactive door works"]
    heard, _ = listener.hears("active door runs free", LEAVES)
    assert heard.hearings[0].by_place == (("active door", "yes"),)
    assert [answered(one.words, LEAVES) for one in heard.partners] == [((("inactive door", "yes"),),)]
