"""Break one promise at a time in a copy of the project, and see which tests cry. Run by hand.

PYTHONPATH=tests python tests/bench/broken_promises.py [NAME ...]

A line for each: how many tests fail, and the first of them. Ends with 1 if a break is noticed by no test, or if its
patch no longer fits the code.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from breaking import DoesNotFit, broken, copied, crying, named


def main() -> int:
    parser = argparse.ArgumentParser(description="Break one promise at a time, and see which tests cry.")
    parser.add_argument("names", nargs="*", metavar="NAME")
    try:
        wanted = named(parser.parse_args().names)
    except KeyError as fault:
        parser.error(f"no break is called {fault}")
    faults = 0
    with tempfile.TemporaryDirectory() as folder:
        copy = copied(Path(folder))
        for one in wanted:
            try:
                with broken(copy, one):
                    found = crying(copy, one.tests)
            except DoesNotFit as fault:
                print(f"DOES NOT FIT  {fault}", flush=True)
                faults += 1
                continue
            faults += not found
            cries = f"{len(found)} cry, first {found[0]}" if found else "NO TEST CRIES"
            print(f"{one.name}: {cries}  ({one.promise})", flush=True)
    print(f"{len(wanted)} promises broken, {faults} of them unnoticed or not fitting any more")
    return 1 if faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
