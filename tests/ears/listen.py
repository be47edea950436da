"""Hears a set of clips on all cores: PYTHONPATH=.:tests python -m ears.listen FOLDER --out HEARD.jsonl.gz [--jobs N].

Each line of the result is the clip's own line, what the ear heard with and without what the step says is likely, the
evidence behind it, and the processor's time. `ears.choose` and `ears.report` work on it without the sound. Processes
are started afresh, with one thread each.
"""

from __future__ import annotations

import argparse
import gzip
import json
import multiprocessing
import os
import resource
import time
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from ears.clips import Line, Sounds, batches, expected, lines_of

from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.voice.embedded.ear import Ear, Evidence, weighed
from guide.voice.embedded.learned import wanted_weights
from guide.voice.embedded.meanings import Meanings
from guide.voice.embedded.model import find_weights
from guide.voice.ends import stops_in_speech
from guide.voice.hearing import Heard
from guide.voice.wav import RATE

BATCH = 24
FORMS_MOST, FORMS_WITHIN = 24, 14.0
"""Rows of evidence kept: so many, and so many nats behind the best."""
HEARINGS_MOST = 6
DROPPED = frozenset({"stitched", "texts"})
_at_work: dict[str, Any] = {}


def _begin(folder: str, ear: str) -> None:
    """A process gets ready: one ear, one thread."""
    os.environ["OMP_NUM_THREADS"] = "1"
    started = time.perf_counter()
    _at_work.update(ear=load(ear), sounds=Sounds(Path(folder)), phrases=Phrases.load("en"))
    _at_work["load"] = time.perf_counter() - started


def load(ear: str) -> Ear:
    """The ear by its name: "plain" is the model as it is shipped, "trained" the one taught, or a folder of weights."""
    if ear in ("plain", "trained"):
        return Ear(find_weights() if ear == "plain" else wanted_weights().folder, threads=1)
    return Ear(Path(ear), threads=1)


def _hear(lines: list[Line]) -> list[str]:
    return [json.dumps(hear(line, _at_work["ear"], _at_work["sounds"], _at_work["phrases"])) for line in lines]


def hear(line: Line, ear: Ear, sounds: Sounds, phrases: Phrases) -> dict[str, Any]:
    """One clip heard, as JSON values."""
    samples = sounds.of(line)
    grammar, meanings = ear.grammar(expected(line))
    begun, cpu = time.perf_counter(), time.process_time()
    evidence = ear.listen(samples, grammar, meanings)
    cpu, took = time.process_time() - cpu, time.perf_counter() - begun
    stops = stops_in_speech(samples)
    evidence = kept(evidence)
    return {
        **{key: value for key, value in line.items() if key not in DROPPED},
        "seconds": round(len(samples) / RATE, 3),
        "cpu": round(cpu, 4),
        "took": round(took, 4),
        "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
        "load": round(_at_work.get("load", 0.0), 3),
        "stops": stops,
        "evidence": rounded(asdict(evidence)),
        "with": heard_data(evidence, phrases, expected(line), stops),
        "without": heard_data(evidence, phrases, expected(line, with_range=False), stops),
    }


def kept(evidence: Evidence) -> Evidence:
    """The evidence without what is far behind."""
    best = max((form.weight for form in evidence.forms), default=0.0)
    forms = sorted(evidence.forms, key=lambda form: -form.weight)
    near = [form for form in forms if form.weight > best - FORMS_WITHIN]
    return replace(evidence, forms=tuple(near[:FORMS_MOST]))


def heard_data(evidence: Evidence, phrases: Phrases, expect: Expect, stops: bool) -> dict[str, Any]:
    """What it means when this is expected."""
    heard = replace(weighed(evidence, Meanings(phrases, expect, None)), stops=stops)
    data = replace(heard, hearings=heard.hearings[:HEARINGS_MOST], free="").as_data()
    return dict(rounded(data))


def heard_from(row: dict[str, Any], how: str) -> Heard:
    """What was heard, back from a line of the result; `how`: "with" or "without"."""
    return replace(Heard.from_data(row[how]), free=row["evidence"]["free"]["texts"][0])


def rounded(data: Any) -> Any:
    """Numbers with five figures behind the point, and probabilities that are nearly nothing as they are."""
    if isinstance(data, dict):
        return {key: rounded(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [rounded(one) for one in data]
    if isinstance(data, float) and abs(data) > 1e-3:
        return round(data, 5)
    return data


def main() -> None:
    """Hear a set, or the beginning of it that the time allows."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--ear", default="plain", help="plain, trained, or a folder of weights")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--split", default="", help="choose or report (default: all)")
    parser.add_argument("--kinds", default="", help="kinds, with commas (default: all)")
    parser.add_argument("--most", type=int, default=10**9, help="clips at most")
    parser.add_argument("--seconds", type=float, default=1e9, help="stop after so long; what was heard is kept")
    arguments = parser.parse_args()
    kinds = set(filter(None, arguments.kinds.split(",")))
    lines = [line for line in lines_of(arguments.folder) if line["split"].startswith(arguments.split)]
    lines = [line for line in lines if not kinds or line["kind"] in kinds][: arguments.most]
    started = time.perf_counter()
    done, sound, cpu = 0, 0.0, 0.0
    context = multiprocessing.get_context("spawn")
    with (
        context.Pool(arguments.jobs, _begin, (str(arguments.folder), arguments.ear)) as pool,
        gzip.open(arguments.out, "wt", compresslevel=5) as out,
    ):
        for rows in pool.imap_unordered(_hear, batches(lines, BATCH)):
            for row in rows:
                print(row, file=out)
                known = json.loads(row)
                done, sound, cpu = done + 1, sound + known["seconds"], cpu + known["cpu"]
            if time.perf_counter() - started > arguments.seconds:
                pool.terminate()
                break
    took = time.perf_counter() - started
    print(f"{done} of {len(lines)} clips, {sound:.0f} s of sound, in {took:.0f} s by the clock on {arguments.jobs}")
    print(f"processor: {cpu:.0f} s, {cpu / max(sound, 1e-9):.3f} of real time")


if __name__ == "__main__":
    main()
