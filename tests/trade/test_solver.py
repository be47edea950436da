"""The door to the solver: quiet, within its time, and missing with a plain word."""

from __future__ import annotations

import os
import random
import subprocess
import sys

import pytest

from guide.trade.solver import INFINITY, Found, Programme, SolverMissing, _quiet, solve

KNAPSACK = Programme([-5.0, -4.0, -3.0], [[2.0, 3.0, 1.0]], [-INFINITY], [5.0], [0.0] * 3, [1.0] * 3, [1] * 3)


def test_a_small_programme() -> None:
    assert solve(KNAPSACK, 5.0) == Found((1.0, 1.0, 0.0), True)


def test_without_rows() -> None:
    assert solve(Programme([1.0], [], [], [], [-2.0], [3.0], [0]), 5.0) == Found((-2.0,), True)


def test_no_answer_is_settled() -> None:
    assert solve(Programme([1.0], [[1.0]], [2.0], [3.0], [0.0], [1.0], [1]), 5.0) == Found(None, True)


def test_out_of_time_is_not_settled() -> None:
    """Five sums at once that no choice meets, and no bound shows: only trying everything would settle it."""
    count = 40
    dice = random.Random(1)
    rows = [[float(dice.randrange(100)) for _ in range(count)] for _ in range(5)]
    sums = [sum(row) // 2 for row in rows]
    found = solve(Programme([1.0] * count, rows, sums, sums, [0.0] * count, [1.0] * count, [1] * count), 0.2)
    assert not found.proven


PRINTS = """
import os, sys
from guide.trade.solver import _quiet, solve
from test_solver import KNAPSACK
for _ in range(3):
    solve(KNAPSACK, 5.0)
with _quiet():
    os.write(1, b"from underneath")
print("after")
"""


def test_nothing_reaches_standard_output() -> None:
    here = os.path.dirname(__file__)
    path = os.pathsep.join([os.path.join(here, "..", ".."), here])
    run = subprocess.run(
        [sys.executable, "-c", PRINTS], capture_output=True, check=True, env={**os.environ, "PYTHONPATH": path}
    )
    assert run.stdout == b"after\n"


def test_a_closed_standard_output_does_not_matter(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", None)
    with _quiet():
        pass
    assert solve(KNAPSACK, 5.0).proven


def test_standard_output_comes_back_after_a_fault(capfd: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(RuntimeError), _quiet():
        raise RuntimeError
    os.write(1, b"still here")
    assert capfd.readouterr().out == "still here"


def test_without_scipy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "scipy.optimize", None)
    with pytest.raises(SolverMissing, match="needs scipy, which is not installed"):
        solve(KNAPSACK, 5.0)


LOADED = "import sys, guide.trade.advice, guide.trade.work; print({'scipy', 'numpy'} & set(sys.modules))"


def test_importing_the_advice_loads_no_scipy() -> None:
    run = subprocess.run([sys.executable, "-c", LOADED], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "set()"
