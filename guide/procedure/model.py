"""A procedure as the engine sees it: frozen data, cross-checked by `guide.procedure.build`.

Everything here is plain and immutable; nothing reads a file or asks a clock. Positions of the author's text
are kept by the loader, not here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from guide.procedure.worked import Expression
from guide.quantity import Quantity

Answer = Literal["number", "yes-no", "choice", "text", "name"]
"""What a reading is: a number with a unit, yes or no, one of some options, free words, a person's name."""

About = Literal["length", "level", "plumb", "flush", "gap", "square", "twist", "amount"]
"""What a number tells of; settles which directions a crew may say with it ("proud", "low on the left")."""

SIGNED: frozenset[str] = frozenset({"level", "plumb", "flush", "square", "twist"})
"""Kinds of reading whose number has a side, so the procedure must say what + and - mean."""

Keep = Literal["each", "smallest", "largest", "mean"]
"""Which of several places' values stands for the reading in `worked`."""

Role = Literal["crew", "lead", "inspector"]


@dataclass(frozen=True, slots=True)
class Fact:
    """A figure the procedure relies on, and where it comes from (a published source, or "common practice")."""

    name: str
    value: Quantity
    standing: str


@dataclass(frozen=True, slots=True)
class Choice:
    """A question asked at the start, whose answer switches steps on and off; options are name -> words."""

    name: str
    ask: str
    options: Mapping[str, str]
    why: str | None = None


@dataclass(frozen=True, slots=True)
class Sign:
    """What + and - mean, in words, and the side words they go with ("right" for +, "left" for -)."""

    plus: str
    minus: str
    toward: tuple[str, ...] = ()
    """Sides that + names: level, the high end; plumb, where the top leans; square, where it is open."""
    away: tuple[str, ...] = ()
    """The same for -."""


@dataclass(frozen=True, slots=True)
class Range:
    """From `low` to `high`, both ends included; either may be open (None), not both."""

    low: Expression | None
    high: Expression | None


@dataclass(frozen=True, slots=True)
class Reading:
    """Something the crew is asked for, at one place or several (`places` empty means just one, unnamed)."""

    name: str
    ask: str
    answer: Answer = "number"
    places: tuple[str, ...] = ()
    keep: Keep = "each"
    unit: str = "in"
    likely: Range | None = None
    instrument: str | None = None
    over: Quantity | None = None
    about: About = "length"
    sign: Sign | None = None
    options: Mapping[str, str] = field(default_factory=dict)
    good: tuple[str, ...] = ()
    """For yes-no and choice: the answers that pass; empty when any will do."""
    measures: str | None = None
    """The quantity of `guide.trade.measures` that it is a reading of, so that computations take it from here."""
    how: str | None = None


@dataclass(frozen=True, slots=True)
class Out:
    """What to do when a check is out: the states the correction disturbs, and the advice by side.

    `say` has "any", or "plus" and "minus" (the reading lies above, below its aim); the words may use
    {by} (to the aim), {over} (beyond the limit), {value} and {place}.
    """

    adjust: tuple[str, ...]
    say: Mapping[str, str] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    crew: int = 1


@dataclass(frozen=True, slots=True)
class Hold:
    """A hold point: a named person of this role must look before work goes on."""

    by: Role
    look: str


@dataclass(frozen=True, slots=True)
class Wait:
    """Time that must pass once the step is done, and what for."""

    time: Quantity
    what: str


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do or to check. A step with `take` and something to pass or fail is a check."""

    name: str
    say: str
    part: str = ""
    why: str | None = None
    mistake: str | None = None
    how: str | None = None
    after: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    when: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Choice -> the options with which the step is in the job; all must match."""
    cautions: tuple[str, ...] = ()
    crew: int = 1
    take: str | None = None
    within: Range | None = None
    even: Expression | None = None
    """The most that the places' values may differ from each other."""
    watches: tuple[str, ...] = ()
    disturbs: tuple[str, ...] = ()
    out: Out | None = None
    hold: Hold | None = None
    wait: Wait | None = None
    leaves: tuple[str, ...] = ()
    secures: tuple[str, ...] = ()
    safety: bool = False
    """A safety check takes no concession."""
    cannot_undo: bool = False
    """Cut, drilled, ordered: put in doubt, only a lead can decide."""
    uses: tuple[str, ...] = ()
    """Readings, facts and worked figures this step was done on, also those named in its words and limits."""
    rounds: int = 3


@dataclass(frozen=True, slots=True)
class MakeSafe:
    """What a stop or a wait goes through while the work is left so: brace it, close it, say who stays."""

    name: str
    say: str
    why: str | None = None
    cautions: tuple[str, ...] = ()
    crew: int = 1
    disturbs: tuple[str, ...] = ()
    stays: bool = False
    """Whether somebody must stay with it, by name."""


@dataclass(frozen=True, slots=True)
class Moves:
    """The hinged unit that a set of checks is about, so that moves can be worked out for all of them at once.

    `width` is that of the head between the side frames, `height` that of the side frames, in any unit of length.
    `hinges` is the reading that says on which side a single leaf hangs, seen from inside.
    """

    leaves: int
    width: Expression
    height: Expression
    hinges: str | None = None


@dataclass(frozen=True, slots=True)
class Together:
    """Checks that depend on each other: all are read, also when one is out, before anything is corrected."""

    name: str
    checks: tuple[str, ...]
    moves: Moves | None = None


@dataclass(frozen=True, slots=True)
class SourceFile:
    """One file a procedure was read from, whole: the record keeps it."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Procedure:
    """A cross-checked procedure: every name in it resolves, `order` is a legal order of its steps."""

    name: str
    title: str
    steps: Mapping[str, Step]
    readings: Mapping[str, Reading]
    about: str = ""
    defers: str = ""
    """Said once at the start: what comes before this procedure (the unit's instructions, the local code)."""
    states: Mapping[str, str] = field(default_factory=dict)
    facts: Mapping[str, Fact] = field(default_factory=dict)
    choices: Mapping[str, Choice] = field(default_factory=dict)
    worked: Mapping[str, Expression] = field(default_factory=dict)
    cautions: Mapping[str, str] = field(default_factory=dict)
    make_safe: Mapping[str, MakeSafe] = field(default_factory=dict)
    together: Mapping[str, Together] = field(default_factory=dict)
    parts: tuple[str, ...] = ()
    sources: tuple[SourceFile, ...] = ()
    sha256: str = ""
    order: tuple[str, ...] = ()
    """Every step once, each behind what it comes `after` and `needs`; the file's order where that is free."""
    rank: Mapping[str, int] = field(default_factory=dict)
    """Recheck order: a check whose correction disturbs what others watch ranks before them."""
    watchers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """State -> the checks that watch it."""
    used_by: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Reading -> the steps that were worked out from it, directly or through `worked`."""
    set_of: Mapping[str, Together] = field(default_factory=dict)
    """Check -> the set it is read with."""

    def is_check(self, step: Step) -> bool:
        """Whether the step passes or fails: a tolerance, evenness, or answers that are good."""
        if step.take is None:
            return False
        return bool(step.within or step.even or self.readings[step.take].good)


ONE_PLACE = ""
"""The name of the only place of a reading that has no named places."""
