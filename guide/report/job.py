"""The report of one job: the answer, then every reading, move, recheck, wait, correction and decision behind it."""

from __future__ import annotations

from collections.abc import Iterator

from guide.job import events as ev
from guide.record.check_words import check_value
from guide.record.signatures import worth
from guide.report import words
from guide.report.document import Block, Document, Facts, Items, Paragraph, Section, Table
from guide.report.drawings import figures
from guide.report.found import Found
from guide.report.story import decision, stories
from guide.report.sureness import expanded

_PENDING = {
    "running": "it was cut off or is still going on",
    "stopping": "the crew was about to stop",
    "found": "work had just been taken up again",
    "stopped": "it was stopped",
    "hurt": "somebody was hurt",
}


def job_document(found: Found) -> Document:
    """The whole report of a job."""
    answer, sign = verdict(found)
    return Document(
        found.started.title,
        answer,
        sign,
        [*_warnings(found), *_lead(found)],
        [section for section in _sections(found) if section.blocks],
        _foot(found),
    )


def verdict(found: Found) -> tuple[str, str]:
    """Whether the job is accepted, in a few words, and what that amounts to."""
    conceded = len(found.verification.concessions)
    if found.state.status == "finished":
        if not conceded:
            return "Accepted: every check is good.", "good"
        things = "one thing accepted as it is" if conceded == 1 else f"{conceded} things accepted as they are"
        return f"Accepted, with {things}.", "conceded"
    left = sum(1 for step in found.checks() if not found.state.good(step))
    checks = "1 check is" if left == 1 else f"{left} checks are"
    return f"NOT FINISHED: {_PENDING[found.state.status]}. {checks} not good or not taken yet.", "open"


def _warnings(found: Found) -> Iterator[Block]:
    if found.started.invented:
        yield Paragraph("This job is invented (a demo): house, people and figures in it are made up.")
    if found.verification.pretended:
        yield Paragraph("Its times are pretended: waits were jumped over.")
    if found.state.hazards and found.state.status != "finished":
        left = ", ".join(found.state.unsafe()) or "nothing"
        yield Paragraph(f"When the record ends, this is left and not made safe: {left}.")
    if found.verification.torn:
        yield Paragraph(f"{found.verification.torn} lines at the end were never finished, and count for nothing.")


def _lead(found: Found) -> Iterator[Block]:
    yield from _concessions(found)
    told = stories(found)
    if told:
        rows = [
            (
                words.named(one.step),
                next((words.limits(found.procedure, given) for given in one.out), ""),
                "; ".join(
                    f"{words.value(found.procedure, given.reading, given.value)}"
                    f"{f' at {given.place}' if given.place else ''}"
                    for given in one.out
                )
                or "uneven",
                " ".join(_once(one.did)),
                one.end,
            )
            for one in told
        ]
        strong = frozenset(i for i, one in enumerate(told) if one.end != "good")
        yield Table(
            "What was out, and what became of it", ("Check", "Wanted", "Was out", "What was done", "Now"), rows, strong
        )
    else:
        yield Paragraph("No check was ever out.")
    yield Facts(_facts(found))
    if found.oddities:
        yield Paragraph("To ask about. Each may have an innocent cause; none changes a verdict:")
        yield Items([one.text for one in found.oddities])


def _concessions(found: Found) -> Iterator[Block]:
    rows: list[tuple[str, ...]] = []
    for name in found.verification.concessions:
        concession = found.state.steps[name].concession
        assert concession is not None
        values = ", ".join(
            words.value(found.procedure, found.procedure.steps[name].take or "", taken.value)
            for taken in found.state.steps[name].last.values()
            if taken.verdict == "out"
        )
        rows.append((words.named(name), values, words.person(concession.by), concession.reason))
    if rows:
        heads = ("Check", "As it is", "Accepted by", "Reason")
        yield Table("Open concessions: accepted though out of tolerance", heads, rows, frozenset(range(len(rows))))


def _once(did: tuple[str, ...]) -> list[str]:
    return list(dict.fromkeys(did)) or ["Taken again."]


def _facts(found: Found) -> list[tuple[str, str]]:
    verification = found.verification
    crew = "; ".join(words.person(one) for one in found.state.people.values()) or "nobody named"
    facts = [
        ("Crew and deciders", crew),
        ("Began", words.clock(found.began)),
        ("Last entry", f"{words.clock(found.ended)} ({words.span(found.ended - found.began)} in all)"),
        ("Record", f"{'whole' if verification.ok else 'NOT whole'}, {verification.lines} lines"),
        ("Final hash", verification.last_hash),
        ("Check value, to compare by telephone", check_value(verification.last_hash)),
    ]
    for one in found.signed.signatures:
        facts.append((f"Signed as {one.role}", f"{one.name}, {one.at[:16].replace('T', ' ')}: {worth(one)}"))
    if found.signed.problem:
        facts.append(("Signatures", found.signed.problem))
    elif not found.signed.signatures:
        facts.append(("Signed", "by nobody"))
    return facts


def _sections(found: Found) -> Iterator[Section]:
    yield Section("Drawings", list(figures(found)))
    yield Section("Every reading", list(_readings(found)))
    yield Section("Plans and moves", list(_plans(found)))
    yield Section("Rechecks", list(_rechecks(found)))
    yield Section("Corrections", list(_corrections(found)))
    yield Section("Decisions, looks and choices", list(_decisions(found)))
    yield Section("Waits, stops and notes", list(_waits(found)))
    yield Section("What this rests on", list(_rests(found)))


def _readings(found: Found) -> Iterator[Block]:
    """A table for each part of the procedure."""
    parts: dict[str, list[int]] = {}
    for i, one in enumerate(found.given):
        parts.setdefault(found.procedure.steps[one.step].part, []).append(i)
    heads = ("Reading", "Value", "Tolerance", "Verdict", "With", "How given", "Round", "Time", "Entry")
    for part, which in parts.items():
        rows: list[tuple[str, ...]] = []
        strong: set[int] = set()
        for i in which:
            one = found.given[i]
            reading = found.procedure.readings[one.reading]
            if one.verdict == "out":
                strong.add(len(rows))
            rows.append(
                (
                    words.at_place(reading.ask, one.place),
                    words.value(found.procedure, one.reading, one.value) + (" (read again)" if one.again else ""),
                    words.limits(found.procedure, one),
                    words.verdict(one),
                    words.instrument(reading, one.value),
                    words.heard(one.heard, one.surprising),
                    str(one.round),
                    words.hour(found, one.entry.at),
                    str(one.entry.seq),
                )
            )
        yield Table(part or "The job", heads, rows, frozenset(strong))
    if any(expanded(found.procedure.readings[one.reading], one.value) is not None for one in found.given):
        yield Paragraph(SURENESS)


SURENESS = (
    "± is how far a reading may be off by its instrument alone (U = 2 u, some 95 %): what such an instrument is "
    "trusted to over that length, and its division; not the hand, and not the wall. Where none stands, the procedure "
    "leaves open which instrument it is, or none is trusted to a known figure."
)

_WHAT = {
    "move": "moves for all at once",
    "each": "each check's own correction",
    "read again": "a reading to take again first",
    "cannot": "no moves do it",
    "lead": "a person must decide",
}


def _plans(found: Found) -> Iterator[Block]:
    rows: list[tuple[str, ...]] = []
    for entry in found.events(ev.Planned, ev.Adjusted, ev.MoveMade, ev.RuledOut):
        event, time = entry.event, words.hour(found, entry.at)
        if isinstance(event, ev.Planned):
            fewest = "; no fewer moves do it" if event.proven else ""
            said = " ".join((*event.say, *(f"{i}. {move.say}" for i, move in enumerate(event.moves, 1))))
            rows.append((time, f"Plan for the {event.set}: {_WHAT[event.what]}{fewest}", said, str(entry.seq)))
        elif isinstance(event, ev.Adjusted | ev.MoveMade) and event.move is not None:
            amount = f"{event.move.point}: {abs(event.move.by)} {event.move.direction}"
            rows.append((time, "Move made", amount, str(entry.seq)))
        elif isinstance(event, ev.Adjusted):
            rows.append((time, f"{words.named(event.step)} corrected", _advice(found, entry), str(entry.seq)))
        elif isinstance(event, ev.RuledOut):
            points = ", ".join(event.points) or "none"
            rows.append((time, f"Can't be moved in the {event.set}: {points}", event.said, str(entry.seq)))
    if rows:
        yield Table("Plans, moves and corrections of the work, in order", ("Time", "What", "Words", "Entry"), rows)


def _advice(found: Found, entry: ev.Entry) -> str:
    event = entry.event
    assert isinstance(event, ev.Adjusted)
    advised = [
        before.event
        for before in found.entries[: entry.seq]
        if isinstance(before.event, ev.Advised) and before.event.step == event.step
    ]
    return " ".join(advised[-1].say) if advised else ""


def _rechecks(found: Found) -> Iterator[Block]:
    """Each check that went stale: because of what, and when it was good again."""
    rows = []
    for step in found.checks():
        for number, span in enumerate(found.spans[step.name]):
            if span.standing != "stale":
                continue
            cause = found.entries[span.begins]
            again = "not yet" if span.ends is None else words.hour(found, found.entries[span.ends].at)
            rows.append((words.named(step.name), _cause(cause.event), words.hour(found, cause.at), again, str(number)))
    if rows:
        shown = [row[:4] for row in rows]
        heads = ("Check", "Went stale because of", "At", "Taken again by")
        yield Table("Checks that had to be taken again", heads, shown)


def _cause(event: ev.Event) -> str:
    if isinstance(event, ev.Adjusted | ev.MoveMade) and event.move is not None:
        return event.move.say
    step = getattr(event, "step", "")
    said = {
        "adjusted": "the correction of {}",
        "done": "{}",
        "corrected": "a corrected reading of {}",
        "disturbed": "something that moved: ",
        "reopened": "the crew's wish to do {} again",
        "took": "a new reading of {}",
        "chosen": "a changed choice",
    }.get(event.kind, event.kind.replace("-", " "))
    extra = getattr(event, "said", "") if isinstance(event, ev.Disturbed) else ""
    return said.format(f"“{words.named(step)}”") + extra


def _corrections(found: Found) -> Iterator[Block]:
    rows = []
    by_seq = {one.entry.seq: one for one in found.given}
    for one in found.given:
        if one.replaces is None:
            continue
        earlier = by_seq[one.replaces]
        event = one.entry.event
        doubts = ", ".join(words.named(name) for name in getattr(event, "doubts", ())) or "nothing"
        rows.append(
            (
                words.at_place(found.procedure.readings[one.reading].ask, one.place),
                f"{words.value(found.procedure, one.reading, earlier.value)} (entry {one.replaces})",
                words.value(found.procedure, one.reading, one.value),
                doubts,
                words.hour(found, one.entry.at),
                str(one.entry.seq),
            )
        )
    if rows:
        heads = ("Reading", "Was", "Corrected to", "Put in doubt", "Time", "Entry")
        yield Table("Corrected readings: nothing is erased, the earlier value stays in the record", heads, rows)


def _decisions(found: Found) -> Iterator[Block]:
    rows = []
    for entry in found.events(ev.Looked, ev.Decided, ev.AllClear, ev.Chosen):
        event = entry.event
        if isinstance(event, ev.Looked):
            passed = "looked and passed" if event.passed else "looked and did NOT pass"
            remark = f": {event.remark}" if event.remark else ""
            text = f"{words.person(event.by)} {passed} “{words.named(event.step)}”{remark}"
        elif isinstance(event, ev.Decided):
            text = f"“{words.named(event.step)}”: {decision(event)}"
        elif isinstance(event, ev.Chosen):
            choice = found.procedure.choices[event.choice]
            again = ", changed" if event.replaces is not None else ""
            by = f" by {words.person(event.by)}" if event.by is not None else ""
            reason = f": {event.reason}" if event.reason else ""
            text = f"{choice.ask}: {choice.options[event.option]}{again}{by}{reason}"
        else:
            assert isinstance(event, ev.AllClear)
            text = f"{words.person(event.by)} decided that work goes on after someone was hurt"
        rows.append((words.hour(found, entry.at), text, str(entry.seq)))
    if rows:
        yield Table("Looks, decisions and choices", ("Time", "What", "Entry"), rows)


def _waits(found: Found) -> Iterator[Block]:
    rows = []
    for entry in found.entries:
        text = _event_words(found, entry)
        if text:
            rows.append((words.hour(found, entry.at), text, entry.who or "", str(entry.seq)))
    if rows:
        yield Table("What else happened", ("Time", "What", "Who spoke", "Entry"), rows)


def _event_words(found: Found, entry: ev.Entry) -> str:
    event = entry.event
    if isinstance(event, ev.Done) and event.until is not None:
        wait = found.procedure.steps[event.step].wait
        what = f" ({wait.what})" if wait is not None else ""
        return f"Wait after “{words.named(event.step)}”{what}: until {words.hour(found, event.until)}"
    if isinstance(event, ev.WaitOver):
        return f"The wait after “{words.named(event.step)}” was over"
    if isinstance(event, ev.Noted):
        return f"Note{f' at “{words.named(event.step)}”' if event.step else ''}: {event.text}"
    if isinstance(event, ev.Stopped):
        left = f"; not made safe: {', '.join(event.left)}" if event.left else ""
        return f"Stopped ({event.how}){left}"
    if isinstance(event, ev.MadeSafe):
        return f"Made safe: {event.hazard}{f'; {event.stays} stays with it' if event.stays else ''}"
    if isinstance(event, ev.FoundAsLeft):
        return "Found as it was left" if event.untouched else "NOT found as it was left"
    if isinstance(event, ev.ClockBack):
        return f"The machine's clock went back: it had shown {words.hour(found, event.was)}"
    if isinstance(event, ev.Disturbed):
        return f"The crew said that something moved: {', '.join(event.states)} ({event.said})"
    if isinstance(event, ev.Reopened):
        return f"“{words.named(event.step)}” is to be done again: {event.said}"
    return {
        "resumed": "Work went on",
        "hurt": "SOMEBODY WAS HURT",
        "pretended": "From here on times are pretended",
        "stopping": "The crew wanted to stop",
        "went-on": "The crew went on after all",
    }.get(event.kind, "")


def _rests(found: Found) -> Iterator[Block]:
    yield Items([f"Relied on: {text}" for text in found.verification.relied_on])
    yield Items([f"Not seen: {text}" for text in found.verification.not_seen])
    yield Facts(
        [
            ("Procedure", f"{found.started.title} ({found.started.procedure})"),
            ("Hash of the procedure", found.started.sha256),
            ("Written by", f"guide {found.started.guide}, record format {found.started.format}"),
        ]
    )


def _foot(found: Found) -> list[str]:
    return [
        f"Made from {found.verification.path}, {found.verification.lines} lines, last hash "
        f"{found.verification.last_hash[:16]}…",
        "Compare: guide verify DIR shows the same hash and check value.",
    ]
