"""`guide hear`: recordings through the real ear, and what can't be heard."""

import array
import io
import json
import random
import wave
from fractions import Fraction
from pathlib import Path

import pytest

from guide.cli import main
from guide.problems import ProblemError
from guide.quantity import Quantity
from guide.voice.recordings import expectation, hear_files

CLIPS = Path(__file__).parent / "clips"
KEYS = {"file", "outcome", "value", "inches", "choices", "command", "heard", "ms"}


def heard(expect: str, *names: str) -> dict[str, dict[str, object]]:
    out, err = io.StringIO(), io.StringIO()
    assert hear_files([CLIPS / f"{name}.wav" for name in names], expectation(expect), True, out, err) == 0
    lines = [json.loads(line) for line in out.getvalue().splitlines()]
    assert all(set(line) == KEYS for line in lines)
    return {Path(line["file"]).stem: line for line in lines}


def test_readings_are_taken_exactly() -> None:
    found = heard("72 in to 81 in", "reading-clean", "reading-feet")
    assert found["reading-clean"]["outcome"] == "taken"
    assert (found["reading-clean"]["value"], found["reading-clean"]["inches"]) == ("72 5/8 in", "581/8")
    offered = [found["reading-feet"], *found["reading-feet"]["choices"]]  # type: ignore[misc]
    assert "321/4" in [one["inches"] for one in offered]


def test_a_metric_reading_is_exact_in_inches() -> None:
    line = heard("900 mm to 930 mm", "reading-metric")["reading-metric"]
    assert (line["outcome"], line["value"]) == ("taken", "911 mm")
    assert Fraction(str(line["inches"])) == Fraction(911) / Fraction("25.4")


def test_commands_talk_and_cut_speech_are_no_readings() -> None:
    found = heard("72 in to 75 in", "command", "command-correct", "talk", "talk-numbers", "cut")
    assert [found[name]["outcome"] for name in ("command", "command-correct")] == ["command", "command"]
    assert [found[name]["command"] for name in ("command", "command-correct")] == ["tolerance", "correct"]
    assert [found[name]["outcome"] for name in ("talk", "talk-numbers")] == ["none", "none"]
    assert found["cut"]["outcome"] in ("asked", "none")
    assert all(line["value"] is None and line["inches"] is None for line in found.values())


def test_bad_files_are_told_and_the_others_heard(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = tmp_path / "notes.wav"
    bad.write_text("not sound")
    assert main(["hear", "--json", "--expect", "72 in to 75 in", str(bad), str(CLIPS / "reading-clean.wav")]) == 3
    told = capsys.readouterr()
    assert "notes.wav: is no WAV file" in told.err and "Traceback" not in told.err
    first, second = (json.loads(line) for line in told.out.splitlines())
    assert first["outcome"] == "none" and "is no WAV file" in first["error"]
    assert second["outcome"] == "taken"


def test_a_person_is_told_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["hear", str(CLIPS / "talk.wav"), str(CLIPS / "command.wav")]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "nothing for the guide" in lines[0] and 'the command "tolerance"' in lines[1]


def test_silence_a_moment_and_long_noise_are_nothing(tmp_path: Path) -> None:
    chance = random.Random(5)
    sounds = {
        "silence": [0] * 16_000,
        "moment": [90] * 10,
        "noise": [chance.randrange(-8000, 8000) for _ in range(160_000)],
    }
    for name, samples in sounds.items():
        with wave.open(str(tmp_path / f"{name}.wav"), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(16_000)
            file.writeframes(array.array("h", samples).tobytes())
    out = io.StringIO()
    assert hear_files([tmp_path / f"{name}.wav" for name in sounds], expectation("72 in to 75 in"), True, out, out) == 0
    assert [json.loads(line)["outcome"] for line in out.getvalue().splitlines()] == ["none"] * 3


@pytest.mark.parametrize("text", ["", "72 in", "75 in to 72 in", "72 to 75", "72 in to 75 lb", "a to b"])
def test_an_expectation_that_is_no_range(text: str) -> None:
    with pytest.raises(ProblemError, match="not a range"):
        expectation(text)


def test_an_expectation_gives_unit_and_likely_range() -> None:
    found = expectation("900 mm to 93 cm")
    assert (found.unit, found.metric) == ("mm", True)
    assert (found.likely_low, found.likely_high) == (Quantity(Fraction(900), "mm"), Quantity(Fraction(93), "cm"))
