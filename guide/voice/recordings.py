"""Recordings heard as in a job where a reading is asked for: one line, or one JSON object, a file."""

from __future__ import annotations

import json
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TextIO

from guide.problems import Problem, ProblemError, render, visible
from guide.quantity import QuantityError, quantity
from guide.talk.expect import Expect
from guide.voice.agree import agreed
from guide.voice.decide import Decision
from guide.voice.ear import load_ears
from guide.voice.hearing import Heard, Hearing
from guide.voice.wav import read_wav

_METRIC = frozenset({"mm", "cm", "m"})


def expectation(text: str) -> Expect:
    """What "72 in to 75 in" tells to expect: a length in that unit, likely between the two; raises `ProblemError`."""
    low_text, link, high_text = text.partition(" to ")
    try:
        low, high = quantity(low_text.strip()), quantity(high_text.strip())
        if not link or not low.unit or low.dimension != high.dimension or low > high:
            raise QuantityError("is no range")
    except QuantityError as error:
        message = f'--expect "{visible(text)}": not a range of amounts with units'
        raise ProblemError(
            [Problem("expect", message, hint='write it as "72 in to 75 in" or "900 mm to 930 mm"')]
        ) from error
    return Expect(unit=low.unit, likely_low=low, likely_high=high, metric=low.unit in _METRIC)


def hear_files(paths: Sequence[Path], expect: Expect, as_json: bool, out: TextIO, err: TextIO) -> int:
    """Hear each recording and write what came of it.

    Returns how many could not be read; raises `ProblemError` when there is no ear.
    """
    ears, missing = load_ears()
    for one in missing:
        print(one, file=err)
    unread = 0
    for path in paths:
        started = time.perf_counter()
        try:
            samples = read_wav(path)
        except ProblemError as fault:
            unread += 1
            for problem in fault.problems:
                print(render(problem), file=err)
            if as_json:
                print(json.dumps(_line(path, None, None, started, fault.problems[0].message)), file=out, flush=True)
            continue
        by = [ear.hear(samples, expect, None, False) for ear in ears]
        heard, decision = by[0], agreed(by, expect)
        if as_json:
            print(json.dumps(_line(path, heard, decision, started)), file=out, flush=True)
        else:
            print(f"{path}: {_told(heard, decision)}", file=out, flush=True)
    return unread


def _line(
    path: Path, heard: Heard | None, decision: Decision | None, started: float, error: str | None = None
) -> dict[str, object]:
    """One file's JSON object."""
    first = decision.hearing if decision is not None else None
    taken = first if decision is not None and decision.outcome == "taken" else None
    outcome = "none" if decision is None or decision.outcome == "again" else decision.outcome
    line: dict[str, object] = {
        "file": str(path),
        "outcome": outcome,
        **_pair(taken),
        "choices": [_pair(one) for one in decision.choices] if decision is not None else [],
        "command": first.command if first is not None and outcome in ("command", "asked") else None,
        "heard": first.words if first is not None else heard.free if heard is not None else "",
        "ms": round(1000 * (time.perf_counter() - started)),
    }
    return {**line, "error": error} if error else line


def _pair(hearing: Hearing | None) -> dict[str, object]:
    """A value, and its exact size in inches; of several readings, all values and no one size."""
    if hearing is None or not hearing.amounts:
        return {"value": None, "inches": None}
    sizes = [one.inches for one in hearing.amounts]
    return {"value": hearing.written(), "inches": str(sizes[0]) if len(sizes) == 1 and sizes[0] is not None else None}


def _told(heard: Heard, decision: Decision) -> str:
    first = decision.hearing
    if decision.outcome == "taken" and first is not None:
        return f'{first.written()} (heard "{first.words}")'
    if decision.outcome == "command" and first is not None:
        return f'the command "{first.command}" (heard "{first.words}")'
    why = f" ({', '.join(decision.doubts)})" if decision.doubts else ""
    if decision.outcome == "asked" and decision.choices:
        return f"which of these: {' · '.join(one.written() for one in decision.choices)}?{why}"
    if decision.outcome == "asked" and first is not None:
        return f'did you mean "{first.words}"?{why}'
    return f'nothing for the guide{why}; it sounds like "{heard.free}"'
