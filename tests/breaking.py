"""Promises of the project broken one at a time, each by a small patch in a copy, to see which tests cry."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
COPIED = ("guide", "tests", "procedures", "pyproject.toml", "README.md", "DEVELOPERS.md")
JOB = ("job/test_promises.py", "job/test_engine.py", "job/test_readings.py", "job/test_choices.py", "job/test_fold.py")
RECORD = (
    "record/test_files.py",
    "record/test_journal.py",
    "record/test_reader.py",
    "record/test_replay.py",
    "record/test_verify.py",
)
LONG = (
    "every_changed_byte or cut_at_any_byte or values_of_every or long_record or killed_at or in_words_and or not_taken"
)
"""Tests that take many seconds, and are left out."""
FLEET = ("fleet/test_follow.py", "fleet/test_gather.py", "outside/test_fleet.py")
TALK = ("talk/test_words.py", "talk/test_directions.py")
SESSION = ("session/test_session.py",)


@dataclass(frozen=True, slots=True)
class Break:
    """One promise broken: the words in the code that are replaced, and the tests that ought to notice."""

    name: str
    promise: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...] = JOB


BREAKS = (
    Break(
        "begins-too-early",
        "1: a step starts only when what it comes after is finished",
        "job/recheck.py",
        "step.after + step.needs",
        "step.needs",
    ),
    Break(
        "needs-forgotten",
        "1: a step starts only when every check it needs is good and fresh",
        "job/recheck.py",
        "step.after + step.needs",
        "step.after",
    ),
    Break(
        "watcher-forgotten",
        "2: every check that watches what was disturbed goes stale",
        "job/recheck.py",
        "{one for name in states for one in procedure.watchers.get(name, ())}",
        "sorted({one for name in states for one in procedure.watchers.get(name, ())})[1:]",
    ),
    Break(
        "half-round-kept",
        "2: half a round is void when its state is disturbed",
        "job/recheck.py",
        "now.current.clear()",
        "pass",
    ),
    Break(
        "stale-at-finish",
        "3: a job finishes only when every check is good and fresh",
        "job/recheck.py",
        "if state.active(procedure.steps[name]) and not state.good(procedure.steps[name])",
        "if state.active(procedure.steps[name]) and not state.steps[name].done",
    ),
    Break(
        "finish-unchosen",
        "3: a record of a finish with a choice unmade is refused",
        "job/fold.py",
        "left = unmade + unfinished",
        "left = unfinished",
    ),
    Break(
        "check-switched-off",
        "3: a choice can't switch a failing check off",
        "job/choices.py",
        "    if lost:",
        "    if False:",
    ),
    Break(
        "limit-not-included",
        "3: both ends of a tolerance belong to it",
        "job/figures.py",
        "value < self.low:",
        "value <= self.low:",
    ),
    Break(
        "hair-unheard",
        "3: a hair past a limit is past it",
        "job/figures.py",
        'return "out" if past else "good"',
        'return "good"',
    ),
    Break(
        "concession-for-ever",
        "4: a concession lapses when what it watches is disturbed",
        "job/recheck.py",
        "if now.concession is not None:",
        "if False:",
    ),
    Break(
        "hand-decides",
        "4: only a lead decides on a check that will not come good",
        "job/engine.py",
        'if command.by.role != "lead":',
        "if False:",
    ),
    Break(
        "safety-conceded",
        "4: a safety check takes no concession",
        "job/engine.py",
        "if step.safety:",
        "if False:",
    ),
    Break(
        "never-to-the-lead",
        "4: after the set number of rounds the lead decides",
        "job/fold.py",
        '"lead" if now.rounds >= procedure.steps[event.step].rounds else "adjust"',
        '"adjust"',
    ),
    Break(
        "wasteful-order",
        "5: rechecks come in the order that wastes least",
        "job/recheck.py",
        "sorted(state.due_again(procedure), key=urgency)",
        "list(state.due_again(procedure))",
    ),
    Break(
        "dependant-stays-fresh",
        "6: what relied on a corrected reading is in doubt",
        "job/readings.py",
        "for name in procedure.used_by[reading]",
        "for name in ()",
    ),
    Break(
        "unsafe-stop",
        "6: a stop goes through make-safe first",
        "job/engine.py",
        'return [ev.Stopping(unsafe)] if unsafe else [ev.Stopped("said")]',
        'return [ev.Stopped("said", unsafe)]',
    ),
    Break(
        "left-unsafe-forgotten",
        "6: what was left unsafe is asked about when work goes on",
        "job/fold.py",
        '"found" if left else "running"',
        '"running"',
    ),
    Break(
        "hurt-unheard",
        "6: somebody hurt is understood at every moment",
        "job/engine.py",
        '"stopped": {cmd.Resume: _resume, cmd.SomeoneHurt: _hurt}',
        '"stopped": {cmd.Resume: _resume}',
    ),
    Break(
        "finished-for-ever",
        "6: a finished job is open again when something moved",
        "job/fold.py",
        "_REOPENS = (ev.Corrected, ev.Disturbed, ",
        "_REOPENS = (ev.Corrected, ",
    ),
    Break(
        "wait-not-waited-for",
        "7: what comes after a wait waits",
        "job/state.py",
        "return now.stands and now.wait_until is None",
        "return now.stands",
    ),
    Break(
        "wait-cut-short",
        "7: a wait ends on the record's clock and not before",
        "job/engine.py",
        "is not None and until <= now",
        "is not None",
    ),
    Break(
        "cautions-unshown",
        "7: cautions are acknowledged before a step",
        "job/request.py",
        "if step.cautions and not now.acknowledged:",
        "if False:",
    ),
    Break(
        "alone",
        "7: a step for two says so before it starts",
        "job/request.py",
        "if step.crew > 1 and not now.crew_ready:",
        "if False:",
    ),
    Break(
        "anybody-looks",
        "8: a hold point waits for the right person",
        "job/engine.py",
        "if step.hold is not None and command.by.role != step.hold.by:",
        "if False:",
    ),
    Break(
        "claimed-is-proved",
        "8: a name without its PIN is claimed",
        "session/dialogues.py",
        '"pin" if proved else "claimed"',
        '"pin"',
        SESSION,
    ),
    Break(
        "silent-refusal",
        "10: a refusal says what would be legal",
        "job/engine.py",
        "if isinstance(outcome, Refusal) and not outcome.legal:",
        "if False:",
    ),
    Break(
        "ambiguous-taken",
        "a reading that could mean two things is asked about",
        "talk/words.py",
        "if len(said.meanings) == 1:",
        "if said.meanings:",
        (*TALK, *SESSION),
    ),
    Break(
        "surprise-taken",
        "a number outside what is likely is confirmed before it is taken",
        "session/readings.py",
        "if not surprising and not one.heard.unsure:",
        "if not one.heard.unsure:",
        SESSION,
    ),
    Break(
        "word-passed-over",
        "every word of a reading is consumed",
        "talk/reading.py",
        "            if at == len(self.words):\n                if not",
        "            if at >= len(self.words) - 1:\n                if not",
        TALK,
    ),
    Break(
        "told-before-durable",
        "record: durable, then acknowledged",
        "record/journal.py",
        "            self._files.sync(self._handle)\n        except OSError as fault:",
        "        except OSError as fault:",
        RECORD,
    ),
    Break(
        "failed-line-kept",
        "record: what failed is cut off again",
        "record/journal.py",
        "        self._doubtful = True\n        try:\n            self._files.truncate(self._handle, self._size)\n",
        "        self._doubtful = True\n        try:\n",
        RECORD,
    ),
    Break(
        "two-at-once",
        "record: a second process is kept out",
        "record/files.py",
        "            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)\n",
        "",
        RECORD,
    ),
    Break(
        "not-chained",
        "record: every line's hash covers the line before",
        "record/reader.py",
        'hashlib.sha256(before.encode("ascii") + payload)',
        "hashlib.sha256(payload)",
        RECORD,
    ),
    Break(
        "torn-believed",
        "record: lines of a decision whose last is missing were never acknowledged",
        "record/reader.py",
        "    contents.torn += len(batch)\n",
        "    contents.entries += batch\n    contents.head, contents.size = head, ends\n",
        RECORD,
    ),
    Break(
        "verdict-unchecked",
        "verify: a verdict that does not follow from its limits is found",
        "record/replay.py",
        "if event.verdict != (",
        "if False and event.verdict != (",
        RECORD,
    ),
    Break(
        "seal-unchecked",
        "verify: a seal that is not true is found",
        "record/replay.py",
        "if (event.count, event.hash) != (entry.seq, before):",
        "if False:",
        RECORD,
    ),
    Break(
        "stop-hides-hazard",
        "verify: a stop that does not say what it left unsafe is found",
        "job/fold.py",
        "if event.left != state.unsafe():",
        "if False:",
    ),
    Break(
        "told-twice-unread",
        "verify: what was told before does not excuse how a line is written",
        "record/verify.py",
        "return name if isinstance(name, str) and _written(name) == written else None",
        "return name",
        RECORD,
    ),
    Break(
        "half-in",
        "gather: what a killed gathering left counts for nothing",
        "fleet/store.py",
        "                if str(path.relative_to(self.store)) not in counts:",
        "                if False:",
        FLEET,
    ),
    Break(
        "not-whole-taken",
        "gather: nothing of a record that is not whole goes in",
        "fleet/gather.py",
        "        if not found.ok:",
        "        if False:",
        FLEET,
    ),
    Break(
        "other-content-taken",
        "gather: the same job with other content is refused",
        "fleet/gather.py",
        "if found.lines > known.lines and bytes.fromhex(following.entries[known.lines - 1].hash) == known.hash:",
        "if found.lines > known.lines:",
        FLEET,
    ),
    Break(
        "counted-twice",
        "review: a job that was gathered twice counts once",
        "fleet/engines.py",
        "        if self._superseded is not None:",
        "        if False:",
        FLEET,
    ),
    Break(
        "invented-counted",
        "review: invented jobs are never counted among real ones",
        "fleet/engines.py",
        "table = table.filter(table.invented == which.invented)",
        "table = table.filter(table.invented | ~table.invented)",
        ("fleet/test_review.py",),
    ),
)


def named(names: Sequence[str]) -> list[Break]:
    """The breaks of these names, or all of them; raises `KeyError` for a name that none has."""
    known = {one.name: one for one in BREAKS}
    return [known[name] for name in names] or list(BREAKS)


class DoesNotFit(Exception):
    """The patch of a break no longer fits the code."""


@contextmanager
def broken(copy: Path, one: Break) -> Iterator[None]:
    """The copy with one promise broken; put right again afterwards."""
    file = copy / "guide" / one.file
    whole = file.read_text(encoding="utf-8")
    if whole.count(one.old) != 1:
        raise DoesNotFit(f"{one.name}: guide/{one.file} holds its words {whole.count(one.old)} times, not once")
    file.write_text(whole.replace(one.old, one.new), encoding="utf-8")
    try:
        yield
    finally:
        file.write_text(whole, encoding="utf-8")


def crying(copy: Path, tests: tuple[str, ...]) -> list[str]:
    """The tests that fail in the copy."""
    run = subprocess.run(
        [sys.executable, "-B", "-m", "pytest", "-q", "-rfE", "--tb=no", "-p", "no:cacheprovider", "-k", f"not ({LONG})"]
        + [f"tests/{name}" for name in tests],
        cwd=copy,
        env={**os.environ, "PYTHONPATH": f"{copy}:{copy / 'tests'}"},
        capture_output=True,
        text=True,
        check=False,
    )
    if run.returncode not in (0, 1):
        raise RuntimeError(f"pytest ended with {run.returncode}:\n{run.stdout[-2000:]}{run.stderr[-2000:]}")
    return re.findall(r"^(?:FAILED|ERROR) tests/(\S+)", run.stdout, re.MULTILINE)


def copied(folder: Path) -> Path:
    """A copy of the project."""
    copy = folder / "copy"
    copy.mkdir()
    for name in COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(ROOT / name, copy / name)
    return copy
