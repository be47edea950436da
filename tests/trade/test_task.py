"""What is to be put right, exactly: verdicts at the very edge, what is given up, and parts that don't touch."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from moves_cases import STEP, combinations, task_of, tasks

from guide.trade.task import GIVEN_UP, TRAVEL, Task, by_point

HAIR = Fraction(1, 10**15)


def test_the_edge_is_inside_and_a_hair_beyond_is_not() -> None:
    half = Fraction(1, 16)
    for edge in (half, -half):
        assert task_of([edge], [[1]]).cost([Fraction(0)]) is not None
        assert task_of([edge * (1 + HAIR)], [[1]]).cost([Fraction(0)]) is None


def test_a_third_of_a_move_is_judged_exactly() -> None:
    # 1/16 + 1/3 x 1/16 - 1/48 is 1/16 in fractions; in floats it is not always.
    task = task_of([Fraction(1, 16) - Fraction(1, 48)], [[Fraction(1, 3)]])
    assert task.after([STEP]) == (Fraction(1, 16),)
    assert task.cost([STEP]) is not None
    assert task_of([Fraction(1, 16) - Fraction(1, 48) + HAIR], [[Fraction(1, 3)]]).cost([STEP]) is None


def test_cost_by_hand() -> None:
    task = task_of([Fraction(1, 8), Fraction(3, 64)], [[1, 0], [0, 1]])
    assert task.cost([-STEP, Fraction(0)]) == 1 + GIVEN_UP * (1 + Fraction(1, 2)) + TRAVEL
    assert task.cost([-2 * STEP, Fraction(0)]) == 1 + GIVEN_UP / 2 + 2 * TRAVEL
    assert task.cost([-2 * STEP, -STEP]) == 2 + 3 * TRAVEL
    assert task.cost([Fraction(0), Fraction(0)]) is None
    assert task.cost([-3 * STEP, Fraction(0)]) is None
    assert task.cost([-STEP / 2, Fraction(0)]) is None


def test_given_up_by_hand() -> None:
    task = task_of([Fraction(1, 16), Fraction(0), Fraction(-3, 64)], [[1], [1], [1]])
    assert task.given_up(task.at) == (Fraction(1, 32), Fraction(0), Fraction(1, 64))
    assert task.given_up((Fraction(1), Fraction(0), Fraction(0))) is None


def test_ruled_out_points_stay() -> None:
    task = task_of([Fraction(1, 8)], [[1, 1]]).without(["point 0"])
    assert not task.allowed([STEP, Fraction(0)])
    assert task.allowed([Fraction(0), STEP])
    assert task.without([]) == task
    assert by_point(task, [Fraction(0), STEP]) == {"point 1": STEP}


def test_finer_shims() -> None:
    task = task_of([Fraction(1, 8)], [[1]])
    assert not task.allowed([STEP / 2])
    assert task.stepped(STEP / 2).allowed([STEP / 2])


@given(tasks())
def test_parts_cost_what_the_whole_costs(task: Task) -> None:
    parts = task.parts()
    readings = [i for part, _ in parts for i in part]
    assert sorted(readings) == list(range(len(task.spots)))
    for part, points in parts:
        others = [i for i in range(len(task.spots)) if i not in part]
        assert not any(task.effect[i][j] for i in others for j in points)
    for moves in list(combinations(task))[:20]:
        costs = [task.part(part, points).cost([moves[j] for j in points]) for part, points in parts]
        touched = {j for _, points in parts for j in points}
        idle = any(move for j, move in enumerate(moves) if j not in touched)
        whole = task.cost(moves)
        if not idle:
            assert whole == (None if None in costs else sum(cost for cost in costs if cost is not None))


@given(tasks())
def test_everything_is_a_fraction(task: Task) -> None:
    for moves in list(combinations(task))[:10]:
        assert all(type(value) is Fraction for value in task.after(moves))
        cost = task.cost(moves)
        assert cost is None or isinstance(cost, Fraction | int)
        assert not isinstance(cost, float)
