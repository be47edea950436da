"""What procedures share: files that hold only tables, read into the draft of the procedure that names them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from types import MappingProxyType

from guide.problems import Problem
from guide.procedure import schema
from guide.procedure.draft import Draft, Entries, Entry, shown
from guide.procedure.model import SourceFile
from guide.procedure.nodes import MapNode, Node, Scalar, Source, move
from guide.procedure.reader import Reader
from guide.procedure.source import compose

MOST_SHARED = 20
"""Files that one procedure may share."""

TABLES = tuple(key for key, kind in schema.FILE.keys.items() if isinstance(kind, schema.TableOf))

PART = schema.Shape(
    "shared part",
    MappingProxyType({key: schema.FILE.keys[key] for key in ("format", *TABLES)}),
    required=("format",),
)
"""The shape of a file that is shared."""


@dataclass(frozen=True, slots=True)
class Found:
    """The text of a shared file, and how messages name the file."""

    text: str
    shown: str


Fetch = Callable[[str], Found | Problem]
"""Gives the file of a name, seen from the procedure's folder, or says what is wrong with it."""

_NAME = re.compile(r"([A-Za-z0-9_-][A-Za-z0-9_.-]*/)*[A-Za-z0-9_-][A-Za-z0-9_.-]*\.yaml")
_LINKS = ("after", "needs")


def nothing(name: str) -> Found | Problem:
    """The fetch of a procedure that has only its own text."""
    return Problem("missing", f'there is no file "{shown(name)}": this procedure is one text by itself')


def read_shares(draft: Draft, main: str, fetch: Fetch) -> tuple[list[SourceFile], bool]:
    """The files shared, in order, their tables put into the draft; and whether all that is shared was found.

    `main` is the name of the procedure's own file.
    """
    files: list[SourceFile] = []
    parts: list[Entry] = []
    whole = "shares" not in draft.top.said or "shares" in draft.top.got
    names = draft.top.names("shares")
    for name in names[:MOST_SHARED]:
        found = _unfit(name.text, main) or fetch(name.text)
        if isinstance(found, Problem):
            draft.problems.add(found.code, found.message, draft.place(name), found.hint)
            whole = False
            continue
        files.append(SourceFile(name.text, found.text))
        part = _part(draft, found)
        whole = whole and part is not None
        if part is not None:
            parts.append(part)
    if len(names) > MOST_SHARED:
        message = f"a procedure shares {MOST_SHARED} files at most, and here are {len(names)}"
        draft.problems.add("shares", message, draft.place(names[MOST_SHARED]), "Put some of them together.")
        whole = False
    for key in TABLES:
        if key != "steps":
            _join(draft, key, parts)
    return files, _place_steps(draft, parts, whole)


def _unfit(name: str, main: str) -> Problem | None:
    """What is wrong with a name that can't be the name of a shared file."""
    if name == main:
        return Problem("shares", "a procedure can't share itself", hint="Take it out.")
    if _NAME.fullmatch(name) is None or len(name) > 200:
        hint = "Write it from this file's folder down, such as \"shared/doors.yaml\"; it can't lie outside that folder."
        return Problem("shares", f'"{shown(name)}" can\'t be the name of a shared file', hint=hint)
    return None


def _part(draft: Draft, found: Found) -> Entry | None:
    """The tables of a shared file, as read; None when there is nothing that can be read."""
    source = Source(found.shown, found.text)
    root = compose(source, draft.problems)
    if root is None:
        return None
    first = draft.source.join(source)
    move(root, first)
    part = Entry("file", "", Scalar("", True, first, 0, first, 0), "the shared part")
    Reader(draft).file(_only_tables(draft, root), PART, part)
    for step in _table(part, "steps").values():
        if "shared" in step.said:
            message = f'{step.label} stands in a shared part and can\'t be "shared" from elsewhere'
            draft.problems.add("shares", message, draft.place(step.said["shared"]), "Take it out.")
    return part if part.said else None


def _only_tables(draft: Draft, root: Node) -> Node:
    """The tree without keys that belong in the procedure's own file, each of them noted."""
    if not isinstance(root, MapNode):
        return root
    kept = []
    for key, value in root.pairs:
        if key.text in PART.keys or key.text not in schema.FILE.keys:
            kept.append((key, value))
            continue
        hint = "A shared part shares nothing further: name the file in the procedure."
        if key.text != "shares":
            hint = "Put it in the procedure's own file; a shared part holds tables only."
        draft.problems.add("shares", f'"{key.text}" has no place in a shared part', draft.place(key), hint)
    return MapNode(kept, root.line, root.column, root.flow)


def _table(part: Entry, key: str) -> Entries:
    found: Entries | None = part.got.get(key)
    return found if found is not None else {}


def _join(draft: Draft, key: str, parts: list[Entry]) -> None:
    """Make one table of those of all files: what is shared, in the order of the files, then the procedure's own."""
    joined: Entries = {}
    for one in (*parts, draft.top):
        for name, entry in _table(one, key).items():
            if name in joined:
                _twice(draft, entry, joined[name])
            else:
                joined[name] = entry
        if key in one.said:
            draft.top.said.setdefault(key, one.said[key])
    if joined:
        draft.top.got[key] = joined


def _twice(draft: Draft, entry: Entry, first: Entry) -> None:
    message = f"{entry.label} stands in two files"
    hint = "Keep one of them: what is shared can be added to, not changed."
    draft.problems.add("duplicate", message, draft.place(entry.key), hint, [("and here", draft.place(first.key))])


def _place_steps(draft: Draft, parts: list[Entry], whole: bool) -> bool:
    """Put each shared step where the procedure lists it; whether every one that is listed is there.

    Without the `whole` of what is shared, a step that is not there is not told.
    """
    shared: Entries = {}
    for part in parts:
        for name, step in _table(part, "steps").items():
            if name in shared:
                _twice(draft, step, shared[name])
            shared.setdefault(name, step)
    own, all_there = _table(draft.top, "steps"), whole
    for name, step in own.items():
        found = shared.pop(name, None)
        if not step.get("shared"):
            if found is not None:
                _twice(draft, step, found)
                own[name] = found
            continue
        _only_added(draft, step)
        if found is not None:
            own[name] = _with_added(draft, found, step)
        elif whole:
            hint = draft.nearest(name, shared) or 'Name the file that holds it in "shares".'
            draft.problems.add("shares", f"no shared part has {step.label}", draft.place(step.key), hint)
            all_there = False
    for name, step in shared.items():
        if "steps" in draft.top.got:
            message = f"{step.label} is shared, and the procedure gives it no place in its order"
            also = [("the order", draft.place(draft.top.said["steps"]))]
            hint = f'Add to "steps" of the procedure: {shown(name)}: {{shared: yes}}.'
            draft.problems.add("shares", message, draft.place(step.key), hint, also)
    return all_there


def _only_added(draft: Draft, step: Entry) -> None:
    """Note keys that would change a shared step."""
    for key, value in step.said.items():
        if key not in ("shared", "part", *_LINKS):
            message = f'{step.label} is shared, and "{key}" can\'t be set here'
            hint = 'Only "part", "after" and "needs" are added to a shared step; the rest stands in the shared part.'
            draft.problems.add("shares", message, draft.place(value), hint)


def _with_added(draft: Draft, step: Entry, added: Entry) -> Entry:
    """The shared step, with what the procedure adds to its place in the order."""
    if "part" in added.said:
        if "part" in step.said:
            message = f'{step.label} has its "part" already'
            also = [("and here", draft.place(step.said["part"]))]
            draft.problems.add("shares", message, draft.place(added.said["part"]), "Keep one of them.", also)
        step.got["part"] = added.get("part")
    for key in _LINKS:
        if key in added.said:
            step.said.setdefault(key, added.said[key])
            if key in added.got:
                step.got[key] = tuple({one.text: one for one in (*added.names(key), *step.names(key))}.values())
            else:
                step.partly.add(key)
    return step
