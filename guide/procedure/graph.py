"""Orders and rings over names: what comes behind what, what is taken again first, what relies on what.

Linear in what is written, without recursion, and true to the file's order wherever that is free.
"""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Iterable, Mapping, Sequence

from guide.procedure.model import Step
from guide.procedure.worked import Expression

Links = Mapping[str, Sequence[str]]
"""Name -> the names it points at; a name that is no key itself is left out of account."""

MOST_PAIRS = 200_000
"""Pairs of differently linked checks that are compared for the recheck order."""


def before(steps: Mapping[str, Step]) -> dict[str, tuple[str, ...]]:
    """Step -> what it comes after and needs."""
    return {name: tuple(dict.fromkeys(step.after + step.needs)) for name, step in steps.items()}


def order(links: Links) -> tuple[str, ...]:
    """Every name behind what it points at; of those that are free, the one first in the mapping.

    Names in a ring, or behind one, are left out.
    """
    names = list(links)
    place = {name: i for i, name in enumerate(names)}
    waiting = [0] * len(names)
    behind: list[list[int]] = [[] for _ in names]
    for i, name in enumerate(names):
        for one in set(links[name]):
            if one in place:
                behind[place[one]].append(i)
                waiting[i] += 1
    free = [i for i, count in enumerate(waiting) if not count]
    found: list[str] = []
    while free:
        at = heapq.heappop(free)
        found.append(names[at])
        for i in behind[at]:
            waiting[i] -= 1
            if not waiting[i]:
                heapq.heappush(free, i)
    return tuple(found)


def components(links: Links) -> list[list[str]]:
    """Groups of names that can reach each other; each group behind those it points at.

    Tarjan's algorithm (SIAM J. Comput. 1, 1972; from memory).
    """
    index: dict[str, int] = {}
    low: dict[str, int] = {}
    open_names: set[str] = set()
    stack: list[str] = []
    found: list[list[str]] = []
    for root in links:
        if root in index:
            continue
        path = [(root, iter(links[root]))]
        index[root] = low[root] = len(index)
        stack.append(root)
        open_names.add(root)
        while path:
            name, rest = path[-1]
            for one in rest:
                if one in links and one not in index:
                    index[one] = low[one] = len(index)
                    stack.append(one)
                    open_names.add(one)
                    path.append((one, iter(links[one])))
                    break
                if one in open_names:
                    low[name] = min(low[name], index[one])
            else:
                path.pop()
                if path:
                    low[path[-1][0]] = min(low[path[-1][0]], low[name])
                if low[name] == index[name]:
                    found.append(_closed(stack, name, open_names))
    return found


def _closed(stack: list[str], name: str, open_names: set[str]) -> list[str]:
    group = []
    while True:
        one = stack.pop()
        open_names.discard(one)
        group.append(one)
        if one == name:
            return group[::-1]


def rings(links: Links) -> list[tuple[str, ...]]:
    """One shortest ring for each group of names that go round, closed: ("a", "b", "a"); begun at the earliest name."""
    place = {name: i for i, name in enumerate(links)}
    found = [
        ring_through(links, min(group, key=place.__getitem__), set(group))
        for group in components(links)
        if len(group) > 1 or group[0] in links[group[0]]
    ]
    return sorted(found, key=lambda ring: place[ring[0]])


def ring_through(links: Links, start: str, within: set[str]) -> tuple[str, ...]:
    """The shortest way from a name back to itself inside a group of names that can reach each other."""
    came_from: dict[str, str] = {}
    todo = deque([start])
    while todo:
        name = todo.popleft()
        for one in links[name]:
            if one == start:
                way = [start]
                while name != start:
                    way.append(name)
                    name = came_from[name]
                return (start, *reversed(way))
            if one in within and one not in came_from:
                came_from[one] = name
                todo.append(one)
    raise ValueError(f"{start} is in no ring")


def reached(links: Links, marks: Mapping[str, int]) -> dict[str, int]:
    """Name -> the marks (bits) of all it points at, directly or not; names in a ring reach each other."""
    found: dict[str, int] = {}
    for group in components(links):
        bits = 0
        for name in group:
            for one in links[name]:
                bits |= marks.get(one, 0) | found.get(one, 0)
        for name in group:
            found[name] = bits
    return found


def rank(checks: Mapping[str, tuple[Sequence[str], Sequence[str]]]) -> dict[str, int]:
    """Recheck order of checks, given in the procedure's order as (states a correction disturbs, states watched).

    A check comes before another when its correction disturbs what the other watches and not the other way
    round; rings of such checks, and whatever is free, keep the order given.
    """
    kinds: dict[tuple[frozenset[str], frozenset[str]], list[str]] = {}
    for name, (adjusts, watches) in checks.items():
        kinds.setdefault((frozenset(adjusts), frozenset(watches)), []).append(name)
    pairs = _disturbing_pairs(list(kinds))
    first: dict[str, list[str]] = {f"kind {i}": [] for i in range(len(kinds))}
    for i, j in pairs:
        if (j, i) not in pairs:
            first[f"kind {j}"].append(f"kind {i}")
    ring_of = {name: number for number, group in enumerate(components(first)) for name in group}
    links: dict[str, list[str]] = {}
    kind_of: dict[str, str] = {}
    for kind, names in zip(first, kinds.values(), strict=True):
        links[kind] = [f"all of {one}" for one in first[kind] if ring_of[one] != ring_of[kind]]
        links[f"all of {kind}"] = names
        kind_of.update(dict.fromkeys(names, kind))
    links.update({name: [kind_of[name]] for name in checks})
    return {name: i for i, name in enumerate(one for one in order(links) if one in checks)}


def _disturbing_pairs(kinds: Sequence[tuple[frozenset[str], frozenset[str]]]) -> set[tuple[int, int]]:
    """Pairs (i, j) where a correction of kind i disturbs what kind j watches; states with few pairs first."""
    adjusting: dict[str, list[int]] = {}
    watching: dict[str, list[int]] = {}
    for i, (adjusts, watches) in enumerate(kinds):
        for state in adjusts:
            adjusting.setdefault(state, []).append(i)
        for state in watches:
            watching.setdefault(state, []).append(i)
    states = sorted(adjusting, key=lambda state: len(adjusting[state]) * len(watching.get(state, ())))
    pairs: set[tuple[int, int]] = set()
    for state in states:
        if len(pairs) + len(adjusting[state]) * len(watching.get(state, ())) > MOST_PAIRS:
            break
        pairs.update((i, j) for i in adjusting[state] for j in watching.get(state, ()))
    return pairs


def watchers(steps: Mapping[str, Step], in_order: Iterable[str], states: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """State -> the checks that watch it, in the procedure's order; also states that nobody watches."""
    found: dict[str, list[str]] = {state: [] for state in states}
    for name in in_order:
        for state in steps[name].watches:
            found.setdefault(state, []).append(name)
    return {state: tuple(names) for state, names in found.items()}


def used_by(
    steps: Mapping[str, Step], in_order: Iterable[str], worked: Mapping[str, Expression], readings: Iterable[str]
) -> dict[str, tuple[str, ...]]:
    """Reading -> the steps that rely on it, directly or through worked figures, in the procedure's order."""
    base = bases(worked, readings)
    found: dict[str, list[str]] = {name: [] for name in base if name not in worked}
    for name in in_order:
        used = {reading for one in steps[name].uses for reading in base.get(one.partition(".")[0], ())}
        for reading in used:
            found[reading].append(name)
    return {reading: tuple(names) for reading, names in found.items()}


def bases(worked: Mapping[str, Expression], readings: Iterable[str]) -> dict[str, frozenset[str]]:
    """Reading or worked figure -> the readings it comes down to; facts come down to none."""
    found = {name: frozenset((name,)) for name in readings}
    links = {name: [one.name for one in expression.names()] for name, expression in worked.items()}
    for group in components(links):
        below = frozenset().union(*(found.get(one, frozenset()) for name in group for one in links[name]))
        found.update(dict.fromkeys(group, below))
    return found
