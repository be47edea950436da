"""All of it on a machine with GPUs, in four goes of at most ten minutes, each on what the one before left in WORK.

    python3 voice_models/training/run.py render CARRIED OUT --minutes 5.5
    python3 voice_models/training/run.py teach CARRIED OUT --minutes 9.3
    python3 voice_models/training/run.py more CARRIED OUT --minutes 6.5
    python3 voice_models/training/run.py hear CARRIED OUT --minutes 5

CARRIED is what `training.pack` made, with `voices*.tar*` (a folder `voices`: see `training.engines`). Speech is
rendered before anything is trained: beside it, on the same cores, training waits. `teach` trains one plan on each GPU;
other cores meanwhile render what is heard, and hear it with the shipped weights. `more` goes on from the plan that
learned most, in as many ways, with nothing beside it. Of the means and scales in `TRIED` the best on the split *choose*
hears all of *report*. Nothing is fetched. OUT gets what is kept of every plan, the best difference, hearings and logs.
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
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PLANS: dict[str, list[str]] = {
    "one": ["--seed", "31", "--rate", "5e-4", "--distil", "0.5"],
    "two": ["--seed", "32", "--rate", "5e-4", "--distil", "0.5"],
    "fast": ["--seed", "33", "--rate", "8e-4", "--distil", "0.5"],
    "held": ["--seed", "34", "--rate", "5e-4", "--distil", "1.0", "--anchor", "0.5"],
}
BEGUN = "fast"
MORE: dict[str, list[str]] = {
    "slower": ["--seed", "40", "--rate", "6e-4", "--distil", "0.5"],
    "again": ["--seed", "41", "--rate", "8e-4", "--distil", "0.5"],
    "faster": ["--seed", "42", "--rate", "1e-3", "--distil", "0.5"],
    "nearer": ["--seed", "43", "--rate", "8e-4", "--distil", "1.0"],
}
"""Ways to go on from `BEGUN`."""
TRIED = (("mean", "0.75"), ("mean", "0.9"), ("mean", "1"), ("again", "0.9"))
"""Which weights of `MORE`, and what part of their difference to the shipped ones; "mean" is of all of them."""
NATURAL, FAST = "kokoro", "espeak,flite,hibari"
FAST_HOURS = 50.0
HEARD_HOURS = {"report": 3.4, "choose": 1.5}
"""Of speech, each utterance in four clips."""
CORES_A_PLAN = 4
MOST = 15 << 20
"""Bytes of a file of OUT."""


@dataclass
class Run:
    """The work, its folders and its clock."""

    carried: Path
    out: Path
    work: Path
    seconds: float
    small: bool

    def __post_init__(self) -> None:
        self.started, self.cores = time.monotonic(), os.cpu_count() or 1
        self.plain, self.logs = self.work / "plain", self.work / "logs"
        for folder in (self.out, self.logs, self.work / "trained", self.work / "hearings"):
            folder.mkdir(parents=True, exist_ok=True)
        self.environment = {
            **os.environ,
            "PYTHONPATH": os.pathsep.join(map(str, (self.work / "site", ROOT / "voice_models", ROOT / "tests", ROOT))),
            "PYTHONDONTWRITEBYTECODE": "1",
            "TRAINING_VOICES": str(self.work / "voices"),
            "OMP_NUM_THREADS": "1",
        }

    def say(self, text: str) -> None:
        """A line of the log, with the clock."""
        line = f"[{time.monotonic() - self.started:6.1f}] {text}"
        print(line, flush=True)
        with (self.logs / "run.log").open("a") as log:
            print(line, file=log)

    def left(self, part: float = 1.0) -> float:
        """Seconds until a part of the time is over, at least one."""
        return max(1.0, self.started + part * self.seconds - time.monotonic())

    def begin(self, name: str, *command: str, on: range | None = None, **environment: str) -> subprocess.Popen[bytes]:
        """Start one of our modules, on some of the cores; what it prints goes to a file of the log."""
        self.say(f"{name}: {' '.join(command)}")
        pinned = ["taskset", "-c", f"{on[0]}-{on[-1]}"] if on else []
        with (self.logs / f"{name}.txt").open("ab") as log:
            full = [*pinned, sys.executable, "-m", *command]
            return subprocess.Popen(full, env={**self.environment, **environment}, cwd=ROOT, stdout=log, stderr=log)

    def finish(self, name: str, process: subprocess.Popen[bytes], within: float) -> bool:
        """Wait for it; what takes too long is ended."""
        try:
            code = process.wait(within)
        except subprocess.TimeoutExpired:
            process.kill()
            code = process.wait()
        text = (self.logs / f"{name}.txt").read_text(errors="replace")
        self.say(f"{name} ended with {code}: {text[-1500:] if code else text[-200:]}")
        return not code

    def do(self, name: str, *command: str, within: float, on: range | None = None) -> bool:
        """Start and wait."""
        return self.finish(name, self.begin(name, *command, on=on), within)

    def speech(self, name: str, split: str, jobs: int, hours: float, seconds: float, engines: str = "") -> bool:
        """Speech of one split into a folder of its own, as much as the seconds allow."""
        folder = self.work / ("speech" if split == "train" else "heard") / name
        command = ["training.render", "--split", split, "--out", str(folder), "--hours", f"{hours:g}"]
        command += ["--jobs", str(jobs), "--seed", str(sum(name.encode())), "--seconds", f"{seconds:.0f}"]
        command += ["--engines", engines] if engines else []
        return self.do(f"render-{name}", *command, within=seconds + 60, on=self.others())

    def others(self) -> range | None:
        """The cores that no training has; None where there are few."""
        mine = CORES_A_PLAN * len(on_gpus(PLANS))
        return range(mine, self.cores) if self.cores >= 3 * mine else None

    def hear(self, name: str, split: str, ear: Path, jobs: int, seconds: float, on: range | None = None) -> None:
        """A split heard with an ear, as far as the time goes."""
        command = ["ears.listen", str(self.work / "heard" / split), "--ear", str(ear), "--jobs", str(jobs)]
        command += ["--out", str(self.hearings(split, name)), "--seconds", f"{seconds:.0f}", "--split", split]
        command += ["--most", "4"] if self.small else []
        self.do(f"hear-{split}-{name}", *command, within=seconds + 60, on=on)

    def hearings(self, split: str, name: str) -> Path:
        """Where they lie."""
        return self.work / "hearings" / f"{split}-{name}.jsonl.gz"

    def ear(self, name: str) -> Path:
        """The weights of a candidate."""
        return self.work / "candidates" / name

    def hand_over(self, name: str, paths: Sequence[Path]) -> None:
        """Files in one archive of OUT, as many as fit."""
        left = MOST
        with tarfile.open(self.out / name, "w:gz") as archive:
            for one in paths:
                if one.exists() and one.stat().st_size < left:
                    archive.add(one, one.name)
                    left -= one.stat().st_size + 1024


def on_gpus(plans: Mapping[str, list[str]]) -> list[str]:
    """The names of as many as there are GPUs; one where there is none."""
    return list(plans)[: max(1, gpus())]


@cache
def gpus() -> int:
    """How many there are."""
    try:
        done = subprocess.run(["nvidia-smi", "-L"], capture_output=True, text=True, check=True)
    except (OSError, subprocess.SubprocessError):
        return 0
    return sum(line.startswith("GPU") for line in done.stdout.splitlines())


def unpack(run: Run) -> None:
    """What was carried, ready to use."""
    wheels = sorted((run.carried / "wheels").glob("*.whl"))
    if wheels:
        install = [sys.executable, "-m", "pip", "install", "-q", "--no-index", "--no-deps", "--no-compile"]
        install += ["--no-cache-dir", "--upgrade", "--target", str(run.work / "site"), *map(str, wheels)]
        subprocess.run(install, check=True)
    for path in run.carried.glob("voices*.tar*"):
        with tarfile.open(path) as archive:
            archive.extractall(run.work, filter="data")
    if not run.do("unpack", "training.pack", str(run.carried), "--unpack", str(run.plain), within=120):
        raise SystemExit("the weights can't be unpacked")


def render(run: Run) -> None:
    """Speech to train on: natural voices on most of the cores, the fast engines' on the others."""
    unpack(run)
    natural = Path(run.environment["TRAINING_VOICES"], NATURAL).exists()
    some = max(1, run.cores // 5)
    hours = 0.02 if run.small else FAST_HOURS
    with ThreadPoolExecutor(2) as side_by_side:
        side_by_side.submit(run.speech, "fast", "train", some, hours, run.left() - 20, FAST)
        if natural:
            side_by_side.submit(
                run.speech, "natural", "train", max(1, run.cores - some), hours, run.left() - 20, NATURAL
            )


def teach(run: Run) -> None:
    """Train; meanwhile render the splits that are heard, and hear them with the shipped weights."""
    begun = train(run, PLANS, ())
    cores = len(run.others() or range(run.cores))
    with ThreadPoolExecutor(3) as side_by_side:
        for split, part in (("report", 0.5), ("choose", 0.3)):
            hours = 0.004 if run.small else HEARD_HOURS[split]
            side_by_side.submit(run.speech, split, split, max(1, round(part * cores)), hours, run.left(0.7))
        if Path(run.environment["TRAINING_VOICES"], NATURAL).exists() and not run.small:
            side_by_side.submit(run.speech, "more", "train", round(0.2 * cores), FAST_HOURS, run.left(0.4), NATURAL)
    for split, part in (("choose", 0.35), ("report", 1.0)):
        run.hear("plain", split, run.plain, cores, part * max(5.0, run.left() - 40), run.others())
    finish(run, begun)


def more(run: Run) -> None:
    """Train on from what learned most, in several ways at once, with nothing beside it."""
    begun = BEGUN if (run.work / "trained" / f"{BEGUN}.npz").exists() else on_gpus(PLANS)[0]
    finish(run, train(run, MORE, ("--begin", str(run.work / "trained" / f"{begun}.npz"))))


def train(run: Run, plans: Mapping[str, list[str]], begin: Sequence[str]) -> dict[str, subprocess.Popen[bytes]]:
    """Start one of the plans on each GPU."""
    begun = {}
    for number, plan in enumerate(on_gpus(plans)):
        command = ["training.train", str(run.work / "speech"), str(run.work / "trained" / f"{plan}.npz"), *begin]
        command += ["--weights", str(run.plain), "--minutes", f"{(run.left() - 45) / 60:.3f}", *plans[plan]]
        command += ["--rows", "2", "--steps", "3"] if run.small else ["--rows", "256", "--sound", "1280"]
        on = range(CORES_A_PLAN * number, CORES_A_PLAN * (number + 1)) if run.others() else None
        begun[plan] = run.begin(
            f"train-{plan}", *command, on=on, CUDA_VISIBLE_DEVICES=str(number), OMP_NUM_THREADS=str(CORES_A_PLAN)
        )
    return begun


def finish(run: Run, begun: Mapping[str, subprocess.Popen[bytes]]) -> None:
    """Wait for what trains, and keep what came of it."""
    for plan, process in begun.items():
        run.finish(f"train-{plan}", process, run.left())
    for plan, process in [(plan, keep(run, plan)) for plan in begun]:
        run.finish(f"keep-{plan}", process, 60)


def keep(run: Run, plan: str) -> subprocess.Popen[bytes]:
    """What is kept of a plan, to make others of it later."""
    command = ["training.candidates", str(run.work), "--trained", str(run.work / "trained" / f"{plan}.npz")]
    return run.begin(f"keep-{plan}", *command, "--weights", str(run.plain), "--keep", str(run.out))


def hear(run: Run) -> None:
    """Make the candidates, hear some of *choose* with each, all of it and of *report* with the best."""
    names = candidates(run)
    jobs = max(1, run.cores // max(1, len(names)))
    with ThreadPoolExecutor(len(names)) as side_by_side:
        for name in names:
            side_by_side.submit(run.hear, name, "choose", run.ear(name), jobs, run.left(0.35))
    found = []
    paths = [run.hearings("choose", name) for name in names]
    begun = {path: run.begin(f"pick-{path.name}", "training.pick", str(path)) for path in paths if path.exists()}
    for path, process in begun.items():
        if run.finish(f"pick-{path.name}", process, 60):
            found.append(json.loads((run.logs / f"pick-{path.name}.txt").read_text().splitlines()[-1]))
    sys.path[:0] = run.environment["PYTHONPATH"].split(os.pathsep)
    from training.pick import order

    best = str(min(found, key=order)["ear"])
    run.say(f"the best is {best}")
    shutil.copy(run.ear(best) / "ear.diff", run.out / f"{best}.diff")
    (run.logs / "picked.json").write_text(json.dumps(found, indent=1))
    for split, part in (("report", 0.9), ("choose", 1.0)):
        if split == "choose":
            shutil.move(run.hearings(split, best), run.hearings("some", best))
        run.hear(best, split, run.ear(best), run.cores, run.left(part) - 10)
    for split in ("choose", "report"):
        for name in ("plain", best):
            if run.hearings(split, name).exists():
                shutil.copy(run.hearings(split, name), run.out)
    run.hand_over("others.tar.gz", [run.hearings("choose", name) for name in names if name != best])


def candidates(run: Run) -> list[str]:
    """Folders of weights, made side by side."""
    trained = {plan: run.work / "trained" / f"{plan}.npz" for plan in MORE}
    trained = {plan: path for plan, path in trained.items() if path.exists()}
    begun = {}
    for source, scale in TRIED:
        if source == "mean" and len(trained) == 1:
            source = next(iter(trained))
        paths = list(trained.values()) if source == "mean" else [trained[source]] if source in trained else []
        if not paths:
            continue
        command = ["training.candidates", str(run.work / "candidates"), "--trained", *map(str, paths)]
        command += ["--scales", scale, "--weights", str(run.plain)]
        begun[f"{source}-{scale}"] = run.begin(f"make-{source}-{scale}", *command)
    return [name for name, process in begun.items() if run.finish(f"make-{name}", process, 90)]


def main() -> None:
    """Do one go."""
    parser = argparse.ArgumentParser()
    parser.add_argument("go", choices=("render", "teach", "more", "hear"))
    parser.add_argument("carried", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--minutes", type=float, default=9.5)
    parser.add_argument("--work", type=Path, default=Path("/tmp/ear"))
    parser.add_argument("--small", action="store_true", help="a few steps and clips: only to see that all of it works")
    given = parser.parse_args()
    run = Run(given.carried, given.out, given.work, 60 * given.minutes, given.small)
    {"render": render, "teach": teach, "more": more, "hear": hear}[given.go](run)
    run.say("over")
    run.hand_over(f"logs-{given.go}.tar.gz", sorted(run.logs.iterdir()))


if __name__ == "__main__":
    main()
