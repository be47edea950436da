"""Reads single values by their kind in the schema: words, counts, names, figures, limits."""

from __future__ import annotations

import re
from collections.abc import Callable

from guide.problems import Problems
from guide.procedure import schema
from guide.procedure.draft import Draft, Entry, Part, Span, shown
from guide.procedure.model import Range
from guide.procedure.nodes import Broken, ListNode, MapNode, Node, Scalar
from guide.procedure.source import yaml_kind
from guide.procedure.worked import Call, Expression, ExpressionError, parse
from guide.quantity import DIMENSION_NAMES, QuantityError, quantity, unit_named


class Unread(Exception):
    """The value can't be read; its fault has been noted."""


class Values:
    """Reads values; each raises `Unread` once what is wrong has been noted."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.problems: Problems = draft.problems

    def _wrong(self, wanted: str, node: Node, key: Scalar, entry: Entry, hint: str | None = None) -> Unread:
        """Note that a value is not what is wanted there."""
        if isinstance(node, Broken):
            return Unread()
        spot = self.draft.place(node if visible_node(node) else key if key.text else entry.key)
        label = f'"{key.text}" of {entry.label}' if key.text else entry.label
        if isinstance(node, Scalar) and node.plain and not node.text:
            self.problems.add("no-value", f"{label} has no value", spot, hint or f"It must be {wanted}.")
        else:
            self.problems.add("shape", f"{label} must be {wanted}, not {what_stands(node)}", spot, hint)
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
        what = TRAPS.get(trap, "not text")
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
        if any(isinstance(one, Broken) for one in nodes):
            entry.partly.add(key.text)
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
        if abs(value.base) > _MOST or len(scalar.text) > _LONGEST or (kind.dimension is not None and value.base <= 0):
            message = f"{label} can't be {shown(scalar.text)}"
            hint = "It must be above zero." if value.base <= 0 else "It is far too large, or far too long."
            self.problems.add("range", message, self.draft.place(scalar), hint)
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
        return self._parse(scalar, scalar.text, 0, f'"{key.text}" of {entry.label}' if key.text else entry.label)

    def _parse(self, scalar: Scalar, text: str, at: int, where: str) -> Part:
        try:
            return Part(parse(text), scalar, at)
        except ExpressionError as fault:
            spot = self.draft.source.place_in(scalar, at + fault.at, fault.length)
            word = text[fault.at : fault.at + fault.length]
            message = str(fault).replace(word, shown(word)) if word else str(fault)
            self.problems.add("arithmetic", f"{message}, in {where}", spot, _arithmetic_hint(word))
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
                    parts.append(
                        self._parse(scalar, found[group], found.start(group), f'"{key.text}" of {entry.label}')
                    )
                except Unread:
                    continue
            if len(parts) < len(found.groups()):
                raise Unread
            return Span(make([part.expression for part in parts]), tuple(parts))
        example = "24 in to 120 in" if kind.closed else f"at most {shown(text)}"
        raise self._wrong(kind.wanted, node, key, entry, f'Write it so: "{example}".')

    def _duplicate(self, message: str, key: Scalar, first: Scalar) -> None:
        self.problems.add(
            "duplicate", message, self.draft.place(key), "Keep one of them.", [("first here", self.draft.place(first))]
        )


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

TRAPS = {
    "bool": "yes or no",
    "null": "nothing",
    "int": "a number",
    "float": "a number",
    "timestamp": "a date",
    "merge": "a merge key",
}

_LONGEST = 40
_MOST = 10**9
"""In base units (seconds, inches): some thirty years, or sixteen thousand miles."""


def _int_trap(text: str) -> str | None:
    """What YAML makes of a number that is written in a way of its own, or None for a plain one."""
    if ":" in text:
        return "a number in base sixty"
    if re.match(r"[-+]?0[0-9]", text):
        return "a number in base eight"
    if re.match(r"[-+]?0[xb]", text):
        return "a number in another base"
    return "a number of another kind" if re.search(r"[_a-zA-Z]", text) else None


def visible_node(node: Node) -> bool:
    return not (isinstance(node, Scalar) and node.plain and not node.text)


def what_stands(node: Node) -> str:
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
