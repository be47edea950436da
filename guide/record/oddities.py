"""What in a record looks made up: pointed at with its lines, without accusing anybody.

Each has an innocent cause as well (readings taken first and typed in together, an instrument that was never set, a
clock put right), so nothing here changes a verdict: it says where to ask. The thresholds are common practice.
Times say nothing on a pretended clock, and are left out there.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from types import MappingProxyType

from guide.job import events as ev
from guide.procedure.model import SIGNED, Procedure, Reading
from guide.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Threshold:
    """A figure from which on something is pointed at, and where it comes from."""

    value: int
    what: str
    standing: str = "common practice"


THRESHOLDS: Mapping[str, Threshold] = MappingProxyType(
    {
        "seconds": Threshold(3, "seconds that a reading with a tape, a level or a gauge takes at least"),
        "together": Threshold(5, "readings in a row, in whole rounds, that are looked at together for their time"),
        "zeros": Threshold(4, "readings of one kind with a side that are all exactly zero"),
        "same": Threshold(6, "readings of one kind that are all the same"),
        "wordless": Threshold(3, "notes in the place of a number"),
        "yes": Threshold(10, "questions in a row answered yes, each at once"),
        "at-once": Threshold(1, "an answer at once, in seconds"),
        "silent": Threshold(12, "hours without an event, and without a stop or a wait"),
    }
)


@dataclass(frozen=True, slots=True)
class Oddity:
    """One thing to ask about: a stable code, a sentence, and the numbers of the entries."""

    code: str
    text: str
    entries: tuple[int, ...]

    def as_data(self) -> dict[str, object]:
        """It as plain JSON data."""
        return {"code": self.code, "text": self.text, "entries": list(self.entries)}


def oddities(procedure: Procedure, entries: Sequence[ev.Entry]) -> list[Oddity]:
    """Everything in a job's entries that looks made up, in the order of the record for each kind."""
    timed = _on_a_real_clock(entries)
    return [
        *_too_fast(timed),
        *_yes_at_once(procedure, timed),
        *_clock(timed),
        *_without_variety(procedure, entries),
        *_wordless(procedure, entries),
        *_claimed(entries),
    ]


def _on_a_real_clock(entries: Sequence[ev.Entry]) -> list[ev.Entry]:
    """The entries whose times mean something."""
    if any(isinstance(entry.event, ev.Started) and entry.event.pretended for entry in entries[:1]):
        return []
    until = next((i for i, entry in enumerate(entries) if isinstance(entry.event, ev.Pretended)), len(entries))
    return list(entries[:until])


def _too_fast(entries: Sequence[ev.Entry]) -> Iterator[Oddity]:
    """Rounds of readings that follow each other, given faster than they can be taken.

    The time of a round runs from the entry before it: its readings may be taken first, and then said in one breath.
    """
    many, least = THRESHOLDS["together"].value, timedelta(seconds=THRESHOLDS["seconds"].value)
    rounds = list(_rounds(entries))
    run: list[int] = []
    for first in range(len(rounds)):
        window: list[int] = []
        for one in rounds[first:]:
            window += one
            if len(window) >= many:
                break
        took = entries[window[-1]].at - entries[max(0, window[0] - 1)].at
        if len(window) < many or not timedelta(0) <= took < least * len(window):
            continue
        if run and window[0] > run[-1]:
            yield _fast(entries, run)
            run = []
        run += [one for one in window if not run or one > run[-1]]
    if run:
        yield _fast(entries, run)


def _rounds(entries: Sequence[ev.Entry]) -> Iterator[list[int]]:
    """Where the numbers of each round of a check stand."""
    last: tuple[str, int] | None = None
    group: list[int] = []
    for i, entry in enumerate(entries):
        event = entry.event
        if not isinstance(event, ev.Took | ev.Corrected | ev.Repeated) or not isinstance(event.value, Quantity):
            continue
        key = (event.step, event.round if not isinstance(event, ev.Repeated) else 0)
        if group and key != last:
            yield group
            group = []
        last = key
        group.append(i)
    if group:
        yield group


def _fast(entries: Sequence[ev.Entry], run: Sequence[int]) -> Oddity:
    seconds = (entries[run[-1]].at - entries[max(0, run[0] - 1)].at).total_seconds()
    text = (
        f"{len(run)} readings were given in {seconds:.0f} s; taking them needs about "
        f"{len(run) * THRESHOLDS['seconds'].value} s. They may have been taken before, and read out together."
    )
    return Oddity("too-fast", text, tuple(entries[i].seq for i in run))


def _yes_at_once(procedure: Procedure, entries: Sequence[ev.Entry]) -> Iterator[Oddity]:
    """Questions answered yes, one after the other, each faster than anybody looks."""
    run: list[int] = []
    for before, entry in pairwise(entries):
        event = entry.event
        if not isinstance(event, ev.Took):
            continue
        asked = procedure.readings[event.reading].answer == "yes-no"
        quick = timedelta(0) <= entry.at - before.at <= timedelta(seconds=THRESHOLDS["at-once"].value)
        if asked and event.value == "yes" and quick:
            run.append(entry.seq)
            continue
        yield from _yes(run)
        run = []
    yield from _yes(run)


def _yes(run: Sequence[int]) -> Iterator[Oddity]:
    if len(run) >= THRESHOLDS["yes"].value:
        text = f"{len(run)} questions in a row were answered yes, each within a second of being asked."
        yield Oddity("yes-at-once", text, tuple(run))


def _clock(entries: Sequence[ev.Entry]) -> Iterator[Oddity]:
    most = timedelta(hours=THRESHOLDS["silent"].value)
    for before, entry in pairwise(entries):
        going_on = isinstance(before.event, ev.Stopped) or isinstance(entry.event, ev.Resumed | ev.WaitOver)
        if isinstance(entry.event, ev.ClockBack):
            back = entry.event.was - entry.at
            yield Oddity("clock-back", f"The machine's clock went back by {_span(back)}.", (entry.seq,))
        elif entry.at - before.at > most and not going_on:
            text = f"Nothing happened for {_span(entry.at - before.at)}, without a stop: the clock may have jumped."
            yield Oddity("clock-jump", text, (before.seq, entry.seq))


def _span(time: timedelta) -> str:
    minutes = round(time.total_seconds() / 60)
    if minutes < 1:
        return f"{time.total_seconds():.0f} s"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if hours else f"{minutes} min"


def _without_variety(procedure: Procedure, entries: Sequence[ev.Entry]) -> Iterator[Oddity]:
    """Readings of one kind that are all exactly zero, or all the same."""
    found: dict[str, list[tuple[int, Quantity]]] = defaultdict(list)
    for entry in entries:
        event = entry.event
        if isinstance(event, ev.Took | ev.Corrected) and isinstance(event.value, Quantity):
            found[event.reading].append((entry.seq, event.value))
    for name, taken in found.items():
        reading, values, seqs = procedure.readings[name], {value for _, value in taken}, tuple(seq for seq, _ in taken)
        if len(values) > 1:
            continue
        (value,) = values
        if not value and _has_side(reading) and len(taken) >= THRESHOLDS["zeros"].value:
            yield Oddity("all-zero", f"{reading.ask}: all {len(taken)} readings are exactly zero.", seqs)
        elif value and len(taken) >= THRESHOLDS["same"].value:
            yield Oddity("all-the-same", f"{reading.ask}: all {len(taken)} readings are {value}.", seqs)


def _has_side(reading: Reading) -> bool:
    return reading.about in SIGNED


def _wordless(procedure: Procedure, entries: Iterable[ev.Entry]) -> Iterator[Oddity]:
    """Words such as "good" where a number was asked for."""
    seqs = []
    for entry in entries:
        event = entry.event
        if isinstance(event, ev.Noted) and event.step in procedure.steps:
            take = procedure.steps[event.step].take
            asked = take is not None and procedure.readings[take].answer == "number"
            if asked and not any(char.isdigit() for char in event.text):
                seqs.append(entry.seq)
    if len(seqs) >= THRESHOLDS["wordless"].value:
        yield Oddity("no-number", f"{len(seqs)} times words were given where a number was asked for.", tuple(seqs))


def _claimed(entries: Iterable[ev.Entry]) -> Iterator[Oddity]:
    """Decisions of a lead or an inspector whose name was typed and not proved with a PIN."""
    found: dict[tuple[str, str], list[int]] = defaultdict(list)
    for entry in entries:
        event = entry.event
        by = event.by if isinstance(event, ev.Looked | ev.Decided | ev.AllClear | ev.Chosen) else None
        if by is not None and by.role != "crew" and by.proof == "claimed":
            found[by.name, by.role].append(entry.seq)
    for (name, role), seqs in found.items():
        times = "once" if len(seqs) == 1 else f"{len(seqs)} times"
        text = f"{name} decided as {role} {times} by name alone: no PIN proves that it was {name}."
        yield Oddity("claimed", text, tuple(seqs))
