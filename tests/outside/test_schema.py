"""The JSON Schema of procedure files and the loader, file by file, with another library as the judge of the schema."""

from __future__ import annotations

import copy
import json
import random
from collections import Counter
from collections.abc import Callable, Iterator
from typing import ClassVar

import jsonschema
import pytest
import yaml
from faulty import examined
from growing import Bare, Grower, Path, Tree, at, changed

from guide.procedure import schema, shipped
from guide.procedure.json_schema import PATH
from guide.quantity import LENGTH, TIME

SEEDS = 300
JUDGE = jsonschema.Draft202012Validator(json.loads(PATH.read_text(encoding="utf-8")))
SHAPE = frozenset(
    {"shape", "no-value", "missing-key", "unknown-key", "trap", "name", "braces", "duplicate", "range", "unit"}
    | {"no-steps", "unreachable", "format"}
)
"""Codes of the loader's faults of shape."""


class _Old(getattr(yaml, "CSafeLoader", yaml.SafeLoader)):  # type: ignore[misc]
    """YAML 1.1: yes and no are booleans."""


class _New(getattr(yaml, "CSafeLoader", yaml.SafeLoader)):  # type: ignore[misc]
    """YAML 1.2 as far as these files go: only true and false are booleans."""

    yaml_implicit_resolvers: ClassVar = {
        letter: [pair for pair in pairs if not (pair[0].endswith(":bool") and letter not in "tTfF")]
        for letter, pairs in yaml.SafeLoader.yaml_implicit_resolvers.items()
    }


def judged(text: str) -> tuple[bool, bool]:
    """Whether the schema takes the text as a reader of YAML 1.1, and of 1.2, hands it on."""
    old, new = (json.loads(json.dumps(yaml.load(text, Loader=loader), default=str)) for loader in (_Old, _New))
    return JUDGE.is_valid(old), JUDGE.is_valid(new)


def kinds(kind: schema.Kind, tree: Tree, path: Path = ()) -> Iterator[tuple[Path, schema.Kind]]:
    """Every value that the schema has a kind for, with its path."""
    yield path, kind
    if isinstance(kind, schema.Shape):
        for key, value in tree.items():
            yield from kinds(kind.keys[key], value, (*path, key))
    elif isinstance(kind, schema.TableOf):
        for name, value in tree.items():
            yield from kinds(kind.item, value, (*path, name))


NO_TEXT: tuple[Tree, ...] = (Bare(""), "", "  ", {"a": "b"}, [["a"]])
NO_WORDS = (*NO_TEXT, ["a"], Bare("42"), Bare("1.5"), Bare("true"), Bare("null"))
WRONG: dict[type, tuple[Tree, ...]] = {
    schema.Words: NO_WORDS,
    schema.Count: (*NO_TEXT, [Bare("1")], Bare("0"), Bare("21"), "21", Bare("2.5"), Bare("-1"), Bare("true"), "two"),
    schema.YesNo: (*NO_TEXT, [Bare("yes")], "Yes", Bare("1"), Bare("maybe")),
    schema.OneOf: (*NO_TEXT, ["number"], "Number", Bare("42"), Bare("true"), Bare("none of these")),
    schema.Names: (*NO_TEXT, [" "], ["a", Bare("a")], ["a", {"b": "c"}]),
    schema.Labels: (*NO_TEXT, Bare("42"), ["a", Bare("a")], ["a", Bare("null")]),
    schema.Arithmetic: (*NO_TEXT, ["1 in"]),
    schema.Limits: (*NO_TEXT, ["1 in to 2 in"], "5 in", Bare("5"), "under 3 in", "to 3 in"),
    schema.Amount: (*NO_TEXT, ["1 in"], "3 furlongs", "in", "three in", "1 in 2", Bare("true")),
    schema.Unit: (*NO_TEXT, ["in"], "furlong", Bare("3"), "in mm"),
    schema.When: (*NO_TEXT[:3], {}, ["kind"], "kind", {"kind": []}, {"kind": {"a": "b"}}, {"kind": [" "]}),
    schema.Sentences: (*NO_WORDS[:3], {}, ["a"], {"over": "a"}, {"plus": "a", "minus": Bare("")}, Bare("42")),
    schema.Options: (*NO_TEXT[:3], {}, ["a", "b"], {"a": "b"}, {"A b": "c", "d": "e"}, {"a": "b", "c": Bare("42")}),
    schema.Shape: (*NO_TEXT[:3], "words", ["say"], Bare("42")),
    schema.TableOf: (*NO_TEXT[:3], "words", ["a"], {"": "b"}),
}
NO_NAME = ("Top", "a b", "a--b", "-a", "42", "ä", "x" * 61)
NO_FIGURE = ("a-b", "1a", "a__b", "Top", "a.b")


def _wrong(kind: schema.Kind, path: Path) -> tuple[Tree, ...]:
    """Values that have another shape than the kind."""
    more: tuple[Tree, ...] = ()
    if isinstance(kind, schema.Words) and kind.figures == "none":
        more = ("all {a}", "all }")
    elif isinstance(kind, schema.Limits) and kind.closed:
        more = ("at most 3 in",)
    elif isinstance(kind, schema.Amount) and kind.dimension is not None:
        more = ({LENGTH: "3 h", TIME: "3 in"}[kind.dimension], Bare("3"), "-3 in")
    elif isinstance(kind, schema.Names) and kind.most == 1:
        more = ([], ["a", "b"])
    elif isinstance(kind, schema.Labels) and path[-1] == "at":
        more = ("Top", ["a", "b!"])
    elif path == ("steps",):
        more = ({},)
    return WRONG[type(kind)] + more


def _sort(kind: schema.Kind) -> tuple[str, str]:
    return type(kind).__name__, kind.what if isinstance(kind, schema.Shape | schema.TableOf) else ""


def misshapen(tree: Tree, chance: random.Random) -> tuple[str, Tree]:
    """The tree with one fault of shape, and what was done to it."""
    found = list(kinds(schema.FILE, tree))
    want, what = chance.choice(sorted({_sort(kind) for _, kind in found}))
    path, kind = chance.choice([one for one in found if _sort(one[1]) == (want, what)])
    whole = copy.deepcopy(tree)
    here = at(whole, path)
    if isinstance(kind, schema.Shape) and (not path or chance.random() < 0.7):
        missing = [(key,) for key in kind.required] + ([kind.either] if kind.either else [])
        if missing and chance.random() < 0.5:
            gone = chance.choice(missing)
            for key in gone:
                here.pop(key, None)
            return f"missing {kind.what}.{gone[0]}", whole
        here[chance.choice(["tolerance", "colour", "Say", "on-top", ""])] = "words"
        return f"unknown key in {kind.what}", whole
    if isinstance(kind, schema.TableOf) and here and chance.random() < 0.5:
        name = chance.choice(NO_NAME if kind.joined == "-" else NO_FIGURE)
        here[name] = copy.deepcopy(next(iter(here.values())))
        return f"bad name of a {kind.what}", whole
    return f"wrong {want}", changed(tree, path, chance.choice(_wrong(kind, path)))


def _set(*path: str, to: Tree) -> Callable[[Tree], None]:
    def change(tree: Tree) -> None:
        at(tree, path[:-1])[path[-1]] = copy.deepcopy(to)

    return change


STEP: dict[str, Tree] = {"say": "Look again"}
CROSSED: dict[str, Callable[[Tree], None]] = {
    "unknown step": _set("steps", "s-1", "after", to="nowhere"),
    "a ring": _set("steps", "s-0", "after", to=["s-1", "s-0"]),
    "unknown caution": _set("steps", "s-0", "caution", to=["nothing"]),
    "unknown figure": _set("steps", "s-0", "uses", to="nothing"),
    "unknown figure in words": _set("steps", "s-0", "why", to="It is {nothing}"),
    "unknown name in arithmetic": _set("worked", "twice", to="2 * nothing"),
    "arithmetic that can't be read": _set("worked", "twice", to="2 * * fact_0"),
    "unlike units": _set("worked", "twice", to="1 in + 1 h"),
    "division by zero": _set("worked", "twice", to="1 in / 0"),
    "unknown choice": _set("steps", "s-1", "when", to={"nothing": "plain"}),
    "unknown reading": _set("steps", "more", to={"take": "nothing"}),
    "reading never taken": _set("readings", "more", to={"ask": "What", "answer": "text"}),
    "tolerance of nothing": _set("steps", "more", to={**STEP, "within": "1 in to 2 in"}),
    "watching without a check": _set("steps", "more", to={**STEP, "watches": "top"}),
    "unknown hazard": _set("steps", "more", to={**STEP, "leaves": "nothing"}),
    "a word that is taken": _set("facts", "min", to={"value": "1 in", "standing": "none"}),
    "a name of two things": _set("worked", "fact_0", to="2 in"),
    "needs what is no check": _set("steps", "more", to={**STEP, "needs": "more-yet"}),
}


@pytest.mark.outside("jsonschema, draft 2020-12 meta-schema", "published")
def test_the_schema_is_one() -> None:
    """The schema in the package is a schema of draft 2020-12"""
    jsonschema.Draft202012Validator.check_schema(JUDGE.schema)


@pytest.mark.outside("jsonschema, draft 2020-12", "published")
def test_shipped_procedures_have_the_shape() -> None:
    """The procedures that come with the guide have the schema's shape"""
    assert shipped()
    for path in shipped().values():
        assert judged(path.read_text(encoding="utf-8")) == (True, True), path


@pytest.mark.outside("jsonschema, draft 2020-12, as readers of YAML 1.1 and 1.2 hand files on", "published")
def test_good_files() -> None:
    """Random files without a fault are accepted by the loader and by the schema"""
    for seed in range(SEEDS):
        grower = Grower(seed)
        text = grower.text(grower.tree())
        procedure, faults, _ = examined(text)
        assert procedure is not None, (faults, text)
        assert judged(text) == (True, True), (list(JUDGE.iter_errors(yaml.load(text, Loader=_Old))), text)


@pytest.mark.outside("jsonschema, draft 2020-12, as readers of YAML 1.1 and 1.2 hand files on", "published")
def test_files_with_one_fault_of_shape() -> None:
    """Random files with one fault of shape are refused by the loader and by the schema"""
    done: Counter[str] = Counter()
    for seed in range(4 * SEEDS):
        grower = Grower(seed)
        what, tree = misshapen(grower.tree(), grower.random)
        text = grower.text(tree)
        _, faults, _ = examined(text)
        assert SHAPE & {fault.code for fault in faults}, (what, faults, text)
        assert judged(text) == (False, False), (what, text)
        done[what] += 1
    assert {f"wrong {kind.__name__}" for kind in WRONG} - done.keys() == set()
    shapes = [kind for kind in vars(schema).values() if isinstance(kind, schema.Shape)]
    needed = {(shape.what, key) for shape in shapes for key in (*shape.required, *shape.either[:1])}
    assert {f"missing {what}.{key}" for what, key in needed} - done.keys() == set()
    assert {f"unknown key in {shape.what}" for shape in shapes} - done.keys() == set()
    tables = [kind for kind in schema.FILE.keys.values() if isinstance(kind, schema.TableOf)]
    assert {f"bad name of a {table.what}" for table in tables} - done.keys() == set()


@pytest.mark.outside("jsonschema, draft 2020-12, as readers of YAML 1.1 and 1.2 hand files on", "published")
def test_files_with_a_fault_of_reference() -> None:
    """Random files whose only fault is beyond their shape are refused by the loader and accepted by the schema"""
    for seed in range(2 * SEEDS):
        grower = Grower(seed)
        tree = grower.tree()
        what = list(CROSSED)[seed % len(CROSSED)]
        CROSSED[what](tree)
        text = grower.text(tree)
        procedure, faults, _ = examined(text)
        assert procedure is None and faults, (what, text)
        assert judged(text) == (True, True), (what, text)
