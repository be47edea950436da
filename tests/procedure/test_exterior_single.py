"""The shipped procedure for one exterior door: what it shares with the pair, and what only one door has."""

from __future__ import annotations

import itertools
from pathlib import PurePath

import pytest
from talking import talk, to_the_end

from guide.procedure import examine, load, load_sources, shipped

NAME = "exterior-single"
SINGLE, PAIR = load(NAME), load("exterior-pair")
CHOICES = [
    dict(zip(SINGLE.choices, made, strict=True))
    for made in itertools.product(*(c.options for c in SINGLE.choices.values()))
]
OF_A_PAIR = {"active-door", "meeting-gap", "head-center", "edge-strip", "floor-clear", "mark-bolts", "drill-head"} | {
    "drill-bottom",
    "seal-hole",
    "bolts",
    "fix-active-wood",
    "fix-active-masonry",
    "fix-other-wood",
    "fix-other-masonry",
}
OF_A_SINGLE = {"hinge-side", "lock-reveal", "sill-front"} | {
    "fix-hinge-wood",
    "fix-hinge-masonry",
    "fix-lock-wood",
    "fix-lock-masonry",
}


def test_it_has_no_fault_and_no_remark() -> None:
    procedure, faults, remarks = examine(NAME)
    assert procedure is not None
    assert (faults, remarks) == ([], [])


def test_a_single_door_has_nothing_of_a_second_one() -> None:
    assert set(PAIR.steps) - set(SINGLE.steps) == OF_A_PAIR
    assert set(SINGLE.steps) - set(PAIR.steps) == OF_A_SINGLE
    for step in SINGLE.steps.values():
        words = f"{step.say} {' '.join(step.out.say.values()) if step.out else ''}"
        for word in ("astragal", "edge strip", "bolts", "both doors", "inactive", "meeting"):
            assert word not in words, step.name


def test_no_step_is_written_twice() -> None:
    (single, shared), (pair, also) = SINGLE.sources, PAIR.sources
    assert (single.name, pair.name, shared) == ("exterior-single.yaml", "exterior-pair.yaml", also)
    # One line in each file for a step that is shared; the step itself stands in the shared file alone.
    for name in set(SINGLE.steps) & set(PAIR.steps) - {"egress-on-paper"}:
        assert f"\n  {name}: {{shared: yes" in single.text and f"\n  {name}: {{shared: yes" in pair.text, name
        assert f"\n  {name}:\n" in shared.text


def test_the_order_is_the_pair_s() -> None:
    common = [name for name in SINGLE.order if name in PAIR.steps]
    assert common == [name for name in PAIR.order if name in SINGLE.steps]
    assert list(SINGLE.choices) == list(PAIR.choices)
    assert [choice.options for choice in SINGLE.choices.values()] == [c.options for c in PAIR.choices.values()]


def test_nothing_is_fixed_until_everything_is_good() -> None:
    checks = {"stands-firm", "flush", "square", "plumb", "plumb-across", "head-level", "twist"} | {
        "head-reveal",
        "hinge-reveal",
        "lock-reveal",
        "seal-contact",
    }
    for name in ("fix-hinge-wood", "fix-hinge-masonry", "fix-lock-wood", "fix-lock-masonry", "hinge-screws"):
        assert checks <= set(SINGLE.steps[name].needs), name
        assert "frame" in SINGLE.steps[name].disturbs


def test_every_step_has_its_reason_and_its_usual_mistake() -> None:
    assert [s.name for s in SINGLE.steps.values() if not s.why or not s.mistake] == []


def test_hazards_are_ended() -> None:
    secures = {hazard: {s.name for s in SINGLE.steps.values() if hazard in s.secures} for hazard in SINGLE.make_safe}
    assert secures["unsupported"] == {"fix-lock-wood", "fix-lock-masonry"}
    assert secures["open"] == {"way-out"}


def test_the_shared_part_is_shipped_but_is_no_procedure() -> None:
    shared = SINGLE.sources[1].name
    path = shipped()[NAME].parent / shared
    assert path.is_file()
    assert PurePath(shared).stem not in shipped()
    assert path not in shipped().values()


def test_a_job_is_taken_up_again_from_its_record_alone() -> None:
    assert load_sources(SINGLE.sources) == SINGLE


@pytest.mark.parametrize("choices", CHOICES[::61], ids=lambda made: "-".join(made.values()))
def test_a_job_goes_through_whatever_is_chosen(choices: dict[str, str]) -> None:
    job = talk(NAME, pretended=True)
    steps = to_the_end(job, choices)
    assert job.of("finished")[0].data["verdict"] == "good"
    assert job.of("refused") == []
    assert {"place", "lock-reveal", "sign-off"} <= set(steps)
