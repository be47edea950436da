"""Reads a tree by the schema into a draft, noting everything that does not fit, and goes on."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from guide.problems import Problems
from guide.procedure import schema
from guide.procedure.draft import Draft, Entries, Entry, Part, Span, flow_comma, shown
from guide.procedure.model import Range
from guide.procedure.nodes import Broken, ListNode, MapNode, Node, Scalar
from guide.procedure.source import yaml_kind
from guide.procedure.worked import Call, Expression, ExpressionError, parse
from guide.quantity import DIMENSION_NAMES, QuantityError, quantity, unit_named

NAME = re.compile(r"(?=[\d-]*[a-z])[a-z0-9]+(-[a-z0-9]+)*")
FIGURE = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")


class Unread(Exception):
    """The value can't be read; its fault has been noted."""


class Reader:
    """Reads one file's tree into its draft."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.problems: Problems = draft.problems

    def file(self, root: Node) -> None:
        """Read the whole tree; a file of another format is not read further."""
        top = self.draft.top
        if not isinstance(root, MapNode):
            if not isinstance(root, Broken):
                hint = 'Begin it with "format: 1" and "title: …", each on a line of its own.'
                self.problems.add("shape", "the file is not a table of keys and values", self.draft.place(root), hint)
            return
        other = next((v for k, v in root.pairs if k.text == "format" and isinstance(v, Scalar) and v.text != "1"), None)
        if isinstance(other, Scalar) and re.fullmatch(r"\d{1,9}", other.text):
            message = f"the file has format {other.text}, and this guide reads format 1"
            hint = "Nothing else in it was checked. A newer guide may read it."
            self.problems.add("format", message, self.draft.place(other), hint)
            return
        self._record(schema.FILE, root, top)

    # Tables

    def _record(self, shape: schema.Shape, node: MapNode, entry: Entry) -> None:
        """Read a table with known keys into an entry."""
        first: dict[str, Scalar] = {}
        for key, value in node.pairs:
            kind = shape.keys.get(key.text)
            if kind is None:
                self._unknown_key(shape, node, key, value, entry)
                continue
            again = key.text in first
            if again:
                self._duplicate(f'key "{key.text}" is there twice in {entry.label}', key, first[key.text])
            else:
                first[key.text] = key
                entry.said[key.text] = value
            try:
                read = _READ[type(kind)](self, kind, value, key, entry)
            except Unread:
                continue
            if not again:
                entry.got[key.text] = read
        for key_name in shape.required:
            if key_name not in first:
                self._missing(f'{entry.label} has no "{key_name}"', shape, entry)
        if shape.either and not any(name in first for name in shape.either):
            names = " nor ".join(f'"{name}"' for name in shape.either)
            self._missing(f"{entry.label} has neither {names}", shape, entry)

    def _missing(self, message: str, shape: schema.Shape, entry: Entry) -> None:
        hint = 'Add it on a line of its own, such as "format: 1".' if message.endswith('"format"') else None
        self.problems.add("missing-key", message, self.draft.place(entry.key), hint or shape.hint)

    def _unknown_key(self, shape: schema.Shape, node: MapNode, key: Scalar, value: Node, entry: Entry) -> None:
        hint = self.draft.nearest(key.text, shape.keys)
        if hint is None:
            hint = shape.hint
            if flow_comma(value, node):
                hint = "A comma ends a text inside { }: put the whole text in quotes."
        self.problems.add(
            "unknown-key", f'unknown key "{shown(key.text)}" in {entry.label}', self.draft.place(key), hint
        )

    def _duplicate(self, message: str, key: Scalar, first: Scalar) -> None:
        self.problems.add(
            "duplicate", message, self.draft.place(key), "Keep one of them.", [("first here", self.draft.place(first))]
        )

    def shape(self, kind: schema.Shape, node: Node, key: Scalar, entry: Entry) -> Entry:
        """A table with known keys."""
        inner = Entry(kind.what, key.text, key, f'"{key.text}" of {entry.label}')
        if not isinstance(node, MapNode):
            raise self._wrong(kind.wanted, node, key, entry, kind.hint)
        self._record(kind, node, inner)
        return inner

    def table(self, kind: schema.TableOf, node: Node, key: Scalar, entry: Entry) -> Entries:
        """A table with names of the author's own."""
        if not isinstance(node, MapNode):
            raise self._wrong(kind.wanted, node, key, entry)
        found: Entries = {}
        for name, value in node.pairs:
            one = Entry(kind.what, name.text, name, f'{kind.what} "{shown(name.text)}"')
            if name.text in found:
                self._duplicate(f"{one.label} is there twice", name, found[name.text].key)
            else:
                self._check_name(kind, name)
                found[name.text] = one
            self._entry(kind, value, name, one)
        if not found and key.text == "steps":
            self.problems.add("no-steps", "there are no steps", self.draft.place(key), "Write at least one step.")
        return found

    def _entry(self, kind: schema.TableOf, value: Node, name: Scalar, one: Entry) -> None:
        if isinstance(kind.item, schema.Shape):
            if isinstance(value, MapNode):
                self._record(kind.item, value, one)
            elif not isinstance(value, Broken):
                self.problems.add(
                    "shape",
                    f"{one.label} must be {kind.item.wanted}, not {_what(value)}",
                    self.draft.place(value if _visible(value) else name),
                    kind.item.hint,
                )
                one.said.update(dict.fromkeys(kind.item.keys, value))
            return
        one.said[""] = value
        try:
            one.got[""] = _READ[type(kind.item)](self, kind.item, value, Scalar("", True, 0, 0, 0, 0), one)
        except Unread:
            return

    def _check_name(self, kind: schema.TableOf, name: Scalar) -> None:
        pattern = NAME if kind.joined == "-" else FIGURE
        trap = yaml_kind(name)
        if trap in {"bool", "null"}:
            message = (
                f'"{name.text}" without quotes is {_TRAPS[trap]} to YAML, and it is the name of a {kind.what} here'
            )
            self.problems.add("trap", message, self.draft.place(name), f'Write it in quotes: "{name.text}".')
        elif not pattern.fullmatch(name.text) or len(name.text) > 60:
            better = re.sub(r"[^a-z0-9]+", kind.joined, name.text.lower()).strip(kind.joined)
            example = f': "{better}"' if pattern.fullmatch(better) and len(better) <= 60 else ""
            hint = f'Use lower-case words joined by "{kind.joined}"{example}.'
            message = f'"{shown(name.text)}" can\'t be the name of a {kind.what}'
            self.problems.add("name", message, self.draft.place(name), hint)
        elif name.text in kind.reserved:
            message = f'"{name.text}" can\'t be the name of a {kind.what}: it means something of its own in arithmetic'
            self.problems.add("name", message, self.draft.place(name), "Use a longer name.")

    # Values

    def _wrong(self, wanted: str, node: Node, key: Scalar, entry: Entry, hint: str | None = None) -> Unread:
        """Note that a value is not what is wanted there."""
        if isinstance(node, Broken):
            return Unread()
        spot = self.draft.place(node if _visible(node) else key if key.text else entry.key)
        label = f'"{key.text}" of {entry.label}' if key.text else entry.label
        if isinstance(node, Scalar) and node.plain and not node.text:
            self.problems.add("no-value", f"{label} has no value", spot, hint or f"It must be {wanted}.")
        else:
            self.problems.add("shape", f"{label} must be {wanted}, not {_what(node)}", spot, hint)
        return Unread()

    def _scalar(self, kind: schema.Kind, node: Node, key: Scalar, entry: Entry) -> Scalar:
        """A scalar that is not empty."""
        if not isinstance(node, Scalar) or not node.text.strip():
            raise self._wrong(kind.wanted, node, key, entry)
        return node

    def _free_of_traps(self, node: Scalar, wanted: str, label: str) -> None:
        """Refuse a plain scalar that a reader of YAML takes for something other than text."""
        trap = yaml_kind(node)
        if trap is None:
            return
        what = _TRAPS.get(trap, "not text")
        if trap == "int":
            what = _int_trap(node.text) or what
        message = f'{label} must be {wanted}; "{shown(node.text)}" without quotes is {what} to YAML'
        self.problems.add("trap", message, self.draft.place(node), f'Put it in quotes: "{shown(node.text)}".')
        raise Unread

    def words(self, kind: schema.Words, node: Node, key: Scalar, entry: Entry) -> Scalar:
        """Words; figures in braces are looked at by the cross-checks."""
        text = self._scalar(kind, node, key, entry)
        label = f'"{key.text}" of {entry.label}' if key.text else entry.label
        self._free_of_traps(text, kind.wanted, label)
        self._not_cut_short(text)
        if kind.figures == "none" and ("{" in text.text or "}" in text.text):
            sign = "{" if "{" in text.text else "}"
            message = f"no figures are put into {label}"
            spot = self.draft.source.place_in(text, text.text.index(sign))
            self.problems.add("braces", message, spot, "Leave out the braces.")
        return text

    def _not_cut_short(self, text: Scalar) -> None:
        spot = self.draft.source.cut_short(text)
        if spot is not None and spot.text is not None:
            rest = spot.text[spot.column - 1 :]
            message = f'"{shown(rest)}" is a comment to YAML, and not part of the text before it'
            hint = 'Put the whole text in quotes; if it is a comment, put a space after the "#".'
            self.problems.add("hash", message, spot, hint)

    def sentences(self, kind: schema.Sentences, node: Node, key: Scalar, entry: Entry) -> dict[str, Scalar]:
        """The words of a correction: under "any", or under "plus" and "minus"."""
        if not isinstance(node, MapNode):
            if isinstance(node, ListNode):
                raise self._wrong(kind.wanted, node, key, entry)
            return {"any": self.words(schema.Words("correction", kind.wanted), node, key, entry)}
        inner = self.shape(_SIDES, node, key, entry)
        if not inner.said:
            raise self._wrong(kind.wanted, node, key, entry)
        return dict(inner.got)

    def count(self, kind: schema.Count, node: Node, key: Scalar, entry: Entry) -> int:
        """A whole number."""
        text = self._scalar(kind, node, key, entry).text.strip()
        if re.fullmatch(r"0\d+", text):
            hint = f"Write {text.lstrip('0') or '0'}: YAML takes a number that begins with 0 for an octal one."
            raise self._wrong(kind.wanted, node, key, entry, hint)
        if not re.fullmatch(r"\d{1,6}", text, re.ASCII) or not kind.least <= int(text) <= kind.most:
            raise self._wrong(kind.wanted, node, key, entry)
        return int(text)

    def yes_no(self, kind: schema.YesNo, node: Node, key: Scalar, entry: Entry) -> bool:
        """Yes or no."""
        text = self._scalar(kind, node, key, entry).text
        if text not in {"yes", "no"}:
            likely = {"true": "yes", "on": "yes", "y": "yes", "yes": "yes", "false": "no", "off": "no", "n": "no"}
            better = likely.get(text.lower(), "no" if text.lower() == "no" else None)
            raise self._wrong(kind.wanted, node, key, entry, f"Write {better}." if better else None)
        return text == "yes"

    def one_of(self, kind: schema.OneOf, node: Node, key: Scalar, entry: Entry) -> str:
        """One of a few words."""
        text = self._scalar(kind, node, key, entry).text
        if text not in kind.words:
            raise self._wrong(kind.wanted, node, key, entry, self.draft.nearest(text, kind.words))
        return text

    def _items(self, kind: schema.Kind, node: Node, key: Scalar, entry: Entry) -> list[Scalar]:
        nodes = node.items if isinstance(node, ListNode) else [node]
        return [self._scalar(kind, one, key, entry) for one in nodes if not isinstance(one, Broken)]

    def names(self, kind: schema.Names, node: Node, key: Scalar, entry: Entry) -> tuple[Scalar, ...]:
        """One name or a list of names; who they name is looked at by the cross-checks."""
        found: dict[str, Scalar] = {}
        for one in self._items(kind, node, key, entry):
            if one.text in found:
                message = f'"{shown(one.text)}" is named twice in "{key.text}" of {entry.label}'
                self._duplicate(message, one, found[one.text])
            found.setdefault(one.text, one)
        if kind.most is not None and len(found) != kind.most:
            raise self._wrong(kind.wanted, node, key, entry)
        return tuple(found.values())

    def labels(self, kind: schema.Labels, node: Node, key: Scalar, entry: Entry) -> tuple[Scalar, ...]:
        """Short words or a list of them; yes and no are answers where `good` is asked for."""
        found: dict[str, Scalar] = {}
        for one in self._items(kind, node, key, entry):
            if not (key.text == "good" and one.text in {"yes", "no"}):
                self._free_of_traps(one, "words", f'"{key.text}" of {entry.label}')
            if one.text.replace(" ", "_") in found:
                message = f'"{shown(one.text)}" is there twice in "{key.text}" of {entry.label}'
                self._duplicate(message, one, found[one.text.replace(" ", "_")])
            elif key.text == "at" and not re.fullmatch(r"[a-z0-9]+([ -][a-z0-9]+)*", one.text):
                message = f'"{shown(one.text)}" can\'t be a place of {entry.label}'
                self.problems.add("name", message, self.draft.place(one), "Use lower-case words, without signs.")
            found.setdefault(one.text.replace(" ", "_"), one)
        return tuple(found.values())

    def options(self, kind: schema.Options, node: Node, key: Scalar, entry: Entry) -> dict[str, Scalar]:
        """Options and their words."""
        if not isinstance(node, MapNode) or len(node.pairs) < 2:
            raise self._wrong(kind.wanted, node, key, entry)
        table = self.table(schema.TableOf("option", schema.Words()), node, key, entry)
        return {name: one.got.get("", one.key) for name, one in table.items()}

    def when(
        self, kind: schema.When, node: Node, key: Scalar, entry: Entry
    ) -> tuple[tuple[Scalar, tuple[Scalar, ...]], ...]:
        """Choices with the options of each."""
        if not isinstance(node, MapNode) or not node.pairs:
            raise self._wrong(kind.wanted, node, key, entry)
        found: dict[str, tuple[Scalar, tuple[Scalar, ...]]] = {}
        for choice, options in node.pairs:
            if choice.text in found:
                message = f'choice "{shown(choice.text)}" is there twice in "when" of {entry.label}'
                self._duplicate(message, choice, found[choice.text][0])
                continue
            named = self._items(kind, options, choice, entry)
            for one in named:
                if yaml_kind(one) in {"bool", "null"}:
                    self._free_of_traps(one, "the name of an option", f'"when" of {entry.label}')
            if not named:
                message = f'{entry.label} can\'t be reached: "when" leaves no option of "{shown(choice.text)}"'
                self.problems.add("unreachable", message, self.draft.place(options), "Name the options.")
                continue
            found[choice.text] = (choice, tuple(named))
        return tuple(found.values())

    # Figures

    def amount(self, kind: schema.Amount, node: Node, key: Scalar, entry: Entry) -> object:
        """A figure with its unit."""
        scalar = self._figure(kind, node, key, entry)
        label = f'"{key.text}" of {entry.label}'
        try:
            value = quantity(scalar.text)
        except QuantityError:
            raise self._wrong(kind.wanted, node, key, entry) from None
        if kind.dimension is not None and value.dimension != kind.dimension:
            wanted = DIMENSION_NAMES[kind.dimension]
            message = f"{label} must be {wanted}; {shown(scalar.text)} is {DIMENSION_NAMES[value.dimension]}"
            hint = f'Write it with its unit, such as "{kind.example}".'
            self.problems.add("unit", message, self.draft.place(scalar), hint)
            raise Unread
        if kind.dimension is not None and not 0 < value.base <= _MOST:
            message = f"{label} can't be {shown(scalar.text)}"
            self.problems.add("range", message, self.draft.place(scalar), "It must be above zero, and not absurd.")
            raise Unread
        return value

    def unit(self, kind: schema.Unit, node: Node, key: Scalar, entry: Entry) -> str:
        """A unit's short name; "none" is a plain number."""
        text = self._scalar(kind, node, key, entry).text
        unit = "" if text == "none" else unit_named(text)
        if unit is None:
            raise self._wrong(kind.wanted, node, key, entry)
        return unit

    def _figure(self, kind: schema.Kind, node: Node, key: Scalar, entry: Entry) -> Scalar:
        """A scalar of figures, free of what YAML takes for another number than is written."""
        scalar = self._scalar(kind, node, key, entry)
        what = _int_trap(scalar.text) if yaml_kind(scalar) in {"int", "float"} else None
        if what is not None:
            label = f'"{key.text}" of {entry.label}' if key.text else entry.label
            message = f'{label} must be {kind.wanted}; "{shown(scalar.text)}" is {what} to YAML'
            self.problems.add("trap", message, self.draft.place(scalar), "Write a plain number with its unit.")
            raise Unread
        return scalar

    def arithmetic(self, kind: schema.Arithmetic, node: Node, key: Scalar, entry: Entry) -> Part:
        """Arithmetic over names and figures."""
        scalar = self._figure(kind, node, key, entry)
        return self._parse(scalar, scalar.text, 0)

    def _parse(self, scalar: Scalar, text: str, at: int) -> Part:
        try:
            return Part(parse(text), scalar, at)
        except ExpressionError as fault:
            spot = self.draft.source.place_in(scalar, at + fault.at, fault.length)
            word = text[fault.at : fault.at + fault.length]
            message = str(fault).replace(word, shown(word)) if word else str(fault)
            self.problems.add("arithmetic", message, spot, _arithmetic_hint(word))
            raise Unread from None

    def limits(self, kind: schema.Limits, node: Node, key: Scalar, entry: Entry) -> Span:
        """A range in one of its forms."""
        scalar = self._figure(kind, node, key, entry)
        text = scalar.text
        for pattern, make in _FORMS:
            found = pattern.fullmatch(text)
            if found is None or (kind.closed and len(found.groups()) == 1):
                continue
            parts: list[Part] = []
            for group in range(1, len(found.groups()) + 1):
                try:
                    parts.append(self._parse(scalar, found[group], found.start(group)))
                except Unread:
                    continue
            if len(parts) < len(found.groups()):
                raise Unread
            return Span(make([part.expression for part in parts]), tuple(parts))
        raise self._wrong(kind.wanted, node, key, entry)


def _around(parts: list[Expression]) -> Range:
    middle, half = parts
    low, high = Call("-", (middle.term, half.term)), Call("+", (middle.term, half.term))
    return Range(Expression(f"{middle.text} - ({half.text})", low), Expression(f"{middle.text} + ({half.text})", high))


_FORMS: tuple[tuple[re.Pattern[str], Callable[[list[Expression]], Range]], ...] = (
    (re.compile(r"\s*at\s+most\s+(.+)", re.DOTALL), lambda parts: Range(None, parts[0])),
    (re.compile(r"\s*at\s+least\s+(.+)", re.DOTALL), lambda parts: Range(parts[0], None)),
    (re.compile(r"(.+?)\s*(?:±|\+/-)\s*(.+)", re.DOTALL), _around),
    (re.compile(r"(.+?)\s+to\s+(.+)", re.DOTALL), lambda parts: Range(parts[0], parts[1])),
)

_SIDES = schema.Shape("say", {"plus": schema.Words("correction"), "minus": schema.Words("correction")})

_TRAPS = {
    "bool": "yes or no",
    "null": "nothing",
    "int": "a number",
    "float": "a number",
    "timestamp": "a date",
    "merge": "a merge key",
}

_MOST = 10**9
"""In base units (seconds, inches): some thirty years, or sixteen thousand miles."""


def _int_trap(text: str) -> str | None:
    """What YAML makes of a number that is written in a way of its own, or None for a plain one."""
    if ":" in text:
        return "a number in base sixty"
    if re.match(r"[-+]?0[0-9]", text):
        return "a number in base eight"
    if re.match(r"[-+]?0[xb]", text):
        return "a number in base sixteen or two"
    return "a number of another kind" if re.search(r"[_a-zA-Z]", text) else None


def _visible(node: Node) -> bool:
    return not (isinstance(node, Scalar) and node.plain and not node.text)


def _what(node: Node) -> str:
    """What stands there, for a message."""
    if isinstance(node, MapNode):
        return "a table"
    if isinstance(node, ListNode):
        return "a list"
    return f'"{shown(node.text)}"' if isinstance(node, Scalar) and node.text.strip() else "empty"


def _arithmetic_hint(word: str) -> str:
    if word[:1] in {"×", "·", "x"}:
        return 'Write "*" for times.'
    if word[:1] in {"÷", ":"}:
        return 'Write "/" for divided by.'
    unit = unit_named(word)
    if unit:
        return f'Write the unit as "{unit}", right after a number.'
    return "Arithmetic is made of names, numbers with their unit, + - * / ( ), min( , ), max( , ) and abs( )."


_READ: Mapping[type, Callable[[Reader, Any, Node, Scalar, Entry], Any]] = {
    schema.Words: Reader.words,
    schema.Count: Reader.count,
    schema.YesNo: Reader.yes_no,
    schema.OneOf: Reader.one_of,
    schema.Names: Reader.names,
    schema.Labels: Reader.labels,
    schema.Arithmetic: Reader.arithmetic,
    schema.Limits: Reader.limits,
    schema.Amount: Reader.amount,
    schema.Unit: Reader.unit,
    schema.When: Reader.when,
    schema.Sentences: Reader.sentences,
    schema.Options: Reader.options,
    schema.Shape: Reader.shape,
    schema.TableOf: Reader.table,
}
