"""A report as plain data, for programs: the same findings as the page, amounts as exact text."""

from __future__ import annotations

from guide.job import events as ev
from guide.job.codec import encode
from guide.quantity import Quantity
from guide.record.check_words import check_value
from guide.report.document import Document, Facts, Figure, Items, Paragraph, Table
from guide.report.found import Found, Given
from guide.report.job import verdict
from guide.report.story import stories
from guide.report.sureness import expanded

FORMAT = 1


def job_data(found: Found) -> dict[str, object]:
    """Everything about one job."""
    answer, sign = verdict(found)
    return {
        "format": FORMAT,
        "title": found.started.title,
        "answer": answer,
        "outcome": sign,
        "began": found.began.isoformat(),
        "ended": found.ended.isoformat(),
        "check_value": check_value(found.verification.last_hash),
        "verification": found.verification.as_data(),
        "signed": found.signed.as_data(),
        "oddities": [one.as_data() for one in found.oddities],
        "people": [{"name": one.name, "role": one.role, "proof": one.proof} for one in found.state.people.values()],
        "out": [
            {"check": one.step, "entries": [given.entry.seq for given in one.out], "did": one.did, "end": one.end}
            for one in stories(found)
        ],
        "readings": [_reading(found, one) for one in found.given],
        "checks": {
            name: [{"standing": span.standing, "begins": span.begins, "ends": span.ends} for span in spans]
            for name, spans in found.spans.items()
        },
        "events": [
            {"seq": entry.seq, "at": entry.at.isoformat(), "who": entry.who, "kind": entry.event.kind}
            | {"data": encode(entry.event)}
            for entry in found.entries
            if not isinstance(entry.event, ev.Started)
        ],
    }


def _reading(found: Found, one: Given) -> dict[str, object]:
    reading = found.procedure.readings[one.reading]
    return {
        "seq": one.entry.seq,
        "at": one.entry.at.isoformat(),
        "step": one.step,
        "reading": one.reading,
        "ask": reading.ask,
        "place": one.place,
        "value": _text(one.value),
        "low": _text(one.low),
        "high": _text(one.high),
        "verdict": one.verdict,
        "round": one.round,
        "instrument": reading.instrument,
        "expanded_uncertainty_in": expanded(reading, one.value),
        "said": one.heard.said,
        "by": one.heard.by,
        "others": list(one.heard.others),
        "confidence": one.heard.confidence,
        "confirmed": one.heard.confirmed,
        "surprising": one.surprising,
        "again": one.again,
        "replaces": one.replaces,
        "replaced_by": one.replaced,
    }


def _text(value: Quantity | str | None) -> str | None:
    return None if value is None else str(value)


def document_data(document: Document) -> dict[str, object]:
    """A sheet as plain data: its blocks as they are, without the drawings."""
    sections = [("", document.lead), *((one.title, one.blocks) for one in document.sections)]
    return {
        "format": FORMAT,
        "title": document.title,
        "answer": document.answer,
        "outcome": document.sign,
        "sections": [{"title": title, "blocks": [_block(one) for one in blocks]} for title, blocks in sections],
        "foot": list(document.foot),
    }


def _block(one: Paragraph | Facts | Items | Table | Figure) -> dict[str, object]:
    if isinstance(one, Paragraph):
        return {"text": one.text}
    if isinstance(one, Items):
        return {"items": list(one.items)}
    if isinstance(one, Facts):
        return {"facts": [list(row) for row in one.rows]}
    if isinstance(one, Figure):
        return {"figure": one.title, "words": f"{one.words} {one.whole}".strip()}
    return {"caption": one.caption, "heads": list(one.heads), "rows": [list(row) for row in one.rows]}
