"""Dangers without their caution: the exact words and place of each fault."""

from __future__ import annotations

import pytest
from faulty import HEAD, Expected, assert_faults, assert_remarks, examined, good

from guide.procedure.hazards import GENERAL, WORDS, kinds

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "no caution": (
        """
cautions: {weight: It is heavy.}
steps:
  a: {say: ▸Cut it to size.}
  b: {say: A b., caution: weight}
""",
        [
            (
                'step "a" tells of cutting ("Cut") and shows no caution',
                'Name one in "caution", or say in "harmless" why it needs none.',
            ),
        ],
    ),
    "a caution of another kind": (
        """
cautions: {weight: The frame is heavy.}
steps:
  a: {say: ▸Drill and lift it., caution: weight}
""",
        [
            (
                'step "a" tells of drilling ("Drill"), and no caution it shows does',
                'Name one that does in "caution", or say in "harmless" why it needs none.',
            ),
        ],
    ),
    "crew of two": (
        """
cautions: {edge: It is a sharp blade.}
steps:
  a: {say: A b., crew: ▸2}
  b: {say: A b., caution: edge}
""",
        [
            (
                'step "a" tells of lifting ("crew: 2") and shows no caution',
                'Name one in "caution", or say in "harmless" why it needs none.',
            ),
        ],
    ),
    "correction": (
        """
readings:
  gap: {ask: Gap, likely: 0 in to 1 in}
cautions: {weight: It is heavy.}
steps:
  a: {take: gap, within: 0 in to 1 in, watches: [s], out: {adjust: s, say: ▸Drill a new hole.}}
  b: {after: a, say: A b., caution: weight, disturbs: [s]}
""",
        [
            (
                '"out" of step "a" tells of drilling ("Drill") and shows no caution',
                'Name one in "caution", or say in "harmless" why it needs none.',
            ),
        ],
    ),
    "make safe": (
        """
cautions: {edge: It is a sharp blade.}
make-safe: {open: {say: ▸Lift the sheet over it.}}
steps:
  a: {say: A b., caution: edge, leaves: open}
  b: {after: a, say: A b., secures: open}
""",
        [
            (
                'hazard "open" tells of lifting ("Lift") and shows no caution',
                'Name one in "caution", or say in "harmless" why it needs none.',
            ),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])


def test_every_word_of_the_list_tells_of_its_kind_and_nothing_else_does() -> None:
    assert WORDS.keys() == GENERAL.keys()
    for kind, words in WORDS.items():
        for word in words.split(","):
            assert kind in kinds(f"Then {word.strip().upper()}, slowly."), word
    assert kinds("Set the frame upright and read the level at the head.") == {}


def test_words_are_matched_whole() -> None:
    assert kinds("Wireless drillings and sawdusty cutlery, elsewhere.") == {}
    assert set(kinds("Cut the foam with a knife.")) == {"cutting", "blades", "chemicals"}


def test_every_general_caution_speaks_of_its_own_kind() -> None:
    for kind, words in GENERAL.items():
        assert kind in kinds(f"{kind.replace('-', ' ')}. {words}"), kind


REMARKS: dict[str, tuple[str, list[str]]] = {
    "a general caution": (
        """
steps:
  a: {say: Look at it.}
  b: {after: a, say: ▸Cut the glass.}
  c: {after: b, say: Set it., crew: ▸2}
""",
        [
            'step "b" tells of cutting ("Cut") and glass ("glass"); '
            "the file has no cautions, so a general one is shown",
            'step "c" tells of lifting ("crew: 2"); the file has no cautions, so a general one is shown',
        ],
    ),
    "harmless for nothing": (
        """
steps:
  a: {say: Look at it., harmless: ▸nothing is moved}
""",
        ['nothing in step "a" sounds dangerous: "harmless" is needless'],
    ),
    "a caution nobody names": (
        """
cautions:
  ▸weight: The frame is heavy.
steps:
  a: {say: Look at it.}
""",
        ['caution "weight" is never used'],
    ),
}


@pytest.mark.parametrize("name", REMARKS)
def test_remark(name: str) -> None:
    assert_remarks(*REMARKS[name])


def test_a_step_that_says_why_it_is_harmless_needs_no_caution() -> None:
    text = """
cautions: {weight: The frame is heavy.}
readings: {gap: {ask: Gap, likely: 0 in to 1 in}}
steps:
  a: {say: Look at the saw., harmless: it is only looked at, caution: weight}
  b: {after: a, take: gap, within: 0 in to 1 in, watches: [s], harmless: nobody is near,
      out: {adjust: s, say: Wait till the saw stands.}}
  c: {after: b, say: A b., disturbs: [s]}
"""
    assert good(text).steps["a"].cautions == ("weight",)


def test_a_caution_shown_before_a_step_holds_for_its_correction() -> None:
    text = """
cautions: {edges: The saw is sharp.}
readings: {gap: {ask: Gap, likely: 0 in to 1 in}}
steps:
  b: {take: gap, within: 0 in to 1 in, watches: [s], caution: edges, out: {adjust: s, say: Saw a little off.}}
  c: {after: b, say: A b., disturbs: [s]}
"""
    assert good(text).steps["b"].cautions == ("edges",)
    _, faults, _ = examined(
        HEAD + text.replace(" caution: edges,", "").replace("say: A b.", "say: A b., caution: edges")
    )
    assert [fault.message for fault in faults] == ['"out" of step "b" tells of cutting ("Saw") and shows no caution']
