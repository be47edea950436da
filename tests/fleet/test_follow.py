"""What follows from a record, row by row: how a check went, what was put right, who accepted it, what was heard."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from records import put, talked
from reports import kept
from small import SHELF, SURVEYED

from guide.fleet.follow import Following
from guide.fleet.rows import COMMON, TABLES
from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Command
from guide.quantity import quantity
from guide.record.verify import verify

LEAD = ev.Person("Ana", "lead", "pin")
CHECK = """
format: 1
title: Set a shelf
states: {shelf: the shelf}
readings:
  gap: {ask: Gap, at: [left, right], about: gap, likely: 0 in to 1 in, with: a steel rule}
  width: {ask: Width, likely: 10 in to 40 in, with: tape}
steps:
  width: {say: Measure., take: width}
  set: {after: width, say: Set it., disturbs: [shelf]}
  gap: {after: set, take: gap, say: Look., within: 0 in to 1/8 in, watches: [shelf], out: {adjust: [shelf]}}
  fix: {after: gap, needs: [gap], say: Fix it., wait: {time: 30 min, for: the glue}}
"""
BEGUN: list[Command] = [
    cmd.Begin("width"),
    cmd.Take("width", "", quantity("36 3/16 in"), ev.Heard("36 3/16")),
    cmd.Begin("set"),
    cmd.Finish("set"),
    cmd.Begin("gap"),
]


def gaps(*values: str) -> list[Command]:
    """A round of the check."""
    return [cmd.Take("gap", at, quantity(value)) for at, value in zip(("left", "right"), values, strict=True)]


def followed(folder: Path, commands: list[Command], text: str = CHECK) -> dict[str, list[dict[str, Any]]]:
    """The rows of a job in which these commands were done, 20 s apart, by column."""
    return rows_of(kept(folder / "job", text, commands))


def rows_of(job: Path) -> dict[str, list[dict[str, Any]]]:
    """The rows of a record, by column."""
    following = Following()
    found = verify(job, following)
    assert found.ok, found.problems
    columns = {name: list(columns)[len(COMMON) :] for name, columns in TABLES.items()}
    return {
        name: [dict(zip(columns[name], row, strict=True)) for row in rows]
        for name, rows in following.tables(found).items()
    }


def the_gap(rows: dict[str, list[dict[str, Any]]]) -> tuple[object, ...]:
    """How the check went: first try, rounds, rounds out, times good, standing."""
    (row,) = (one for one in rows["steps"] if one["step"] == "gap")
    return row["first_try"], row["rounds"], row["out"], row["times"], row["standing"]


def test_good_at_once(tmp_path: Path) -> None:
    assert the_gap(followed(tmp_path, [*BEGUN, *gaps("1/16 in", "1/8 in")])) == (True, 1, 0, 1, "fresh")


def test_good_in_the_second_and_third_round(tmp_path: Path) -> None:
    again = [*gaps("1/4 in", "0 in"), cmd.Adjust("gap")]
    assert the_gap(followed(tmp_path / "a", [*BEGUN, *again, *gaps("0 in", "0 in")])) == (False, 2, 1, 1, "fresh")
    twice = [*BEGUN, *again, *again, *gaps("0 in", "0 in")]
    assert the_gap(followed(tmp_path / "b", twice)) == (False, 3, 2, 1, "fresh")


def test_never_judged_and_never_good(tmp_path: Path) -> None:
    assert the_gap(followed(tmp_path / "a", [*BEGUN, *gaps("0 in", "0 in")[:1]])) == (None, None, 0, 0, "")
    assert the_gap(followed(tmp_path / "b", [*BEGUN, *gaps("1/4 in", "0 in")])) == (False, None, 1, 0, "out")


def test_a_mistaken_reading_that_is_put_right_counts_for_nothing(tmp_path: Path) -> None:
    right = cmd.Correct("gap", "left", quantity("0 in"))
    rows = followed(tmp_path, [*BEGUN, *gaps("1/4 in", "0 in"), right])
    assert the_gap(rows) == (True, 1, 0, 1, "fresh")
    assert [(one["value"], one["replaces"], one["replaced_by"]) for one in rows["readings"][1:]] == [
        ("1/4 in", None, rows["readings"][3]["seq"]),
        ("0 in", None, None),
        ("0 in", rows["readings"][1]["seq"], None),
    ]
    assert [one["first"] for one in rows["readings"]] == [True, True, True, False]


def test_a_mistaken_reading_put_right_that_is_still_out(tmp_path: Path) -> None:
    still = cmd.Correct("gap", "left", quantity("1/2 in"))
    rows = followed(tmp_path, [*BEGUN, *gaps("1/4 in", "0 in"), still, cmd.Adjust("gap"), *gaps("0 in", "0 in")])
    assert the_gap(rows) == (False, 2, 1, 1, "fresh")


def test_good_by_a_mistaken_reading_was_not_good(tmp_path: Path) -> None:
    wrong = cmd.Correct("gap", "left", quantity("1/2 in"))
    rows = followed(tmp_path / "a", [*BEGUN, *gaps("0 in", "0 in"), wrong])
    assert the_gap(rows) == (False, None, 1, 0, "out")
    more = [*BEGUN, *gaps("0 in", "0 in"), wrong, cmd.Adjust("gap"), *gaps("0 in", "0 in")]
    assert the_gap(followed(tmp_path / "b", more)) == (False, 2, 1, 1, "fresh")


def test_what_went_stale_is_good_again(tmp_path: Path) -> None:
    rows = followed(tmp_path, [*BEGUN, *gaps("0 in", "0 in"), cmd.Moved(("shelf",), "a knock"), *gaps("0 in", "0 in")])
    assert the_gap(rows) == (True, 1, 0, 2, "fresh")
    rows = followed(tmp_path / "b", [*BEGUN, *gaps("0 in", "0 in"), cmd.Moved(("shelf",), "a knock")])
    assert the_gap(rows) == (True, 1, 0, 1, "stale")


def test_a_concession_and_one_that_lapsed(tmp_path: Path) -> None:
    out = [*gaps("1/4 in", "0 in"), cmd.Adjust("gap")] * 2 + gaps("1/4 in", "0 in")
    conceded = [*BEGUN, *out, cmd.Decide("gap", "concede", LEAD, "behind the trim")]
    rows = followed(tmp_path / "a", conceded)
    assert the_gap(rows) == (False, None, 3, 0, "conceded")
    (row,) = rows["decisions"]
    assert (row["decision"], row["by"], row["proof"], row["reason"], row["stands"]) == (
        *("concede", "Ana", "pin", "behind the trim"),
        True,
    )
    lapsed = followed(tmp_path / "b", [*conceded, cmd.Moved(("shelf",), "a knock"), *gaps("0 in", "0 in")])
    assert [one["stands"] for one in lapsed["decisions"]] == [False]
    assert the_gap(lapsed) == (False, 4, 3, 1, "fresh")


def test_amounts_stand_as_text_and_as_numbers(tmp_path: Path) -> None:
    rows = followed(tmp_path, [*BEGUN, *gaps("3.175 mm", "-0 in")])
    width, gap, _ = rows["readings"]
    assert (width["value"], width["number"], width["unit"]) == ("36 3/16 in", 36.1875, "in")
    assert (width["low"], width["low_number"], width["verdict"], width["said"]) == (None, None, "noted", "36 3/16")
    assert (gap["number"], gap["high"], gap["high_number"], gap["about"]) == (0.125, "1/8 in", 0.125, "gap")


def test_how_far_a_reading_may_be_off(tmp_path: Path) -> None:
    """U of the instrument, where the procedure names one whose figures are known, over the length that was read."""
    rows = followed(tmp_path, [*BEGUN, *gaps("1/16 in", "0 in")])
    width, gap, _ = rows["readings"]
    # A tape over 36 3/16 in: 1/32 in (NIST Handbook 44), read to 1/16 in; both rectangular.
    assert width["expanded"] == pytest.approx(2 * math.sqrt((1 / 32) ** 2 / 3 + (1 / 32) ** 2 / 3))
    # A rule: 1/128 in over any length, read to 1/64 in.
    assert gap["expanded"] == pytest.approx(2 * math.sqrt((1 / 128) ** 2 / 3 + (1 / 128) ** 2 / 3))


def test_time_goes_to_the_step_that_was_worked_on(tmp_path: Path) -> None:
    after: list[Command] = [cmd.Begin("fix"), cmd.Finish("fix"), cmd.Stop(), cmd.Resume(), cmd.Note("damp", "fix")]
    rows = followed(tmp_path, [*BEGUN, *gaps("0 in", "0 in"), *after])
    seconds = {one["step"]: one["seconds"] for one in rows["steps"]}
    assert seconds == {"width": 40, "set": 40, "gap": 60, "fix": 60}  # the pause before the note's is not work


def test_a_wait(tmp_path: Path) -> None:
    long = kept(tmp_path / "job", CHECK, [*BEGUN, *gaps("0 in", "0 in"), cmd.Begin("fix"), cmd.Finish("fix")])
    assert [one["waited"] for one in rows_of(long)["steps"] if one["step"] == "fix"] == [None]
    slow = kept(
        tmp_path / "slow",
        CHECK,
        [*BEGUN, *gaps("0 in", "0 in"), cmd.Begin("fix"), cmd.Finish("fix"), cmd.PassTime()],
        step=1_900,
    )
    (fix,) = (one for one in rows_of(slow)["steps"] if one["step"] == "fix")
    assert (fix["waited"], fix["seconds"]) == (1_900, 3_800)


def test_times_on_a_pretended_clock_are_none(tmp_path: Path) -> None:
    talked(tmp_path / "job", SHELF, SURVEYED)
    rows = rows_of(tmp_path / "job")
    assert {one["seconds"] for one in rows["steps"]} == {None} and len(rows["readings"]) == 2


def test_how_a_reading_was_heard(tmp_path: Path) -> None:
    heard = ev.Heard("one sixteenth", "voice", 1, True, ("a sixteenth", "five sixteenths"), "0.75", "choice")
    rows = followed(tmp_path, [*BEGUN, cmd.Take("gap", "left", quantity("1/16 in"), heard, True)])
    row = rows["readings"][1]
    told = {name: row[name] for name in ("way", "said", "others", "confidence", "confirmed", "unsure", "hair")}
    assert told == {
        "way": "voice",
        "said": "one sixteenth",
        "others": "a sixteenth\nfive sixteenths",
        "confidence": 0.75,
        "confirmed": "choice",
        "unsure": True,
        "hair": 1,
    }
    assert row["surprising"] is True


@pytest.mark.parametrize("said", ["1/0", "much", "inf", "nan", "1e999"])
def test_a_confidence_that_is_no_number_is_none(tmp_path: Path, said: str) -> None:
    rows = followed(tmp_path, [*BEGUN, cmd.Take("gap", "left", quantity("0 in"), ev.Heard("x", confidence=said))])
    assert rows["readings"][1]["confidence"] is None


def test_a_damaged_record_gives_what_it_gives_and_is_not_whole(tmp_path: Path) -> None:
    job = kept(tmp_path / "job", CHECK, [*BEGUN, *gaps("0 in", "0 in")])
    data = (job / "record.jsonl").read_bytes().replace(b'"0 in"', b'"1 in"', 1)
    assert not verify(put(tmp_path / "bad", data), Following()).ok
