"""The commands that try the voice, as processes."""

from __future__ import annotations

import wave
from pathlib import Path

from running import environment, guide


def test_say_writes_a_file(tmp_path: Path) -> None:
    done = guide(tmp_path, "say", "Top:", "36 3/16 in", "--to", "out.wav", env=_env(tmp_path))
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    with wave.open(str(tmp_path / "out.wav")) as file:
        assert file.getnframes() / file.getframerate() > 1.5


def test_say_speaks_and_lists_the_voices(tmp_path: Path) -> None:
    assert guide(tmp_path, "say", "hello", env=_env(tmp_path)).returncode == 0
    listed = guide(tmp_path, "say", "--voices", env=_env(tmp_path))
    assert "gmw/en-us: English (America)" in listed.stdout.splitlines()


def test_what_say_cannot_do_is_told_with_its_cure(tmp_path: Path) -> None:
    for arguments, told in (
        (("...",), "there is nothing to say\n"),
        (("x", "--rate", "5"), "rate can't be 5\n  It is a whole number of words a minute from 80 to 300.\n"),
        (("x", "--voice-name", "nobody"), 'there is no voice "nobody"\n  All there are: guide say --voices\n'),
        (("x", "--to", "none/x.wav"), f"{tmp_path / 'none' / 'x.wav'}: No such file or directory\n"),
    ):
        done = guide(tmp_path, "say", *arguments, env=_env(tmp_path))
        assert (done.returncode, done.stdout) == (3, "")
        assert told in done.stderr


def test_settings_come_from_a_file(tmp_path: Path) -> None:
    data = tmp_path / "data"
    data.mkdir()
    (data / "voice.toml").write_text('rate = 100\nvoice = "nobody"\n')
    assert guide(tmp_path, "say", "hello there", "--to", "slow.wav", env=_env(tmp_path)).returncode == 0
    assert (
        guide(tmp_path, "say", "hello there", "--to", "fast.wav", "--rate", "200", env=_env(tmp_path)).returncode == 0
    )
    assert (tmp_path / "slow.wav").stat().st_size > 1.3 * (tmp_path / "fast.wav").stat().st_size
    for fault, told in (
        ("rate = 'x'", "rate can't be 'x'"),
        ("pace = 1", 'there is no setting "pace"\n  There are: rate, volume, voice, headset, ear.'),
        ("rate =", "can't be read"),
    ):
        (data / "voice.toml").write_text(fault)
        done = guide(tmp_path, "say", "x", env=_env(tmp_path))
        assert done.returncode == 3 and told in done.stderr


def _env(tmp_path: Path) -> dict[str, str]:
    return environment(tmp_path, GUIDE_CACHE=str(tmp_path / "cache"), GUIDE_SOUND="null")
