"""The opening of a job, surveyed as its readings come in: the reading to take again, what fits, how thick the shims.

Nothing here decides anything in the job. Before a step begins that takes no reading of the opening or the unit, the
readings so far are surveyed; a reading that noise can't explain is asked for once more, then what the opening leaves
and whether the unit fits is told, each once for the readings it came from.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from guide.job.request import Request
from guide.problems import ProblemError
from guide.procedure.model import Reading
from guide.quantity import Quantity, nearest
from guide.session.asks import ask_reading
from guide.session.forms import Field, Form, Values
from guide.session.job import Job
from guide.session.measured import Measured, measured, relying, takes_opening
from guide.session.readings import Readings
from guide.session.turns import Ask, Turn
from guide.talk.answers import Spot
from guide.talk.say import written
from guide.trade import opening, work
from guide.trade.decision import BLUNDER
from guide.trade.sizing import RULES, SIDES

TAKE_AGAIN = "take-again"
"""The kind of the form that asks for a reading once more."""

SHOWN = Fraction(1, 16)
AGAIN_MOST = 2
"""How often one place is asked for again, whatever it comes to."""

IN_A_ROW = 3
"""How many places are asked for again while all of them come out the same."""

_WORD = re.compile(r"[a-z]+")
_IDLE = frozenset(["the", "a", "an", "at", "of", "in", "on", "to", "behind", "side", "shim", "shims", "point", "one"])

Found = Mapping[str, Any]


class OpeningTalk:
    """Tells of the opening of one job, and answers about it."""

    def __init__(self, job: Job, readings: Readings, open_form: Callable[[Form], list[Turn]]) -> None:
        self.job = job
        self.readings = readings
        self.open_form = open_form
        self.say = job.wording.say
        self._asked: list[tuple[Spot, str]] = []
        self._waiting = False
        """A reading was asked for again, and has not been given yet."""
        self._why = ""
        self._told = ""
        self._last: Found | None = None
        self._settled: set[tuple[Spot, str]] = set()
        """Places with values that are not asked for again: the job went on with them."""
        self._seen: dict[tuple[str, str], str] = {}
        if any(job.state.steps[step].begun for step in relying(job.procedure)):
            now = self._now()
            self._seen = now.values
            self._settle(now.spots.values())

    def _now(self) -> Measured:
        return measured(self.job.procedure, self.job.state)

    # Unasked

    def before(self, step: str) -> list[Turn]:
        """What is to be said before the step begins; opens a form where a reading is to be taken again."""
        if takes_opening(self.job.procedure, step):
            return []
        now = self._now()
        if not now.spots or now.values == self._seen:
            return []
        found = self._worked("survey", now)
        if found is None:
            self._seen = now.values
            return self._fault(now)
        doubted = [(now.spots[name], name) for name in _doubted(found) if name in now.spots]
        if self._waiting:
            self._waiting = False
            self._settle(spot for spot, _ in doubted)
        stood = sum(value == self._value(spot) for spot, value in self._asked)
        for spot, name in doubted if stood < IN_A_ROW else ():
            if self._may_ask(spot):
                self._asked.append((spot, self._value(spot)))
                self._waiting = True
                return self.open_form(self._again(spot, name, found))
        self._seen = now.values
        return self._brief(now, found)

    def _settle(self, spots: Iterable[Spot]) -> None:
        self._settled |= {(spot, self._value(spot)) for spot in spots}

    def _may_ask(self, spot: Spot) -> bool:
        asked, value = [value for other, value in self._asked if other == spot], self._value(spot)
        return len(asked) < AGAIN_MOST and value not in asked and (spot, value) not in self._settled

    def _value(self, spot: Spot) -> str:
        return str(self.job.state.steps[spot.step].last[spot.place].value)

    def _reading(self, spot: Spot) -> Reading:
        return self.job.procedure.readings[self.job.procedure.steps[spot.step].take or ""]

    def _again(self, spot: Spot, name: str, found: Found) -> Form:
        """The form for a reading that is taken again."""
        reading = self._reading(spot)
        want = Request("reading", spot.step, reading.name, spot.place, self.job.state.steps[spot.step].round, True)
        ask = ask_reading(self.job.procedure, self.job.state, want, self.job.wording)
        what = self.say("ask.at-place", ask=reading.ask, place=spot.place) if spot.place else reading.ask
        first = self._doubt_words(found, what) if name == found["take_again"] else self.say("opening.or-this")
        self._why = self.say(
            "opening.why", doubt=self._doubt_words(found, _capital(opening.NAMES[found["take_again"]]))
        )
        ask = replace(ask, text=f"{first} {self.say('opening.again', what=what)}", about=TAKE_AGAIN)

        def asked(values: Values) -> Ask:
            return ask

        def wrong(text: str, values: Values) -> str | None:
            return None if self.readings.is_reading(spot, text) else self.say("opening.again", what=what)

        def finish(values: Values) -> list[Turn]:
            self._waiting = False
            by = "typed" if self.readings.spoken is None else "voice"
            return self.readings.take_again(spot, values["again"], by)

        return Form(TAKE_AGAIN, (Field("again", asked, wrong=wrong),), finish)

    def why(self) -> str | None:
        """Why a reading is asked for again, while it is."""
        return self._why if self._waiting else None

    def _doubt_words(self, found: Found, what: str) -> str:
        off = found["off_by"]
        key = "opening.too-much" if off > 0 else "opening.too-little"
        told = [self.say(key, what=what, by=_inches(abs(off)))]
        told += [self.say("opening.perhaps", why=why) for why in found["why"][:1]]
        return " ".join(told)

    def _fault(self, now: Measured) -> list[Turn]:
        """Figures of which no opening can be made: what is wrong with them, in a sentence each."""
        told = _faults("survey", now)
        return [Turn("say", self.say("opening.impossible", why=why)) for why in told]

    def _brief(self, now: Measured, survey: Found) -> list[Turn]:
        """What the opening leaves, or whether the unit fits, if that was not just said."""
        told = [self.say("opening.still-off")] if survey["take_again"] is not None else []
        found, name = self._worked("fit", now), "fit"
        if found is not None:
            told.append(self.fit_words(found))
        elif survey["clear_width"] is not None and survey["clear_height"] is not None:
            found, name = survey, "survey"
            told += [self._leaves(survey), self._size(now)]
        told += self._built_out(survey)
        text = " ".join(part for part in told if part)
        if not text or text == self._told:
            return []
        self._told = text
        return [Turn("say", text, {"work": name, "result": dict(found or survey)})]

    def _leaves(self, survey: Found) -> str:
        width, height = _inches(survey["clear_width"]), _inches(survey["clear_height"])
        told = self.say("opening.leaves", width=width, height=height)
        if survey["agree"]["width"] is False:
            told += " " + self.say("opening.lies", smallest=_inches(survey["smallest"]["width"]))
        if survey["agree"]["height"] is False:
            told += " " + self.say("opening.lies-high", smallest=_inches(survey["smallest"]["height"]))
        return told

    def _built_out(self, survey: Found) -> list[str]:
        """Where trim does not cover what a leaning wall leaves."""
        return [
            self.say(
                "opening.build-out",
                side=side,
                end="bottom" if one["proud_at"] == "top" else "top",
                by=_inches(one["build_out"]),
            )
            for side, one in survey.get("split", {}).items()
            if not one["trim_covers"]
        ]

    # Asked

    def will_it_fit(self) -> list[Turn]:
        """Whether the unit fits, or what the opening leaves while the unit has not been measured."""
        now = self._now()
        found = self._worked("fit", now)
        if found is not None:
            return self._tell(self.fit_words(found), found)
        survey = self._worked("survey", now)
        if survey is None:
            return self._unread(now)
        if survey["clear_width"] is None or survey["clear_height"] is None:
            return self._tell(self._missing(survey), survey)
        return self._tell(" ".join([self._leaves(survey), self.say("opening.no-unit")]), survey)

    def what_size(self) -> list[Turn]:
        """The unit to order."""
        now = self._now()
        found = self._worked("size", now)
        if found is None:
            return [Turn("say", self.say("opening.size-unread"))] if now.spots else self._unread(now)
        fit = self._worked("fit", now)
        return self._tell(self._size(now), fit or found)

    def which_is_off(self) -> list[Turn]:
        """The reading to take again, or that none is; and what would make the opening known."""
        now = self._now()
        survey = self._worked("survey", now)
        if survey is None:
            return self._unread(now)
        name = survey["take_again"]
        if name is None:
            told = self.say("opening.none-off" if survey["redundancy"] else "opening.unchecked")
            return self._tell(f"{told} {self._missing(survey) if survey['missing'] else ''}".strip(), survey)
        told = self._doubt_words(survey, _capital(opening.NAMES[name]))
        if survey["or"]:
            others = self.job.wording.join([opening.NAMES[one] for one in survey["or"]], last="or")
            told += " " + self.say("opening.or", others=others)
        return self._tell(told, survey)

    def how_thick(self, thing: str) -> list[Turn]:
        """The shims at the points that the words name; at every hinge if they name none."""
        now = self._now()
        found = self._worked("fit", now)
        if found is None:
            return self._unread(now, unit=True)
        if not found["shims"]:
            return self._tell(self.fit_words(found), found)
        shims = _named(found["shims"], thing) if thing.strip() else _named(found["shims"], "hinge")
        if not shims:
            names = dict.fromkeys(one["name"] for one in found["shims"] if one["name"] != "between")
            return self._tell(self.say("opening.which-point", names=self.job.wording.join(names, last="or")), found)
        said = [
            self.say(
                "opening.shim-up" if one["side"] in SIDES else "opening.shim",
                where=_capital(_where(one)),
                thick=_inches(one["thick"]),
                at=_inches(one["at"]),
            )
            for one in shims
        ]
        return self._tell(" ".join(said), found)

    def working(self) -> list[Turn]:
        """How the last answer was worked out, how sure it is, and from which sources."""
        if self._last is None:
            return [Turn("say", self.say("opening.no-working"))]
        told = [*self._last["working"], self._last["uncertainty"]]
        told.append(self.say("opening.source", source="; ".join(self._last["source"])))
        return [Turn("say", " ".join(told), {"work": self._last["work"], "result": dict(self._last)})]

    def remember(self, found: Found) -> None:
        """Keep an answer of the trade's arithmetic, for when its working is asked for."""
        self._last = found

    # Figures

    def fit_words(self, found: Found) -> str:
        """Whether the unit fits, in a sentence or two."""
        if found["fits"] is None:
            return self._missing(found)
        if found["fits"]:
            room = {what: _inches(value) for what, value in found["room"].items()}
            told = self.say("opening.fits", width=room["width"], height=room["height"])
            tight = [one for one in found["shims"] if one["side"] != "sill" and one["thick"] < float(RULES.shim_room)]
            if tight:
                least = min(tight, key=lambda one: one["thick"])
                told += " " + self.say("opening.tight", where=_where(least), thick=_inches(least["thick"]))
            return told
        short = [
            self.say(
                "opening.short", what=one["what"], by=_inches(one["by"]), one=one["between"][0], other=one["between"][1]
            )
            for one in found["binds"]
        ]
        return " ".join([self.say("opening.not-fits"), *short])

    def _size(self, now: Measured) -> str:
        size, fit = self._worked("size", now), self._worked("fit", now)
        if size is None:
            return ""
        order = fit["order"] if fit is not None else None
        width = order["width"] if order else size["unit_width"]
        height = order["height"] if order else size["unit_height"]
        told = self.say("opening.order", width=_inches(width), height=_inches(height))
        depth = order["depth"] if order else size.get("unit_depth")
        return told + (" " + self.say("opening.order-depth", depth=_inches(depth)) if depth is not None else "")

    def _missing(self, found: Found) -> str:
        names = [opening.NAMES[name] for name in found["missing"]]
        return self.say("opening.missing", names=self.job.wording.join(names)) if names else self.say("opening.unknown")

    def _tell(self, text: str, found: Found) -> list[Turn]:
        self._last = found
        return [Turn("say", text, {"work": found["work"], "result": dict(found)})]

    def _unread(self, now: Measured, unit: bool = False) -> list[Turn]:
        faults = _faults("survey", now) if now.spots else []
        if faults:
            return [Turn("say", self.say("opening.impossible", why=faults[0]))]
        if not any(reading.measures for reading in self.job.procedure.readings.values()):
            return [Turn("say", self.say("opening.none-here"))]
        key = "opening.unit-unread" if unit and now.spots else "opening.unread"
        return [Turn("say", self.say(key))]

    def _worked(self, name: str, now: Measured) -> Found | None:
        """A computation on what has been read; None where that is not enough for it, or no opening."""
        if not now.spots or not _inputs(name) <= now.data.keys():
            return None
        try:
            return work.answer(name, _input(name, now), lambda path: None)
        except (ProblemError, ModuleNotFoundError):
            return None


_KNOWN: Mapping[str, tuple[str, ...]] = {
    "size": ("widths", "heights", "thickness"),
    "survey": (
        "widths",
        "heights",
        "diagonals",
        "lean",
        "lean_over",
        "sill",
        "sill_over",
        "lean_across",
        "lean_across_over",
        "thickness",
        "bearing",
    ),
}


def _inputs(name: str) -> set[str]:
    """Keys without which a computation is not asked."""
    return {"size": {"widths", "heights"}, "survey": set[str](), "fit": {"unit"}}[name]


def _input(name: str, now: Measured) -> dict[str, object]:
    known = (*_KNOWN["survey"], "unit") if name == "fit" else _KNOWN[name]
    return {key: value for key, value in now.data.items() if key in known}


def _faults(name: str, now: Measured) -> list[str]:
    try:
        work.answer(name, _input(name, now), lambda path: None)
    except ProblemError as fault:
        return [problem.message for problem in fault.problems]
    except ModuleNotFoundError as fault:
        return [f"{fault.name} is not installed"]
    return []


def _doubted(survey: Found) -> list[str]:
    """Readings that noise can't explain: the one named, what can't be told from it, then the others."""
    if survey["take_again"] is None:
        return []
    off = [one for one in survey["readings"] if abs(one["standardised"] or 0) > float(BLUNDER)]
    rest = sorted(off, key=lambda one: -abs(one["standardised"]))
    return list(dict.fromkeys([survey["take_again"], *survey["or"], *(one["name"] for one in rest)]))


def _named(shims: Iterable[Found], thing: str) -> list[Found]:
    """Shims that the words name best."""
    wanted = set(_WORD.findall(thing.lower().replace("centre", "center"))) - _IDLE
    scored = [(len(wanted & set(f"{one['side']} {one['name']}".split())), one) for one in shims]
    best = max((score for score, _ in scored), default=0)
    return [one for score, one in scored if score == best and score > 0]


def _where(one: Found) -> str:
    return f"{one['side']} side, {one['name']}" if one["side"] in SIDES else str(one["name"])


def _inches(value: float) -> str:
    shown, _ = nearest(Quantity(Fraction(value), "in"), "in", SHOWN)
    return written(shown)


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]
