"""The page: valid by an independent parser, nothing obeyed that a record says, readable without eyes, colour or net."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest
from reports import NASTY

from guide.record.keys import Keys
from guide.report.document import Document
from guide.report.found import Found, find
from guide.report.job import job_document
from guide.report.page import page
from guide.report.sheets import care_document, order_document

XHTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"
MAKE = {"job": job_document, "care": care_document, "order": order_document}


def read(text: str) -> Element:
    """The page by a parser that raises at the first fault."""
    root = html5lib.HTMLParser(strict=True).parse(text)
    assert isinstance(root, Element)
    return root


def tags(root: Element) -> list[str]:
    return [one.tag.rpartition("}")[2] for one in root.iter() if isinstance(one.tag, str)]


def words(root: Element) -> str:
    return " ".join("".join(root.itertext()).split())


@pytest.fixture(scope="module")
def root(demo_found: Found) -> Element:
    return read(page(job_document(demo_found)))


@pytest.mark.parametrize("kind", MAKE)
def test_every_page_is_valid(kind: str, demo_found: Found, evil: Path, tiny: Path, keys: Keys) -> None:
    for found in (demo_found, find(evil, keys), find(tiny, keys)):
        read(page(MAKE[kind](found)))


def test_nothing_of_a_record_is_obeyed(evil: Path, keys: Keys) -> None:
    keys.make("Bo")
    text = page(job_document(find(evil, keys)))
    root = read(text)
    assert "script" not in tags(root) and "img" not in tags(root)
    assert not {"b", "u", "i"} & set(tags(root))
    assert not any(name.startswith("on") for one in root.iter() for name in one.attrib)
    assert "\x1b" not in text and "\u202e" not in text
    said = words(root)
    assert said.count("<script>alert(1)</script><img src=x onerror=alert(2)>&amp;\"' \\u202e\\x1b[31m") >= 6
    assert "Set <b>a shelf</b> & <script>alert(0)</script>" in said
    assert "</title></style></svg><script>" in said
    assert "Gap <u>here</u>, right" in said
    assert NASTY not in text


def test_nothing_is_fetched_and_nothing_runs(root: Element, demo_found: Found) -> None:
    text = page(job_document(demo_found))
    assert not re.findall(r"https?://(?!www\.w3\.org/)", text)
    assert not {"script", "link", "iframe", "object", "embed", "form", "img"} & set(tags(root))
    assert all(value.startswith("#") for one in root.iter() for key, value in one.attrib.items() if key == "href")
    assert "url(" not in text and "@import" not in text


def test_it_can_be_read_by_ear(root: Element) -> None:
    seen = tags(root)
    assert root.get("lang") == "en"
    assert [seen.count(one) for one in ("h1", "main", "header", "footer", "title")] == [1, 1, 1, 1, 1]
    levels = [int(tag[1]) for tag in seen if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1 and all(later - before <= 1 for before, later in pairwise(levels))
    ids = [one.get("id") for one in root.iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    refers = [value for one in root.iter() for key, value in one.attrib.items() if key in ("aria-labelledby",)]
    refers += [one.attrib["href"][1:] for one in root.iter(f"{XHTML}a")]
    assert set(refers) <= set(ids)
    for table in root.iter(f"{XHTML}table"):
        assert table.find(f"{XHTML}caption") is not None
        heads = table.findall(f".//{XHTML}thead//{XHTML}th")
        assert heads and all(head.get("scope") == "col" for head in heads)
        for row in table.findall(f".//{XHTML}tbody/{XHTML}tr"):
            assert len(row) == len(heads) and row[0].get("scope") == "row"
    for drawing in root.iter(f"{SVG}svg"):
        assert drawing.get("role") == "img" and drawing.get("aria-label")


def test_the_answer_stands_first_and_not_by_colour(root: Element, demo_found: Found) -> None:
    said = words(root)
    answer = said.index("Accepted, with one thing accepted as it is.")
    for later in ("Open concessions", "a step is being built there", "What was out", demo_found.verification.last_hash):
        assert answer < said.index(later) < said.index("Every reading")
    assert "OUT" in said and "ACCEPTED AS IT IS" in said


def test_every_reading_is_there(root: Element, demo_found: Found) -> None:
    shown = [row[-1].text for row in root.iter(f"{XHTML}tr") if row[0].get("scope") == "row"]
    for one in demo_found.given:
        assert str(one.entry.seq) in shown


def test_the_same_record_makes_the_same_page(demo_found: Found) -> None:
    assert page(job_document(demo_found)) == page(job_document(demo_found))


def test_a_drawing_is_no_wider_than_a_telephone(root: Element) -> None:
    widths = {one.get("width") for one in root.iter(f"{SVG}svg")}
    assert widths == {"360"}


def test_a_document_without_sections_is_a_page() -> None:
    assert "nothing" in words(read(page(Document("A title", "nothing", "open"))))
