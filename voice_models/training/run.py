"""All of it on a machine with GPUs, within so many minutes: render, train, hear the choose split, pick, pack.

    python3 voice_models/training/run.py CARRIED OUT [--minutes 9.3]

CARRIED is what `training.pack` made, with `voices*.tar*` (a folder `voices`: see `training.engines`). With one GPU one
plan is trained, with several the first few of `PLANS`, one on each, and their mean is tried too. Nothing is fetched.
OUT gets at most eight files: the best difference, what was kept of every plan (`training.candidates`), hearings, logs.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tarfile
import time
import zlib
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PLANS: dict[str, list[str]] = {
    "whole": ["--seed", "1", "--distil", "0.5"],
    "held": ["--seed", "2", "--distil", "1.0", "--anchor", "1.0", "--rate", "3e-4"],
    "again": ["--seed", "3", "--distil", "0.5"],
    "low": ["--seed", "4", "--distil", "0.5", "--rank", "48", "--rate", "1e-3"],
}
MEAN = ("whole", "held", "again")
"""Plans whose weights may be averaged: they begin alike and go one way."""
SCALES = ("0.6", "0.8", "0.4")
"""In the order in which they are tried while time is left."""
RENDERED, TRAINED, HEARD, REPORTED = 0.48, 0.67, 0.85, 0.955
"""Parts of the time by which each is over."""
FAST, NATURAL, WITHOUT = "espeak,flite,hibari", "kokoro", "espeak,flite,piper,prompts"
FAST_HOURS, NATURAL_HOURS, HEARD_HOURS = 0.35, 0.029, {"choose": 0.012, "report": 0.018}
"""Hours of speech for each core, in one go: of the natural engine what is one task of `training.render`."""
MOST = 15 << 20
"""Bytes of a file of OUT."""


class Run:
    """The work, its folders and its clock."""

    def __init__(self, carried: Path, out: Path, minutes: float, work: Path, small: bool) -> None:
        self.carried, self.out, self.work, self.small = carried, out, work, small
        self.seconds, self.started = 60 * minutes, time.monotonic()
        self.cores = os.cpu_count() or 1
        self.trainers: dict[str, subprocess.Popen[bytes]] = {}
        self.plain = work / "plain"
        out.mkdir(parents=True, exist_ok=True)
        work.mkdir(parents=True, exist_ok=True)
        (work / "logs").mkdir(exist_ok=True)
        self.log = (work / "logs" / "run.log").open("a")
        self.environment = {
            **os.environ,
            "PYTHONPATH": os.pathsep.join(map(str, (work / "site", ROOT / "voice_models", ROOT / "tests", ROOT))),
            "PYTHONDONTWRITEBYTECODE": "1",
            "TRAINING_VOICES": str(work / "voices"),
            "OMP_NUM_THREADS": "1",
        }

    def say(self, text: str) -> None:
        """A line of the log, with the clock."""
        line = f"[{time.monotonic() - self.started:6.1f}] {text}"
        print(line, flush=True)
        print(line, file=self.log, flush=True)

    def left(self, part: float) -> float:
        """Seconds until a part of the time is over."""
        return self.started + part * self.seconds - time.monotonic()

    def begin(self, name: str, *command: str, **environment: str) -> subprocess.Popen[bytes]:
        """Start one of our modules; what it prints goes to a file of the log."""
        self.say(f"{name}: {' '.join(command)}")
        log = (self.work / "logs" / f"{name}.txt").open("ab")
        full = [sys.executable, "-m", *command]
        return subprocess.Popen(full, env={**self.environment, **environment}, cwd=ROOT, stdout=log, stderr=log)

    def finish(self, name: str, process: subprocess.Popen[bytes], within: float = 600) -> bool:
        """Wait for it; what takes too long is ended."""
        try:
            code = process.wait(max(1.0, within))
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
            code = -9
        if code:
            text = (self.work / "logs" / f"{name}.txt").read_text(errors="replace")
            self.say(f"{name} ended with {code}: {text[-1500:]}")
        else:
            self.say(f"{name}: done")
        return not code

    def do(self, name: str, *command: str, within: float = 600) -> bool:
        """Start and wait."""
        return self.finish(name, self.begin(name, *command), within)

    def unpack(self) -> None:
        """What was carried, ready to use."""
        wheels = sorted((self.carried / "wheels").glob("*.whl"))
        if wheels:
            install = [sys.executable, "-m", "pip", "install", "-q", "--no-index", "--no-deps", "--no-compile"]
            install += ["--no-cache-dir", "--upgrade", "--target", str(self.work / "site"), *map(str, wheels)]
            subprocess.run(install, check=True)
        for path in self.carried.glob("voices*.tar*"):
            with tarfile.open(path) as archive:
                archive.extractall(self.work, filter="data")
        if (self.plain / "tokenizer.bin").exists():
            return
        if not self.do("unpack", "training.pack", str(self.carried), "--unpack", str(self.plain)):
            raise SystemExit("the weights can't be unpacked")

    def broken(self) -> bool:
        """Whether every training has ended before it should: there is nothing to render for."""
        codes = [process.poll() for process in self.trainers.values()]
        return bool(codes) and all(code not in (None, 0) for code in codes)

    def render(self, name: str, split: str, hours: float, jobs: int, engines: str, within: float) -> bool:
        """Speech of one split into a folder of its own."""
        folder = self.work / ("speech" if split == "train" else "heard") / name
        if (folder / "made.json").exists():
            return True
        seed = zlib.crc32(name.encode()) % 100_000
        command = ["training.render", "--split", split, "--out", str(folder), "--hours", f"{hours:g}"]
        command += ["--engines", engines] if engines else []
        return self.do(f"render-{name}", *command, "--jobs", str(jobs), "--seed", str(seed), within=within)

    def natural(self) -> bool:
        """Whether the engine with many natural speakers was carried too."""
        return Path(self.environment["TRAINING_VOICES"], NATURAL).exists()

    def stream(self, name: str, jobs: int, engines: str, hours: float, first: tuple[str, float] | None = None) -> None:
        """Speech of some engines, one folder after another, until the time for it is over."""
        some = "" if self.natural() else WITHOUT
        if first and not self.render(first[0], first[0], first[1], jobs, some, self.left(TRAINED) - 30):
            return
        for number in range(1 if self.small else 100):
            if self.broken():
                return
            begun = time.monotonic()
            size = hours / 4 if not number and name == "fast" else hours
            if not self.render(f"{name}-{number}", "train", size, jobs, engines, self.left(RENDERED) + 30):
                return
            if self.left(RENDERED) < 0.7 * (time.monotonic() - begun):
                return


def gpus() -> int:
    """How many there are."""
    try:
        done = subprocess.run(["nvidia-smi", "-L"], capture_output=True, text=True, check=True)
    except (OSError, subprocess.SubprocessError):
        return 0
    return sum(line.startswith("GPU") for line in done.stdout.splitlines())


@contextmanager
def training(run: Run, plans: Sequence[str]) -> Iterator[None]:
    """The plans in training, each on a GPU of its own; they wait for the first speech."""
    minutes = max(0.2, run.left(TRAINED) / 60)
    for number, plan in enumerate(plans):
        if (run.work / "trained" / f"{plan}.npz").exists():
            continue
        command = ["training.train", str(run.work / "speech"), str(run.work / "trained" / f"{plan}.npz")]
        command += ["--weights", str(run.plain), "--minutes", f"{minutes:.3f}", *PLANS[plan]]
        command += ["--rows", "2", "--steps", "3"] if run.small else []
        run.trainers[plan] = run.begin(f"train-{plan}", *command, CUDA_VISIBLE_DEVICES=str(number), OMP_NUM_THREADS="4")
    try:
        yield
    finally:
        for process in run.trainers.values():
            if process.poll() is None:
                process.kill()


def hear(run: Run, name: str, split: str, ear: Path, jobs: int, seconds: float) -> Path | None:
    """A split heard with an ear, as far as the time goes."""
    out = run.work / "hearings" / f"{split}-{name}.jsonl.gz"
    out.parent.mkdir(exist_ok=True)
    command = ["ears.listen", str(run.work / "heard" / split), "--out", str(out), "--ear", str(ear)]
    command += ["--jobs", str(jobs), "--seconds", f"{seconds:.0f}", "--split", split]
    command += ["--most", "4"] if run.small else []
    return out if run.do(f"hear-{split}-{name}", *command, within=seconds + 30) and out.exists() else None


def score(run: Run, names: Sequence[str]) -> list[dict[str, object]]:
    """The choose split heard with every candidate, and what `training.pick` says of all of them."""
    jobs = max(1, run.cores // max(1, len(names)))
    with ThreadPoolExecutor(max(1, min(len(names), run.cores))) as side_by_side:
        for name in names:
            ear = run.work / "candidates" / name
            side_by_side.submit(hear, run, name, "choose", ear, jobs, max(10.0, run.left(HEARD) - 4))
    found = []
    begun = {
        path: run.begin(f"pick-{path.name}", "training.pick", str(path))
        for path in sorted((run.work / "hearings").glob("choose-*.jsonl.gz"))
    }
    for path, process in begun.items():
        if run.finish(f"pick-{path.name}", process, 25 + max(0, run.left(HEARD))):
            found.append(json.loads((run.work / "logs" / f"pick-{path.name}.txt").read_text().splitlines()[-1]))
    return found


def best_of(run: Run, found: Sequence[Mapping[str, object]]) -> str | None:
    """The name of the best candidate."""
    sys.path[:0] = run.environment["PYTHONPATH"].split(os.pathsep)
    from training.pick import order

    trained = [one for one in found if one["ear"] != "plain"]
    return str(min(trained, key=lambda one: order(dict(one)))["ear"]) if trained else None


def bundle(path: Path, files: Sequence[Path]) -> None:
    """Files in one archive, the first ones first, as many as fit."""
    left = MOST
    with tarfile.open(path, "w:gz" if path.suffix == ".gz" else "w") as archive:
        for one in dict.fromkeys(files):
            if one.exists() and one.stat().st_size < left:
                archive.add(one, one.name)
                left -= one.stat().st_size + 1024


def main() -> None:
    """Do all of it."""
    parser = argparse.ArgumentParser()
    parser.add_argument("carried", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--minutes", type=float, default=9.3)
    parser.add_argument("--work", type=Path, default=Path("/tmp/ear"))
    parser.add_argument("--plans", default="", help="with commas; by default as many as there are GPUs")
    parser.add_argument("--choose-hours", type=float, help="of speech, four clips of each utterance")
    parser.add_argument("--report-hours", type=float)
    parser.add_argument("--small", action="store_true", help="a few steps and clips: only to see that all of it works")
    arguments = parser.parse_args()
    run = Run(arguments.carried, arguments.out, arguments.minutes, arguments.work, arguments.small)
    run.unpack()
    count = gpus()
    plans = arguments.plans.split(",") if arguments.plans else list(PLANS)[: max(1, count)]
    jobs = max(1, run.cores - 2 * len(plans))
    run.say(f"{count} GPUs, {run.cores} cores, plans {', '.join(plans)}")
    (run.work / "trained").mkdir(exist_ok=True)
    few, some, many = (max(1, round(part * jobs)) for part in (0.27, 0.2, 0.26))
    heard = {"choose": arguments.choose_hours or HEARD_HOURS["choose"] * run.cores}
    heard["report"] = arguments.report_hours or HEARD_HOURS["report"] * run.cores
    with training(run, plans):
        with ThreadPoolExecutor(4) as streams:
            streams.submit(run.stream, "fast", some, FAST, FAST_HOURS * some)
            kind, each = (NATURAL, NATURAL_HOURS) if run.natural() else (FAST, FAST_HOURS)
            streams.submit(run.stream, "more", many, kind, each * many)
            for split, hours in heard.items():
                streams.submit(run.stream, f"by-{split}", few, kind, each * few, (split, hours))
        for split in () if run.broken() else ("choose", "report"):
            hear(run, "plain", split, run.plain, jobs, (run.left(TRAINED) - 15) / (2 if split == "choose" else 1))
        for plan, process in run.trainers.items():
            run.finish(f"train-{plan}", process, run.left(TRAINED) + 25)
    done = [plan for plan in plans if (run.work / "trained" / f"{plan}.npz").exists()]
    made = candidates(run, done)
    found = score(run, made)
    best = best_of(run, found)
    run.say(f"the best is {best}")
    if best and run.left(REPORTED) > 5:
        hear(run, best, "report", run.work / "candidates" / best, run.cores, run.left(REPORTED))
    if best:
        shutil.copy(run.work / "candidates" / best / "ear.diff", run.out / f"{best}.diff")
    (run.work / "logs" / "picked.json").write_text(json.dumps(found, indent=1))
    for split in ("choose", "report"):
        every = [run.work / "hearings" / f"{split}-{name}.jsonl.gz" for name in ("plain", best, *made) if name]
        bundle(run.out / f"hearings-{split}.tar", every)
    run.say("over")
    run.log.close()
    bundle(run.out / "logs.tar.gz", sorted((run.work / "logs").iterdir()))
    for path in sorted(run.out.iterdir()):
        print(f"{path.stat().st_size:>12,} {path.name}")


def candidates(run: Run, done: Sequence[str]) -> list[str]:
    """Folders of weights of every plan at every scale, made side by side; what is kept of each plan goes to OUT."""
    trained = {plan: run.work / "trained" / f"{plan}.npz" for plan in done}
    averaged = [plan for plan in done if plan in MEAN]
    sources = {plan: [path] for plan, path in trained.items()}
    if len(averaged) > 1:
        sources = {"mean": [trained[plan] for plan in averaged], **sources}
    begun = {}
    for name, paths in sources.items():
        for scale in SCALES[: 1 if run.small else None]:
            command = ["training.candidates", str(run.work / "candidates"), "--trained", *map(str, paths)]
            command += ["--scales", scale, "--weights", str(run.plain)]
            begun[f"{name}-{scale}"] = run.begin(f"make-{name}-{scale}", *command)
    keeping = {}
    for plan, path in trained.items():
        command = ["training.candidates", str(run.work), "--trained", str(path), "--weights", str(run.plain)]
        keeping[plan] = run.begin(f"keep-{plan}", *command, "--keep", str(run.out))
    made = [name for name, process in begun.items() if run.finish(f"make-{name}", process, 60)]
    for plan, process in keeping.items():
        run.finish(f"keep-{plan}", process, 60)
    return sorted(made, key=lambda name: SCALES.index(name.rpartition("-")[2]))


if __name__ == "__main__":
    main()
