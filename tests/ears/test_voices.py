"""The voices of the evaluation: each is known to its synthesizer, and one that is not is an error."""

from __future__ import annotations

import numpy as np
import pytest
from ears.voices import VOICES, Voice

from guide.voice.wav import RATE

ESPEAK = [voice for voice in VOICES if voice.engine == "espeak"]


@pytest.mark.parametrize("voice", ESPEAK, ids=[voice.name for voice in ESPEAK])
def test_each_voice_speaks_with_its_own_sound(voice: Voice) -> None:
    said, other = voice.say("thirty six"), Voice("other", "report", "espeak", "en-us").say("thirty six")
    assert said is not None and other is not None and len(said) > RATE // 4
    assert len(said) != len(other) or not np.allclose(said, other)


def test_a_voice_that_is_not_known_never_speaks_with_another() -> None:
    with pytest.raises(ValueError, match="knows no voice 'en-gb\\+f2'"):
        Voice("nobody", "report", "espeak", "en-gb+f2").say("thirty six")
