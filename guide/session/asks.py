"""The job's request (`guide.job.request`) put into words and into an `Ask`, for every kind of want."""

from __future__ import annotations

from guide.job.events import Move
from guide.job.figures import Limits, fill, limits, lookup
from guide.job.request import Request
from guide.job.state import State
from guide.procedure.model import Procedure, Reading
from guide.procedure.worked import Missing, evaluate
from guide.quantity import Quantity, QuantityError
from guide.session.turns import Ask
from guide.talk.say import written
from guide.talk.wording import Wording
from guide.talk.words import Expect


def limits_now(procedure: Procedure, state: State, step: str) -> Limits:
    """The tolerance of a step as it can be worked out now; open where a figure is still missing."""
    one = procedure.steps[step]
    unit = procedure.readings[one.take].unit if one.take else "in"
    try:
        return limits(one.within, lookup(procedure, state), unit)
    except (Missing, QuantityError):
        return Limits()


def likely_now(procedure: Procedure, state: State, reading: Reading) -> Limits:
    """The range a reading is likely to lie in, as it can be worked out now."""
    try:
        return limits(reading.likely, lookup(procedure, state), reading.unit)
    except (Missing, QuantityError):
        return Limits()


def expect(procedure: Procedure, state: State, step: str) -> Expect:
    """What the reader of words is told to expect of the step's reading."""
    reading = procedure.readings[procedure.steps[step].take or ""]
    within, likely = limits_now(procedure, state, step), likely_now(procedure, state, reading)
    return Expect(
        unit=reading.unit,
        about=reading.about,
        sign=reading.sign,
        places=reading.places,
        low=within.low,
        high=within.high,
        likely_low=likely.low,
        likely_high=likely.high,
        metric=reading.unit in {"mm", "cm", "m"},
    )


def ask_reading(procedure: Procedure, state: State, want: Request, wording: Wording) -> Ask:
    """The ask for one place of a reading."""
    step = procedure.steps[want.step]
    reading = procedure.readings[want.reading]
    within = limits_now(procedure, state, step.name)
    likely = likely_now(procedure, state, reading)
    what = wording.say("ask.at-place", ask=reading.ask, place=want.place) if want.place else reading.ask
    if reading.over is not None:
        what = wording.say("ask.over", ask=what, over=str(reading.over))
    expects = reading.answer
    choices: tuple[str, ...] = tuple(reading.options)
    labels = tuple(reading.options.values())
    text = wording.say("ask.question", ask=what)
    if reading.answer == "choice":
        text += " " + numbered(labels, wording)
    elif reading.answer == "number":
        text += tolerance_words(within, wording)
    even = _even(procedure, state, want.step)
    if even is not None:
        text += " " + wording.say("ask.even", even=written(even))
    wanted = reading.good[0] if reading.good and reading.answer in ("yes-no", "choice") else None
    pair = (str(likely.low), str(likely.high)) if likely.low is not None and likely.high is not None else None
    return Ask(
        text,
        expects,
        about="reading",
        step=step.name,
        reading=reading.name,
        place=want.place or None,
        unit=reading.unit if reading.answer == "number" else None,
        low=str(within.low) if within.low is not None else None,
        high=str(within.high) if within.high is not None else None,
        likely=pair,
        sign=sign_words(reading, wording),
        choices=choices,
        labels=labels,
        wanted=wanted,
        round=want.round,
        instrument=reading.instrument,
        again=want.again,
        even=str(even) if even is not None else None,
    )


def _even(procedure: Procedure, state: State, step: str) -> Quantity | None:
    expression = procedure.steps[step].even
    try:
        return evaluate(expression, lookup(procedure, state)) if expression is not None else None
    except Missing:
        return None


def sign_words(reading: Reading, wording: Wording) -> str | None:
    """What + and - mean, in one line."""
    if reading.sign is None:
        return None
    return wording.say("ask.sign", plus=reading.sign.plus, minus=reading.sign.minus)


def tolerance_words(within: Limits, wording: Wording) -> str:
    """ " Good is ..." for a tolerance, or nothing."""
    low, high = within.low, within.high
    if low is not None and high is not None:
        if low == -high:
            return " " + wording.say("ask.good-either-way", limit=written(high))
        return " " + wording.say("ask.good-between", low=written(low), high=written(high))
    if high is not None:
        return " " + wording.say("ask.good-at-most", high=written(high))
    if low is not None:
        return " " + wording.say("ask.good-at-least", low=written(low))
    return ""


def numbered(labels: tuple[str, ...], wording: Wording) -> str:
    """Choices with their numbers, to be said and shown."""
    return " ".join(wording.say("ask.numbered", number=i, label=label) for i, label in enumerate(labels, 1))


def ask_choice(procedure: Procedure, want: Request, wording: Wording) -> Ask:
    """The ask for a choice made at the start of a job."""
    choice = procedure.choices[want.name]
    labels = tuple(choice.options.values())
    text = wording.say("ask.question", ask=choice.ask.rstrip("?")) + " " + numbered(labels, wording)
    return Ask(text, "choice", about="choice", step=want.name, choices=tuple(choice.options), labels=labels)


def step_words(procedure: Procedure, state: State, step: str) -> str:
    """What the step says, with its figures filled in."""
    return fill(procedure.steps[step].say, lookup(procedure, state))


def moves_left(procedure: Procedure, state: State, step: str) -> tuple[Move, ...]:
    """The moves of the step's set that are still to make, the next one first."""
    now = state.set_of(procedure, step)
    return now.left if now is not None else ()


def _ask_move(moves: tuple[Move, ...], want: Request, wording: Wording) -> Ask:
    """The ask for the next move of a plan."""
    more = len(moves) - 1
    text = wording.say("ask.move-last" if not more else "ask.move", move=moves[0].say, more=more)
    move = {"point": moves[0].point, "direction": moves[0].direction, "by": str(abs(moves[0].by)), "more": more}
    return Ask(text, "done", "move", want.step, want.reading or None, round=want.round, move=move)


def ask_step(procedure: Procedure, state: State, want: Request, wording: Wording) -> Ask:
    """The ask for everything about a step that is not a reading or a decision."""
    step = procedure.steps[want.step]
    if want.want == "cautions":
        return Ask(wording.say("ask.cautions"), "done", "cautions", step.name, round=want.round, again=want.again)
    if want.want == "crew":
        text = wording.say("ask.crew", count=step.crew)
        return Ask(text, "yes-no", "crew", step.name, wanted="yes", choices=("yes", "no"), round=want.round)
    if want.want == "adjust":
        moves = moves_left(procedure, state, step.name)
        if moves:
            return _ask_move(moves, want, wording)
        return Ask(wording.say("ask.adjust"), "done", "adjust", step.name, step.take, round=want.round)
    text = wording.say("ask.done-again") if want.again else wording.say("ask.done")
    return Ask(text, "done", "done", step.name, round=want.round, again=want.again)
