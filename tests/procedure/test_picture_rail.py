"""A procedure of another trade, invented: the same promises hold without a line of code of its own."""

from __future__ import annotations

import pytest
from talking import obliging, talk, to_the_end

from guide.procedure import examine, load

NAME = "picture-rail"
RAIL = load(NAME)


def test_it_has_no_fault_and_no_remark() -> None:
    procedure, faults, remarks = examine(NAME)
    assert procedure is not None
    assert (faults, remarks) == ([], [])
    assert 8 <= len(procedure.steps) <= 14


def test_it_says_that_it_is_invented() -> None:
    assert {fact.standing for fact in RAIL.facts.values()} == {"invented"}


@pytest.mark.parametrize("ends", ["walls", "free"])
def test_a_job_goes_through_whatever_is_chosen(ends: str) -> None:
    job = talk(NAME, pretended=True)
    steps = to_the_end(job, {"ends": ends})
    assert job.of("finished")[0].data["verdict"] == "good"
    assert job.of("refused") == []
    assert ("cut" in steps, "dress-end" in steps) == (ends == "walls", ends == "free")


def test_fixing_the_rail_disturbs_its_level_which_is_read_again_before_the_load() -> None:
    steps = to_the_end(talk(NAME, pretended=True))
    assert steps.count("level") == 2
    assert steps.index("fix") < len(steps) - 1 - steps[::-1].index("level") < steps.index("load")


def test_a_rail_out_of_level_is_corrected_toward_its_high_end() -> None:
    job = talk(NAME, pretended=True)
    while (job.ask["step"], job.ask["expects"]) != ("level", "number"):
        job.say("from wall to wall" if job.ask["step"] == "ends" else obliging(job.ask))
    job.say("1/4 right end high")
    assert "Bring the right end down, or the left end up, by 1/4 in." in " ".join(turn.text for turn in job.turns)
    assert job.ask["step"] != "fix"
