"""From the text of one file or several to a procedure: read, cross-checked, built only if nothing is wrong."""

from __future__ import annotations

import contextlib
import gc
import hashlib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import PurePath

from guide.problems import Problem
from guide.procedure import graph, schema
from guide.procedure.draft import Draft, Entry, Part, Span
from guide.procedure.figures import Figures
from guide.procedure.hazards import GENERAL, Supplied, check_cautions
from guide.procedure.model import (
    Choice,
    Fact,
    Hold,
    MakeSafe,
    Moves,
    Out,
    Procedure,
    Range,
    Reading,
    Sign,
    SourceFile,
    Step,
    Together,
    Wait,
)
from guide.procedure.names import Uses, check_names
from guide.procedure.nodes import Scalar, Source
from guide.procedure.reader import Reader
from guide.procedure.readings import check_readings
from guide.procedure.sequence import check_sequence
from guide.procedure.sets import check_sets
from guide.procedure.shares import Fetch, nothing, read_shares
from guide.procedure.source import compose
from guide.procedure.states import check_states
from guide.procedure.steps import check_steps
from guide.quantity import LENGTH, UNITS

ROUNDS = 3
"""Failed rounds of a check before the lead decides, where the file says nothing."""

_FLUSH = Sign("proud of the wall", "behind the wall")


@contextlib.contextmanager
def _collector_resting() -> Iterator[None]:
    """Keep the garbage collector from walking a growing tree over and over: that makes long files quadratic."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()


@_collector_resting()
def examine_source(
    file: SourceFile, shown: str, fetch: Fetch = nothing, kept: bool = False
) -> tuple[Procedure | None, list[Problem], list[Problem]]:
    """The procedure if it has no fault, its faults, its remarks.

    `shown` is how messages name the file; `fetch` gives the files that it shares.
    A procedure `kept` in a record was good enough to be started once: what is asked of cautions today is not held
    against it, so that every older record can be read for ever.
    """
    draft = Draft(Source(shown, file.text))
    root = compose(draft.source, draft.problems)
    if root is not None:
        Reader(draft).file(root, schema.FILE, draft.top)
    if not draft.top.said:
        return None, draft.problems.in_order(), []
    shared, whole = read_shares(draft, file.name, fetch)
    if not whole:
        return None, draft.problems.in_order(), []
    uses = check_names(draft)
    check_steps(draft)
    figures = Figures(draft)
    takers = check_readings(draft, figures)
    check_sets(draft, figures)
    check_sequence(draft, uses, takers)
    check_states(draft)
    broken = bool(draft.problems.found)
    supplied = check_cautions(draft)
    if broken or (draft.problems.found and not kept):
        return None, draft.problems.in_order(), draft.remarks.in_order()
    return _Builder(draft, uses, supplied).procedure((file, *shared)), [], draft.remarks.in_order()


def sha256(sources: Sequence[SourceFile]) -> str:
    """The hash of all source files, names and lengths included, in order."""
    digest = hashlib.sha256()
    for source in sources:
        name, text = source.name.encode(), source.text.encode()
        digest.update(b"%d:%s%d:%s" % (len(name), name, len(text), text))
    return digest.hexdigest()


class _Builder:
    """Builds the frozen model from a draft without faults."""

    def __init__(self, draft: Draft, uses: Uses, supplied: Supplied) -> None:
        self.draft = draft
        self.uses = uses
        self.supplied = supplied
        self.rounds: int = draft.top.get("rounds", ROUNDS)
        self.readings = {name: _reading(name, one) for name, one in draft.readings.items()}

    def procedure(self, sources: tuple[SourceFile, ...]) -> Procedure:
        """The whole procedure."""
        top, table = self.draft.top, self.draft.table
        steps: dict[str, Step] = {}
        part = ""
        for name, entry in self.draft.steps.items():
            part = entry.text("part") or part
            steps[name] = self._step(name, entry, part)
        make_safe = {name: self._make_safe(name, one) for name, one in table("make-safe").items()}
        together = {name: _together(name, one) for name, one in table("together").items()}
        worked = {name: one.got[""].expression for name, one in table("worked").items()}
        cautions = {name: one.text("") or "" for name, one in table("cautions").items()}
        if "cautions" not in top.said:
            given: list[MakeSafe | Step | Out] = [
                *make_safe.values(),
                *steps.values(),
                *(step.out for step in steps.values() if step.out),
            ]
            used = {name for one in given for name in one.cautions}
            cautions = {name: words for name, words in GENERAL.items() if name in used}
        in_order = graph.order(graph.before(steps))
        return Procedure(
            name=PurePath(sources[0].name).stem,
            title=top.text("title") or "",
            steps=steps,
            readings=self.readings,
            about=top.text("about") or "",
            defers=top.text("defers") or "",
            states={name: one.text("") or "" for name, one in table("states").items()},
            facts={n: Fact(n, one.got["value"], one.text("standing") or "") for n, one in table("facts").items()},
            choices={name: _choice(name, one) for name, one in table("choices").items()},
            worked=worked,
            cautions=cautions,
            make_safe=make_safe,
            together=together,
            parts=tuple(dict.fromkeys(step.part for step in steps.values() if step.part)),
            sources=sources,
            sha256=sha256(sources),
            order=in_order,
            rank=graph.rank(self._checks(steps, in_order)),
            watchers=graph.watchers(steps, in_order, _states(self.draft, steps, make_safe)),
            used_by=graph.used_by(steps, in_order, worked, self.readings),
            set_of={check: one for one in together.values() for check in one.checks},
        )

    def _checks(
        self, steps: Mapping[str, Step], in_order: Sequence[str]
    ) -> dict[str, tuple[tuple[str, ...], tuple[str, ...]]]:
        """Every check in order, with the states its correction disturbs and those it watches.

        And every other reading that watches something: nothing corrects it.
        """
        found = {}
        for step in (steps[name] for name in in_order):
            if self.draft.is_check(self.draft.steps[step.name]):
                found[step.name] = (step.out.adjust if step.out else step.watches, step.watches)
            elif step.watches:
                found[step.name] = ((), step.watches)
        return found

    def _step(self, name: str, entry: Entry, part: str) -> Step:
        take = next(iter(entry.words("take")), None)
        within: Span | None = entry.get("within")
        even: Part | None = entry.get("even")
        hold, wait = entry.inner("hold"), entry.inner("wait")
        used = (str(use.name) for use in self.uses[name] if use.key != "likely")
        return Step(
            name=name,
            say=entry.text("say") or f"{self.readings[take or ''].ask.rstrip('.')}.",
            part=part,
            why=entry.text("why"),
            mistake=entry.text("mistake"),
            how=entry.text("how"),
            after=entry.words("after"),
            needs=entry.words("needs"),
            when={choice.text: tuple(one.text for one in options) for choice, options in entry.get("when", ())},
            cautions=(*entry.words("caution"), *self.supplied.get(entry.label, ())),
            crew=entry.get("crew", 1),
            take=take,
            within=within.range if within is not None else None,
            even=even.expression if even is not None else None,
            watches=entry.words("watches"),
            disturbs=entry.words("disturbs"),
            out=self._out(entry),
            hold=Hold(hold.got["by"], hold.text("look") or "") if hold is not None else None,
            wait=Wait(wait.got["time"], wait.text("for") or "") if wait is not None else None,
            leaves=entry.words("leaves"),
            secures=entry.words("secures"),
            safety=entry.get("safety", False),
            cannot_undo=not entry.get("undo", True),
            uses=tuple(dict.fromkeys(used)),
            rounds=entry.get("rounds", self.rounds),
        )

    def _out(self, entry: Entry) -> Out | None:
        out = entry.inner("out")
        if out is None:
            return None
        said: Mapping[str, Scalar] = out.get("say", {})
        return Out(
            adjust=out.words("adjust") if "adjust" in out.said else entry.words("watches"),
            say={side: " ".join(words.text.split()) for side, words in said.items()},
            cautions=(*out.words("caution"), *self.supplied.get(out.label, ())),
            crew=out.get("crew", 1),
        )

    def _make_safe(self, name: str, entry: Entry) -> MakeSafe:
        return MakeSafe(
            name=name,
            say=entry.text("say") or "",
            why=entry.text("why"),
            cautions=(*entry.words("caution"), *self.supplied.get(entry.label, ())),
            crew=entry.get("crew", 1),
            disturbs=entry.words("disturbs"),
            stays=entry.get("stays", False),
        )


def _states(draft: Draft, steps: Mapping[str, Step], make_safe: Mapping[str, MakeSafe]) -> list[str]:
    """Every state there is, in the order of the table, then of the steps."""
    found = dict.fromkeys(draft.table("states"))
    for step in steps.values():
        found.update(dict.fromkeys((*step.watches, *step.disturbs, *(step.out.adjust if step.out else ()))))
    for one in make_safe.values():
        found.update(dict.fromkeys(one.disturbs))
    return list(found)


def _together(name: str, entry: Entry) -> Together:
    moves = entry.inner("moves")
    return Together(name, entry.words("checks"), _moves(moves) if moves is not None else None)


def _moves(entry: Entry) -> Moves:
    width, height = entry.got["width"].expression, entry.got["height"].expression
    return Moves(entry.get("leaves", 1), width, height, next(iter(entry.words("hinges")), None))


def _choice(name: str, entry: Entry) -> Choice:
    return Choice(name, entry.text("ask") or "", _options(entry), entry.text("why"))


def _options(entry: Entry) -> dict[str, str]:
    return {name: " ".join(words.text.split()) for name, words in entry.get("options", {}).items()}


def _reading(name: str, entry: Entry) -> Reading:
    unit = entry.get("unit", "in")
    likely: Span | None = entry.get("likely")
    sign = entry.inner("sign")
    about = entry.get("about", "length" if UNITS[unit][1] == LENGTH else "amount")
    return Reading(
        name=name,
        ask=(entry.text("ask") or "").rstrip("?"),
        answer=entry.get("answer", "number"),
        places=entry.words("at"),
        keep=entry.get("keep", "each"),
        unit=unit,
        likely=Range(likely.range.low, likely.range.high) if likely is not None else None,
        instrument=entry.text("with"),
        over=entry.get("over"),
        about=about,
        sign=_sign(sign) if sign is not None else _FLUSH if about == "flush" else None,
        options=_options(entry),
        good=entry.words("good"),
        measures=entry.get("measures"),
        how=entry.text("how"),
    )


def _sign(entry: Entry) -> Sign:
    return Sign(entry.text("plus") or "", entry.text("minus") or "", entry.words("toward"), entry.words("away"))
