"""Procedure files made at random: good ones, and ones with a single fault of shape or of reference.

A tree is a table (dict), a list, quoted text (str) or text as it stands without quotes (`Bare`).
"""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable, Iterator
from typing import Any

Tree = Any
Path = tuple[str | int, ...]


class Bare(str):
    """Text that stands without quotes."""


WORDS = ("Set", "the", "part", "at", "its", "mark", "and", "look", "again")
UNITS = ("in", "mm", "ft", "cm")
WHOLE = {
    "states": {"top": "the top", "rail": "the rail"},
    "choices": {
        "kind": {"ask": "Which kind is it", "options": {"plain": "a plain one", "2-part": "in two parts"}},
        "side": {"ask": "Which side", "options": {"left": "left", "right": "right", "both": "both"}, "why": "It turns"},
    },
    "make-safe": {"open": {"say": "Close it", "why": "It is open", "crew": Bare("1"), "stays": Bare("yes")}},
}


class Grower:
    """Makes one tree after another from a seed."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)

    def maybe(self, chance: float = 0.4) -> bool:
        return self.random.random() < chance

    def words(self, figure: str | None = None) -> str:
        text = " ".join(self.random.choices(WORDS, k=self.random.randint(2, 6)))
        quoted = self.maybe() or figure is not None
        text = f"{text} {{{figure}}}" if figure else text
        return text if quoted else Bare(text)

    def figure(self, least: int = 1, unit: str | None = None) -> str:
        unit = self.random.choice(UNITS) if unit is None else unit
        number = self.random.choice([f"{self.random.randint(least, 40)}", "3 1/2", "1/8", ".5", "7-3/16"])
        return self.written(f"{number} {unit}".strip())

    def written(self, text: str) -> str:
        return Bare(text) if self.maybe(0.7) else text

    def one_or_list(self, names: list[str]) -> Tree:
        some = self.random.sample(names, self.random.randint(1, len(names)))
        some = [self.written(one) for one in some]
        return some[0] if len(some) == 1 and self.maybe(0.7) else some

    def some(self, **makers: Callable[[], Tree]) -> dict[str, Tree]:
        """Some of the keys."""
        return {key.rstrip("_").replace("_", "-"): make() for key, make in makers.items() if self.maybe()}

    def tree(self) -> dict[str, Tree]:
        """A procedure without a fault."""
        top: dict[str, Tree] = {"format": self.written("1"), "title": self.words()}
        top |= self.some(about=self.words, defers=self.words, rounds=lambda: self.written("3"))
        top |= {key: copy.deepcopy(WHOLE[key]) for key in ("states", "choices") if self.maybe(0.6)}
        top["facts"] = {
            f"fact_{i}": {"value": self.figure(), "standing": self.words()} for i in range(self.random.randint(1, 3))
        }
        top["worked"] = {"twice": self.written("2 * fact_0"), "most": self.written("max(fact_0, twice) + 1/8 in")}
        top["readings"], top["steps"] = {}, {}
        if self.maybe():
            top["cautions"] = {"heavy": self.words()}
        for i in range(self.random.randint(2, 6)):
            top["steps"][f"s-{i}"] = self.step(i, top)
        if "choices" in top:
            when = {"kind": Bare("2-part")} if self.maybe() else {"side": ["left", Bare("both")], "kind": ["plain"]}
            top["steps"]["2nd-way"] = {"say": self.words(), "after": self.one_or_list(["s-0", "s-1"]), "when": when}
        if self.maybe(0.3):
            top["make-safe"] = copy.deepcopy(WHOLE["make-safe"])
            top["steps"]["opens"] = {"say": self.words(), "leaves": self.written("open")}
            top["steps"]["closes"] = {"say": self.words(), "after": [Bare("opens")], "secures": [Bare("open")]}
        if self.maybe(0.8):
            self.together(top)
        return top

    def together(self, top: dict[str, Tree]) -> None:
        """Two checks that are read together, with or without moves."""
        for name, reading, about in (("levels", "head_level", "level"), ("strings", "string_gap", "twist")):
            sign = {"plus": self.words(), "minus": self.words(), "toward": Bare("right"), "away": Bare("left")}
            top["readings"][reading] = {
                "ask": self.words(),
                "about": Bare(about),
                "likely": self.written("-1 in to 1 in"),
                "sign": sign,
            }
            top["steps"][name] = {"take": self.written(reading), "within": self.written("0 in ± 1/8 in")}
        one: dict[str, Tree] = {"checks": [self.written("levels"), Bare("strings")]}
        if self.maybe(0.9):
            height = self.written("fact_0 + 80 in")
            one["moves"] = {"leaves": self.written("2"), "width": self.written("70 in"), "height": height}
        top["together"] = {"frame": one}

    def step(self, i: int, top: dict[str, Tree]) -> dict[str, Tree]:
        """A step, with its reading; every step comes after the one before it."""
        step: dict[str, Tree] = {"after": self.one_or_list([f"s-{k}" for k in range(i)])} if i else {}
        step |= self.some(
            part=self.words,
            why=lambda: self.words("fact_0"),
            mistake=self.words,
            how=lambda: self.words("twice"),
            hold=lambda: {"by": self.written(self.random.choice(["lead", "inspector"])), "look": self.words()},
            wait=lambda: {
                "time": self.written(self.random.choice(["24 h", "30 min", "1 1/2 day"])),
                "for": self.words(),
            },
            undo=lambda: Bare("no"),
            uses=lambda: self.one_or_list(list(top["facts"])),
        )
        if self.maybe(0.3):
            step |= {"crew": self.written("2"), "harmless": self.words()}
        if "cautions" in top and self.maybe():
            step["caution"] = [Bare("heavy")]
        if self.maybe(0.4):
            step["say"] = self.words("fact_0")
            if self.maybe():
                step["disturbs"] = self.one_or_list(["top", "rail"])
        else:
            step["take"] = self.written(f"read_{i}")
            self.reading(f"read_{i}", step, top)
        return step

    def reading(self, name: str, step: dict[str, Tree], top: dict[str, Tree]) -> None:
        """A reading of any answer, and what the step that takes it makes of it."""
        answer = self.random.choice(["number", "number", "number", "yes-no", "choice", "text", "name"])
        made: dict[str, Tree] = {"ask": self.words()}
        if answer != "number" or self.maybe(0.3):
            made["answer"] = self.written(answer)
        made |= self.some(how=self.words, with_=self.words)
        check = answer == "number" and self.maybe(0.7)
        if answer == "yes-no" and self.maybe(0.6):
            made["good"] = self.random.choice([Bare("yes"), "no", [Bare("no")]])
            check = True
        if answer == "choice":
            made["options"] = {"left": self.words(), "right": self.words(), "before-1978": self.words()}
            if self.maybe():
                made["good"] = self.one_or_list(["left", "right"])
                check = True
        if answer == "number":
            self.number(made, step, check)
            if (
                "unit" not in made
                and not any("measures" in one for one in top["readings"].values())
                and self.maybe(0.3)
            ):
                made["measures"] = self.written("wall depth")
        if check:
            step |= self.some(
                watches=lambda: self.one_or_list(["top", "rail"]),
                rounds=lambda: Bare("20"),
                safety=lambda: Bare("yes"),
                out=lambda: {"say": self.words(), "adjust": self.one_or_list(["top"])},
            )
        top["readings"][name] = made

    def number(self, made: dict[str, Tree], step: dict[str, Tree], check: bool) -> None:
        unit = self.random.choice(UNITS)
        made |= self.some(unit=lambda: self.written(unit), about=lambda: Bare("gap"), over=lambda: self.figure(20))
        made["likely"] = self.written(self.random.choice(["1 in to 120 in", "600 mm ± 20 mm", "2 ft +/- 1/2 in"]))
        if self.maybe(0.3):
            made["about"] = Bare("level")
            made["sign"] = {"plus": self.words(), "minus": self.words(), "toward": Bare("right"), "away": ["left"]}
        if self.maybe():
            made |= {"at": [Bare("top"), "bottom left"], "keep": Bare("mean")}
        if check:
            forms = ["0 in to 1/8 in", "at most fact_0", "at least 1/16 in", "1/4 in ± 1/32 in"]
            step["within"] = self.written(self.random.choice(forms))
            if "at" in made and self.maybe():
                step["even"] = self.written("1/16 in")

    # Writing

    def text(self, tree: Tree) -> str:
        """The tree as YAML: blocks outside, braces and brackets inside at random."""
        lines: list[str] = []
        self._block(tree, 0, lines)
        return "\n".join(lines) + "\n"

    def _block(self, tree: dict[str, Tree], depth: int, lines: list[str]) -> None:
        for key, value in tree.items():
            begin = f"{'  ' * depth}{self.key(key)}:"
            if isinstance(value, dict) and value and (depth == 0 or self.maybe()):
                lines.append(begin)
                self._block(value, depth + 1, lines)
            else:
                lines.append(f"{begin} {self.flow(value)}")

    def flow(self, value: Tree) -> str:
        if isinstance(value, dict):
            return "{" + ", ".join(f"{self.key(key)}: {self.flow(one)}" for key, one in value.items()) + "}"
        if isinstance(value, list):
            return "[" + ", ".join(self.flow(one) for one in value) + "]"
        return str(value) if isinstance(value, Bare) else json.dumps(value, ensure_ascii=False)

    def key(self, key: str) -> str:
        plain = key.replace("-", "").replace("_", "").isalnum() and key.isascii() and not key.isdecimal()
        return key if plain and self.maybe(0.9) else json.dumps(key, ensure_ascii=False)


def spots(tree: Tree, path: Path = ()) -> Iterator[Path]:
    """The path of every value in a tree, the tree itself first."""
    yield path
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from spots(value, (*path, key))
    elif isinstance(tree, list):
        for i, value in enumerate(tree):
            yield from spots(value, (*path, i))


def at(tree: Tree, path: Path) -> Tree:
    """The value at a path."""
    for step in path:
        tree = tree[step]
    return tree


def changed(tree: Tree, path: Path, value: Tree) -> Tree:
    """A copy of the tree with another value at a path."""
    whole = copy.deepcopy(tree)
    at(whole, path[:-1])[path[-1]] = value
    return whole
