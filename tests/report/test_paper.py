"""The PDF, read back with a library that had no part in making it."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest
from pypdf import PdfReader

from guide.record.check_words import check_value
from guide.record.keys import Keys
from guide.report.document import Block, Document, Facts, Figure, Items, Paragraph, Section, Table
from guide.report.found import Found, find
from guide.report.job import job_document
from guide.report.paper import paper
from guide.report.sketch import Sketch

MADE = datetime(2026, 5, 4, 12, 0, tzinfo=UTC)


def text(data: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages).split())


def test_it_says_what_the_page_says(demo_found: Found) -> None:
    said = text(paper(job_document(demo_found), demo_found.ended, ()))
    verification = demo_found.verification
    assert "Accepted, with one thing accepted as it is." in said
    assert verification.last_hash in said and check_value(verification.last_hash) in said
    assert "a step is being built there next week" in said
    assert said.index("Open concessions") < said.index("What was out") < said.index("Every reading")
    for one in demo_found.given:
        assert f" {one.entry.seq} " in said


def test_the_first_page_alone_answers(demo_found: Found) -> None:
    reader = PdfReader(io.BytesIO(paper(job_document(demo_found), demo_found.ended, ())))
    first = " ".join(reader.pages[0].extract_text().split())
    assert "What was out, and what became of it" in first and demo_found.verification.last_hash in first
    assert reader.metadata is not None and reader.metadata.title is not None
    assert "Accepted" in reader.metadata.title


def test_words_of_a_record_are_shown_as_they_are(evil: Path, keys: Keys) -> None:
    data = paper(job_document(find(evil, keys)), MADE, ())
    said = text(data)
    assert "<script>alert(1)</script>" in said
    assert b"/JavaScript" not in data and b"/Launch" not in data and b"/URI" not in data


def sample(words: str) -> Document:
    drawing = Sketch(80, "A drawing")
    drawing.line((10, 10), (100, 60))
    drawing.words(words, (20, 40))
    rows = [(words, str(i), "") for i in range(90)]
    blocks: list[Block] = [
        Paragraph(words),
        Items([words]),
        Facts([("Term", words)]),
        Table("A table", ("One", "Two", "Three"), rows, frozenset({3})),
        Figure(drawing.svg(), "A drawing", words),
    ]
    return Document("A title", words, "good", blocks, [Section("A part", blocks)], [words])


@pytest.mark.parametrize("words", ["Ødegård 1/8″", "日本 and Ж", "x" * 900, "", " ", "\x00\x1b\ud800", "a\nb\tc"])
def test_any_words_can_be_put_on_paper(words: str) -> None:
    data = paper(sample(words), MADE, ())
    assert len(PdfReader(io.BytesIO(data)).pages) >= 2


def test_letters_that_the_font_lacks_are_shown_as_escapes() -> None:
    assert "\\u65e5\\u672c" in text(paper(sample("日本"), MADE, ()))
    assert 'Ødegård "so"' in text(paper(sample("Ødegård “so”"), MADE, ()))


def test_a_long_word_is_cut_and_nothing_of_it_lost() -> None:
    word = "".join(chr(97 + i % 26) for i in range(300))
    assert word in text(paper(sample(word), MADE, ())).replace(" ", "")


def test_the_same_document_makes_the_same_paper() -> None:
    assert paper(sample("so"), MADE, ()) == paper(sample("so"), MADE, ())
