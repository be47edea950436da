"""Orders and rings: stable, legal, named, and the recheck order that wastes least."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.procedure import graph
from guide.procedure.worked import parse

NAMES = [f"s{i}" for i in range(8)]
LINKS = st.fixed_dictionaries({name: st.lists(st.sampled_from(NAMES), max_size=3) for name in NAMES})
STATES = st.lists(st.sampled_from("abcd"), max_size=3, unique=True)
CHECKS = st.fixed_dictionaries({name: st.tuples(STATES, STATES) for name in NAMES})


def test_the_file_s_order_holds_where_it_is_free() -> None:
    assert graph.order({"a": [], "b": ["d"], "c": [], "d": []}) == ("a", "c", "d", "b")
    assert graph.order({"a": ["c"], "b": [], "c": []}) == ("b", "c", "a")
    assert graph.order({}) == ()


def test_names_in_a_ring_or_behind_one_have_no_order() -> None:
    assert graph.order({"a": ["b"], "b": ["a"], "c": ["b"], "d": [], "e": ["e"]}) == ("d",)


def test_links_to_what_is_not_there_are_left_out_of_account() -> None:
    links = {"a": ["zz"], "b": ["a", "a", "zz"]}
    assert graph.order(links) == ("a", "b")
    assert graph.components(links) == [["a"], ["b"]]
    assert graph.rings(links) == []
    assert graph.reached(links, {"zz": 1, "a": 2}) == {"a": 1, "b": 3}


def test_a_ring_is_named_as_a_path_from_its_earliest_name() -> None:
    assert graph.rings({"a": ["b"], "b": ["c"], "c": ["a"], "d": ["a"]}) == [("a", "b", "c", "a")]
    assert graph.rings({"a": ["a"]}) == [("a", "a")]
    assert graph.rings({"x": [], "b": ["c"], "c": ["b"], "a": ["d"], "d": ["a"]}) == [("b", "c", "b"), ("a", "d", "a")]


def test_the_shortest_ring_is_named() -> None:
    assert graph.rings({"a": ["b", "e"], "b": ["c"], "c": ["d"], "d": ["a"], "e": ["a"]}) == [("a", "e", "a")]


def test_no_way_back_is_an_error() -> None:
    with pytest.raises(ValueError, match="a is in no ring"):
        graph.ring_through({"a": ["b"], "b": []}, "a", {"a", "b"})


def test_ten_thousand_in_a_row_need_no_recursion() -> None:
    row = {f"s{i}": [f"s{i + 1}"] for i in range(10_000)} | {"s10000": []}
    assert graph.order(row) == tuple(reversed(list(row)))
    assert len(graph.components(row)) == 10_001
    closed = {**row, "s10000": ["s0"]}
    assert len(graph.rings(closed)[0]) == 10_002


@given(LINKS)
def test_each_group_stands_behind_what_it_points_at(links: dict[str, list[str]]) -> None:
    groups = graph.components(links)
    assert sorted(name for group in groups for name in group) == sorted(links)
    seen: set[str] = set()
    for group in groups:
        seen.update(group)
        assert all(one in seen for name in group for one in links[name])


@given(LINKS)
def test_every_ring_goes_round(links: dict[str, list[str]]) -> None:
    for ring in graph.rings(links):
        assert ring[0] == ring[-1]
        assert len(set(ring)) == len(ring) - 1
        assert all(two in links[one] for one, two in itertools.pairwise(ring))


@given(LINKS)
def test_marks_are_those_of_everything_behind(links: dict[str, list[str]]) -> None:
    marks = {name: 1 << i for i, name in enumerate(NAMES)}

    def plainly(name: str, seen: set[str]) -> set[str]:
        for one in links[name]:
            if one not in seen:
                seen.add(one)
                plainly(one, seen)
        return seen

    found = graph.reached(links, marks)
    for name in NAMES:
        assert found[name] == sum(marks[one] for one in plainly(name, set()))


def test_a_check_whose_correction_disturbs_another_comes_first() -> None:
    checks = {
        "reveal": (["leaf"], ["leaf"]),
        "level": (["leaf", "frame"], ["frame"]),
        "lock": (["lock"], ["leaf", "lock"]),
    }
    assert graph.rank(checks) == {"level": 0, "reveal": 1, "lock": 2}


def test_checks_that_disturb_each_other_keep_the_order_given() -> None:
    checks = {"square": (["frame"], ["frame"]), "plumb": (["frame"], ["frame"]), "level": (["frame"], ["frame"])}
    assert list(graph.rank(checks)) == ["square", "plumb", "level"]


def test_a_ring_of_corrections_keeps_the_order_given() -> None:
    checks = {"a": (["y"], ["x"]), "b": (["z"], ["y"]), "c": (["x"], ["z"]), "d": ([], ["x"])}
    assert list(graph.rank(checks)) == ["a", "b", "c", "d"]
    backwards = {"d": ([], ["x"]), "c": (["x"], ["z"]), "b": (["z"], ["y"]), "a": (["y"], ["x"])}
    assert list(graph.rank(backwards)) == ["c", "d", "b", "a"], "d is in no ring, and watches what c disturbs"


@given(CHECKS)
def test_recheck_order_against_its_definition(checks: dict[str, tuple[list[str], list[str]]]) -> None:
    def disturbs(one: str, two: str) -> bool:
        return bool(set(checks[one][0]) & set(checks[two][1]))

    rank = graph.rank(checks)
    assert sorted(rank.values()) == list(range(len(checks)))
    first = {two: [one for one in checks if disturbs(one, two) and not disturbs(two, one)] for two in checks}
    ring_of = {name: i for i, group in enumerate(graph.components(first)) for name in group}
    for two in checks:
        for one in first[two]:
            assert rank[one] < rank[two] or ring_of[one] == ring_of[two]
    names = list(checks)
    for i, one in enumerate(names):
        for two in names[i + 1 :]:
            if ring_of[one] == ring_of[two]:
                assert rank[one] < rank[two], "within a ring the order given holds"


def test_the_recheck_order_of_very_many_checks_is_found_all_the_same() -> None:
    checks = {f"c{i}": ([f"x{i}", f"x{i + 1}"], [f"x{i}"]) for i in range(5000)}
    assert list(graph.rank(checks)) == list(checks)
    backwards = dict(reversed(checks.items()))
    assert list(graph.rank(backwards)) == list(checks)
    tangled = {f"c{i}": (["x", f"y{i}"], ["x", f"z{i}"]) for i in range(2000)}
    assert list(graph.rank(tangled)) == list(tangled)


def test_what_worked_figures_come_down_to() -> None:
    worked = {"a": parse("x + fact"), "b": parse("2 * a - y.top"), "c": parse("fact")}
    found = graph.bases(worked, ["x", "y"])
    assert found == {"x": {"x"}, "y": {"y"}, "a": {"x"}, "b": {"x", "y"}, "c": set()}
