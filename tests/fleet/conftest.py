"""A small invented fleet and its store, made once for all tests of a process."""

from __future__ import annotations

from pathlib import Path

import pytest
from fleet_jobs import gathered, write

JOBS = 60


@pytest.fixture(scope="session")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folders of an invented fleet: nobody changes them."""
    folder = tmp_path_factory.mktemp("fleet")
    write(folder, JOBS)
    write(folder, 4, first=70_000)
    return folder


@pytest.fixture(scope="session")
def store(fleet: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The store of that fleet, several batches of it: nobody changes it."""
    folder = tmp_path_factory.mktemp("stores") / "store"
    did = gathered(folder, fleet)
    assert (did.taken, did.refused) == (JOBS + 4, [])
    return folder
