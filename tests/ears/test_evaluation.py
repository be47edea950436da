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
from ears.wording import error_rate, words_of
from scipy.stats import binom

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
