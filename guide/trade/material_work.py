"""Computations by name: screws, the sealant bed, beads, joints and foam."""

from __future__ import annotations

from fractions import Fraction

from guide.trade import fixings, sealing
from guide.trade.answer import Answer, Work, by_tape, counted, decimal, in_words
from guide.trade.given import Given

_EXACT = "None of its own: exact arithmetic on the figures given."


def _screws(given: Given) -> Answer:
    gauge = given.whole("gauge", 10, 0, 24)
    frame = given.amount("frame", "in", Fraction(5, 4), least=0)
    shim = given.amount("shim", "in", 0, least=0)
    length = given.optional("length", "in", above=0)
    wanted = given.amount("penetration", "in", fixings.LEAST_IN_STUD, above=0)
    gravity = given.optional("gravity", "", above=0, most=Fraction(3, 2))
    wood = given.choice("wood", fixings.SPECIFIC_GRAVITY, "spruce-pine-fir")
    end_grain = given.choice("grain", ("side", "end"), "side") == "end"
    load = given.optional("load", "lb", least=0)
    height = given.optional("height", "in", least=20, most=fixings.TALLEST)
    hinges = given.amounts("hinges", "in", above=0) if given.has("hinges") else []
    strikes = given.amounts("strikes", "in", above=0) if given.has("strikes") else []
    per_point = given.whole("per_point", 1, 1, 6)
    if height is not None and any(one >= height for one in (*hinges, *strikes)):
        given.fault("height", "a hinge or strike lies beyond the ends of the frame", "Heights are from the bottom.")
    given.finish()
    gravity = gravity if gravity is not None else fixings.SPECIFIC_GRAVITY[wood]
    hard = gravity > fixings.HARD_ABOVE
    least = max(wanted, fixings.least_penetration(gauge))
    needed = fixings.screw_length((frame, shim), least)
    stocked = fixings.stocked(needed)
    use = length if length is not None else stocked if stocked is not None else needed
    embedded = fixings.in_stud(use, (frame, shim))
    per_inch = fixings.withdrawal(gravity, gauge, end_grain)
    each = (
        per_inch * fixings.thread_in_stud(use, embedded)
        if embedded >= fixings.least_penetration(gauge)
        else Fraction(0)
    )
    pilot = fixings.pilot_hole(gauge, hard)
    result: dict[str, object] = {
        "diameter": decimal(fixings.diameter(gauge), 3),
        "length": decimal(use, 4),
        "penetration": decimal(embedded, 4),
        "enough": embedded >= least,
        "length_needed": decimal(needed, 4),
        "length_stocked": None if stocked is None else decimal(stocked, 4),
        "pilot": None if pilot is None else decimal(pilot, 6),
        "pilot_text": None if pilot is None else str(pilot),
        "withdrawal_per_inch": decimal(per_inch, 2),
        "withdrawal": decimal(each, 1),
    }
    working = [
        f"#{gauge}: diameter 0.060 + 0.013 x {gauge} = {in_words(fixings.diameter(gauge), 'in', 3)}.",
        f"{_inches(use)} screw - {_inches(frame)} frame - {_inches(shim)} shim = {_inches(embedded)} into the stud; "
        f"wanted {_inches(wanted)}, and 6 diameters = {in_words(fixings.least_penetration(gauge), 'in')} at the least "
        f"(design tables assume 10 = {in_words(fixings.full_penetration(gauge), 'in')}).",
    ]
    if embedded < least:
        longer = f"Take {_inches(stocked)}." if stocked is not None else "No stocked screw is so long."
        working.append(f"Not enough: {_inches(needed)} is needed. {longer}")
    group = "hard" if hard else "soft"
    working.append(
        f"Pilot hole in {group} wood (specific gravity {in_words(gravity, '')}): {pilot} in, about "
        f"{in_words(100 * (fixings.HARD_ROOT if hard else fixings.SOFT_ROOT), '%')} of the root."
        if pilot is not None
        else f"The pilot-hole table has gauges {', '.join(str(one) for one in fixings.gauges())} only."
    )
    working.append(
        "End grain: no withdrawal counts."
        if end_grain
        else f"Withdrawal 2850 x {in_words(gravity, '')}² x {in_words(fixings.diameter(gauge), '', 3)} = "
        f"{in_words(per_inch, 'lb', 0)} an inch of thread, {in_words(each, 'lb', 0)} a screw."
    )
    if load is not None:
        number = fixings.screws_for(load, each)
        result["screws_for_load"] = number
        working.append(
            "No number of such screws carries it." if number is None else f"For {in_words(load, 'lb')}: {number}."
        )
    if height is not None:
        points = fixings.shim_points(height, hinges, strikes)
        at_shims, long = fixings.screw_count(len(points), len(hinges), per_point)
        result["shim_points"] = [decimal(one, 4) for one in points]
        result["screws"] = {"at_shims": at_shims, "long": long}
        working.append(
            f"Shim pairs at {', '.join(by_tape(one) for one in points)} from the bottom: {counted(at_shims, 'screw')}, "
            f"and {long} longer, one in the open hole of each hinge."
        )
    uncertainty = "Design values, with the margins that the sources put in; wood varies by a fifth and more."
    source = (
        "NDS: withdrawal and penetration (published); specific gravities (published, from memory)",
        "USDA Wood Handbook: diameter and pilot hole (published)",
        "1-1/2 in into the stud, shim spacing, stocked lengths (common practice)",
    )
    return Answer(result, uncertainty, tuple(working), source)


def _inches(value: Fraction | None) -> str:
    return "-" if value is None else by_tape(value, Fraction(1, 64))


_CARTRIDGE = "cartridge volume by NIST SP 811 (computed)"
_WASTE = "waste of a tenth (common practice)"


def _sealant(given: Given) -> Answer:
    width, depth = given.amount("width", "in", above=0), given.amount("depth", "in", above=0)
    feet = given.amount("length", "ft", least=0)
    ounces = given.amount("cartridge", "fl oz", sealing.CARTRIDGE_OZ, above=0)
    waste = given.amount("waste", "", sealing.WASTE, least=0, most=1)
    given.finish()
    per_cartridge = sealing.feet_per_cartridge(width, depth, ounces)
    count = sealing.cartridges(feet, per_cartridge, waste)
    result: dict[str, object] = {
        "feet_per_cartridge": decimal(per_cartridge, 2),
        "cartridges": count,
        "cartridges_exact": decimal(feet / per_cartridge, 3),
        "waste": decimal(waste, 3),
    }
    working = (
        f"A cartridge of {in_words(ounces, 'fl oz')} holds {in_words(sealing.cartridge_volume(ounces), 'in³', 3)}.",
        f"A bead {_inches(width)} x {_inches(depth)}: {in_words(per_cartridge, 'ft', 1)} a cartridge.",
        f"{in_words(feet, 'ft')} and {in_words(100 * waste, '%')} for waste: {counted(count, 'cartridge')}.",
    )
    uncertainty = "The bead as run is seldom within a tenth of its size by hand; the waste covers that."
    return Answer(result, uncertainty, working, (_CARTRIDGE, _WASTE))


def _joint(given: Given) -> Answer:
    width = given.amount("width", "in", above=0)
    opening_width, opening_height = (
        given.optional("opening_width", "in", above=0),
        given.optional("opening_height", "in", above=0),
    )
    sides = given.whole("sides", 3, 3, 4)
    ounces = given.amount("cartridge", "fl oz", sealing.CARTRIDGE_OZ, above=0)
    waste = given.amount("waste", "", sealing.WASTE, least=0, most=1)
    if (opening_width is None) != (opening_height is None):
        given.fault(None, 'the way around needs both "opening_width" and "opening_height"', code="missing")
    given.finish()
    depth = sealing.joint_depth(width)
    per_cartridge = sealing.feet_per_cartridge(width, depth, ounces)
    result: dict[str, object] = {"depth": decimal(depth, 4), "feet_per_cartridge": decimal(per_cartridge, 2)}
    working = [f"Half of {_inches(width)}, never under 1/4 nor over 1/2 in: {_inches(depth)} deep, over backer rod."]
    if width < sealing.LEAST_WIDTH:
        working.append(
            "A joint under 1/4 in can't move with its seal: make it wider, or leave it to the sealant's maker."
        )
    if opening_width is not None and opening_height is not None:
        feet = sealing.perimeter_feet(opening_width, opening_height, sides)
        count = sealing.cartridges(feet, per_cartridge, waste)
        result |= {"feet": decimal(feet, 2), "cartridges": count}
        working.append(f"Around {sides} sides: {in_words(feet, 'ft', 1)}, {counted(count, 'cartridge')} with waste.")
    source = ("a handbook table in the spirit of ASTM C1193 (published)", _CARTRIDGE, _WASTE)
    return Answer(result, _EXACT, tuple(working), source)


def _bed(given: Given) -> Answer:
    sill = given.amount("sill", "in", above=0)
    beads = given.whole("beads", sealing.BED_BEADS, 1, 20)
    bead = given.amount("bead", "in", sealing.BED_BEAD, above=0)
    ounces = given.amount("cartridge", "fl oz", sealing.CARTRIDGE_OZ, above=0)
    waste = given.amount("waste", "", sealing.WASTE, least=0, most=1)
    given.finish()
    feet = sealing.bed_feet(sill, beads)
    per_cartridge = sealing.feet_per_cartridge(bead, bead, ounces)
    count = sealing.cartridges(feet, per_cartridge, waste)
    result: dict[str, object] = {
        "feet": decimal(feet, 2),
        "feet_per_cartridge": decimal(per_cartridge, 2),
        "cartridges": count,
    }
    working = [
        f"{beads} beads of {_inches(bead)}, each {_inches(sill)}: {in_words(feet, 'ft', 1)}.",
        f"{in_words(per_cartridge, 'ft', 1)} a cartridge, {in_words(100 * waste, '%')} for waste: "
        f"{counted(count, 'cartridge')}.",
        "The first about 1 in from the inside edge, about 1 in apart. Over a sill pan seal its back edge and ends; "
        "its front drains and stays open.",
    ]
    if beads < sealing.BED_BEADS:
        working.append(f"Fewer than the usual {sealing.BED_BEADS} beads.")
    return Answer(result, _EXACT, tuple(working), ("sealant bed (common practice)", _CARTRIDGE, _WASTE))


def _foam(given: Given) -> Answer:
    width, height = given.amount("width", "in", above=0), given.amount("height", "in", above=0)
    gap, depth = given.amount("gap", "in", above=0), given.amount("depth", "in", above=0)
    sides = given.whole("sides", 3, 3, 4)
    can = given.optional("can", "in3", above=0)
    waste = given.amount("waste", "", sealing.WASTE, least=0, most=1)
    given.finish()
    feet = sealing.perimeter_feet(width, height, sides)
    found = sealing.foam(feet, gap, depth, can, waste)
    result: dict[str, object] = {
        "feet": decimal(feet, 2),
        "volume": decimal(found.volume, 1),
        "unit": "in3",
        "cans": found.cans,
    }
    working = [
        f"Around {sides} sides: {in_words(feet, 'ft', 1)}; {_inches(gap)} x {_inches(depth)}: "
        f"{in_words(found.volume, 'in³', 0)} ({in_words(found.volume / 1728, 'ft³')}).",
        f"{counted(found.cans, 'can')}."
        if found.cans is not None
        else 'Cans: give "can", the cured yield on the label.',
        "Low-expansion foam, after fixing, the door shut; then try the door again.",
    ]
    uncertainty = "A gap is never even: the volume is good to about a fifth."
    return Answer(result, uncertainty, tuple(working), ("geometry (computed)", _WASTE))


WORKS: tuple[Work, ...] = (
    Work(
        "screws",
        "what a screw leaves in the stud, its pilot hole, its withdrawal, and how many a side frame takes",
        "gauge: 10\nlength: 3 in\nframe: 1 1/4 in\nshim: 1/2 in\nwood: spruce-pine-fir\nheight: 82 in\n"
        "hinges: [8 in, 41 in, 74 in]\n",
        _screws,
    ),
    Work(
        "bed",
        "the sealant bed under a sill: feet of bead and cartridges",
        "sill: 74 1/2 in\n",
        _bed,
    ),
    Work(
        "sealant",
        "how far a cartridge goes and how many a bead takes (width and depth in inches, length in feet)",
        "width: 1/4 in\ndepth: 1/4 in\nlength: 40 ft\n",
        _sealant,
    ),
    Work(
        "joint",
        "how deep the sealant is in a joint of a width, and how many cartridges around an opening",
        "width: 3/4 in\nopening_width: 74 1/2 in\nopening_height: 82 5/8 in\n",
        _joint,
    ),
    Work(
        "foam",
        "the space around a frame that foam fills, and how many cans",
        "width: 73 1/2 in\nheight: 82 1/8 in\ngap: 1/2 in\ndepth: 1 1/2 in\ncan: 1000 in3\n",
        _foam,
    ),
)
