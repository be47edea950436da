"""The sentences that what works where is measured with: each is read as it was meant, and talk names none."""

from __future__ import annotations

import random

from ears.states import Said, sentences, verdict

from guide.talk.answered import ASKED, answered
from guide.voice.hearing import Heard, Hearing

PLACES = ("top", "middle", "bottom")


def test_each_sentence_is_read_as_it_was_meant_and_talk_names_no_place() -> None:
    for said in sentences(random.Random(11), 600):
        meant = tuple((place, said.meant[place]) for place in said.places if place in said.meant)
        found = answered(said.text, said.places)
        assert found == (meant,) if meant else {place for way in found for place, _ in way} <= {ASKED}, said


def heard(*by_place: tuple[str, str], garbage: float = 0.0) -> Heard:
    first = Hearing("answer", "so", 1.0, -1.0, answer="no", by_place=by_place)
    return Heard("embedded", (first,), garbage, "", 2.0, 1)


def test_what_came_of_a_clip() -> None:
    said, talk = Said("so", PLACES, {"top": "yes", "middle": "no"}), Said("so", PLACES, {})
    assert verdict(heard(("top", "yes"), ("middle", "no")), said) == "right"
    assert verdict(heard(("middle", "no")), said) == "part"
    for wrong in (heard(("top", "no"), ("middle", "no")), heard(("top", "yes"), ("bottom", "no")), heard()):
        assert verdict(wrong, said) == "wrong"
    assert verdict(heard(("top", "yes")), talk) == "wrong"
    assert verdict(heard(("top", "yes"), garbage=7.5), said) == "asked"
    assert verdict(heard(("top", "yes"), garbage=99.0), talk) == "none"
