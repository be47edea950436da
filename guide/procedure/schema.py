"""The shape of a procedure file, as values: which keys there are, what each holds, which must be there.

`guide.procedure.draft` reads a tree by it; `procedures/README.md` says it in words.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from guide.quantity import LENGTH, TIME, UNITS, Dimension
from guide.trade.measures import MEASURES

Figures = Literal["none", "figures", "correction"]
"""What words may carry in braces: nothing, figures, or figures and what a correction knows of its reading."""

References = Literal["step", "reading", "state", "caution", "hazard", "figure"]
"""What a name refers to; a figure is a fact, a reading or a worked figure."""


@dataclass(frozen=True, slots=True)
class Words:
    """A sentence or two."""

    figures: Figures = "none"
    wanted: str = "words"


@dataclass(frozen=True, slots=True)
class Count:
    """A whole number."""

    least: int
    most: int

    @property
    def wanted(self) -> str:
        """What it must be, in words."""
        return f"a whole number from {self.least} to {self.most}"


@dataclass(frozen=True, slots=True)
class YesNo:
    """Yes or no."""

    wanted: str = '"yes" or "no"'


@dataclass(frozen=True, slots=True)
class OneOf:
    """One of a few words."""

    words: tuple[str, ...]

    @property
    def wanted(self) -> str:
        """What it must be, in words."""
        quoted = [f'"{word}"' for word in self.words]
        return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"


@dataclass(frozen=True, slots=True)
class Names:
    """A name, or a list of names, of what is described elsewhere in the file."""

    of: References
    most: int | None = None

    @property
    def wanted(self) -> str:
        """What it must be, in words."""
        kind = "fact, reading or worked figure" if self.of == "figure" else self.of
        return f"the name of a {kind}" if self.most == 1 else f"the name of a {kind}, or a list of them"


@dataclass(frozen=True, slots=True)
class Labels:
    """A few words, or a list of them, that name places or answers."""

    wanted: str = "a few words, or a list of them"


@dataclass(frozen=True, slots=True)
class Arithmetic:
    """Arithmetic over figures and names."""

    wanted: str = 'arithmetic, such as "span - 2 * side_gap"'


@dataclass(frozen=True, slots=True)
class Limits:
    """From low to high; `closed` when both ends are wanted."""

    closed: bool = False

    @property
    def wanted(self) -> str:
        """What it must be, in words."""
        forms = '"LOW to HIGH" or "MIDDLE ± HALF"'
        return forms if self.closed else '"LOW to HIGH", "at most HIGH", "at least LOW" or "MIDDLE ± HALF"'


@dataclass(frozen=True, slots=True)
class Amount:
    """A figure with its unit: of any kind, or of one kind and then above zero."""

    dimension: Dimension | None = None
    example: str = "1/8 in"

    @property
    def wanted(self) -> str:
        """What it must be, in words."""
        return f'a figure with its unit, such as "{self.example}"'


@dataclass(frozen=True, slots=True)
class Unit:
    """The short name of a unit."""

    wanted: str = 'a unit, such as "in", "mm", "lb", "deg" or "none"'


@dataclass(frozen=True, slots=True)
class When:
    """Choices and the options of each."""

    wanted: str = "a table of choices, such as {pan: metal}"


@dataclass(frozen=True, slots=True)
class Sentences:
    """One sentence, or one each for readings above and below the middle."""

    wanted: str = "words, or {plus: words, minus: words}"


@dataclass(frozen=True, slots=True)
class Options:
    """Names of options and their words: two or more."""

    wanted: str = "a table of two or more options and their words"


@dataclass(frozen=True, slots=True)
class Shape:
    """A table with known keys; `required` must be there, and one of `either` or of `instead`."""

    what: str
    keys: Mapping[str, Kind]
    required: tuple[str, ...] = ()
    either: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()
    """Keys that stand for those of `either`: what those would say stands elsewhere."""

    @property
    def wanted(self) -> str:
        """What it must be, in words."""
        return "a table of keys and values"

    @property
    def hint(self) -> str:
        """The keys it knows."""
        return f"Its keys are {', '.join(self.keys)}."


@dataclass(frozen=True, slots=True)
class TableOf:
    """A table with names of the author's own; `joined` is the sign between the words of a name."""

    what: str
    item: Shape | Words | Arithmetic
    joined: Literal["-", "_"] = "-"
    reserved: frozenset[str] = field(default_factory=frozenset)

    @property
    def wanted(self) -> str:
        """What it must be, in words."""
        return f"a table with the name of each {self.what}"


Kind = (
    Words
    | Count
    | YesNo
    | OneOf
    | Names
    | Labels
    | Arithmetic
    | Limits
    | Amount
    | Unit
    | When
    | Sentences
    | Options
    | Shape
    | TableOf
)

_MOST_PEOPLE = 20
_MOST_ROUNDS = 20

FACT = Shape("fact", {"value": Amount(), "standing": Words()}, ("value", "standing"))

CHOICE = Shape("choice", {"ask": Words(), "options": Options(), "why": Words()}, ("ask", "options"))

SIGN = Shape(
    "sign", {"plus": Words(), "minus": Words(), "toward": Labels(), "away": Labels()}, required=("plus", "minus")
)

READING = Shape(
    "reading",
    {
        "ask": Words(),
        "answer": OneOf(("number", "yes-no", "choice", "text", "name")),
        "at": Labels(),
        "keep": OneOf(("smallest", "largest", "mean")),
        "unit": Unit(),
        "likely": Limits(closed=True),
        "with": Words(),
        "over": Amount(LENGTH, "24 in"),
        "about": OneOf(("length", "level", "plumb", "flush", "gap", "square", "twist", "amount")),
        "sign": SIGN,
        "options": Options(),
        "good": Labels(),
        "measures": OneOf(tuple(MEASURES)),
        "how": Words(),
    },
    required=("ask",),
)

OUT = Shape(
    "out",
    {
        "adjust": Names("state"),
        "say": Sentences(),
        "caution": Names("caution"),
        "crew": Count(1, _MOST_PEOPLE),
    },
)

HOLD = Shape("hold", {"by": OneOf(("lead", "inspector")), "look": Words()}, ("by", "look"))

WAIT = Shape("wait", {"time": Amount(TIME, "24 h"), "for": Words()}, ("time", "for"))

STEP = Shape(
    "step",
    {
        "say": Words("figures"),
        "part": Words(),
        "why": Words("figures"),
        "mistake": Words("figures"),
        "how": Words("figures"),
        "after": Names("step"),
        "needs": Names("step"),
        "when": When(),
        "caution": Names("caution"),
        "harmless": Words(),
        "crew": Count(1, _MOST_PEOPLE),
        "take": Names("reading", most=1),
        "within": Limits(),
        "even": Arithmetic(),
        "watches": Names("state"),
        "disturbs": Names("state"),
        "out": OUT,
        "rounds": Count(1, _MOST_ROUNDS),
        "safety": YesNo(),
        "hold": HOLD,
        "wait": WAIT,
        "leaves": Names("hazard"),
        "secures": Names("hazard"),
        "undo": YesNo(),
        "uses": Names("figure"),
        "shared": YesNo(),
    },
    either=("say", "take"),
    instead=("shared",),
)

MAKE_SAFE = Shape(
    "make-safe",
    {
        "say": Words(),
        "why": Words(),
        "caution": Names("caution"),
        "harmless": Words(),
        "crew": Count(1, _MOST_PEOPLE),
        "disturbs": Names("state"),
        "stays": YesNo(),
    },
    required=("say",),
)

MOVES = Shape(
    "moves",
    {
        "leaves": Count(1, 2),
        "width": Arithmetic(),
        "height": Arithmetic(),
        "hinges": Names("reading", most=1),
    },
    required=("leaves", "width", "height"),
)

TOGETHER = Shape("set", {"checks": Names("step"), "moves": MOVES}, required=("checks",))

RESERVED = frozenset({"min", "max", "abs", "to", "by", "over", "value", "place"}) | {u for u in UNITS if u.isalnum()}
"""Words that mean something of their own in arithmetic, limits or the words of a correction."""

FILE = Shape(
    "file",
    {
        "format": OneOf(("1",)),
        "title": Words(),
        "about": Words(),
        "defers": Words(),
        "rounds": Count(1, _MOST_ROUNDS),
        "shares": Labels("the name of a file, or a list of them"),
        "states": TableOf("state", Words()),
        "facts": TableOf("fact", FACT, "_", RESERVED),
        "choices": TableOf("choice", CHOICE),
        "readings": TableOf("reading", READING, "_", RESERVED),
        "worked": TableOf("worked figure", Arithmetic(), "_", RESERVED),
        "cautions": TableOf("caution", Words()),
        "make-safe": TableOf("hazard", MAKE_SAFE),
        "together": TableOf("set", TOGETHER),
        "steps": TableOf("step", STEP),
    },
    required=("format", "title", "steps"),
)

OTHER_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "tolerance": "within",
        "limits": "within",
        "range": "likely",
        "do": "say",
        "text": "say",
        "reading": "take",
        "measure": "take",
        "check": "take",
        "requires": "needs",
        "depends": "after",
        "people": "crew",
        "warning": "caution",
        "cautions": "caution",
        "danger": "caution",
        "moves": "disturbs",
        "affects": "disturbs",
        "if": "when",
        "heading": "part",
        "reason": "why",
        "question": "ask",
        "type": "answer",
        "places": "at",
        "instrument": "with",
        "source": "standing",
    }
)
"""Words that people write for a key, and the key."""
