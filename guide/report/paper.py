"""A document on paper: PDF, A4, black on white, with the drawings as lines."""

from __future__ import annotations

import io
from collections.abc import Callable, Container, Iterator, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from guide.problems import visible
from guide.report.document import Block, Document, Facts, Figure, Items, Paragraph, Table

if TYPE_CHECKING:
    from fpdf import FPDF

_FONTS = (Path("/usr/share/fonts/truetype/dejavu"), Path("/usr/share/fonts/TTF"), Path("/usr/share/fonts/dejavu"))
"""Where the DejaVu fonts usually lie; without them the PDF's own font is used, which has western letters only."""

_PLAIN = {"“": '"', "”": '"', "’": "'", "…": "...", "−": "-", "–": "-", "′": "'", "″": '"'}
_LINE, _SMALL, _SIZE, _PAD, _MARGIN = 3.9, 8, 10, 1.2, 15


def paper(document: Document, made: datetime, fonts: Sequence[Path] = _FONTS) -> bytes:
    """The document as the bytes of a PDF; `made` is the time that it carries."""
    return _Sheets(document, made, fonts).bytes()


class _Sheets:
    """Lays the blocks out, one under the other."""

    def __init__(self, document: Document, made: datetime, fonts: Sequence[Path]) -> None:
        from fpdf import FPDF

        self.document = document
        self.pdf: FPDF = FPDF(format="A4")
        self.pdf.set_creation_date(made)
        self.pdf.set_title(visible(f"{document.title}: {document.answer}"))
        self.pdf.set_lang("en")
        self.pdf.set_margin(_MARGIN)
        self.pdf.set_auto_page_break(False)
        self._known: dict[tuple[str, bool], float] = {}
        self.font, self.write = self._font(fonts)

    def _font(self, folders: Sequence[Path]) -> tuple[str, Callable[[str], str]]:
        for folder in folders:
            plain, bold = folder / "DejaVuSans.ttf", folder / "DejaVuSans-Bold.ttf"
            if plain.is_file() and bold.is_file():
                self.pdf.add_font("DejaVu", "", plain)
                self.pdf.add_font("DejaVu", "B", bold)
                fonts_there = [self.pdf.fonts[key] for key in ("dejavu", "dejavuB")]
                known = set.intersection(*(set(getattr(one, "cmap", ())) for one in fonts_there))
                return "DejaVu", partial(_escaped, known)
        return "Helvetica", _western

    def bytes(self) -> bytes:
        """Everything, laid out."""
        pdf, document = self.pdf, self.document
        pdf.add_page()
        self._text(document.title, 15, bold=True)
        pdf.ln(2)
        self._text(document.answer, 13, bold=True, boxed=True)
        pdf.ln(2)
        self._blocks(document.lead)
        for section in document.sections:
            pdf.ln(4)
            if pdf.get_y() > pdf.h - _MARGIN - (120 if isinstance(section.blocks[0], Figure) else 40):
                pdf.add_page()
            self._text(section.title, 13, bold=True)
            self._blocks(section.blocks)
        pdf.ln(4)
        for line in document.foot:
            self._text(line, _SMALL)
        return bytes(pdf.output())

    def _text(self, text: str, size: float = _SIZE, bold: bool = False, boxed: bool = False) -> None:
        pdf = self.pdf
        lines = self._wrapped(text, pdf.epw - (6 if boxed else 0), size, bold)
        height = size * 0.48
        for i, line in enumerate(lines):
            if pdf.get_y() + height > pdf.h - _MARGIN:
                pdf.add_page()
            if boxed:
                pdf.set_line_width(0.8)
                pdf.line(_MARGIN, pdf.get_y() - 1.5, _MARGIN, pdf.get_y() + height + 1)
            self._words(_MARGIN + (4 if boxed else 0), pdf.get_y() + height * 0.78, line, size, bold)
            pdf.set_y(pdf.get_y() + height + (1.5 if boxed and i == len(lines) - 1 else 0))

    def _words(self, x: float, y: float, line: str, size: float, bold: bool) -> None:
        self.pdf.set_font(self.font, "B" if bold else "", size)
        if line:
            self.pdf.text(x, y, line)

    def _wrapped(self, text: str, width: float, size: float, bold: bool) -> list[str]:
        """The text in lines that fit; a word that no line holds is cut."""
        lines, line, long = [], "", 0.0
        space = self._long(" ", size, bold)
        for word in self.write(text).split():
            for part in self._parts(word, width, size, bold):
                wide = self._long(part, size, bold)
                if line and long + space + wide > width:
                    lines.append(line)
                    line, long = "", 0.0
                line, long = (f"{line} {part}", long + space + wide) if line else (part, wide)
        return [*lines, line]

    def _parts(self, word: str, width: float, size: float, bold: bool) -> Iterator[str]:
        while self._long(word, size, bold) > width and len(word) > 1:
            fits = max(1, int(len(word) * width / self._long(word, size, bold)) - 1)
            yield word[:fits]
            word = word[fits:]
        yield word

    def _long(self, word: str, size: float, bold: bool) -> float:
        """How long a word is in a font of size 1, remembered, times the size."""
        if (word, bold) not in self._known:
            self.pdf.set_font(self.font, "B" if bold else "", 100)
            self._known[word, bold] = self.pdf.get_string_width(word) / 100
        return self._known[word, bold] * size

    def _blocks(self, blocks: Sequence[Block]) -> None:
        for one in blocks:
            self.pdf.ln(1.5)
            if isinstance(one, Paragraph):
                self._text(one.text)
            elif isinstance(one, Items):
                for item in one.items:
                    self._text(f"- {item}")
            elif isinstance(one, Facts):
                self._rows(("", ""), one.rows, frozenset(), (2, 5))
            elif isinstance(one, Table):
                self._table(one)
            else:
                self._figure(one)

    def _table(self, one: Table) -> None:
        if self.pdf.get_y() > self.pdf.h - _MARGIN - 30:
            self.pdf.add_page()
        self._text(one.caption, _SIZE, bold=True)
        self._rows(one.heads, one.rows, one.strong, self._columns(one))

    def _columns(self, one: Table) -> list[float]:
        """Each column as wide as its longest word, the rest shared by how much each has to hold."""
        columns = list(zip(one.heads, *one.rows, strict=True))
        least = [min(50.0, _PAD + self._longest_word(column)) for column in columns]
        rest = max(0.0, self.pdf.epw - sum(least))
        holds = [min(max(len(cell) for cell in column), 60) for column in columns]
        return [width + rest * held / sum(holds) for width, held in zip(least, holds, strict=True)]

    def _longest_word(self, cells: Sequence[str]) -> float:
        words = {word for cell in cells for word in self.write(cell).split()}
        return max((self._long(word, _SMALL, True) for word in words), default=0.0)

    def _rows(
        self, heads: Sequence[str], rows: Sequence[Sequence[str]], strong: frozenset[int], widths: Sequence[float]
    ) -> None:
        columns = [self.pdf.epw * width / sum(widths) for width in widths]
        if any(heads):
            self._row(heads, columns, True, heads)
        for i, row in enumerate(rows):
            self._row(row, columns, i in strong, heads)

    def _row(self, cells: Sequence[str], columns: Sequence[float], bold: bool, heads: Sequence[str]) -> None:
        pdf = self.pdf
        wrapped = [self._wrapped(cell, width - _PAD, _SMALL, bold) for cell, width in zip(cells, columns, strict=True)]
        height = max(len(lines) for lines in wrapped) * _LINE + _PAD
        if pdf.get_y() + height > pdf.h - _MARGIN and pdf.get_y() > _MARGIN + 20:
            pdf.add_page()
            if any(heads) and cells is not heads:
                self._row(heads, columns, True, heads)
        top, x = pdf.get_y(), float(_MARGIN)
        pdf.set_line_width(0.15)
        pdf.line(_MARGIN, top, _MARGIN + pdf.epw, top)
        for lines, width in zip(wrapped, columns, strict=True):
            for i, line in enumerate(lines):
                self._words(x, top + _PAD + _LINE * (i + 0.6), line, _SMALL, bold)
            x += width
        pdf.set_y(top + height)

    def _figure(self, one: Figure) -> None:
        pdf = self.pdf
        image, width, height = _image(one.svg)
        scale = min(110 / width, 230 / height)
        if pdf.get_y() + height * scale + 20 > pdf.h - _MARGIN:
            pdf.add_page()
        pdf.image(image, x=(pdf.w - width * scale) / 2, w=width * scale, alt_text=self.write(one.title))
        self._text(f"{one.title}. {one.words}", _SMALL)


def _image(svg: str) -> tuple[io.BytesIO, float, float]:
    """A drawing for the PDF, its words in the letters of the PDF's own font, and its size."""
    from xml.etree import ElementTree

    root = ElementTree.fromstring(svg)
    for one in root.iter():
        one.tag = one.tag.removeprefix("{http://www.w3.org/2000/svg}")
        if one.tag == "text":
            one.text = _western(one.text or "")
    root.set("xmlns", "http://www.w3.org/2000/svg")
    drawn = io.BytesIO(ElementTree.tostring(root))
    return drawn, float(root.attrib["width"]), float(root.attrib["height"])


def _escaped(known: Container[int], text: str) -> str:
    """The text in the letters that a font has, others as escapes."""
    return "".join(c if ord(c) in known else c.encode("unicode_escape").decode() for c in visible(text))


def _western(text: str) -> str:
    """The text in the letters of the PDF's own font, others as escapes."""
    plain = "".join(_PLAIN.get(char, char) for char in visible(text))
    return plain.encode("latin-1", "backslashreplace").decode("latin-1")
