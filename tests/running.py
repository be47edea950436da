"""The command line, and benchmarks, run as processes, for tests."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

GUIDE = [sys.executable, "-m", "guide"]
TESTS = Path(__file__).parent


def environment(tmp_path: Path, **more: str) -> dict[str, str]:
    """An environment in which nothing of the user's own is touched."""
    return {**os.environ, "GUIDE_DATA": str(tmp_path / "data"), "NO_COLOR": "1", **more}


def guide(
    tmp_path: Path, *arguments: str, lines: Iterable[str] = (), env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Run one command to its end, with `lines` on its standard input."""
    return subprocess.run(
        [*GUIDE, *arguments],
        input="".join(f"{line}\n" for line in lines),
        capture_output=True,
        text=True,
        timeout=120,
        cwd=tmp_path,
        env=dict(env) if env else environment(tmp_path),
        check=False,
    )


def bench(
    script: str, *arguments: str, env: Mapping[str, str] = MappingProxyType({"PATH": "/usr/bin:/bin"})
) -> subprocess.CompletedProcess[str]:
    """Run one benchmark of `tests/bench` as by hand."""
    return subprocess.run(
        [sys.executable, str(TESTS / "bench" / script), *arguments],
        capture_output=True,
        text=True,
        timeout=300,
        env={**env, "PYTHONPATH": f"{TESTS}:{TESTS.parent}"},
        check=False,
    )


def turns(output: str) -> list[dict[str, Any]]:
    """The turns of a `--json` run."""
    return [json.loads(line) for line in output.splitlines()]
