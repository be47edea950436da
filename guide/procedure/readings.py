"""Whether the keys of a reading make sense together, and with the steps that take it."""

from __future__ import annotations

from collections.abc import Mapping

from guide.problems import did_you_mean
from guide.procedure.choices import together
from guide.procedure.draft import Draft, Entry, shown
from guide.procedure.figures import Figures
from guide.procedure.model import SIGNED
from guide.quantity import ANGLE, LENGTH, NUMBER, UNITS
from guide.trade.measures import MEASURES, Measure

Takers = Mapping[str, list[Entry]]
"""Reading -> the steps that take it."""

_NUMBER_ONLY = ("keep", "unit", "likely", "over", "about", "sign")
_SLOPES = frozenset({LENGTH, ANGLE, NUMBER})
_KINDS = {
    "length": frozenset({LENGTH}),
    "flush": frozenset({LENGTH}),
    "gap": frozenset({LENGTH}),
    "twist": frozenset({LENGTH}),
    "level": _SLOPES,
    "plumb": _SLOPES,
    "square": _SLOPES,
}
"""The kinds of unit that fit what a reading is about; an amount may have any."""

_SIDED = frozenset({"level", "plumb", "square"})
_SIGN_HINT = 'Say what + and − mean: "sign: {plus: …, minus: …}".'


def check_readings(draft: Draft, figures: Figures) -> Takers:
    """Note what does not make sense of each reading; the steps that take each."""
    takers: dict[str, list[Entry]] = {name: [] for name in draft.readings}
    for step in draft.steps.values():
        for name in step.words("take"):
            if name in takers:
                takers[name].append(step)
    unknown = [one for step in draft.steps.values() for one in step.words("take") if one not in takers]
    for name, reading in draft.readings.items():
        if takers[name] or not any(did_you_mean(one, (name,)) for one in unknown[:20]):
            _taken(draft, reading, takers[name])
        answer = reading.get("answer", None if "answer" in reading.said else "number")
        if answer is not None:
            _answer(draft, reading, answer)
            if answer == "number":
                _number(draft, figures, reading, takers[name])
            _measures(draft, reading, answer)
    _measured_once(draft)
    return takers


def _add(draft: Draft, code: str, message: str, entry: Entry, key: str, hint: str) -> None:
    draft.problems.add(code, message, draft.place(entry.said.get(key, entry.key)), hint)


def _taken(draft: Draft, reading: Entry, takers: list[Entry]) -> None:
    if not takers:
        hint = f'Add "take: {reading.name}" to a step, or take it out.'
        draft.problems.add("never-taken", f"{reading.label} is never taken", draft.place(reading.key), hint)
    for i, step in enumerate(takers):
        for other in takers[: min(i, 20)]:
            if together(step.when(), other.when()):
                draft.problems.add(
                    "taken-twice",
                    f"{reading.label} is taken by {other.label} and by {step.label}",
                    draft.place(step.names("take")[0]),
                    "Give the second a reading of its own; a check that goes stale is taken again by itself.",
                    [("taken here first", draft.place(other.names("take")[0]))],
                )
                break


def _answer(draft: Draft, reading: Entry, answer: str) -> None:
    """Keys that go with some answers only."""
    if answer != "number":
        for key in _NUMBER_ONLY:
            if key in reading.said:
                message = f'"{key}" means nothing in {reading.label}: its answer is {answer}'
                _add(draft, "no-meaning", message, reading, key, "Take it out.")
    if answer == "choice" and "options" not in reading.said:
        message = f'{reading.label} is a choice and has no "options"'
        _add(draft, "missing-key", message, reading, "answer", 'List them: "options: {name: words, …}".')
    if answer != "choice" and "options" in reading.said:
        message = f'"options" means nothing in {reading.label}: its answer is {answer}'
        _add(draft, "no-meaning", message, reading, "options", 'Take them out, or write "answer: choice".')
    if answer not in {"yes-no", "choice"} and "good" in reading.said:
        hint = 'Give the step that takes it a tolerance: "within".' if answer == "number" else "Take it out."
        message = f'"good" means nothing in {reading.label}: its answer is {answer}'
        _add(draft, "no-meaning", message, reading, "good", hint)
    elif "good" in reading.got:
        _good(draft, reading, ("yes", "no") if answer == "yes-no" else tuple(reading.get("options", ())))
    if "keep" in reading.said and len(reading.words("at")) < 2 and ("at" in reading.got or "at" not in reading.said):
        message = f'"keep" of {reading.label} has only one place to choose from'
        draft.remarks.add("no-meaning", message, draft.place(reading.said["keep"]))


def _good(draft: Draft, reading: Entry, answers: tuple[str, ...]) -> None:
    for one in reading.names("good"):
        if answers and one.text not in answers:
            message = f'"{shown(one.text)}" in "good" of {reading.label} is none of its answers'
            hint = draft.nearest(one.text, answers) or f"Its answers are {', '.join(answers)}."
            draft.problems.add("unknown-answer", message, draft.place(one), hint)
    if answers and set(answers) <= set(reading.words("good")):
        message = f'every answer of {reading.label} is "good": the check can\'t fail'
        draft.remarks.add("always-good", message, draft.place(reading.said["good"]))


def _number(draft: Draft, figures: Figures, reading: Entry, takers: list[Entry]) -> None:
    about, dimension = reading.get("about"), figures.dimensions.get(reading.name)
    if about in _KINDS and dimension is not None and dimension not in _KINDS[about]:
        unit = reading.get("unit", "in") or "none"
        message = f'{reading.label} is about {about}, and "{unit}" is no unit of that'
        _add(draft, "unit", message, reading, "unit", 'Write "about: amount", or another unit.')
    figures.span(reading, "likely", reading)
    for step in takers:
        figures.span(step, "within", reading)
        figures.even(step, reading)
    if "likely" not in reading.said:
        bare = next((step for step in takers if "within" not in step.said), None)
        if bare is not None:
            message = f'{reading.label} has no "likely", and {bare.label} takes it without "within"'
            hint = 'Say what is likely, such as "likely: 24 in to 120 in": a slip is then asked about.'
            _add(draft, "no-likely", message, reading, "", hint)
    _sign(draft, figures, reading, takers)


def _sign(draft: Draft, figures: Figures, reading: Entry, takers: list[Entry]) -> None:
    """Whether it is said what + and − mean, wherever the number can be negative."""
    about = reading.get("about")
    if "sign" not in reading.said:
        if about in SIGNED and about != "flush":
            message = f'{reading.label} is about {about}, which has two sides, and has no "sign"'
            _add(draft, "no-sign", message, reading, "about", _SIGN_HINT)
        elif about != "flush" and figures.below_zero([reading.get("likely"), *(step.get("within") for step in takers)]):
            message = f'{reading.label} can be below zero and has no "sign"'
            _add(draft, "no-sign", message, reading, "", _SIGN_HINT)
        return
    sign = reading.inner("sign")
    if sign is None:
        return
    for one in sign.names("away"):
        if one.text in sign.words("toward"):
            message = f'"{shown(one.text)}" is both "toward" and "away" in {sign.label}'
            draft.problems.add("two-meanings", message, draft.place(one), "Each side goes with one sign.")
    if about in _SIDED and not ("toward" in sign.said and "away" in sign.said):
        message = f'{sign.label} has no "toward" and "away": a crew can\'t say the side in words'
        draft.remarks.add("no-sides", message, draft.place(sign.key))


def _measures(draft: Draft, reading: Entry, answer: str) -> None:
    """Whether a reading can be of the quantity that it says it measures: its answer, places, sign and unit."""
    measure = MEASURES.get(reading.get("measures", ""))
    if measure is None:
        return
    if answer != ("choice" if measure.choice else "number"):
        wanted = "a choice of left and right" if measure.choice else "a number"
        message = f'{reading.label} measures "{reading.get("measures")}", which is {wanted}'
        _add(draft, "measure", message, reading, "measures", "Measure something else, or change its answer.")
    elif measure.choice:
        if set(reading.get("options", ())) - {"left", "right"}:
            message = f'{reading.label} measures "{reading.get("measures")}", which is left or right'
            _add(draft, "measure", message, reading, "options", "Its options are left and right, seen from inside.")
    else:
        _measured_places(draft, reading, measure)
        _measured_sign(draft, reading, measure)


def _measured_places(draft: Draft, reading: Entry, measure: Measure) -> None:
    quantity = reading.get("measures")
    if measure.places and "at" not in reading.said:
        message = f'{reading.label} measures "{quantity}" and has no places'
        _add(draft, "measure", message, reading, "measures", f"Its places are {', '.join(measure.places)}.")
    used: set[str] = set()
    for place in () if measure.many else reading.names("at"):
        key = measure.places.get(place.text)
        if key is None:
            message = f'"{shown(place.text)}" in {reading.label} is no place of "{quantity}"'
            known = f"Known are {', '.join(measure.places)}." if measure.places else "It has one place."
            hint = draft.nearest(place.text, measure.places) or known
            draft.problems.add("measure", message, draft.place(place), hint)
        elif key in used:
            message = f'"{shown(place.text)}" in {reading.label} is a second name for a place of "{quantity}"'
            draft.problems.add("measure", message, draft.place(place), "Leave one of the two out.")
        else:
            used.add(key)


def _measured_sign(draft: Draft, reading: Entry, measure: Measure) -> None:
    sign = reading.inner("sign")
    if measure.plus and sign is not None and measure.plus not in sign.words("toward"):
        message = f'{reading.label} measures "{reading.get("measures")}": its plus must stand for "{measure.plus}"'
        _add(draft, "measure", message, sign, "toward", f'Write "toward: [{measure.plus}]", and turn plus and minus.')
    dimension = UNITS[reading.get("unit", "in")][1]
    if dimension != LENGTH and not (measure.plus and dimension in _SLOPES):
        message = f'{reading.label} measures "{reading.get("measures")}", which is a length'
        _add(draft, "measure", message, reading, "unit", "Give it a unit of length.")


def _measured_once(draft: Draft) -> None:
    """Whether no two readings measure the same."""
    first: dict[str, Entry] = {}
    for reading in draft.readings.values():
        quantity = reading.get("measures")
        if quantity in first:
            message = f'{reading.label} and {first[quantity].label} both measure "{quantity}"'
            also = [("first here", draft.place(first[quantity].said["measures"]))]
            hint = "Only one reading can be it."
            draft.problems.add("measure", message, draft.place(reading.said["measures"]), hint, also)
        elif quantity is not None:
            first[quantity] = reading
