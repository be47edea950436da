"""Proof that shims can't do it: the certificate holds in fractions, and nothing that can be done is said impossible."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from moves_cases import STEP, combinations, task_of, tasks
from scipy.optimize import linprog

from guide.trade.frame import Frame, Spot, Unit, frame_of, wanted
from guide.trade.proof import Row, cannot, contradiction, reachable
from guide.trade.task import Task

NOTHING: dict[Spot, Fraction] = {}
PAIR = frame_of(Unit(Fraction(145, 2), Fraction(82), hinges=(Fraction(11), Fraction(42), Fraction(74))))


def by_pencil(task: Task, row: Row) -> None:
    """Check a certificate by adding up, in fractions: no move changes the sum, and the tolerances can't hold it."""
    index = {spot: at for at, spot in enumerate(task.spots)}
    for j, point in enumerate(task.points):
        change = sum((w * task.effect[index[spot]][j] for spot, w in row.weights.items()), Fraction(0))
        assert change + row.points.get(point.name, Fraction(0)) == 0
    total = sum((w * task.at[index[spot]] for spot, w in row.weights.items()), Fraction(0))
    most = sum((w * (task.high if w > 0 else task.low)[index[spot]] for spot, w in row.weights.items()), Fraction(0))
    rooms = {point.name: room for point, room in zip(task.points, task.room, strict=True)}
    most += sum((w * rooms[name][1 if w > 0 else 0] for name, w in row.points.items()), Fraction(0))
    assert row.sum == total
    assert row.allowed == most
    assert row.short_by == total - most > 0
    assert max(abs(w) for w in row.weights.values()) == 1


def linear_programme(task: Task) -> bool:
    """Whether moves of any size within their room do it, by scipy's own linear programme."""
    effect = np.array([[float(e) for e in row] for row in task.effect])
    at, low, high = (np.array([float(v) for v in values]) for values in (task.at, task.low, task.high))
    found = linprog(
        np.zeros(len(task.points)),
        A_ub=np.vstack([effect, -effect]),
        b_ub=np.concatenate([high - at, at - low]) + 1e-7,
        bounds=[(float(a), float(b)) for a, b in task.room],
    )
    return bool(found.status == 0)


@settings(max_examples=150)
@given(tasks())
def test_every_certificate_holds_by_pencil_and_by_linprog(task: Task) -> None:
    row = contradiction(task)
    assert (row is None) is linear_programme(task)
    if row is not None:
        by_pencil(task, row)


@settings(max_examples=150)
@given(tasks(), st.data())
def test_what_can_be_reached_is_never_said_impossible(task: Task, data: st.DataObject) -> None:
    moves = data.draw(st.sampled_from(list(combinations(task))))
    inside = [
        data.draw(st.sampled_from([low, (low + high) / 2, high])) for low, high in zip(task.low, task.high, strict=True)
    ]
    change = replace(task, at=(Fraction(0),) * len(task.spots)).after(moves)
    task = replace(task, at=tuple(value - by for value, by in zip(inside, change, strict=True)))
    assert task.cost(moves) is not None
    assert reachable(task)
    assert contradiction(task) is None


@settings(max_examples=60)
@given(tasks())
def test_the_set_is_smallest(task: Task) -> None:
    """Leave out any one tolerance or room of the set, and moves can do it (as far as those in the set go)."""
    row = contradiction(task)
    if row is None:
        return
    readings = [task.spots.index(spot) for spot in row.weights]
    rooms = [j for j, point in enumerate(task.points) if point.name in row.points]
    assert not reachable(task, readings, rooms)
    for one in readings:
        assert reachable(task, [i for i in readings if i != one], rooms)
    for one in rooms:
        assert reachable(task, readings, [j for j in rooms if j != one])


def test_by_hand() -> None:
    # Two readings that one point moves against each other: their sum stays 3/8, and 1/8 is allowed.
    task = task_of([Fraction(1, 4), Fraction(1, 8)], [[1], [-1]], room=99)
    row = contradiction(task)
    assert row is not None
    assert dict(row.weights) == {("reading", "0"): 1, ("reading", "1"): 1}
    assert not row.points
    assert (row.sum, row.allowed, row.short_by) == (Fraction(3, 8), Fraction(1, 8), Fraction(1, 4))


def test_room_is_part_of_the_proof() -> None:
    # One reading 1/4 out, one point with 1/8 of room: 1/4 - 1/16 - 1/8 are short.
    task = task_of([Fraction(1, 4)], [[1]], room=2)
    row = contradiction(task)
    assert row is not None
    assert dict(row.points) == {"point 0": -1}
    assert row.short_by == Fraction(1, 16)
    by_pencil(task, row)


def test_a_reading_that_nothing_moves() -> None:
    row = contradiction(task_of([Fraction(1, 8)], [[0]]))
    assert row is not None
    assert dict(row.weights) == {("reading", "0"): 1}
    assert row.short_by == Fraction(1, 16)
    row = contradiction(task_of([Fraction(-1, 8)], [[0]]))
    assert row is not None
    assert dict(row.weights) == {("reading", "0"): -1}
    assert row.short_by == Fraction(1, 16)


def test_thinner_shims() -> None:
    # Both must come to 0 exactly: 1/32 does it, a sixteenth can't.
    task = replace(task_of([Fraction(1, 32)], [[1]], half=Fraction(1, 128), margin=Fraction(0)))
    found = cannot(task, PAIR, NOTHING)
    assert found.row is None
    assert found.step == STEP / 2
    assert not found.cures
    quarter = cannot(task_of([Fraction(1, 64)], [[1]], half=Fraction(1, 256), margin=Fraction(0)), PAIR, NOTHING)
    assert quarter.step == STEP / 4
    none = cannot(task_of([Fraction(1, 128)], [[1]], half=Fraction(1, 512), margin=Fraction(0)), PAIR, NOTHING)
    assert (none.row, none.step) == (None, None)


def frame_task(frame: Frame, fault: str, amount: Fraction) -> Task:
    """A good frame with one fault of the unit, every reading taken but the sill's and the strings'."""
    spots = tuple(spot for spot in frame.spots if spot[0] not in ("sill_level", "string_gap"))
    effect = next(one.effect for one in frame.faults if one.name == fault)
    limits = wanted(spots)
    return Task(
        spots,
        tuple(limits[spot].nominal + amount * effect.get(spot, 0) for spot in spots),
        tuple(frame.effect[spot] for spot in spots),
        tuple(limits[spot].low for spot in spots),
        tuple(limits[spot].high for spot in spots),
        (Fraction(0),) * len(spots),
        frame.points,
        tuple((point.low, point.high) for point in frame.points),
    )


@pytest.mark.parametrize(
    ("fault", "amount", "how"),
    [
        ("leaf width", Fraction(1, 2), "plane the far edge"),
        ("leaf width", Fraction(-1, 2), "send the leaf back"),
        ("left leaf height", Fraction(1, 2), "plane its top"),
        ("head length", Fraction(3, 4), "send the unit back, or have the joints taken apart and recut"),
        ("leaf taper", Fraction(3, 4), "plane the far edge toward the top"),
    ],
)
def test_the_fault_that_is_there_is_among_the_cures(fault: str, amount: Fraction, how: str) -> None:
    task = frame_task(PAIR, fault, amount)
    found = cannot(task, PAIR, dict.fromkeys(task.spots, Fraction(1, 60) ** 2))
    assert found.row is not None
    by_pencil(task, found.row)
    assert found.sure
    cure = next(cure for cure in found.cures if cure.name == fault)
    assert cure.how == how
    assert 0 < abs(cure.by) <= abs(amount)
    assert (cure.by > 0) is (amount > 0)
    sizes = [abs(cure.by) for cure in found.cures]
    assert sizes == sorted(sizes)
    cured = frame_task(PAIR, fault, amount - cure.by)
    assert reachable(cured)


def test_a_gap_no_larger_than_noise_is_not_sure() -> None:
    task = task_of([Fraction(1, 8)], [[0]])
    assert not cannot(task, PAIR, {("reading", "0"): Fraction(1, 16) ** 2}).sure
    assert cannot(task, PAIR, {("reading", "0"): Fraction(1, 64) ** 2}).sure


def test_what_was_ruled_out_is_a_cure() -> None:
    freed = task_of([Fraction(1, 8), Fraction(0)], [[1, 0], [0, 1]])
    found = cannot(freed.without(["point 0", "point 1"]), PAIR, dict.fromkeys(freed.spots, Fraction(0)), freed)
    assert [(cure.what, cure.name) for cure in found.cures] == [("point", "point 0")]
    both = task_of([Fraction(1, 8), Fraction(1, 8)], [[1, 0], [0, 1]])
    found = cannot(both.without(["point 0", "point 1"]), PAIR, dict.fromkeys(both.spots, Fraction(0)), both)
    assert found.row is not None
    assert found.cures == ()
