"""Holes that choices leave: the exact words and place of each fault."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

import pytest
from faulty import HEAD, Expected, assert_faults, examined, good
from hypothesis import given
from hypothesis import strategies as st

from guide.procedure.choices import together, uncovered

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "needs switched off": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
readings:
  slope: {ask: Slope}
steps:
  set: {say: Set it., disturbs: [pan], when: {wall: [wood, brick]}}
  slope: {after: set, when: {pan: metal}, take: slope, within: 0 in to 1 in, watches: [pan]}
  bed: {after: set, needs: ▸slope, say: Lay it.}
""",
        [
            (
                'step "bed" needs "slope", which is not in the job when "pan" is "none"',
                'Give "bed" the same "when", and a twin for the rest; or put "slope" in "after".',
            ),
        ],
    ),
    "order lost": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: A b., when: {wall: [wood, brick]}}
  b: {after: a, when: {pan: metal}, say: A b.}
  x: {say: A b.}
  c: {after: [▸b, x], say: A b.}
""",
        [
            (
                (
                    'step "c" comes behind "b", which is not in the job when "pan" is "none"; then '
                    'nothing keeps it behind "a"'
                ),
                'Add "a" to "after" of "c".',
            ),
        ],
    ),
    "nothing before": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: A b., when: {wall: wood}}
  b: {when: {pan: metal}, say: A b.}
  c: {after: ▸a, say: A b.}
""",
        [
            (
                'nothing of what step "c" comes behind ("a") is in the job when "wall" is "brick"',
                'Name in "after" of "c" a step that is in the job then as well.',
            ),
        ],
    ),
    "never together": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
steps:
  a: {say: A b., when: {wall: wood}}
  b: {say: A b., when: {pan: metal}}
  c: {after: ▸b, when: {pan: none}, say: A b.}
""",
        [
            (
                'step "c" names "b" in "after", and the two are never in the same job',
                'Take it out of "after", or look at the "when" of both.',
            ),
        ],
    ),
    "reading switched off": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
readings:
  x: {ask: X, likely: 0 in to 1 in}
steps:
  z: {say: A b., when: {wall: wood}}
  a: {take: x, when: {pan: metal}}
  y: {say: A b.}
  b: {after: [a, y], say: 'Trim it to ▸{x}.'}
""",
        [
            (
                'step "b" uses "x", which is not taken when "pan" is "none"',
                'Give "b" the same "when", or take the reading in a step that is always in the job.',
            ),
        ],
    ),
    "reading never together": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
readings:
  x: {ask: X, likely: 0 in to 1 in}
steps:
  z: {say: A b., when: {wall: wood}}
  a: {take: x, when: {pan: metal}}
  b: {say: 'Trim it to ▸{x}.', when: {pan: none}}
""",
        [
            (
                'step "b" uses "x", and the step that takes it is never in the same job',
                'Give "b" the same "when", or take the reading in a step that is always in the job.',
            ),
        ],
    ),
    "hazard switched off": (
        """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
make-safe: {open: {say: Shut it.}}
steps:
  z: {say: A b., when: {wall: wood}}
  a: {say: A b., leaves: ▸open}
  b: {after: a, say: A b., secures: open, when: {pan: metal}}
""",
        [
            ('step "a" leaves "open", and no step secures it when "pan" is "none"', "Add a step that ends it then."),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])


CHOICES = """
choices:
  pan: {ask: Is there a pan, options: {metal: a metal pan, plastic: a plastic pan, none: no pan}}
  wall: {ask: Which wall, options: {wood: wood, brick: brick}}
"""

WITHOUT_HOLES = {
    "a step behind one that can be switched off, and behind what that one comes behind": """
  a: {say: A b.}
  b: {after: a, when: {pan: metal}, say: A b.}
  c: {after: [a, b], say: A b.}
""",
    "the same condition all along": """
  a: {say: A b.}
  b: {after: a, when: {pan: [metal, plastic]}, take: gap, within: 0 in to 1 in}
  c: {after: a, needs: b, when: {pan: metal}, say: "It is {gap}."}
""",
    "one of several steps is always there": """
  a: {when: {pan: metal}, say: A b.}
  b: {when: {pan: [plastic, none]}, say: A b.}
  c: {after: [a, b], say: A b.}
""",
    "a reading taken in one of two ways": """
  a: {when: {wall: wood}, take: gap}
  b: {when: {wall: brick}, take: gap}
  c: {after: [a, b], say: "It is {gap}."}
""",
    "a hazard ended in one of two ways": """
  a: {say: A b., leaves: open}
  b: {after: a, when: {wall: wood}, say: A b., secures: open}
  c: {after: a, when: {wall: brick, pan: none}, say: A b., secures: open}
  d: {after: a, when: {wall: brick, pan: [metal, plastic]}, say: A b., secures: open}
""",
    "a ring in no one job": """
  a: {take: gap, within: 0 in to 1 in, watches: [p], disturbs: [q], when: {wall: wood}}
  b: {take: gap, within: 0 in to 1 in, watches: [q], disturbs: [p], when: {wall: brick}}
""",
}


@pytest.mark.parametrize("name", WITHOUT_HOLES)
def test_no_hole(name: str) -> None:
    gap = "readings: {gap: {ask: Gap, likely: 0 in to 1 in}}\n" if "gap" in WITHOUT_HOLES[name] else ""
    hazard = "make-safe: {open: {say: Shut it.}}\n" if "open" in WITHOUT_HOLES[name] else ""
    assert good(f"{CHOICES}{gap}{hazard}steps:{WITHOUT_HOLES[name]}").choices


def test_each_way_in_which_a_step_is_left_hanging_is_told_with_its_options() -> None:
    _, faults, _ = examined(
        f"""{HEAD}{CHOICES}
readings: {{gap: {{ask: Gap, likely: 0 in to 1 in}}}}
steps:
  a: {{say: A b.}}
  b: {{after: a, when: {{wall: brick, pan: none}}, take: gap}}
  c: {{after: b, when: {{pan: [none, metal]}}, say: "It is {{gap}}."}}
"""
    )
    assert [fault.message for fault in faults] == [
        'step "c" comes behind "b", which is not in the job when "pan" is "metal"; then nothing keeps it behind "a"',
        'step "c" uses "gap", which is not taken when "wall" is "wood"',
    ]


def test_very_many_choices_are_gone_through_one_at_a_time() -> None:
    choices = "".join(f"  c{i}: {{ask: A b, options: {{a: a b, b: b c}}}}\n" for i in range(20))
    steps = "  s: {say: A b.}\n" + "".join(f"  s{i}: {{after: s, when: {{c{i}: a}}, say: A b.}}\n" for i in range(20))
    _, faults, _ = examined(f"{HEAD}choices:\n{choices}steps:\n{steps}  t: {{after: [s1, s2], say: A b.}}\n")
    assert [fault.message for fault in faults] == [
        'nothing of what step "t" comes behind ("s1", "s2") is in the job when "c1" is "b" and "c2" is "b"',
    ]


_CONDITIONS = st.dictionaries(
    st.sampled_from("xyz"), st.sets(st.sampled_from("123"), min_size=1).map(frozenset), max_size=3
)
_OPTIONS = {choice: frozenset("123") for choice in "xyz"}


@given(_CONDITIONS, st.lists(_CONDITIONS, max_size=4))
def test_what_is_not_covered_against_every_combination(
    condition: dict[str, frozenset[str]], covers: list[dict[str, frozenset[str]]]
) -> None:
    jobs = [dict(zip("xyz", picked, strict=True)) for picked in itertools.product("123", repeat=3)]

    def holds(one: Mapping[str, frozenset[str]], job: Mapping[str, str]) -> bool:
        return all(job[choice] in wanted for choice, wanted in one.items())

    left = [job for job in jobs if holds(condition, job) and not any(holds(cover, job) for cover in covers)]
    found = uncovered(condition, covers, _OPTIONS)
    assert (found is not None) == bool(left)
    if found is not None:
        named = [job for job in jobs if holds(condition, job) and all(job[c] == o for c, o in found.items())]
        assert named
        assert all(job in left for job in named), "the options named are enough by themselves"
    assert together(condition, *covers) == any(
        holds(condition, job) and all(holds(c, job) for c in covers) for job in jobs
    )
