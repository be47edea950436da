"""Drawings: to scale, from the record's own figures, on the side the figures say, told apart without colour."""

from __future__ import annotations

from collections.abc import Mapping
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.quantity import Quantity, quantity
from guide.report.drawings import figures
from guide.report.found import Found, Span
from guide.report.frame_drawing import _figure, _Move, _Place
from guide.report.opening_drawing import _FAR, _Opening
from guide.report.sketch import WIDE, Sketch
from guide.report.timeline_drawing import _bar

SVG = "{http://www.w3.org/2000/svg}"
THREE = ("bottom", "middle", "top")
SIDES = ("left", "middle", "right")


def drawn(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def words(svg: str) -> list[str]:
    return [one.text or "" for one in drawn(svg).iter(f"{SVG}text")]


def paths(svg: str, width: str) -> list[str]:
    return [one.attrib["d"] for one in drawn(svg).iter(f"{SVG}path") if one.get("stroke-width") == width]


def test_the_demo_has_them_all(demo_found: Found) -> None:
    titles = [one.title for one in figures(demo_found)]
    assert titles == [
        "The opening as surveyed",
        "The frame before, with the moves",
        "The frame after, as read last",
        "Reveals: first and last reading against the tolerance",
        "Checks fresh and stale, in the order of the record",
    ]


def test_every_figure_of_the_survey_is_written_on_the_opening(demo_found: Found) -> None:
    opening = next(iter(figures(demo_found)))
    told = " ".join(words(opening.svg))
    for amount in (
        "74 1/2 in",
        "74 9/16 in",
        "74 5/8 in",
        "82 5/8 in",
        "82 13/16 in",
        "82 7/8 in",
        "leans 1/8 in left",
    ):
        assert amount in told and amount in opening.words
    assert "111 7/16 in" in opening.words and "errors drawn 20 times as large" in told


lengths = st.floats(60, 110, allow_nan=False).map(lambda value: round(value * 16) / 16)
small = st.floats(-1, 1, allow_nan=False).map(lambda value: round(value * 16) / 16)


@given(
    st.dictionaries(st.sampled_from(THREE), lengths, min_size=1),
    st.dictionaries(st.sampled_from(SIDES), lengths, min_size=1),
    st.dictionaries(st.sampled_from(("left", "right")), small),
    small,
)
def test_the_opening_is_to_scale_and_its_errors_are_enlarged_by_what_is_said(
    widths: Mapping[str, float], heights: Mapping[str, float], lean: Mapping[str, float], sill: float
) -> None:
    one = _Opening(widths, heights, lean, sill)
    assert one.width * one.scale == pytest.approx(200) or one.height * one.scale == pytest.approx(200)
    for place in widths:
        left, right = one.side(place, False), one.side(place, True)
        short = (one.width - widths[place]) * one.times
        assert (right[0] - left[0]) / one.scale == pytest.approx(one.width - short)
    top, bottom = one.side("top", False), one.side("bottom", False)
    assert (top[0] - bottom[0]) / one.scale == pytest.approx(lean.get("left", 0.0) * one.times)
    right, left = one.side("bottom", True), one.side("bottom", False)
    assert (left[1] - right[1]) / one.scale == pytest.approx(sill * one.times)
    if "left" in heights:
        short = (one.height - heights["left"]) * one.times
        assert (bottom[1] - top[1]) / one.scale == pytest.approx(one.height - short)
    assert one.times == 1 or max(abs(v) for v in (sill, *lean.values())) * one.scale * one.times <= _FAR + 1e-9


AT = _Place(80, 280, 270)


def test_a_frame_leans_the_way_its_readings_say() -> None:
    spots = {("plumb_along", "left side"): quantity("1/8 in"), ("plumb_along", "right side"): quantity("-1/8 in")}
    frame = _figure("A frame", AT, spots, [], "")
    (outline,) = paths(frame.svg, "3")
    points = [tuple(map(float, pair.split(","))) for pair in outline.replace("M", "").replace("Z", "").split(" L")]
    assert points[0][0] == 80 and points[1][0] > 80, "the left side leans to the right"
    assert points[3][0] == 280 and points[2][0] < 280, "the right side leans to the left"
    assert "leans 1/8 in" in words(frame.svg)


@pytest.mark.parametrize("hinges", ["left", "right"])
def test_the_gaps_of_a_single_door_stand_on_their_sides(hinges: str) -> None:
    spots = {("hinge_reveal", "top"): quantity("3/32 in"), ("lock_reveal", "top"): quantity("5/32 in")}
    frame = _figure("A frame", _Place(80, 280, 270, hinges), spots, [], "")
    x = {one.text: float(one.attrib["x"]) for one in drawn(frame.svg).iter(f"{SVG}text")}
    assert (x["3/32"] < 180 < x["5/32"]) == (hinges == "left")


@pytest.mark.parametrize(
    ("point", "by", "direction"),
    [
        ("head", "3/16 in", "right"),
        ("head", "-3/16 in", "left"),
        ("sill", "1/8 in", "right"),
        ("left top hinge", "1/8 in", "in"),
        ("right top hinge", "1/8 in", "out"),
        ("right middle hinge", "-1/8 in", "in"),
    ],
)
def test_an_arrow_points_the_way_of_its_move(point: str, by: str, direction: str) -> None:
    with_arrow = _figure("A frame", AT, {}, [_Move(point, quantity(by), direction)], "")
    without = _figure("A frame", AT, {}, [], "")
    (head,) = [one for one in _heads(with_arrow.svg) if one not in _heads(without.svg)]
    points = [tuple(map(float, pair.split(","))) for pair in head.replace("M", "").replace("Z", "").split(" L")]
    tip, wing = points[0], points[1]
    right = quantity(by).magnitude > 0
    assert (tip[0] > wing[0]) == right
    assert str(abs(quantity(by))) in words(with_arrow.svg)


def _heads(svg: str) -> list[str]:
    filled = (one for one in drawn(svg).iter(f"{SVG}path") if one.get("fill") == "black")
    return [one.attrib["d"] for one in filled if one.attrib["d"].endswith("Z")]


@pytest.mark.parametrize(
    "point", ["left sill end", "right sill end", "head centre", "top right corner", "bottom left corner"]
)
def test_every_other_point_has_its_mark(point: str) -> None:
    with_mark = _figure("A frame", AT, {}, [_Move(point, Quantity(quantity("1/8 in").magnitude, "in"), "up")], "")
    assert any("1/8 in" in text for text in words(with_mark.svg))


def test_a_reveal_is_in_the_grey_band_just_when_it_is_good(demo_found: Found) -> None:
    reveals = next(one for one in figures(demo_found) if one.title.startswith("Reveals"))
    root = drawn(reveals.svg)
    bands = [(float(one.attrib["x"]), float(one.attrib["width"])) for one in root.iter(f"{SVG}rect")]
    dots = [(float(one.attrib["cx"]), one.attrib["fill"]) for one in root.iter(f"{SVG}circle")]
    firsts, lasts = [x for x, fill in dots if fill == "white"], [x for x, fill in dots if fill == "black"]
    assert len(bands) == len(firsts) == len(lasts) == 13
    inside = [low <= x <= low + wide for x, (low, wide) in zip(firsts, bands, strict=True)]
    assert inside.count(False) == 2, "the misread one and the tight one"
    assert all(low <= x <= low + wide for x, (low, wide) in zip(lasts, bands, strict=True))


def test_a_bar_begins_and_ends_with_its_span() -> None:
    sketch = Sketch(40, "bars")
    _bar(sketch, Span("fresh", 0, 50), 10, 100)
    _bar(sketch, Span("stale", 50), 10, 100)
    fresh, stale = drawn(sketch.svg()).iter(f"{SVG}rect")
    ends = [float(fresh.attrib["x"]), float(fresh.attrib["x"]) + float(fresh.attrib["width"])]
    assert ends == [8, 180] and float(stale.attrib["x"]) == 180
    assert float(stale.attrib["x"]) + float(stale.attrib["width"]) == 352
    assert fresh.attrib["fill"] != stale.attrib["fill"]


def test_words_stay_inside_and_nothing_is_told_by_colour(demo_found: Found) -> None:
    for one in figures(demo_found):
        root = drawn(one.svg)
        assert {value for node in root.iter() for key, value in node.attrib.items() if key in ("fill", "stroke")} <= {
            *("none", "black", "white", "#ccc", "#888")
        }
        for text in root.iter(f"{SVG}text"):
            x, long = float(text.attrib["x"]), len(text.text or "") * 11 * 0.58
            begins = {"start": x, "middle": x - long / 2, "end": x - long}[text.get("text-anchor", "start")]
            assert begins >= -2 and begins + long <= WIDE + 2, text.text
        assert one.words and root.get("aria-label") == one.title


def test_words_of_a_record_are_no_markup() -> None:
    sketch = Sketch(20, '"/><script>')
    sketch.words("</text><script>&\x1b", (1, 1))
    root = drawn(sketch.svg())
    assert [one.text for one in root.iter(f"{SVG}text")] == ["</text><script>&\\x1b"]
    assert root.get("aria-label") == '"/><script>' and not list(root.iter(f"{SVG}script"))
