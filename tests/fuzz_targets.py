"""What is fuzzed: each target takes bytes and must come back, quickly, whatever they are."""

from __future__ import annotations

import io
import json
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

from fakes import FakeClock
from small import CHECKED, SHELF
from talking import PHRASES, talk

from guide.problems import ProblemError, render
from guide.procedure import load_text, shipped
from guide.procedure.model import Sign
from guide.quantity import QuantityError, quantity
from guide.record import Journal
from guide.record.verify import report_lines, verify
from guide.screen.draw import JsonLines
from guide.screen.terminal import run
from guide.talk.answered import WAYS_MOST, answered
from guide.talk.understand import understand
from guide.talk.words import Expect, hear, settle, why_not

EXPECTS = (
    Expect(likely_low=quantity("20 in"), likely_high=quantity("120 in"), places=("top", "middle", "bottom")),
    Expect(about="level", sign=Sign("right high", "left high", ("right",), ("left", "hinge side"))),
    Expect(about="plumb", sign=Sign("leans out", "leans in", ("out", "outside"), ("in", "inside"))),
    Expect(about="flush", sign=Sign("proud", "behind"), places=("top left", "top right")),
    Expect(unit="mm", about="gap", metric=True),
)
quantity("1 mm").to("in")  # conversion factors are loaded once, before anything is timed
ENDS = {"ask", "wait", "finished", "stopped"}


def _text(data: bytes) -> str:
    return data.decode("utf-8", "surrogateescape" if len(data) % 2 else "replace")


def utterance(data: bytes) -> None:
    """Anything said: understood or not, read or not."""
    text = _text(data)
    understand(text, PHRASES)
    for expect in EXPECTS:
        for said in hear(text, expect):
            settle(said, expect)
        why_not(text, expect)
        assert len(answered(text, expect.places)) <= WAYS_MOST


def amount(data: bytes) -> None:
    """A quantity in a file: read and written back, or refused."""
    text = _text(data)
    try:
        found = quantity(text)
    except QuantityError:
        return
    assert quantity(str(found)) == found


def procedure(data: bytes) -> None:
    """A procedure file: loaded, or refused with faults that can be shown."""
    try:
        load_text("fuzzed.yaml", _text(data))
    except ProblemError as fault:
        for problem in fault.problems:
            render(problem)


def record(data: bytes) -> None:
    """A record: whole or not, opened or refused; never anything else."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "record.jsonl").write_bytes(data)
        report_lines(verify(folder))
        try:
            journal, _ = Journal.open(folder, FakeClock())
        except ProblemError as fault:
            for problem in fault.problems:
                render(problem)
        else:
            journal.close()


def conversation(data: bytes) -> None:
    """A crew that says anything at all: every answer ends with what is asked, or with the end."""
    job = talk(SHELF, pretended=True)
    for line in _text(data).split("\n")[:40]:
        if job.session.over:
            return
        turns = job.say(line)
        assert turns, f"no answer to {line!r}"
        assert turns[-1].kind in ENDS, f"{line!r}: {turns[-1]}"


def driving(data: bytes) -> None:
    """A program on the line: whatever bytes it sends, every answer is one object, and the last says how it ended."""
    job = talk(SHELF, pretended=True)
    out = io.StringIO()
    with tempfile.TemporaryFile() as sent:
        sent.write(data)
        sent.seek(0)
        run(job.session, JsonLines(out), job.turns, sent.fileno())
    told = [json.loads(line) for line in out.getvalue().splitlines()]
    assert all(one["kind"] and "text" in one for one in told)
    assert told[-1]["kind"] in ENDS - {"wait"}, told[-1]


TARGETS: Mapping[str, Callable[[bytes], None]] = {
    "utterance": utterance,
    "amount": amount,
    "procedure": procedure,
    "record": record,
    "conversation": conversation,
    "driving": driving,
}


def seeds(target: str) -> list[bytes]:
    """Real material to begin with."""
    if target == "procedure":
        return [SHELF.encode(), *(path.read_bytes() for path in shipped().values())]
    if target == "record":
        kept = Path(__file__).parent / "record" / "fixtures"
        return [path.read_bytes() for path in kept.glob("*/record.jsonl")]
    if target in ("conversation", "driving"):
        return [
            "\n".join(CHECKED).encode(),
            b"no back\n20\n5\nyes\ncorrection 19\nstop\ndone\nBo",
            b"someone is hurt\nAna\nyes",
        ]
    if target == "amount":
        return [b"36 3/16 in", b"6 ft 8 1/4 in", b"-1/16 in", b"914 mm", b"30 min", b"20 ft2"]
    examples = [text.encode() for text, _ in PHRASES.examples()][::9]
    said = [b"thirty six and three sixteenths", b"top 74 1/2, middle 74 3/8", b"a sixteenth low on the left"]
    return [
        *examples,
        *said,
        b"top works, middle binds and the rest are fine",
        b"yes at the top left no at the top right",
    ]
