"""What putting a frame right costs on the simulated site, by the advice and by two other ways. Run by hand, in pieces.

PYTHONPATH=tests python tests/bench/moves_report.py run FILE FIRST COUNT     work frames FIRST.. and add them to FILE
PYTHONPATH=tests python tests/bench/moves_report.py name FILE FIRST COUNT    only what is said before any move
PYTHONPATH=tests python tests/bench/moves_report.py show FILE...             every figure, with 95 % intervals

Every way gets the same frames, crews with the same noise, and one cap. Only frames that some set of shims can put right
are scored; the others are for the advice alone, which has to say so. All figures are of the world in `site_world`.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from site_ways import CAP, LEAN_U, Outcome, by_advice, by_least_squares, by_member, frame, share
from site_world import Crew, Trouble, World

from guide.trade.advice import Advice, Case, advise, first_answer, with_round
from guide.trade.fault import WallLean
from guide.trade.frame import wanted
from guide.trade.learn import Round

ROUGH = Trouble(grip=0.2, drag=0.2, tip=0.2, hands="large")
MEMBERS = ("left side frame", "right side frame", "head length", "sill length")
RACKS = ("left leaf rack", "right leaf rack")
BROKEN = ("leaf width", "leaf taper", "head length", "left leaf height", "left leaf rack", "right side frame")

Piece = dict[str, Any]


def world_of(seed: int, trouble: Trouble | None = None, faults: dict[str, float] | None = None) -> World:
    """The frame of this number; the same number gives the same frame."""
    return World(np.random.default_rng(seed), trouble or Trouble(), faults)


def crew_on(world: World, seed: int) -> Crew:
    """The crew of this number: the same noise for every way."""
    return Crew(world, np.random.default_rng(seed + 1_000_000))


class Watch:
    """Keeps how long every answer of the advice took, and times the answer at once beside it (processor time)."""

    def __init__(self) -> None:
        self.next: list[float] = []
        self.once: list[float] = []

    def seen(self, case: Case, said: Advice, seconds: float) -> None:
        """One answer."""
        if said.kind == "move":
            start = time.process_time()
            first_answer(case)
            self.once.append(time.process_time() - start)
            self.next.append(seconds)


def work_frame(seed: int) -> Iterator[Piece]:
    """All that is done with one frame, each as plain data."""
    if world_of(seed).can_be_put_right():
        watch = Watch()
        yield _outcome("advice", seed, by_advice(crew_on(world_of(seed), seed), observe=watch.seen), watch)
        yield _outcome("least squares", seed, by_least_squares(crew_on(world_of(seed), seed)))
        yield _outcome("member", seed, by_member(crew_on(world_of(seed), seed)))
    else:
        yield {"part": "left out", "seed": seed}
    if world_of(seed, ROUGH).can_be_put_right():
        yield _outcome("rough", seed, by_advice(crew_on(world_of(seed, ROUGH), seed)))
    broken = {BROKEN[seed // 2 % len(BROKEN)]: _sign(seed) * 0.4}
    if not world_of(seed, None, broken).can_be_put_right():
        yield _outcome("cannot", seed, by_advice(crew_on(world_of(seed, None, broken), seed)))


def name_faults(seed: int) -> Iterator[Piece]:
    """What is said to the first readings of a frame without a fault, and with one."""
    amount = _sign(seed) * 3 / 16
    for again in (0, 3):
        said = _first_advice(crew_on(world_of(seed), seed), again=again)
        alarmed = said.suspicion is not None and bool(said.suspicion.named)
        yield {"part": "no fault, read again" if again else "no fault", "seed": seed, "alarmed": alarmed}
    yield _misread(seed, _sign(seed))
    yield _fault("member fault", seed, MEMBERS[seed // 2 % len(MEMBERS)], amount)
    yield _fault("racked", seed, RACKS[seed // 2 % len(RACKS)], amount)


def _sign(seed: int) -> int:
    return 1 if seed % 2 else -1


def _outcome(part: str, seed: int, found: Outcome, watch: Watch | None = None) -> Piece:
    times = {} if watch is None else {"next": watch.next, "once": watch.once}
    return {"part": part, "seed": seed, **asdict(found), **times}


def _first_advice(crew: Crew, misread: dict[int, float] | None = None, again: int = 0) -> Advice:
    """What is said to the first readings, `again` times after reading again what is asked for."""
    lean = crew.wall_lean()
    wall = WallLean(lean["left"], lean["right"], LEAN_U)
    case = Case(frame(), (Round(crew.all_readings(misread)),), wanted(crew.world.spots), wall)
    said = advise(case)
    for _ in range(again):
        if said.kind == "read again":
            case = with_round(case, Round({spot: crew.reading(crew.world.spots.index(spot)) for spot in said.again}))
            said = advise(case)
    return said


def _misread(seed: int, sign: int) -> Piece:
    """One reading of a good frame misread by a quarter of an inch."""
    world = world_of(seed)
    at = int(np.random.default_rng(seed + 2_000_000).integers(len(world.spots)))
    said = _first_advice(crew_on(world, seed), {at: sign / 4})
    named = said.suspicion.named if said.suspicion is not None else ()
    spot, again = world.spots[at], said.again if said.kind == "read again" else ()
    found = {"alarmed": bool(named), "best": bool(named) and named[0].spot == spot, "among": spot in again}
    return {"part": "misread", "seed": seed, "place": list(spot), **found, "named": len(named)}


def _fault(part: str, seed: int, name: str, amount: float) -> Piece:
    """A unit with one thing wrong with it, beside the little that every unit has; doubtful readings are read again."""
    said = _first_advice(crew_on(world_of(seed, None, {name: amount}), seed), again=3)
    named = [one.name for one in said.suspicion.named] if said.suspicion is not None else []
    side = ("left", "right") if part == "racked" else ("", "")
    either, true = [one.replace(*side) for one in named], name.replace(*side)
    found = {"alarmed": bool(named), "best": either[:1] == [true], "among": true in either, "named": len(named)}
    return {"part": part, "seed": seed, "fault": name, **found, "said": named}


def run(file: Path, first: int, count: int, parts: Sequence[Callable[[int], Iterator[Piece]]]) -> None:
    """Work these frames, a line of JSON for each thing done."""
    advise(Case(frame(), (Round({("head_level", ""): Fraction(3, 16)}),), wanted([("head_level", "")])))
    with file.open("a", encoding="utf-8") as out:
        for seed in range(first, first + count):
            for piece in (piece for part in parts for piece in part(seed)):
                out.write(json.dumps(piece) + "\n")
            out.flush()


def quantile(values: Sequence[float], at: float) -> str:
    """A quantile with its 95 % interval, by the order of the values (binomial)."""
    ordered, n = sorted(values), len(values)
    reach = 1.96 * (n * at * (1 - at)) ** 0.5
    low, high = (min(n - 1, max(0, round(n * at + sign * reach))) for sign in (-1, 1))
    return f"{ordered[min(n - 1, int(n * at))]:g} ({ordered[low]:g} to {ordered[high]:g})"


def mean(values: Sequence[float]) -> str:
    """A mean with its 95 % interval."""
    reach = 1.96 * float(np.std(values, ddof=1)) / len(values) ** 0.5 if len(values) > 1 else float("nan")
    return f"{float(np.mean(values)):.2f} ± {reach:.2f}"


def percent(hits: int, of: int) -> str:
    """A share in percent with its 95 % interval, and the count."""
    if not of:
        return "none to count"
    p, low, high = share(hits, of)
    return f"{100 * p:.1f} % ({100 * max(0.0, low):.1f} to {100 * high:.1f}; {hits} of {of})"


def show(pieces: Sequence[Piece]) -> list[str]:
    """Every figure, a line each."""
    parts: dict[str, list[Piece]] = {}
    for piece in pieces:
        parts.setdefault(piece["part"], []).append(piece)
    lines = [
        "Simulated, not a site. " + _world_told(),
        f"{len(parts.get('advice', []))} frames that shims can put right, {len(parts.get('left out', []))} others left "
        f"out; cap {CAP} rounds; every way on the same frames.",
    ]
    for name in ("advice", "least squares", "member", "rough"):
        lines += _way(name, parts.get(name, []))
    lines += _beside(parts)
    lines += _truth(parts)
    lines += _naming(parts)
    lines += _impossible(parts.get("cannot", []))
    lines += _times(parts.get("advice", []))
    return lines


def _world_told() -> str:
    usual = Trouble()
    return (
        f"World: side frames off by up to {usual.off} in at each point, across 1/4, unit faults sd 1/64 (cut at 1/32), "
        f"gain off by {usual.grip:.0%}, neighbours dragged by up to {usual.drag:.0%}, tops tilt {usual.tip:.0%} off, "
        f"hinges uneven by {usual.hinge_spread:.0%}; hands err by the smaller of 1/32 and 20 %. Rough world: gain, "
        f"drag and tilt {ROUGH.grip:.0%}, hands err by the larger of 1/32 and 20 %."
    )


def _way(name: str, found: list[Piece]) -> list[str]:
    if not found:
        return []
    rounds = [one["rounds"] for one in found]
    ends = {end: sum(1 for one in found if one["end"] == end) for end in sorted({one["end"] for one in found})}
    return [
        f"{name}: rounds median {quantile(rounds, 0.5)}, 90th {quantile(rounds, 0.9)}, beyond 5 "
        f"{percent(sum(1 for n in rounds if n > 5), len(rounds))}; moves median "
        f"{quantile([one['moves'] for one in found], 0.5)}, mean {mean([one['moves'] for one in found])}; "
        f"moves of the first round {quantile([one['first'] for one in found], 0.5)}; readings median "
        f"{quantile([one['readings'] for one in found], 0.5)}, mean {mean([one['readings'] for one in found])}; "
        f"ends {ends}"
    ]


def _beside(parts: dict[str, list[Piece]]) -> list[str]:
    """The advice against each other way, frame by frame."""
    mine, lines = {one["seed"]: one for one in parts.get("advice", [])}, []
    for name in ("least squares", "member"):
        pairs = [(mine[one["seed"]], one) for one in parts.get(name, []) if one["seed"] in mine]
        if pairs:
            moves = mean([a["moves"] - b["moves"] for a, b in pairs])
            rounds = mean([a["rounds"] - b["rounds"] for a, b in pairs])
            ratio = sum(a["readings"] for a, _ in pairs) / sum(b["readings"] for _, b in pairs)
            lines.append(f"advice less {name}: moves {moves}, rounds {rounds}; readings {ratio:.1%} of that way's")
    return lines


def _truth(parts: dict[str, list[Piece]]) -> list[str]:
    lines = []
    for name in ("advice", "least squares", "rough"):
        found = parts.get(name, [])
        done = [one for one in found if one["end"] == "done"]
        if not done:
            continue
        lines.append(
            f"{name}: accepted readings at the end truly out "
            f"{percent(sum(one['wrong'] for one in done), sum(one['accepted'] for one in done))}; jobs with any "
            f"{percent(sum(1 for one in done if one['wrong']), len(done))}; worst reading over its tolerance, 90th "
            f"{quantile([one['worst'] for one in done], 0.9)}; worst excess, 90th "
            f"{quantile([one['excess'] for one in done], 0.9)} in"
        )
        for rule, told in (("plain", "by the plain rule"), ("guarded", "with a guard band of U")):
            accepted, wrong, expected, expected_wrong = (sum(one[rule][at] for one in found) for at in range(4))
            lines.append(
                f"{name}: of all readings accepted {told}, truly out {percent(wrong, accepted)}, "
                f"computed {100 * expected_wrong / expected:.2f} %"
            )
    return lines


def _naming(parts: dict[str, list[Piece]]) -> list[str]:
    lines = []
    for name in ("misread", "member fault", "racked"):
        found = parts.get(name, [])
        counts = {key: percent(sum(1 for one in found if one[key]), len(found)) for key in ("alarmed", "best", "among")}
        lines.append(
            f"{name}: alarmed {counts['alarmed']}, named first {counts['best']}, among those named {counts['among']}"
        )
    for name, told in (("no fault", "false alarms"), ("no fault, read again", "false alarms left after reading again")):
        calm = parts.get(name, [])
        lines.append(f"{told} {percent(sum(1 for one in calm if one['alarmed']), len(calm))}")
    return lines


def _impossible(found: list[Piece]) -> list[str]:
    if not found:
        return []
    ends = {end: percent(sum(1 for one in found if one["end"] == end), len(found)) for end in {o["end"] for o in found}}
    silent = sum(1 for one in found if one["end"] in ("cannot", "lead") and not one["reason"])
    told = ", ".join(f"{end} {many}" for end, many in sorted(ends.items()))
    rounds = quantile([one["rounds"] for one in found], 0.9)
    hair = max((one["excess"] for one in found if one["end"] == "done"), default=0.0)
    return [
        f"frames no shims put right (a fault of 0.4 in): {told}; rounds, 90th {rounds}; without a reason {silent}; "
        f"those done, good by every reading, truly out by {hair:.3f} in at most"
    ]


def _times(found: list[Piece]) -> list[str]:
    lines = []
    for key, name in (("next", "next move, proven"), ("once", "answer at once")):
        times = [1000 * t for one in found for t in one[key]]
        if times:
            p50, p99, most = (float(np.quantile(times, q)) for q in (0.5, 0.99, 1.0))
            lines.append(
                f"{name}: p50 {p50:.0f} ms, p99 {p99:.0f} ms, most {most:.0f} ms, {len(times)} answers (processor time)"
            )
    loaded = subprocess.run(
        [sys.executable, "-c", "import sys, guide.trade.advice; print('scipy' in sys.modules, 'numpy' in sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).resolve().parents[2],
    )
    return [*lines, f"import guide.trade.advice loads scipy, numpy: {loaded.stdout.strip()}"]


def main(arguments: Sequence[str]) -> int:
    if arguments[:1] in (["run"], ["name"]) and len(arguments) == 4:
        parts = (work_frame, name_faults) if arguments[0] == "run" else (name_faults,)
        run(Path(arguments[1]), int(arguments[2]), int(arguments[3]), parts)
        return 0
    if arguments[:1] == ["show"] and len(arguments) > 1:
        lines = [line for file in arguments[1:] for line in Path(file).read_text(encoding="utf-8").splitlines()]
        print("\n".join(show([json.loads(line) for line in lines])))
        return 0
    print(__doc__)
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
