"""The shipped procedure for a pair of exterior doors: whole, complete, safe in its order, short to say."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from functools import cache

import pytest
from talking import Talk, obliging, talk, to_the_end

from guide.job import events as ev
from guide.procedure import examine, load
from guide.procedure.model import Step
from guide.quantity import Quantity, quantity

NAME = "exterior-pair"
PAIR = load(NAME)
CHOICES = [
    dict(zip(PAIR.choices, made, strict=True))
    for made in itertools.product(*(c.options for c in PAIR.choices.values()))
]
FRAME = {"flush", "square", "plumb", "plumb-across", "head-level", "twist"}
LEAF = {"head-reveal", "hinge-reveal", "meeting-gap", "seal-contact"}
MOVERS = ("fix-active-wood", "fix-other-wood", "hinge-screws", "head-center", "trim-shims", "foam-off")
"""Steps of a wood-framed job that may move a frame that was right."""


@cache
def behind_it(name: str) -> frozenset[str]:
    """Every step that must come before this one, directly or not."""
    step = PAIR.steps[name]
    return frozenset().union(*({one} | behind_it(one) for one in step.after + step.needs))


def before(first: str, second: str) -> bool:
    """Whether one step must come before another, directly or not."""
    return first in behind_it(second)


def in_the_job(choices: dict[str, str]) -> dict[str, Step]:
    """The steps of the job that the options make."""
    return {
        step.name: step
        for step in PAIR.steps.values()
        if all(choices[choice] in options for choice, options in step.when.items())
    }


def sentences(text: str) -> list[str]:
    return re.split(r"(?<=[.!?]) ", text)


def words_said() -> Iterator[tuple[str, str]]:
    """Everything that is said of each step, with where it stands."""
    for step in PAIR.steps.values():
        for key, text in (("say", step.say), ("why", step.why), ("mistake", step.mistake), ("how", step.how)):
            yield f"{step.name}: {key}", text or ""
        for side, text in (step.out.say if step.out else {}).items():
            yield f"{step.name}: out {side}", text
    yield from PAIR.cautions.items()
    for hazard, safe in PAIR.make_safe.items():
        yield hazard, safe.say


def upto(step: str, choices: dict[str, str] | None = None, name: str = NAME) -> Talk:
    """A job in which all went well, up to where a step is asked about."""
    job = talk(name, pretended=True)
    for _ in range(2000):
        if job.ask["step"] == step:
            return job
        wanted = (choices or {}).get(str(job.ask["step"]))
        job.say(wanted if wanted is not None else obliging(job.ask))
    raise AssertionError(f"{step} never comes")


def test_it_has_no_fault_and_no_remark() -> None:
    procedure, faults, remarks = examine(NAME)
    assert procedure is not None
    assert (faults, remarks) == ([], [])


def test_every_step_has_its_reason_its_usual_mistake_and_its_way() -> None:
    assert [s.name for s in PAIR.steps.values() if not (s.why and s.mistake and s.how)] == []


def test_every_check_says_what_to_do_when_it_is_out() -> None:
    assert [s.name for s in PAIR.steps.values() if PAIR.is_check(s) and not (s.out and s.out.say)] == []


def test_every_number_has_what_is_likely() -> None:
    assert [r.name for r in PAIR.readings.values() if r.answer == "number" and r.likely is None] == []


def test_there_is_a_choice_for_each_thing_that_switches_steps() -> None:
    assert set(PAIR.choices) == {"opening", "wall", "swing", "sill-pan", "glass", "built", "egress"}
    assert {choice for step in PAIR.steps.values() for choice in step.when} == set(PAIR.choices)


TOPICS = {
    "before anything": ["who-leads", "papers"],
    "lean on others": ["structure", "fire-door", "safety-glass", "wiring"],
    "the new unit is looked at before anything is torn out": [
        "lift-plan",
        "unit-undamaged",
        "unit-as-ordered",
        "active-door",
        "egress-on-paper",
        "fits-on-paper",
    ],
    "storage": ["storage"],
    "tools and materials": ["tools", "can-close"],
    "prove the instruments": ["prove-level", "prove-square", "prove-tape"],
    "weather": ["weather", "temperature"],
    "the old unit": ["old-hand", "old-paint", "asbestos", "trim-off", "old-doors", "old-frame"],
    "a new opening": ["open-up"],
    "cleaning": ["clean-out"],
    "opening size": ["survey-width", "survey-height", "survey-diagonals", "survey-studs"],
    "unit size": ["size-width", "size-height"],
    "frame depth": ["survey-depth", "size-depth"],
    "wall out of plumb": ["survey-lean", "split-lean"],
    "floor bearing": ["floor-bearing"],
    "sill level": ["sill-level"],
    "dry fit": ["pan-fit", "dry-fit", "room-around", "dry-out"],
    "sill flashing": ["flash-sill", "bed-pan"],
    "sealant bed": ["sealant-bed", "seal-pan"],
    "placing": ["place"],
    "shims": ["temporary-shims", "stands-firm", "head-center"],
    "flush": ["flush"],
    "square": ["square"],
    "plumb, level": ["plumb", "plumb-across", "head-level"],
    "twist": ["twist"],
    "head reveal": ["head-reveal"],
    "hinge-side reveal": ["hinge-reveal"],
    "meeting gap": ["meeting-gap"],
    "seal contact": ["seal-contact"],
    "order of fixing": ["fix-active-wood", "fix-active-masonry", "fix-other-wood", "fix-other-masonry"],
    "screws": ["jamb-thickness", "shim-thickness", "screw-length", "hinge-screws"],
    "running test": ["running-test", "trim-shims"],
    "inactive door edge": ["edge-strip"],
    "flush bolts": ["floor-clear", "mark-bolts", "drill-head", "drill-bottom", "seal-hole", "bolts"],
    "locks": ["lockset", "latch", "way-out"],
    "insulate and seal": ["insulate", "foam-off", "foam-look", "trim-on", "seal-outside", "seal-look"],
    "proved": ["water-test", "running-again"],
    "clear opening, landings, threshold": [
        "clear-width",
        "clear-height",
        "landing-inside",
        "landing-outside-inswing",
        "landing-outside-outswing",
        "threshold",
    ],
    "handover": ["clean-up", "handover", "care-sheet", "owner", "sign-off"],
}


def test_every_topic_of_the_work_has_its_steps_and_no_step_is_without_a_topic() -> None:
    named = [step for steps in TOPICS.values() for step in steps]
    assert len(named) == len(set(named))
    assert set(named) == set(PAIR.steps)


COMMON = {
    "width_allowance": "1 in",
    "height_allowance": "1/2 in",
    "sill_limit": "1/8 in",
    "bead": "1/4 in",
    "bead_spacing": "1 in",
    "flush_limit": "1/16 in",
    "square_limit": "1/16 in",
    "plumb_limit": "1/8 in",
    "twist_limit": "1/8 in",
    "reveal": "1/8 in",
    "reveal_play": "1/16 in",
    "trim_covers": "3/16 in",
    "screw_bite": "1 1/2 in",
    "end_shim_near": "4 in",
    "end_shim_far": "6 in",
    "shim_spacing": "24 in",
    "bolt_hole": "3/8 in",
    "bolt_depth": "1 1/2 in",
}
PUBLISHED = {
    "egress_width": ("32 in", "IRC R311.2"),
    "egress_height": ("78 in", "IRC R311.2"),
    "landing_near": ("1 1/2 in", "IRC R311.3.1"),
    "landing_far": ("7 3/4 in", "IRC R311.3.1"),
    "glass_arc": ("24 in", "IRC R308.4.2"),
    "glass_low": ("60 in", "IRC R308.4.2"),
    "threshold_high": ("1/2 in", "ADA 2010"),
    "threshold_upright": ("1/4 in", "ADA 2010"),
    "lead_inside": ("6 ft2", "40 CFR 745.83"),
    "lead_outside": ("20 ft2", "40 CFR 745.83"),
    "tape_limit": ("1/32 in", "NIST Handbook 44"),
    "pilot_soft": ("3/32 in", "USDA Wood Handbook"),
    "pilot_hard": ("7/64 in", "USDA Wood Handbook"),
    "team_share": ("2/3", "ISO 11228-1 and national guides, from memory"),
}


@pytest.mark.parametrize(("fact", "figure"), COMMON.items())
def test_a_figure_of_common_practice(fact: str, figure: str) -> None:
    assert PAIR.facts[fact].value == quantity(figure)
    assert PAIR.facts[fact].standing == "common practice"


@pytest.mark.parametrize(("fact", "figure"), PUBLISHED.items())
def test_a_published_figure_names_its_source(fact: str, figure: tuple[str, str]) -> None:
    assert PAIR.facts[fact].value == quantity(figure[0])
    assert PAIR.facts[fact].standing.startswith(figure[1])


def test_every_other_figure_says_that_it_is_computed_or_common_practice() -> None:
    for name, fact in PAIR.facts.items():
        assert name in PUBLISHED or re.match(r"(common practice|computed: )", fact.standing), fact


LIMITS = {
    "sill-level": ("-1/8 in", "1/8 in"),
    "flush": ("-1/16 in", "1/16 in"),
    "square": ("-1/16 in", "1/16 in"),
    "plumb": ("-1/8 in", "1/8 in"),
    "plumb-across": ("-1/8 in", "1/8 in"),
    "head-level": ("-1/8 in", "1/8 in"),
    "twist": ("-1/16 in", "1/16 in"),
    "head-reveal": ("1/16 in", "3/16 in"),
    "hinge-reveal": ("1/16 in", "3/16 in"),
    "meeting-gap": ("1/16 in", "3/16 in"),
    "drill-bottom": ("1 1/2 in", None),
    "clear-width": ("32 in", None),
    "clear-height": ("78 in", None),
    "landing-inside": (None, "1 1/2 in"),
    "landing-outside-inswing": (None, "7 3/4 in"),
    "landing-outside-outswing": (None, "1 1/2 in"),
}
"""As they are asked; the strings of a twist stand half of it apart where they cross."""


def test_the_tolerances_as_a_crew_hears_them() -> None:
    asked = {}
    for choices in ({}, {"swing": "outswing"}):
        job = talk(NAME, pretended=True)
        to_the_end(job, choices)
        for turn in job.of("ask"):
            if turn.data["expects"] == "number":
                asked[turn.data["step"]] = (turn.data["low"], turn.data["high"])
    assert {step: asked[step] for step in LIMITS} == LIMITS


@pytest.mark.parametrize(
    ("step", "said", "advice"),
    [
        (
            "sill-level",
            "1/4 high on the right",
            "Bring the right end of the subfloor down, or the left end up, by 1/4 in.",
        ),
        ("flush", "1/8 proud", "At the top left, push the frame out by 1/8 in."),
        ("flush", "1/8 behind", "At the top left, pull the frame in by 1/8 in."),
        ("plumb", "1/4 right at the top", "bring the top of the side frame to the left by 1/4 in"),
        ("plumb", "1/4 left at the top", "bring the top of the side frame to the right by 1/4 in"),
        ("plumb-across", "1/4 outside at the top", "bring the top of the side frame to the inside by 1/4 in"),
        ("square", "1/8 open at the far end", "move the side frame toward the doors by 1/8 in"),
        ("square", "1/8 open in the corner", "move the side frame away from the doors by 1/8 in"),
        ("head-level", "1/4 high on the left", "Raise the right end of the head, or lower the left end, by 1/4 in."),
        ("twist", "1/8 top left nearer", "Push the top left corner out by 1/8 in, and the bottom right corner too."),
        ("twist", "1/8 top right in front", "Push the top right corner out by 1/8 in, and the bottom left corner too."),
        ("hinge-reveal", "1/32", "the gap is 3/32 in tight. Ease the shims"),
        ("hinge-reveal", "1/4", "the gap is 1/8 in wide. Drive the shims"),
        ("meeting-gap", "1/4", "the doors are 1/8 in too far apart. Bring the side frames in"),
        ("room-around", "1/8", "At the left side there is 1/8 in too little."),
        ("floor-bearing", "5 in", "Build the subfloor out by"),
    ],
)
def test_a_reading_that_is_out_gets_the_correction_for_its_side(step: str, said: str, advice: str) -> None:
    job = upto(step)
    while job.ask["expects"] != "number":
        job.say(obliging(job.ask))
    job.say(said)
    for _ in PAIR.readings[PAIR.steps[step].take or ""].places[1:]:
        job.say("0" if PAIR.readings[PAIR.steps[step].take or ""].sign else "1/8")
    advised = next(event for event in job.events if isinstance(event, ev.Advised))
    assert advice in " ".join(advised.say)


def test_the_level_is_proved_by_reversal() -> None:
    job = upto("prove-level")
    turns = job.say("1/8 high on the right, 1/32 high on the left")
    assert any("5/32 in apart, and half of that is its error" in turn.text for turn in turns)
    job.say("done", "1/8 high on the right, 1/16 high on the right")
    assert job.ask["step"] == "prove-square", "half of 1/16 in is a quarter of what the level has to prove"


def test_every_likely_opening_has_a_unit_that_fits_and_is_likely() -> None:
    for opening, unit, allowance in (
        ("opening_width", "unit_width", "width_allowance"),
        ("opening_height", "unit_height", "height_allowance"),
    ):
        low, high = (_end(opening, end) - PAIR.facts[allowance].value for end in (0, 1))
        assert low - PAIR.facts["unit_under"].value >= _end(unit, 0)
        assert high + PAIR.facts["unit_over"].value <= _end(unit, 1)


def _end(reading: str, end: int) -> Quantity:
    likely = PAIR.readings[reading].likely
    assert likely is not None
    expression = (likely.low, likely.high)[end]
    assert expression is not None
    return quantity(expression.text)


def test_the_order_a_foreman_would_sign() -> None:
    for first, second in itertools.pairwise(
        [
            "who-leads",
            "papers",
            "unit-undamaged",
            "fits-on-paper",
            "storage",
            "tools",
            "prove-level",
            "weather",
            "wiring",
            "trim-off",
            "old-doors",
            "old-frame",
            "clean-out",
            "survey-width",
            "size-width",
            "sill-level",
            "pan-fit",
            "dry-fit",
            "room-around",
            "dry-out",
            "bed-pan",
            "seal-pan",
            "place",
            "temporary-shims",
            "stands-firm",
            "flush",
            "head-reveal",
            "seal-contact",
            "screw-length",
            "fix-active-wood",
            "fix-other-wood",
            "hinge-screws",
            "head-center",
            "running-test",
            "trim-shims",
            "edge-strip",
            "mark-bolts",
            "drill-head",
            "drill-bottom",
            "seal-hole",
            "bolts",
            "lockset",
            "latch",
            "way-out",
            "insulate",
            "foam-off",
            "foam-look",
            "trim-on",
            "seal-outside",
            "seal-look",
            "water-test",
            "running-again",
            "clear-width",
            "clean-up",
            "handover",
            "care-sheet",
            "owner",
            "sign-off",
        ]
    ):
        assert before(first, second), (first, second)


def test_nothing_is_torn_out_or_opened_before_the_lead_has_looked_and_it_is_safe_to() -> None:
    assert {s.name: s.hold.by for s in PAIR.steps.values() if s.hold} == {
        "fits-on-paper": "lead",
        "flash-sill": "lead",
        "seal-pan": "lead",
        "sign-off": "lead",
    }
    for name in ("old-doors", "old-frame", "open-up"):
        for first in ("fits-on-paper", "structure", "fire-door", "can-close", "weather", "wiring"):
            assert before(first, name), (first, name)
        assert {"fits-on-paper", "weather", "can-close", "wiring"} <= set(PAIR.steps[name].needs)
    for first in ("safety-glass", "egress-on-paper"):
        assert before(first, "fits-on-paper"), first
    for first in ("old-paint", "asbestos", "old-hand"):
        assert before(first, "trim-off"), first
    assert before("floor-clear", "drill-bottom")


def test_old_paint_is_never_waved_through_before_1978() -> None:
    assert PAIR.steps["old-paint"].when == {"opening": ("old",), "built": ("before-1978", "unknown")}
    assert PAIR.steps["asbestos"].when == {"opening": ("old",)}
    job = upto("old-paint")
    while job.ask["expects"] != "yes-no":
        job.say("understood")
    job.say("no")
    for _ in range(PAIR.steps["old-paint"].rounds):
        job.say("done", "no")
    job.say("leave it", "Ana", "it is only one door")
    assert not any(isinstance(event, ev.Decided) and event.decision == "concede" for event in job.events)
    assert job.ask["step"] == "old-paint"


def test_nothing_is_fixed_until_everything_is_good() -> None:
    for name in ("fix-active-wood", "fix-active-masonry", "fix-other-wood", "fix-other-masonry"):
        assert FRAME | LEAF | {"stands-firm"} <= set(PAIR.steps[name].needs)
    assert all("frame" in PAIR.steps[name].watches for name in FRAME | LEAF)
    assert all("leaf" in PAIR.steps[name].watches for name in LEAF)


@pytest.mark.parametrize("mover", MOVERS)
def test_everything_is_read_again_after_what_may_move_the_frame(mover: str) -> None:
    job = upto(mover)
    while job.ask["step"] == mover:
        job.say(obliging(job.ask))
    assert job.of("stale"), "the crew is told"
    for name in FRAME | LEAF:
        assert job.session.job.state.steps[name].stale is not None, name


def test_a_correction_has_it_let_go_of_again_before_anything_is_read() -> None:
    job = upto("plumb")
    job.say("left side 1/4 right at the top, right side 1/4 right at the top")
    while job.ask["about"] in ("reading", "cautions"):
        job.say({"number": "1/8" if job.ask["low"] == "1/16 in" else "0", "done": "done"}[str(job.ask["expects"])])
    assert job.ask["about"] == "move"
    while job.ask["about"] == "move":
        job.say("done")
    assert job.ask["step"] == "stands-firm"


def test_the_doors_stay_shut_until_the_foam_has_cured() -> None:
    job = upto("insulate")
    assert PAIR.steps["insulate"].wait
    assert not PAIR.steps["insulate"].disturbs
    while job.ask["step"] == "insulate":
        job.say(obliging(job.ask))
    assert job.ask["step"] == "foam-off"
    assert any(isinstance(event, ev.WaitOver) and event.step == "insulate" for event in job.events)


def test_no_check_goes_stale_that_the_standing_unit_has_covered() -> None:
    covered = {"sill-level", "pan-fit", "dry-fit", "room-around", "flash-sill", "sealant-bed", "seal-pan"}
    covered |= {"survey-height", "survey-diagonals"}
    watched = {state for name in covered for state in PAIR.steps[name].watches}
    later = [s for s in PAIR.steps.values() if s.name == "place" or before("place", s.name)]
    disturbed = {state for s in later for state in (*s.disturbs, *(s.out.adjust if s.out else ()))}
    assert not watched & disturbed


@pytest.mark.parametrize("name", ["exterior-pair", "exterior-single"])
def test_a_floor_that_was_brought_up_or_down_is_measured_up_to_the_header_again(name: str) -> None:
    job = upto("sill-level", name=name)
    before = dict(job.session.job.state.steps["survey-height"].last)
    job.say("1/2 high on the right")
    turns = job.say("done")
    told = next(turn for turn in turns if turn.kind == "stale")
    assert told.data["checks"] == ["sill-level", "survey-height", "survey-diagonals"]
    job.say("0")
    for place, taken in before.items():
        assert (job.ask["step"], job.ask["place"], job.ask["again"]) == ("survey-height", place, True)
        job.say(str(quantity(str(taken.value)) + quantity("1/2 in")))
    for step in ("size-height", "survey-diagonals", "survey-diagonals"):
        assert (job.ask["step"], job.ask["about"], job.ask["again"]) == (step, "reading", True)
        job.say(obliging(job.ask))
    assert not list(job.session.job.state.due_again(job.procedure))


def test_a_subfloor_built_out_is_not_measured_up_again() -> None:
    job = upto("floor-bearing")
    job.say("5 in", "done")
    assert job.ask["step"] == "floor-bearing"
    assert all(job.session.job.state.steps[step].stale is None for step in ("survey-height", "survey-diagonals"))


def test_what_can_hurt_shows_its_caution_and_heavy_steps_take_two() -> None:
    for name in ("unit-undamaged", "storage", "old-doors", "old-frame", "dry-fit", "dry-out", "place"):
        assert "weight" in PAIR.steps[name].cautions, name
        assert PAIR.steps[name].crew >= 2, name
    for name in ("temporary-shims", "stands-firm", "room-around"):
        assert {"weight", "pinch"} <= set(PAIR.steps[name].cautions), name
    for name in ("dry-fit", "place"):
        assert {"glass", "pinch", "wind"} <= set(PAIR.steps[name].cautions), name
    for step in PAIR.steps.values():
        if re.match(r"(fix-|drill-|hinge-screws|head-center)", step.name):
            assert {"drilling", "wiring"} <= set(step.cautions), step.name
    for name in ("fix-active-masonry", "fix-other-masonry", "hinge-screws", "head-center", "drill-bottom"):
        assert "dust" in PAIR.steps[name].cautions, name
    for name in ("trim-off", "old-doors", "old-frame", "clean-out", "clean-up"):
        assert "old-paint" in PAIR.steps[name].cautions, name
    for name in ("flash-sill", "sealant-bed", "bed-pan", "seal-pan", "seal-hole", "insulate", "seal-outside"):
        assert "chemicals" in PAIR.steps[name].cautions, name
    for name in ("old-doors", "old-frame", "open-up", "clean-out", "place"):
        assert "open-hole" in PAIR.steps[name].cautions, name
    used = {c for s in PAIR.steps.values() for c in (*s.cautions, *(s.out.cautions if s.out else ()))}
    assert used == set(PAIR.cautions)


def test_safety_takes_no_concession() -> None:
    assert {step.name for step in PAIR.steps.values() if step.safety} == {
        "structure",
        "fire-door",
        "safety-glass",
        "egress-on-paper",
        "can-close",
        "weather",
        "old-paint",
        "asbestos",
        "wiring",
        "stands-firm",
        "floor-clear",
        "way-out",
        "clear-width",
        "clear-height",
    }


def test_what_is_cut_drilled_or_torn_out_is_not_undone() -> None:
    cannot = {step.name for step in PAIR.steps.values() if step.cannot_undo}
    assert cannot == {"old-frame", "trim-shims", "drill-head", "drill-bottom"}
    assert "fits_on_paper" in PAIR.steps["old-frame"].uses
    assert "floor_clear" in PAIR.steps["drill-bottom"].uses
    for name in ("fix-active-wood", "fix-active-masonry", "fix-other-wood", "fix-other-masonry", "hinge-screws"):
        assert "screw_length" in PAIR.steps[name].uses


def test_hazards_last_from_where_they_begin_to_where_they_end() -> None:
    leaves = {hazard: {s.name for s in PAIR.steps.values() if hazard in s.leaves} for hazard in PAIR.make_safe}
    secures = {hazard: {s.name for s in PAIR.steps.values() if hazard in s.secures} for hazard in PAIR.make_safe}
    assert leaves == {"loose": {"dry-fit"}, "unsupported": {"place"}, "open": {"old-doors", "open-up"}}
    assert secures == {
        "loose": {"dry-out"},
        "unsupported": {"fix-other-wood", "fix-other-masonry"},
        "open": {"way-out"},
    }
    assert PAIR.make_safe["unsupported"].stays
    assert {"frame", "leaf", "support"} <= set(PAIR.make_safe["unsupported"].disturbs)


@pytest.mark.parametrize("opening", ["an old unit comes out", "a new opening"])
def test_a_stop_anywhere_makes_safe_what_is_unsafe_there(opening: str) -> None:
    job = talk(NAME, pretended=True)
    seen: set[tuple[str, ...]] = set()
    job.say(opening)
    while not job.session.over:
        hazards = tuple(job.session.job.state.hazards)
        if hazards not in seen and job.session.form is None:
            seen.add(hazards)
            job.say("stop")
            while not job.session.over:
                job.say(obliging(job.ask))
            assert job.of("stopped")[-1].data["left"] == []
            job = job.again()
        job.say(obliging(job.ask))
    assert seen == {(), ("open",), ("open", "loose"), ("open", "unsupported")}


def test_it_defers_at_the_start_and_where_it_matters() -> None:
    for word in ("instructions", "local code", "licensed", "local office"):
        assert word in PAIR.defers
    deferring = {where.partition(":")[0] for where, text in words_said() if re.search("local (office|code)", text)}
    assert deferring >= {
        "structure",
        "fire-door",
        "safety-glass",
        "egress-on-paper",
        "asbestos",
        "floor-bearing",
        "way-out",
        "clear-width",
        "clear-height",
        "landing-inside",
        "landing-outside-inswing",
        "landing-outside-outswing",
        "threshold",
    }
    licensed = {where.partition(":")[0] for where, text in words_said() if "licensed" in text}
    assert licensed >= {"structure", "fire-door", "size-width", "size-height", "asbestos", "wiring", "clean-out"}
    own = {where.partition(":")[0] for where, text in words_said() if "instructions" in text}
    assert own >= {"papers", "size-depth", "flash-sill", "bed-pan", "screw-length", "seal-outside"}


def test_words_are_short_enough_to_be_said() -> None:
    long = [
        (where, sentence)
        for where, text in words_said()
        for sentence in sentences(text)
        if len(sentence.split()) > (20 if where.endswith("say") or where in PAIR.make_safe else 24)
    ]
    assert long == []
    lengths = sorted(len(s.say.split()) for s in PAIR.steps.values())
    assert lengths[len(lengths) // 2] <= 12, "half of the steps are said in twelve words or fewer"
    assert all(
        len(s.say.split()) <= 20 for s in PAIR.steps.values() if s.name != "tools" and len(sentences(s.say)) == 1
    )


@pytest.mark.parametrize("choices", CHOICES, ids=lambda made: "-".join(made.values()))
def test_every_combination_is_a_whole_job(choices: dict[str, str]) -> None:
    steps = in_the_job(choices)
    taken = {step.take for step in steps.values()}
    for step in steps.values():
        assert set(step.needs) <= set(steps), step.name
        assert not step.after or set(step.after + step.needs) & set(steps), step.name
        for name in step.uses:
            assert name.partition(".")[0] not in PAIR.readings or name.partition(".")[0] in taken, (step.name, name)
    for part in PAIR.parts:
        assert any(step.part == part for step in steps.values()), part
    for hazard in {hazard for step in steps.values() for hazard in step.leaves}:
        assert any(hazard in step.secures for step in steps.values()), hazard
    assert len({"flash-sill", "bed-pan"} & set(steps)) == 1
    assert len({"old-frame", "open-up"} & set(steps)) == 1
    assert len({"fix-active-wood", "fix-active-masonry"} & set(steps)) == 1
    assert len({"landing-outside-inswing", "landing-outside-outswing"} & set(steps)) == 1


@pytest.mark.parametrize("choices", CHOICES[::61], ids=lambda made: "-".join(made.values()))
def test_a_job_goes_through_whatever_is_chosen(choices: dict[str, str]) -> None:
    job = talk(NAME, pretended=True)
    steps = to_the_end(job, choices)
    assert job.of("finished")[0].data["verdict"] == "good"
    assert job.of("refused") == []
    assert set(steps) >= set(in_the_job(choices))


@pytest.mark.slow
@pytest.mark.parametrize("choices", CHOICES, ids=lambda made: "-".join(made.values()))
def test_a_job_goes_through_whatever_is_chosen_every_combination(choices: dict[str, str]) -> None:
    job = talk(NAME, pretended=True)
    to_the_end(job, choices)
    assert job.of("finished")[0].data["verdict"] == "good"


def _within(ask: dict[str, object], share: int) -> str:
    """A number inside the limits, or else inside what is likely: `share` eighths of the way up."""
    likely = ask["likely"]
    assert isinstance(likely, list | tuple)
    low, high = (quantity(str(one)) for one in likely)
    low = quantity(str(ask["low"])) if ask["low"] else low
    high = quantity(str(ask["high"])) if ask["high"] else high
    return str(low + Quantity((high - low).magnitude * share / 8, low.unit))


@pytest.mark.parametrize("share", [0, 3, 8])
def test_a_program_that_answers_inside_the_limits_gets_to_the_end(share: int) -> None:
    job = talk(NAME, pretended=True)
    for _ in range(2000):
        if job.session.over:
            break
        job.say(_within(job.ask, share) if job.ask["expects"] == "number" else obliging(job.ask))
    assert job.of("finished")[0].data["verdict"] == "good"
    assert job.of("refused") == []
