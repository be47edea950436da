"""What was out, and what became of it: each check that was ever out, with its rounds, corrections and end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from guide.job import events as ev
from guide.report import words
from guide.report.found import Found, Given


@dataclass(frozen=True, slots=True)
class Story:
    """One check that was out at least once."""

    step: str
    out: tuple[Given, ...]
    """The readings that were out, in order."""
    did: tuple[str, ...]
    """What was said, done and decided, in order."""
    end: str
    """How the check stands now: good, accepted, still out, to be taken again."""


def stories(found: Found) -> list[Story]:
    """Every check that was out, in the order of the first time."""
    out: dict[str, list[Given]] = {}
    for one in found.given:
        if one.verdict == "out" and not one.again:
            out.setdefault(one.step, []).append(one)
    for entry in found.events(ev.Advised):
        assert isinstance(entry.event, ev.Advised)
        out.setdefault(entry.event.step, [])
    return [Story(step, tuple(given), tuple(_did(found, step)), _end(found, step)) for step, given in out.items()]


def _did(found: Found, step: str) -> Iterator[str]:
    """Corrections, moves and decisions about a check, in order."""
    one = found.procedure.set_of.get(step)
    together = one.checks if one is not None else (step,)
    advice = ""
    moved: list[str] = []
    for entry in found.entries:
        event = entry.event
        if isinstance(event, ev.Advised) and event.step == step:
            advice = " ".join(event.say)
        elif isinstance(event, ev.Adjusted) and event.move is None and event.step == step:
            yield f"Corrected: {advice}" if advice else "Corrected as advised."
        elif isinstance(event, ev.Adjusted | ev.MoveMade) and event.move is not None and event.step in together:
            moved.append(f"{event.move.point} {abs(event.move.by)} {event.move.direction}")
        elif isinstance(event, ev.Decided) and event.step == step:
            if moved:
                yield _moves(moved)
                moved = []
            yield decision(event)
        elif isinstance(event, ev.Corrected) and event.step == step and _put_right(found, event):
            amount = words.value(found.procedure, event.reading, event.value)
            yield f"The reading was mistaken: {amount}{f' at {event.place}' if event.place else ''}."
    if moved:
        yield _moves(moved)


def _moves(moved: list[str]) -> str:
    return f"Moved: {'; '.join(moved)}."


def _put_right(found: Found, event: ev.Corrected) -> bool:
    """Whether the correction alone brought a reading inside."""
    earlier = next((one for one in found.given if one.entry.seq == event.replaces), None)
    return earlier is not None and earlier.verdict == "out" and event.verdict != "out"


def decision(event: ev.Decided) -> str:
    """A lead's decision in words."""
    said = {
        "go on": "Decided to go on trying",
        "concede": "Accepted as it is",
        "stop": "Decided to stop",
        "stands": "Decided that it stands",
    }[event.decision]
    return f"{said} by {words.person(event.by)}{f': {event.reason}' if event.reason else ''}."


def _end(found: Found, step: str) -> str:
    spans = found.spans.get(step)
    if spans is None:
        return "left out of the job"
    standing = spans[-1].standing if spans and spans[-1].ends is None else None
    return {
        "fresh": "good",
        "conceded": "ACCEPTED AS IT IS",
        "out": "STILL OUT",
        "stale": "TO BE TAKEN AGAIN",
        None: "not finished",
    }[standing]
