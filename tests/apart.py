"""Work in a process of its own.

A speech library is one in a process: once the mouth has loaded it, whoever loads it in another way gets no sound.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from typing import ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")


def apart(work: Callable[P, R], *given: P.args, **named: P.kwargs) -> R:
    """What a function of a module comes to in a fresh process; its errors are raised here."""
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as process:
        return process.submit(work, *given, **named).result()
