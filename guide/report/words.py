"""Amounts, limits, times, names and ways of hearing in the words of a report."""

from __future__ import annotations

from datetime import datetime, timedelta
from fractions import Fraction

from guide.job import events as ev
from guide.procedure.model import Procedure, Reading
from guide.quantity import Quantity
from guide.report.found import Found, Given
from guide.report.sureness import expanded
from guide.talk.say import written

_BY = {"typed": "typed", "voice": "heard", "touch": "touched"}
_CONFIRMED = {
    "yes": "confirmed with yes",
    "choice": "chosen from a list",
    "side": "its side asked",
    "again": "said again",
}


def value(procedure: Procedure, reading: str, amount: ev.Value) -> str:
    """A reading's value as the trade writes it, its side in words; a choice in its own words."""
    kind = procedure.readings[reading]
    if isinstance(amount, Quantity):
        return written(amount, kind.about, kind.sign)
    return kind.options.get(amount, amount)


def limits(procedure: Procedure, one: Given) -> str:
    """The tolerance a reading was held to; "" where nothing was judged."""
    low, high = one.low, one.high
    if low is not None and high is not None:
        if low == -high:
            return f"within {high} either way"
        return f"{low} to {high}"
    if low is not None or high is not None:
        return f"at least {low}" if low is not None else f"at most {high}"
    return " or ".join(procedure.readings[one.reading].options.get(word, word) for word in _good(procedure, one))


def instrument(reading: Reading, amount: ev.Value) -> str:
    """What a reading was taken with, and how far that may be off, where the record says enough to know."""
    off = expanded(reading, amount)
    name = reading.instrument or ""
    return f"{name} (± {off:.2g} in)" if off is not None else name


def _good(procedure: Procedure, one: Given) -> tuple[str, ...]:
    return procedure.readings[one.reading].good


def verdict(one: Given) -> str:
    """The verdict in a word, the one not to miss in capitals."""
    said = {"good": "good", "out": "OUT", "noted": "noted"}[one.verdict]
    return f"{said}, replaced" if one.replaced is not None else said


def heard(given: ev.Heard, surprising: bool = False) -> str:
    """How a value was given and confirmed."""
    parts = [f"{_BY[given.by]} “{given.said}”" if given.said else _BY[given.by]]
    if given.confidence is not None:
        parts.append(f"confidence {_share(given.confidence)}")
    if given.others:
        parts.append("may have been " + " or ".join(f"“{other}”" for other in given.others))
    if given.unsure:
        parts.append("said with a doubt")
    if given.hair:
        parts.append("a hair over" if given.hair > 0 else "a hair under")
    if given.confirmed:
        parts.append(_CONFIRMED[given.confirmed])
    if surprising:
        parts.append("outside the usual, and confirmed")
    return "; ".join(parts)


def _share(text: str) -> str:
    try:
        return f"{round(float(Fraction(text)), 2):g}"
    except (ValueError, ZeroDivisionError, OverflowError):
        return text


def named(step: str) -> str:
    """The name of a step as words."""
    text = step.replace("-", " ").replace("_", " ")
    return text[:1].upper() + text[1:]


def at_place(ask: str, place: str) -> str:
    """A reading with its place."""
    return f"{ask}, {place}" if place else ask


def person(by: ev.Person) -> str:
    """A person with role and how the name was proved."""
    role = "" if by.role == "crew" else f", {by.role}"
    return f"{by.name}{role} ({'proved with a PIN' if by.proof == 'pin' else 'name claimed'})"


def clock(at: datetime) -> str:
    """A time to the minute, with its offset."""
    return f"{at:%Y-%m-%d %H:%M} {at:%z}".strip()


def hour(found: Found, at: datetime) -> str:
    """A time of the job: the day too, where the job took several."""
    return f"{at:%H:%M:%S}" if found.began.date() == found.ended.date() else f"{at:%m-%d %H:%M:%S}"


def span(time: timedelta) -> str:
    """How long something took."""
    minutes = round(time.total_seconds() / 60)
    days, rest = divmod(minutes, 24 * 60)
    hours, rest = divmod(rest, 60)
    parts = [f"{count} {unit}" for count, unit in ((days, "d"), (hours, "h"), (rest, "min")) if count]
    return " ".join(parts) or "under a minute"
