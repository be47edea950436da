"""Sets of checks that are read together, and the unit that moves are worked out for."""

from __future__ import annotations

from guide.procedure.draft import Draft, Entry, shown
from guide.procedure.figures import Figures
from guide.procedure.nodes import Scalar
from guide.trade.frame import places_known

_WORKS = {
    "disturbs": "disturbs the work",
    "leaves": "leaves the work unsafe",
    "secures": "ends a hazard",
    "hold": "is a hold point",
    "wait": "has a wait",
    "undo": "can't be undone",
    "safety": "is a safety check, which is put right at once",
}
"""Keys of a step that must not be read on past, and what they make of it."""


def check_sets(draft: Draft, figures: Figures) -> None:
    """Note sets that can't be read together, and readings that the model of the unit does not know."""
    first: dict[str, Scalar] = {}
    for one in draft.table("together").values():
        for check in one.names("checks"):
            step = draft.steps.get(check.text)
            if step is None:
                continue
            if check.text in first:
                message = f'check "{check.text}" is in two places of "together"'
                also = [("and here", draft.place(first[check.text]))]
                draft.problems.add("duplicate", message, draft.place(check), "Keep one of them.", also)
            first.setdefault(check.text, check)
            _fit_to_be_read(draft, one, check, step)
        if len(set(one.words("checks"))) == 1:
            message = f"{one.label} has one check, and nothing to read it with"
            draft.problems.add("no-meaning", message, draft.place(one.key), "Name two checks or more.")
        moves = one.inner("moves")
        if moves is not None:
            _check_moves(draft, figures, one, moves)


def _fit_to_be_read(draft: Draft, one: Entry, check: Scalar, step: Entry) -> None:
    """A check of a set is read while another is out: it must be a check, and nothing but that."""
    if not draft.is_check(step) and ("take" not in step.said or step.words("take")):
        message = f'"{check.text}" in {one.label} is not a check'
        hint = 'A check takes a reading and has "within", "even" or a "good" answer.'
        draft.problems.add("not-a-check", message, draft.place(check), hint)
    for key, what in _WORKS.items():
        if key in step.said and step.get(key) is not (key == "undo"):
            message = f'"{check.text}" in {one.label} {what}, and checks of a set are read while another is out'
            also = [("here", draft.place(step.said[key]))]
            draft.problems.add("not-together", message, draft.place(check), "Take it out of the set.", also)


def _check_moves(draft: Draft, figures: Figures, one: Entry, moves: Entry) -> None:
    leaves = moves.get("leaves")
    for key in ("width", "height"):
        if key in moves.got:
            figures.length(moves, key)
    side = next(iter(moves.names("hinges")), None)
    if side is not None and side.text in draft.readings:
        options = set(draft.readings[side.text].get("options", {}))
        if options != {"left", "right"}:
            message = f'"hinges" of {moves.label} must be a choice of "left" and "right", seen from inside'
            draft.problems.add("shape", message, draft.place(side), 'Give the reading "options: {left: …, right: …}".')
    if leaves == 1 and "hinges" not in moves.said:
        message = f'{moves.label} has one leaf and no "hinges"'
        hint = "Name the reading that says on which side it hangs, seen from inside."
        draft.problems.add("missing-key", message, draft.place(moves.key), hint)
    if leaves is None:
        return
    known = places_known(leaves)
    for check in one.names("checks"):
        step = draft.steps.get(check.text)
        taken = step.words("take") if step is not None else ()
        reading = draft.readings.get(taken[0]) if taken else None
        if reading is not None:
            _known_places(draft, one, check, reading, known)


def _known_places(draft: Draft, one: Entry, check: Scalar, reading: Entry, known: dict[str, tuple[str, ...]]) -> None:
    if reading.name not in known:
        message = f'"{check.text}" in {one.label} takes "{reading.name}", and no moves are known for that reading'
        hint = draft.nearest(reading.name, known) or f"Known are {', '.join(known)}."
        draft.problems.add("unknown-reading", message, draft.place(check), hint)
        return
    for place in reading.names("at"):
        if place.text not in known[reading.name]:
            message = f'{reading.label} has the place "{shown(place.text)}", for which no moves are known'
            hint = f"Known are {', '.join(known[reading.name])}."
            also = [("the set", draft.place(check))]
            draft.problems.add("place", message, draft.place(place), hint, also)
