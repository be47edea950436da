"""Words that tell of a known hazard, and the cautions that go with them.

The kinds, the words and the general cautions are common practice, not a list from any source. A danger that no
word here tells of is still the author's to warn of; a word that is harmless where it stands is said to be so.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from guide.problems import Place
from guide.procedure.draft import Draft, Entry
from guide.procedure.nodes import Scalar

WORDS: Mapping[str, str] = MappingProxyType(
    {
        "lifting": "lift, lifts, lifted, lifting, carry, carries, carried, carrying, hoist, hoisting, heavy, "
        "tip it in, tip it up, tip it out, tip the head in, tip the top in",
        "glass": "glass, glazing, glazed, pane, panes, sidelight, sidelights",
        "ladders": "ladder, ladders, stepladder, stepladders, scaffold, scaffolding, trestle, trestles",
        "cutting": "cut, cuts, cutting, saw, saws, sawing, sawn, hole saw, chisel, chisels, chiselling, chiseling, "
        "plane it, plane the, plane off, planed, planing, router, routing, rip it, rip the",
        "drilling": "drill, drills, drilled, drilling, bore, bored, boring, pilot hole, pilot holes",
        "blades": "knife, knives, blade, blades, razor, score, scored, scoring, shears, snips",
        "old-paint": "old paint, lead paint, loose paint, flaking paint, strip the paint, scrape the paint, "
        "sand the paint, scrape off the paint, asbestos, old putty, old sealant, old board",
        "dust": "dust, dusty, sanding, sanded, sand it, sand the, grind, grinds, grinding, silica",
        "wiring": "wire, wires, wired, wiring, cable, cables, electric, electrical, electricity, doorbell",
        "chemicals": "sealant, sealants, foam, foams, foaming, solvent, solvents, adhesive, adhesives, primer, "
        "primers, caulk, caulking, mineral spirits, thinner, thinners, chemical, chemicals",
    }
)
"""Kind of hazard -> words and phrases that tell of it; matched whole, whatever their case."""

GENERAL: Mapping[str, str] = MappingProxyType(
    {
        "lifting": "Lift together, with the legs, on a spoken count. Clear the way first, and keep fingers out from "
        "under the edges.",
        "glass": "Glass can break without warning. Wear cut-resistant gloves and eye protection, and don't carry it "
        "above your head.",
        "ladders": "Stand the ladder on firm ground, tied or held, and don't reach out to the side.",
        "cutting": "Wear eye and hearing protection. Clamp the work, keep both hands behind the edge, and let the tool "
        "stop before you put it down.",
        "drilling": "Wear eye protection. Find out what lies behind before you drill: wires, pipes, heating.",
        "blades": "Cut away from your body and your other hand, and put the blade away at once.",
        "old-paint": "Old paint may hold lead; old putty, sealant and board may hold asbestos. Treat them as if they "
        "did until a test says otherwise.",
        "dust": "Catch the dust with a vacuum or keep it down with water, and wear a mask that fits.",
        "wiring": "Treat every wire as live until somebody licensed has proved it dead.",
        "chemicals": "Read the label. Wear gloves and eye protection, let fresh air in, and keep flames away.",
    }
)
"""A caution of each kind, for a file that has none of its own."""


def _whole(words: str) -> str:
    return "|".join(re.escape(word.strip()) for word in sorted(words.split(","), key=len, reverse=True))


_KINDS = {kind: re.compile(rf"\b(?:{_whole(words)})\b", re.IGNORECASE) for kind, words in WORDS.items()}
_FIRST_WORDS = {word.split()[0] for words in WORDS.values() for word in words.split(",")}
_WORD = re.compile(r"[a-z]+")


def kinds(text: str) -> dict[str, re.Match[str]]:
    """Kinds of hazard that a text tells of, each with the first words that tell it."""
    if _FIRST_WORDS.isdisjoint(_WORD.findall(text.lower())):
        return {}
    found = {kind: pattern.search(text) for kind, pattern in _KINDS.items()}
    return {kind: match for kind, match in found.items() if match is not None}


@dataclass(frozen=True, slots=True)
class _Tells:
    """A kind of hazard that words of an entry tell of, and where."""

    kind: str
    word: str
    scalar: Scalar | None
    at: int


Supplied = Mapping[str, tuple[str, ...]]
"""Label of a step, correction or make-safe -> the general cautions it is given."""


def check_cautions(draft: Draft) -> Supplied:
    """Note what can hurt someone and shows no caution; where the file has none at all, supply general ones."""
    own = "cautions" in draft.top.said
    about = {
        name: set(kinds(f"{name.replace('-', ' ')}. {one.text('') or ''}"))
        for name, one in draft.table("cautions").items()
    }
    supplied: dict[str, tuple[str, ...]] = {}
    for step in draft.steps.values():
        tells = list(_tells(step, ("say", "how")))
        _look(draft, step, step.words("caution"), tells, own, about, supplied)
        out = step.inner("out")
        if out is not None and "harmless" not in step.said:
            shown = (*step.words("caution"), *supplied.get(step.label, ()), *out.words("caution"))
            tells = [one for one in _tells(out, ("say",)) if one.kind not in shown]
            _look(draft, out, shown, tells, own, about, supplied)
    for one in draft.table("make-safe").values():
        _look(draft, one, one.words("caution"), list(_tells(one, ("say",))), own, about, supplied)
    return supplied


def _tells(entry: Entry, keys: tuple[str, ...]) -> Iterator[_Tells]:
    told: set[str] = set()
    for key in keys:
        words = entry.get(key)
        for scalar in words.values() if isinstance(words, dict) else (words,) if words is not None else ():
            for kind, match in sorted(kinds(scalar.text).items(), key=lambda found: found[1].start()):
                if kind not in told:
                    told.add(kind)
                    yield _Tells(kind, match[0], scalar, match.start())
    crew = entry.get("crew", 1)
    if crew > 1 and "lifting" not in told:
        yield _Tells("lifting", f"crew: {crew}", None, 0)


def _look(
    draft: Draft,
    entry: Entry,
    shown: tuple[str, ...],
    tells: list[_Tells],
    own: bool,
    about: Mapping[str, set[str]],
    supplied: dict[str, tuple[str, ...]],
) -> None:
    """Judge one entry by what its words tell of and the cautions it shows."""
    if "harmless" in entry.said:
        if not tells:
            draft.remarks.add(
                "needless",
                f'nothing in {entry.label} sounds dangerous: "harmless" is needless',
                draft.place(entry.said["harmless"]),
            )
        return
    if not own:
        missing = [one for one in tells if one.kind not in shown]
        if missing:
            supplied[entry.label] = tuple(one.kind for one in missing)
            message = f"{entry.label} tells of {_and(missing)}; the file has no cautions, so a general one is shown"
            draft.remarks.add("general-caution", message, _place(draft, entry, missing[0]))
        return
    if tells and not shown and "caution" not in entry.said:
        message = f"{entry.label} tells of {_and(tells)} and shows no caution"
        hint = 'Name one in "caution", or say in "harmless" why it needs none.'
        draft.problems.add("no-caution", message, _place(draft, entry, tells[0]), hint)
        return
    covered = set().union(*(about.get(name, set()) for name in shown))
    bare = [one for one in tells if one.kind not in covered]
    if bare:
        message = f"{entry.label} tells of {_and(bare)}, and no caution it shows does"
        hint = 'Name one that does in "caution", or say in "harmless" why it needs none.'
        draft.problems.add("other-caution", message, _place(draft, entry, bare[0]), hint)


def _place(draft: Draft, entry: Entry, tells: _Tells) -> Place:
    if tells.scalar is None:
        return draft.place(entry.said["crew"])
    return draft.source.place_in(tells.scalar, tells.at, len(tells.word))


def _and(tells: list[_Tells]) -> str:
    named = [f'{one.kind.replace("-", " ")} ("{one.word}")' for one in tells]
    return named[0] if len(named) == 1 else f"{', '.join(named[:-1])} and {named[-1]}"
