"""The data that the ear is taught with: its splits, its targets, its cuts, and that the same seed makes the same."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from apart import apart
from training import noises, readings, render, talk
from training.engines import say
from training.lines import Said, expect_of, said_line, target_of
from training.sound import throat
from training.texts import PARTS, fits, part_of, part_of_amount
from training.voices import SHARES, SPLITS, VOICES, of_split

from guide.talk.understand import understand
from guide.talk.words import hear
from guide.voice.embedded.grammar import Grammar
from guide.voice.embedded.model import find_weights
from guide.voice.embedded.tokens import Pieces

READINGS = (readings.reading, readings.side, readings.places, readings.correction, readings.recorded)
ALL = (*READINGS, talk.command, talk.alarm, talk.talk, talk.ordinary)


def some(make: Callable[[random.Random, str], Said | None], split: str, count: int, seed: int = 1) -> list[Said]:
    """So many utterances of a kind."""
    chance = random.Random(seed)
    found: list[Said] = []
    while len(found) < count:
        said = make(chance, split)
        if said is not None:
            found.append(said)
    return found


def test_no_speaker_is_in_two_splits() -> None:
    speakers = {split: {one for voice in of_split(split) for one in voice.speaker.split("+")} for split in SPLITS}
    assert all(speakers.values())
    for one, two in combinations(SPLITS, 2):
        assert not speakers[one] & speakers[two]
    mixed = {f"kokoro {name}" for voice in VOICES if "+" in voice.speaker for name in voice.speaker[7:].split("+")}
    assert mixed <= {voice.speaker for voice in of_split("train")}


def test_the_real_speaker_is_only_reported() -> None:
    assert {voice.split for voice in VOICES if voice.style == "real"} == {"report"}


def test_espeak_accents_and_variants_are_split_apart() -> None:
    for at in (0, 1):
        parts = [{voice.setting.split("+")[at] for voice in of_split(split, ("espeak",))} for split in SPLITS]
        assert sum(map(len, parts)) == len(set.union(*parts))


def test_every_split_has_a_share_for_each_of_its_engines_and_no_other() -> None:
    for split in SPLITS:
        assert set(SHARES[split]) == {voice.engine for voice in of_split(split)}
        assert sum(SHARES[split].values()) == pytest.approx(1)


def test_every_noise_family_is_in_one_split_and_every_split_has_babble() -> None:
    names = [name for split in SPLITS for name in noises.of_split(split)]
    assert sorted(names) == sorted(noises.FAMILIES)
    assert all(f"babble-{split}" in noises.of_split(split) for split in SPLITS)


@pytest.mark.parametrize("name", noises.FAMILIES)
def test_noise_is_sound_at_its_level(name: str) -> None:
    rng = np.random.default_rng(4)
    babble = (np.sin(np.arange(9000) / 7).astype(np.float32),)
    found = noises.make(name, 20_000, rng, babble)
    assert found.shape == (20_000,)
    assert np.isfinite(found).all()
    assert np.sqrt((found**2).mean()) == pytest.approx(1, abs=1e-3)


def test_noise_is_mixed_at_its_ratio() -> None:
    speech = np.sin(np.arange(32_000) / 9).astype(np.float32)
    found = noises.mixed(speech, "rain", 8.0, np.random.default_rng(1))
    noise = found - speech
    ratio = 20 * np.log10(noises.level(speech) / np.sqrt((noise**2).mean()))
    assert ratio == pytest.approx(8, abs=0.1)


def test_another_throat_moves_formants_and_neither_pitch_nor_pace() -> None:
    pulses = np.zeros(16_000, np.float32)
    pulses[::128] = 1.0
    t = np.arange(800) / 16_000
    voice = np.convolve(pulses, np.exp(-1200 * t) * np.sin(2 * np.pi * 1500 * t))[:16_000].astype(np.float32)
    found = throat(voice, 1.25)
    assert len(found) == len(voice)
    before, after = (np.abs(np.fft.rfft(one * np.hanning(len(one)))) for one in (voice, found))
    middle = [float((one**2 @ np.arange(len(one))) / (one**2).sum()) for one in (before, after)]
    assert 1.15 < middle[1] / middle[0] < 1.3
    harmonics = np.arange(1, 40) * 125  # and between them there is as little as before
    assert after[harmonics + 62].max() < 0.1 * after[harmonics].max()
    assert throat(voice, 1.0) is voice


@pytest.mark.parametrize("make", [make for make in ALL if make is not readings.recorded])
def test_texts_of_a_split_are_its_own_or_closed(make: Callable[[random.Random, str], Said | None]) -> None:
    said = {split: {one.text: one.texts for one in some(make, split, 30)} for split in SPLITS}
    for split, texts in said.items():
        assert set(texts.values()) <= {split, "closed"}
    for one, two in combinations(SPLITS, 2):
        shared = set(said[one]) & set(said[two])
        assert all(said[one][text] == "closed" for text in shared)


def test_the_same_words_come_to_the_same_part_however_they_are_written() -> None:
    assert part_of("Thirty-six and three  sixteenths") == part_of("thirty six and three sixteenths")
    assert part_of_amount("thirty-six") == "closed"
    assert {part_of(str(number)) for number in range(200)} == {name for name, _ in PARTS}
    assert fits("closed", "train") and not fits("report", "train")


@pytest.mark.parametrize("make", READINGS)
def test_a_target_is_read_as_the_truth(make: Callable[[random.Random, str], Said | None]) -> None:
    for said in some(make, "report", 40):
        line = json.loads(json.dumps(said_line(said)))
        amount = said.target
        if said.kind == "correction":
            understood = understand(said.target, readings.phrases())
            assert understood.intent == "correct"
            amount = understood.slots["text"]
        found = hear(amount, expect_of(line))
        assert len(found) == len(line["values"]), said
        for one, (place, size, unit, hair) in zip(found, line["values"], strict=True):
            assert one.place == place, said
            meant = {(str(m.value.to(unit).magnitude), m.hair) for m in one.meanings}
            assert (size, {"over": 1, "under": -1, None: 0}[hair]) in meant, said


@pytest.mark.parametrize("make", [talk.command, talk.alarm])
def test_a_command_is_understood_as_what_the_line_says(make: Callable[[random.Random, str], Said | None]) -> None:
    for said in some(make, "train", 60):
        assert understand(said.target, readings.phrases()).intent == said.truth, said


def test_talk_is_nothing_to_the_guide() -> None:
    numbers = 0
    for said in some(talk.talk, "train", 200):
        line = json.loads(json.dumps(said_line(said)))
        assert not understand(said.target, readings.phrases()).intent, said
        assert not hear(said.target, expect_of(line)), said
        numbers += any(
            word in said.text.split() for word in ("two", "twenty", "fifteen", "fifty", "forty", "half", "six")
        )
    assert numbers > 20


def test_the_grammar_takes_the_targets_of_readings_and_commands() -> None:
    pieces = Pieces.load(find_weights() / "tokenizer.bin")
    graphs: dict[str, Grammar] = {}
    refused = []
    every = [said for make in READINGS for said in some(make, "report", 8)] + some(talk.command, "report", 12)
    for said in every:
        line = json.loads(json.dumps(said_line(said)))
        key = json.dumps([line["asked"], (line["expect"] or [""])[0]])
        graph = graphs.setdefault(key, Grammar(pieces, readings.phrases(), expect_of(line))).graph
        if not graph.accepts(said.target):
            refused.append(said.target)
    assert not refused


def test_targets_have_one_spelling() -> None:
    assert target_of("thirty-six millimetres") == "Thirty six millimeters."
    assert target_of("top seven, bottom") == "Top seven, bottom."
    assert target_of("what is next") == "What is next?"
    assert target_of("thirty six and", cut=True) == "Thirty six and"
    for make in ALL:
        for said in some(make, "report", 20):
            assert not any(char.isdigit() for char in said.target), said
            assert said.target[0].isupper() or not said.target[0].isalpha()


def test_a_cut_clip_is_the_beginning_of_the_whole_and_its_target_the_words_in_it() -> None:
    said = Said("reading", "thirty six and three sixteenths", "Thirty six and three sixteenths.", "579/16")
    whole = apart(say, "espeak", "en-gb-scotland+m6", said.text)
    assert whole is not None and len(whole.ends) == 5
    assert list(whole.ends) == sorted(whole.ends) and whole.ends[-1] == len(whole.samples)
    heard = set()
    for seed in range(40):
        words, samples = render.cut_short(whole, random.Random(seed))
        heard.add(words)
        assert np.array_equal(samples, whole.samples[: len(samples)])
        assert whole.ends[words - 1] <= len(samples) < whole.ends[words]
        cut = said.cut(words)
        assert cut.kind == "cut"
        assert cut.target.lower() == " ".join(said.text.split()[:words])
    assert heard == {1, 2, 3, 4}


def test_words_stitched_end_where_the_next_gap_begins() -> None:
    voice = of_split("choose", ("espeak",))[0]
    found = apart(render.stitched, voice, voice.setting, "forty seven", 1.0, random.Random(2))
    assert found is not None
    assert len(found.ends) == 2
    for end in found.ends:
        assert np.abs(found.samples[max(0, end - 4000) : end]).max() > 0.05


def test_the_same_seed_makes_the_same_bytes(tmp_path: Path) -> None:
    made, split = [], "choose"
    for number, seed in enumerate((5, 5, 6)):
        out = tmp_path / str(number)
        out.mkdir()
        parts = list(render.through(render.tasks(split, 6, seed, str(out), ("espeak",), ()), 1))
        render.gather(out, split, seed, [Path(part) for part in parts], 0.0)
        made.append({path.name: path.read_bytes() for path in out.iterdir()})
    assert made[0] == made[1]
    assert made[0]["sound-0000.i16"] != made[2]["sound-0000.i16"]


def test_lines_say_where_their_clips_lie(tmp_path: Path) -> None:
    (task, *_) = render.tasks("choose", 5, 1, str(tmp_path), ("espeak",), ("reading", "command"))
    render.gather(tmp_path, "choose", 1, [Path(apart(render.run, task))], 0.0)
    lines = [json.loads(line) for line in (tmp_path / "lines.jsonl").read_text().splitlines()]
    sound = np.fromfile(tmp_path / "sound-0000.i16", "<i2")
    assert len(lines) % len(render.RATIOS) == 0
    assert sum(line["samples"] for line in lines) == len(sound)
    for line in lines:
        clip = sound[line["start"] : line["start"] + line["samples"]]
        assert 1000 < np.abs(clip.astype(int)).max() <= 30_000
        assert line["noise"] in noises.of_split("choose")
    for first in range(0, len(lines), 4):
        same = lines[first : first + 4]
        assert len({line["utterance"] for line in same}) == 1
        assert [line["ratio"] for line in same] == list(render.RATIOS)
