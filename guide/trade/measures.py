"""What a reading can be of, so that a computation by name takes its input from it: quantities as data.

A procedure says of a reading which quantity it measures; from that follow the key and the place under which a
computation of `guide.trade.work` reads it. A quantity's sign is the computation's: plus leans to the right or to the
outside, or has the right end high.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Measure:
    """A quantity: the path of its key in a computation's input, and what each place is called there.

    `places` has every word for a place that is known and its key; without any, the reading has one place, or, where
    it may have `many`, any places, whose values make a list.
    """

    path: tuple[str, ...]
    places: Mapping[str, str] = field(default_factory=dict)
    plus: str = ""
    """The side that a plus must stand for; "" where the quantity has no sign."""
    survey: str = ""
    """What a survey calls its readings, before the place; "" where it surveys none of it."""
    over: tuple[str, ...] = ()
    """The path for the length that an instrument was held along, if the reading has one."""
    choice: bool = False
    """It is one of two words, left or right, and no number."""
    many: bool = False
    """Whether its reading may have places of any name."""

    def name(self, place: str) -> str:
        """What a survey calls the reading at a place of the procedure."""
        return f"{self.survey} {self.places[place]}" if self.places else self.survey


def _sides(*words: str) -> Mapping[str, str]:
    return {f"{side}{word}": side for side in ("left", "right") for word in ("", *(f" {one}" for one in words))}


MEASURES: Mapping[str, Measure] = MappingProxyType(
    {
        "opening width": Measure(("widths",), {p: p for p in ("bottom", "middle", "top")}, survey="width"),
        "opening height": Measure(("heights",), {p: p for p in ("left", "middle", "right")}, survey="height"),
        "opening diagonal": Measure(
            ("diagonals",),
            {
                "bottom left to top right": "rising",
                "top right to bottom left": "rising",
                "bottom right to top left": "falling",
                "top left to bottom right": "falling",
            },
            survey="diagonal",
        ),
        "stud lean": Measure(("lean",), _sides("side", "stud"), "right", "lean", ("lean_over",)),
        "wall lean": Measure(("lean_across",), _sides("side", "stud"), "outside", "", ("lean_across_over",)),
        "sill fall": Measure(("sill",), {}, "right", "sill", ("sill_over",)),
        "wall depth": Measure(("thickness",), many=True),
        "floor bearing": Measure(("bearing",)),
        "unit width": Measure(("unit", "width")),
        "unit height": Measure(("unit", "height")),
        "frame depth": Measure(("unit", "depth")),
        "hinge side": Measure(("unit", "hinge_side"), choice=True),
    }
)
"""Every quantity that a reading can be of."""
