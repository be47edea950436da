"""A second, independent ear on a set's clips: python -m ears.second HEARD... --set FOLDER [--general] [--jobs N].

PYTHONPATH=.:tests; pip install --no-deps pocketsphinx==5.1.1, with its own English model and settings as they come.
Without --general it is held to readings, on the clips that the first ear asks about, and what it hears is compared with
the first ear's likeliest: where both agree a question could be saved, if they are never wrong together. `--held graph`:
to a small grammar (slow, three times real time); `--held model`: three words at a time as in sentences of a larger one.
With --general it decodes with its own language model, as a general recogniser of about the same size: every reading,
read by the same reader and always taken, and ordinary speech by its words.

Clips are heard in an order by chance that is always the same, so that what was done within --seconds stands for all.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import random
import re
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, Literal

import numpy as np
from ears.clips import FOR_NOBODY, Line, Sounds, lines_of
from ears.judge import READINGS, Case, cases, grouped, interval, noise, rows
from ears.report import freely, head
from ears.wording import error_rate, words_of
from numpy.typing import NDArray

from guide.talk.vocabulary import language
from guide.talk.words import hear
from guide.voice.decide import Thresholds
from guide.voice.embedded.ear import NAME, TRAINED_NAME

ASKED_FOR = frozenset({"margin", "partner", "garbage", "ambiguous", "noise-prone"})
"""Doubts that another ear could settle."""
GROUPS = {
    "readings": frozenset({"reading"}),
    "by place or side": frozenset({"places", "side"}),
    "cut short": frozenset({"cut"}),
    "commands": frozenset({"command", "alarm", "correction"}),
    "for nobody": FOR_NOBODY,
}
"""Kinds that are told together."""
METRIC = ("millimeter", "millimeters", "mil", "mils", "centimeter", "centimeters", "meter", "meters")
SUBJECTS = frozenset({"it", "that", "this", "i", "we", "there", "here"})
SENTENCES = 20_000
AMOUNTS = ("one", "teen", "ten", "small", "hundreds", "name", "part", "foot", "unit")
Held = Literal["graph", "model", ""]
"""To a grammar itself, to the order of three words at a time in its sentences, or to nothing but English."""
FEW = 6
_at_work: dict[str, Any] = {}


def grammar(known: Callable[[str], bool]) -> dict[str, str]:
    """Readings in words with what is said around them, rule by rule; `known`: whether a word can be heard."""
    words = language()
    numbers, parts, around, hair = words["numbers"], words["parts"], words["around"], words["hair"]
    ones = [word for word in numbers["ones"].split() if word != "zero"]
    names = [name for name in parts if name not in ("third", "thirds", "tenth", "tenths", "eights")]

    def any_of(*phrases: str) -> str:
        every = [way for phrase in phrases for way in dict.fromkeys((phrase, _contracted(phrase)))]
        return " | ".join(way for way in dict.fromkeys(every) if all(map(known, way.split())))

    rules = {
        "one": any_of(*ones[:9]),
        "teen": any_of(*ones),
        "ten": any_of(*numbers["tens"].split()),
        "small": "<teen> | <ten> [<one>]",
        "hundreds": "<small> | <small> | <small> | (<teen> | a) hundred [[and] <small>] | [a] thousand [[and] <small>] "
        "| <teen> thousand [<teen> hundred] [[and] <small>] | <small> <small>",
        "name": any_of(*names),
        "part": "(a | an | <small>) <name> | [a | one] half",
        "digit": f"<one> | {any_of('zero', 'oh')}",
        "unit": any_of("inch", "inches", "of an inch", *METRIC),
        "foot": "<teen> (foot | feet)",
        "anywhere": any_of(*around["anywhere"]),
        "before": any_of(*around["before"]),
        "behind": any_of(*around["behind"]),
        "near": any_of(*hair["over-before"], *hair["under-before"], *hair["nearly"]),
        "hair": any_of(*hair["over-behind"], *hair["under-behind"]),
        "inch": any_of("inch", "inches"),
        "amount": "<foot> [[and] <small>] [<inch>] [[and] <part>] | <hundreds> [<inch>] [[and] <part>] | <part> "
        "| <hundreds> point <digit> [<digit>]",
    }
    whole = "[<anywhere>] [<before>] [<near>] <amount> [<unit>] [<hair>] [<behind>]"
    return {**rules, "reading": whole}


def graph(rules: Mapping[str, str]) -> str:
    """As a JSGF grammar, with few words around and no decimals: with all of them it is many times as slow."""
    few = {name: " | ".join(rules[name].split(" | ")[:FEW]) for name in ("before", "behind")}
    amount = "<foot> [[and] <small>] [[and] <part>] | <hundreds> [[and] <part>] | <part>"
    kept = {**{name: rules[name] for name in AMOUNTS}, **few, "amount": amount}
    lines = [f"<{name}> = {rule};" for name, rule in kept.items()]
    whole = "public <whole> = [<before>] <amount> [<unit>] [<behind>];"
    return "\n".join(["#JSGF V1.0;", "grammar reading;", *lines, whole]) + "\n"


def sentences(rules: Mapping[str, str], count: int, seed: int = 1) -> Iterator[str]:
    """Sentences by chance; what is in brackets comes in one of three, alternatives alike."""
    chance = random.Random(seed)
    parsed = {name: _parsed(iter(re.findall(r"<\w+>|[][()|]|[\w']+", rule))) for name, rule in rules.items()}

    def of(ways: list[list[Any]]) -> Iterator[str]:
        for part in chance.choice(ways):
            if not isinstance(part, str):
                maybe, inside = part
                yield from of(inside) if not maybe or chance.random() < 1 / 3 else ()
            elif part.startswith("<"):
                yield from of(parsed[part[1:-1]])
            else:
                yield part

    for _ in range(count):
        yield " ".join(of(parsed["reading"]))


def _parsed(tokens: Iterator[str]) -> list[list[Any]]:
    """Alternatives, each a list of words, names of rules, and (whether it may be left out, alternatives)."""
    ways: list[list[Any]] = [[]]
    for token in tokens:
        if token in "])":
            break
        if token == "|":
            ways.append([])
        else:
            ways[-1].append((token == "[", _parsed(tokens)) if token in "[(" else token)
    return ways


def _contracted(phrase: str) -> str:
    """As people say it: "it's"."""
    first, *rest = phrase.replace("let us", "let's").split()
    short = {full: f"{first}{end}" for end, full in language()["ending"].items()}
    return " ".join([short[rest[0]], *rest[1:]] if rest and first in SUBJECTS and rest[0] in short else [first, *rest])


class Sphinx:
    """The recogniser with its own English model."""

    def __init__(self, held: Held) -> None:
        package: Any = import_module("pocketsphinx")
        self._decoder = package.Decoder(loglevel="FATAL", samprate=16_000)
        said = grammar(lambda word: self._decoder.lookup_word(word) is not None)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder, "reading")
            if held == "graph":
                path.write_text(graph(said))
                self._decoder.add_jsgf_file("reading", str(path))
            elif held == "model":
                text = "\n".join(sentences(said, SENTENCES))
                model = import_module("pocketsphinx.lm").ArpaBoLM(text=text, add_start=True)
                model.compute()
                model.write_file(str(path))
                self._decoder.add_lm("reading", package.NGramModel.readfile(str(path)))
        if held:
            self._decoder.activate_search("reading")

    def text(self, samples: NDArray[np.float32]) -> str:
        """What it hears; what was heard before changes nothing: its measure of the noise begins anew."""
        self._decoder.reinit_feat()
        whole = np.clip(np.rint(samples * 32768), -32768, 32767).astype("<i2")
        self._decoder.start_utt()
        self._decoder.process_raw(whole.tobytes(), no_search=False, full_utt=True)
        self._decoder.end_utt()
        found = self._decoder.hyp()
        return str(found.hypstr) if found is not None else ""


@dataclass(frozen=True)
class Again:
    """A clip and what the second ear hears in it."""

    case: Case
    text: str
    cpu: float


def _begin(folder: str, held: Held) -> None:
    """A process gets ready: one thread; the recogniser is loaded with the first clips, so that its errors are told."""
    os.environ["OMP_NUM_THREADS"] = "1"
    _at_work.update(sounds=Sounds(Path(folder)), held=held)


def _hear(clip: tuple[int, Line]) -> tuple[int, str, float]:
    """Number, text and processor's time of a clip."""
    sphinx = _at_work.get("sphinx") or _at_work.setdefault("sphinx", Sphinx(_at_work["held"]))
    number, line = clip
    cpu = time.process_time()
    text = sphinx.text(_at_work["sounds"].of(line))
    return number, text, time.process_time() - cpu


def heard_again(found: Sequence[Case], folder: Path, held: Held, jobs: int, seconds: float) -> list[Again]:
    """Clips heard by the second ear, as many as the time allows, and how many those are, printed."""
    known, started = {line["id"]: line for line in lines_of(folder)}, time.monotonic()
    work = [(number, _line(known, case, folder)) for number, case in enumerate(found)]
    done: list[Again] = []
    with multiprocessing.get_context("spawn").Pool(jobs, _begin, (str(folder), held)) as pool:
        coming = pool.imap_unordered(_hear, work)
        while True:
            try:
                number, text, cpu = coming.next(max(0.0, started + seconds - time.monotonic()))
            except (StopIteration, multiprocessing.TimeoutError):
                break
            done.append(Again(found[number], text, cpu))
    took, sound = time.monotonic() - started, sum(one.case.line["seconds"] for one in done)
    speed = f"processor {sum(one.cpu for one in done) / max(sound, 1e-9):.2f} of real time"
    print(f"{len(done)} of {len(found)} clips, {sound:.0f} s of sound, in {took:.0f} s by the clock on {jobs}; {speed}")
    return done


def _line(known: dict[str, Line], case: Case, folder: Path) -> Line:
    """The set's own line of a clip that was heard."""
    line = known.get(case.line["id"])
    if line is None or line["text"] != case.line["text"]:
        raise SystemExit(f"{case.line['id']} ({case.line['text']!r}) isn't in {folder}: name the set that was heard.")
    return line


def doubtful(case: Case) -> bool:
    """Whether another ear could save the question: one reading is likeliest, and only such doubts keep it from us."""
    doubts, hearings = set(case.decision.doubts), case.heard.hearings
    one = bool(hearings) and hearings[0].kind == "reading" and len(hearings[0].amounts) == 1
    return case.verdict == "asked" and one and bool(doubts) and doubts <= ASKED_FOR


def opinion(one: Again) -> str:
    """What a second opinion comes to: "saved", "wrong together", "apart" or "nothing"."""
    said = hear(one.text, one.case.expect)
    sizes = {meaning.value.to("in").magnitude for part in said for meaning in part.meanings}
    if not sizes:
        return "nothing"
    if not {amount.inches for amount in one.case.heard.hearings[0].amounts} <= sizes:
        return "apart"
    return "saved" if one.case.first_right and one.case.line["kind"] in READINGS else "wrong together"


def by_group(found: Sequence[Case]) -> Iterator[tuple[str, list[Case]]]:
    """Clips by what was said and the noise, and all noises of each."""
    for what, kinds in GROUPS.items():
        alike = [case for case in found if case.line["kind"] in kinds]
        for name, group in grouped(alike, noise).items():
            yield f"{what}, {name}", group
        if alike:
            yield f"{what}, all", alike


def trade(found: Sequence[Case], done: Sequence[Again]) -> None:
    """What agreeing comes to, by what was said and the noise; what was not heard again counts as what was."""
    opinions = {id(one.case): opinion(one) for one in done}
    groups = [(name, group, [case for case in group if doubtful(case)]) for name, group in by_group(found)]
    counts = {name: Counter(opinions[id(case)] for case in among if id(case) in opinions) for name, _, among in groups}
    head("agreement of both", "in doubt", "heard again", "saved", "wrong together", "wrong of those taken, 95 % of 100",
         "apart, first right", "apart, first wrong", "nothing")  # fmt: skip
    for name, _, among in groups:
        count = counts[name]
        if not count.total():
            continue
        taken, wrong = count["saved"] + count["wrong together"], count["wrong together"]
        apart = Counter(case.first_right for case in among if opinions.get(id(case)) == "apart")
        cells = (len(among), count.total(), count["saved"], wrong, interval(wrong, taken, 100))
        print(f"| {name} | {' | '.join(map(str, cells))} | {apart[True]} | {apart[False]} | {count['nothing']} |")
    head("trade", "clips", "asked %", "asked with agreement %", "wrong", "of 1,000, 95 %", "added wrong of 1,000, 95 %")
    for name, group, among in groups:
        count, asked = counts[name], sum(case.verdict == "asked" for case in group)
        if not count.total():
            continue
        wrong, all_ = sum(case.verdict == "wrong" for case in group), len(group)
        share = len(among) / all_
        less = share * (count["saved"] + count["wrong together"]) / count.total()
        now = f"{100 * asked / all_:.1f} | {100 * (asked / all_ - less):.1f}"
        added = interval(count["wrong together"], count.total(), 1000 * share)
        print(f"| {name} | {all_} | {now} | {wrong} | {interval(wrong, all_, 1000)} | {added} |")
    for one in done:
        if opinions[id(one.case)] == "wrong together":
            parts = (one.case.line["id"], one.case.line["text"], one.case.heard.hearings[0].words, one.text)
            print(f"- wrong together: {' | '.join(parts)}")


def generally(done: Sequence[Again]) -> None:
    """The same clips' free decodings, the first ear's and the second's, and what the first decides when it is held."""
    heard = {id(one.case): one.text for one in done}
    found = [one.case for one in done if one.case.line["kind"] == "reading"]
    head("readings", "how", "clips", "right %", "95 %", "asked or no reading %", "wrong %", "95 %")
    for name, group in [*grouped(found, noise).items(), ("all", found)]:
        verdicts = {
            "first ear, free, always taken": [freely(case.heard.free, case) for case in group],
            "pocketsphinx, free, always taken": [freely(heard[id(case)], case) for case in group],
            "first ear, held and decided": [case.verdict for case in group],
        }
        for how, all_ in verdicts.items() if group else ():
            right, wrong, count = all_.count("right"), all_.count("wrong"), len(all_)
            rest = f"{100 * (count - right - wrong) / count:.1f}"
            cells = (f"{100 * right / count:.1f}", interval(right, count, 100), rest, f"{100 * wrong / count:.1f}")
            print(f"| {name} | {how} | {count} | {' | '.join(cells)} | {interval(wrong, count, 100)} |")
    head("ordinary speech", "how", "clips", "words", "words wrong %")
    for name, group in grouped([one.case for one in done if one.case.line["kind"] == "ordinary"], noise).items():
        words = sum(len(words_of(case.line["text"])) for case in group)
        for how, texts in (
            ("first ear, free", [case.heard.free for case in group]),
            ("pocketsphinx, free", [heard[id(case)] for case in group]),
        ):
            rate = error_rate([(case.line["text"], text) for case, text in zip(group, texts, strict=True)])
            print(f"| {name} | {how} | {len(group)} | {words} | {100 * rate:.1f} |")


def main() -> None:
    """Print what a second ear comes to."""
    parser = argparse.ArgumentParser()
    parser.add_argument("heard", type=Path, nargs="+")
    parser.add_argument("--set", type=Path, required=True)
    parser.add_argument("--split", default="")
    parser.add_argument("--ear", choices=("plain", "trained"), help="whose thresholds decide (default: as it is heard)")
    parser.add_argument("--general", action="store_true", help="decode freely, readings and ordinary speech")
    parser.add_argument("--held", choices=("graph", "model"), default="model", help="to a grammar, or its word order")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--seconds", type=float, default=1e6, help="stop after so long by the clock")
    parser.add_argument("--most", type=int, default=10**9, help="clips at most")
    arguments = parser.parse_args()
    try:
        import_module("pocketsphinx")
    except ImportError as fault:
        raise SystemExit(f"{fault}: pip install --no-deps pocketsphinx==5.1.1") from fault
    by = {"plain": Thresholds.load(NAME), "trained": Thresholds.load(TRAINED_NAME)}.get(arguments.ear)
    found = cases(rows(arguments.heard, arguments.split), True, by)
    wanted = [
        case
        for case in found
        if (case.line["kind"] in ("reading", "ordinary") if arguments.general else doubtful(case))
    ]
    random.Random(1).shuffle(wanted)
    held: Held = "" if arguments.general else arguments.held
    done = heard_again(wanted[: arguments.most], arguments.set, held, arguments.jobs, arguments.seconds)
    if arguments.general:
        generally(done)
    else:
        trade(found, done)


if __name__ == "__main__":
    main()
