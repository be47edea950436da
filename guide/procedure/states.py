"""States of the work: checks that can never all be fresh, and states that lead nowhere."""

from __future__ import annotations

from collections.abc import Iterator

from guide.procedure.choices import Condition, together
from guide.procedure.draft import Draft, Entry
from guide.procedure.graph import components, ring_through
from guide.procedure.nodes import Scalar

_TRIES = 20
"""Steps of one group through which a ring is looked for."""


def check_states(draft: Draft) -> None:
    """Note checks that nothing makes fresh again; remark on states that are only disturbed or only watched."""
    _never_fresh(draft)
    _one_sided(draft)


def _never_fresh(draft: Draft) -> None:
    """A step that is done again because of what it brought about goes round for ever.

    Doing a step disturbs states, and every check that watches one is taken again; leaving a hazard has every
    step that ends it done again. States and hazards are nodes of their own, so that all stays linear.
    """
    links: dict[str, list[str]] = {}
    for name, step in draft.steps.items():
        links[name] = [f"state {one}" for one in step.words("disturbs")]
        links[name] += [f"hazard {one}" for one in step.words("leaves")]
        for key, kind in (("watches", "state"), ("secures", "hazard")):
            for one in step.words(key):
                links.setdefault(f"{kind} {one}", []).append(name)
    when: dict[str, Condition] = {name: step.when() for name, step in draft.steps.items()}
    number = {name: i for i, name in enumerate(draft.steps)}
    for group in components(links):
        steps = sorted((one for one in group if one in number), key=number.__getitem__)
        for start in steps[:_TRIES] if len(group) > 1 else ():
            ring = [one for one in ring_through(links, start, set(group)) if one in draft.steps]
            if together(*(when[one] for one in ring)):
                _tell_ring(draft, ring)
                break


def _tell_ring(draft: Draft, ring: list[str]) -> None:
    step = draft.steps[ring[0]]
    if len(ring) == 2:
        both = [one for one in step.names("disturbs") if one.text in step.words("watches")]
        if both:
            message = f'{step.label} watches "{both[0].text}" and disturbs it each time it is done: it is never fresh'
            hint = f'Take it out of "disturbs"; if the correction disturbs it, write "out: {{adjust: {both[0].text}}}".'
            draft.problems.add("never-fresh", message, draft.place(both[0]), hint)
            return
        hazard = next(one for one in step.names("leaves") if one.text in step.words("secures"))
        message = f'{step.label} leaves "{hazard.text}" and secures it: it is never done'
        draft.problems.add("never-fresh", message, draft.place(hazard), "Another step must end what this one leaves.")
        return
    message = f"these make each other due again for ever: {' → '.join(ring)}"
    at = next((one for key in ("disturbs", "leaves") for one in step.names(key) if _met(draft, one, ring[1])), step.key)
    hint = "One of them must not disturb what the next one watches when it is done."
    draft.problems.add("never-fresh", message, draft.place(at), hint)


def _met(draft: Draft, one: Scalar, other: str) -> bool:
    step = draft.steps[other]
    return one.text in step.words("watches") or one.text in step.words("secures")


def _one_sided(draft: Draft) -> None:
    disturbed: dict[str, Scalar] = {}
    watched: dict[str, Scalar] = {}
    for entry, key in _disturbing(draft):
        for one in entry.names(key):
            disturbed.setdefault(one.text, one)
    for step in draft.steps.values():
        for one in step.names("watches"):
            watched.setdefault(one.text, one)
    known = draft.table("states")
    for name, at in watched.items():
        if name not in disturbed:
            message = f'nothing in the file disturbs "{name}", which is watched here'
            draft.remarks.add("one-sided", message, draft.place(at), draft.nearest(name, disturbed))
    for name, at in disturbed.items():
        if name not in watched:
            message = f'no check watches "{name}", which is disturbed here'
            draft.remarks.add("one-sided", message, draft.place(at), draft.nearest(name, watched))
    for name, state in known.items():
        if name not in disturbed and name not in watched:
            draft.remarks.add("unused", f"{state.label} is never used", draft.place(state.key))


def _disturbing(draft: Draft) -> Iterator[tuple[Entry, str]]:
    for step in draft.steps.values():
        yield step, "disturbs"
        out = step.inner("out")
        if out is not None:
            yield out, "adjust"
    for one in draft.table("make-safe").values():
        yield one, "disturbs"
