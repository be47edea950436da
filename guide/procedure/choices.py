"""Choices switch steps off; nothing that is left in the job may hang on a step that is not."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence

from guide.procedure.draft import Draft, Entry
from guide.procedure.graph import components, reached
from guide.procedure.nodes import Scalar

Condition = Mapping[str, frozenset[str]]
"""Choice -> the options with which a step is in the job; all must hold."""

MOST_JOBS = 256
"""Combinations of options that are gone through one by one; beyond, one option at a time."""

MOST_WORK = 500_000
"""Combinations times steps, beyond which options are gone through one at a time as well."""

UNSURE = "?"
"""Stands among a step's links for what could not be read of them."""

_MOST_BRANCHES = 2_000


def together(*conditions: Condition) -> bool:
    """Whether there is a job in which all the conditions hold."""
    left: dict[str, frozenset[str]] = {}
    for condition in conditions:
        for choice, options in condition.items():
            left[choice] = left.get(choice, options) & options
    return all(left.values())


def uncovered(condition: Condition, covers: Sequence[Condition], options: Condition) -> dict[str, str] | None:
    """Options with which the condition holds and none of the covers does, only those that matter; None if none."""
    if not all(covers):
        return None
    branches = itertools.count()

    def search(allowed: dict[str, frozenset[str]], at: int) -> dict[str, str] | None:
        if next(branches) > _MOST_BRANCHES:
            return None
        if at == len(covers):
            return {}
        for choice, wanted in covers[at].items():
            rest = allowed.get(choice, options.get(choice, frozenset())) - wanted
            if rest:
                found = search({**allowed, choice: rest}, at + 1)
                if found is not None:
                    return {choice: found.get(choice) or min(rest), **found}
        return None

    return search(dict(condition), 0)


def in_words(options: Mapping[str, str]) -> str:
    """The options as a condition: when "pan" is "none"."""
    return "when " + " and ".join(f'"{choice}" is "{option}"' for choice, option in options.items())


class Holes:
    """Finds what is left hanging; `links` are the steps' `after` and `needs`."""

    def __init__(self, draft: Draft, links: Mapping[str, Sequence[str]]) -> None:
        self.draft = draft
        self.links = links
        self.options: Condition = {
            name: frozenset(one.get("options", ())) for name, one in draft.table("choices").items()
        }
        self.when = {name: self._known(step.when()) for name, step in draft.steps.items()}

    def _known(self, condition: Condition) -> Condition:
        """The condition without what is not there; that has been told."""
        known = {choice: wanted & self.options.get(choice, frozenset()) for choice, wanted in condition.items()}
        return {choice: wanted for choice, wanted in known.items() if wanted}

    def check(self) -> None:
        """Note every step that hangs on one that is switched off."""
        holed: set[str] = set()
        for name, step in self.draft.steps.items():
            if ("when" in step.got or "when" not in step.said) and self._links_of(name, step):
                holed.add(name)
        sure = not any(UNSURE in links for links in self.links.values())
        if sure and all(len(group) == 1 for group in components(self.links)):
            holed |= self._loosened()
        for name, step in self.draft.steps.items():
            if name not in holed:
                self._nothing_before(name, step)

    def _links_of(self, name: str, step: Entry) -> bool:
        """Note links to steps that are never there together, and needs that are not always there."""
        found = False
        for key in ("after", "needs"):
            for one in step.names(key):
                if one.text not in self.when:
                    continue
                if not together(self.when[name], self.when[one.text]):
                    self._never_together(step, key, one)
                    found = True
                elif key == "needs" and (off := uncovered(self.when[name], [self.when[one.text]], self.options)):
                    message = f'{step.label} needs "{one.text}", which is not in the job {in_words(off)}'
                    hint = f'Give "{name}" the same "when", and a twin for the rest; or put "{one.text}" in "after".'
                    self._hole(message, one, hint, one.text)
                    found = True
        return found

    def _never_together(self, step: Entry, key: str, one: Scalar) -> None:
        message = f'{step.label} names "{one.text}" in "{key}", and the two are never in the same job'
        hint = f'Take it out of "{key}", or look at the "when" of both.'
        self._hole(message, one, hint, one.text)

    def _hole(self, message: str, at: Scalar, hint: str, other: str) -> None:
        also = [(f'"{other}"', self.draft.place(self.draft.steps[other].key))]
        self.draft.problems.add("hole", message, self.draft.place(at), hint, also)

    def _nothing_before(self, name: str, step: Entry) -> None:
        """Note a step of which all that it comes behind can be switched off at once."""
        links = self.links[name]
        if not links or UNSURE in links:
            return
        off = uncovered(self.when[name], [self.when[one] for one in links], self.options)
        if off:
            names = ", ".join(f'"{one}"' for one in links)
            message = f"nothing of what {step.label} comes behind ({names}) is in the job {in_words(off)}"
            at = (step.names("after") or step.names("needs"))[0]
            hint = f'Name in "after" of "{name}" a step that is in the job then as well.'
            self._hole(message, at, hint, links[0])

    def _loosened(self) -> set[str]:
        """Note steps whose order is lost with a step between them; the steps they were told of."""
        if not any(self.when.values()):
            return set()
        names = [name for group in components(self.links) for name in group if name in self.when]
        bit = {name: 1 << i for i, name in enumerate(names)}
        full = reached(self.links, bit)
        told: dict[tuple[str, str], None] = {}
        for job in self._jobs():
            present = {name for name in names if _holds(self.when[name], job)}
            mask = sum(bit[name] for name in present)
            kept: dict[str, int] = {}
            for name in names:
                if name not in present:
                    continue
                kept[name] = 0
                for one in self.links[name]:
                    if one in kept:
                        kept[name] |= bit[one] | kept[one]
                for one in self.links[name]:
                    if one not in bit or one in present or (name, one) in told:
                        continue
                    lost = full[one] & mask & ~kept[name]
                    if lost:
                        told[name, one] = None
                        self._loose(name, one, [names[i] for i in _latest(lost, full, names)], job)
        return {name for name, _ in told}

    def _jobs(self) -> Iterator[dict[str, str]]:
        """Every combination of the options that switch steps, or each such option alone if there are too many."""
        choices = sorted({choice for condition in self.when.values() for choice in condition})
        count = 1
        for choice in choices:
            count *= len(self.options[choice])
        if count <= MOST_JOBS and count * len(self.when) <= MOST_WORK:
            for picked in itertools.product(*(sorted(self.options[choice]) for choice in choices)):
                yield dict(zip(choices, picked, strict=True))
        else:
            for choice in choices:
                for option in sorted(self.options[choice]):
                    yield {choice: option}

    def _loose(self, name: str, off: str, lost: list[str], job: Mapping[str, str]) -> None:
        step = self.draft.steps[name]
        why = {c: job[c] for c, wanted in self.when[off].items() if c in job and job[c] not in wanted}
        names = " and ".join(f'"{one}"' for one in lost)
        message = (
            f'{step.label} comes behind "{off}", which is not in the job {in_words(why)}; '
            f"then nothing keeps it behind {names}"
        )
        at = next(one for one in (*step.names("after"), *step.names("needs")) if one.text == off)
        self._hole(message, at, f'Add {names} to "after" of "{name}".', off)


def _holds(condition: Condition, job: Mapping[str, str]) -> bool:
    return all(choice not in job or job[choice] in wanted for choice, wanted in condition.items())


def _latest(lost: int, full: Mapping[str, int], names: Sequence[str]) -> Iterable[int]:
    """Of the steps in `lost`, those that no other of them comes behind, earliest first."""
    found = []
    while lost:
        at = lost.bit_length() - 1
        found.append(at)
        lost &= ~(full[names[at]] | 1 << at)
    return reversed(found)
