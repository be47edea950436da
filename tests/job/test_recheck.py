"""What a disturbance voids, and whose turn it is then."""

from __future__ import annotations

import pytest
from driving import LEAD, Drive, drive

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.fold import IllegalEvent

GATE = """
format: 1
title: Hang a gate
states: {gate: the gate, post: the post}
readings:
  gap: {ask: Gap, about: gap, at: [top, foot]}
  sag: {ask: Sag, about: gap}
  swing: {ask: Does it swing, answer: yes-no, good: "yes"}
steps:
  hang: {say: Hang it., disturbs: [gate, post]}
  sag: {after: hang, take: sag, within: 0 in to 1/8 in, watches: [gate], hold: {by: lead, look: the sag}}
  gap: {after: hang, take: gap, within: 0 in to 1/8 in, watches: [gate, post], out: {adjust: [gate]}}
  swing: {after: hang, take: swing, watches: [post], out: {adjust: [post]}}
  oil: {needs: [gap, swing], say: Oil it.}
"""


def hung() -> Drive:
    job = drive(GATE)
    job.finish("hang")
    return job


def looked() -> Drive:
    """A gate whose sag was read and looked at."""
    job = hung()
    job.read("0 in")
    job.do(cmd.Look("sag", LEAD, True))
    return job


def test_a_check_that_was_never_taken_does_not_go_stale() -> None:
    job = hung()
    job.do(cmd.Moved(("gate", "post")))
    assert job.stale() == set()


def test_what_nothing_watches_makes_nothing_stale() -> None:
    job = looked()
    job.keep([ev.Disturbed(("wall",))])
    assert job.stale() == set()


def test_a_check_that_is_stale_is_stale_from_what_disturbed_it_last() -> None:
    job = looked()
    job.do(cmd.Moved(("gate",)))
    job.do(cmd.Note("and again"), cmd.Moved(("gate",)))
    assert job.state.steps["sag"].stale == len(job.entries) - 1


def test_a_stale_check_with_a_hold_point_is_looked_at_again() -> None:
    job = looked()
    job.do(cmd.Moved(("gate",)))
    job.read("0 in")
    assert job.wants.want == "look"
    with pytest.raises(IllegalEvent, match="nobody looked"):
        job.keep([ev.Done("sag")])


def test_a_concession_that_lapsed_leaves_one_round_to_the_lead() -> None:
    job = looked()
    job.read("1 in", "0 in")
    job.do(cmd.Decide("gap", "concede", LEAD, "it is old"), cmd.Moved(("post",)))
    job.begin()
    assert (job.wants.step, job.wants.place, job.wants.round) == ("gap", "top", 3)
    job.read("1 in", "0 in")
    assert job.wants.want == "lead"


def test_what_was_just_corrected_comes_first_then_the_order_that_wastes_least() -> None:
    job = looked()
    job.read("0 in", "0 in", "no")
    job.do(cmd.Adjust("swing"))
    assert job.stale() == {"swing", "gap"}
    assert job.wants.step == "swing"
    job.read("yes")
    assert job.wants.step == "gap"
    job.read("0 in", "1 in")
    job.do(cmd.Adjust("gap"))
    assert job.stale() == {"gap", "sag"}
    assert job.wants.step == "gap"


def test_what_is_to_be_done_again_comes_before_what_is_to_be_read_again() -> None:
    job = looked()
    job.read("0 in", "0 in", "yes")
    job.finish("oil")
    job.do(cmd.Moved(("gate",)), cmd.Redo("hang"))
    assert job.wants.step == "hang"


def test_what_is_to_be_done_again_comes_first_though_it_stands_later_in_the_order() -> None:
    job = looked()
    job.read("0 in", "0 in", "yes")
    job.finish("oil")
    job.do(cmd.Redo("sag"), cmd.Redo("oil"))
    assert job.wants.step == "oil", "it needs only the gap and the swing"


def test_a_check_that_is_out_comes_before_all_that_is_due() -> None:
    job = looked()
    job.do(cmd.Redo("sag"))
    job.read("0 in")
    job.do(cmd.Look("sag", LEAD, True))
    job.read("1 in", "0 in")
    job.do(cmd.Redo("sag"))
    assert (job.wants.want, job.wants.step) == ("adjust", "gap")


def test_once_all_is_good_the_job_can_be_closed() -> None:
    job = looked()
    job.read("0 in", "0 in", "yes")
    job.finish("oil")
    assert job.do(cmd.Close()) == [ev.Finished("good")]


SLOPE = """
format: 1
title: Set a post
states: {ground: the ground}
readings:
  depth: {ask: Depth of the hole, at: [left, right], keep: smallest, likely: 10 in to 40 in}
  post: {ask: Length of the post}
  slope: {ask: Slope of the ground, about: gap}
steps:
  depth: {take: depth, watches: [ground]}
  post: {after: depth, take: post, within: at least depth}
  slope: {after: post, take: slope, within: 0 in to 1/8 in, watches: [ground], out: {adjust: [ground]}}
  set: {needs: [slope], say: Set it}
"""


def test_a_reading_that_is_no_check_is_taken_again_when_what_it_depends_on_moved() -> None:
    job = drive(SLOPE)
    job.read("20 in", "20 in", "60 in", "1 in")
    job.do(cmd.Adjust("slope"))
    assert job.stale() == {"depth", "slope"}
    job.read("0 in")
    assert (job.wants.step, job.wants.place, job.wants.again) == ("depth", "left", True), "behind what moves it"
    events = job.read("19 in", "20 in")
    assert events[-1].kind == "done"
    assert job.stale() == {"post"} == {job.wants.step}, "its limit is another now"
    job.read("60 in")
    job.finish("set")
    assert job.replayed() == job.state


def test_a_reading_that_was_never_taken_does_not_go_stale() -> None:
    job = drive(SLOPE)
    job.do(cmd.Moved(("ground",)))
    assert job.stale() == set() and job.wants.step == "depth"
