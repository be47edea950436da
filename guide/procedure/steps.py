"""Whether the keys of a step make sense together."""

from __future__ import annotations

from guide.procedure.draft import Draft, Entry

_OF_A_CHECK = ("out", "rounds", "safety")


def check_steps(draft: Draft) -> None:
    """Note keys that mean nothing where they stand, and needs that are no checks."""
    checks = {name for name, step in draft.steps.items() if draft.is_check(step) or _untold(draft, step)}
    for name, step in draft.steps.items():
        _tolerance(draft, step)
        if name not in checks:
            for key in _OF_A_CHECK:
                if key in step.said:
                    message = f'"{key}" means nothing in {step.label}: it is not a check'
                    hint = 'A check takes a reading and has "within", "even" or a "good" answer.'
                    draft.problems.add("no-meaning", message, draft.place(step.said[key]), hint)
        if "watches" in step.said and "take" not in step.said:
            message = f'"watches" means nothing in {step.label}: it takes no reading'
            hint = 'A step that takes a reading takes it again when what it watches was disturbed: add "take".'
            draft.problems.add("no-meaning", message, draft.place(step.said["watches"]), hint)
        for one in step.names("needs"):
            if one.text in draft.steps and one.text not in checks:
                message = f'{step.label} needs "{one.text}", which is not a check'
                hint = 'Name it in "after"; or give it a reading with "within", "even" or a "good" answer.'
                draft.problems.add("not-a-check", message, draft.place(one), hint)
        out = step.inner("out")
        if out is not None:
            _correction(draft, step, out)


def _untold(draft: Draft, step: Entry) -> bool:
    """Whether the step takes something that is not there or could not be read."""
    return "take" in step.said and _reading(draft, step) is None


def _reading(draft: Draft, step: Entry) -> Entry | None:
    return draft.readings.get(step.words("take")[0]) if step.words("take") else None


def _tolerance(draft: Draft, step: Entry) -> None:
    for key in ("within", "even"):
        if key not in step.said:
            continue
        at = draft.place(step.said[key])
        if "take" not in step.said:
            message = f'"{key}" means nothing in {step.label}: it takes no reading'
            draft.problems.add("no-meaning", message, at, 'Add "take" with the name of a reading.')
            continue
        reading = _reading(draft, step)
        if reading is None:
            continue
        answer = reading.get("answer", None if "answer" in reading.said else "number")
        if answer not in {"number", None}:
            message = f'"{key}" means nothing in {step.label}: the answer of {reading.label} is {answer}'
            hint = 'Say in the reading which answer is "good".' if answer in {"yes-no", "choice"} else "Take it out."
            draft.problems.add("no-meaning", message, at, hint)
        elif key == "even" and len(reading.words("at")) < 2 and ("at" in reading.got or "at" not in reading.said):
            message = f'"even" of {step.label} has nothing to compare: {reading.label} has one place'
            draft.problems.add("no-meaning", message, at, 'Give the reading its places with "at".')


def _correction(draft: Draft, step: Entry, out: Entry) -> None:
    """Words of a correction that can never be said, or have nothing to put into their braces."""
    reading, said = _reading(draft, step), out.get("say", {})
    if reading is None:
        return
    number = reading.get("answer", None if "answer" in reading.said else "number") in {"number", None}
    if ("plus" in said or "minus" in said) and ("within" not in step.said or not number):
        side = said.get("plus") or said["minus"]
        message = f'"plus" and "minus" of {out.label} are never said: without "within" there is no middle'
        draft.problems.add("no-meaning", message, draft.place(side), 'Write one sentence: "say: …".')
    for words in said.values():
        for field in ("by", "over", "place"):
            at = words.text.find(f"{{{field}}}")
            if at < 0 or (field == "place" and "at" in reading.said) or (field != "place" and number):
                continue
            why = "has one place, without a name" if field == "place" else "is not a number"
            message = f'"{{{field}}}" in {out.label} stays empty: {reading.label} {why}'
            draft.problems.add("no-meaning", message, draft.source.place_in(words, at, len(field) + 2), "Leave it out.")
