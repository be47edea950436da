"""Computations by name: what a unit weighs, lifting it, its hand, the doorway, and old paint."""

from __future__ import annotations

from fractions import Fraction

from guide.trade import doorway, handing, lifting, paint, weighing
from guide.trade.answer import Answer, Work, by_tape, decimal, in_words
from guide.trade.given import Given
from guide.trade.lifting import CUSTOMARY, METRIC, Lift


def _weight(given: Given) -> Answer:
    width, height = given.amount("width", "in", above=0), given.amount("height", "in", above=0)
    make = weighing.MAKES[given.choice("make", weighing.MAKES)]
    leaves = given.whole("leaves", 1, 1, 4)
    thickness = given.amount("thickness", "in", weighing.LEAF_THICKNESS, above=0)
    frame_depth = given.optional("frame_depth", "in", above=0)
    panes = []
    for part in given.parts("glass"):
        sizes = [part.amount(key, "in", above=0) for key in ("width", "height", "thickness")]
        panes.append(weighing.Pane(sizes[0], sizes[1], sizes[2], part.whole("sheets", 1, 1, 4)))
    given.problems.raise_if_any()
    if sum(pane.area for pane in panes) > width * height / 144:
        given.fault("glass", "there is more glass than leaf", "Give the panes of one leaf.")
    given.finish()
    found = weighing.unit_weight(width, height, make, leaves, tuple(panes), thickness, frame_depth)
    result: dict[str, object] = {
        "leaf": decimal(found.leaf, 1),
        "frame": decimal(found.frame, 1),
        "weight": decimal(found.unit, 1),
        "low": decimal(found.unit * (1 - weighing.SPREAD), 1),
        "high": decimal(found.unit * (1 + weighing.SPREAD), 1),
        "unit": "lb",
    }
    working = [f"One leaf {by_tape(width)} x {by_tape(height)}: {in_words(width * height / 144, 'ft²', 1)}."]
    working += [
        f"Glass {in_words(pane.area, 'ft²', 1)}, {pane.sheets} x "
        f"{in_words(weighing.glass_weight(pane.thickness), 'lb/ft²')}: {in_words(pane.weight, 'lb', 0)}."
        for pane in panes
    ]
    working += [
        f"The rest {make.name}, {in_words(make.per_foot, 'lb/ft²', 1)} ({make.basis}): "
        f"a leaf {in_words(found.leaf, 'lb', 0)}.",
        f"{leaves} of them and the frame {in_words(found.frame, 'lb', 0)}: {in_words(found.unit, 'lb', 0)}."
        if frame_depth is not None
        else f"{leaves} of them: {in_words(found.unit, 'lb', 0)}; the frame is not in it.",
    ]
    uncertainty = "An estimate, ± a fifth: weigh it, or take the figure on its label, before anyone relies on it."
    source = ("glass: handbook table, or 2,500 kg/m³ (published)", "leaf and frame: densities (common practice)")
    return Answer(result, uncertainty, tuple(working), source)


def _coupling(given: Given, v: Fraction, units: lifting.Units) -> Fraction:
    if given.word("CM") is not None:
        return lifting.coupling_multiplier(given.choice("CM", lifting.GRIPS), v, units)
    return given.amount("CM", "", 1, above=0, most=1)


def _frequency(given: Given) -> Fraction:
    if not given.has("frequency") and not given.has("hours"):
        return given.amount("FM", "", 1, above=0, most=1)
    if given.has("FM"):
        given.fault("FM", '"FM" and "frequency" say the same thing twice', "Leave one of them out.")
    per_minute = given.amount("frequency", "", Fraction(1, 5), least=0)
    hours = given.amount("hours", "h", 1, above=0)
    found = lifting.frequency_multiplier(per_minute, hours)
    if found is None:
        given.fault(
            "frequency" if given.has("frequency") else "hours", "the table kept here ends at 4 a minute and 8 hours"
        )
    return found if found is not None else Fraction(1)


def _lift(given: Given) -> Answer:
    written = given.unit_of("H", "V", "D")
    metric = given.choice("units", ("customary", "metric"), "metric" if written in {"mm", "cm", "m"} else "customary")
    units = METRIC if metric == "metric" else CUSTOMARY
    load = given.amount("load", units.mass, above=0)
    h, v = given.amount("H", units.length, least=0), given.amount("V", units.length, least=0)
    d, a = given.amount("D", units.length, 0, least=0), given.amount("A", "deg", 0, least=0, most=180)
    people = given.whole("people", 1, 1, 2)
    lift = Lift(h, v, d, a, _frequency(given), _coupling(given, v, units), units)
    given.finish()
    factors = lifting.multipliers(lift)
    limit = lifting.weight_limit(factors, units)
    index = lifting.lifting_index(load, limit)
    together = lifting.pair_limit(limit, limit)
    allowed = limit if people == 1 else together
    result: dict[str, object] = {
        "rwl": decimal(limit, 2),
        "li": None if index is None else decimal(index, 2),
        "acceptable": load <= allowed,
        "people": people,
        "two_people": decimal(together, 2),
        "multipliers": {name: decimal(value, 4) for name, value in factors.items()},
        "unit": units.mass,
        "not_covered": list(lifting.NOT_COVERED),
    }
    product = " x ".join(f"{name} {in_words(value, '', 3)}" for name, value in factors.items())
    working = [
        f"RWL = {in_words(units.constant, units.mass)} x {product} = {in_words(limit, units.mass, 1)}.",
        f"LI = {in_words(load, units.mass, 1)} / {in_words(limit, units.mass, 1)} = {in_words(index, '', 1)}."
        if index is not None
        else "A multiplier is zero: nothing may be lifted so.",
        f"Two people: about two thirds of the sum of what each could lift, {in_words(together, units.mass, 1)}; "
        "a rule beside the equation, which does not cover them.",
    ]
    options = _ways(lift, load, people)
    result["ways"] = options
    working += options
    working.append("Not covered: " + "; ".join(lifting.NOT_COVERED) + ".")
    uncertainty = (
        "A guide for healthy adults, with the multipliers as given; the manual's own are rounded to two figures."
    )
    source = (
        "NIOSH 94-110 (published); its frequency table (published, from memory)",
        "two people: ISO 11228-1 and national guides (published, from memory)",
    )
    return Answer(result, uncertainty, tuple(working), source)


_WAYS = {
    "H": "bring it closer: hands at most {to} out from the ankles",
    "V": "begin with the hands {to} above the floor",
    "D": "lift it no further than {to} at a time",
    "A": "turn the feet: twist at most {to}",
    "FM": "lift less often (a frequency multiplier of {to})",
    "CM": "get a better grip: handles or a strap (a coupling multiplier of {to})",
}


def _ways(lift: Lift, load: Fraction, people: int) -> list[str]:
    """What would make the lift acceptable, in words; empty when it is."""
    units = lift.units
    alone = lifting.recommended_limit(lift)
    share = load if people == 1 else load / (2 * lifting.PAIR_SHARE)
    if share <= alone:
        return []
    measure = {"H": units.length, "V": units.length, "D": units.length, "A": "deg", "FM": "", "CM": ""}
    found = [
        _WAYS[way.what].format(to=in_words(way.to, measure[way.what], 1 if measure[way.what] else 2))
        for way in lifting.ways(lift, share)
    ]
    if people == 1 and load <= lifting.pair_limit(alone, alone):
        found.append("two people, of whom each could do as one")
    if not found:
        best = units.constant if people == 1 else lifting.pair_limit(units.constant, units.constant)
        number = "one person" if people == 1 else "two people"
        found.append(
            "no single change is enough: make several of them"
            if load <= best
            else f"not by {number} at all, {in_words(best, units.mass)} is the most: take the leaves off, or hoist it"
        )
    return found


def _hand(given: Given) -> Answer:
    seen_from: handing.Face = (
        "inside" if given.choice("seen_from", ("outside", "inside"), "outside") == "inside" else "outside"
    )
    pair = given.has("active")
    key = "active" if pair else "hinges"
    if pair and given.has("hinges"):
        given.fault("hinges", '"hinges" is for a single door, "active" for a pair', "Leave one of them out.")
    side: handing.Side = "left" if given.choice(key, ("left", "right")) == "left" else "right"
    opens = given.choice("opens", ("in", "out", "toward me", "away from me"))
    given.finish()
    toward = {"in": seen_from == "inside", "out": seen_from == "outside", "toward me": True, "away from me": False}[
        opens
    ]
    swing: handing.Swing = "out" if toward == (seen_from == "outside") else "in"
    found = handing.hand(side, swing, seen_from)
    result: dict[str, object] = {
        "hand": found.code,
        "name": found.name,
        "din": found.din,
        "hinges_from_outside": found.hinges,
        "opens": found.opens,
        "sketch": handing.sketch(found, pair),
    }
    what = "The active leaf's hinges are" if pair else "The hinges are"
    working = [
        f"{what} on the {found.hinges} seen from outside, and it opens {found.opens}: {found.code}, {found.name}.",
        f"From where the hinges show, {'outside' if found.opens == 'out' else 'inside'}, they are on the {found.din}: "
        f"DIN {found.din}.",
        "Sellers differ in what they call a hand: order with the sketch as well.",
        *handing.sketch(found, pair).splitlines(),
    ]
    source = ("ANSI/BHMA A156.115 (published, from memory)", "DIN 107, EN 12519 (published, from memory)")
    return Answer(result, "None, if what was seen is right.", tuple(working), source)


def _doorway(given: Given) -> Answer:
    findings: list[doorway.Finding] = []
    exit_door = given.yes_no("exit", True)
    width, height = given.optional("clear_width", "in", above=0), given.optional("clear_height", "in", above=0)
    one_leaf = given.optional("one_leaf_width", "in", above=0)
    access = given.yes_no("access", one_leaf is not None)
    outside, inside = given.optional("step_outside", "in", least=0), given.optional("step_inside", "in", least=0)
    swings_over = given.yes_no("swings_over_landing", True)
    sill = given.optional("threshold", "in", least=0)
    vertical = given.optional("threshold_vertical", "in", least=0)
    slope = given.optional("threshold_slope", "", least=0)
    panes = [
        (
            part.amount("distance", "in", least=0),
            part.amount("bottom", "in", least=0),
            part.yes_no("safety") if part.has("safety") else None,
        )
        for part in given.parts("glass")
    ]
    given.finish()
    if exit_door:
        findings += [doorway.exit_width(width)] if width is not None else []
        findings += [doorway.exit_height(height)] if height is not None else []
        findings += [doorway.landing(outside, True, swings_over)] if outside is not None else []
        findings += [doorway.landing(inside, False, swings_over)] if inside is not None else []
    clear = one_leaf if one_leaf is not None else width
    findings += [doorway.access_width(clear)] if access and clear is not None else []
    if sill is not None:
        findings.append(doorway.threshold(sill, vertical, slope))
    findings += [doorway.glass_beside(*pane) for pane in panes]
    if not findings:
        given.fault(
            None, "nothing here to look up", "Give clear_width, clear_height, step_outside, threshold …", "missing"
        )
        given.finish()
    meets = [finding.meets for finding in findings]
    result: dict[str, object] = {
        "meets": False if False in meets else None if None in meets else True,
        "findings": [
            {"topic": one.topic, "meets": one.meets, "says": one.says, "source": one.source} for one in findings
        ],
        "ask": doorway.ASK,
    }
    words = {True: "meets it", False: "does not meet it", None: "can't be told from what was given"}
    working = [f"{one.topic}: {one.says}: {words[one.meets]}." for one in findings]
    if not exit_door:
        working.append("The texts on exit width, height and landings kept here are for the required exit door only.")
    working.append(doorway.ASK)
    sources = tuple(dict.fromkeys(one.source for one in findings))
    return Answer(
        result, "The figures are taken as true; the texts have exceptions not kept here.", tuple(working), sources
    )


def _paint(given: Given) -> Answer:
    unknown = given.word("built") is not None
    if unknown:
        given.choice("built", ("unknown",))
    built = given.whole("built", 0, 0, 2100) if not unknown and given.has("built") else None
    tested: paint.Tested = {"no": "no", "lead": "lead", "free": "free"}[
        given.choice("tested", ("no", "lead", "free"), "no")
    ]  # type: ignore[assignment]
    window = given.yes_no("window_replaced", False)
    disturbed = [_disturbed(part) for part in given.parts("parts")]
    given.finish()
    found = paint.spaces(disturbed)
    advice = paint.advice(built, tested, window, found)
    result: dict[str, object] = {
        "advice": advice,
        "built": built,
        "spaces": [
            {
                "room": one.room,
                "where": one.where,
                "area": decimal(one.area, 2),
                "limit": decimal(one.limit),
                "over": one.over,
            }
            for one in found
        ],
    }
    working = [
        f"{one.room}: {in_words(one.area, 'ft²', 1)} of {in_words(one.limit, 'ft²')} {one.where}: "
        f"{_against_limit(one)}."
        for one in found
    ]
    working += _PAINT_WORDS[advice]
    if advice != "built after the rule's date":
        working.append(paint.WORKERS)
    working.append(paint.ASBESTOS)
    source = ("40 CFR 745.82–83 (published)", "assume lead unless tested (common practice)")
    return Answer(result, "Areas as given; a part that is taken out counts whole.", tuple(working), source)


def _against_limit(space: paint.Space) -> str:
    if space.area == space.limit:
        return "exactly the limit; frame and trim count as well, and bring it over"
    return "over the limit" if space.over else "not over the limit"


def _disturbed(part: Given) -> paint.Disturbed:
    where: paint.Where = "outside" if part.choice("where", ("inside", "outside")) == "outside" else "inside"
    room = part.text("room", where)
    days = part.whole("days_ago", 0)
    if part.has("area"):
        area = part.amount("area", "ft2", above=0)
        for key in ("width", "height", "faces"):
            if part.has(key):
                part.fault(key, f'"{key}" and "area" say the same thing twice', "Leave one of them out.")
    else:
        width, height = part.amount("width", "in", above=0), part.amount("height", "in", above=0)
        area = paint.face_area(width, height, part.whole("faces", 1, 1, 6))
    return paint.Disturbed(room, where, area, days)


_PAINT_WORDS: dict[paint.Advice, list[str]] = {
    "lead-safe work": [
        "Lead-safe work by a certified firm is what the rule asks for; until a test says otherwise the paint is lead.",
        f"Who may test: {paint.WHO_MAY_TEST}.",
    ],
    "assume lead": [
        "Not over the rule's area, as given: all the same, take the paint for lead and keep dust down. A window, "
        "torches, open sanding or work within 30 days bring the rule in; frame and trim count with the leaf.",
        f"Who may test: {paint.WHO_MAY_TEST}.",
    ],
    "tested free of lead": [
        "The rule does not bind parts that a test found free of lead, only the parts tested: keep the report.",
        f"Who may test: {paint.WHO_MAY_TEST}.",
    ],
    "built after the rule's date": ["Built in 1978 or later: this rule is for older buildings; others may still hold."],
}


WORKS: tuple[Work, ...] = (
    Work(
        "weight",
        "what a unit weighs, from its size, make and glass",
        "width: 36 in\nheight: 80 in\nmake: fibreglass, foam core\nleaves: 2\nframe_depth: 4 9/16 in\n"
        "glass: [{width: 22 in, height: 64 in, thickness: 1/8 in, sheets: 2}]\n",
        _weight,
    ),
    Work(
        "lift",
        "the recommended weight limit of a lift, its lifting index, and what would make it acceptable",
        "load: 35 lb\nH: 20 in\nV: 27 in\nD: 33 in\nA: 0\nFM: 1\nCM: 0.90\n",
        _lift,
    ),
    Work(
        "hand",
        "which hand a door is, from what you see, in both ways of naming it",
        "seen_from: outside\nactive: right\nopens: in\n",
        _hand,
    ),
    Work(
        "doorway",
        "what published texts say of exit, access, landings, threshold and glass beside a door",
        "clear_width: 33 in\nclear_height: 79 in\nstep_outside: 7 3/4 in\nswings_over_landing: no\nthreshold: 1/2 in\n"
        "threshold_vertical: 1/4 in\nthreshold_slope: 1/2\nglass: [{distance: 12 in, bottom: 8 in, safety: yes}]\n",
        _doorway,
    ),
    Work(
        "paint",
        "old paint: the area disturbed against the rule for lead-safe work",
        "built: 1962\nparts:\n  - {where: outside, width: 36 in, height: 80 in}\n"
        "  - {where: inside, room: hall, width: 36 in, height: 80 in}\n",
        _paint,
    ),
)
