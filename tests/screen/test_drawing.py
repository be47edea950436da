"""The drawing of a procedure: valid, self-contained, and true to the procedure, mark by mark."""

from __future__ import annotations

import itertools
import os
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest
from small import SHELF

from guide.procedure import load, load_text, shipped
from guide.procedure.model import Procedure, Step
from guide.screen.explain import drawing
from guide.talk.wording import Wording

SVG = "{http://www.w3.org/2000/svg}"

BARS = """
format: 1
title: Two ways out
choices:
  way: {ask: Which way, options: {left: left, right: right}}
  lid: {ask: Is there a lid, options: {lid: a lid, none: none}}
make-safe:
  open: {say: Close it.}
  hot: {say: Cool it.}
steps:
  a: {say: Open it., leaves: [open, hot]}
  b: {after: a, when: {way: left}, say: Go left., secures: open}
  c: {after: a, when: {way: right}, say: Go right., secures: open}
  d: {after: [b, c], say: Cool it., secures: hot}
  e: {after: d, when: {lid: lid}, say: Open the lid., leaves: [open, hot]}
  f: {after: [d, e], when: {way: left}, say: Shut everything., secures: [open, hot]}
  g: {after: [e, f], when: {lid: lid}, say: Shut the lid., secures: [open, hot]}
  h: {after: [d, f, g], say: Look once more., secures: open}
"""


@cache
def procedure(name: str) -> Procedure:
    texts = {"shelf": SHELF, "bars": BARS}
    return load_text(f"{name}.yaml", texts[name]) if name in texts else load(name)


ALL = ["shelf", "bars", *shipped()]


def tree(one: Procedure) -> Element:
    return ElementTree.fromstring(drawing(one))


def of_class(root: Element, *names: str) -> list[Element]:
    return [found for found in root.iter() if found.get("class") in names]


def number(element: Element, name: str) -> float:
    return float(element.attrib[name])


def words(element: Element) -> str:
    return " ".join(text.text or "" for text in element.iter(f"{SVG}text"))


def boxes(root: Element) -> dict[str, Element]:
    return {group.attrib["data-step"]: group for group in of_class(root, "step")}


def outline(group: Element) -> Element:
    (found,) = of_class(group, "do", "check")
    return found


def corrects(one: Procedure, step: Step) -> tuple[str, ...]:
    if step.out is not None:
        return step.out.adjust
    return step.watches if one.is_check(step) else ()


@pytest.mark.parametrize("name", ALL)
def test_a_box_for_every_step_in_order_from_top_to_bottom(name: str) -> None:
    one = procedure(name)
    found = boxes(tree(one))
    assert tuple(found) == one.order
    bottom = 0.0
    for i, (step, group) in enumerate(found.items(), 1):
        box = outline(group)
        assert group.attrib["data-number"] == str(i)
        assert words(group).startswith(f"{i} {step.replace('-', ' ')}"[:12])
        assert number(box, "y") > bottom
        bottom = number(box, "y") + number(box, "height")
    assert bottom < number(tree(one), "height")


@pytest.mark.parametrize("name", ALL)
def test_shape_and_words_tell_what_a_step_is(name: str) -> None:
    one = procedure(name)
    for step_name, group in boxes(tree(one)).items():
        step, box, told = one.steps[step_name], outline(group), words(group)
        assert (box.get("class") == "check") == one.is_check(step) == (box.get("rx") is not None)
        assert ("good: " in told) == one.is_check(step)
        assert (box.get("stroke-dasharray") is not None) == bool(step.when) == ("only if " in told)
        assert (box.get("stroke-width") == "3") == (step.hold is not None) == ("HOLD POINT" in told)
        assert ("WAIT" in told) == (step.wait is not None)
        assert ("safety check" in told) == step.safety
        assert (f"{step.crew} people" in told) == (step.crew > 1)
        icons = sum((step.hold is not None, step.wait is not None, step.safety))
        assert len(group.findall(f"{SVG}path")) == icons


def test_the_tolerance_is_written_in_the_box() -> None:
    found = {name: words(group) for name, group in boxes(tree(procedure("shelf"))).items()}
    assert found["survey"] == "1 survey reading at 2 places"
    assert found["square"] == "4 square good: 0 in to 1/16 in, at 2 places"
    assert found["level"] == "5 level good: ±1/8 in"
    assert found["held"] == "6 held good: yes; safety check"
    assert found["fix"] == "7 fix then WAIT 30 min: the glue to set ends: unsupported"
    assert found["back"] == "8 back only if back: board"
    assert found["look"] == "9 look HOLD POINT: the lead looks"


@pytest.mark.parametrize("name", ALL)
def test_parts_are_headings(name: str) -> None:
    one = procedure(name)
    root = tree(one)
    steps = [one.steps[step].part for step in one.order]
    headings = [words(group) for group in of_class(root, "part")]
    wanted = [part for part, _ in itertools.groupby(steps)]
    assert len(headings) == len(wanted)
    assert all(told.startswith(part) for part, told in zip(wanted, headings, strict=True))


@pytest.mark.parametrize("name", ALL)
def test_dots_and_rings_are_the_procedures(name: str) -> None:
    one = procedure(name)
    root = tree(one)
    wanted = {
        "moves": {(s.name, state) for s in one.steps.values() for state in s.disturbs},
        "watches": {(s.name, state) for s in one.steps.values() for state in s.watches},
        "corrects": {(s.name, state) for s in one.steps.values() for state in corrects(one, s)},
    }
    for kind, pairs in wanted.items():
        marks = of_class(root, kind)
        assert {(mark.attrib["data-step"], mark.attrib["data-state"]) for mark in marks} == pairs
        assert len(marks) == len(pairs)
    fills = {kind: {mark.get("fill") for mark in of_class(root, kind)} for kind in wanted}
    assert fills["moves"] <= {"black"} and fills["watches"] <= {"white"} and fills["corrects"] <= {"black"}


@pytest.mark.parametrize("name", ALL)
def test_each_state_has_its_own_column_and_each_mark_stands_beside_its_box(name: str) -> None:
    root = tree(procedure(name))
    found = boxes(root)
    columns: dict[str, set[float]] = {}
    rows: dict[str, list[float]] = {}
    for mark in of_class(root, "moves", "watches", "corrects"):
        state, box = mark.attrib["data-state"], outline(found[mark.attrib["data-step"]])
        columns.setdefault(state, set()).add(number(mark, "cx"))
        rows.setdefault(state, []).append(number(mark, "cy"))
        assert number(box, "y") < number(mark, "cy") < number(box, "y") + number(box, "height")
        assert number(box, "x") + number(box, "width") < number(mark, "cx") < number(root, "width")
    assert all(len(xs) == 1 for xs in columns.values())
    assert len({x for xs in columns.values() for x in xs}) == len(columns)
    lanes = {lane.attrib["data-state"]: lane for lane in of_class(root, "state")}
    assert lanes.keys() == columns.keys()
    for state, lane in lanes.items():
        assert {number(lane, "x1"), number(lane, "x2")} == columns[state]
        assert (number(lane, "y1"), number(lane, "y2")) == (min(rows[state]), max(rows[state]))


def brackets(root: Element) -> set[tuple[str, str, str | None]]:
    found = of_class(root, "hazard")
    assert all(group.find(f"{SVG}line") is not None for group in found)
    return {(group.attrib["data-hazard"], group.attrib["data-from"], group.get("data-to")) for group in found}


def test_hazards_run_from_the_step_that_leaves_them_to_the_step_that_ends_them() -> None:
    assert brackets(tree(procedure("shelf"))) == {("unsupported", "set", "fix")}
    assert brackets(tree(procedure("bars"))) == {
        ("open", "a", "c"),
        ("hot", "a", "d"),
        ("open", "e", "g"),
        ("hot", "e", "g"),
    }


def test_a_hazard_that_nothing_ends_runs_to_the_end() -> None:
    bars = procedure("bars")
    steps = {name: replace(step, secures=()) for name, step in bars.steps.items()}
    assert brackets(tree(replace(bars, steps=steps))) == {("open", "a", None), ("hot", "a", None)}


@pytest.mark.parametrize("name", ALL)
def test_in_every_job_the_bracket_covers_the_hazard(name: str) -> None:
    one = procedure(name)
    place = {step: i for i, step in enumerate(one.order)}
    spans = [(hazard, place[first], place[last or one.order[-1]]) for hazard, first, last in brackets(tree(one))]
    options = [[(choice.name, option) for option in choice.options] for choice in one.choices.values()]
    for answers in map(dict, itertools.product(*options)):
        there: set[str] = set()
        for i, step_name in enumerate(one.order):
            step = one.steps[step_name]
            if all(answers[choice] in allowed for choice, allowed in step.when.items()):
                there -= set(step.secures)
                there |= set(step.leaves)
            for hazard in there:
                assert any(hazard == h and first <= i < last for h, first, last in spans), (hazard, step_name)


def test_the_line_of_a_hazard_begins_and_ends_beside_its_boxes() -> None:
    root = tree(procedure("shelf"))
    (group,) = of_class(root, "hazard")
    line = group.find(f"{SVG}line")
    assert line is not None
    for end, step in (("y1", "set"), ("y2", "fix")):
        box = outline(boxes(root)[step])
        assert number(box, "y") < number(line, end) < number(box, "y") + number(box, "height")
        assert number(line, "x1") < number(box, "x")
    assert words(group) == "unsupported"


@pytest.mark.parametrize("name", ALL)
def test_nothing_stands_outside_the_sheet(name: str) -> None:
    root = tree(procedure(name))
    width, height = number(root, "width"), number(root, "height")
    assert root.get("viewBox") == f"0 0 {width:.0f} {height:.0f}"
    for element in root.iter():
        for x in ("x", "cx", "x1", "x2"):
            assert 0 <= float(element.get(x, "0")) <= width
        for y in ("y", "cy", "y1", "y2"):
            assert 0 <= float(element.get(y, "0")) <= height


def test_it_stays_narrow_enough_for_a_phone_and_a_sheet_of_paper() -> None:
    for name in shipped():
        assert number(tree(procedure(name)), "width") <= 8 * 96 - 96


def test_long_names_are_cut_into_lines_inside_their_box() -> None:
    long = "measure-the-long-distance-between-both-of-the-studs"
    one = load_text("long.yaml", f"format: 1\ntitle: {'Long title ' * 12}\nsteps:\n  {long}: {{say: Do it.}}\n")
    root = tree(one)
    (group,) = of_class(root, "step")
    lines = list(group.iter(f"{SVG}text"))[1:]
    assert len(lines) > 1 and " ".join(text.text or "" for text in lines) == long.replace("-", " ")
    box = outline(group)
    assert all(number(text, "y") < number(box, "y") + number(box, "height") for text in lines)
    assert max(len(text.text or "") for text in root.iter(f"{SVG}text")) < 60


@pytest.mark.parametrize("name", ALL)
def test_the_legend_explains_every_sign(name: str) -> None:
    wording = Wording.load("en")
    (legend,) = of_class(tree(procedure(name)), "legend")
    keys = [key for key in wording.names() if key.startswith("drawing.legend-")]
    assert words(legend) == " ".join(wording.say(key) for key in keys)


@pytest.mark.parametrize("name", ALL)
def test_it_needs_nothing_from_outside(name: str) -> None:
    text = drawing(procedure(name))
    allowed = {"svg", "title", "desc", "g", "rect", "text", "line", "path", "circle"}
    assert {element.tag.removeprefix(SVG) for element in tree(procedure(name)).iter()} == allowed
    assert re.findall(r"\w+://[^\"]*", text) == ["http://www.w3.org/2000/svg"]
    assert "href" not in text and "url(" not in text and "@" not in text
    assert set(re.findall(r'(?:fill|stroke)="([^"]*)"', text)) == {"white", "black", "none"}


def test_title_and_description_for_those_who_listen() -> None:
    root = tree(procedure("shelf"))
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root[0].text == "Hang a shelf frame: the order of steps"
    assert (root[1].text or "").startswith("9 steps from top to bottom, 3 of them checks")
    titles = {mark.attrib["data-step"]: mark[0].text for mark in of_class(root, "moves")}
    assert titles["fix"] == "fix moves the frame"


def test_all_text_is_escaped() -> None:
    shelf = procedure("shelf")
    nasty = '</text><script>alert("&")</script>\x00\x1b\ufffe\ud800]]>'
    step = replace(shelf.steps["look"], say=nasty, part=nasty)
    text = drawing(replace(shelf, title=nasty, about=nasty, steps={**shelf.steps, "look": step}))
    root = ElementTree.fromstring(text.encode("utf-8"))
    assert not [element for element in root.iter() if element.tag.endswith("script")]
    assert root[0].text == '</text><script>alert("&")</script>\\x00\\x1b\\ufffe\\ud800]]>: the order of steps'


def test_the_same_procedure_gives_the_same_drawing() -> None:
    program = (
        "from small import SHELF; from guide.procedure import load_text; from guide.screen.explain import drawing, text"
    )
    program += "; one = load_text('shelf.yaml', SHELF.replace('states: {frame: the frame, pin: the pin}', ''))"
    program += "; print(drawing(one), text(one))"
    outputs = set()
    for seed in ("1", "2", "3"):
        env = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join((".", "tests"))}
        done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, env=env)
        outputs.add(done.stdout)
    assert len(outputs) == 1


def test_a_long_name_of_a_short_hazard_stays_beside_its_line() -> None:
    text = "format: 1\ntitle: X\nmake-safe: {far-too-long-a-name: {say: Close it.}}\nsteps:\n"
    text += "  a: {say: Open it., leaves: far-too-long-a-name}\n"
    text += "  b: {after: a, say: Shut it., secures: far-too-long-a-name}\n"
    one = load_text("x.yaml", text)
    (group,) = of_class(tree(one), "hazard")
    line, label = group.find(f"{SVG}line"), group.find(f"{SVG}rect")
    assert line is not None and label is not None and words(group).endswith("…")
    assert number(line, "y1") < number(label, "y")
    assert number(label, "y") + number(label, "height") < number(line, "y2")
