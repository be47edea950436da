"""The shipped procedure's own arithmetic against worked examples of the trade."""

from __future__ import annotations

import pytest

from guide.job.figures import lookup
from guide.job.state import Taken, fresh_state
from guide.procedure import load
from guide.procedure.worked import Name
from guide.quantity import Quantity, quantity


def worked(name: str, **read: dict[str, str]) -> Quantity | None:
    """A worked figure of the pair's procedure, with readings by step and place."""
    procedure = load("exterior-pair")
    state = fresh_state(procedure)
    for step, values in read.items():
        now = state.steps[step.replace("_", "-")]
        for place, value in values.items():
            now.last[place] = Taken(1, None, quantity(value), "noted", 1, None)  # type: ignore[arg-type]
    return lookup(procedure, state)(Name(name))


@pytest.mark.outside("worked example: opening 74-1/2 x 82-5/8 in gives a unit 73-1/2 x 82-1/8 in", "common practice")
def test_unit_size_from_the_smallest_of_three() -> None:
    widths = {"bottom": "74 1/2 in", "middle": "74 9/16 in", "top": "74 5/8 in"}
    heights = {"left": "82 3/4 in", "middle": "82 5/8 in", "right": "82 11/16 in"}
    assert worked("order_width", survey_width=widths) == quantity("73 1/2 in")
    assert worked("order_height", survey_height=heights) == quantity("82 1/8 in")


@pytest.mark.outside("2x4 wall 7/16 + 3-1/2 + 1/2 in takes a 4-9/16 in frame, 2x6 a 6-9/16 in frame", "common practice")
@pytest.mark.parametrize(
    ("wall", "frame"),
    [
        (["7/16 in", "3 1/2 in", "1/2 in"], "4 9/16 in"),
        (["7/16 in", "5 1/2 in", "1/2 in"], "6 9/16 in"),
    ],
)
def test_frame_depth_from_the_wall(wall: list[str], frame: str) -> None:
    depth = quantity(wall[0]) + quantity(wall[1]) + quantity(wall[2])
    assert worked("order_depth", survey_depth={"": str(depth)}) == quantity(frame)


@pytest.mark.outside("a 4-9/16 in frame wants 6 in of subfloor, a 6-9/16 in frame 8 in", "common practice")
@pytest.mark.parametrize(("frame", "bearing"), [("4 9/16 in", "6 in"), ("6 9/16 in", "8 in")])
def test_floor_bearing_from_the_frame(frame: str, bearing: str) -> None:
    assert worked("bearing_needed", size_depth={"": frame}) == quantity(bearing)


@pytest.mark.outside("a 3 in screw through 1-1/4 in of frame and a 1/2 in shim leaves 1-1/4 in", "computed")
def test_screw_length_for_the_bite() -> None:
    needed = worked("screw_needed", jamb_thickness={"": "1 1/4 in"}, shim_thickness={"": "1/2 in"})
    assert needed == quantity("3 1/4 in")
    assert quantity("3 in") - quantity("1 1/4 in") - quantity("1/2 in") == quantity("1 1/4 in")
