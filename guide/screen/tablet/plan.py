"""Where everything stands on the screen, worked out from its size and what there is to show; no widget knows it.

From top to bottom: the bar; a banner; the request, whole; the figure, the door and what can be asked; what is stale;
the talk and the keys; the line for words. What is asked is never cut for anything else. Where the talk and the keys
don't both have room, one of them is shown, and a key changes over. On a wide screen the talk has a column of its own.
Keys are at least as large as 48 pixels are on a tablet of 1280 by 800.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Literal

from guide.screen.tablet.figures import HIGH
from guide.screen.tablet.wrapping import wrap
from guide.session.view import View

Part = Literal["bar", "banner", "request", "figure", "door", "helps", "stale", "talk", "keys", "line"]
Show = Literal["keys", "talk"]

WIDE = 120
"""Columns from which the talk has a column of its own."""
LOW = 24
"""Rows below which every row counts."""
TALL = 40
"""Rows from which figures may be larger."""
LARGEST = 3
"""Times their plain size that figures are at most."""
DOOR_HIGH = 12
TALK_LEAST = 3
STALE_MOST = 4
FEW = 2
"""So many keys can be larger than they have to be."""
HELPS_WIDE = 12
WIDEST = 35
"""Columns of the widest reading there is on a door; a drawing beside it leaves it those."""
DOOR_WIDE = 12
"""With the gap beside it."""
THUMB = 48
_PIXELS = (1280, 800)


@dataclass(frozen=True, slots=True)
class Box:
    """A part's place: from the left and the top, and its size, in cells."""

    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Plan:
    """The boxes of what is shown, and how the keys are laid out."""

    boxes: Mapping[Part, Box]
    key_columns: int
    key_height: int
    helps_columns: int
    both: bool
    """Whether talk and keys are both shown."""


def request_lines(view: View, width: int) -> tuple[list[str], list[str]]:
    """The request's headline and its details, cut into lines."""
    details = " ".join(view.request.details)
    return wrap(view.request.headline, width - 2), wrap(details, width - 2) if details else []


def thumb(width: int, height: int) -> tuple[int, int]:
    """Columns and rows of the smallest target for a gloved thumb."""
    return ceil(Fraction(THUMB * width, _PIXELS[0])), max(2, ceil(Fraction(THUMB * height, _PIXELS[1])))


def key_count(view: View) -> int:
    """How many keys there are."""
    return sum(len(block) for block in view.keypad.blocks)


def plan(width: int, height: int, view: View, show: Show) -> Plan:
    """Lay out a view on a screen of so many columns and rows; `show` decides where there is room for one only."""
    talk_wide = width * 2 // 5 if width >= WIDE else 0
    x, wide = talk_wide, width - talk_wide
    across, least = thumb(width, height)
    boxes: dict[Part, Box] = {"bar": Box(0, 0, width, 1), "line": Box(x, height - 1, wide, 1)}
    top, bottom = 1, height - 1
    if view.banner:
        rows = min(len(wrap(view.banner, width - 2)), 1 if height < LOW else 2 if height < TALL else 4)
        boxes["banner"] = Box(0, top, width, rows)
        top += rows
    if talk_wide:
        boxes["talk"] = Box(0, top, talk_wide - 1, height - top)
    bottom -= 1 if view.stale else 0
    asked = sum(len(lines) for lines in request_lines(view, wide))
    columns = _columns(view, wide)
    key_height = max(least, _label_rows(view, wide // columns))
    keys = ceil(key_count(view) / columns) * key_height if key_count(view) else 0
    middle = _middle_rows(view, height, least, bottom - top - asked - keys)
    asked = min(asked, max(1, bottom - top - (2 if keys else 0)))
    boxes["request"] = Box(x, top, wide, asked)
    top += asked
    helps_columns = 2 if middle >= 3 * least else 3
    if middle:
        _lay_middle(boxes, view, Box(x, top, wide, middle), helps_columns, across)
        top += middle
    if view.stale:
        spare = bottom - top - keys - (0 if talk_wide else TALK_LEAST)
        if spare < 0 and show == "talk":
            spare += keys
        more = max(0, min(len(wrap(stale_text(view), wide - 4)) - 1, STALE_MOST - 1, spare))
        bottom -= more
        boxes["stale"] = Box(x, bottom, wide, 1 + more)
    free = max(0, bottom - top)
    both = bool(talk_wide) or not keys or free - keys >= TALK_LEAST
    if not keys:
        if not talk_wide and free:
            boxes["talk"] = Box(x, top, wide, free)
    elif both:
        if talk_wide:
            key_height = _stretched(view, columns, key_height, free, least)
            keys = ceil(key_count(view) / columns) * key_height
        boxes["keys"] = Box(x, bottom - keys, wide, keys)
        if not talk_wide:
            boxes["talk"] = Box(x, top, wide, free - keys)
    elif show == "talk" and free:
        boxes["talk"] = Box(x, top, wide, free)
    elif free:
        rows = ceil(key_count(view) / columns)
        key_height = max(1, free // rows)
        boxes["keys"] = Box(x, bottom - min(free, rows * key_height), wide, min(free, rows * key_height))
    return Plan(boxes, columns, key_height, helps_columns, both)


def stale_text(view: View) -> str:
    """All that is stale, in one text."""
    return " ".join(one.text for one in view.stale)


def _middle_rows(view: View, height: int, least: int, left: int) -> int:
    """Rows for figure, door and helps; fewer where there is no figure to show, none on a screen too low for them."""
    if view.keypad.kind in _FIGURES or view.reading is not None or view.request.marks:
        larger = (2 + HIGH * times for times in range(LARGEST, 1, -1) if height >= TALL)
        for full in (*larger, 2 + HIGH, 1 + HIGH, HIGH):
            if left >= full:
                return full
    return 2 * least if left >= 2 * least else 0


_FIGURES = frozenset({"inches", "millimetres", "digits"})


def _lay_middle(boxes: dict[Part, Box], view: View, box: Box, helps_columns: int, thumb_wide: int) -> None:
    across = max(HELPS_WIDE // 2, thumb_wide + 1)
    helps = min(box.width, max(helps_columns * across, box.width // 5 if helps_columns == 2 else 0))
    boxes["helps"] = Box(box.x + box.width - helps, box.y, helps, box.height)
    left = box.width - helps
    if view.request.marks and box.height >= HIGH:
        high = min(box.height, DOOR_HIGH)
        door = max(DOOR_WIDE, 2 * high) if box.width >= WIDE // 2 else 0
        if door and left - door > WIDEST:
            boxes["door"] = Box(box.x + left - door, box.y, door - 1, high)
            left -= door
    if left >= 12:
        boxes["figure"] = Box(box.x, box.y, left, box.height)


def _columns(view: View, wide: int) -> int:
    """Keys in a row of the screen: blocks beside each other where there is room."""
    pad = view.keypad
    if pad.kind in ("choice", "name"):
        return 2 if wide >= 60 and key_count(view) > 2 else 1 if pad.kind == "choice" else 2
    blocks = len(pad.blocks) if wide >= 6 * pad.columns * len(pad.blocks) else 1
    return pad.columns * max(1, blocks)


def _label_rows(view: View, wide: int) -> int:
    """Rows that the longest label takes, and one that ends the key."""
    keys = [key for block in view.keypad.blocks for key in block if view.keypad.kind == "choice"]
    rows = 1 + max((len(wrap(f"{key.label}  {key.words}", wide - 3)) for key in keys), default=1)
    return max(rows, 3) if key_count(view) <= FEW else rows


def _stretched(view: View, columns: int, key_height: int, free: int, least: int) -> int:
    rows = ceil(key_count(view) / columns)
    return max(key_height if rows * key_height <= free else 1, min(free // rows, 2 * least))


def in_rows(view: View, columns: int) -> Sequence[int]:
    """The keys' indices in the order they are drawn, row by row, blocks beside each other where they fit."""
    pad = view.keypad
    count = key_count(view)
    if columns <= pad.columns or len(pad.blocks) < 2:
        return range(count)
    starts = [sum(len(block) for block in pad.blocks[:at]) for at in range(len(pad.blocks))]
    deep = max(ceil(len(block) / pad.columns) for block in pad.blocks)
    return [
        start + row * pad.columns + column for row in range(deep) for start in starts for column in range(pad.columns)
    ]
