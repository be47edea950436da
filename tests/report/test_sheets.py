"""The owner's sheet and the order sheet, from the same record."""

from __future__ import annotations

from pathlib import Path

from records import TINY, TINY_DONE, talked

from guide.record.check_words import check_value
from guide.record.keys import Keys
from guide.report.document import Document, Facts, Figure, Items, Section, Table
from guide.report.found import Found, find
from guide.report.sheets import care_document, order_document


def facts(document: Document) -> dict[str, str]:
    return dict(row for one in document.lead if isinstance(one, Facts) for row in one.rows)


def section(document: Document, title: str) -> Section:
    return next(one for one in document.sections if one.title == title)


def test_the_owner_reads_what_was_accepted_how_it_stood_and_what_to_do(demo_found: Found) -> None:
    document = care_document(demo_found)
    assert (document.answer, document.sign) == ("Handed over.", "good")
    (accepted,) = section(document, "Accepted as it is").blocks
    assert isinstance(accepted, Items) and "a step is being built there" in accepted.items[0]
    (gaps,) = section(document, "How the doors stood").blocks
    assert isinstance(gaps, Table) and len(gaps.rows) == 13 and {row[1] for row in gaps.rows} == {"1/8 in"}
    (cured,) = section(document, "What had to cure").blocks
    assert isinstance(cured, Items) and len(cured.items) == 2
    told = facts(document)
    assert told["Check value of the record, for any claim"] == check_value(demo_found.verification.last_hash)
    assert told["Signed by"] == "nobody"


def test_nothing_is_handed_over_before_the_end(tmp_path: Path) -> None:
    talked(tmp_path / "job", TINY, TINY_DONE[:2])
    document = care_document(find(tmp_path / "job", Keys(tmp_path / "keys")))
    assert document.sign == "open" and document.answer.startswith("NOT handed over")
    assert "Handed over" not in facts(document)


def test_what_is_no_door_gets_no_care_of_doors(tiny: Path, keys: Keys) -> None:
    titles = [one.title for one in care_document(find(tiny, keys)).sections]
    assert "Call the installer for" not in titles and "Care" in titles


def test_the_order_is_the_size_for_the_opening(demo_found: Found) -> None:
    document = order_document(demo_found)
    assert document.answer == "Order 73 1/2 in wide, 82 1/8 in high, outside of the frame."
    told = facts(document)
    assert told["Depth of the frame"] == "4 9/16 in"
    assert told["Does it open into the house, or out"] == "they open in"
    (drawing,) = section(document, "The opening").blocks
    assert isinstance(drawing, Figure)
    (readings,) = section(document, "Readings").blocks
    assert isinstance(readings, Table)
    heights = [row[1] for row in readings.rows if row[0].startswith("Height of the opening")]
    assert sorted(heights) == ["82 13/16 in", "82 5/8 in", "82 7/8 in"], "those of the mended floor, none mistyped"


def test_without_a_survey_there_is_nothing_to_order(tiny: Path, tmp_path: Path, keys: Keys) -> None:
    document = order_document(find(tiny, keys))
    assert (document.sign, document.answer) == ("open", "NOTHING TO ORDER: this job surveys no opening.")
    text = TINY.replace("about: gap,", "about: gap, measures: floor bearing,")
    talked(tmp_path / "bearing", text, [])
    document = order_document(find(tmp_path / "bearing", keys))
    assert document.sign == "open" and document.answer.startswith("NOTHING TO ORDER YET")
