"""What the report of a job says: the answer, what was out and what became of it, and everything behind it."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

import pytest
from explore import key
from records import TINY, TINY_DONE, talked
from reports import kept
from small import SHELF

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Command
from guide.job.fold import replay
from guide.quantity import quantity
from guide.record.keys import Keys
from guide.record.signatures import sign
from guide.report.document import Block, Document, Facts, Items, Paragraph, Table
from guide.report.found import Found, find
from guide.report.job import job_document
from guide.report.story import stories

LEAD = ev.Person("Ana", "lead", "pin")
SET: list[Command] = [cmd.Begin("set"), cmd.Finish("set"), cmd.Begin("gap")]


def gap(value: str) -> Command:
    return cmd.Take("gap", "", quantity(value), ev.Heard(value))


def blocks(document: Document) -> list[Block]:
    return [*document.lead, *(one for section in document.sections for one in section.blocks)]


def table(document: Document, caption: str) -> list[tuple[str, ...]]:
    """The rows of the table whose caption begins so."""
    found = [one for one in blocks(document) if isinstance(one, Table) and one.caption.startswith(caption)]
    assert len(found) == 1, [one.caption for one in blocks(document) if isinstance(one, Table)]
    return list(found[0].rows)


def facts(document: Document) -> dict[str, str]:
    return dict(row for one in document.lead if isinstance(one, Facts) for row in one.rows)


def tiny_job(folder: Path, *commands: Command) -> Found:
    return find(kept(folder / "job", TINY, [*SET, *commands]), Keys(folder / "keys"))


def test_a_job_with_nothing_out(tmp_path: Path) -> None:
    document = job_document(tiny_job(tmp_path, gap("1/16 in")))
    assert (
        document.answer == "NOT FINISHED: it was cut off or is still going on. 0 checks are not good or not taken yet."
    )
    talked(tmp_path / "done", TINY, ["done", "1/16"])
    document = job_document(find(tmp_path / "done", Keys(tmp_path / "keys")))
    assert (document.answer, document.sign) == ("Accepted: every check is good.", "good")
    assert Paragraph("No check was ever out.") in document.lead
    assert facts(document)["Signed"] == "by nobody"


def test_what_was_out_and_put_right(tiny: Path, keys: Keys) -> None:
    document = job_document(find(tiny, keys))
    ((check, wanted, was, did, now),) = table(document, "What was out")
    assert (check, wanted, was, now) == ("Gap", "0 in to 1/8 in", "1/4 in", "good")
    assert did == "Corrected as advised."
    readings = table(document, "The job")
    assert [row[:4] for row in readings] == [
        ("Gap", "1/4 in", "0 in to 1/8 in", "OUT"),
        ("Gap", "1/16 in", "0 in to 1/8 in", "good"),
    ]
    assert [row[5] for row in readings] == ["typed “1/4”", "typed “1/16”"]
    assert [row[6] for row in readings] == ["1", "2"]
    ((name, because, _, _),) = table(document, "Checks that had to be taken again")
    assert (name, because) == ("Gap", "the correction of “Gap”")


def test_a_concession_is_on_the_first_page_with_who_and_why(tmp_path: Path) -> None:
    rounds: list[Command] = [gap("1/4 in"), cmd.Adjust("gap"), gap("3/16 in"), cmd.Adjust("gap"), gap("1/4 in")]
    found = tiny_job(tmp_path, *rounds, cmd.Decide("gap", "concede", LEAD, "the wall is bowed"))
    document = job_document(found)
    assert table(document, "Open concessions") == [
        ("Gap", "1/4 in", "Ana, lead (proved with a PIN)", "the wall is bowed")
    ]
    (story,) = stories(found)
    assert [str(one.value) for one in story.out] == ["1/4 in", "3/16 in", "1/4 in"]
    assert story.end == "ACCEPTED AS IT IS"
    assert story.did[-1] == "Accepted as it is by Ana, lead (proved with a PIN): the wall is bowed."
    assert [span.standing for span in found.spans["gap"]] == ["out", "stale", "out", "stale", "out", "conceded"]


def test_a_check_that_is_still_out_is_said_loudly(tmp_path: Path) -> None:
    document = job_document(tiny_job(tmp_path, gap("1/4 in")))
    assert document.sign == "open" and "NOT FINISHED" in document.answer
    assert "1 check is not good or not taken yet." in document.answer
    assert table(document, "What was out")[0][4] == "STILL OUT"
    document = job_document(tiny_job(tmp_path / "more", gap("1/4 in"), cmd.Adjust("gap")))
    assert table(document, "What was out")[0][4] == "TO BE TAKEN AGAIN"


def test_a_correction_shows_what_it_replaced(tmp_path: Path) -> None:
    corrected = cmd.Correct("gap", "", quantity("1/16 in"), ev.Heard("1/16", "voice", confirmed="yes"))
    found = tiny_job(tmp_path, gap("1/4 in"), corrected)
    document = job_document(found)
    first = found.given[0].entry.seq
    ((what, was, now, doubt, _, _),) = table(document, "Corrected readings")
    assert (what, was, now, doubt) == ("Gap", f"1/4 in (entry {first})", "1/16 in", "nothing")
    assert [row[3] for row in table(document, "The job")] == ["OUT, replaced", "good"]
    assert stories(found)[0].did == ("The reading was mistaken: 1/16 in.",)


def test_how_a_value_was_heard_and_confirmed(tmp_path: Path) -> None:
    heard = ev.Heard("an eighth", "voice", 1, True, ("a tenth", "a half"), "0.8714", "choice")
    document = job_document(tiny_job(tmp_path, cmd.Take("gap", "", quantity("1/16 in"), heard, True)))
    assert table(document, "The job")[0][5] == (
        "heard “an eighth”; confidence 0.87; may have been “a tenth” or “a half”; said with a doubt; a hair over; "
        "chosen from a list; outside the usual, and confirmed"
    )


def test_the_final_hash_and_who_signed_are_on_the_first_page(tiny: Path, keys: Keys) -> None:
    keys.make("Bo")
    keys.make("Ana")
    for name in ("Bo", "Ana"):
        sign(tiny, name, None, datetime(2026, 5, 4, 12, 30, tzinfo=UTC), keys)
    found = find(tiny, keys)
    told = facts(job_document(found))
    assert told["Final hash"] == found.verification.last_hash
    assert told["Signed as installer"] == "Bo, 2026-05-04 12:30: over the record as it is; known key"
    assert told["Signed as supervisor"].startswith("Ana, ")
    assert "is not known here" in facts(job_document(find(tiny, Keys(tiny / "none"))))["Signed as installer"]
    (tiny / "signatures.jsonl").write_text("{")
    assert "no signature" in facts(job_document(find(tiny, keys)))["Signatures"]


def test_notes_waits_stops_and_what_moved_are_told(tmp_path: Path) -> None:
    more: list[Command] = [
        gap("1/16 in"),
        cmd.Note("a loose stud", "gap"),
        cmd.Moved(("shelf",), "we leaned on it"),
        cmd.SomeoneHurt("a cut"),
        cmd.Clear(LEAD),
        cmd.Redo("set", "once more"),
        cmd.Leave("interrupted"),
        cmd.Resume(),
    ]
    document = job_document(tiny_job(tmp_path, *more))
    told = [row[1] for row in table(document, "What else happened")]
    assert told[:3] == [
        "Note at “Gap”: a loose stud",
        "The crew said that something moved: shelf (we leaned on it)",
        "SOMEBODY WAS HURT",
    ]
    assert "“Set” is to be done again: once more" in told
    assert "Stopped (interrupted)" in told and "Work went on" in told
    assert any("work goes on after someone was hurt" in row[1] for row in table(document, "Looks, decisions"))


def test_the_demo_tells_its_story(demo_found: Found) -> None:
    document = job_document(demo_found)
    told = {row[0]: row for row in table(document, "What was out")}
    assert list(told) == [
        *("Sill level", "Flush", "Square", "Plumb", "Hinge reveal", "Screw length", "Landing outside inswing")
    ]
    assert told["Hinge reveal"][3].startswith(
        "The reading was mistaken: 1/8 in at left top. Moved: head 3/16 in right;"
    )
    assert [row[4] for row in told.values()] == ["good"] * 6 + ["ACCEPTED AS IT IS"]
    moves = [row[2] for row in table(document, "Plans, moves") if row[1] == "Move made"]
    assert moves == [
        "head: 3/16 in right",
        "right middle hinge: 1/8 in in",
        "top right corner: 1/8 in toward the outside",
    ]
    assert table(document, "Corrected readings")[0][1].startswith("83 3/4 in (entry ")
    assert Paragraph("Its times are pretended: waits were jumped over.") in document.lead


def test_every_entry_that_is_a_reading_or_a_decision_is_in_the_report(demo_found: Found) -> None:
    document = job_document(demo_found)
    shown = {row[-1] for one in blocks(document) if isinstance(one, Table) for row in one.rows}
    kinds = (ev.Took, ev.Corrected, ev.Repeated, ev.Planned, ev.Adjusted, ev.MoveMade, ev.Looked, ev.Decided, ev.Chosen)
    assert {str(entry.seq) for entry in demo_found.events(*kinds)} <= shown


def test_the_state_of_a_report_is_the_replayed_one(demo_found: Found) -> None:
    assert key(demo_found.state) == key(replay(demo_found.procedure, demo_found.entries))


def test_each_span_ends_where_the_next_begins_or_the_check_was_nothing(demo_found: Found) -> None:
    for name, spans in demo_found.spans.items():
        assert all(span.ends is None or span.begins < span.ends for span in spans)
        assert all(a.ends is not None and a.ends <= b.begins for a, b in pairwise(spans))
        step = demo_found.state.steps[name]
        last = spans[-1]
        assert last.ends is None and (last.standing == "conceded") == (step.concession is not None)


@pytest.mark.parametrize("count", range(len(TINY_DONE) + 1))
def test_a_report_can_be_made_at_any_moment_of_a_job(tmp_path: Path, count: int) -> None:
    talked(tmp_path / "job", TINY, TINY_DONE[:count])
    document = job_document(find(tmp_path / "job", Keys(tmp_path / "keys")))
    assert (document.sign == "good") == (count == len(TINY_DONE))


def test_an_unfinished_job_left_unsafe_says_so(tmp_path: Path) -> None:
    commands: list[Command] = [
        cmd.Choose("back", "none"),
        cmd.Begin("survey"),
        *(cmd.Take("survey", place, quantity("20 in")) for place in ("top", "bottom")),
        *(act for step in ("cut", "set") for act in (cmd.Begin(step), cmd.Acknowledge(step))),
    ]
    commands[6:6] = [cmd.Finish("cut")]
    commands += [cmd.CrewIsThere("set"), cmd.Finish("set")]
    document = job_document(find(kept(tmp_path / "job", SHELF, commands), Keys(tmp_path / "keys")))
    told = [one.text for one in document.lead if isinstance(one, Paragraph)]
    assert any("left and not made safe: unsupported" in text for text in told)


def test_what_looks_made_up_is_listed_without_a_verdict(demo_found: Found) -> None:
    document = job_document(demo_found)
    (items,) = [one for one in document.lead if isinstance(one, Items)]
    assert "Gap between the doors and the head: all 32 readings are 1/8 in." in items.items
    assert not any("faster" in text or " s;" in text for text in items.items)
