"""The figures that were promised, as ratios measured in one run. Run by hand; nothing here asserts a time.

PYTHONPATH=tests python tests/bench/figures.py [EVENTS [STEPS]]      (default 100000 and 10000)
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from statistics import median

from fakes import NOON, FakeClock
from small import SHELF

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.engine import decide
from guide.job.fold import apply, replay
from guide.procedure import load_text
from guide.procedure.model import Procedure
from guide.quantity import quantity
from guide.record import Journal


def timed(work: Callable[[], object], repeat: int = 3) -> float:
    """The shortest of some runs, in seconds."""
    best = float("inf")
    for _ in range(repeat):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def long_job(procedure: Procedure, events: int) -> list[ev.Entry]:
    """A shelf whose width is read, and put right, over and over: so many entries."""
    sources = tuple(ev.Source(source.name, source.text) for source in procedure.sources)
    first: list[ev.Event] = [
        ev.Started(ev.FORMAT, "0", procedure.name, procedure.title, procedure.sha256, sources),
        ev.Chosen("back", "none"),
        ev.Begun("survey"),
        ev.Took("survey", "width", "top", quantity("20 in"), "noted"),
    ]
    entries = [ev.Entry(i, NOON, "Bo", event) for i, event in enumerate(first)]
    while len(entries) < events:
        value = quantity("21 in") if len(entries) % 2 else quantity("20 in")
        corrected = ev.Corrected(len(entries) - 1, "survey", "width", "top", value, "noted")
        entries.append(ev.Entry(len(entries), NOON, "Bo", corrected))
    return entries


def many_steps(count: int) -> str:
    """An invented procedure of so many steps, a tenth of them checks."""
    lines = ["format: 1", "title: Many steps", "readings:"]
    lines += [f"  r{i}: {{ask: Reading {i}, likely: 1 in to 2 in}}" for i in range(0, count, 10)]
    lines.append("steps:")
    for i in range(count):
        take = f", take: r{i}, within: 1 in to 2 in, watches: [s{i % 7}]" if i % 10 == 0 else f", disturbs: [s{i % 7}]"
        after = f", after: s-{i - 1}" if i else ""
        lines.append(f"  s-{i}: {{say: Do number {i}.{take}{after}}}")
    return "\n".join(lines) + "\n"


def decisions(events: int) -> tuple[float, float]:
    """A decision after a hundred entries, and after many, in seconds."""
    procedure = load_text("shelf.yaml", SHELF)

    def once(count: int) -> float:
        state = replay(procedure, long_job(procedure, count))
        command = cmd.Take("survey", "bottom", quantity("20 in"))
        return timed(lambda: [decide(procedure, state, command, NOON) for _ in range(300)]) / 300

    return once(100), once(events)


def chain(count: int) -> tuple[float, float]:
    """A chain of steps done one after the other, here and as a plain state machine of `transitions`, in seconds."""
    from transitions import Machine

    text = "format: 1\ntitle: Chain\nsteps:\n" + "".join(
        f"  s-{i}: {{say: Do number {i}.{f', after: s-{i - 1}' if i else ''}}}\n" for i in range(count)
    )
    procedure = load_text("chain.yaml", text)

    def ours() -> None:
        state = replay(procedure, [ev.Entry(0, NOON, "Bo", ev.Started(ev.FORMAT, "0", "", "", procedure.sha256, ()))])
        for i in range(count):
            for command in (cmd.Begin(f"s-{i}"), cmd.Finish(f"s-{i}")):
                outcome = decide(procedure, state, command, NOON)
                assert not isinstance(outcome, cmd.Refusal)
                for event in outcome:
                    apply(procedure, state, ev.Entry(state.seq + 1, NOON, "Bo", event))

    names = [f"s-{i}" for i in range(count + 1)]
    machine = Machine(states=names, initial=names[0], auto_transitions=False)
    machine.add_ordered_transitions(trigger="done", loop=False)

    def theirs() -> None:
        machine.set_state(names[0])
        for _ in range(count):
            machine.trigger("done")

    return timed(ours), timed(theirs)


def _parsed(lines: list[bytes]) -> None:
    for line in lines:
        json.loads(line)


def append(folder: Path, count: int) -> tuple[float, float]:
    """A durable append by the journal, and a bare write and sync of the same bytes, in turn: medians in seconds."""
    started = ev.Started(ev.FORMAT, "0", "shelf", "A shelf", "", ())
    journal, _ = Journal.create(folder / "job", FakeClock(), [started], "Bo")
    event = ev.Took("survey", "width", "top", quantity("20 3/16 in"), "good", quantity("20 in"), quantity("21 in"))

    handle = os.open(folder / "bare", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    ours, bare = [], []
    line = b""
    for _ in range(count):
        start = time.perf_counter()
        journal.append([event], "Bo")
        between = time.perf_counter()
        ours.append(between - start)
        line = line or (folder / "job" / "record.jsonl").read_bytes().splitlines(keepends=True)[-1]
        start = time.perf_counter()
        os.write(handle, line)
        os.fsync(handle)
        bare.append(time.perf_counter() - start)
    journal.close()
    os.close(handle)
    return median(ours), median(bare)


def rows(events: int, steps: int) -> Iterator[tuple[str, str, str]]:
    """Each figure: what, measured, goal."""
    early, late = decisions(events)
    yield f"a decision on entry {events}, against entry 100", f"{late / early:.2f} x", "<= 1.2 x"

    procedure = load_text("shelf.yaml", SHELF)
    with tempfile.TemporaryDirectory(dir=os.environ.get("GUIDE_BENCH_DIR")) as name:
        folder = Path(name)
        sizes = {}
        for count in (events // 10, events):
            entries = long_job(procedure, count)
            journal, _ = Journal.create(folder / f"job{count}", FakeClock(), [entries[0].event], "Bo")
            journal.append([entry.event for entry in entries[1:]], "Bo")
            journal.close()
            path = folder / f"job{count}" / "record.jsonl"
            lines = path.read_bytes().splitlines()

            def reopen(where: Path = path.parent) -> None:
                again, found = Journal.open(where, FakeClock())
                again.close()
                replay(procedure, found)

            sizes[count] = (timed(reopen), timed(partial(_parsed, lines)))
        ratio = sizes[events][0] / sizes[events // 10][0]
        yield f"open and replay, {events} entries against {events // 10}", f"{ratio:.1f} x", "<= 11 x"
        yield (
            "open and replay, against json.loads of the same lines",
            f"{sizes[events][0] / sizes[events][1]:.1f} x",
            "<= 5 x",
        )
        ours, bare = append(folder, 300)
        yield "durable append, against a bare write and fsync", f"{ours / bare:.2f} x", "<= 1.3 x"

    import yaml

    texts = {count: many_steps(count) for count in (steps // 10, steps)}
    loading = {count: timed(partial(load_text, "many.yaml", text), 2) for count, text in texts.items()}
    composing = timed(lambda: yaml.compose(texts[steps], Loader=yaml.CSafeLoader), 2)
    yield f"loading {steps} steps, against {steps // 10}", f"{loading[steps] / loading[steps // 10]:.1f} x", "<= 11 x"
    yield "loading, against libyaml composing the same file with marks", f"{loading[steps] / composing:.1f} x", "<= 3 x"

    python = timed(lambda: subprocess.run([sys.executable, "-c", "pass"], check=True), 5)
    program = Path(sys.executable).with_name("guide")
    helped = timed(lambda: subprocess.run([program, "--help"], check=True, stdout=subprocess.DEVNULL), 5)
    yield "guide --help, against bare Python", f"{helped / python:.1f} x", "<= 4 x"

    here, there = chain(min(steps, 100))
    yield "a chain of steps, against a plain state machine (transitions)", f"{here / there:.1f} x", "information"

    tracemalloc.start()
    entries = long_job(procedure, 2000)
    replay(procedure, entries)
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    yield "memory of a job of 2,000 entries", f"{peak:.1f} MB", "<= 60 MB"


def main() -> None:
    events = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    steps = int(sys.argv[2]) if len(sys.argv) > 2 else 10_000
    for what, measured, goal in rows(events, steps):
        print(f"{what:62} {measured:>10}   goal {goal}", flush=True)


if __name__ == "__main__":
    main()
