"""Computations by name: the survey of an opening, the unit it asks for, and whether a unit fits."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction

from guide.trade import decision, fit, sizing
from guide.trade.answer import Answer, Work, by_tape, decimal
from guide.trade.fit import Bound, Fitting, Unit
from guide.trade.fixings import shim_points
from guide.trade.given import Given
from guide.trade.opening import NAMES, POWER, STRAIGHT, TAPED, UNKNOWNS, Doubt, Opening, survey
from guide.trade.opening_given import HINGE_FROM_END, Taken, readings, sizes, unit
from guide.trade.sizing import RULES, SIDES

_COMMON = "sizing, spread of rough structure, slips of the tape (common practice)"
_NOTHING = "Give widths, heights, diagonals, lean and sill, or as many of them as there are."


def _u(value: float) -> str:
    return f"± {2 * value:.2f} in"


def _number(value: Fraction | float | None, places: int = 4) -> float | None:
    return None if value is None else decimal(Fraction(value), places)


def _surveyed(given: Given) -> tuple[Taken, Opening]:
    """The opening from the input, with all faults of the input raised before anything is worked out."""
    taken = readings(given)
    if not taken.readings and not len(given.problems):
        given.fault(None, "no reading of the opening is here", _NOTHING, "missing")
    given.finish()
    return taken, survey(taken.readings, taken.tools)


def _reading(opening: Opening, clear: Bound | None, high: Bound | None) -> dict[str, object]:
    """The opening as it came out, as plain data: inches, None where it is not known."""
    doubt = opening.doubt
    found: dict[str, object] = {
        "width": {name.split()[1]: _number(opening.of(name)) for name in UNKNOWNS[:3]},
        "height": {name.split()[1]: _number(opening.of(name)) for name in UNKNOWNS[3:6]},
        "lean": {side: _number(_lean(opening, side)) for side in SIDES},
        "sill": _number(opening.of("sill")),
        "u": {name: _number(opening.u(name), 3) for name in UNKNOWNS},
        "smallest": {what: _number(opening.smallest(what)) for what in ("width", "height")},
        "redundancy": opening.redundancy,
        "take_again": None if doubt is None else doubt.name,
        "or": [] if doubt is None else list(doubt.others),
        "off_by": None if doubt is None else _number(doubt.off, 3),
        "why": [] if doubt is None else list(doubt.why),
        "agree": {"width": _agree(opening, "width", clear), "height": _agree(opening, "height", high)},
        "missing": list(opening.missing),
        "readings": [
            {
                "name": one.name,
                "given": _number(one.given),
                "adjusted": _number(one.adjusted),
                "standardised": _number(one.standardised, 2),
                "detects": _number(one.detects, 3),
            }
            for one in opening.checked
            if one.name not in STRAIGHT
        ],
        "unit": "in",
    }
    return found


def _lean(opening: Opening, side: str) -> Fraction | None:
    """How far a stud's top leans to the right, in inches; None if it is not known."""
    left, below, above = (opening.of(name) for name in ("lean", "width bottom", "width top"))
    if side == "left" or left is None:
        return left
    return None if below is None or above is None else left + above - below


def _agree(opening: Opening, what: str, clear: Bound | None) -> bool | None:
    """Whether the smallest width or height read and the clear one are the same within what is known."""
    smallest = opening.smallest(what)
    return None if clear is None or smallest is None else abs(smallest - clear.value) <= Fraction(2 * clear.u)


def _told(opening: Opening, clear: Bound | None, high: Bound | None) -> list[str]:
    """The working of a survey in sentences."""
    taken = len(opening.given)
    told = [
        f"{taken} {'reading' if taken == 1 else 'readings'} and straight members, least squares: "
        f"{opening.redundancy} more than the unknowns they fix."
    ]
    if opening.doubt is not None:
        told += _doubted(opening.doubt)
    elif opening.redundancy:
        told.append("No reading is too far from the others to be noise (3.29 rule).")
    checked = [one for one in opening.checked if one.detects is not None and one.name not in STRAIGHT]
    if checked:
        found = ", ".join(f"{NAMES[one.name]} {one.detects:.2f} in" for one in checked)
        told.append(f"A blunder so large would be found {POWER:.0%} of the time: {found}.")
    unchecked = [NAMES[one.name] for one in opening.checked if one.detects is None and one.name not in STRAIGHT]
    if unchecked:
        told.append(f"Nothing checks {', '.join(unchecked)}.")
    told += _clear_told(opening, clear, high)
    if opening.missing:
        told.append(missing_sentence(opening.missing))
    return told


def missing_sentence(missing: Sequence[str]) -> str:
    """One plain sentence of what would have to be read to know all of the opening."""
    names = [NAMES[name] for name in missing]
    listed = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
    return f"Not all of the opening is known: read {listed} as well."


def _doubted(doubt: Doubt) -> list[str]:
    way = "more" if doubt.off > 0 else "less"
    told = [
        f"Take {NAMES[doubt.name]} again: it is {by_tape(abs(Fraction(doubt.off)))} {way} than the others have it, "
        f"{_u(doubt.u)}."
    ]
    told += [f"It looks as if {reason}." for reason in doubt.why]
    if doubt.others:
        told.append(f"The readings can't tell it from: {', '.join(NAMES[one] for one in doubt.others)}.")
    return told


def _clear_told(opening: Opening, clear: Bound | None, high: Bound | None) -> list[str]:
    told = []
    for what, bound in (("width", clear), ("height", high)):
        smallest = opening.smallest(what)
        if bound is None:
            told.append(f"Nothing tells the clear {what}.")
            continue
        most = "at most " if bound.at_most else ""
        told.append(
            f"A plumb and level unit has {most}{by_tape(bound.value)} of {what} ({_u(bound.u)}), "
            f"between {bound.where[0]} and {bound.where[1]}."
        )
        agree = _agree(opening, what, bound)
        if smallest is not None and not agree:
            told.append(f"The smallest {what} read says {by_tape(smallest)}: they disagree, and the clear one counts.")
        elif smallest is not None:
            told.append(f"The smallest {what} read says {by_tape(smallest)}: they agree within what is known.")
    return told


def _sources(taken: Taken) -> tuple[str, ...]:
    instruments = dict.fromkeys(
        [taken.tools.tape.source] * any(name in TAPED for name in taken.readings)
        + [taken.tools.level.source] * any(name not in TAPED for name in taken.readings)
    )
    return (
        "least squares (computed); residuals, 3.29 rule and smallest blunder found: Baarda 1968 (published)",
        *instruments,
        _COMMON,
    )


def _certain(opening: Opening) -> str:
    known = [opening.u(name) for name in UNKNOWNS[:6]]
    worst = max((one for one in known if one is not None), default=None)
    if worst is None:
        return "No width or height is known well enough to give one."
    return f"Widths and heights U = {2 * worst:.2f} in at the most (95 %), from the instruments and rough structure."


def _survey(given: Given) -> Answer:
    taken, opening = _surveyed(given)
    clear, high = fit.clear_width(opening), fit.clear_height(opening)
    result = _reading(opening, clear, high)
    result |= {"clear_width": _bound(clear), "clear_height": _bound(high)}
    more, told = _across(taken, None)
    working = (*_told(opening, clear, high), *told)
    return Answer(result | more, _certain(opening), working, _sources(taken))


def _bound(bound: Bound | None) -> float | None:
    return None if bound is None or bound.at_most else decimal(bound.value, 4)


def _across(taken: Taken, depth: Fraction | None) -> tuple[dict[str, object], list[str]]:
    """The wall's other plane: what stays plumb inside its faces, the split of its lean, frame depth and floor."""
    result: dict[str, object] = {}
    told: list[str] = []
    if taken.across:
        steps = [sizing.split(lean, side) for side, lean in taken.across.items()]
        result["split"] = {
            one.side: {
                "step": decimal(one.step, 4),
                "proud_at": one.proud,
                "trim_covers": not one.build_out,
                "build_out": decimal(one.build_out, 4),
            }
            for one in steps
        }
        if len(steps) == len(SIDES):
            apart = abs(taken.across["left"] - taken.across["right"])
            result["lean_apart"] = decimal(apart, 4)
            told.append(f"The two sides of the wall lean {by_tape(apart)} apart: split, {by_tape(apart / 2)} a side.")
        for one in (one for one in steps if one.step):
            behind = "bottom" if one.proud == "top" else "top"
            told.append(
                f"Set plumb, the {one.side} side frame is split {by_tape(one.step)} proud of the wall at the "
                f"{one.proud} and as much behind it at the {behind}: "
                + (
                    f"trim covers {by_tape(RULES.trim_covers)}."
                    if not one.build_out
                    else f"more than the {by_tape(RULES.trim_covers)} that trim covers. Build the frame out at the "
                    f"{behind} by at least {by_tape(one.build_out)}."
                )
            )
    if taken.walls:
        plumb = sizing.plumb_depth(taken.walls, list(taken.across.values()))
        wanted = sizing.frame_depth(max(taken.walls))
        result |= {"plumb_depth": decimal(plumb, 4) if taken.across else None, "frame_depth": decimal(wanted, 4)}
        told.append(f"A wall {by_tape(max(taken.walls))} deep takes a frame {by_tape(wanted)} deep.")
        if taken.across:
            told.append(f"{by_tape(plumb)} of its depth is plumb from sill to head.")
        if depth is not None and abs(depth - max(taken.walls) - RULES.frame_over_wall) > RULES.trim_covers:
            told.append(f"This frame is {by_tape(depth)} deep: more off than trim covers. Build it out, or change it.")
        depth = depth if depth is not None else wanted
    if depth is not None:
        needed = sizing.bearing(depth)
        result["bearing"] = {
            "wanted": decimal(needed, 4),
            "enough": None if taken.bearing is None else taken.bearing >= needed,
        }
        told.append(f"Subfloor under the sill: {by_tape(needed)} wanted for that frame.")
        if taken.bearing is not None and taken.bearing < needed:
            told.append(f"There is {by_tape(taken.bearing)}: build it out by {by_tape(needed - taken.bearing)}.")
    return result, told


def _size(given: Given) -> Answer:
    widths, heights = sizes(given, "widths", True), sizes(given, "heights", True)
    walls = given.amounts("thickness", "in", above=1, most=48) if given.has("thickness") else []
    given.finish()
    width, height = sizing.size(list(widths.values()), list(heights.values()))
    result: dict[str, object] = {"unit_width": decimal(width, 4), "unit_height": decimal(height, 4), "unit": "in"}
    narrow, short = min(widths.values()), min(heights.values())
    working = [
        f"Width: the smallest, {by_tape(narrow)}, less {by_tape(RULES.width_less)} = {by_tape(width)}.",
        f"Height: the smallest, {by_tape(short)}, less {by_tape(RULES.height_less)} = {by_tape(height)}.",
        "Widths alone lie in a leaning opening: with diagonals or leans, survey and fit say what a plumb unit has.",
    ]
    if walls:
        wall = max(walls)
        depth = sizing.frame_depth(wall)
        result |= {"unit_depth": decimal(depth, 4), "bearing": decimal(sizing.bearing(depth), 4)}
        working.append(
            f"Depth: a wall of {by_tape(wall)} takes a frame of {by_tape(depth)}, "
            f"and that a subfloor {by_tape(sizing.bearing(depth))} deep."
        )
    uncertainty = "Exact on the figures given; a tape on rough structure is good to about 1/8 in."
    return Answer(result, uncertainty, tuple(working), ("sizing rules (common practice)",))


def _fit(given: Given) -> Answer:
    wanted = unit(given)
    rule: decision.Rule = "guarded" if given.choice("rule", ("plain", "guarded"), "plain") == "guarded" else "plain"
    if not len(given.problems):
        _points(given, wanted)
    named = given.raw("unit")
    common = not (isinstance(named, Mapping) and named.get("hinges") is not None)
    taken, opening = _surveyed(given)
    clear, high = fit.clear_width(opening), fit.clear_height(opening)
    found = fit.fit(opening, wanted, rule)
    order = fit.order(opening, max(taken.walls) if taken.walls else None)
    result: dict[str, object] = {
        "fits": found.fits,
        "outcome": found.outcome,
        "binds": _binds(found),
        "clear_width": _bound(clear),
        "clear_height": _bound(high),
        "room": {"width": _bound(found.width), "height": _bound(found.height)},
        "u": {"width": _u_of(found.width), "height": _u_of(found.height)},
        "shims": [
            {
                "side": one.side,
                "at": decimal(one.at),
                "name": one.name,
                "thick": decimal(one.thick, 4),
                "u": round(one.u, 3),
            }
            for one in found.shims
        ],
        "order": {
            "width": _number(order.width),
            "height": _number(order.height),
            "depth": _number(order.depth),
            "by": order.by,
        },
        "smallest": {what: _number(opening.smallest(what)) for what in ("width", "height")},
        "take_again": None if opening.doubt is None else opening.doubt.name,
        "missing": list(opening.missing),
        "unit": "in",
    }
    more, across = _across(taken, wanted.depth)
    working = _fit_told(found, wanted, rule) + _told(opening, clear, high) + across
    if common and found.shims:
        working.insert(1, f"Hinges taken to sit {by_tape(HINGE_FROM_END)} from the ends and in the middle.")
    if order.width is not None and order.height is not None:
        depth = "" if order.depth is None else f", {by_tape(order.depth)} deep"
        working.append(
            f"To order for this opening: {by_tape(order.width)} x {by_tape(order.height)}{depth}, by the {order.by}."
        )
    return Answer(result | more, _fit_certain(found), tuple(working), _sources(taken))


def _points(given: Given, wanted: Unit) -> None:
    """Note a hinge or strike that no shim point can have."""
    try:
        for points in (wanted.hinges, wanted.strikes):
            shim_points(wanted.height, points)
    except ValueError as fault:
        given.fault("unit", f'"unit": {fault}')


def _u_of(bound: Bound | None) -> float | None:
    return None if bound is None else round(bound.u, 3)


def _binds(found: Fitting) -> list[dict[str, object]]:
    """Where it binds and by how much; the list is empty where it does not."""
    return [
        {"what": what, "between": list(bound.where), "by": decimal(-bound.value, 4)}
        for what, bound in (("width", found.width), ("height", found.height))
        if bound is not None and bound.value < 0
    ]


def _fit_told(found: Fitting, wanted: Unit, rule: decision.Rule) -> list[str]:
    told = []
    sizes_: Mapping[str, Fraction] = {"width": wanted.width, "height": wanted.height}
    for what, bound in (("width", found.width), ("height", found.height)):
        if bound is None:
            told.append(f"Whether the {what} fits can't be told from these readings.")
            continue
        most = "at most " if bound.at_most else ""
        room = f"{by_tape(bound.value)} over" if bound.value >= 0 else f"{by_tape(-bound.value)} too little"
        told.append(
            f"Plumb, {by_tape(sizes_[what])} of {what} has {most}{room} ({_u(bound.u)}), "
            f"tightest between {bound.where[0]} and {bound.where[1]}."
        )
    shims = {None: "", True: "It fits", False: "It does not fit"}[found.fits]
    if shims:
        told.insert(0, f"{shims} by the {rule} rule: {found.outcome}.")
    thick = [one for one in found.shims if one.side in (*SIDES, "head")]
    tight = [one for one in thick if one.thick < RULES.shim_room]
    if tight:
        least = min(tight, key=lambda one: one.thick)
        told.append(
            f"Tight: {by_tape(least.thick)} at the {_spot(least.side, least.name)}; "
            f"shims want {by_tape(RULES.shim_room)}."
        )
    wide = [one for one in thick if one.thick > RULES.shims_most]
    if wide:
        most_ = max(wide, key=lambda one: one.thick)
        told.append(
            f"Wide: {by_tape(most_.thick)} at the {_spot(most_.side, most_.name)}; over {by_tape(RULES.shims_most)} "
            "fill with solid wood behind the shims, and take longer screws."
        )
    told += [f"Shims, {side}: {_listed(found, side)}." for side in (*SIDES, "head") if found.shims]
    return told


def _spot(side: str, name: str) -> str:
    return name if side in ("head", "sill") else f"{side} side, {name}"


def _listed(found: Fitting, side: str) -> str:
    return ", ".join(f"{one.name} {by_tape(one.thick)} at {by_tape(one.at)}" for one in found.shims if one.side == side)


def _fit_certain(found: Fitting) -> str:
    known = [bound.u for bound in (found.width, found.height) if bound is not None]
    if not known:
        return "The opening is not known well enough to give one."
    worst = max((one.u for one in found.shims), default=math.nan)
    shims = "" if math.isnan(worst) else f"; a shim U = {2 * worst:.2f} in at the most"
    return f"Room left U = {2 * max(known):.2f} in (95 %){shims}."


_READINGS = (
    "widths: {bottom: 74 1/2 in, middle: 74 9/16 in, top: 74 5/8 in}\n"
    "heights: {left: 82 3/4 in, middle: 82 5/8 in, right: 82 11/16 in}\n"
    "diagonals: {rising: 111 5/8 in, falling: 111 1/8 in}\n"
    "lean: {left: 1/4 in, right: 3/8 in}\nlean_across: {left: 1/4 in, right: -1/8 in}\nsill: 1/16 in\n"
    "thickness: [4 7/16 in, 4 3/8 in]\nbearing: 6 1/2 in\n"
)

WORKS: tuple[Work, ...] = (
    Work(
        "survey",
        "the opening from its readings, how well it is known, and which reading to take again",
        _READINGS,
        _survey,
    ),
    Work(
        "size",
        "the unit an opening asks for, from the smallest of its widths and heights",
        "widths: [74 1/2 in, 74 9/16 in, 74 5/8 in]\nheights: [82 3/4 in, 82 5/8 in, 82 11/16 in]\n"
        "thickness: 4 7/16 in\n",
        _size,
    ),
    Work(
        "fit",
        "whether a unit goes in plumb, where it binds, and how thick the shims are",
        _READINGS + "unit: {width: 73 1/2 in, height: 82 1/8 in, depth: 4 9/16 in}\n",
        _fit,
    ),
)
