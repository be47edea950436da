"""Every computation by name, for whoever asks without a job.

`works()` lists them, each with an example input; `answer(name, data, place_of)` runs one on plain data.
"""

from __future__ import annotations

from collections.abc import Mapping

from guide.problems import Problem, ProblemError, did_you_mean
from guide.trade import material_work, moves_work, opening_work, reading_work, unit_work
from guide.trade.answer import Work
from guide.trade.given import Given, PlaceOf

_WORKS: Mapping[str, Work] = {
    work.name: work
    for work in (
        *opening_work.WORKS,
        *reading_work.WORKS,
        *unit_work.WORKS,
        *moves_work.WORKS,
        *material_work.WORKS,
    )
}


def works() -> list[Work]:
    """Every computation, in the order of a job."""
    return list(_WORKS.values())


def answer(name: str, data: object, place_of: PlaceOf) -> dict[str, object]:
    """The answer of the computation `name` to the input `data`, as plain JSON data.

    `data` is what a YAML or JSON file holds, its values as text or as numbers; `place_of` gives the spot of a value,
    for the faults. Raises `ProblemError` with every fault of the input, or when there is no such computation.
    """
    work = _WORKS.get(name)
    if work is None:
        hint = did_you_mean(name, _WORKS) or f"There are: {', '.join(_WORKS)}."
        raise ProblemError([Problem("work-unknown", f'there is no computation "{name}"', hint=hint)])
    return work.answer(Given(data, place_of)).as_data(name)
