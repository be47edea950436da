"""What works where, through the real ear: rendered words, one or several places in one breath, and talk."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from states_said import DOORS, HEADS, SIDES, THREE

from guide.talk.answered import answered
from guide.talk.expect import Expect
from guide.talk.yes_no import yes_or_no
from guide.voice.agree import agreed
from guide.voice.embedded.ear import Ear, swapped
from guide.voice.embedded.learned import wanted_weights
from guide.voice.embedded.meanings import alike
from guide.voice.embedded.states import states_alike
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


SAID = (
    ("top works, middle binds, bottom works", THREE),
    ("yes at the top, no at the bottom", THREE),
    ("top and bottom work, middle binds", THREE),
    ("binds at the head", HEADS),
    ("won't throw at the latch", HEADS),
    ("left works, right sticks", DOORS),
    ("both doors swing free", DOORS),
    ("hinge side touches, lock side bulges", SIDES),
    ("top binds, the rest are fine", THREE),
)


def test_what_is_said_is_heard_at_its_places_and_what_is_sure_is_taken_unasked(listener: Listener) -> None:
    taken = []
    for words, places in SAID:
        heard, expect = listener.hears(words, places)
        decision = agreed([heard], expect)
        assert decision.hearing is not None and decision.outcome in ("taken", "asked"), heard
        assert (decision.hearing.by_place,) == answered(words, places), heard
        taken += [words] if decision.outcome == "taken" else []
    assert {"yes at the top, no at the bottom", "both doors swing free"} <= set(taken)


@pytest.mark.parametrize(
    "words", ["pass me the bottom one would you", "did you see the game on sunday", "mind your head"]
)
def test_talk_is_not_taken(listener: Listener, words: str) -> None:
    for places in (THREE, HEADS):
        heard, expect = listener.hears(words, places)
        assert agreed([heard], expect).outcome == "none", heard


def test_a_place_that_sounds_like_another_is_held_against_it(listener: Listener) -> None:
    assert alike(Expect(places=LEAVES)) == {"active": ("inactive",), "inactive": ("active",)}
    assert alike(Expect(places=("from inside", "from outside"))) == {"inside": ("outside",), "outside": ("inside",)}
    assert not alike(Expect(places=THREE)) and not alike(None)
    assert swapped("The Active door works", alike(Expect(places=LEAVES))) == ["The inactive door works"]
    heard, _ = listener.hears("active door runs free", LEAVES)
    assert heard.hearings[0].by_place == (("active door", "yes"),)
    assert [answered(one.words, LEAVES) for one in heard.partners] == [((("inactive door", "yes"),),)]


def test_what_works_that_sounds_like_what_does_not_is_held_against_it(listener: Listener) -> None:
    heard, _ = listener.hears("top runs, middle binds", THREE)
    assert heard.hearings[0].by_place == (("top", "yes"), ("middle", "no"))
    others = {answered(one.words, THREE)[0] for one in heard.partners}
    assert others == {(("top", "no"), ("middle", "no")), (("top", "yes"), ("middle", "yes"))}
    for one, (other,) in states_alike().items():
        assert {yes_or_no(one), yes_or_no(other)} == {"yes", "no"}
