"""The evaluation's own arithmetic: verdicts, thresholds, intervals, words wrong; on made-up hearings."""

from __future__ import annotations

import gzip
import json
import random
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import jiwer
import pytest
from ears.choose import Measured, choose, measured, opened
from ears.clips import Line, expected, lines_of
from ears.drawn import draw
from ears.judge import Case, bounds, cases
from ears.second import grammar, sentences
from ears.wording import error_rate, words_of
from scipy.stats import binom

from guide.talk.words import hear
from guide.voice.decide import Decision, Thresholds, decide
from guide.voice.hearing import Amount, Heard, Hearing, Partner

LINE: Line = {
    "id": "report-1-clean", "utterance": "report-1", "split": "report", "voice": "joe", "kind": "reading",
    "text": "thirty six and three sixteenths", "truth": "579/16", "values": [[None, "579/16", "in", None]],
    "expect": ["in", "35", "38"], "asked": None, "noise": None, "ratio": None, "seconds": 2.0,
}  # fmt: skip


def hearing(inches: str, place: str | None = None, hair: int = 0, probability: float = 0.9999) -> Hearing:
    return Hearing("reading", "so many", probability, -1.0, (Amount(f"{inches} in", Fraction(inches), place, hair),))


def case(
    line: dict[str, Any], first: Hearing, *others: Hearing, garbage: float = 0.0, by: Thresholds | None = None
) -> Case:
    whole = {**LINE, **line}
    heard = Heard("embedded", (first, *others), garbage, "", 2.0, 1)
    expect = expected(whole)
    return Case(whole, expect, heard, decide(heard, expect, by))


FAKE = """
import struct
from pathlib import Path
from types import SimpleNamespace

TEXTS = {texts!r}


class NGramModel:
    readfile = staticmethod(lambda path: Path(path).read_text())


class Decoder:
    def __init__(self, **settings):
        self.held = False

    def add_lm(self, name, model):
        assert name == "reading" and "sixteenths" in model

    def add_jsgf_file(self, name, path):
        assert "public <whole>" in Path(path).read_text()

    def lookup_word(self, word):
        return "W ER D"

    def activate_search(self, name):
        self.held = True

    def reinit_feat(self):
        self.heard = None

    def start_utt(self):
        pass

    def process_raw(self, data, no_search, full_utt):
        self.heard = TEXTS["held" if self.held else "free"].get(struct.unpack("<h", data[:2])[0])

    def end_utt(self):
        pass

    def hyp(self):
        return SimpleNamespace(hypstr=self.heard) if self.heard else None
"""
"""A recogniser that knows a clip by its first sample."""
FAKE_MODEL = """
from pathlib import Path


class ArpaBoLM:
    def __init__(self, text, **settings):
        self.text = text

    def compute(self):
        pass

    def write_file(self, path):
        Path(path).write_text(self.text)
"""
COMMAND = Hearing("command", "why", 1.0, -1.0, command="why")
PLACES = [["top", "20", "in", None], ["bottom", "41/2", "in", "over"]]


@pytest.mark.parametrize(
    ("line", "first", "verdict"),
    [
        ({}, hearing("579/16"), "right"),
        ({}, hearing("581/16"), "wrong"),
        ({}, hearing("579/16", hair=1), "wrong"),
        ({}, replace(hearing("579/16"), ambiguous=True), "asked"),
        ({"values": [[None, "914", "mm", None]]}, hearing("4570/127"), "asked"),
        ({"kind": "talk", "values": [], "truth": ""}, hearing("579/16"), "wrong"),
        ({"kind": "command", "values": [], "truth": "why"}, COMMAND, "right"),
        ({"kind": "command", "values": [], "truth": "how"}, COMMAND, "wrong"),
        ({"kind": "talk", "values": [], "truth": ""}, COMMAND, "wrong"),
    ],
)
def test_what_came_of_a_clip(line: dict[str, Any], first: Hearing, verdict: str) -> None:
    assert case(line, first).verdict == verdict


def test_readings_by_place_are_right_whatever_their_order_and_wrong_with_one_of_them_wrong() -> None:
    both = replace(
        hearing("41/2", "bottom", 1), amounts=(*hearing("41/2", "bottom", 1).amounts, *hearing("20", "top").amounts)
    )
    line = {"kind": "places", "values": PLACES}
    assert (
        Case(
            {**LINE, **line}, expected({**LINE, **line}), Heard("e", (both,), 0, "", 1, 1), Decision("taken", both)
        ).verdict
        == "right"
    )
    other = replace(both, amounts=(*both.amounts[:1], *hearing("21", "top").amounts))
    assert (
        Case(
            {**LINE, **line}, expected({**LINE, **line}), Heard("e", (other,), 0, "", 1, 1), Decision("taken", other)
        ).verdict
        == "wrong"
    )


def test_nothing_taken_of_talk_is_right_and_a_reading_not_caught_is_none() -> None:
    garbage = hearing("579/16")
    assert case({"kind": "talk", "values": []}, garbage, garbage=50).verdict == "right"
    assert case({}, garbage, garbage=50).verdict == "none"


@pytest.mark.outside("scipy's binomial distribution: each end leaves 2.5 % beyond it", "computed")
@pytest.mark.parametrize(("hits", "count"), [(0, 50), (1, 50), (7, 300), (300, 300)])
def test_the_interval(hits: int, count: int) -> None:
    """The 95 % interval of a share of wrong readings leaves 2.5 % at each end."""
    low, high = bounds(hits, count)
    assert low <= hits / count <= high
    if hits:
        assert binom.sf(hits - 1, count, low) == pytest.approx(0.025, abs=1e-9)
    if hits < count:
        assert binom.cdf(hits, count, high) == pytest.approx(0.025, abs=1e-9)


def some(count: int, seed: int) -> list[Case]:
    """Readings of which the less sure are more often wrong."""
    chance, found = random.Random(seed), []
    for _ in range(count):
        margin = chance.uniform(0, 12)
        size = "579/16" if chance.random() < 1 - 0.5 * 2.0**-margin else "581/16"
        second = 1 / (1 + 2.718281828**margin)
        first = hearing(size, probability=1 - second)
        one = case(
            {}, first, hearing("1/2", probability=second), garbage=chance.uniform(-2, 3), by=opened(Thresholds.load())
        )
        partners = (Partner("x", chance.uniform(3, 12)),) if chance.random() < 0.2 else ()
        found.append(replace(one, heard=replace(one.heard, partners=partners)))
    return found


def test_thresholds_ask_least_among_those_with_few_enough_wrong() -> None:
    clips = measured(some(3000, 1), 3000)
    chosen = choose(clips, goal=0.01, spare=0.0, partners=(0.0, 4.0, 8.0))
    assert chosen.reached and bounds(chosen.wrong, chosen.clips)[1] <= 0.01
    looser = replace(chosen.take, margin=chosen.take.margin - 0.5)
    now = clips.taken(looser)
    wrong, right = int((now & ~clips.right).sum()), int((now & clips.right).sum())
    assert right <= chosen.right or bounds(wrong, 3000)[1] > 0.01
    stricter = choose(clips, goal=0.004, spare=0.0, partners=(0.0, 4.0, 8.0))
    assert stricter.right < chosen.right and stricter.wrong < chosen.wrong


def test_where_the_goal_cannot_be_shown_that_is_said_and_the_fewest_wrong_are_kept() -> None:
    chosen = choose(measured(some(400, 2), 400), goal=0.0001, spare=0.0, partners=(0.0,))
    assert not chosen.reached
    assert chosen.wrong == 0


def test_spare_nats_keep_away_from_the_wrong_ones() -> None:
    clips = measured(some(2000, 3), 2000)
    near, far = (choose(clips, goal=0.004, spare=spare, partners=(0.0,)) for spare in (0.0, 1.0))
    assert far.right < near.right
    assert isinstance(clips, Measured)


@pytest.mark.outside("jiwer, an independent implementation of the word error rate", "computed")
def test_words_wrong() -> None:
    """The share of wrong words in free decoding."""
    chance = random.Random(4)
    words = ["the", "van", "is", "parked", "across", "street", "two", "of", "those", "should", "do", "it"]
    pairs = []
    for _ in range(60):
        said = [chance.choice(words) for _ in range(chance.randrange(1, 12))]
        heard = [chance.choice(words) if chance.random() < 0.3 else word for word in said if chance.random() < 0.9]
        pairs.append((" ".join(said), " ".join(heard)))
    wanted = jiwer.wer([one for one, _ in pairs], [other for _, other in pairs])
    assert error_rate(pairs) == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("It's 36 degrees.", "it's thirty-six degrees"),
        ("OK, 2 o'clock!", "okay two o'clock"),
        ("1,204 screws", "one thousand two hundred four screws"),
    ],
)
def test_numbers_are_compared_as_words(one: str, other: str) -> None:
    assert words_of(one) == words_of(other)


def test_the_diagram_is_a_drawing_with_every_point() -> None:
    drawn = draw([("0.5 to 0.7", 10, 0.6, 0.5), ("0.999 to 1", 400, 0.9999, 0.99)])
    assert drawn.count("<circle") == 2 and drawn.startswith("<svg") and "nan" not in drawn


def test_any_beginning_of_a_set_holds_whole_utterances(tmp_path: Path) -> None:
    lines = [
        {**LINE, "id": f"report-{n}-{noise}", "utterance": f"report-{n}"} for noise in ("clean", "8") for n in range(30)
    ]
    (tmp_path / "lines.jsonl").write_text("".join(json.dumps(line) + "\n" for line in lines))
    found = [line["utterance"] for line in lines_of(tmp_path)]
    assert found[::2] == found[1::2] and found[::2] != sorted(found[::2])


def test_clips_are_heard_by_processes_and_told_in_tables(tmp_path: Path) -> None:
    folder = Path(__file__).parent.parent / "voice" / "clips"
    lines = [
        {**LINE, "id": "clean", "file": str(folder / "reading-clean.wav"), "truth": "581/8",
         "values": [[None, "581/8", "in", None]], "expect": ["in", "71", "74"]},
        {**LINE, "id": "talk", "utterance": "t", "file": str(folder / "talk.wav"), "kind": "ordinary", "truth": "",
         "text": "the van is parked across the street", "values": [], "expect": None, "ratio": 8.0},
    ]  # fmt: skip
    (tmp_path / "lines.jsonl").write_text("".join(json.dumps(line) + "\n" for line in lines))
    heard = tmp_path / "heard.jsonl.gz"
    run = [sys.executable, "-m", "ears.listen", str(tmp_path), "--out", str(heard), "--jobs", "2"]
    env = {"PYTHONPATH": ":".join(sys.path), "PATH": "/usr/bin:/bin"}
    subprocess.run(run, check=True, env=env, capture_output=True)
    with gzip.open(heard, "rt") as file:
        rows = [json.loads(line) for line in file]
    assert {case.line["id"]: case.verdict for case in cases(rows, with_range=True)} == {
        "clean": "right",
        "talk": "right",
    }
    report = [sys.executable, "-m", "ears.report", "--plain", str(heard), "--draw", str(tmp_path)]
    told = subprocess.run(report, check=True, env=env, capture_output=True, text=True).stdout
    assert "| clean | plain | 1 | 100.0 | 0.0 | 0.0 | 0 | 0.0 to 975.0 |" in told
    assert "| 8 dB | plain | 1 | " in told and (tmp_path / "reliability-plain.svg").exists()


class Second:
    """Clips of which the first sample tells the second ear what it hears, and what the first ear heard."""

    def __init__(self, folder: Path, texts: dict[str, dict[int, str]]) -> None:
        self.folder, self.clips = folder, 0
        package = folder / "site" / "pocketsphinx"
        package.mkdir(parents=True)
        (package / "__init__.py").write_text(FAKE.format(texts=texts))
        (package / "lm.py").write_text(FAKE_MODEL)

    def add(self, first: Hearing, free: str = "", **changed: object) -> None:
        """One more clip."""
        self.clips += 1
        where = {"shard": "sound.i16", "start": 100 * (self.clips - 1), "samples": 100}
        line = {**LINE, "id": f"report-{self.clips}", "utterance": f"report-{self.clips}", **where, **changed}
        other = hearing("1/2", probability=1 - first.probability)
        heard = Heard("embedded", (first, other), 0.0, "", 2.0, 1).as_data()
        with (self.folder / "sound.i16").open("ab") as sound:
            sound.write(self.clips.to_bytes(2, "little") * 100)
        with (self.folder / "lines.jsonl").open("a") as lines:
            print(json.dumps(line), file=lines)
        with gzip.open(self.folder / "heard.jsonl.gz", "at") as rows:
            print(json.dumps({**line, "with": heard, "evidence": {"free": {"texts": [free]}}}), file=rows)

    def run(self, *options: str, check: bool = True) -> str:
        """What is printed, or said of an error."""
        command = [sys.executable, "-m", "ears.second", str(self.folder / "heard.jsonl.gz"), "--set", str(self.folder)]
        path = ":".join([str(self.folder / "site"), *sys.path])
        env = {"PYTHONPATH": path, "PATH": "/usr/bin:/bin"}
        done = subprocess.run([*command, *options], check=check, env=env, capture_output=True, text=True)
        return done.stdout if check else done.stderr


RIGHT, OTHER = "thirty six and three sixteenths", "thirty six and five sixteenths"


def test_sentences_of_the_second_ears_language_are_readings() -> None:
    said = list(sentences(grammar(lambda word: word != "sixteenths"), 400))
    assert not any("sixteenths" in one.split() for one in said) and len(set(said)) > 300
    read = sum(bool(hear(one, expected(LINE))) for one in said)
    assert read > 200
    whole = set(sentences(grammar(lambda _: True), 3000))
    assert any(one.startswith("it's ") for one in whole) and {"inches", "millimeters"} <= {
        one.split()[-1] for one in whole
    }


@pytest.mark.parametrize("held", ["graph", "model"])
def test_a_second_ear_saves_questions_and_is_told_of_when_both_are_wrong(tmp_path: Path, held: str) -> None:
    texts = {1: RIGHT, 2: OTHER, 3: OTHER, 4: "", 5: RIGHT, 6: RIGHT}
    second = Second(tmp_path, {"held": texts, "free": {}})
    doubted, wrong = hearing("579/16", probability=0.6), hearing("581/16", probability=0.4)
    second.add(doubted)
    second.add(doubted)
    second.add(wrong)
    second.add(doubted)
    second.add(hearing("579/16"))  # not asked about, and not heard again
    second.add(doubted, kind="talk", truth="", values=[], ratio=8.0)
    told = second.run("--jobs", "2", "--held", held)
    assert "5 of 5 clips" in told
    assert "| readings, clean | 4 | 4 | 1 | 1 | 1.3 to 98.7 | 1 | 0 | 1 |" in told
    assert "| for nobody, 8 dB | 1 | 1 | 0 | 1 | 2.5 to 100.0 | 0 | 0 | 0 |" in told
    low, high = bounds(1, 4)
    assert f"| readings, clean | 5 | 80.0 | 40.0 | 0 | 0.0 to 521.8 | {800 * low:.1f} to {800 * high:.1f} |" in told
    assert "- wrong together: report-3 | " in told and "- wrong together: report-6 | " in told


def test_a_second_ear_by_itself_beside_the_first_ones_free_decoding(tmp_path: Path) -> None:
    free = {1: RIGHT, 2: OTHER, 4: "the van his parked"}
    second = Second(tmp_path, {"held": {}, "free": free})
    second.add(hearing("579/16"), free=RIGHT)
    second.add(hearing("579/16"), free=RIGHT)
    second.add(hearing("579/16", probability=0.6), free="what")
    second.add(COMMAND, free="the van is parked", kind="ordinary", truth="", values=[], text="The van is parked.")
    told = second.run("--general", "--jobs", "1")
    for row in (
        "first ear, free, always taken | 3 | 66.7 | 9.4 to 99.2 | 33.3 | 0.0 | 0.0 to 70.8",
        "pocketsphinx, free, always taken | 3 | 33.3 | 0.8 to 90.6 | 33.3 | 33.3 | 0.8 to 90.6",
        "first ear, held and decided | 3 | 66.7 | 9.4 to 99.2 | 33.3 | 0.0 | 0.0 to 70.8",
    ):
        assert f"| clean | {row} |" in told
    assert (
        "| clean | first ear, free | 1 | 4 | 0.0 |" in told and "| clean | pocketsphinx, free | 1 | 4 | 25.0 |" in told
    )
    assert "2 of 2 clips" in second.run("--general", "--most", "2", "--jobs", "1")
    assert "0 of 4 clips" in second.run("--general", "--seconds", "0", "--jobs", "1")


def test_a_second_ear_on_another_set_is_an_error_that_says_so(tmp_path: Path) -> None:
    second = Second(tmp_path, {"held": {}, "free": {}})
    second.add(hearing("579/16", probability=0.6))
    path = tmp_path / "lines.jsonl"
    path.write_text(path.read_text().replace(RIGHT, OTHER))
    said = second.run(check=False)
    assert "report-1 ('thirty six and three sixteenths') isn't in" in said and "Traceback" not in said
