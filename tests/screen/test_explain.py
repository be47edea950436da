"""A procedure told as text: everything in it is told, in order, at any width; one step in full."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from textwrap import dedent

import pytest
from small import SHELF

from guide.problems import ProblemError
from guide.procedure import load, load_text, shipped
from guide.procedure.model import Procedure
from guide.procedure.worked import Name, evaluate, parse
from guide.quantity import Quantity, quantity
from guide.screen.explain import step_text, text
from guide.screen.plan import Plan, together
from guide.talk.wording import Wording

WALLS = """
format: 1
title: Fix a rail
defers: The maker's word comes first.
choices:
  wall: {ask: What is the wall, options: {wood: wood, stone: stone}, why: Screws differ.}
facts:
  room: {value: 1/8 in, standing: common practice}
  play: {value: 1/16 in, standing: "a handbook, from memory"}
readings:
  length: {ask: Length, at: [top left, low], keep: largest, likely: 10 in to 40 in}
  rail: {ask: Length of the rail, likely: length - 1 in to length + 1 in}
  gap: {ask: Gap, at: [left, right], about: gap}
  lean: {ask: Lean, about: plumb, sign: {plus: it leans out, minus: it leans in, toward: out, away: in}}
  kind: {ask: Which kind, answer: choice, options: {a: "one, with a lip", b: two}}
  holds: {ask: Does it hold, answer: yes-no, good: "yes"}
worked:
  twice_room: room * 2
  size: length.top_left - twice_room
  rest: length - (room + size)
cautions: {weight: It is heavy.}
make-safe:
  loose: {say: Tie it., stays: yes, disturbs: [rail], why: It falls., crew: 2, caution: weight}
steps:
  kind: {part: First, say: Look at it., take: kind}
  length: {after: kind, say: Measure it., take: length, how: "Leave {room}, so {twice_room}."}
  rail: {after: length, say: "Make it {size}, and keep {rest}.", take: rail, within: size ± play, undo: "no"}
  hang:
    part: Then
    after: rail
    say: Hang it.
    caution: weight
    crew: 2
    disturbs: [rail]
    leaves: loose
    wait: {time: 2 h, for: it to sag}
  gap:
    after: hang
    take: gap
    within: room ± play
    even: play
    watches: [rail]
    rounds: 2
    out:
      adjust: [rail]
      say: {plus: "At {place} in by {by}.", minus: "Out by {by}, {over} past."}
      caution: weight
      crew: 2
  lean:
    after: gap
    take: lean
    within: 0 in ± play
    watches: [rail]
    out: {adjust: [rail], say: {plus: "Push by {by}.", minus: "Pull by {by}."}}
  fix-wood:
    {after: lean, needs: [gap, lean], when: {wall: wood}, say: Fix it., disturbs: [rail], secures: loose}
  fix-stone:
    {after: lean, needs: gap, when: {wall: stone}, say: Fix it., disturbs: [rail], secures: loose}
  wood-holds: {after: fix-wood, when: {wall: wood}, take: holds, watches: [rail], safety: "yes"}
  look: {after: [fix-stone, wood-holds], needs: lean, say: Look., hold: {by: inspector, look: all of it}}
"""


@cache
def procedure(name: str) -> Procedure:
    texts = {"shelf": SHELF, "walls": WALLS}
    return load_text(f"{name}.yaml", texts[name]) if name in texts else load(name)


ALL = ["shelf", "walls", *shipped()]


def squeezed(words: str) -> str:
    return " ".join(words.split())


def block(told: str, number: int) -> list[str]:
    """The lines of one step in the whole text, without their indent, continued lines joined."""
    lines = told.splitlines()
    start = next(i for i, line in enumerate(lines) if re.match(rf" *{number}\. ", line))
    end = next(i for i in range(start, len(lines)) if not lines[i])
    joined: list[str] = []
    for line in lines[start:end]:
        if line.startswith("       "):
            joined[-1] += " " + line.strip()
        else:
            joined.append(line.strip())
    return joined


@pytest.mark.parametrize("name", ALL)
def test_steps_stand_by_part_in_order_with_their_numbers(name: str) -> None:
    one = procedure(name)
    told = text(one)
    found = [(int(n), words) for n, words in re.findall(r"^ {0,2}(\d+)\. (.+)$", told, re.MULTILINE)]
    assert found == [(i, step.replace("-", " ")) for i, step in enumerate(one.order, 1)]
    headings = [told.index(f"\n{part}\n---") for part in one.parts]
    assert headings == sorted(headings)


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("width", [40, 78])
def test_lines_fit_and_say_the_same_at_every_width(name: str, width: int) -> None:
    lines = text(procedure(name), width).splitlines()
    assert max(len(line) for line in lines) <= width
    told = squeezed(re.sub(r"^[-=]+$", "", text(procedure(name), width), flags=re.MULTILINE))
    assert told == squeezed(re.sub(r"^[-=]+$", "", text(procedure(name), 1000), flags=re.MULTILINE))


@pytest.mark.parametrize("name", ALL)
def test_everything_in_the_procedure_is_told(name: str) -> None:
    one = procedure(name)
    told = squeezed(text(one, 1000))
    wanted = [one.title, one.about, one.defers]
    wanted += [
        words for choice in one.choices.values() for words in (choice.ask, *choice.options.values(), choice.why or "")
    ]
    wanted += [f"{fact.value} ({fact.standing})" for fact in one.facts.values()]
    wanted += [words for safe in one.make_safe.values() for words in (safe.say, safe.why or "")]
    wanted += [one.cautions[caution] for step in one.steps.values() for caution in step.cautions]
    wanted += [step.hold.look for step in one.steps.values() if step.hold]
    wanted += [step.wait.what for step in one.steps.values() if step.wait]
    wanted += [name.replace("_", " ") + " = " for name in one.worked]
    for words in wanted:
        assert squeezed(words) in told, words


@pytest.mark.parametrize("name", ALL)
def test_cautions_come_before_the_words_they_are_for(name: str) -> None:
    one = procedure(name)
    told = text(one, 1000)
    shown = 0
    for number, step in enumerate(one.order, 1):
        lines = block(told, number)
        cautions = [i for i, line in enumerate(lines) if line.startswith("Caution: ")]
        assert len(cautions) == len(one.steps[step].cautions)
        say = re.sub(r"\{[^}]*\}.*", "", squeezed(one.steps[step].say))
        assert all(i < next(i for i, line in enumerate(lines) if line.startswith(say)) for i in cautions)
        shown += len(cautions)
    assert shown


def test_a_step_is_told_with_all_it_comes_to() -> None:
    told = text(procedure("walls"), 200)
    assert block(told, 4) == [
        "4. hang",
        "Caution: It is heavy.",
        "Hang it.",
        "Takes 2 people.",
        "Moves rail.",
        "Then wait 2 h for it to sag.",
        "Leaves the hazard: loose. It ends with fix wood (7) or fix stone (8).",
    ]
    assert block(told, 5) == [
        "5. gap",
        "Gap.",
        "To read: Gap. At left and right.",
        "Good is 1/16 in to 3/16 in. The places may differ by 1/16 in at most.",
        "Watches rail.",
        "Putting it right moves rail. Read again then, if read before: lean (6) and wood holds (9).",
    ]
    assert block(told, 6)[2:5] == [
        "To read: Lean.",
        "Good is within 1/16 in either way.",
        "Plus: it leans out. Minus: it leans in.",
    ]
    assert block(told, 9) == [
        "9. wood holds",
        "Only if: wood (wall).",
        "Does it hold.",
        "To answer: Does it hold?",
        "Good is: yes.",
        "Watches rail.",
        "Putting it right moves rail. Read again then, if read before: gap (5) and lean (6).",
        "Safety check: it can't be accepted as it is, it has to come good.",
    ]
    assert block(told, 10)[-1] == "Hold point. The inspector looks before work goes on. To look at: all of it."


def test_readings_without_a_tolerance() -> None:
    told = text(procedure("walls"), 200)
    assert block(told, 1)[2] == "To answer: Which kind? One of these: one, with a lip; two."
    assert block(told, 2)[2:] == [
        "To read: Length. At top left and low. The largest counts.",
        "Expected is 10 in to 40 in; anything else is asked about.",
    ]


def test_figures_are_worked_out_or_named_in_brackets() -> None:
    told = text(procedure("walls"), 200)
    assert block(told, 3) == [
        "3. rail",
        "Make it [size], and keep [rest].",
        "To read: Length of the rail.",
        "Good is [size] - 1/16 in to [size] + 1/16 in. "
        "Expected is [length] - 1 in to [length] + 1 in; anything else is asked about.",
        "Can't be undone: if a figure it was done on turns out wrong, the lead decides.",
    ]
    assert "\ntwice room = 1/4 in\nsize = [length, top left] - 1/4 in\nrest = [length] - (1/8 in + [size])" in told
    assert "How: Leave 1/8 in, so 1/4 in." in step_text(procedure("walls"), "length")


def test_what_is_moved_and_what_is_then_read_again() -> None:
    shelf = text(procedure("shelf"), 200)
    assert "Moves the frame: then square (4), level (5) and held (6) are read again." in block(shelf, 7)
    assert "Moves the frame." in block(shelf, 3)
    walls = text(procedure("walls"), 200)
    assert "Moves rail: then gap (5) and lean (6) are read again." in block(walls, 7)


def test_steps_that_are_never_in_one_job_are_not_brought_together() -> None:
    one = procedure("walls")
    steps = one.steps
    assert not together(steps["fix-wood"], steps["fix-stone"])
    assert together(steps["fix-wood"], steps["wood-holds"]) and together(steps["hang"], steps["fix-stone"])
    assert "wood holds" in step_text(one, "fix-wood")
    assert "wood holds" not in step_text(one, "fix-stone").partition("Comes after")[0]
    moved = next(line for line in step_text(one, "wood-holds", 400).splitlines() if line.startswith("Moved by: "))
    assert moved == "Moved by: hang (4) and fix wood (7)."


def test_many_checks_are_told_by_number() -> None:
    checks = "\n".join(
        f"  c{i}: {{after: a, take: r{i}, within: at most 1 in, watches: [s], out: {{adjust: [t]}}}}"
        for i in range(1, 9)
    )
    readings = "\n".join(f"  r{i}: {{ask: Gap, about: gap}}" for i in range(1, 9))
    again = f"  z: {{after: [{', '.join(f'c{i}' for i in range(1, 9))}], say: Fix it., disturbs: [s]}}"
    one = load_text(
        "many.yaml", f"format: 1\ntitle: Many\nreadings:\n{readings}\nsteps:\n  a: {{say: Begin.}}\n{checks}\n{again}\n"
    )
    assert block(text(one), 10)[2] == "Moves s: then checks 2 to 9 are read again."
    assert "c1 (2), c2 (3), c3 (4)" in squeezed(step_text(one, "z"))
    plan = Plan(one, Wording.load("en"))
    chosen = [one.steps[name] for name in ("c1", "c3", "c4", "c5", "c7", "c8")]
    assert plan.ranges(chosen) == "2, 4 to 6, 8 and 9"


def test_states_tell_who_moves_and_who_watches_them() -> None:
    told = text(procedure("shelf"), 200)
    assert (
        dedent(
            """
        The frame.
          Read again when it moves: square (4), level (5) and held (6).
          Moved by: set (3), fix (7) and back (8).
          Moved by putting right: square (4) and held (6).
          Moved by making safe: unsupported.

        The pin.
          Read again when it moves: level (5).
          Moved by putting right: level (5).
        """
        )
        in told
    )


def test_making_safe_is_told() -> None:
    told = text(procedure("walls"), 200)
    assert (
        dedent(
            """
        Loose.
          Caution: It is heavy.
          Tie it.
          Takes 2 people.
          Somebody must stay with it, by name.
          Moves rail.
          Why: It falls.
        """
        )
        in told
    )


def test_one_step_in_full() -> None:
    assert step_text(procedure("walls"), "gap", 100) == dedent(
        """\
        5. gap
        ======
        Then

        Gap.
        To read: Gap. At left and right.
        Good is 1/16 in to 3/16 in. The places may differ by 1/16 in at most.
        Watches rail.

        Caution: It is heavy.
        If it is too much: At [the place] in by [how far off].
        If it is too little: Out by [how far off], [how far past the limit] past.
        Putting it right takes 2 people.
        Putting it right moves rail. Read again then, if read before: lean (6) and wood holds (9).
        After 2 failed rounds the lead decides.

        Comes after: hang (4).
        What comes after it: lean (6).
        Has to be good for: fix wood (7) and fix stone (8).

        Stale once something moves rail.
        Moved by: hang (4), fix wood (7) and fix stone (8).
        Moved by putting right: lean (6) and wood holds (9).
        Moved by making safe: loose."""
    )


def test_advice_of_a_signed_reading_uses_the_words_of_its_sign() -> None:
    told = step_text(procedure("walls"), "lean")
    assert "If it leans out: Push by [how far off].\nIf it leans in: Pull by [how far off]." in told


def test_what_comes_before_and_after_is_told_once() -> None:
    told = step_text(procedure("walls"), "lean")
    assert "What comes after it: fix stone (8).\nHas to be good for: fix wood (7) and look (10)." in told
    told = step_text(procedure("walls"), "fix-wood")
    assert "Only while these are good and fresh: gap (5) and lean (6)." in told and "Comes after" not in told


def test_why_and_the_usual_mistake_are_in_the_full_step() -> None:
    told = step_text(procedure("shelf"), "survey")
    assert (
        "Why: The shelf is cut to it.\nUsual mistake: Measuring in one place only.\nHow: Pull the tape tight." in told
    )
    assert "Nothing has to be done before it." in told and "Nothing makes it stale." in told
    assert "In doubt if this turns out wrong: shelf." in step_text(procedure("shelf"), "cut")
    assert "To be done again if this hazard is left again: unsupported." in step_text(procedure("shelf"), "fix")
    assert "Nothing waits for it." in step_text(procedure("shelf"), "look")


@pytest.mark.parametrize("name", ALL)
def test_every_step_can_be_told_in_full(name: str) -> None:
    one = procedure(name)
    for step in one.steps.values():
        told = squeezed(step_text(one, step.name, 1000))
        assert all(
            words is None or squeezed(words).partition("{")[0] in told for words in (step.why, step.mistake, step.how)
        )
        assert max(len(line) for line in step_text(one, step.name, 40).splitlines()) <= 40


@pytest.mark.parametrize("asked", ["fix-wood", "fix wood", "Fix  Wood", "7"])
def test_a_step_is_found_by_name_or_number(asked: str) -> None:
    assert step_text(procedure("walls"), asked).startswith("7. fix wood\n")


@pytest.mark.parametrize(
    ("asked", "hint"),
    [
        ("hagn", 'Did you mean "hang"?'),
        ("0", '"guide explain walls" shows all steps.'),
        ("11", '"guide explain walls" shows all steps.'),
        ("", '"guide explain walls" shows all steps.'),
        ("²", '"guide explain walls" shows all steps.'),
    ],
)
def test_a_step_that_is_not_there_is_a_problem_with_a_cure(asked: str, hint: str) -> None:
    with pytest.raises(ProblemError) as caught:
        step_text(procedure("walls"), asked)
    (problem,) = caught.value.problems
    assert (problem.code, problem.message, problem.hint) == ("no-step", f'there is no step "{asked}" in walls', hint)


ARITHMETIC = [
    "length - (rail - gap)",
    "length - rail - gap",
    "(length + rail) * 2",
    "length / (2 * 3 * (rail / gap))",
    "length + rail * 2 - -gap",
    "min(length, rail + 1 in) - max(gap, rail, length) / 2",
    "abs(gap - length) * (1/8 + 3) / 4",
    "-(length - rail) + room * 2",
]


@pytest.mark.parametrize("written", ARITHMETIC)
def test_arithmetic_in_words_comes_to_the_same(written: str) -> None:
    plan = Plan(procedure("walls"), Wording.load("en"))
    values = {"length": quantity("30 1/2 in"), "rail": quantity("7 1/4 in"), "gap": quantity("3/8 in")}

    def value_of(name: Name) -> Quantity | None:
        return values.get(name.name) or plan.known(name)

    told = plan.figure(parse(written).term)
    back = parse(re.sub(r"\[(\w+)\]", r"\1", told).replace("×", "*"))
    assert evaluate(back, value_of) == evaluate(parse(written), value_of)
    assert "room" not in told


def test_nothing_that_steers_a_terminal_gets_through() -> None:
    one = replace(procedure("shelf"), title="Red \x1b[31m paint", about="bell \a")
    told = text(one)
    assert "\\x1b[31m" in told and "\\x07" in told
    assert not any(char < " " for char in told.replace("\n", ""))
