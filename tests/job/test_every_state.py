"""Every state that small, adversarial procedures can reach, with the promises asserted after every command."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from explore import explore

from guide.procedure import load_text

CASES = {
    "a choice that switches a check off": """
format: 1
title: t
choices: {kind: {ask: Which kind, options: {a: the a kind, b: the b kind}}}
readings: {gap: {ask: Gap, answer: yes-no, good: "yes"}}
steps:
  set: {say: Set it., disturbs: [frame]}
  gap: {after: set, when: {kind: a}, say: Look at the gap., take: gap, watches: [frame], rounds: 2}
  fix: {when: {kind: a}, needs: [gap], say: Fix it., disturbs: [frame]}
  fix-b: {when: {kind: b}, after: set, say: Fix it., disturbs: [frame]}
""",
    "corrections that disturb each other in a ring": """
format: 1
title: t
readings:
  one: {ask: One, answer: yes-no, good: "yes"}
  two: {ask: Two, answer: yes-no, good: "yes"}
steps:
  one: {say: Look at one., take: one, watches: [x], out: {adjust: [y]}, rounds: 2}
  two: {after: one, say: Look at two., take: two, watches: [y], out: {adjust: [x]}, rounds: 2}
""",
    "a safety check, a hold point and a stop that makes safe": """
format: 1
title: t
readings: {held: {ask: Is it held, answer: yes-no, good: "yes"}}
make-safe: {loose: {say: Prop it., stays: yes, disturbs: [frame]}}
steps:
  set: {say: Set it., leaves: loose, disturbs: [frame]}
  held: {after: set, say: Look., take: held, watches: [frame], safety: yes, rounds: 1}
  fix: {needs: [held], say: Fix it., secures: loose, hold: {by: lead, look: all of it}}
""",
    "a correction of what a cut was worked out from, and a wait": """
format: 1
title: t
readings:
  width: {ask: Width, likely: 10 in to 20 in}
worked: {size: width - 1 in}
steps:
  survey: {say: Measure., take: width}
  cut: {after: survey, say: "Cut to {size}.", harmless: a drawn line, undo: no}
  mark: {after: survey, say: "Mark {size}.", wait: {time: 1 h, for: the glue}}
  pack: {after: [cut, mark], say: Pack it.}
""",
    "checks that are read together, and a plan of moves": """
format: 1
title: t
readings:
  head_level:
    ask: Out of level
    about: level
    likely: -1 in to 1 in
    sign: {plus: right high, minus: left high, toward: [right], away: [left]}
  string_gap:
    ask: Gap
    about: twist
    likely: -1 in to 1 in
    sign: {plus: left near, minus: right near, toward: [left], away: [right]}
together:
  frame: {checks: [level, twist], moves: {leaves: 2, width: 72 in, height: 80 in}}
steps:
  set:   {say: Set it., disturbs: [frame]}
  level: {after: set, take: head_level, within: 0 in ± 1/8 in, watches: [frame], rounds: 2}
  twist: {after: [set, level], take: string_gap, within: 0 in ± 1/8 in, watches: [frame], rounds: 2}
  fix:   {needs: [level, twist], say: Fix it., disturbs: [frame]}
""",
    "two people, a caution, a hazard left twice": """
format: 1
title: t
cautions: {weight: It is heavy.}
make-safe: {loose: {say: Prop it.}}
steps:
  lift: {say: Lift it., caution: weight, crew: 2, leaves: loose}
  fix: {after: lift, say: Fix it., secures: loose}
""",
}

MOST = 1500
"""States of one procedure that are looked at here; the whole is explored by `tests/bench/every_state.py`."""


@pytest.mark.parametrize("case", CASES)
def test_every_state_keeps_the_promises(case: str, record_property: Callable[[str, object], None]) -> None:
    report = explore(load_text("small.yaml", CASES[case]), MOST)
    record_property("figure", f"{case}: {report.states} states, {report.commands} commands, all: {report.complete}")
    assert report.states >= 100
    assert report.finished > 0 or not report.complete
