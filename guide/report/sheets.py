"""Two sheets from the same record: care and warranty for the owner, and what to order from the survey."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from guide.job import events as ev
from guide.problems import ProblemError
from guide.quantity import Quantity, nearest
from guide.record.check_words import check_value
from guide.report import words
from guide.report.document import Block, Document, Facts, Items, Paragraph, Section, Table
from guide.report.found import Found, Given
from guide.report.frame_drawing import is_reveal
from guide.report.opening_drawing import opening_figure
from guide.session.measured import Measured, measured
from guide.trade import work

CARE = (
    "Twice a year: clean the threshold, the sill and its drain holes, so that water runs out.",
    "Twice a year: wash frame, doors and weatherstrip with mild soap; replace weatherstrip that is torn or flat.",
    "Once a year: look at the sealant all round. Where it has come away or cracked, have it made good before winter.",
    "Once a year: tighten hinge and lock screws by hand, and put a drop of light oil on hinges and bolts.",
    "Keep all six sides of a wood door painted or sealed, the top and the bottom edge too.",
    "Do not hang weight on a handle, wedge a door at its hinges, or plane an edge: call the installer first.",
)
"""What an owner does (common practice)."""

CALL = (
    "a door that rubs, drops, or no longer latches by itself",
    "water inside after rain, or a damp sill",
    "a gap around a door that has changed by more than 1/16 in against the figures below",
)
"""When an owner calls (common practice)."""

SHOWN = Fraction(1, 16)


def care_document(found: Found) -> Document:
    """The sheet for the owner: what was done, how to care for it, how it stood at the handover."""
    finished = found.state.status == "finished"
    answer = "Handed over." if finished else "NOT handed over: the job is not finished."
    return Document(
        f"Care and warranty: {found.started.title}",
        answer,
        "good" if finished else "open",
        [*_invented(found), Facts(_handed(found, finished))],
        [one for one in _care_sections(found) if one.blocks],
        [f"From the record with the last hash {found.verification.last_hash}."],
    )


def _handed(found: Found, finished: bool) -> list[tuple[str, str]]:
    crew = ", ".join(person.name for person in found.state.people.values()) or "nobody named"
    facts = [("Done by", crew)]
    if finished:
        facts.append(("Handed over", words.clock(found.ended)))
    facts.append(("Check value of the record, for any claim", check_value(found.verification.last_hash)))
    signed = "; ".join(f"{one.name}, {one.role}" for one in found.signed.signatures if one.standing == "good")
    facts.append(("Signed by", signed or "nobody"))
    return facts


def _care_sections(found: Found) -> Iterator[Section]:
    concessions = [
        f"{words.named(name)}: {concession.reason or 'no reason given'} (accepted by {concession.by.name})"
        for name in found.verification.concessions
        if (concession := found.state.steps[name].concession) is not None
    ]
    yield Section("Accepted as it is", [Items(concessions)] if concessions else [])
    waits = [
        f"{step.wait.what}: after “{words.named(entry.event.step)}”, until {words.clock(entry.event.until)}"
        for entry in found.events(ev.Done)
        if isinstance(entry.event, ev.Done) and entry.event.until is not None
        if (step := found.procedure.steps[entry.event.step]).wait is not None
    ]
    yield Section("What had to cure", [Items(waits)] if waits else [])
    if any(one.moves is not None for one in found.procedure.together.values()):
        first = "The papers that came with the unit come first; this is common practice for any exterior door."
        yield Section("Care", [Paragraph(first), Items(CARE)])
        yield Section("Call the installer for", [Items(CALL)])
    else:
        yield Section("Care", [Paragraph("The papers that came with the material say how to care for it.")])
    last = _last_gaps(found)
    rows = [
        (
            words.at_place(found.procedure.readings[one.reading].ask, one.place),
            words.value(found.procedure, one.reading, one.value),
            words.limits(found.procedure, one),
        )
        for one in last
    ]
    table = Table("Gaps as they were read last", ("Where", "Gap", "Tolerance"), rows)
    yield Section("How the doors stood", [table] if rows else [])
    yield Section(
        "Warranty",
        [
            Paragraph(
                "What the maker and the installer warrant is in their own papers, and nothing here adds to it or takes "
                "from it. For a claim, give the check value above: it names the record that shows every reading."
            )
        ],
    )


def _last_gaps(found: Found) -> list[Given]:
    return list({(one.reading, one.place): one for one in found.given if is_reveal(found, one)}.values())


def _invented(found: Found) -> Iterator[Block]:
    if found.started.invented:
        yield Paragraph("This job is invented (a demo): house, people and figures in it are made up.")
    elif found.verification.pretended:
        yield Paragraph("The times of this record are pretended.")


def order_document(found: Found) -> Document:
    """The sheet for the supplier: the unit for the opening as it was surveyed, and the readings it comes from."""
    now = measured(found.procedure, found.state)
    size, survey = _worked("size", now), _worked("survey", now)
    doubted = survey is not None and survey["take_again"] is not None
    if not any(reading.measures for reading in found.procedure.readings.values()):
        answer, sign = "NOTHING TO ORDER: this job surveys no opening.", "open"
    elif size is None:
        answer, sign = "NOTHING TO ORDER YET: the opening has not been read in full.", "open"
    elif doubted:
        answer, sign = "DO NOT ORDER YET: a reading of the opening does not fit the others.", "open"
    else:
        answer = f"Order {_inches(size['unit_width'])} wide, {_inches(size['unit_height'])} high, outside of the frame."
        sign = "good"
    return Document(
        f"Order sheet: {found.started.title}",
        answer,
        sign,
        [*_invented(found), Facts(list(_order_facts(found, size, survey, now)))],
        [one for one in _order_sections(found, now) if one.blocks],
        [
            f"Surveyed by {', '.join(found.state.people) or 'nobody named'}, {words.clock(found.began)}.",
            f"From the record with the last hash {found.verification.last_hash}; check value: "
            f"{check_value(found.verification.last_hash)}.",
        ],
    )


def _order_facts(
    found: Found, size: Mapping[str, Any] | None, survey: Mapping[str, Any] | None, now: Measured
) -> Iterator[tuple[str, str]]:
    if size is not None:
        yield "Frame, outside to outside", f"{_inches(size['unit_width'])} x {_inches(size['unit_height'])}"
        if size.get("unit_depth") is not None:
            yield "Depth of the frame", _inches(size["unit_depth"])
    if survey is not None and survey["clear_width"] is not None and survey["clear_height"] is not None:
        clear = f"{_inches(survey['clear_width'])} x {_inches(survey['clear_height'])}"
        yield "What a plumb and level unit has in this opening", clear
        if survey["take_again"] is not None:
            yield "To read again before ordering", str(survey["take_again"])
    unit = now.data.get("unit")
    if isinstance(unit, dict) and unit:
        yield "The unit at hand, as measured", ", ".join(f"{key} {value}" for key, value in unit.items())
    for choice, option in found.state.choices.items():
        asked = found.procedure.choices[choice]
        yield asked.ask, asked.options[option]
    for one in found.given:
        reading = found.procedure.readings[one.reading]
        if reading.answer == "choice" and one.replaced is None:
            yield reading.ask, words.value(found.procedure, one.reading, one.value)


def _order_sections(found: Found, now: Measured) -> Iterator[Section]:
    drawing = opening_figure(found)
    yield Section("The opening", [drawing] if drawing is not None else [])
    last = {(one.reading, one.place): one for one in found.given if one.replaced is None}
    rows = [
        (
            words.at_place(found.procedure.readings[one.reading].ask, one.place),
            words.value(found.procedure, one.reading, one.value),
            found.procedure.readings[one.reading].instrument or "",
            words.hour(found, one.entry.at),
        )
        for spot, one in last.items()
        if spot in now.values
    ]
    table: list[Block] = (
        [Table("Readings the size comes from", ("Reading", "Value", "With", "Time"), rows)] if rows else []
    )
    yield Section("Readings", table)


_SIZE_KEYS = ("widths", "heights", "thickness")


def _worked(name: str, now: Measured) -> Mapping[str, Any] | None:
    """A computation on the survey, or None where the readings are not enough for it."""
    data = {key: value for key, value in now.data.items() if key != "unit" and (name != "size" or key in _SIZE_KEYS)}
    if not now.spots:
        return None
    try:
        return work.answer(name, data, lambda path: None)
    except (ProblemError, ModuleNotFoundError):
        return None


def _inches(value: float) -> str:
    shown, _ = nearest(Quantity(Fraction(value), "in"), "in", SHOWN)
    return str(shown)
