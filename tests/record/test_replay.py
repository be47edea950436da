"""What verify finds in the story of a record whose chain is good: each thing that can't be so, with its words."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from records import edited, put, talked

from guide.record.verify import verify

BENCH = """
format: 1
title: Set a bench
states: {bench: the bench}
facts: {most: {value: 1/4 in, standing: common practice}}
readings:
  span: {ask: Span, likely: 10 in to 100 in}
  wood: {ask: Which wood, answer: choice, options: {oak: oak, ash: ash}}
  maker: {ask: Who made it, answer: name}
  firm: {ask: Is it firm, answer: yes-no, good: "yes"}
  gap: {ask: Gap, about: gap, at: [left, right]}
  tilt: {ask: Tilt, about: gap, at: [front, back], likely: 0 in to 1 in}
cautions: {heavy: The bench is heavy.}
steps:
  span: {take: span}
  wood: {after: span, take: wood}
  maker: {after: wood, take: maker}
  set: {after: maker, say: Set it., caution: heavy, crew: 2, disturbs: [bench]}
  firm: {after: set, take: firm, watches: [bench]}
  gap: {after: firm, take: gap, within: 1/16 in to span / 100, watches: [bench]}
  tilt: {after: gap, take: tilt, even: most, watches: [bench]}
"""
LINES = ["20", "oak", "Cy", "understood", "yes", "done", "yes", "1/16", "1/8", "0", "1/4"]


@pytest.fixture(scope="module")
def lines(tmp_path_factory: pytest.TempPathFactory) -> list[bytes]:
    """The lines of a real record with a reading of every kind."""
    return talked(tmp_path_factory.mktemp("bench") / "job", BENCH, LINES).splitlines(keepends=True)


def at(lines: list[bytes], kind: str, step: str, place: str = "") -> int:
    """Where the step's event of a kind stands."""
    for number, line in enumerate(lines):
        read = json.loads(line)
        if read["kind"] == kind and (read["data"].get("step"), read["data"].get("place", "")) == (step, place):
            return number
    raise AssertionError(kind)


def found(folder: Path, lines: list[bytes], where: int, edit: Callable[[dict[str, Any]], object]) -> tuple[str, str]:
    """The code and words of the one problem in a record with a line edited and its chain made good; at that line."""
    problems = verify(put(folder, edited(lines, where, edit))).problems
    assert [problem.place.line if problem.place else 0 for problem in problems] == [where + 1], problems
    return problems[0].code, problems[0].message


def test_the_record_is_whole(tmp_path: Path, lines: list[bytes]) -> None:
    whole = verify(put(tmp_path, b"".join(lines)))
    assert whole.ok, whole.problems
    assert (whole.status, whole.title, whole.pretended) == ("finished", "Set a bench", True)
    assert whole.sealed == len(lines) - 1


@pytest.mark.parametrize(
    ("step", "place", "value"),
    [
        ("span", "", "wide"),
        ("span", "", {"amount": "20 kg"}),
        ("wood", "", "elm"),
        ("wood", "", {"amount": "20 in"}),
        ("maker", "", " "),
        ("maker", "", {"amount": "20 in"}),
        ("firm", "", "maybe"),
        ("firm", "", {"amount": "1 in"}),
        ("gap", "left", "yes"),
    ],
)
def test_a_value_that_is_no_answer(tmp_path: Path, lines: list[bytes], step: str, place: str, value: object) -> None:
    words = found(tmp_path, lines, at(lines, "took", step, place), lambda d: d["data"].update(value=value))
    assert words == ("value", f'the value is no answer to "{step}".')


def codes(folder: Path, record: bytes) -> list[str]:
    return [problem.code for problem in verify(put(folder, record)).problems]


@pytest.mark.parametrize(("step", "value"), [("wood", "ash"), ("maker", "yes"), ("maker", "Al")])
def test_another_answer_of_its_kind_is_one(tmp_path: Path, lines: list[bytes], step: str, value: object) -> None:
    record = edited(lines, at(lines, "took", step), lambda d: d["data"].update(value=value))
    assert codes(tmp_path, record) == ["seal"], "only the seal at the end is not that of these lines"


def test_another_reading_gives_what_follows_from_it_other_limits(tmp_path: Path, lines: list[bytes]) -> None:
    record = edited(lines, at(lines, "took", "span"), lambda d: d["data"].update(value={"amount": "2 ft"}))
    assert codes(tmp_path, record) == ["limits"]


NOT_SO = "the verdict does not follow from the value and its limits."


@pytest.mark.parametrize(
    ("step", "place", "edit"),
    [
        ("span", "", {"verdict": "good"}),
        ("span", "", {"verdict": "out"}),
        ("wood", "", {"verdict": "good"}),
        ("firm", "", {"verdict": "noted"}),
        ("firm", "", {"value": "no"}),
        ("gap", "left", {"verdict": "out"}),
        ("gap", "left", {"value": {"amount": "1/32 in"}}),
        ("gap", "left", {"heard": {"said": "1/16", "hair": -1}}),
        ("gap", "right", {"value": {"amount": "1/2 in"}}),
        ("gap", "right", {"value": {"amount": "1/5 in"}, "heard": {"said": "a fifth", "hair": 1}}),
        ("tilt", "front", {"verdict": "noted"}),
    ],
)
def test_a_verdict_that_does_not_follow(
    tmp_path: Path, lines: list[bytes], step: str, place: str, edit: dict[str, object]
) -> None:
    words = found(tmp_path, lines, at(lines, "took", step, place), lambda d: d["data"].update(edit))
    assert words == ("verdict", NOT_SO)


@pytest.mark.parametrize(
    "edit",
    [
        {"heard": {"said": "1/16", "hair": 1}},
        {"value": {"amount": "1/5 in"}},
        {"value": {"amount": "1/5 in"}, "heard": {"said": "a fifth", "hair": -1}},
    ],
)
def test_both_ends_belong_to_the_limits_and_a_hair_inside_is_inside(
    tmp_path: Path, lines: list[bytes], edit: dict[str, object]
) -> None:
    record = edited(lines, at(lines, "took", "gap", "left"), lambda d: d["data"].update(edit))
    assert codes(tmp_path, record) == ["seal"]


@pytest.mark.parametrize("edit", [{"low": "0 in"}, {"high": "1/4 in"}, {"low": None}, {"high": None}])
def test_limits_that_are_not_those_of_the_job(tmp_path: Path, lines: list[bytes], edit: dict[str, object]) -> None:
    words = found(tmp_path, lines, at(lines, "took", "gap", "left"), lambda d: d["data"].update(edit))
    assert words == ("limits", "the limits are not those of the procedure as the job stood.")


def test_limits_where_there_are_none(tmp_path: Path, lines: list[bytes]) -> None:
    words = found(tmp_path, lines, at(lines, "took", "span"), lambda d: d["data"].update(low="1 in"))
    assert words == ("limits", "the limits are not those of the procedure as the job stood.")


def without(lines: list[bytes], where: int) -> bytes:
    """The record with one line turned into a note, so that it never happened."""
    return edited(lines, where, lambda d: d.update(kind="noted", data={"text": "x"}))


@pytest.mark.parametrize(
    ("kind", "code", "words"),
    [
        ("acknowledged", "caution", 'nobody acknowledged the cautions of "set" before it.'),
        ("crew-ready", "crew", 'nobody said that the crew for "set" was there.'),
        ("begun", "replay", '"set" was not begun.'),
    ],
)
def test_what_must_come_before_a_step(tmp_path: Path, lines: list[bytes], kind: str, code: str, words: str) -> None:
    (problem,) = verify(put(tmp_path, without(lines, at(lines, kind, "set")))).problems
    assert (problem.code, problem.message) == (code, words)
    assert problem.place is not None
    assert problem.place.line == at(lines, "done", "set") + 1


def test_a_reading_of_a_step_that_was_not_begun(tmp_path: Path, lines: list[bytes]) -> None:
    (problem,) = verify(put(tmp_path, without(lines, at(lines, "begun", "wood")))).problems
    assert (problem.code, problem.message) == ("replay", '"wood" was not begun.')


def test_a_seal_that_is_not_so(tmp_path: Path, lines: list[bytes]) -> None:
    last = len(lines) - 1
    for edit in ({"count": last - 1}, {"hash": "0" * 64}):
        words = found(tmp_path, lines, last, lambda d, edit=edit: d["data"].update(edit))  # type: ignore[misc]
        assert words == ("seal", "what the line says of the record before it is not so.")


def test_what_the_fold_refuses_is_told_with_its_reason(tmp_path: Path, lines: list[bytes]) -> None:
    where = at(lines, "begun", "wood")
    code, words = found(tmp_path, lines, where, lambda d: d["data"].update(step="tilt"))
    assert (code, words) == ("replay", f'the line can\'t have happened there: entry {where}: "tilt" began before gap.')


def test_a_procedure_that_is_not_the_one_named(tmp_path: Path, lines: list[bytes]) -> None:
    words = found(tmp_path, lines, 0, lambda d: d["data"].update(sha256="0" * 64))
    assert words == ("procedure-hash", "the procedure in the record is not the one its hash names.")


def test_a_clock_that_did_not_go_back(tmp_path: Path, lines: list[bytes]) -> None:
    where = at(lines, "begun", "wood")
    words = found(tmp_path, lines, where, lambda d: d.update(kind="clock-back", data={"was": d["at"]}))
    assert words == ("clock-back", "the clock did not go back as the line says.")


def test_a_record_without_a_whole_line(tmp_path: Path) -> None:
    (problem,) = verify(put(tmp_path, b'{"seq":0')).problems
    assert (problem.code, problem.message) == ("record-empty", "the record holds no whole line.")
    assert problem.hint == "The job never began: start it again."
