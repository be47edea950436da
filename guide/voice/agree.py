"""One decision from all ears: what the first decides, held against what the others heard.

Ears that err in different ways and agree are worth more than either's own certainty; ears that disagree are a question.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from guide.talk.expect import Expect
from guide.voice.decide import Decision, decide
from guide.voice.hearing import Heard, Hearing

CALIBRATED = frozenset({"embedded", "embedded-trained"})
"""Ears whose own certainty has been measured; what another hears alone is always asked about."""
CHOICES_MOST = 3


def agreed(by: Sequence[Heard], expect: Expect | None) -> Decision:
    """The decision on one utterance; nothing for no ears."""
    if not by:
        return Decision("none")
    decision = decide(by[0], expect)
    if decision.outcome != "taken" or decision.hearing is None:
        return decision
    others = [heard.hearings[0] for heard in by[1:] if heard.hearings]
    if all(_same(one, decision.hearing) for one in others) and (by[0].ear in CALIBRATED or others):
        return decision
    readings = [decision.hearing, *(one for one in others if one.kind == decision.hearing.kind)]
    choices = [*decision.choices, *readings]
    unlike = [one for at, one in enumerate(choices) if not any(_same(one, before) for before in choices[:at])]
    return replace(decision, outcome="asked", choices=tuple(unlike[:CHOICES_MOST]), doubts=("margin",))


def _same(one: Hearing, other: Hearing) -> bool:
    """Whether two hearings are the same readings."""
    said, heard = ((by.kind, by.answer, by.by_place, _amounts(by)) for by in (one, other))
    return said == heard


def _amounts(hearing: Hearing) -> list[tuple[str | None, str, int]]:
    return [(one.place, one.value, one.hair) for one in hearing.amounts]
