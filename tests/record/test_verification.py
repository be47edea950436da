"""What verify found, in words and as data: every line of it."""

from __future__ import annotations

from guide.problems import Place, Problem
from guide.record.verification import Verification, Wrong, report_lines, say_what_counts

WHOLE = Verification(
    "job/record.jsonl",
    lines=9,
    torn=2,
    title="Hang a shelf",
    status="finished",
    last_hash="ab" * 32,
    sealed=8,
    clock_back=3,
    pretended=True,
    invented=True,
    concessions=("level", "gap"),
)
CHAINED = (
    "Relied on: Every line follows from the one before (SHA-256): "
    "no byte was changed, short of rewriting all behind it."
)


def test_a_whole_record_in_words() -> None:
    say_what_counts(WHOLE)
    assert report_lines(WHOLE) == [
        "job/record.jsonl: whole, 9 lines.",
        "Job: Hang a shelf (finished).",
        "The job is invented (a demo).",
        "Its times are pretended.",
        "The clock went back (3 times); the record says where.",
        "2 torn at the end (or being written just now), never acknowledged.",
        "Accepted as it is: level, gap.",
        f"Last hash: {'ab' * 32}",
        CHAINED,
        "Relied on: The record replays, and every limit and verdict follows from the procedure and the readings.",
        "Relied on: The last line seals the 8 before it: their count and hash.",
        "Not seen: Lines cut off the end together with the seal can't be seen from the record alone.",
        "Not seen: A rewrite of the whole record can't be seen without a copy of its last hash.",
        "Not seen: Whether the machine's clock was right, and who spoke under a name without a PIN.",
    ]


def test_a_record_without_a_seal_says_that_lines_may_be_missing() -> None:
    found = Verification("record.jsonl", lines=1)
    say_what_counts(found)
    assert report_lines(found) == [
        "record.jsonl: whole, 1 lines.",
        CHAINED,
        "Relied on: The record replays, and every limit and verdict follows from the procedure and the readings.",
        "Not seen: The record does not end in a seal: lines cut off the end can't be seen.",
        "Not seen: A rewrite of the whole record can't be seen without a copy of its last hash.",
        "Not seen: Whether the machine's clock was right, and who spoke under a name without a PIN.",
    ]


def test_a_record_that_is_not_whole_relies_on_nothing_and_names_each_line_with_its_cure() -> None:
    found = Verification("record.jsonl", lines=4, sealed=3)
    found.wrong(Wrong("no-job", "there is no record.", cure="Name the folder."))
    found.wrong(Wrong("chain", "it was changed.", 7))
    found.wrong(Wrong("newline", "its end was changed.", 3))
    say_what_counts(found)
    assert not found.ok
    assert (found.first_bad_line, found.sealed) == (3, 0)
    assert report_lines(found)[:5] == [
        "record.jsonl: NOT whole, 4 lines.",
        "there is no record. Name the folder.",
        "line 7: it was changed.",
        "line 3: its end was changed.",
        "Not seen: The record does not end in a seal: lines cut off the end can't be seen.",
    ]
    assert found.problems[1] == Problem("chain", "it was changed.", Place("record.jsonl", 7), None)


def test_a_fault_of_the_whole_record_is_at_no_line() -> None:
    found = Verification("record.jsonl")
    assert found.first_bad_line is None
    found.wrong(Wrong("no-job", "there is no record."))
    assert (found.ok, found.first_bad_line, found.problems[0].place) == (False, None, None)


def test_all_of_it_as_data() -> None:
    found = Verification("p", lines=2, torn=1, title="t", status="stopped", last_hash="h", sealed=1, clock_back=4)
    assert found.as_data() == {
        "ok": True,
        "path": "p",
        "lines": 2,
        "first_bad_line": None,
        "problems": [],
        "torn": 1,
        "title": "t",
        "status": "stopped",
        "last_hash": "h",
        "sealed": 1,
        "clock_back": 4,
        "pretended": False,
        "invented": False,
        "concessions": [],
        "relied_on": [],
        "not_seen": [],
    }
    found.wrong(Wrong("chain", "it was changed.", 2))
    found.pretended = found.invented = True
    found.concessions = ("level",)
    say_what_counts(found)
    data = found.as_data()
    assert (data["ok"], data["first_bad_line"], data["problems"]) == (False, 2, [found.problems[0].as_data()])
    assert (data["pretended"], data["invented"], data["concessions"]) == (True, True, ["level"])
    assert (data["relied_on"], data["not_seen"]) == ([], found.not_seen)


def test_what_is_wrong_says_why() -> None:
    bad = Wrong("chain", "it was changed.", 2, "Look at it.")
    assert (str(bad), bad.code, bad.why, bad.line, bad.cure) == (
        "it was changed.",
        "chain",
        "it was changed.",
        2,
        "Look at it.",
    )
