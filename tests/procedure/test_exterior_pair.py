"""The shipped procedure for a pair of exterior doors: whole, complete, safe in its order, short to say."""

from __future__ import annotations

import itertools
import re

import pytest
from talking import obliging, talk, to_the_end

from guide.procedure import examine, load
from guide.procedure.model import Procedure, Step
from guide.quantity import quantity

NAME = "exterior-pair"
PAIR = load(NAME)
CHOICES = [
    dict(zip(PAIR.choices, made, strict=True))
    for made in itertools.product(*(c.options for c in PAIR.choices.values()))
]


def before(first: str, second: str) -> bool:
    """Whether one step must come before another, directly or not."""
    step = PAIR.steps[second]
    return any(name == first or before(first, name) for name in step.after + step.needs)


def test_it_has_no_fault_and_no_remark() -> None:
    procedure, faults, remarks = examine(NAME)
    assert procedure is not None
    assert (faults, remarks) == ([], [])


def test_every_step_has_its_reason_and_its_usual_mistake() -> None:
    assert [s.name for s in PAIR.steps.values() if not s.why or not s.mistake] == []


def test_every_fact_has_its_standing() -> None:
    for fact in PAIR.facts.values():
        assert re.match(r"(common practice|computed|IRC R\d)", fact.standing), fact


def test_there_is_a_choice_for_each_thing_that_switches_steps() -> None:
    assert {"opening", "wall", "swing", "sill-pan", "glass", "built"} == set(PAIR.choices)
    switched = {choice for step in PAIR.steps.values() for choice in step.when}
    assert switched == set(PAIR.choices)


TOPICS = {
    "the new unit is looked at before anything is torn out": ["unit-undamaged", "unit-as-ordered", "fits-on-paper"],
    "storage": ["storage"],
    "tools and materials": ["tools"],
    "instruments proved by reversal": ["prove-level", "prove-square", "prove-tape"],
    "weather": ["weather", "temperature"],
    "never left open": ["can-close"],
    "the old unit": ["old-hand", "old-paint", "asbestos", "wiring", "trim-off", "old-out"],
    "lean on others": ["structure", "fire-door", "safety-glass", "papers"],
    "cleaning": ["clean-out"],
    "survey": ["survey-width", "survey-height", "survey-diagonals", "survey-lean", "survey-depth"],
    "sizing": ["size-width", "size-height", "size-depth"],
    "floor bearing": ["floor-bearing"],
    "sill level": ["sill-level"],
    "dry fit": ["dry-fit", "pan-fit"],
    "sill flashing": ["flash-pan", "flash-membrane"],
    "sealant bed": ["sealant-bed"],
    "placing": ["place"],
    "temporary shims": ["temporary-shims", "stands-firm"],
    "flush": ["flush"],
    "square": ["square"],
    "plumb and level": ["plumb", "plumb-across", "head-level"],
    "twist": ["twist"],
    "reveals": ["head-reveal", "hinge-reveal", "meeting-gap"],
    "seal contact": ["seal-contact"],
    "fixing": ["screw-length", "fix-active-wood", "fix-active-masonry", "fix-other-wood", "fix-other-masonry"],
    "hinge screws and the head's centre": ["fix-rest"],
    "running test": ["running-test", "running-again"],
    "trimming": ["trim-shims"],
    "inactive door": ["edge-strip", "floor-clear", "mark-bolts", "drill-head", "drill-bottom", "seal-hole", "bolts"],
    "lockset": ["lockset", "latch", "way-out"],
    "insulation": ["insulate", "foam-look"],
    "flashing and sealing": ["seal-outside"],
    "water test": ["water-test"],
    "clear opening and landings": ["clear-width", "clear-height", "landing-inside"],
    "handover": ["clean-up", "handover", "owner", "sign-off"],
}


def test_every_topic_of_the_work_has_its_steps() -> None:
    named = [step for steps in TOPICS.values() for step in steps]
    assert set(named) <= set(PAIR.steps)
    left = set(PAIR.steps) - set(named)
    assert left <= {"who-leads", "active-door", "open-up", "jamb-thickness", "shim-thickness"} | {
        "landing-outside-inswing",
        "landing-outside-outswing",
    }


@pytest.mark.parametrize(
    ("fact", "figure"),
    [
        ("width_allowance", "1 in"),
        ("height_allowance", "1/2 in"),
        ("sill_limit", "1/8 in"),
        ("flush_limit", "1/16 in"),
        ("square_limit", "1/16 in"),
        ("plumb_limit", "1/8 in"),
        ("twist_limit", "1/8 in"),
        ("reveal", "1/8 in"),
        ("reveal_play", "1/16 in"),
        ("trim_covers", "3/16 in"),
        ("screw_bite", "1 1/2 in"),
        ("bolt_hole", "3/8 in"),
        ("bolt_depth", "1 1/2 in"),
        ("bead", "1/4 in"),
        ("egress_width", "32 in"),
        ("egress_height", "78 in"),
        ("landing_near", "1 1/2 in"),
        ("landing_far", "7 3/4 in"),
    ],
)
def test_the_figures_of_the_trade(fact: str, figure: str) -> None:
    assert PAIR.facts[fact].value == quantity(figure)


def test_the_order_a_foreman_would_sign() -> None:
    for first, second in itertools.pairwise(
        ["fits-on-paper", "weather", "old-out", "clean-out", "survey-width", "sill-level", "dry-fit", "sealant-bed"]
    ):
        assert before(first, second), (first, second)
    for first, second in [
        ("old-paint", "trim-off"),
        ("wiring", "trim-off"),
        ("wiring", "open-up"),
        ("can-close", "old-out"),
        ("sealant-bed", "place"),
        ("place", "stands-firm"),
        ("fix-active-wood", "fix-other-wood"),
        ("running-test", "trim-shims"),
        ("floor-clear", "drill-bottom"),
        ("edge-strip", "mark-bolts"),
        ("bolts", "lockset"),
        ("insulate", "seal-outside"),
        ("water-test", "running-again"),
        ("running-again", "sign-off"),
    ]:
        assert before(first, second), (first, second)


def test_nothing_is_fixed_until_everything_is_good() -> None:
    checks = {"flush", "square", "plumb", "plumb-across", "head-level", "twist"} | {
        "head-reveal",
        "hinge-reveal",
        "meeting-gap",
        "seal-contact",
    }
    for name in ("fix-active-wood", "fix-active-masonry", "fix-other-wood", "fix-other-masonry"):
        assert checks <= set(PAIR.steps[name].needs)
        assert "frame" in PAIR.steps[name].disturbs
    for name in checks:
        assert "frame" in PAIR.steps[name].watches


def test_what_can_hurt_shows_its_caution_and_heavy_steps_take_two() -> None:
    for name in ("unit-undamaged", "old-out", "dry-fit", "place", "temporary-shims"):
        assert "weight" in PAIR.steps[name].cautions, name
        assert PAIR.steps[name].crew >= 2, name
    for name in ("fix-active-wood", "drill-head", "drill-bottom"):
        assert "drilling" in PAIR.steps[name].cautions, name
    assert "dust" in PAIR.steps["fix-active-masonry"].cautions
    assert "old-paint" in PAIR.steps["trim-off"].cautions


def test_safety_takes_no_concession() -> None:
    safety = {step.name for step in PAIR.steps.values() if step.safety}
    assert safety >= {
        "structure",
        "fire-door",
        "weather",
        "wiring",
        "old-paint",
        "stands-firm",
        "way-out",
        "floor-clear",
    }


def test_the_house_is_open_until_the_door_locks_and_the_unit_loose_until_both_sides_are_fixed() -> None:
    leaves = {hazard: {s.name for s in PAIR.steps.values() if hazard in s.leaves} for hazard in PAIR.make_safe}
    secures = {hazard: {s.name for s in PAIR.steps.values() if hazard in s.secures} for hazard in PAIR.make_safe}
    assert leaves == {"unsupported": {"place"}, "open": {"old-out", "open-up"}}
    assert secures == {"unsupported": {"fix-other-wood", "fix-other-masonry"}, "open": {"way-out"}}
    assert PAIR.make_safe["unsupported"].stays


def test_it_defers_at_the_start_and_where_it_matters() -> None:
    for word in ("instructions", "local code", "licensed"):
        assert word in PAIR.defers
    said = " ".join(f"{s.say} {s.why} {' '.join(s.out.say.values()) if s.out else ''}" for s in PAIR.steps.values())
    assert said.count("local office") >= 5
    assert said.count("licensed") >= 3


def test_words_are_short_enough_to_be_said() -> None:
    def long(step: Step) -> bool:
        return any(len(sentence.split()) > 30 for sentence in re.split(r"(?<=[.!?]) ", step.say))

    assert [s.name for s in PAIR.steps.values() if long(s)] == []
    lengths = sorted(len(s.say.split()) for s in PAIR.steps.values())
    assert lengths[len(lengths) // 2] <= 14, "half of the steps are said in fourteen words or fewer"


@pytest.mark.parametrize("choices", CHOICES[::17], ids=lambda made: "-".join(made.values()))
def test_a_job_goes_through_whatever_is_chosen(choices: dict[str, str]) -> None:
    job = talk(NAME, pretended=True)
    steps = to_the_end(job, choices)
    assert job.of("finished")[0].data["verdict"] == "good"
    assert job.of("refused") == []
    assert {"place", "sign-off"} <= set(steps)


@pytest.mark.slow
@pytest.mark.parametrize("choices", CHOICES, ids=lambda made: "-".join(made.values()))
def test_a_job_goes_through_whatever_is_chosen_every_combination(choices: dict[str, str]) -> None:
    job = talk(NAME, pretended=True)
    to_the_end(job, choices)
    assert job.of("finished")[0].data["verdict"] == "good"


def test_every_ask_can_be_answered_by_a_program() -> None:
    job = talk(NAME, pretended=True)
    to_the_end(job)
    for turn in job.of("ask"):
        obliging(turn.as_data())
        if turn.data["expects"] == "number":
            assert turn.data["unit"]
            assert turn.data["high"] or turn.data["low"] or turn.data["likely"]


def test_a_stop_anywhere_makes_safe_what_is_unsafe_there() -> None:
    job = talk(NAME, pretended=True)
    seen: set[tuple[str, ...]] = set()
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
    assert seen == {(), ("open",), ("open", "unsupported")}


def test_its_size(capsys: pytest.CaptureFixture[str]) -> None:
    procedure: Procedure = PAIR
    assert len(procedure.steps) >= 70
