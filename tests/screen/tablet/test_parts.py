"""What the tablet's screen is made of, each by itself: figures, door, wrapping, colours, where everything stands."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from small import SHELF, START
from talking import Talk, obliging, talk

from guide.screen.demo import crew_lines
from guide.screen.tablet.door import MARK, door
from guide.screen.tablet.figures import HIGH, figures
from guide.screen.tablet.plan import FEW, in_rows, key_count, plan, request_lines, thumb
from guide.screen.tablet.themes import PARTS_LEAST, TEXT_LEAST, THEMES, contrast
from guide.screen.tablet.wrapping import fit, wrap
from guide.session import Conversation, View
from guide.session.spots import Mark

SIZES = [(60, 20), (80, 24), (48, 40), (120, 30), (200, 60)]


def views(name: str = "exterior-pair") -> list[View]:
    """The views of a whole job, one for each kind of thing asked, and the longest requests."""
    job = talk(name, who="", pretended=True)
    conversation = Conversation(job.session)
    conversation.turns(job.turns)
    found: dict[object, View] = {}
    for line in crew_lines():
        view = conversation.view()
        kept = found.setdefault((view.request.about, view.keypad.kind, bool(view.stale)), view)
        if len(view.request.text) > len(kept.request.text):
            found[(view.request.about, view.keypad.kind, bool(view.stale))] = view
        conversation.hear(line)
    return [*found.values(), conversation.view()]


VIEWS = views()


# Figures


@pytest.mark.parametrize("whole", ["", "0", "36", "103", "914.5"])
@pytest.mark.parametrize("part", ["", "1/2", "15/16", "31/32"])
def test_figures_are_five_rows_high_and_all_rows_are_as_wide(whole: str, part: str) -> None:
    rows = figures(whole, part, 60, HIGH)
    assert len(rows) == (HIGH if whole or part else 0)
    assert len({len(row) for row in rows}) <= 1


def test_every_reading_of_a_door_fits_the_smallest_screen() -> None:
    for sixteenths in range(120 * 16):
        whole, part = divmod(Fraction(sixteenths, 16), 1)
        rows = figures(str(whole), str(part) if part else "", 35, 6)
        assert len(rows) == HIGH and len(rows[0]) <= 35


def test_figures_grow_with_the_room_and_are_not_cut() -> None:
    assert len(figures("36", "3/16", 120, 11)) == 2 * HIGH
    assert len(figures("36", "3/16", 40, 11)) == HIGH
    assert figures("103", "15/16", 20, 6) == []
    assert figures("about a foot", "", 100, 6) == []


def test_no_two_figures_look_the_same() -> None:
    for width in (100, 3):
        assert len({tuple(figures(digit, "", width, HIGH)) for digit in "0123456789"}) == 10


# Door


def test_a_pair_has_a_middle_and_a_mark() -> None:
    rows = door("pair", [Mark(4, 4, 4, 4)], 11, 6)
    assert rows[0] == "┌────┬────●" and len(rows) == 6
    assert sum(row.count(MARK) for row in rows) == 1


@pytest.mark.parametrize(
    ("mark", "stroke"), [(Mark(0, 0, 4, 0), "━"), (Mark(0, 0, 0, 4), "┃"), (Mark(0, 0, 4, 4), "•")]
)
def test_a_line_is_drawn_heavy_between_its_ends(mark: Mark, stroke: str) -> None:
    drawn = "".join(door("single", [mark], 12, 7))
    assert drawn.count(MARK) == 2 and stroke in drawn


def test_without_a_door_or_room_nothing_is_drawn() -> None:
    assert door("", [], 20, 20) == [] == door("pair", [], 5, 6)


# Wrapping


@given(st.text(max_size=200), st.integers(min_value=2, max_value=40))
def test_no_line_is_wider_than_the_room_and_nothing_unseen_gets_out(text: str, width: int) -> None:
    for line in wrap(text, width):
        assert cell_len(line) <= width
        assert line.isprintable() or not line
    assert cell_len(fit(text, width)) == width


def test_words_are_kept_whole_and_in_order() -> None:
    text = "Are old putty, old sealant and old board tested free of asbestos?"
    assert " ".join(wrap(text, 20)) == text
    assert wrap("a‮b", 20) == ["a\\u202eb"]


# Colours


@pytest.mark.parametrize("theme", list(THEMES))
def test_text_has_the_contrast_that_wcag_asks_for(theme: str) -> None:
    colours = THEMES[theme]
    for role, (text, ground) in colours.pairs().items():
        assert contrast(text, ground) >= TEXT_LEAST, role
    ground = colours.plain[1]
    assert contrast(colours.key[0], ground) >= PARTS_LEAST, "the line that ends a key, beside the ground"


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("#000000", "#ffffff", 21.0),
        ("#777777", "#ffffff", 4.48),
        ("#ffffff", "#ffffff", 1.0),
        ("#0000ff", "#ffffff", 8.59),
    ],
)
def test_contrast(one: str, other: str, ratio: float) -> None:
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005) == contrast(other, one)


# Where everything stands


@given(
    st.integers(min_value=30, max_value=220),
    st.integers(min_value=10, max_value=70),
    st.sampled_from(range(len(VIEWS))),
    st.sampled_from(["keys", "talk"]),
)
def test_boxes_lie_on_the_screen_and_never_on_each_other(width: int, height: int, which: int, show: str) -> None:
    planned = plan(width, height, VIEWS[which], show)  # type: ignore[arg-type]
    cells: set[tuple[int, int]] = set()
    for part, box in planned.boxes.items():
        assert box.width > 0 and box.height > 0, part
        assert box.x >= 0 and box.x + box.width <= width and box.y >= 0 and box.y + box.height <= height, part
        mine = {(x, y) for x in range(box.x, box.x + box.width) for y in range(box.y, box.y + box.height)}
        assert not mine & cells, part
        cells |= mine
    assert {"bar", "request", "line"} <= set(planned.boxes)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("show", ["keys", "talk"])
def test_the_request_is_on_the_screen_whole_at_every_size(size: tuple[int, int], show: str) -> None:
    for view in VIEWS:
        planned = plan(*size, view, show)  # type: ignore[arg-type]
        box = planned.boxes["request"]
        headline, details = request_lines(view, box.width)
        assert len(headline) + len(details) <= box.height, view.request.text


@pytest.mark.parametrize("size", SIZES)
def test_figures_have_five_rows_and_helps_are_there(size: tuple[int, int]) -> None:
    for view in VIEWS:
        planned = plan(*size, view, "keys")
        if view.helps:
            assert "helps" in planned.boxes
        if view.keypad.kind == "inches":
            assert planned.boxes["figure"].height > HIGH


def test_figures_keep_their_five_rows_beside_a_banner_and_stale_checks() -> None:
    for view in VIEWS:
        if view.keypad.kind == "inches" and view.stale:
            planned = plan(60, 20, replace(view, banner="My ears failed (exit code 3). " * 4), "keys")
            assert planned.boxes["figure"].height >= HIGH and planned.boxes["figure"].width > 35
            assert "keys" in planned.boxes and planned.key_height >= 2


@pytest.mark.parametrize("size", SIZES)
def test_keys_are_large_enough_for_a_thumb(size: tuple[int, int]) -> None:
    wide, high = thumb(*size)
    for view in VIEWS:
        planned = plan(*size, view, "keys")
        keys, helps = planned.boxes.get("keys"), planned.boxes.get("helps")
        if keys is not None:
            assert planned.key_height >= high and keys.width // planned.key_columns - 1 >= wide, view.keypad.kind
            assert -(-key_count(view) // planned.key_columns) * planned.key_height <= keys.height
        if helps is not None:
            assert helps.width // planned.helps_columns - 1 >= wide
            assert helps.height // -(-6 // planned.helps_columns) >= high


@pytest.mark.parametrize("size", SIZES)
def test_stale_checks_always_have_a_place(size: tuple[int, int]) -> None:
    stale = [view for view in VIEWS if view.stale]
    assert stale
    assert all("stale" in plan(*size, view, "keys").boxes for view in stale)


def test_talk_and_keys_change_over_where_there_is_room_for_one() -> None:
    view = next(view for view in VIEWS if view.keypad.kind == "inches" and view.stale)
    keys, talked = plan(60, 20, view, "keys"), plan(60, 20, view, "talk")
    assert not keys.both and "keys" in keys.boxes and "talk" not in keys.boxes
    assert "talk" in talked.boxes and "keys" not in talked.boxes
    assert plan(80, 30, view, "keys").both


def test_blocks_of_keys_stand_beside_each_other_where_they_fit() -> None:
    view = next(view for view in VIEWS if view.keypad.kind == "inches")
    assert list(in_rows(view, 5)) == list(range(30))
    assert list(in_rows(view, 10))[:10] == [0, 1, 2, 3, 4, 15, 16, 17, 18, 19]


def test_few_keys_are_larger() -> None:
    assert FEW == 2
    view = next(view for view in VIEWS if view.keypad.kind == "yes-no")
    assert plan(60, 20, view, "keys").key_height == 3


def _shelf() -> Talk:
    job = talk(SHELF)
    job.say(*START)
    return job


def test_a_job_without_a_door_has_no_drawing() -> None:
    job = _shelf()
    conversation = Conversation(job.session)
    job.say(obliging(job.ask))
    assert "door" not in plan(80, 24, conversation.view(), "keys").boxes
