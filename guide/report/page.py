"""A document as one self-contained web page: no script, nothing fetched, everything escaped."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from guide.problems import visible
from guide.report.document import Block, Document, Figure, Items

if TYPE_CHECKING:
    from jinja2 import Template
    from markupsafe import Markup

LONGEST = 14
"""Characters of a word that a column must hold."""

_BREAK = "\u200b"
"""Stands for a place to break: no text has it, since such characters are shown as escapes."""


def page(document: Document) -> str:
    """The page as text; control characters of a record are shown as escapes, markup as what it is."""
    from markupsafe import Markup

    shown: dict[str, Any] = {
        "title": document.title,
        "answer": document.answer,
        "sign": document.sign,
        "lead": list(_shown(document.lead)),
        "sections": [{"title": one.title, "blocks": list(_shown(one.blocks))} for one in document.sections],
        "foot": document.foot,
    }
    return _template().render(document=shown, style=Markup(_text("page.css")))


def _shown(blocks: Iterable[Block]) -> Iterable[dict[str, Any]]:
    """The blocks by their kind; a drawing is markup already, made with every word escaped."""
    from markupsafe import Markup

    for one in blocks:
        fields: dict[str, Any] = {name: getattr(one, name) for name in type(one).__slots__}
        if isinstance(one, Figure):
            fields["svg"] = Markup(one.svg)
        if isinstance(one, Items):
            fields["entries"] = fields.pop("items")
        yield {"kind": type(one).__name__, **fields}


@lru_cache(maxsize=1)
def _template() -> Template:
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    def printable(value: object) -> object:
        return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value

    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, finalize=printable
    )
    environment.filters["broken"] = _broken
    return environment.from_string(_text("page.html"))


def _broken(text: str) -> Markup:
    """The text with places at which a browser may break a word that is too long for any column."""
    from markupsafe import Markup, escape

    shown = visible(text)
    for word in set(shown.split()):
        if len(word) > LONGEST:
            parts = [word[at : at + LONGEST] for at in range(0, len(word), LONGEST)]
            shown = shown.replace(word, _BREAK.join(parts))
    return Markup("<wbr>").join(escape(part) for part in shown.split(_BREAK))


def _text(name: str) -> str:
    return files("guide.report").joinpath(name).read_text(encoding="utf-8")
