"""Order of steps and rings among them, against another library."""

from __future__ import annotations

import itertools

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.procedure import graph


@st.composite
def links(draw: st.DrawFn, rings: bool) -> dict[str, list[str]]:
    """Up to twenty steps with random links; backwards only where there are to be no rings."""
    names = [f"s{i}" for i in range(draw(st.integers(1, 20)))]
    order = draw(st.permutations(names))
    return {
        name: draw(st.lists(st.sampled_from(names if rings else order[: order.index(name)]), unique=True, max_size=4))
        if rings or order.index(name)
        else []
        for name in names
    }


def _graph(found: dict[str, list[str]]) -> nx.DiGraph:
    made = nx.DiGraph()
    made.add_nodes_from(found)
    made.add_edges_from((before, name) for name, ones in found.items() for before in ones)
    return made


@pytest.mark.outside("networkx, lexicographical topological sort", "computed")
@given(links(rings=False))
def test_order_of_steps(found: dict[str, list[str]]) -> None:
    """The order of steps: each behind what it comes after, the file's order where that is free"""
    number = {name: i for i, name in enumerate(found)}
    assert list(graph.order(found)) == list(nx.lexicographical_topological_sort(_graph(found), key=number.__getitem__))


@pytest.mark.outside("networkx, strongly connected components and shortest paths", "computed")
@given(links(rings=True))
def test_rings_of_steps(found: dict[str, list[str]]) -> None:
    """Steps that wait for each other: every ring is found, none is made up, and the path named is a shortest one"""
    made = _graph(found)
    groups = [group for group in nx.strongly_connected_components(made) if len(group) > 1]
    groups += [{name} for name in found if made.has_edge(name, name) and not any(name in g for g in groups)]
    named = graph.rings(found)
    assert sorted(min(group, key=list(found).index) for group in groups) == sorted(ring[0] for ring in named)
    for ring in named:
        assert all(made.has_edge(two, one) for one, two in itertools.pairwise(ring))
        shortest = min(
            1 + nx.shortest_path_length(made, ring[0], before)
            for before in made.predecessors(ring[0])
            if nx.has_path(made, ring[0], before)
        )
        assert len(ring) - 1 == shortest


@pytest.mark.outside("networkx, ancestors", "computed")
@given(links(rings=True))
def test_what_comes_before(found: dict[str, list[str]]) -> None:
    """Everything that comes before a step, directly or not"""
    made = _graph(found)
    marks = {name: 1 << i for i, name in enumerate(found)}
    for name, bits in graph.reached(found, marks).items():
        before = nx.ancestors(made, name)
        on_ring = made.has_edge(name, name) or any(nx.has_path(made, name, one) for one in before)
        assert bits == sum(marks[one] for one in before | ({name} if on_ring else set()))
