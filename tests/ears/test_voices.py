"""The voices of the evaluation: each is known to its synthesizer, and one that is not is an error."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from apart import apart
from ears.voices import VOICES, Floats, Voice

from guide.voice.wav import RATE

ESPEAK = [voice for voice in VOICES if voice.engine == "espeak"]


def each(voices: list[Voice]) -> list[Floats | None]:
    """The same words in every voice."""
    return [voice.say("thirty six") for voice in voices]


def test_each_voice_speaks_with_its_own_sound() -> None:
    said = apart(each, [*ESPEAK, Voice("other", "report", "espeak", "en-us")])
    assert all(one is not None and len(one) > RATE // 4 for one in said)
    for one, other in combinations(said, 2):
        assert one is not None and other is not None
        assert len(one) != len(other) or not np.allclose(one, other)


def test_a_voice_that_is_not_known_never_speaks_with_another() -> None:
    with pytest.raises(ValueError, match="knows no voice 'en-gb\\+f2'"):
        apart(each, [Voice("nobody", "report", "espeak", "en-gb+f2")])
