"""Units, ranges and worked figures: the exact words and place of each fault."""

from __future__ import annotations

import pytest
from faulty import HEAD, Expected, assert_faults, examined, good

from guide.procedure.worked import evaluate

FAULTS: dict[str, tuple[str, list[Expected]]] = {
    "within of another kind": (
        """
readings:
  x: {ask: W}
steps:
  a: {take: x, within: ▸1 lb to ▸2 lb}
""",
        [
            ('"1 lb" is a weight, and reading "x" is a length (in)', None),
            ('"2 lb" is a weight, and reading "x" is a length (in)', None),
        ],
    ),
    "within without unit": (
        """
readings:
  x: {ask: W}
steps:
  a: {take: x, within: ▸0 to 1/8 in}
""",
        [
            ('"0" is a plain number, and reading "x" is a length (in)', 'Write the unit too: "0 in".'),
        ],
    ),
    "likely of another kind": (
        """
readings:
  x: {ask: Weight, unit: lb, likely: ▸1 in to 2 lb}
steps:
  read: {take: x}
""",
        [
            ('"1 in" is a length, and reading "x" is a weight (lb)', None),
        ],
    ),
    "even of another kind": (
        """
readings:
  x: {ask: W, at: [l, r], likely: 0 in to 1 in}
steps:
  a: {take: x, even: ▸1 lb}
""",
        [
            ('"1 lb" is a weight, and reading "x" is a length (in)', None),
        ],
    ),
    "empty range": (
        """
readings:
  x: {ask: W}
steps:
  a: {take: x, within: ▸1/4 in to 1/8 in}
""",
        [
            ('"within" of step "a" is empty: 1/4 in is more than 1/8 in', "Write the lower figure first."),
        ],
    ),
    "empty range of facts": (
        """
facts:
  mid: {value: 1 in, standing: common practice}
worked:
  sum: 2 * mid
readings:
  x: {ask: W}
steps:
  a: {take: x, within: ▸sum to mid}
""",
        [
            ('"within" of step "a" is empty: 2 in is more than 1 in', "Write the lower figure first."),
        ],
    ),
    "empty half": (
        """
readings:
  x: {ask: W}
steps:
  a: {take: x, within: ▸1/4 in ± -1/8 in}
""",
        [
            ('"within" of step "a" is empty: 3/8 in is more than 1/8 in', 'What follows "±" must not be below zero.'),
        ],
    ),
    "empty likely": (
        """
readings:
  x: {ask: Width, likely: ▸3 in to 2 in}
steps:
  read: {take: x}
""",
        [
            ('"likely" of reading "x" is empty: 3 in is more than 2 in', "Write the lower figure first."),
        ],
    ),
    "even below zero": (
        """
readings:
  x: {ask: W, at: [l, r], likely: 0 in to 1 in}
steps:
  a: {take: x, even: ▸-1/8 in}
""",
        [
            ('"even" of step "a" is below zero: nothing can be as even as that', "Write it without the sign."),
        ],
    ),
    "mixed units": (
        """
facts:
  mid: {value: 1 in, standing: common practice}
worked:
  sum: mid ▸+ 2 lb
steps:
  a: {say: '{sum}'}
""",
        [
            ('"mid" is a length and "2 lb" is a weight: they can\'t be added, in worked figure "sum"', None),
        ],
    ),
    "mixed units plain": (
        """
readings:
  mid: {ask: M, likely: 1 in to 3 in}
worked:
  sum: mid ▸- 2
steps:
  a: {take: mid}
  b: {after: a, say: '{sum}'}
""",
        [
            (
                (
                    '"mid" is a length and "2" is a plain number: they can\'t be taken from each other, in '
                    'worked figure "sum"'
                ),
                "Give every figure its unit.",
            ),
        ],
    ),
    "mixed units product": (
        """
facts:
  mid: {value: 1 in, standing: common practice}
  w: {value: 2 lb, standing: common practice}
worked:
  sum: mid ▸* w
steps:
  a: {say: '{sum}'}
""",
        [
            (
                (
                    '"mid * w" is neither a length, an area, a volume, a weight, a time, an angle nor a '
                    'plain number, in worked figure "sum"'
                ),
                None,
            ),
        ],
    ),
    "worked cycle": (
        """
worked:
  ▸a: b + 1 in
  b: c
  c: a
steps:
  a: {say: '{a}'}
""",
        [
            ("worked figures need each other: a → b → c → a", "Work one of them out from readings and facts alone."),
        ],
    ),
    "worked self": (
        """
worked:
  ▸a: a + 1 in
steps:
  a: {say: '{a}'}
""",
        [
            ('"a" is worked out from itself', "Work one of them out from readings and facts alone."),
        ],
    ),
    "divided by zero": (
        """
facts:
  mid: {value: 1 in, standing: common practice}
worked:
  sum: ▸mid / (mid - mid)
steps:
  a: {say: '{sum}'}
""",
        [
            ('worked figure "sum" has no value: 1 in can\'t be divided by zero', "Look at the figures it uses."),
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name: str) -> None:
    assert_faults(*FAULTS[name])


def test_limits_of_two_kinds_for_a_unit_that_is_none() -> None:
    _, faults, _ = examined(
        HEAD + "readings: {x: {ask: W, unit: stone, likely: 1 in to 2 lb}}\nsteps: {a: {take: x}}\n"
    )
    assert [fault.code for fault in faults] == ["shape"]


def test_worked_figures_that_build_on_each_other_without_end() -> None:
    def file(count: int, expression: str) -> str:
        worked = "".join(f"  w{i}: {expression.replace('w', f'w{i - 1}')}\n" for i in range(1, count))
        return f"{HEAD}worked:\n  w0: 1 in\n{worked}steps: {{a: {{say: 'It is {{w{count - 1}}}.'}}}}\n"

    assert examined(file(50, "w"))[1] == []
    _, deep, _ = examined(file(2000, "w"))
    assert [(p.message, p.place and p.place.line) for p in deep] == [
        ('worked figure "w50" builds on more than 50 others, one on the next', 54)
    ]
    _, wide, _ = examined(file(30, "w + w + w"))
    assert [fault.message for fault in wide] == [
        f'worked figure "w{i}" takes more than 150 figures to work out' for i in (5, 10, 15, 20, 25)
    ]


def test_a_figure_of_thousands_of_digits_is_not_printed_whole() -> None:
    digits = "9" * 20
    product = " * ".join([digits] * 150)
    _, faults, _ = examined(
        HEAD
        + f"readings: {{x: {{ask: N, unit: none, likely: {product} to 1/{digits[:9]}}}}}\nsteps: {{a: {{take: x}}}}\n"
    )
    assert [fault.code for fault in faults] == ["empty-range"]
    assert len(faults[0].message) < 200


def test_the_longest_figure_there_can_be_is_worked_out() -> None:
    product = " * ".join(["9" * 20] * 149)
    procedure = good(f"worked: {{w: {product}}}\nsteps: {{a: {{say: 'Do it {{w}} times.'}}}}\n")
    assert len(str(evaluate(procedure.worked["w"], lambda name: None))) == 2980


def test_a_limit_that_divides_by_zero() -> None:
    _, faults, _ = examined(HEAD + "readings: {x: {ask: W}}\nsteps: {a: {take: x, within: 0 in to 1 in / (2 - 2)}}\n")
    assert [fault.message for fault in faults] == ['"within" of step "a" has no value: 1 in can\'t be divided by zero']


@pytest.mark.parametrize(
    "within",
    [
        "1/8 in ± 1/16 in",
        "1/8 in +/- 1/16 in",
        "-0 in to 1/8 in",
        "1/8 in to 1/8 in",
        "0 mm to 1/8 in",
        "at least 1 mm",
    ],
)
def test_ranges_that_are_right(within: str) -> None:
    assert good(f"readings: {{x: {{ask: W}}}}\nsteps: {{a: {{take: x, within: {within}}}}}\n").steps["a"].within
