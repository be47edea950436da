"""Which of several trained ears to ship, by what they heard of the choose split: python -m training.pick HEARD...

Each ear gets thresholds of its own (`ears.choose`), for its probabilities are not another's; then those with the fewest
silently wrong readings are compared by how many are right. Needs PYTHONPATH=voice_models:tests:. ; only counts decide.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from ears.choose import choose_all
from ears.judge import READINGS, cases, grouped, noise, rows, tally

SPARE = 0.5
SLACK = 0.002
"""Share of wrong ones by which ears count as alike: of few clips one more or less is chance."""


def judged(path: Path) -> dict[str, Any]:
    """What one ear comes to."""
    chosen = dict(choose_all([path], 0.4 / 1000, SPARE))
    found = cases(rows([path]), with_range=True)
    readings = [case for case in found if case.line["kind"] in READINGS - {"cut"}]
    others = [case for case in found if case.line["kind"] not in READINGS]
    by_noise = {
        name: {
            "clips": len(group),
            "first right": round(sum(case.first_right for case in group) / len(group), 4),
            "right": round(tally(group)["right"] / len(group), 4),
            "wrong": tally(group)["wrong"],
        }
        for name, group in grouped(readings, noise).items()
    }
    return {
        "ear": path.name.removesuffix(".jsonl.gz").removeprefix("choose-"),
        "clips": len(found),
        "own thresholds": {
            name: {"right": one.right, "wrong": one.wrong, "clips": one.clips, "take": str(one.take)}
            for name, one in chosen.items()
        },
        "with the present thresholds": by_noise,
        "taken that was for nobody": tally([one for one in others if not one.line["truth"]])["wrong"],
        "commands wrong": tally([one for one in others if one.line["truth"]])["wrong"],
    }


def order(one: dict[str, Any]) -> tuple[float, float]:
    """Better ears first: as good as no more wrong ones, then more right ones."""
    counts = [one["own thresholds"][name] for name in ("expected", "unexpected")]
    clips = max(1, max(count["clips"] for count in counts))
    wrong = sum(count["wrong"] for count in counts) / clips
    return round(wrong / SLACK), -sum(count["right"] for count in counts) / clips


def main() -> None:
    """Print what each came to, a JSON object a line, the best first."""
    parser = argparse.ArgumentParser()
    parser.add_argument("heard", type=Path, nargs="+")
    arguments = parser.parse_args()
    for one in sorted((judged(path) for path in arguments.heard), key=order):
        print(json.dumps(one), flush=True)


if __name__ == "__main__":
    main()
