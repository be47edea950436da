"""The fewest moves: every combination tried on small cases proves them, and what comes back is judged exactly."""

from __future__ import annotations

import itertools
import time
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from moves_cases import STEP, combinations, elastic_cost, least_cost, task_of, tasks

from guide.trade import moves as planning
from guide.trade.frame import Unit, frame_of, wanted
from guide.trade.moves import Plan, at_once, fewest, in_order, least_excess, plan_of
from guide.trade.solver import Found, Programme
from guide.trade.task import Task

NEAR = Fraction(1, 10**6)
"""The solver's own rounding of a cost, counted in moves: two costs nearer than this are one to it."""


@settings(max_examples=150)
@given(tasks())
def test_fewest_is_the_least_of_all_combinations(task: Task) -> None:
    found, least = fewest(task, 10.0), least_cost(task)
    if found is None or least is None:
        assert found is None
        assert least is None
        return
    assert found.proven
    assert found.inside
    assert found.cost == task.cost(found.moves)
    assert found.cost is not None
    assert least <= found.cost <= least + NEAR


@settings(max_examples=80)
@given(tasks(most_points=3))
def test_least_excess_is_the_least_of_all_combinations(task: Task) -> None:
    found = least_excess(task, 10.0)
    assert task.allowed(found.moves)
    least = min(elastic_cost(task, moves) for moves in combinations(task))
    assert elastic_cost(task, found.moves) <= least + NEAR
    assert not found.proven


@given(tasks())
def test_the_answer_at_once_is_judged_exactly(task: Task) -> None:
    found = at_once(task)
    assert task.allowed(found.moves)
    assert found == plan_of(task, found.moves)
    assert found.inside is (task.cost(found.moves) is not None)
    assert not found.proven
    least = least_cost(task)
    if found.inside:
        assert least is not None
        assert found.cost is not None
        assert found.cost >= least


def test_nothing_to_do_costs_nothing() -> None:
    found = fewest(task_of([0, 0], [[1], [0]]))
    assert found is not None
    assert (found.count, found.proven) == (0, True)
    assert found.cost == 0


def test_a_reading_that_nothing_moves() -> None:
    assert fewest(task_of([Fraction(1, 8)], [[0]])) is None
    inside = fewest(task_of([Fraction(3, 64)], [[0]]))
    assert inside is not None
    assert inside.count == 0


def test_two_readings_one_move_and_never_over_the_edge() -> None:
    # One move of 1/16 puts both right, the first exactly on its edge; turned round it would put the second out.
    assert fewest(task_of([Fraction(1, 8), Fraction(1, 16)], [[1], [-1]], margin=Fraction(0))) is None
    found = fewest(task_of([Fraction(1, 8), Fraction(1, 16)], [[1], [1]], margin=Fraction(0), room=1))
    assert found is not None
    assert found.moves == (-STEP,)
    assert found.after == (Fraction(1, 16), Fraction(0))


def test_the_margin_is_worth_a_move_but_the_tolerance_is_never_given_up() -> None:
    # On the edge of its tolerance with the whole margin gone: 2 moves' worth, so one move is made.
    on_edge = fewest(task_of([Fraction(1, 16)], [[1]]))
    assert on_edge is not None
    assert on_edge.count == 1
    # Half of the margin gone: one move's worth and no more, so it stays.
    half = fewest(task_of([Fraction(3, 64)], [[1]]))
    assert half is not None
    assert half.count == 0


def test_of_answers_alike_the_one_that_moves_less() -> None:
    found = fewest(task_of([Fraction(1, 8)], [[1, Fraction(1, 2)]], margin=Fraction(0)))
    assert found is not None
    assert found.moves == (-STEP, Fraction(0))


def test_ruled_out_points_are_left_alone() -> None:
    task = task_of([Fraction(1, 8)], [[1, Fraction(1, 2)]]).without(["point 0"])
    found = fewest(task)
    assert found is not None
    assert found.moves == (Fraction(0), -2 * STEP)
    assert fewest(task.without(["point 1"])) is None


class Slips:
    """A solver whose rounding lets a reading over its edge the first time."""

    def __init__(self, answers: list[Found]) -> None:
        self.answers, self.asked = answers, list[Programme]()

    def __call__(self, programme: Programme, seconds: float) -> Found:
        self.asked.append(programme)
        return self.answers[min(len(self.asked), len(self.answers)) - 1]


def test_what_the_solver_rounds_over_an_edge_is_not_believed(monkeypatch: pytest.MonkeyPatch) -> None:
    task = task_of([Fraction(3, 16)], [[1]])
    slips = Slips([Found((-1.0, 1.0, 1.0, 0.0), True), Found((-2.0, 1.0, 2.0, 0.0), True)])
    monkeypatch.setattr(planning, "solve", slips)
    found = fewest(task)
    assert found is not None
    assert found.moves == (-2 * STEP,)
    assert len(slips.asked) == 2
    assert slips.asked[1].high[0] < slips.asked[0].high[0]


def test_a_solver_that_goes_on_slipping_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(planning, "solve", Slips([Found((-1.0, 1.0, 1.0, 0.0), True)]))
    with pytest.raises(TimeoutError, match="rounding"):
        fewest(task_of([Fraction(3, 16)], [[1]]))


def test_what_is_not_settled_in_time_is_not_called_fewest(monkeypatch: pytest.MonkeyPatch) -> None:
    task = task_of([Fraction(1, 8)], [[1]])
    monkeypatch.setattr(planning, "solve", Slips([Found((-2.0, 1.0, 2.0, 0.0), False)]))
    found = fewest(task)
    assert found is not None
    assert found.inside
    assert not found.proven
    monkeypatch.setattr(planning, "solve", Slips([Found(None, False)]))
    with pytest.raises(TimeoutError, match="in time"):
        fewest(task)
    assert least_excess(task).moves == at_once(task).moves


PAIR = frame_of(Unit(Fraction(145, 2), Fraction(82), hinges=(Fraction(11), Fraction(42), Fraction(74))))


def pair_task(seed: int) -> Task:
    """The pair, every point off by some sixteenths, every reading of the model."""
    off = [Fraction((7 * n + 3 * seed) % 9 - 4, 16) for n in range(len(PAIR.points))]
    limits = wanted(PAIR.spots)
    now = PAIR.after({spot: one.nominal for spot, one in limits.items()}, off)
    return Task(
        PAIR.spots,
        tuple(now.values()),
        tuple(PAIR.effect[spot] for spot in PAIR.spots),
        tuple(one.low for one in limits.values()),
        tuple(one.high for one in limits.values()),
        tuple((one.high - one.low) / 4 for one in limits.values()),
        PAIR.points,
        tuple((point.low, point.high) for point in PAIR.points),
    )


def test_a_pair_put_back_where_it_was() -> None:
    task = pair_task(1)
    found = fewest(replace(task, room=((-Fraction(1, 2), Fraction(1, 2)),) * len(PAIR.points)), 20.0)
    assert found is not None
    assert found.inside
    assert found.proven
    assert found.count <= len(PAIR.points) - 2
    quick = at_once(replace(task, room=((-Fraction(1, 2), Fraction(1, 2)),) * len(PAIR.points)))
    assert not quick.inside or (quick.cost is not None and found.cost is not None and quick.cost >= found.cost)


def test_the_time_limit_is_kept_on_a_pair() -> None:
    """With no time at all there is no answer, or one that isn't called the fewest; nothing hangs."""
    start = time.monotonic()
    try:
        found = fewest(pair_task(2), 0.0)
    except TimeoutError:
        found = None
    assert found is None or not found.proven
    assert time.monotonic() - start < 60


def out_on_the_way(task: Task, moves: tuple[Fraction, ...], order: tuple[int, ...]) -> Fraction:
    """How far readings are out, summed over the states between the moves, exactly."""
    made, total = [Fraction(0)] * len(moves), Fraction(0)
    for j in order:
        made[j] = moves[j]
        stand = task.after(made)
        total += sum(
            max(Fraction(0), low - v, v - high) for v, low, high in zip(stand, task.low, task.high, strict=True)
        )
    return total


@settings(max_examples=60)
@given(tasks())
def test_the_order_leaves_the_readings_out_by_least(task: Task) -> None:
    moves = at_once(task).moves
    order = in_order(task, moves)
    moving = [j for j, move in enumerate(moves) if move]
    assert sorted(order) == moving
    every = [out_on_the_way(task, moves, way) for way in itertools.permutations(moving)]
    assert float(out_on_the_way(task, moves, order)) == pytest.approx(float(min(every)), abs=1e-7)


def test_alike_orders_go_as_the_points_stand() -> None:
    task = task_of([0, 0, 0], [[0, 0, 0]] * 3)
    assert in_order(task, [STEP, STEP, STEP]) == (0, 1, 2)
    assert in_order(task, [STEP, Fraction(0), STEP]) == (0, 2)
    assert in_order(task, [Fraction(0)] * 3) == ()


def test_many_moves_are_ordered_one_after_the_other() -> None:
    count = 14
    effect = [[int(i == j) for j in range(count)] for i in range(count)]
    task = task_of([Fraction(n + 2, 16) for n in range(count)], effect)
    order = in_order(task, [-STEP * (n + 2) for n in range(count)])
    assert order == tuple(reversed(range(count)))


def test_a_plan_counts_its_moves() -> None:
    plan = Plan((STEP, Fraction(0), -STEP), (), True, False, Fraction(2))
    assert plan.count == 2
