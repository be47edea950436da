"""A small job, and the page of it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from fakes import FakePeople
from served import Served, served
from small import SHELF
from talking import Talk, talk


@pytest.fixture
def job() -> Talk:
    return talk(SHELF, people=FakePeople({"Ana": ("lead", "1234")}))


@pytest.fixture
def door(job: Talk) -> Iterator[Served]:
    with served(job) as one:
        yield one
