"""The JSON Schema in the package: the one that the schema makes, with help for every key."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest

from guide.procedure import json_schema as made
from guide.procedure import schema
from guide.quantity import SPELLINGS, UNITS, quantity, unit_named


def test_the_file_is_what_the_schema_makes() -> None:
    assert made.PATH.read_text(encoding="utf-8") == made.as_text(), "run: python -m guide.procedure.json_schema"


def test_the_file_says_which_json_schema_it_is() -> None:
    assert json.loads(made.as_text())["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("shape", [schema.FILE, schema.READING, schema.STEP], ids=lambda shape: str(shape.what))
def test_every_key_has_its_row_in_the_format_page(shape: schema.Shape) -> None:
    rows = made.described()
    assert [key for key in shape.keys if (shape.what, key) not in rows] == []
    assert [key for what, key in rows if what == shape.what and key not in shape.keys] == []


def properties(part: Any) -> Iterator[tuple[str, Any]]:
    """Every key with a value of its own anywhere in a schema."""
    if isinstance(part, dict):
        if part.get("additionalProperties") is False and "anyOf" not in part.get("properties", {}):
            yield from part["properties"].items()
        for inner in part.values():
            yield from properties(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from properties(inner)


def test_help_is_there_for_every_key() -> None:
    shown = [(key, one.get("description")) for key, one in properties(made.json_schema())]
    assert len(shown) > 70
    assert {key for key, text in shown if not text} == {"plus", "minus"}, "the two sides of a correction explain it"
    assert ("take", "the reading it asks for") in shown


def test_patterns_are_plain_enough_for_every_dialect() -> None:
    """No inline flags, look-behinds, named groups or escapes of Python's own."""
    patterns = re.findall(r'"pattern": (".*")', made.as_text())
    assert len(patterns) > 50
    for pattern in map(json.loads, patterns):
        assert re.search(r"\(\?(?!=)", pattern) is None
        assert set(re.findall(r"\\(.)", pattern)) <= set("sStd.+-")


def _amounts(what: str, key: str) -> re.Pattern[str]:
    found = made.json_schema()["$defs"][what]["properties"][key]
    return re.compile(found["pattern"] if "pattern" in found else found["anyOf"][0]["pattern"])


@pytest.mark.parametrize("word", [*UNITS, *SPELLINGS])
def test_every_unit_is_known_as_the_loader_knows_it(word: str) -> None:
    unit = unit_named(word)
    assert unit is not None
    for written in (f"1 1/2 {word}", f"-.5 {word.upper()}", f" 3{word.replace(' ', '  ')} "):
        assert quantity(written).unit == unit
        assert _amounts("fact", "value").search(written)
    for what, key, dimension in (("reading", "over", UNITS["in"][1]), ("wait", "time", UNITS["h"][1])):
        assert bool(_amounts(what, key).search(f"24 {word}")) == (UNITS[unit][1] == dimension)


@pytest.mark.parametrize("written", ["6 ft 8 1/4 in", "6' 8\"", "36-3/16 in", "7", "−2 deg", "20 sq ft", "50%"])
def test_figures_of_every_form(written: str) -> None:
    assert quantity(written)
    assert _amounts("fact", "value").search(written)


@pytest.mark.parametrize("written", ["3 furlongs", "in", "1/ in", "3 in or so", "6 ft 8 ft", "1 2 in", "", "x 3 in"])
def test_what_is_no_figure(written: str) -> None:
    with pytest.raises(ValueError):
        quantity(written)
    assert _amounts("fact", "value").search(written) is None
