"""Random walks over the shipped procedures, many commands, figures printed. Run by hand.

PYTHONPATH=tests python tests/bench/walks.py [COMMANDS]
"""

from __future__ import annotations

import sys
import time

from walking import Walked, walks

from guide.procedure import load, shipped


def main() -> None:
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    procedures = [load(name) for name in shipped()]
    total, seed, start = Walked(), 1000, time.perf_counter()
    while total.commands < wanted:
        for procedure in procedures:
            total += walks(procedure, range(seed, seed + 4), 1000, every=150)
        seed += 4
    print(
        f"{total.commands} commands over {len(procedures)} procedures: {total.refused} refused, {total.events} events, "
        f"{total.finished} finishes, {len(total.kinds)} kinds of event, {time.perf_counter() - start:.0f} s; "
        "no promise broken"
    )


if __name__ == "__main__":
    main()
