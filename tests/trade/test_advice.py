"""What to do next, as a function of the rounds: done, read again, move, can't be done, or the lead."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from moves_cases import mirror_name, mirrored

from guide.trade import advice
from guide.trade.advice import Case, advise, current, first_answer, moved, out_of, since_moved, with_round
from guide.trade.frame import Spot, Unit, frame_of, wanted
from guide.trade.learn import Round
from guide.trade.solver import SolverMissing

PAIR = frame_of(Unit(Fraction(145, 2), Fraction(82), hinges=(Fraction(11), Fraction(42), Fraction(74))))
SPOTS = tuple(spot for spot in PAIR.spots if spot[0] != "string_gap")
LIMITS = wanted(SPOTS)
GOOD = {spot: one.nominal for spot, one in LIMITS.items()}
NAMES = [point.name for point in PAIR.points]


def after(now: Mapping[Spot, Fraction], moves: Mapping[str, Fraction]) -> dict[Spot, Fraction]:
    """The readings of a frame that does just what it is told."""
    return PAIR.after(now, [moves.get(name, Fraction(0)) for name in NAMES])


def case(now: Mapping[Spot, Fraction], **more: object) -> Case:
    """A case with one round of readings."""
    return Case(PAIR, (Round(now),), LIMITS, **more)  # type: ignore[arg-type]


OFF = {"left top hinge": Fraction(1, 4), "head": Fraction(3, 16), "top left corner": Fraction(-1, 4)}
OUT = after(GOOD, OFF)


def test_all_good_is_done() -> None:
    said = advise(case(GOOD))
    assert (said.kind, said.steps, said.say) == ("done", (), ("Every reading is good.",))


def test_good_so_far_asks_for_the_rest() -> None:
    part = {spot: GOOD[spot] for spot in SPOTS[:4]}
    said = advise(case(part))
    assert said.kind == "read again"
    assert said.again == SPOTS[4:]
    assert said.say[0].startswith("Take these as well: ")


def test_moves_that_put_everything_right_at_once() -> None:
    said = advise(case(OUT), 20.0)
    assert said.kind == "move"
    assert said.inside
    assert said.proven_fewest
    assert 0 < len(said.steps) <= len(OFF)
    moves = {step.point: step.by for step in said.steps}
    now = after(OUT, moves)
    assert said.after == now
    assert not out_of(case(now), now)
    assert advise(with_round(case(OUT), Round(now, moves))).kind == "done"
    for step in said.steps:
        point = next(point for point in PAIR.points if point.name == step.point)
        assert step.direction == point.direction(step.by)
        assert step.direction in step.say.lower()
        assert point.low <= step.by <= point.high
        assert (step.by * 16).denominator == 1
    assert said.say[-len(said.steps) :] == tuple(step.say for step in said.steps)


def test_a_misread_figure_is_read_again_before_any_move() -> None:
    spot = ("square", "top left")
    said = advise(case(OUT | {spot: OUT[spot] + Fraction(1, 4)}))
    assert said.kind == "read again"
    assert spot in said.again
    assert not said.steps
    assert said.suspicion is not None
    right = with_round(case(OUT | {spot: OUT[spot] + Fraction(1, 4)}), Round({spot: OUT[spot]}))
    assert advise(right).kind == "move"


def test_what_is_read_the_same_again_is_believed() -> None:
    spot = ("square", "top left")
    odd = OUT | {spot: OUT[spot] + Fraction(1, 4)}
    now = case(odd)
    for _ in range(5):
        said = advise(now)
        if said.kind != "read again":
            break
        now = with_round(now, Round({one: odd[one] for one in said.again}))
    assert said.kind in ("move", "cannot")


def test_without_doubts_nothing_is_asked_again() -> None:
    spot = ("square", "top left")
    assert advise(case(OUT | {spot: OUT[spot] + Fraction(1, 4)}, doubts=False)).kind in ("move", "cannot")


def test_ruled_out_points_are_not_moved() -> None:
    first = {step.point for step in advise(case(OUT)).steps}
    for name in first:
        said = advise(case(OUT, ruled_out=frozenset([name])))
        assert name not in {step.point for step in said.steps}
        assert said.kind in ("move", "cannot", "lead")


def test_ruling_out_the_only_way_is_told_with_what_would_do_it() -> None:
    now = GOOD | {("flush", "top left"): Fraction(3, 8), ("plumb_across", "left side"): Fraction(-15, 41)}
    now[("twist", "")] = Fraction(3, 8)
    said = advise(case(now, ruled_out=frozenset(name for name in NAMES if name.endswith("corner")), doubts=False))
    assert said.kind == "cannot"
    assert said.cannot is not None
    assert said.cannot.row is not None
    assert ("point", "top left corner") in [(cure.what, cure.name) for cure in said.cannot.cures]
    assert any("top left corner: let it be moved after all" in line for line in said.say)


def test_a_wrong_unit_cannot_be_shimmed() -> None:
    effect = next(fault.effect for fault in PAIR.faults if fault.name == "leaf width")
    said = advise(case({spot: by + Fraction(1, 2) * effect.get(spot, 0) for spot, by in GOOD.items()}))
    assert said.kind == "cannot"
    assert not said.steps
    assert said.cannot is not None
    assert said.cannot.sure
    assert "leaf width" in [cure.name for cure in said.cannot.cures]
    assert said.suspicion is not None
    assert said.suspicion.named[0].name == "leaf width"


def test_rooms_are_used_up_by_what_was_moved() -> None:
    now = case(OUT, room={"top left corner": (Fraction(-1, 16), Fraction(1, 8))})
    once = {"top left corner": Fraction(1, 16)}
    now = with_round(now, Round(after(OUT, once), once))
    assert moved(now) == once
    task = advice.task_of(now, advice._learn(now))
    assert task.room[NAMES.index("top left corner")] == (Fraction(-1, 8), Fraction(1, 16))


def test_a_move_the_other_way_is_said() -> None:
    start = case(OUT)
    told = {step.point: step.by for step in advise(start).steps}
    point = max(told, key=lambda name: abs(told[name]))
    made = told | {point: -told[point]}
    said = advise(with_round(start, Round(after(OUT, made), told)))
    assert any("had the opposite effect" in line and point in line for line in said.say)
    assert said.kind == "move"
    assert {step.point for step in said.steps} == {point}
    assert {step.by for step in said.steps} == {2 * told[point]}


def test_a_figure_that_does_not_go_with_a_move_is_read_again() -> None:
    start = case(OUT)
    told = {step.point: step.by for step in advise(start).steps}
    now = after(OUT, told)
    spot = ("hinge_reveal", "right middle")
    said = advise(with_round(start, Round(now | {spot: now[spot] + Fraction(3, 16)}, told)))
    assert said.kind == "read again"
    assert said.again == (spot,)


def test_a_frame_that_never_answers_ends_with_the_lead() -> None:
    now = case(OUT)
    for _ in range(advice.PATIENCE + 3):
        said = advise(now)
        if said.kind == "read again":
            now = with_round(now, Round({spot: OUT[spot] for spot in said.again}))
        elif said.kind == "move":
            now = with_round(now, Round(OUT, {step.point: step.by for step in said.steps}))
        else:
            break
    assert said.kind == "lead"
    assert "Whoever leads decides." in said.say[-1]


def test_only_the_latest_readings_count() -> None:
    now = with_round(case(OUT), Round({("twist", ""): Fraction(0)}))
    assert current(now) == OUT | {("twist", ""): Fraction(0)}
    told = {"head": Fraction(1, 16)}
    now = with_round(now, Round({("head_level", ""): Fraction(0)}, told))
    assert current(now) == {("head_level", ""): Fraction(0)}
    assert len(since_moved(now)) == 1
    assert len(since_moved(with_round(now, Round({("twist", ""): Fraction(0)})))) == 2


def test_verdicts_are_exact() -> None:
    spot, hair = ("hinge_reveal", "left top"), Fraction(1, 10**18)
    edge = LIMITS[spot].high
    assert advise(case(GOOD | {spot: edge})).kind == "done"
    assert out_of(case(GOOD), GOOD | {spot: edge + hair}) == [spot]
    assert advise(case(GOOD | {spot: edge + hair})).kind != "done"
    said = advise(case(OUT))
    assert said.after is not None
    assert all(type(by) is Fraction for by in said.after.values())


def test_places_must_be_even() -> None:
    now = GOOD | {("meeting_gap", "top"): Fraction(11, 64), ("meeting_gap", "bottom"): Fraction(5, 64)}
    assert advise(case(now)).kind == "done"
    uneven = case(now, even={"meeting_gap": Fraction(1, 16)}, doubts=False)
    assert set(out_of(uneven, now)) == {("meeting_gap", "top"), ("meeting_gap", "bottom")}
    said = advise(uneven)
    assert said.kind == "move"
    assert said.after is not None
    gaps = [by for spot, by in said.after.items() if spot[0] == "meeting_gap"]
    assert max(gaps) - min(gaps) <= Fraction(1, 16)
    assert advise(case(now, even={"hinge_reveal": Fraction(1, 16)})).kind == "done"


def test_the_answer_at_once_is_there_without_the_programme() -> None:
    quick = first_answer(case(OUT))
    assert quick.inside
    assert not quick.proven
    with pytest.raises(ValueError, match="no readings"):
        first_answer(case({}))


def test_no_readings() -> None:
    with pytest.raises(ValueError, match="no readings"):
        advise(case({}))


def test_out_of_time_the_quick_answer_is_given_and_not_called_fewest(monkeypatch: pytest.MonkeyPatch) -> None:
    def late(*_: object) -> None:
        raise TimeoutError

    monkeypatch.setattr(advice, "fewest", late)
    said = advise(case(OUT))
    assert said.kind == "move"
    assert said.inside
    assert not said.proven_fewest


def test_without_scipy_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "scipy.optimize", None)
    with pytest.raises(SolverMissing):
        advise(case(OUT))


offs = st.dictionaries(
    st.sampled_from(NAMES[2:]), st.integers(-5, 5).map(lambda n: Fraction(n, 16)), min_size=1, max_size=4
)


@settings(max_examples=12)
@given(offs)
def test_mirrored_readings_give_mirrored_advice(off: dict[str, Fraction]) -> None:
    now = after(GOOD, off)
    here, there = advise(case(now), 20.0), advise(case(mirrored(now)), 20.0)
    assert here.kind == there.kind
    assert len(here.steps) == len(there.steps)
    assert here.inside == there.inside
    turned = {point.name: -1 if point.kind == "along" else 1 for point in PAIR.points}
    moves = {mirror_name(step.point): turned[step.point] * step.by for step in here.steps}
    if moves != {step.point: step.by for step in there.steps}:
        task = advice.task_of(case(mirrored(now)), advice._learn(case(mirrored(now))))
        costs = [
            task.cost([steps.get(name, Fraction(0)) for name in NAMES])
            for steps in (moves, {step.point: step.by for step in there.steps})
        ]
        assert None not in costs
        assert float(costs[0] or 0) == pytest.approx(float(costs[1] or 0), abs=1e-4)


@settings(max_examples=12)
@given(offs)
def test_a_frame_that_does_as_told_is_done_in_one_round(off: dict[str, Fraction]) -> None:
    now = after(GOOD, off)
    said = advise(replace(case(now), doubts=False))
    if said.kind == "move" and said.inside:
        moves = {step.point: step.by for step in said.steps}
        assert len(said.steps) <= len([by for by in off.values() if by]) + 1
        assert advise(with_round(case(now), Round(after(now, moves), moves))).kind == "done"
    else:
        assert said.kind in ("done", "move", "cannot", "lead")
