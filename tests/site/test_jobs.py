"""Whole jobs on the simulated site, from the first question to the finished record."""

from __future__ import annotations

from pathlib import Path

import pytest
from running import guide
from site_jobs import Done, whole_job, whole_job_by_process


def in_order(job: Done) -> None:
    """A frame that shims can put right is put right, and nothing accepted is far out."""
    assert job.finished
    assert job.rounds <= 4
    assert job.worst < 1.25, "the worst true value of what was accepted, over its tolerance"


def test_a_job_in_memory() -> None:
    in_order(whole_job(11))


def test_a_job_by_process_leaves_a_record_that_verifies(tmp_path: Path) -> None:
    in_order(whole_job_by_process(7, tmp_path / "job"))
    assert guide(tmp_path, "verify", "job").returncode == 0


@pytest.mark.slow
def test_many_jobs_end() -> None:
    jobs = [whole_job(seed) for seed in (1, 2, 4, 5, 7, 8, 9, 10, 11, 12)]
    assert all(job.finished for job in jobs)
    assert sum(job.rounds for job in jobs) <= 2.5 * len(jobs)
