"""Every break of a promise still fits the code, and a test cries over it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from breaking import BREAKS, ROOT, Break, DoesNotFit, broken, copied, crying, named

SCRIPT = Path(__file__).with_name("broken_promises.py")


@pytest.mark.parametrize("one", BREAKS, ids=lambda one: one.name)
def test_every_break_fits_the_code(one: Break) -> None:
    code = (ROOT / "guide" / one.file).read_text(encoding="utf-8")
    assert code.count(one.old) == 1
    assert all((ROOT / "tests" / name).is_file() for name in one.tests)


def test_a_broken_promise_is_noticed_and_the_copy_put_right(tmp_path: Path) -> None:
    copy = copied(tmp_path)
    one = next(one for one in BREAKS if one.name == "finish-unchosen")
    before = (copy / "guide" / one.file).read_bytes()
    with broken(copy, one):
        assert crying(copy, ("job/test_fold.py",))
    assert (copy / "guide" / one.file).read_bytes() == before
    with (
        pytest.raises(DoesNotFit, match="0 times"),
        broken(copy, Break("none", "", one.file, "these words are not there", "")),
    ):
        pass


def test_breaks_are_named_one_by_one_or_all_are_meant() -> None:
    assert named([]) == list(BREAKS)
    assert [one.name for one in named(["alone", "hurt-unheard"])] == ["alone", "hurt-unheard"]
    assert len({one.name for one in BREAKS}) == len(BREAKS)


def test_a_break_that_is_not_known_is_said() -> None:
    run = subprocess.run(
        [sys.executable, str(SCRIPT), "nothing"],
        capture_output=True,
        text=True,
        env={"PYTHONPATH": str(ROOT / "tests"), "PATH": "/usr/bin:/bin"},
        check=False,
    )
    assert run.returncode == 2
    assert "nothing" in run.stderr
