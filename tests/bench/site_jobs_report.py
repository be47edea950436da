"""Whole jobs on the simulated site, in memory and by process, and what they came to; a process a core. Run by hand.

PYTHONPATH=tests python tests/bench/site_jobs_report.py [IN_MEMORY [BY_PROCESS]]
"""

from __future__ import annotations

import itertools
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import numpy as np
from site_jobs import MOST, Done, whole_job, whole_job_by_process
from site_world import World


def seeds(first: int) -> Iterator[int]:
    """Frames that some set of shims puts right."""
    return (seed for seed in itertools.count(first) if World(np.random.default_rng(seed)).can_be_put_right())


def wilson(part: int, whole: int) -> str:
    """A share with its 95 % interval (Wilson's), in percent."""
    z = 1.96
    share = part / whole
    width = z * (share * (1 - share) / whole + z * z / (4 * whole * whole)) ** 0.5
    middle, scale = share + z * z / (2 * whole), 1 + z * z / whole
    return f"{100 * share:.2f} % ({100 * max(0.0, middle - width) / scale:.2f} to {100 * (middle + width) / scale:.2f})"


def report(title: str, jobs: Sequence[Done], seconds: float) -> None:
    """One block of figures."""
    count = len(jobs)

    def spread(values: Sequence[float]) -> str:
        return (
            f"median {np.median(values):.0f}, 90th percentile {np.percentile(values, 90):.0f}, most {max(values):.0f}"
        )

    read = sum(job.read for job in jobs)
    print(f"{title}: {count} jobs, {seconds:.0f} s")
    print(f"  finished: {wilson(sum(job.finished for job in jobs), count)}")
    stopped = sum(not job.finished and job.led > 0 for job in jobs)
    print(f"  stopped by the lead, with the reason: {wilson(stopped, count)}")
    print(f"  without an end: {sum(job.answers >= MOST for job in jobs)}")
    print(f"  rounds of moves: {spread([job.rounds for job in jobs])}")
    print(f"  moves: {spread([job.moves for job in jobs])}")
    print(f"  answers: {spread([job.answers for job in jobs])}")
    print(f"  readings asked for again: {spread([job.asked_again for job in jobs])}")
    print(f"  jobs in which a lead had to decide: {wilson(sum(job.led > 0 for job in jobs), count)}")
    print(f"  accepted readings truly out: {wilson(sum(job.out for job in jobs), read)}")
    print(f"  jobs with any accepted reading truly out: {wilson(sum(job.out > 0 for job in jobs), count)}")
    print(f"  worst true value over its tolerance, 90th percentile: {np.percentile([j.worst for j in jobs], 90):.2f}")
    print(f"  slowest answer of a job, median: {np.median([job.slowest for job in jobs]):.2f} s", flush=True)


def main() -> None:
    in_memory = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    by_process = int(sys.argv[2]) if len(sys.argv) > 2 else 200
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool, tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        jobs = list(pool.map(whole_job, itertools.islice(seeds(1), in_memory)))
        report("in memory", jobs, time.perf_counter() - start)
        start = time.perf_counter()
        chosen = list(itertools.islice(seeds(100_000), by_process))
        jobs = list(pool.map(whole_job_by_process, chosen, [Path(folder) / f"job-{seed}" for seed in chosen]))
        report("through guide start --json", jobs, time.perf_counter() - start)


if __name__ == "__main__":
    main()
