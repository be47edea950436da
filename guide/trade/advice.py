"""What to do next with a frame: read something again, move these points, or know that shims can't do it.

The one door to the model, the programme, the proof and what the rounds have taught; a pure function of the rounds.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Literal

from guide.trade import told
from guide.trade.fault import TRUST, Suspicion, WallLean, suspicion
from guide.trade.frame import Frame, Point, Spot, Wanted
from guide.trade.learn import Learned, Round, learn
from guide.trade.moves import Plan, at_once, fewest, in_order, least_excess
from guide.trade.proof import Cannot, cannot
from guide.trade.task import SHIM, Task

PATIENCE = 6
"""Rounds of moves after which a person decides; a frame that shims can put right hardly ever gets there."""

COVERAGE = 2
"""Standard deviations that the margin for noise covers."""

HANDS = Fraction(1, 40)
"""Standard deviation of one move as made, for the margin wanted (in; chosen on simulated frames)."""

OUT_SECONDS = 0.3
"""Time for moves that come nearest where none put everything right; nothing is claimed of them, and they learn (s)."""

MARGIN_MOST = Fraction(9, 10)
"""The most of a half tolerance that is wanted as margin."""

GRID = 1 << 16
"""Figures that come out of the filter are taken to 1/65536 in, exact from there."""

Kind = Literal["done", "read again", "move", "cannot", "lead"]


@dataclass(frozen=True, slots=True)
class Step:
    """One move: the point, how far (in, + and − as the point says), its direction in words, and the sentence."""

    point: str
    by: Fraction
    direction: str
    say: str


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do next. `steps` are in the order to make them; `after` is where the readings should then stand (in).

    `proven_fewest`: nothing else costs less. `again` are places to read again. `say` is all of it in sentences.
    """

    kind: Kind
    steps: tuple[Step, ...] = ()
    after: Mapping[Spot, Fraction] | None = None
    proven_fewest: bool = False
    inside: bool = False
    again: tuple[Spot, ...] = ()
    suspicion: Suspicion | None = None
    cannot: Cannot | None = None
    learned: Learned | None = None
    say: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Case:
    """A frame and its rounds so far: what is wanted of each reading, what is known of the wall, what is ruled out.

    `room` is how far points may go from where they stood at the start (in); points not named keep their own.
    """

    frame: Frame
    rounds: tuple[Round, ...]
    wanted: Mapping[Spot, Wanted]
    wall: WallLean | None = None
    room: Mapping[str, tuple[Fraction, Fraction]] | None = None
    ruled_out: frozenset[str] = frozenset()
    step: Fraction = SHIM
    even: Mapping[str, Fraction] = field(default_factory=dict)
    """Reading -> the most that its places may differ from each other (in)."""
    doubts: bool = True
    """Whether readings may still be asked for again because no move explains them."""


def moved(case: Case) -> dict[str, Fraction]:
    """How far each point has been told to move in all."""
    total: dict[str, Fraction] = {}
    for one in case.rounds:
        for name, by in one.moves.items():
            total[name] = total.get(name, Fraction(0)) + by
    return total


def _made(case: Case, learned: Learned) -> dict[str, Fraction]:
    """How far each point has gone in all, moves that were seen to be made otherwise than told counted as made."""
    total = moved(case)
    for one in learned.surprises:
        if one.point is not None:
            total[one.point] += case.rounds[one.round].moves[one.point] * (round(one.by) - 1)
    return total


def rounds_made(case: Case) -> int:
    """How many rounds of moves were made."""
    return sum(1 for one in case.rounds if any(one.moves.values()))


def since_moved(case: Case) -> list[Round]:
    """The rounds since anything was moved: their readings are what counts now."""
    found: list[Round] = []
    for one in case.rounds:
        found = [one] if any(one.moves.values()) else [*found, one]
    return found


def current(case: Case) -> dict[Spot, Fraction]:
    """The latest figure of each reading since anything was moved."""
    found: dict[Spot, Fraction] = {}
    for one in since_moved(case):
        found.update({spot: value for spot, value in one.readings.items() if spot in case.wanted})
    return found


def out_of(case: Case, readings: Mapping[Spot, Fraction]) -> list[Spot]:
    """The readings that are out of tolerance, or furthest apart of places that must be more even; exact."""
    out = [spot for spot, value in readings.items() if not case.wanted[spot].low <= value <= case.wanted[spot].high]
    for low, high, over in _apart(case, readings):
        if over > 0:
            out += [spot for spot in (low, high) if spot not in out]
    return out


def _apart(case: Case, readings: Mapping[Spot, Fraction]) -> Iterator[tuple[Spot, Spot, Fraction]]:
    """Of each reading that must be even: the least place, the largest, and how far beyond the most they are apart."""
    for reading, most in case.even.items():
        values = {spot: value for spot, value in readings.items() if spot[0] == reading}
        if values:
            low, high = min(values, key=values.__getitem__), max(values, key=values.__getitem__)
            yield low, high, values[high] - values[low] - most


def _pairs(case: Case, spots: Sequence[Spot]) -> list[tuple[int, int, Fraction]]:
    """Places of one reading (where they stand in the list) that must be even with each other, and how even."""
    return [
        (i, j, case.even[spot[0]])
        for i, spot in enumerate(spots)
        for j in range(i)
        if spot[0] in case.even and spots[j][0] == spot[0]
    ]


def task_of(case: Case, learned: Learned, as_read: Collection[Spot] = ()) -> Task:
    """What is to be put right, exactly. Before anything was moved, the readings and the model as they are.

    `as_read` are places whose latest figure is taken as it is, whatever the rounds before say.
    """
    frame, wanted, now = case.frame, case.wanted, current(case)
    spots = tuple(spot for spot in learned.spots if spot in wanted)
    started = not rounds_made(case)
    at, effect, spread, limits = list[Fraction](), list[tuple[Fraction, ...]](), list[Fraction](), []
    for spot in spots:
        row = learned.spots.index(spot)
        direct = (started or spot in as_read) and spot in now
        at.append(now[spot] if direct else Fraction(round(learned.at[row] * GRID), GRID))
        effect.append(
            frame.effect[spot] if started else tuple(Fraction(round(e * GRID), GRID) for e in learned.effect[row])
        )
        spread.append(Fraction(learned.variance[row]) + wanted[spot].u ** 2)
        limits.append((wanted[spot].low, wanted[spot].high))
    named = list(spots)
    for i, j, most in _pairs(case, spots):
        named.append((spots[i][0], f"{spots[i][1]} against {spots[j][1]}"))
        at.append(at[i] - at[j])
        effect.append(tuple(a - b for a, b in zip(effect[i], effect[j], strict=True)))
        spread.append(spread[i] + spread[j])
        limits.append((-most, most))
    margin = [
        min(_reach(noise + HANDS**2 * sum((e**2 for e in row), Fraction(0))), MARGIN_MOST * (high - low) / 2)
        for noise, row, (low, high) in zip(spread, effect, limits, strict=True)
    ]
    done = _made(case, learned)
    room = []
    for point in frame.points:
        least, most = (case.room or {}).get(point.name, (point.low, point.high))
        by = done.get(point.name, Fraction(0))
        room.append((min(Fraction(0), least - by), max(Fraction(0), most - by)))
    return Task(
        tuple(named),
        tuple(at),
        tuple(effect),
        tuple(low for low, _ in limits),
        tuple(high for _, high in limits),
        tuple(margin),
        frame.points,
        tuple(room),
        case.step,
    )


def _reach(variance: Fraction) -> Fraction:
    """How far noise of this variance (in²) reaches, to 1/4096 in."""
    return Fraction(round(COVERAGE * float(variance) ** 0.5 * 4096), 4096)


def first_answer(case: Case) -> Plan:
    """Moves at once, by least squares: good, not proven to be the fewest. Raises ValueError without readings."""
    return at_once(_task(case, _learn(case)))


def _learn(case: Case) -> Learned:
    return learn(case.frame, case.rounds, {spot: one.u for spot, one in case.wanted.items()})


def _task(case: Case, learned: Learned) -> Task:
    return task_of(case, learned).without(case.ruled_out)


def advise(case: Case, seconds: float = 2.0) -> Advice:
    """What to do next; `seconds` is the time the programme is given.

    Raises ValueError when there are no readings, SolverMissing without scipy.
    """
    now = current(case)
    out = out_of(case, now)
    missing = [spot for spot in case.wanted if spot not in now]
    if now and not out:
        if not missing:
            return Advice("done", say=("Every reading is good.",))
        return _again(missing, "Take these as well")
    learned = _learn(case)
    just_over = _just_over(case, now, out)
    if just_over and case.doubts and len(since_moved(case)) == 1:
        return replace(_again(just_over, "Only just out: read again before anything is moved"), learned=learned)
    notes: list[str] = []
    doubt = _doubt(case, learned, now)
    if doubt is not None and doubt.named:
        notes += told.suspicion_told(doubt)
        again = [one.spot for one in doubt.named if one.spot is not None]
        again += [doubt.settle] if doubt.settle is not None and doubt.settle in case.wanted else []
        if again:
            return Advice("read again", again=tuple(again), suspicion=doubt, learned=learned, say=tuple(notes))
    latest = len(case.rounds) - len(since_moved(case))
    fresh = [one for one in learned.surprises if one.round == latest]
    notes += [told.surprise_told(one) for one in fresh]
    odd = [one.spot for one in fresh if one.spot is not None]
    if odd and case.doubts and len(since_moved(case)) == 1:
        return Advice("read again", again=tuple(odd), learned=learned, say=tuple(notes))
    made = rounds_made(case)
    if made >= PATIENCE:
        worst = max(out, key=lambda spot: _beyond(case.wanted[spot], now[spot]))
        notes.append(
            f"After {made} rounds {told.spot_told(worst)}, is still out: this frame does not answer to shims as it "
            "should. Whoever leads decides."
        )
        return Advice("lead", learned=learned, suspicion=doubt, say=tuple(notes))
    return _moves(case, learned, doubt, out, notes, seconds)


def _just_over(case: Case, now: Mapping[Spot, Fraction], out: Sequence[Spot]) -> list[Spot]:
    """The readings that are out, if every one of them is so by no more than noise may be; else none.

    Of places that are not even with each other, the noise of two counts.
    """
    if any(_beyond(case.wanted[spot], now[spot]) > COVERAGE * case.wanted[spot].u for spot in out):
        return []
    for low, high, over in _apart(case, now):
        if over > 0 and over**2 > COVERAGE**2 * (case.wanted[low].u ** 2 + case.wanted[high].u ** 2):
            return []
    return list(out)


def _beyond(wanted: Wanted, value: Fraction) -> Fraction:
    return max(wanted.low - value, value - wanted.high)


def _again(spots: Sequence[Spot], why: str) -> Advice:
    return Advice("read again", again=tuple(spots), say=(f"{why}: {'; '.join(map(told.spot_told, spots))}.",))


def _doubt(case: Case, learned: Learned, now: Mapping[Spot, Fraction]) -> Suspicion | None:
    """What no move could explain; looked for before the first move only, and not without end.

    What was read more than once counts as the mean, with its smaller noise.
    """
    if not case.doubts or rounds_made(case) or len(case.rounds) > 3:
        return None
    nominal = {spot: one.nominal for spot, one in case.wanted.items()}
    pooled = dict(zip(learned.spots, zip(learned.at, learned.variance, strict=True), strict=True))
    readings = {spot: Fraction(pooled[spot][0]) for spot in now}
    u = {spot: one.u for spot, one in case.wanted.items()} | {spot: Fraction(pooled[spot][1] ** 0.5) for spot in now}
    return suspicion(case.frame, readings, nominal, u, case.wall, learned.confirmed)


def _moves(
    case: Case, learned: Learned, doubt: Suspicion | None, out: Sequence[Spot], notes: list[str], seconds: float
) -> Advice:
    again = len(since_moved(case)) > 1
    freed = task_of(case, learned, out if again else ())
    task = freed.without(case.ruled_out)
    try:
        plan = fewest(task, seconds)
    except TimeoutError:
        quick = at_once(task)
        plan = quick if quick.inside else least_excess(task, min(seconds, OUT_SECONDS))
    why: Cannot | None = None
    if plan is None:
        why = cannot(task, case.frame, _variance(case, learned, task, at_once(task)), freed)
        notes += told.cannot_said(why)
        if why.row is not None and why.sure:
            return Advice("cannot", suspicion=doubt, cannot=why, learned=learned, say=tuple(notes))
        plan = least_excess(task, min(seconds, OUT_SECONDS))
    if not plan.count:
        if plan.inside and not again:
            notes.append("No move is wanted: read again what is out.")
            return Advice("read again", again=tuple(out), learned=learned, say=tuple(notes))
        notes.append("No move makes it better. Whoever leads decides.")
        return Advice("lead", suspicion=doubt, cannot=why, learned=learned, say=tuple(notes))
    steps = tuple(_step(task.points[j], plan.moves[j]) for j in in_order(task, plan.moves))
    after = {spot: value for spot, value in zip(task.spots, plan.after, strict=True) if spot in case.wanted}
    return Advice(
        "move",
        steps,
        after,
        plan.proven,
        plan.inside,
        (),
        doubt,
        why,
        learned,
        (*notes, *(step.say for step in steps)),
    )


def _variance(case: Case, learned: Learned, task: Task, plan: Plan) -> dict[Spot, Fraction]:
    """How sure each reading will be once it is moved about as far as it needs: noise, and the model's own error."""
    trust = Fraction(TRUST)
    single = dict(zip(learned.spots, learned.variance, strict=True))
    found = {}
    for i, spot in enumerate(task.spots):
        far = sum((e**2 * m**2 for e, m in zip(task.effect[i], plan.moves, strict=True)), Fraction(0))
        places = [spot] if spot in single else [(spot[0], place) for place in spot[1].split(" against ")]
        found[spot] = sum((Fraction(single[one]) for one in places), Fraction(0)) + trust**2 * far
    return found


def _step(point: Point, by: Fraction) -> Step:
    return Step(point.name, by, point.direction(by), told.move_told(point, by))


def with_round(case: Case, one: Round) -> Case:
    """The case with one more round."""
    return replace(case, rounds=(*case.rounds, one))
