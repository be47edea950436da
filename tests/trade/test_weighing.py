"""What a unit weighs: glass, leaf, frame, and what can't be weighed."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from guide.trade.weighing import FRAME_DENSITY, GLASS, GLASS_DENSITY, MAKES, Pane, glass_weight, unit_weight

PINE = MAKES["solid softwood"]
STEEL = MAKES["steel, foam core"]


def test_glass_by_the_table_and_beside_it() -> None:
    assert glass_weight(F(1, 8)) == F(164, 100)
    assert float(glass_weight(F(5, 16))) == pytest.approx(4.06, abs=0.01)
    for thickness, pounds in GLASS.items():
        computed = GLASS_DENSITY * thickness * F(254, 10_000) * F(3048, 10_000) ** 2 / F(45359237, 100_000_000)
        assert float(pounds) == pytest.approx(float(computed), rel=0.01)
    with pytest.raises(ValueError):
        glass_weight(F(0))


def test_a_solid_leaf_grows_with_its_thickness_and_skins_do_not() -> None:
    assert PINE.weight(F(20), F(7, 4)) == 86
    assert PINE.weight(F(20), F(7, 2)) == 172
    assert STEEL.weight(F(20), F(7, 2)) == STEEL.weight(F(20), F(7, 4)) == 60


def test_a_pair_with_glass_and_its_frame() -> None:
    pane = Pane(F(24), F(60), F(1, 8), sheets=2)
    found = unit_weight(F(36), F(80), STEEL, 2, (pane,), frame_depth=F(73, 16))
    assert pane.weight == 10 * 2 * F(164, 100)
    assert found.leaf == 10 * 3 + pane.weight
    assert found.leaves == 2 * found.leaf
    assert found.frame == (160 + 72) * F(73, 16) * F(5, 4) / 1728 * FRAME_DENSITY + 12
    assert found.unit == found.leaves + found.frame
    assert unit_weight(F(36), F(80), STEEL).frame == 0


@pytest.mark.parametrize(
    ("width", "height", "leaves", "panes"),
    [(0, 80, 1, ()), (36, -1, 1, ()), (36, 80, 0, ()), (36, 80, 1, (Pane(F(37), F(80), F(1, 8)),))],
)
def test_what_can_not_be(width: int, height: int, leaves: int, panes: tuple[Pane, ...]) -> None:
    with pytest.raises(ValueError):
        unit_weight(F(width), F(height), STEEL, leaves, panes)
