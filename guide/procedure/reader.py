"""Reads a tree by the schema into a draft, noting everything that does not fit, and goes on."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from guide.procedure import schema
from guide.procedure.draft import Entries, Entry, flow_comma, shown
from guide.procedure.nodes import Broken, ListNode, MapNode, Node, Scalar
from guide.procedure.source import yaml_kind
from guide.procedure.values import TRAPS, Unread, Values, visible_node, what_stands

NAME = re.compile(r"(?=[\d-]*[a-z])[a-z0-9]+(-[a-z0-9]+)*")
FIGURE = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")


class Reader(Values):
    """Reads the trees of a procedure's files into its draft."""

    def file(self, root: Node, shape: schema.Shape, top: Entry) -> None:
        """Read a file's whole tree; a file of another format is not read further."""
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
        self._record(shape, root, top)

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
                hint = f'Add "{key_name}": {shape.keys[key_name].wanted}.'
                hint = 'Add the line "format: 1".' if key_name == "format" else hint
                message = f'{entry.label} has no "{key_name}"'
                self.problems.add("missing-key", message, self.draft.place(entry.key), hint)
        if shape.either and not any(name in first for name in (*shape.either, *shape.instead)):
            names = " nor ".join(f'"{name}"' for name in shape.either)
            message = f"{entry.label} has neither {names}"
            self.problems.add("missing-key", message, self.draft.place(entry.key), "Add one of them.")

    def _unknown_key(self, shape: schema.Shape, node: MapNode, key: Scalar, value: Node, entry: Entry) -> None:
        hint = self.draft.nearest(key.text, {**schema.OTHER_WORDS, **shape.keys})
        for word, meant in schema.OTHER_WORDS.items():
            if hint is not None and f'"{word}"' in hint and word not in shape.keys:
                hint = f'Did you mean "{meant}"?' if meant in shape.keys else None
        if hint is None:
            hint = shape.hint
            if flow_comma(value, node):
                hint = "A comma ends a text inside { }: put the whole text in quotes."
        self.problems.add(
            "unknown-key", f'unknown key "{shown(key.text)}" in {entry.label}', self.draft.place(key), hint
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
                what = f"must be {kind.item.wanted}, not {what_stands(value)}" if visible_node(value) else "is empty"
                spot = self.draft.place(value if visible_node(value) else name)
                self.problems.add("shape", f"{one.label} {what}", spot, kind.item.hint)
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
            message = f'"{name.text}" without quotes is {TRAPS[trap]} to YAML; here it names {_a(kind.what)}'
            self.problems.add("trap", message, self.draft.place(name), f'Write it in quotes: "{name.text}".')
        elif not pattern.fullmatch(name.text) or len(name.text) > 60:
            better = re.sub(r"[^a-z0-9]+", kind.joined, name.text.lower()).strip(kind.joined)
            example = f': "{better}"' if pattern.fullmatch(better) and len(better) <= 60 else ""
            hint = f'Use lower-case words joined by "{kind.joined}"{example}.'
            message = f'"{shown(name.text)}" can\'t name {_a(kind.what)}'
            self.problems.add("name", message, self.draft.place(name), hint)
        elif name.text in kind.reserved:
            message = f'"{name.text}" can\'t name {_a(kind.what)}: it means something of its own in arithmetic'
            self.problems.add("name", message, self.draft.place(name), "Use a longer name.")

    def sentences(self, kind: schema.Sentences, node: Node, key: Scalar, entry: Entry) -> dict[str, Scalar]:
        """The words of a correction: under "any", or under "plus" and "minus"."""
        if not isinstance(node, MapNode):
            if isinstance(node, ListNode):
                raise self._wrong(kind.wanted, node, key, entry)
            return {"any": self.words(schema.Words("correction", kind.wanted), node, key, entry)}
        if not node.pairs:
            raise self._wrong(kind.wanted, node, key, entry)
        inner = self.shape(_SIDES, node, key, entry)
        return dict(inner.got)

    def options(self, kind: schema.Options, node: Node, key: Scalar, entry: Entry) -> dict[str, Scalar]:
        """Options and their words."""
        if not isinstance(node, MapNode):
            raise self._wrong(kind.wanted, node, key, entry)
        if len(node.pairs) < 2:
            message = f'"options" of {entry.label} leaves nothing to choose'
            self.problems.add("shape", message, self.draft.place(node), "Write two options or more.")
            raise Unread
        table = self.table(schema.TableOf("option", schema.Words()), node, key, entry)
        return {name: one.got.get("", one.key) for name, one in table.items()}


def _a(what: str) -> str:
    return f"an {what}" if what[0] in "aeiou" else f"a {what}"


_SIDES = schema.Shape("say", {"plus": schema.Words("correction"), "minus": schema.Words("correction")})

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
