"""The trade's arithmetic in conversation: how many tubes, can two of us lift it, which hand is it, how long the screws.

What the job has read already is used, by the name of its figure; what is missing is asked for. Nothing here changes the
job.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from guide.job.figures import lookup
from guide.problems import ProblemError
from guide.procedure.worked import Missing, Name
from guide.quantity import Quantity, QuantityError, nearest, quantity
from guide.session.asks import numbered
from guide.session.forms import Field, Form, Values
from guide.session.job import Job
from guide.session.turns import Ask, Turn
from guide.talk.words import Expect, hear, settle
from guide.trade.answer import counted
from guide.trade.work import answer


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a computation: its key, the figure of a job that may hold it, and its unit or its options."""

    key: str
    figure: str = ""
    unit: str = "in"
    options: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """What a crew asks: the computation, what it needs, and what is taken as given."""

    work: str
    inputs: tuple[Input, ...]
    given: Mapping[str, object]


_SIDES = ("left", "right")

QUESTIONS: Mapping[str, Question] = {
    "how-many-tubes": Question("bed", (Input("sill", "opening_width"),), {}),
    "how-many-tubes-around": Question(
        "joint",
        (Input("width"), Input("opening_width", "opening_width"), Input("opening_height", "opening_height")),
        {},
    ),
    "how-much-foam": Question(
        "foam",
        (
            Input("width", "unit_width"),
            Input("height", "unit_height"),
            Input("gap"),
            Input("depth"),
            Input("can", unit="in3"),
        ),
        {},
    ),
    "can-we-lift": Question(
        "lift", (Input("load", "unit_weight", "lb"), Input("H"), Input("V"), Input("D")), {"people": 2}
    ),
    "which-hand": Question("hand", (Input("hinges", options=_SIDES), Input("opens", options=("in", "out"))), {}),
    "how-long-screws": Question("screws", (Input("frame", "jamb_thickness"), Input("shim", "shim_thickness")), {}),
    "wide-enough": Question(
        "doorway", (Input("clear_width", "clear_width"), Input("clear_height", "clear_height")), {}
    ),
    "step-outside": Question(
        "doorway",
        (Input("step_outside", "landing_outside"), Input("swings_over_landing", options=("yes", "no"))),
        {},
    ),
    "old-paint": Question(
        "paint",
        (
            Input("built", unit=""),
            Input("tested", options=("no", "lead", "free")),
            Input("inside", unit="ft2"),
            Input("outside", unit="ft2"),
        ),
        {},
    ),
}
"""What can be asked -> how it is answered. Hands out from the ankles, and the like, are asked for as well."""


class Works:
    """Answers from the trade's arithmetic, for one job."""

    def __init__(self, job: Job, remember: Callable[[Mapping[str, Any]], None]) -> None:
        self.job = job
        self.remember = remember
        """Keeps an answer, for when its working is asked for."""

    def ask(self, intent: str) -> Form | list[Turn]:
        """The answer, or the form that asks for what is missing."""
        question = QUESTIONS[intent]
        known = {one.key: value for one in question.inputs if (value := self._known(one)) is not None}
        fields = tuple(self._field(question, one) for one in question.inputs if one.key not in known)
        if not fields:
            return self._answered(question, known)
        return Form("work", fields, lambda values: self._answered(question, {**known, **values}))

    def _known(self, one: Input) -> str | None:
        if not one.figure:
            return None
        try:
            value = lookup(self.job.procedure, self.job.state)(Name(one.figure))
        except (Missing, QuantityError):
            return None
        return str(value) if value is not None else None

    def _field(self, question: Question, one: Input) -> Field:
        say = self.job.wording.say
        text = say(f"works.ask-{question.work}-{one.key.lower().replace('_', '-')}")
        if one.options:
            labels = tuple(say(f"works.option-{option}") for option in one.options)
            ask = Ask(
                f"{text} {numbered(labels, self.job.wording)}", "choice", "work", choices=one.options, labels=labels
            )
            return Field(one.key, lambda values: ask)

        def wrong(text: str, values: Values) -> str | None:
            return (
                None if _amount(text, one.unit) is not None else say("works.not-an-amount", example=_EXAMPLES[one.unit])
            )

        ask = Ask(text, "text", "work", unit=one.unit or None)
        return Field(one.key, lambda values: ask, wrong=wrong)

    def _answered(self, question: Question, values: Mapping[str, str]) -> list[Turn]:
        units = {one.key: one.unit for one in question.inputs if not one.options}
        amounts = {key: _amount(value, units[key]) or value if key in units else value for key, value in values.items()}
        data: dict[str, object] = {**question.given, **amounts}
        if question.work == "paint":
            areas = {where: str(data.pop(where)) for where in ("inside", "outside")}
            data["parts"] = [
                {"where": where, "area": area} for where, area in areas.items() if quantity(area).magnitude
            ]
        try:
            found = answer(question.work, data, lambda path: None)
        except ProblemError as fault:
            told = " ".join(f"{one.message}." for one in fault.problems)
            return [Turn("refused", told, {"why": "work", "legal": []})]
        self.remember(found)
        return [Turn("say", self._sentence(question.work, found), {"work": question.work, "result": found})]

    def _sentence(self, work: str, found: Mapping[str, Any]) -> str:
        """The answer in a sentence or two; the figures come from the computation."""
        say = self.job.wording.say
        if work == "lift":
            limit = f"{found['two_people']:g} {found['unit']}"
            ways = self.job.wording.join(found["ways"], last="or") if found["ways"] else ""
            first = say("works.lift-yes" if found["acceptable"] else "works.lift-no", limit=limit, ways=ways)
            return f"{first} {say('works.lift-not-covered')}"
        if work == "hand":
            return say("works.hand", hand=found["hand"], name=found["name"], din=found["din"])
        if work == "screws":
            length = found["length_stocked"] or found["length_needed"]
            shown = str(nearest(Quantity(Fraction(str(length)), "in"), "in", Fraction(1, 16))[0])
            return say("works.screws", length=shown, pilot=found["pilot_text"] or "-")
        if work == "doorway":
            key = {True: "works.meets", False: "works.meets-not", None: "works.meets-unsure"}
            told = [
                say(key[one["meets"]], topic=one["topic"].capitalize(), says=one["says"]) for one in found["findings"]
            ]
            return " ".join([*told, str(found["ask"])])
        if work == "paint":
            return " ".join(str(one) for one in found["working"])
        if work == "foam" and found["cans"] is None:
            return say("works.foam-no-can", volume=found["volume"], unit=found["unit"])
        feet = f"{found['feet']:.0f}" if "feet" in found else ""
        count = counted(found["cartridges"], "cartridge") if "cartridges" in found else counted(found["cans"], "can")
        return say(f"works.{work}", count=count, feet=feet, depth=found.get("depth", ""))


def _amount(text: str, unit: str) -> str | None:
    """The amount that words mean, exactly; None if they mean none, or more than one."""
    heard = hear(text, Expect(unit=unit or "", about="amount" if unit not in _LENGTHS else "length"))
    if len(heard) != 1:
        return None
    meaning = settle(heard[0], Expect(unit=unit or ""))
    return str(meaning.value) if meaning is not None else None


_LENGTHS = ("in", "ft", "mm", "cm", "m")
_EXAMPLES: Mapping[str, str] = {"in": "36 3/16", "lb": "120 pounds", "ft2": "7 square feet", "in3": "1000", "": "1962"}
