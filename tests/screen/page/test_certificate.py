"""Our own certificate: made once, kept to ourselves, made anew when it no longer fits."""

from __future__ import annotations

import ssl
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from guide.problems import ProblemError
from guide.screen.page.certificate import LASTS, NAME, RENEWED, context


def test_it_is_made_once_and_only_we_can_read_it(tmp_path: Path) -> None:
    made, fingerprint = context(tmp_path / "serve", "192.168.1.20")
    path = tmp_path / "serve" / NAME
    assert stat.S_IMODE(path.stat().st_mode) == 0o600 and stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    assert len(fingerprint.split(":")) == 32 and fingerprint == fingerprint.upper()
    assert made.minimum_version >= ssl.TLSVersion.TLSv1_2
    assert context(tmp_path / "serve", "192.168.1.20")[1] == fingerprint


def test_it_is_made_anew_for_another_address_and_before_it_ends(tmp_path: Path) -> None:
    now = datetime.now(UTC)
    first = context(tmp_path, "192.168.1.20", now)[1]
    other = context(tmp_path, "192.168.1.21", now)[1]
    assert first != other
    assert context(tmp_path, "192.168.1.21", now + LASTS - RENEWED - timedelta(days=1))[1] == other
    assert context(tmp_path, "192.168.1.21", now + LASTS - RENEWED + timedelta(days=1))[1] != other


def test_one_that_is_damaged_is_made_anew_and_one_that_others_can_read_is_refused(tmp_path: Path) -> None:
    first = context(tmp_path, "127.0.0.1")[1]
    (tmp_path / NAME).write_text("rubbish")
    assert context(tmp_path, "127.0.0.1")[1] != first
    (tmp_path / NAME).chmod(0o640)
    with pytest.raises(ProblemError, match="can be read by others"):
        context(tmp_path, "127.0.0.1")


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(ProblemError, match="the certificate can't be kept"):
        context(tmp_path / "file" / "serve", "127.0.0.1")
