"""The commands that try the ears: what they show on this machine, with recordings, and without a network."""

from __future__ import annotations

import json
import wave
from pathlib import Path

import pytest
from running import environment, guide

from guide.voice.mouth import Speech, Voice


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("said") / "reading.wav"
    path.write_bytes(Voice().make(Speech((("thirty six and three sixteenths", False),), 140, 1.0, "gmw/en-us")))
    return path


def test_listen_judges_recordings_and_goes_on_behind_one_that_cannot_be_read(tmp_path: Path, recording: Path) -> None:
    with wave.open(str(recording)) as file:
        params, samples = file.getparams(), memoryview(file.readframes(file.getnframes())).cast("h")
    with wave.open(str(tmp_path / "faint.wav"), "wb") as out:
        out.setparams(params)
        out.writeframes(b"".join((one // 60).to_bytes(2, "little", signed=True) for one in samples))
    done = guide(tmp_path, "listen", str(recording), "none.wav", "faint.wav")
    assert done.returncode == 3 and "none.wav" in done.stderr
    good, faint = done.stdout.split("faint.wav:\n")
    assert 'Heard: "thirty six and three sixteenths"' in good and good.endswith("Good.\n")
    assert "Too far: your voice is faint." in faint


def test_listen_for_a_program(tmp_path: Path, recording: Path) -> None:
    done = guide(tmp_path, "listen", str(recording), "--json")
    (tried,) = [json.loads(line) for line in done.stdout.splitlines()]
    assert (done.returncode, tried["advice"]) == (0, ["good"]) and -30 < tried["voice_db"] < -5
    assert tried["heard"][0]["words"] == "thirty six and three sixteenths"


def test_listen_to_a_microphone_without_sound(tmp_path: Path) -> None:
    done = guide(tmp_path, "listen", "--seconds", "1", env=environment(tmp_path, GUIDE_SOUND="null"))
    assert (done.returncode, done.stderr) == (0, "")
    assert "The microphone gives no sound" in done.stdout
    assert guide(tmp_path, "listen", "--seconds", "0").returncode == 3


def test_listen_without_a_microphone(tmp_path: Path) -> None:
    done = guide(tmp_path, "listen", "--seconds", "1")
    if done.returncode == 0:
        pytest.skip("this machine has a microphone")
    assert (done.returncode, done.stdout) == (3, "")
    assert done.stderr.startswith("there is no microphone\n")


def test_ears_says_what_is_there_and_how_to_get_what_is_not(tmp_path: Path) -> None:
    env = environment(tmp_path, GUIDE_SOUND="null", GUIDE_VOSK_MODEL="")
    things = {one["name"]: one for one in json.loads(guide(tmp_path, "ears", "--json", env=env).stdout)}
    assert [name for name, one in things.items() if not one["there"]] in ([], ["Vosk's English model"])
    assert things["microphone"]["there"]
    assert things["embedded ear"]["about"].startswith("taught with readings in noise")
    plain = {
        one["name"]: one for one in json.loads(guide(tmp_path, "ears", "--json", "--ear", "plain", env=env).stdout)
    }
    assert plain["embedded ear"]["about"].endswith("tiny-en")
    lines = guide(tmp_path, "ears", env=env).stdout
    assert "there    mouth: pyttsx3 with the speech library of its package" in lines
    bad = guide(tmp_path, "ears", env={**env, "GUIDE_VOSK_MODEL": "/nowhere"}).stdout
    assert "MISSING  Vosk's English model: GUIDE_VOSK_MODEL names /nowhere, which is no Vosk model" in bad


def test_fetch_without_a_network_says_what_to_do(tmp_path: Path) -> None:
    nobody = "http://127.0.0.1:9"
    env = environment(tmp_path, https_proxy=nobody, HTTPS_PROXY=nobody, no_proxy="", NO_PROXY="")
    done = guide(tmp_path, "ears", "fetch", "--into", "models", env=env)
    assert done.returncode == 3
    assert "can't be fetched" in done.stderr and "on another machine" in done.stderr
    assert "models/vosk-model-small-en-us-0.15.zip" in done.stderr
    assert "Traceback" not in done.stderr
