"""One YAML text as a tree with positions: the only door to yaml.

Every scalar is kept as it was written and nothing is resolved; the schema says what it is to be. Anchors,
aliases, tags, merge keys, further documents, deep nesting and sheer size are faults, each with its place, and
none of them is ever acted on. Lines and columns count from 0 here and from 1 in a `Place`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import yaml

from guide.problems import Problems
from guide.procedure.nodes import Broken, ListNode, MapNode, Node, Scalar, Source
from guide.procedure.traps import UNFIT, Complaint, fit_text, syntax_fault

MOST_CHARACTERS = 4 * 1024 * 1024
MOST_VALUES = 400_000
DEEPEST = 20

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


_FIELD = re.compile(r"\{([a-z_][a-z0-9_.]*)\}")
_OPEN, _CLOSE = "\ue000", "\ue001"
_BRACES = {ord(_OPEN): "{", ord(_CLOSE): "}"}


def compose(source: Source, problems: Problems) -> Node | None:
    """The tree of the source's first document, or None if there is none that can be read; notes every fault.

    `{name}` is kept out of YAML's sight, so that words with figures need no quotes inside `{ }`.
    """
    if len(source.text) > MOST_CHARACTERS:
        problems.add("too-big", f"{source.file} has more than {MOST_CHARACTERS:,} characters", hint="Split the job.")
        return None
    fit = fit_text(source, problems)
    if fit is None:
        return None
    text, tabs = fit
    text = _FIELD.sub(rf"{_OPEN}\1{_CLOSE}", text)
    tree = _Tree(source, problems)
    try:
        root = tree.grow(yaml.parse(text, Loader=_LOADER))
    except yaml.MarkedYAMLError as fault:
        _tell(source, problems, fault, tabs)
        return None
    if root is None and not problems.found:
        problems.add("empty", f"{source.file} is empty", source.spot(0, 0), 'Begin it with "format: 1".')
    return root


def _tell(source: Source, problems: Problems, fault: yaml.MarkedYAMLError, tabs: frozenset[int]) -> None:
    """Tell a syntax error, unless the tab that brought it about has been told."""
    mark, began = fault.problem_mark, fault.context_mark
    line, column = (mark.line, mark.column) if mark else (0, 0)
    start = (began.line, began.column) if began else (line, column)
    told = syntax_fault(
        Complaint(fault.problem or "", fault.context or "", source.line(line), column, start[0] == line)
    )
    stops = "YAML stops at its first error: nothing after it was checked."
    if line in tabs:
        _add_to_tab(problems, line, stops)
    elif told.at_start:
        problems.add("syntax", told.message, source.spot(*start), f"{told.hint} {stops}")
    else:
        problems.add("syntax", told.message, source.spot(line, column), f"{told.hint} {stops}")


def _add_to_tab(problems: Problems, line: int, stops: str) -> None:
    """Say of the tab that was told already that it stopped YAML."""
    for number, one in enumerate(problems.found):
        if one.code == "tab" and one.place is not None and one.place.line == line + 1:
            problems.found[number] = one._replace(hint=f"{one.hint} {stops}")


class _Stop(Exception):
    """Reading on would be useless or unsafe; the fault has been told."""


class _Tree:
    """Grows the tree from parser events, without recursion."""

    def __init__(self, source: Source, problems: Problems) -> None:
        self.source = source
        self.problems = problems

    def grow(self, events: Iterator[yaml.Event]) -> Node | None:
        """The first document's tree; None when it is empty or had to be given up."""
        root: list[Node] = []
        nodes = root
        stack: list[tuple[list[Node], yaml.Event]] = []
        count = documents = 0
        try:
            event: Any
            for event in events:
                kind = type(event)
                if kind is yaml.ScalarEvent:
                    nodes.append(self._scalar(event))
                elif kind is yaml.MappingStartEvent or kind is yaml.SequenceStartEvent:
                    if event.anchor is not None or event.tag is not None:
                        self._plain_data(event)
                    stack.append((nodes, event))
                    nodes = []
                    if len(stack) > DEEPEST:
                        self._stop("too-deep", event, "this is nested far too deep", "Is a bracket not closed?")
                elif kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
                    inside = nodes
                    nodes, began = stack.pop()
                    nodes.append(self._map(began, inside) if kind is yaml.MappingEndEvent else _list(began, inside))
                elif kind is yaml.AliasEvent:
                    nodes.append(self._alias(event))
                elif kind is yaml.DocumentStartEvent:
                    documents += 1
                    if documents > 1:
                        self._stop(
                            "documents", event, "a second document begins here", 'Remove the "---": one job, one file.'
                        )
                count += 1
                if count > MOST_VALUES:
                    self._stop("too-many", event, f"there are more than {MOST_VALUES:,} values", "Split the job.")
        except _Stop:
            return root[0] if documents > 1 and root else None
        return root[0] if root else None

    def _stop(self, code: str, event: Any, message: str, hint: str) -> None:
        mark = event.start_mark
        hint = f"{hint} Nothing after it was checked."
        self.problems.add(code, message, self.source.spot(mark.line, mark.column), hint)
        raise _Stop

    def _scalar(self, event: Any) -> Node:
        start, end = event.start_mark, event.end_mark
        text: str = event.value
        if _OPEN in text:
            text = text.translate(_BRACES)
        node = Scalar(text, event.implicit[0], start.line, start.column, end.line, end.column)
        if event.anchor is not None or event.tag is not None:
            self._plain_data(event)
        if node.plain or UNFIT.search(text) is None:
            return node
        self.problems.add(
            "character",
            "an escape in this text stands for a character that can't be shown",
            self.source.place(node),
            "Delete it.",
        )
        return Broken(node.line, node.column)

    def _plain_data(self, event: Any) -> None:
        """Refuse an anchor or a tag on what follows; the rest is read as if it were not there."""
        mark = event.start_mark
        written = re.match(r"\S+", self.source.line(mark.line)[mark.column :])
        spot = self.source.spot(mark.line, mark.column, len(written[0]) if written else 1)
        if event.anchor is not None:
            self.problems.add(
                "anchor",
                f'"&{event.anchor}" is an anchor, and anchors are not understood here',
                spot,
                'Write the values out where they are needed; put words that begin with "&" in quotes.',
            )
        if event.tag is not None:
            self.problems.add(
                "tag",
                f'"{written[0] if written else event.tag}" is a tag, and tags are not understood here',
                spot,
                'Remove it; put words that begin with "!" in quotes.',
            )

    def _alias(self, event: Any) -> Node:
        mark = event.start_mark
        self.problems.add(
            "alias",
            f'"*{event.anchor}" is an alias, and aliases are not understood here',
            self.source.spot(mark.line, mark.column, len(event.anchor) + 1),
            'Write the values out; put words that begin with "*" in quotes.',
        )
        return Broken(mark.line, mark.column)

    def _map(self, began: Any, inside: list[Node]) -> MapNode:
        pairs: list[tuple[Scalar, Node]] = []
        for key, value in zip(inside[::2], inside[1::2], strict=True):
            if isinstance(key, Scalar) and key.plain and key.text == "<<":
                self.problems.add(
                    "merge-key",
                    '"<<" is a merge key, and merge keys are not understood here',
                    self.source.place(key),
                    "Write the values out where they are needed.",
                )
            elif isinstance(key, Scalar):
                pairs.append((key, value))
            elif not isinstance(key, Broken):
                self.problems.add(
                    "key",
                    "a key must be a word",
                    self.source.place(key),
                    "Put words with braces or brackets in quotes.",
                )
        mark = began.start_mark
        return MapNode(pairs, mark.line, mark.column, bool(began.flow_style))


def _list(began: Any, inside: list[Node]) -> ListNode:
    return ListNode(inside, began.start_mark.line, began.start_mark.column)


def yaml_kind(scalar: Scalar) -> str | None:
    """What a reader of YAML 1.1 would make of a plain scalar ("bool", "int", "null" …); None for text."""
    if not scalar.plain:
        return None
    text = scalar.text
    for tag, pattern in yaml.SafeLoader.yaml_implicit_resolvers.get(text[:1], ()):
        if pattern.match(text):
            return str(tag).rpartition(":")[2]
    return None
