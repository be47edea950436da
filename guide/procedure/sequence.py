"""What comes before what: rings of steps, figures used before they are known, hazards ended before they are left."""

from __future__ import annotations

from collections.abc import Mapping

from guide.procedure.choices import UNSURE, Condition, Holes, in_words, together, uncovered
from guide.procedure.draft import Draft, Entry, Part
from guide.procedure.graph import bases, order, reached, rings
from guide.procedure.names import Use, Uses
from guide.procedure.nodes import Scalar
from guide.procedure.readings import Takers


def check_sequence(draft: Draft, uses: Uses, takers: Takers) -> None:
    """Note everything that can't come in an order in which it makes sense."""
    links = _links(draft)
    for ring in rings(links):
        _tell_ring(draft, ring)
    holes = Holes(draft, links)
    holes.check()
    _Sequence(draft, links, holes, uses, takers).check()


def _links(draft: Draft) -> dict[str, list[str]]:
    """Step -> what it comes behind; `UNSURE` where that can't be told, so that nothing is concluded from it."""
    links: dict[str, list[str]] = {UNSURE: []}
    for name, step in draft.steps.items():
        links[name] = list(dict.fromkeys((*step.words("after"), *step.words("needs"))))
        unread = step.partly or any(key in step.said and key not in step.got for key in ("after", "needs", "when"))
        if unread or any(one not in draft.steps for one in links[name]):
            links[name].append(UNSURE)
    return links


def _tell_ring(draft: Draft, ring: tuple[str, ...]) -> None:
    step = draft.steps[ring[0]]
    at = next(one for one in (*step.names("after"), *step.names("needs")) if one.text == ring[1])
    if len(ring) == 2:
        message = f"{step.label} waits for itself"
        draft.problems.add("cycle", message, draft.place(at), "Take it out.")
        return
    also = [(f'"{name}"', draft.place(draft.steps[name].key)) for name in ring[1:-1][:5]]
    message = f"these steps wait for each other and can't be reached: {' → '.join(ring)}"
    draft.problems.add("cycle", message, draft.place(at), 'Take one of them out of "after" or "needs".', also)


class _Sequence:
    def __init__(self, draft: Draft, links: Mapping[str, list[str]], holes: Holes, uses: Uses, takers: Takers) -> None:
        self.draft = draft
        self.links = links
        self.when: Mapping[str, Condition] = holes.when
        self.options = holes.options
        self.uses = uses
        self.takers = takers
        self.number = {name: i for i, name in enumerate(order(links))}
        worked = {
            n: one.got[""].expression for n, one in draft.table("worked").items() if isinstance(one.get(""), Part)
        }
        self.bases = bases(worked, draft.readings)

    def check(self) -> None:
        """Note figures used too early or not at all times, and hazards that are not ended."""
        self._figures()
        self._hazards()

    # Figures

    def _figures(self) -> None:
        wanted: dict[str, int] = {}
        for name, uses in self.uses.items():
            for use in uses:
                for reading in self.bases.get(use.name.name, ()):
                    for taker in self.takers.get(reading, ()):
                        if taker.name != name and taker.name not in self.links[name]:
                            wanted.setdefault(taker.name, 1 << len(wanted))
        behind = reached(self.links, {**wanted, UNSURE: (1 << len(wanted)) - 1})
        for name, uses in self.uses.items():
            told: set[tuple[str, str]] = set()
            for use in uses:
                for reading in sorted(self.bases.get(use.name.name, ())):
                    if self.takers.get(reading) and (use.key, reading) not in told:
                        told.add((use.key, reading))
                        self._use(self.draft.steps[name], use, reading, behind[name], wanted)

    def _use(self, step: Entry, use: Use, reading: str, behind: int, bits: Mapping[str, int]) -> None:
        """Note a reading that is not there when a step uses it."""
        takers = [one for one in self.takers[reading] if together(self.when[step.name], self.when[one.name])]
        what = f'"{use.name}"' if use.name.name == reading else f'"{use.name}", which needs the reading "{reading}"'
        if step.name in {one.name for one in takers}:
            if use.key in {"say", "within", "even", "likely"}:
                message = f'{step.label} uses {what} in "{use.key}" before it has taken it'
                hint = "Use what an earlier step has taken."
                self.draft.problems.add("own-reading", message, use.place(), hint)
            return
        off = uncovered(self.when[step.name], [self.when[one.name] for one in takers], self.options)
        if off is not None:
            message = f"{step.label} uses {what}, which is not taken {in_words(off)}"
            if not off:
                message = f"{step.label} uses {what}, and the step that takes it is never in the same job"
            also = [("taken here", self.draft.place(one.names("take")[0])) for one in self.takers[reading][:3]]
            hint = f'Give "{step.name}" the same "when", or take the reading in a step that is always in the job.'
            self.draft.problems.add("hole", message, use.place(), hint, also)
        for taker in takers:
            if taker.name not in self.links[step.name] and not behind & bits.get(taker.name, 0):
                self._too_early(step, use, what, taker)

    def _too_early(self, step: Entry, use: Use, what: str, taker: Entry) -> None:
        also = [("taken here", self.draft.place(taker.names("take")[0]))]
        if self.number.get(taker.name, 0) > self.number.get(step.name, 0):
            message = f'{step.label} uses {what}, taken only later, at "{taker.name}"'
            hint = "Take the reading in an earlier step."
        else:
            message = f'{step.label} uses {what}, and nothing keeps it behind "{taker.name}", where that is taken'
            hint = f'Add "{taker.name}" to "after" of "{step.name}".'
        self.draft.problems.add("too-early", message, use.place(), hint, also)

    # Hazards

    def _hazards(self) -> None:
        leaving = self._steps_that("leaves")
        securing = self._steps_that("secures")
        bits = {name: 1 << i for i, name in enumerate(dict.fromkeys(n for names in leaving.values() for n in names))}
        behind = reached(self.links, {**bits, UNSURE: (1 << len(bits)) - 1})
        known = self.draft.table("make-safe")
        misspelt = not known.keys() >= leaving.keys(), not known.keys() >= securing.keys()
        for hazard, steps in leaving.items():
            if hazard not in known or (misspelt[1] and hazard not in securing):
                continue
            enders = securing.get(hazard, [])
            for name in steps:
                later = [one for one in enders if behind[one] & bits[name]]
                if name not in enders:
                    self._ended(hazard, name, later, enders)
        for hazard, steps in securing.items():
            for name in steps:
                if hazard not in leaving and hazard in known and not misspelt[0]:
                    at = self._at(name, "secures", hazard)
                    message = f'step "{name}" secures "{hazard}", which no step leaves'
                    hint = f'Add "leaves: {hazard}" to the step that leaves it, or take it out.'
                    self.draft.problems.add("never-left", message, self.draft.place(at), hint)
        for hazard, one in known.items():
            if hazard not in leaving:
                self.draft.remarks.add("unused", f'no step leaves "{hazard}"', self.draft.place(one.key))

    def _steps_that(self, key: str) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for name, step in self.draft.steps.items():
            for hazard in step.words(key):
                found.setdefault(hazard, []).append(name)
        return found

    def _at(self, name: str, key: str, hazard: str) -> Scalar:
        return next(one for one in self.draft.steps[name].names(key) if one.text == hazard)

    def _ended(self, hazard: str, name: str, later: list[str], enders: list[str]) -> None:
        """Note a hazard that is left and not ended behind that, in every job."""
        place = self.draft.place(self._at(name, "leaves", hazard))
        if not enders:
            message = f'step "{name}" leaves "{hazard}", and no step secures it'
            hint = f'Add "secures: {hazard}" to the step that ends it.'
            self.draft.problems.add("never-secured", message, place, hint)
            return
        if not later:
            ender = enders[0]
            message = f'step "{ender}" secures "{hazard}", and nothing keeps it behind "{name}", which leaves it'
            also = [("left here", place)]
            hint = f'Add "{name}" to "after" of "{ender}".'
            at = self.draft.place(self._at(ender, "secures", hazard))
            self.draft.problems.add("secured-early", message, at, hint, also)
            return
        off = uncovered(self.when[name], [self.when[one] for one in later], self.options)
        if off:
            message = f'step "{name}" leaves "{hazard}", and no step secures it {in_words(off)}'
            hint = "Add a step that ends it then."
            self.draft.problems.add("never-secured", message, place, hint)
