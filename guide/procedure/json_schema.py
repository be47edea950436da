"""The shape of a procedure file as a JSON Schema (draft 2020-12), so that an editor shows help and marks slips.

It is made from `guide.procedure.schema`, with descriptions from the tables of `procedures/README.md`, and kept in
the package as `procedure.schema.json`; `python -m guide.procedure.json_schema` writes that file anew.

It judges what an editor's YAML reader hands on: keys, kinds, enumerations, and patterns of names and figures. What
names refer to, what goes together, whether arithmetic can be read, and how a value was written before YAML resolved
it (`true` for `yes`, `3.0` for `3`, a date for words) is for `guide check` to say. Numbers count as figures, and
`yes` and `no` as booleans or words, as YAML 1.1 and 1.2 have it. A name such as `on`, which some readers of YAML take
for a yes, must stand in quotes wherever it is used, though the guide would know it without.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, assert_never

from guide.procedure import files, schema
from guide.procedure.reader import FIGURE, NAME
from guide.quantity import LENGTH, SPELLINGS, UNITS, Dimension

PATH = Path(__file__).with_name("procedure.schema.json")
"""The schema as a file of the package."""

LONGEST_NAME = 60

_NAME, _FIGURE = f"^{NAME.pattern}$", f"^{FIGURE.pattern}$"
_FIGURE_OR_PLACE = rf"^{FIGURE.pattern}(\.[a-z0-9_-]+)?$"
_PLACE = "^[a-z0-9]+([ -][a-z0-9]+)*$"
_SOMETHING = r"\S"
_WITHOUT_BRACES = r"^[^{}]*[^\s{}][^{}]*$"
_FROM_TO = r"\S\s+to\s+\S|\S\s*(±|\+/-)\s*\S"
_ONE_END = r"^\s*at\s+(most|least)\s+\S"
_NUMBER = r"([0-9]+([ \t]+|-)[0-9]+[ \t]*/[ \t]*[0-9]+|[0-9]+[ \t]*/[ \t]*[0-9]+|[0-9]*\.[0-9]+|[0-9]+)"

_TABLES = {"Top level": "file", "A reading": "reading", "A step": "step"}
"""Headings of `procedures/README.md`, and the shape whose keys stand in the table below each."""

Schema = dict[str, Any]
Rows = Mapping[tuple[str, str], str]
"""What a key holds, in words, by shape and key."""


def json_schema() -> dict[str, Any]:
    """The JSON Schema of a procedure file of format 1."""
    made = _Maker(described())
    root = made.table(schema.FILE)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Procedure file, format 1",
        "description": 'The shape of a procedure file; "guide check FILE" finds every other fault.',
        **root,
        "$defs": made.shapes,
    }


def described() -> Rows:
    """The rows of the tables in `procedures/README.md`; none where the procedures are not installed."""
    folder = files.folder()
    rows: dict[tuple[str, str], str] = {}
    what = None
    for line in (folder / "README.md").read_text(encoding="utf-8").splitlines() if folder else ():
        if line.startswith("## "):
            what = _TABLES.get(line[3:])
        elif what and (row := re.fullmatch(r"\| (`.+?`(?:, `.+?`)*) \| (.+) \|", line)):
            rows.update({(what, key): row[2] for key in re.findall(r"`(.+?)`", row[1])})
    return rows


def as_text() -> str:
    """The schema as the package's file holds it."""
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


class _Maker:
    """Turns kinds into schemas; each shape is put once under `shapes`."""

    def __init__(self, rows: Rows) -> None:
        self.rows = rows
        self.shapes: dict[str, Schema] = {}

    def table(self, shape: schema.Shape) -> Schema:
        """A table with known keys."""
        made: Schema = {"type": "object", "additionalProperties": False}
        if shape.required:
            made["required"] = list(shape.required)
        if shape.either:
            made["anyOf"] = [{"required": [key]} for key in (*shape.either, *shape.instead)]
        made["properties"] = {
            key: {"description": self._help(shape, key, kind), **self._kind(kind, key)}
            for key, kind in shape.keys.items()
        }
        return made

    def _help(self, shape: schema.Shape, key: str, kind: schema.Kind) -> str:
        """What the key holds: its own row, that of a step's key of the same kind, or what it must be."""
        row = self.rows.get((shape.what, key))
        if row is None and schema.STEP.keys.get(key) == kind:
            row = self.rows.get(("step", key))
        return row or kind.wanted

    def _shape(self, shape: schema.Shape) -> Schema:
        if shape.what not in self.shapes:
            self.shapes[shape.what] = self.table(shape)
        return {"$ref": f"#/$defs/{shape.what}"}

    def _kind(self, kind: schema.Kind, key: str) -> Schema:
        match kind:
            case schema.Words(figures):
                return _text(_WITHOUT_BRACES if figures == "none" else _SOMETHING)
            case schema.Count(least, most):
                written = "|".join(str(one) for one in range(least, most + 1))
                return _either({"type": "integer", "minimum": least, "maximum": most}, _text(rf"^\s*({written})\s*$"))
            case schema.YesNo():
                return {"enum": ["yes", "no", True, False]}
            case schema.OneOf(words):
                return {"enum": [*words, *(int(word) for word in words if word.isdecimal())]}
            case schema.Names(of, most):
                return _one_or_list(_name(of), most)
            case schema.Labels():
                return _one_or_list(_label(key))
            case schema.Arithmetic():
                return {"type": ["string", "number"], "pattern": _SOMETHING}
            case schema.Limits(closed):
                return _text(_FROM_TO if closed else f"{_FROM_TO}|{_ONE_END}")
            case schema.Amount(dimension):
                return _amount(dimension)
            case schema.Unit():
                short = [unit for unit in UNITS if unit] + ["none"]
                return _either({"enum": short}, _text(rf"^\s*({_spelled(None)})\s*$"))
            case schema.When():
                option = {"type": "string", "pattern": _NAME, "maxLength": LONGEST_NAME}
                options = {"type": "array", "items": option, "minItems": 1}
                return {**_named(_NAME, _either(option, options)), "minProperties": 1}
            case schema.Sentences():
                one = _text(_SOMETHING)
                sides = {"type": "object", "properties": {"plus": one, "minus": one}, "minProperties": 1}
                return _either(one, {**sides, "additionalProperties": False})
            case schema.Options():
                return {**_named(_NAME, _text(_WITHOUT_BRACES)), "minProperties": 2}
            case schema.Shape():
                return self._shape(kind)
            case schema.TableOf(_, item, joined):
                table = _named(_NAME if joined == "-" else _FIGURE, self._kind(item, ""))
                return {**table, "minProperties": 1} if key == "steps" else table
        assert_never(kind)


def _text(pattern: str) -> Schema:
    return {"type": "string", "pattern": pattern}


def _either(*schemas: Schema) -> Schema:
    return {"anyOf": list(schemas)}


def _one_or_list(one: Schema, most: int | None = None) -> Schema:
    """One, or a list without doubles; with `most`, of exactly so many."""
    some: Schema = {"type": "array", "items": one, "uniqueItems": True}
    return _either(one, {**some, "minItems": most, "maxItems": most} if most else some)


def _named(pattern: str, item: Schema) -> Schema:
    """A table with names of the author's own."""
    names = {"pattern": pattern, "maxLength": LONGEST_NAME}
    return {"type": "object", "propertyNames": names, "additionalProperties": item}


def _name(of: schema.References) -> Schema:
    if of == "figure":
        return _text(_FIGURE_OR_PLACE)
    return {"type": "string", "pattern": _FIGURE if of == "reading" else _NAME, "maxLength": LONGEST_NAME}


def _label(key: str) -> Schema:
    if key == "good":
        return {"type": ["string", "boolean"], "pattern": _SOMETHING}
    return _text(_PLACE if key == "at" else _SOMETHING)


def _amount(dimension: Dimension | None) -> Schema:
    """A figure and its unit; a plain number only where any kind of figure will do, above zero where one kind is."""
    feet = "|".join(_spelling(word) for word in _words("ft"))
    inches = "|".join(_spelling(word) for word in _words("in"))
    sign = r"[+\-−]?\s*" if dimension is None else r"\+?\s*"
    units = _spelled(dimension)
    both = rf"|\s*({feet})\s*{_NUMBER}\s*({inches})" if dimension in (None, LENGTH) else ""
    text = _text(rf"^\s*{sign}{_NUMBER}(\s*({units}){both}){'?' if dimension is None else ''}\s*$")
    return _either(text, {"type": "number"}) if dimension is None else text


def _spelled(dimension: Dimension | None) -> str:
    """A pattern of every way to write a unit, or a unit of that dimension."""
    units = [unit for unit in UNITS if unit and dimension in (None, UNITS[unit][1])]
    return "|".join(_spelling(word) for unit in units for word in _words(unit))


def _words(unit: str) -> list[str]:
    return [unit, *(word for word, meant in SPELLINGS.items() if meant == unit)]


def _spelling(word: str) -> str:
    """A pattern of a unit's word in any case: JSON Schema has no flag for that."""
    letter = {" ": r"\s+", ".": r"\."}
    return "".join(f"[{one}{one.upper()}]" if "a" <= one <= "z" else letter.get(one, one) for one in word)


if __name__ == "__main__":
    PATH.write_text(as_text(), encoding="utf-8")
