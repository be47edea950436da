"""What a step expects, as JSON values and back: the ear's process is told it so."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from guide.procedure.model import Sign
from guide.quantity import Quantity, quantity
from guide.talk.expect import Expect

_AMOUNTS = ("low", "high", "likely_low", "likely_high")


def expect_data(expect: Expect) -> dict[str, Any]:
    """An expectation as JSON values."""
    sign = expect.sign
    data: dict[str, Any] = {
        "unit": expect.unit,
        "about": expect.about,
        "sign": [sign.plus, sign.minus, list(sign.toward), list(sign.away)] if sign else None,
        "places": list(expect.places),
        "metric": expect.metric,
        "answers": [list(pair) for pair in expect.answers],
        "states": expect.states,
    }
    for name in _AMOUNTS:
        amount: Quantity | None = getattr(expect, name)
        data[name] = str(amount) if amount is not None else None
    return data


def expect_from(data: Mapping[str, Any]) -> Expect:
    """Back from JSON values; raises `KeyError`, `TypeError` or `ValueError` on anything else."""
    sign = data["sign"]
    return Expect(
        unit=data["unit"],
        about=data["about"],
        sign=Sign(sign[0], sign[1], tuple(sign[2]), tuple(sign[3])) if sign else None,
        places=tuple(data["places"]),
        metric=data["metric"],
        answers=tuple((str(said), str(stands_for)) for said, stands_for in data["answers"]),
        states=data["states"],
        **{name: quantity(data[name]) if data[name] is not None else None for name in _AMOUNTS},
    )
