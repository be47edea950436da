"""What all tests share: Hypothesis without a clock, and the rule that outside checks name their source."""

from __future__ import annotations

import functools
import os
import shutil
import sys

import pytest
from hypothesis import settings
from outside_list import fault_of

NO_SKIPS = "GUIDE_TESTS_NEED_ALL"
"""Set where everything must run: a program that is missing then fails the tests that need it."""

settings.register_profile("guide", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("guide")


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip what this machine lacks the program for, and begin mutation runs with cold caches."""
    for marker in item.iter_markers("needs"):
        if not any(map(shutil.which, marker.args)):
            lacks = f"there is no {marker.args[0]} on this machine"
            if os.environ.get(NO_SKIPS):
                pytest.fail(f"{lacks}, and {NO_SKIPS} is set: nothing that a program is missing for may be left out")
            pytest.skip(lacks)
    _cool_down()


def _cool_down() -> None:
    """In mutation runs each test begins with cold caches: they run in one process, and a warm cache hides a mutant.

    Those of `guide.quantity` stay: pint's registry takes a second to build, and is not what is mutated.
    """
    if "MUTANT_UNDER_TEST" not in os.environ:
        return
    for name, module in list(sys.modules.items()):
        if name.startswith("guide.") and name != "guide.quantity":
            for thing in vars(module).values():
                if isinstance(thing, functools._lru_cache_wrapper):
                    thing.cache_clear()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print the figures that tests report about themselves, whichever process they ran in."""
    for report in terminalreporter.getreports("passed"):
        for name, value in report.user_properties:
            if name == "figure":
                terminalreporter.write_line(f"  {value}")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Refuse a check under tests/outside that does not say what it is checked against."""
    for item in items:
        if "outside" in item.path.parts:
            marker = item.get_closest_marker("outside")
            fault = fault_of(marker.args if marker else None)
            if fault:
                raise pytest.UsageError(f"{item.nodeid}: {fault}")
