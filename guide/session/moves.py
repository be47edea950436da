"""Moves for checks that are read together: worked out once all are read, told one at a time, explained, ruled out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from guide.job import events as ev
from guide.job.advice import advise as advise_one
from guide.job.figures import lookup
from guide.job.request import Request
from guide.job.state import SetState, Taken
from guide.procedure.model import Moves, Together
from guide.procedure.worked import Missing, evaluate
from guide.quantity import LENGTH, Quantity, QuantityError, nearest
from guide.session.asks import limits_now
from guide.session.job import Job
from guide.talk.say import written
from guide.trade import told
from guide.trade.advice import Case, advise
from guide.trade.frame import TOUCHING_U, Frame, FrameError, Spot, Unit, Wanted, frame_of, wanted
from guide.trade.learn import Round
from guide.trade.solver import SolverMissing

HAIR = Fraction(1, 128)
"""What a hair over or under counts for when moves are worked out (in)."""

SECONDS = 0.4
"""What a crew waits for the fewest moves; what is found by then but not proven is told all the same (s)."""

ASKED_AGAIN_MOST = 2
"""How often readings are asked for again, with nothing moved between, before they are taken to stand."""

SHOWN = Fraction(1, 64)


class Planner:
    """Works out what to do about a set of checks of one job, from the readings as they stand."""

    def __init__(self, job: Job) -> None:
        self.job = job

    def set_of(self, want: Request) -> Together | None:
        """The set with moves that a request is about."""
        one = self.job.procedure.set_of.get(want.step)
        return one if one is not None and one.moves is not None else None

    def wanted(self, want: Request) -> ev.Planned | None:
        """What to keep before the request is put to the crew, when a set was read and nothing is planned yet."""
        one = self.set_of(want)
        if one is None or want.want not in ("adjust", "lead"):
            return None
        now = self.job.state.sets[one.name]
        return None if now.plan is not None or now.to_make else self._plan(one, now)

    def case(self, one: Together) -> Case | None:
        """The set as the geometry sees it: unit, rounds, tolerances; None where the unit is not known yet."""
        frame = self._frame(one.moves)
        if frame is None:
            return None
        now, state = self.job.state.sets[one.name], self.job.state
        limits: dict[Spot, Wanted] = {}
        even: dict[str, Fraction] = {}
        usual, read = wanted(frame.spots), self._readings(one)
        for spot, at in self._spots(one, frame).items():
            within = limits_now(self.job.procedure, state, at.step)
            if within.low is not None and within.high is not None:
                low, high = within.low.base, within.high.base
                shut = read[at] == Quantity(Fraction(0), "in") and low > 0
                limits[spot] = Wanted((low + high) / 2, low, high, TOUCHING_U if shut else usual[spot].u)
            expression = self.job.procedure.steps[at.step].even
            if expression is not None:
                even[spot[0]] = evaluate(expression, lookup(self.job.procedure, state)).base
        rounds = tuple(self._rounds(one, now, frame))
        doubts = now.asked_again < ASKED_AGAIN_MOST
        return Case(frame, rounds, limits, ruled_out=frozenset(now.ruled_out), even=even, doubts=doubts)

    def _plan(self, one: Together, now: SetState) -> ev.Planned:
        readings = {_key(at): str(value) for at, value in self._readings(one).items()}
        try:
            case = self.case(one)
            said = advise(case, SECONDS) if case is not None else None
        except (SolverMissing, TimeoutError, ValueError):
            case = said = None
        if case is None or said is None or said.kind == "done":
            return ev.Planned(one.name, "each", readings, tuple(self._each(one)))
        spots = self._spots(one, case.frame)
        moves = tuple(ev.Move(step.point, Quantity(step.by, "in"), step.direction, step.say) for step in said.steps)
        after = {_key(spots[spot]): str(_shown(value)) for spot, value in (said.after or {}).items()}
        return ev.Planned(
            one.name,
            said.kind,
            readings,
            said.say[: len(said.say) - len(said.steps)],
            moves,
            tuple(spots[spot] for spot in said.again),
            after,
            said.proven_fewest,
        )

    def _each(self, one: Together) -> Iterable[str]:
        """Each check's own correction, for where no moves can be worked out."""
        procedure, state = self.job.procedure, self.job.state
        for name in procedure.order:
            if name in one.checks and state.steps[name].awaiting:
                step, value_of = procedure.steps[name], lookup(procedure, state)
                even = evaluate(step.even, value_of) if step.even is not None else None
                within = limits_now(procedure, state, name)
                yield from advise_one(step, state.steps[name], within, even, value_of).say

    def _frame(self, moves: Moves | None) -> Frame | None:
        """The model of the unit; None where there is none, or its size is not known yet."""
        if moves is None:
            return None
        value_of = lookup(self.job.procedure, self.job.state)
        try:
            width, height = evaluate(moves.width, value_of).base, evaluate(moves.height, value_of).base
            side = self._hung_on(moves.hinges) if moves.hinges is not None else "left"
            return frame_of(Unit(width, height, moves.leaves, hinge_side="right" if side == "right" else "left"))
        except (Missing, QuantityError, FrameError):
            return None

    def _hung_on(self, reading: str) -> str:
        for step in self.job.procedure.steps.values():
            if step.take == reading:
                for taken in self.job.state.steps[step.name].last.values():
                    return str(taken.value)
        return "left"

    def _spots(self, one: Together, frame: Frame) -> dict[Spot, ev.Spot]:
        """The places that have been read, by the names of the model."""
        read = self._readings(one)
        at = {self._spot(spot): spot for spot in read}
        return {spot: at[spot] for spot in self._known(read, frame)}

    def _rounds(self, one: Together, now: SetState, frame: Frame) -> Iterable[Round]:
        """What was moved, and what was read then, round by round; places read again are a round without moves."""
        moves: Mapping[str, Fraction] = {}
        for made in now.rounds:
            values = self._known(made.readings, frame)
            yield Round(values, moves)
            yield from _again({spot: values[spot] for at in made.repeated if (spot := self._spot(at)) in values})
            moves = {move.point: move.by.base for move in made.moves}
        here = self.job.state.read(one)
        values = self._known({at: _hair(taken) for at, taken in here.items()}, frame)
        yield Round(values, moves)
        yield from _again({self._spot(at): values[self._spot(at)] for at, taken in here.items() if taken.repeats})

    def _known(self, readings: Mapping[ev.Spot, ev.Value], frame: Frame) -> dict[Spot, Fraction]:
        """The readings that the model knows, in inches."""
        return {
            self._spot(at): value.base
            for at, value in readings.items()
            if isinstance(value, Quantity) and value.dimension == LENGTH and self._spot(at) in frame.effect
        }

    def _spot(self, at: ev.Spot) -> Spot:
        return (self.job.procedure.steps[at.step].take or "", at.place)

    # What a crew asks about

    def why(self, one: Together) -> str:
        """What the next move is for: the readings that are out and that it brings nearer."""
        say, now = self.job.wording.say, self.job.state.sets[one.name]
        frame = self._frame(one.moves)
        moves = now.left
        if not moves or frame is None:
            return say("moves.none")
        point = next(at for at, point in enumerate(frame.points) if point.name == moves[0].point)
        read = now.rounds[-1].readings if now.to_make else self._readings(one)
        gains = []
        for at, value in read.items():
            spot = self._spot(at)
            within = limits_now(self.job.procedure, self.job.state, at.step)
            aim = within.aim()
            if spot not in frame.effect or aim is None or not isinstance(value, Quantity):
                continue
            moved = value.base + frame.effect[spot][point] * moves[0].by.base
            gain = abs(value.base - aim.base) - abs(moved - aim.base)
            if gain >= SHOWN:
                gains.append((-gain, told.spot_told(spot), value, _shown(moved)))
        best = sorted(gains, key=lambda found: found[:2])[:3]
        if not best:
            return say("moves.why-with-others", move=moves[0].say)
        brings = [say("moves.brings", what=what, was=written(was), then=written(then)) for _, what, was, then in best]
        return say("moves.why", move=moves[0].say, brings=self.job.wording.join(brings))

    def _readings(self, one: Together) -> dict[ev.Spot, ev.Value]:
        return {at: taken.value for at, taken in self.job.state.read(one).items()}

    def list(self, one: Together) -> str:
        """Every move that is still to make, in order."""
        moves = self.job.state.sets[one.name].left
        if not moves:
            return self.job.wording.say("moves.none")
        return " ".join(f"{number}: {move.say}" for number, move in enumerate(moves, 1))

    def point_names(self, one: Together) -> tuple[str, ...]:
        """Every shim point of the set's unit."""
        frame = self._frame(one.moves)
        return tuple(point.name for point in frame.points) if frame is not None else ()

    def named(self, one: Together, words: str) -> tuple[str, ...]:
        """The shim points that the words name best: of the moves to make where one of them fits, else of all."""
        moves = self.job.state.sets[one.name].left
        said = set(words.lower().split()) - _IDLE
        if not said and moves:
            return (moves[0].point,)
        for names in ([move.point for move in moves], self.point_names(one)):
            found = [name for name in names if said and said <= set(name.split())]
            exact = [name for name in found if said == set(name.split())]
            if found:
                return tuple(exact or found)
        return ()


_IDLE = frozenset(["the", "a", "an", "that", "this", "it", "one", "at", "in", "of", "point", "move"])


def _again(values: Mapping[Spot, Fraction]) -> list[Round]:
    return [Round(values)] if values else []


def _hair(taken: Taken) -> ev.Value:
    """The value, a hair over or under where it was said so."""
    value, hair = taken.value, taken.heard.hair
    return value + Quantity(HAIR * hair, "in") if hair and isinstance(value, Quantity) else value


def _key(at: ev.Spot) -> str:
    return f"{at.step}: {at.place}" if at.place else at.step


def _shown(value: Fraction) -> Quantity:
    return nearest(Quantity(value, "in"), "in", SHOWN)[0]
