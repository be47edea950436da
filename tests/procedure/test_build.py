"""What a file without faults is built into, and that no text ever raises anything but its faults."""

from __future__ import annotations

import gc
import re
import time
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml
from faulty import HEAD, examined, good
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.problems import ProblemError
from guide.procedure import examine, load_text, schema, shipped
from guide.procedure.model import Out, Sign
from guide.procedure.worked import parse
from guide.quantity import inches, quantity

README = Path(__file__).resolve().parents[2] / "procedures" / "README.md"

FULL = """
about: For a trial.
defers: The maker's instructions come first.
rounds: 2
states: {frame: the frame, leaf: the leaf}
facts:
  side_gap: {value: 1/8 in, standing: common practice}
choices:
  pan: {ask: "Is there a sill pan?", options: {metal: a metal pan, none: no pan}, why: It drains.}
readings:
  width: {ask: "Width of the opening?", at: [top left, bottom], keep: smallest, unit: inches, likely: 24 in to 80 in,
          with: tape, how: Hook the tape.}
  lean: {ask: Lean, about: plumb, over: 6 ft 8 in,
         sign: {plus: to the right, minus: to the left, toward: [right, in], away: left}}
  flush: {ask: Step to the wall, about: flush, likely: -1/4 in to 1/4 in}
  mass: {ask: Weight, unit: lb, likely: 40 lb to 200 lb}
  screws: {ask: How many screws, unit: none, likely: 1 to 40}
  latch: {ask: Does it latch, answer: yes-no, good: yes}
  hand: {ask: Which hand, answer: choice, options: {left: left hand, right: right hand}}
worked:
  clear: width - 2 * side_gap
  spare: clear - width.top_left
cautions: {weight: The frame is heavy.}
make-safe:
  loose: {say: Prop it., why: It falls., disturbs: frame, stays: yes}
steps:
  survey: {part: Survey, say: Measure., take: width}
  weigh: {after: survey, take: mass}
  hand: {after: survey, take: hand}
  order: {part: Set, after: [weigh, hand], say: "Order it {clear} wide, {width.bottom} at most.", undo: no,
          uses: [hand, spare], hold: {by: lead, look: the order}, wait: {time: 2 day, for: the unit to come}}
  set:
    after: order
    say: >-
      Set it
      in.
    caution: weight
    crew: 2
    leaves: loose
    disturbs:
      - frame
  lean: {after: set, take: lean, within: 0 in ± 1/8 in, watches: frame, safety: yes, rounds: 5,
         out: {adjust: [frame, leaf], say: {plus: Move it left by {by}., minus: Move it right by {by}.}, crew: 1}}
  flush: {after: lean, take: flush, within: at most 1/16 in, watches: [frame], out: {say: Press it back {over}.}}
  latch: {needs: [lean, flush], take: latch, watches: [leaf]}
  screws: {after: latch, when: {pan: metal}, take: screws}
  fix: {after: [latch, screws], needs: [lean], say: Fix it., secures: loose, disturbs: [leaf]}
"""


def test_the_sample_of_the_format_loads() -> None:
    sample = re.search(r"```yaml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    assert sample is not None
    procedure = load_text("bench.yaml", sample[1])
    assert procedure.order == ("survey", "cut", "set", "level-it", "fix")
    assert procedure.used_by["span"] == ("cut",)
    assert procedure.watchers == {"top": ("level-it",)}
    assert procedure.steps["cut"].say == "Cut the top to {top_length}."


def test_the_format_s_page_names_every_key_and_no_other() -> None:
    sections = dict(
        re.findall(r"^## (.+?)\n(.*?)(?=^## |\Z)", README.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL)
    )
    for section, shape in (("Top level", schema.FILE), ("A reading", schema.READING), ("A step", schema.STEP)):
        rows = re.findall(r"^\| (`.+?) \|", sections[section], re.MULTILINE)
        assert [key for row in rows for key in re.findall(r"`(.+?)`", row)] == list(shape.keys), section
    for key in schema.MAKE_SAFE.keys:
        assert re.search(rf"\b{key}\b", sections["Make safe"]), key
    for key in (*schema.TOGETHER.keys, *schema.MOVES.keys):
        assert f"`{key}`" in sections["Together"] or f"{key}: " in sections["Together"], key


def test_every_shipped_procedure_is_without_fault() -> None:
    for name, path in shipped().items():
        procedure, faults, _ = examine(name)
        assert procedure is not None, faults
        assert procedure.name == path.stem


def test_a_whole_procedure() -> None:
    procedure = good(FULL)
    assert (procedure.about, procedure.defers, procedure.parts) == (
        "For a trial.",
        "The maker's instructions come first.",
        ("Survey", "Set"),
    )
    assert procedure.states == {"frame": "the frame", "leaf": "the leaf"}
    assert procedure.facts["side_gap"].value == inches("1/8")
    assert procedure.choices["pan"].options == {"metal": "a metal pan", "none": "no pan"}
    assert list(procedure.worked) == ["clear", "spare"]
    assert procedure.cautions == {"weight": "The frame is heavy."}
    assert procedure.make_safe["loose"].stays
    assert procedure.make_safe["loose"].disturbs == ("frame",)
    assert procedure.order == tuple(procedure.steps)
    assert procedure.rank == {"lean": 0, "flush": 1, "latch": 2}
    assert procedure.watchers == {"frame": ("lean", "flush"), "leaf": ("latch",)}
    assert {name: steps for name, steps in procedure.used_by.items() if steps} == {
        "width": ("order",),
        "hand": ("order",),
    }


def test_readings_as_they_are_built() -> None:
    readings = good(FULL).readings
    width = readings["width"]
    assert (width.ask, width.places, width.keep, width.unit) == (
        "Width of the opening",
        ("top left", "bottom"),
        "smallest",
        "in",
    )
    assert width.likely is not None
    assert (width.likely.low, width.likely.high) == (parse("24 in"), parse("80 in"))
    assert (width.instrument, width.how, width.about) == ("tape", "Hook the tape.", "length")
    assert readings["lean"].over == quantity("80 in")
    assert readings["lean"].sign == Sign("to the right", "to the left", ("right", "in"), ("left",))
    assert readings["flush"].sign == Sign("proud of the wall", "behind the wall")
    assert (readings["mass"].about, readings["mass"].unit) == ("amount", "lb")
    assert (readings["screws"].about, readings["screws"].unit) == ("amount", "")
    assert readings["latch"].good == ("yes",)
    assert readings["hand"].options == {"left": "left hand", "right": "right hand"}


def test_steps_as_they_are_built() -> None:
    steps = good(FULL).steps
    assert {name: step.part for name, step in steps.items()}["lean"] == "Set"
    assert steps["weigh"].say == "Weight."
    assert steps["order"].uses == ("clear", "width.bottom", "hand", "spare")
    assert steps["order"].cannot_undo
    assert steps["order"].hold is not None
    assert (steps["order"].hold.by, steps["order"].hold.look) == ("lead", "the order")
    assert steps["order"].wait is not None
    assert steps["order"].wait.time == quantity("48 h")
    assert (steps["set"].say, steps["set"].crew, steps["set"].cautions) == ("Set it in.", 2, ("weight",))
    assert (steps["lean"].rounds, steps["flush"].rounds, steps["lean"].safety) == (5, 2, True)
    within = steps["lean"].within
    assert within is not None
    assert within.low is not None
    assert within.high is not None
    assert (within.low.term, within.high.term) == (parse("0 in - 1/8 in").term, parse("0 in + 1/8 in").term)
    assert steps["lean"].out == Out(
        ("frame", "leaf"), {"plus": "Move it left by {by}.", "minus": "Move it right by {by}."}
    )
    assert steps["flush"].out == Out(("frame",), {"any": "Press it back {over}."})
    assert steps["flush"].within is not None
    assert (steps["flush"].within.low, steps["flush"].within.high) == (None, parse("1/16 in"))
    assert steps["screws"].when == {"pan": ("metal",)}
    assert (steps["set"].leaves, steps["fix"].secures) == (("loose",), ("loose",))


def test_general_cautions_are_supplied_where_a_file_has_none() -> None:
    procedure = good(
        """
make-safe: {open: {say: Lift the sheet over it.}}
readings: {gap: {ask: Gap, likely: 0 in to 1 in}}
steps:
  cut: {say: Cut the glass., caution: ladders, leaves: open}
  gap: {after: cut, take: gap, within: 0 in to 1/8 in, watches: [s], out: {say: Drill it out., crew: 2}}
  shut: {after: gap, say: Shut it., secures: open, disturbs: [s], harmless: it swings by itself}
"""
    )
    assert procedure.steps["cut"].cautions == ("ladders", "cutting", "glass")
    assert procedure.steps["gap"].cautions == ()
    assert procedure.steps["gap"].out is not None
    assert procedure.steps["gap"].out.cautions == ("drilling", "lifting")
    assert procedure.make_safe["open"].cautions == ("lifting",)
    assert set(procedure.cautions) == {"ladders", "glass", "cutting", "drilling", "lifting"}


def test_a_file_without_cautions_and_dangers_has_none() -> None:
    assert good("steps: {a: {say: Look at it.}}\n").cautions == {}


def test_faults_of_every_stage_come_in_one_pass_and_in_the_file_s_order() -> None:
    _, faults, _ = examined(
        HEAD
        + """
abuot: Nothing.
readings:
  gap: {ask: Gap, unit: stone}
  level: {ask: Level, at: [l, r], likely: 2 in to 1 in}
worked: {a: b, b: a}
steps:
  set: {say: no, disturbs: [frame], after: fix}
  level: {after: sett, take: level, even: 1 lb, watches: [frame], disturbs: [frame]}
  fix: {needs: set, after: set, crew: two, leaves: open, say: &x Cut it to {lenght}.}
"""
    )
    assert [fault.message for fault in faults] == [
        'unknown key "abuot" in the file',
        'reading "gap" is never taken',
        '"unit" of reading "gap" must be a unit, such as "in", "mm", "lb", "deg" or "none", not "stone"',
        '"likely" of reading "level" is empty: 2 in is more than 1 in',
        "worked figures need each other: a → b → a",
        '"say" of step "set" must be words; "no" without quotes is yes or no to YAML',
        "these steps wait for each other and can't be reached: set → fix → set",
        'unknown step "sett" in "after" of step "level"',
        '"1 lb" is a weight, and reading "level" is a length (in)',
        'step "level" watches "frame" and disturbs it each time it is done: it is never fresh',
        'step "fix" needs "set", which is not a check',
        '"crew" of step "fix" must be a whole number from 1 to 20, not "two"',
        'step "fix" leaves "open", and "make-safe" does not say what a stop goes through',
        '"&x" is an anchor, and anchors are not understood here',
        'unknown name "lenght" in "say" of step "fix"',
    ]


def test_one_slip_is_one_fault() -> None:
    for right, wrong in (
        ("after: order\n", "after: ordre\n"),
        ("after: [weigh, hand]", "after: [weigh, hnad]"),
        ("needs: [lean, flush]", "needs: [lean, flsh]"),
        ("take: lean,", "take: laen,"),
        ("secures: loose", "secures: lose"),
        ("leaves: loose", "leaves: lose"),
        ("  width: {ask", "  widht: {ask"),
    ):
        assert right in FULL
        _, faults, _ = examined(HEAD + FULL.replace(right, wrong))
        assert all(
            fault.code.startswith("unknown") or fault.code in ("no-make-safe", "never-taken") for fault in faults
        )
        assert len(faults) == 1 or right.startswith("  width"), [fault.message for fault in faults]


# Nothing but faults


@given(st.binary(max_size=300))
def test_any_bytes_load_or_have_faults(data: bytes) -> None:
    _loads_or_has_faults(data.decode("utf-8", "surrogateescape"))


@settings(max_examples=500)
@given(st.data())
def test_any_change_of_a_good_file_loads_or_has_faults(data: st.DataObject) -> None:
    text = HEAD + FULL
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text)))
        end = min(len(text), start + data.draw(st.integers(0, 12)))
        put = data.draw(st.one_of(st.sampled_from(PIECES), st.text(max_size=4)))
        text = text[:start] + put + text[end:]
    _loads_or_has_faults(text)


@given(st.permutations(FULL.strip().split("\n")), st.integers(0, 40))
def test_any_order_of_its_lines_loads_or_has_faults(lines: list[str], kept: int) -> None:
    _loads_or_has_faults(HEAD + "\n".join(lines[:kept]))


PIECES = [
    *(
        "{",
        "}",
        "[",
        "]",
        ":",
        ": ",
        ", ",
        "- ",
        "\n",
        "\n  ",
        "\t",
        "'",
        '"',
        "#",
        " #1",
        "&a ",
        "*a",
        "!!str ",
        "<<: ",
    ),
    *("no", "null", "010", "12:30", "1e400", "9" * 50, "1/0 in", "\0", "\ufeff", "\u2028", "\ue000", "---\n", "{by}"),
    *(
        "width",
        "clear",
        "lean",
        "frame",
        "loose",
        "pan",
        "metal",
        "to ",
        "at most ",
        "±",
        "lb",
        "min(",
        "steps:\n",
        "? ",
    ),
]


def _loads_or_has_faults(text: str) -> None:
    try:
        procedure = load_text("any.yaml", text)
    except ProblemError as fault:
        assert fault.problems  # noqa: PT017 - either way is right
    else:
        assert set(procedure.order) == set(procedure.steps)


@pytest.mark.slow
@given(st.data())
def test_any_change_of_a_shipped_file_loads_or_has_faults(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from(sorted(shipped().values()))).read_text(encoding="utf-8")
    start = data.draw(st.integers(0, len(text)))
    put = data.draw(st.one_of(st.sampled_from(PIECES), st.text(max_size=4)))
    _loads_or_has_faults(text[:start] + put + text[start + data.draw(st.integers(0, 12)) :])


def long_file(count: int) -> str:
    """An invented job of that many steps, every fifth a check, each behind the one before."""
    checks = range((count - 1) // 5)
    lines = ["readings:"]
    lines += [f"  gap_{i}: {{ask: Gap {i}, at: [top, bottom], keep: mean, likely: 0 in to 1 in}}" for i in checks]
    lines += ["worked:", *(f"  twice_{i}: 2 * gap_{i}" for i in checks), "steps:", "  step-0: {say: Begin.}"]
    for i in range(1, count):
        if i % 5:
            figure = f" It was {{twice_{i // 5 - 1}}}." if i > 5 else ""
            lines += [
                f"  step-{i}:",
                f"    after: step-{i - 1}",
                f"    say: Put shim {i} in and press it home.{figure}",
            ]
            lines += [f"    disturbs: [frame-{i % 7}]", "    why: A loose shim lets the frame move when it is fixed."]
        else:
            lines.append(
                f"  step-{i}: {{after: step-{i - 1}, take: gap_{i // 5 - 1}, "
                f"within: 1/16 in to 3/16 in, watches: [frame-{i % 7}], out: {{adjust: frame-{i % 7}}}}}"
            )
    return "\n".join(lines) + "\n"


def test_a_long_file_is_read_whole() -> None:
    procedure = good(long_file(1001))
    assert len(procedure.order) == 1001
    assert len(procedure.rank) == 200
    assert procedure.used_by["gap_0"] == ("step-6", "step-7", "step-8", "step-9")


@pytest.mark.slow
def test_reading_a_file_takes_time_in_proportion_to_its_length() -> None:
    def seconds(what: Callable[[], object]) -> float:
        best = 1e9
        for _ in range(3):
            start = time.process_time()
            what()
            best = min(best, time.process_time() - start)
        return best

    short, long = HEAD + long_file(2000), HEAD + long_file(10_000)
    gc.disable()
    try:
        few, many = seconds(lambda: examined(short)), seconds(lambda: examined(long))
        composed = seconds(lambda: yaml.compose(long, yaml.CSafeLoader))
    finally:
        gc.enable()
    assert many < 8 * few, "five times as long"
    assert many < 8 * composed, "libyaml composing the same text, with marks"
