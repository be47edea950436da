"""How long a survey takes and a fit, in processor time; what importing the arithmetic loads. Run by hand.

PYTHONPATH=. python tests/bench/survey.py
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from fractions import Fraction as F

from guide.trade import fit
from guide.trade.opening import survey

READINGS = {
    "width bottom": F("74.5"),
    "width middle": F("74.5625"),
    "width top": F("74.625"),
    "height left": F("82.75"),
    "height middle": F("82.625"),
    "height right": F("82.6875"),
    "diagonal rising": F("111.625"),
    "diagonal falling": F("111.125"),
    "lean left": F("0.25"),
    "lean right": F("0.375"),
    "sill": F("0.0625"),
}
UNIT = fit.Unit(F("73.5"), F("82.125"), None, (F(8), F(41), F(74)))


def each(work: Callable[[], object], count: int = 300) -> tuple[float, float]:
    """Median and 99th percentile of so many runs, in milliseconds."""
    times = []
    for _ in range(count):
        start = time.process_time()
        work()
        times.append(1000 * (time.process_time() - start))
    return statistics.median(times), sorted(times)[int(0.99 * count)]


def main() -> None:
    start = time.process_time()
    opening = survey(READINGS)
    print(f"the first survey, numpy loaded for it   {1000 * (time.process_time() - start):7.2f} ms")
    for what, work, goal in (
        ("a survey", lambda: survey(READINGS), "   goal <= 5 ms"),
        ("its clear width and height", lambda: (fit.clear_width(opening), fit.clear_height(opening)), ""),
        ("a fit with its shims", lambda: fit.fit(opening, UNIT), ""),
    ):
        median, late = each(work)
        print(f"{what:39} {median:7.2f} ms, 99 % {late:6.2f} ms{goal}")
    code = "import sys, pkgutil, importlib, guide.trade as t\n"
    code += "for m in pkgutil.iter_modules(t.__path__): importlib.import_module(f'guide.trade.{m.name}')\n"
    code += "print(sorted({'numpy', 'scipy', 'pint'} & set(sys.modules)) or 'none of numpy, scipy, pint')"
    loaded = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    print(f"importing every module of guide.trade loads {loaded.stdout.strip()}")


if __name__ == "__main__":
    main()
