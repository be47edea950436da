"""What is asked of many jobs: each question one expression of ibis, which any of its engines answers.

An expression is asked of `Tables`, already held to the jobs that are meant. Shares come with the interval of Wilson
(95 %), so that two of three is not taken for much; a crew, or a procedure, is held against all the others by the
difference of two shares in standard errors. A question more: a function, its entry in `QUESTIONS`, its words in
`en.toml`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

Z = 1.959963984540054
"""The normal quantile of a 95 % interval."""
SURE = 3.29
"""Standard errors from which on a difference or a drift is pointed at: 1 in 1,000, as for readings of a survey."""
LEAST = 20
"""Readings below which a drift is not worked out."""

Table = Any
"""A table expression; ibis's own types would make it an import of every module."""
Shape = Literal["text", "count", "share", "number", "amount", "seconds", "sure"]


@dataclass(frozen=True, slots=True)
class Tables:
    """The tables of a store, held to the jobs that are meant."""

    jobs: Table
    readings: Table
    steps: Table
    decisions: Table
    oddities: Table


@dataclass(frozen=True, slots=True)
class Question:
    """A question: its expression, what its columns are, and what is drawn of it."""

    name: str
    ask: Callable[[Tables], Table]
    columns: dict[str, Shape]
    bars: tuple[str, str, str] | None = None
    """What is drawn as a bar, and where its interval begins and ends ("" for none)."""
    keys: tuple[str, ...] = ()
    """The columns that tell one row from another; rows that are alike in `order` come in theirs."""
    order: tuple[str, ...] = ()
    """Columns that rows are put in order by: "-" the largest first, "~" the one furthest from nothing first."""
    most: int = 0
    """Rows at most; 0 for all."""


def _share(table: Table, part: str, whole: str, name: str) -> Table:
    """The table with a share and its interval (Wilson): `name`, `name_low`, `name_high`."""
    n = table[whole].cast("float64")
    p = table[part].cast("float64") / n
    middle = (p + Z * Z / (2 * n)) / (1 + Z * Z / n)
    half = (p * (1 - p) / n + Z * Z / (4 * n * n)).sqrt() * Z / (1 + Z * Z / n)
    return table.mutate(**{name: p, f"{name}_low": middle - half, f"{name}_high": middle + half})


def _count(condition: Any) -> Any:
    """How often it is so."""
    return condition.cast("int64").sum()


def _number(column: Any) -> Any:
    return column.cast("float64")


def first_try(tables: Tables) -> Table:
    """Which checks fail most on the first try."""
    judged = tables.steps.filter(lambda t: t.check & t.first_try.notnull())
    table = judged.group_by("procedure", "step").aggregate(
        n=lambda t: t.count(),
        failed=lambda t: _count(~t.first_try),
        conceded=lambda t: _count(t.standing == "conceded"),
        unfinished=lambda t: _count(~t.standing.isin(["fresh", "conceded"])),
    )
    return _share(table, "failed", "n", "share")


def rounds(tables: Tables) -> Table:
    """Rounds until a check is good for the first time."""
    judged = tables.steps.filter(lambda t: t.check & t.first_try.notnull())
    return judged.group_by("procedure", "step").aggregate(
        n=lambda t: t.rounds.count(),
        never=lambda t: _count(t.rounds.isnull()),
        mean=lambda t: _number(t.rounds).mean(),
        median=lambda t: _number(t.rounds).quantile(0.5),
        ninth=lambda t: _number(t.rounds).quantile(0.9),
        most=lambda t: t.rounds.max(),
        out=lambda t: t.out.sum(),
    )


def time(tables: Tables) -> Table:
    """How long each step takes, its rechecks with it, waits and pauses left out."""
    timed = tables.steps.filter(lambda t: t.seconds.notnull() & (t.times > 0))
    return timed.group_by("procedure", "step").aggregate(
        n=lambda t: t.count(),
        median=lambda t: t.seconds.quantile(0.5),
        ninth=lambda t: t.seconds.quantile(0.9),
        all=lambda t: t.seconds.sum(),
        waited=lambda t: t.waited.quantile(0.5),
    )


def _aim(t: Table) -> Any:
    """The middle of a tolerance, or its one limit."""
    return (t.low_number.fill_null(t.high_number) + t.high_number.fill_null(t.low_number)) / 2


def drift(tables: Tables) -> Table:
    """Readings of one kind by one crew with one instrument whose mean moves through time: a line by least squares.

    Looked at is the first value at each place, before any work was put right, mistaken values left out, less the
    middle of its tolerance or its one limit: the instrument, the hand, and the work as it was found.
    """
    first = tables.readings.filter(
        lambda t: (
            t.first
            & t.replaced_by.isnull()
            & t.number.notnull()
            & (t.low_number.notnull() | t.high_number.notnull())
            & ~t.pretended
        )
    ).mutate(off=lambda t: t.number - _aim(t), instrument=lambda t: t.instrument.fill_null(""))
    keys = ("instrument", "crew", "procedure", "reading", "unit")
    sums = (
        first.group_by(*keys)
        .aggregate(
            n=lambda t: t.count(),
            days=lambda t: t.day.max() - t.day.min(),
            mean=lambda t: t.off.mean(),
            sxx=lambda t: t.day.var(how="pop"),
            syy=lambda t: t.off.var(how="pop"),
            sxy=lambda t: t.day.cov(t.off, how="pop"),
        )
        .filter(lambda t: (t.n >= LEAST) & (t.sxx > 0))
    )
    line = sums.mutate(slope=lambda t: t.sxy / t.sxx).mutate(left=lambda t: (t.syy - t.slope * t.sxy).clip(lower=0.0))
    line = line.mutate(error=lambda t: (t.left / t.sxx / (t.n - 2)).sqrt())
    line = line.mutate(
        month=lambda t: t.slope * 30, month_error=lambda t: t.error * 30, sure=lambda t: t.slope / t.error.nullif(0.0)
    )
    return line.select(*keys, "n", "days", "mean", "month", "month_error", "sure")


def crews(tables: Tables) -> Table:
    """Crews held against all the others."""
    return _compared(tables, ("crew",))


def procedures(tables: Tables) -> Table:
    """Procedures, and versions of one procedure, held against all the others."""
    return _compared(tables, ("procedure", "version"))


def _compared(tables: Tables, keys: tuple[str, ...]) -> Table:
    jobs = tables.jobs.group_by(*keys).aggregate(
        jobs=lambda t: t.count(),
        finished=lambda t: _count(t.outcome != "open"),
        conceded=lambda t: _count(t.outcome == "conceded"),
        seconds=lambda t: t.seconds.quantile(0.5, where=t.outcome != "open"),
        oddities=lambda t: t.oddities.sum(),
    )
    checks = (
        tables.steps.filter(lambda t: t.check & t.first_try.notnull())
        .group_by(*keys)
        .aggregate(n=lambda t: t.count(), good=lambda t: _count(t.first_try))
    )
    table = jobs.left_join(checks, list(keys)).select(*jobs.columns, "n", "good")
    table = table.mutate(n=lambda t: t.n.fill_null(0), good=lambda t: t.good.fill_null(0))
    shared = _share(table.mutate(whole=lambda t: t.n.nullif(0)), "good", "whole", "share").drop("whole")
    every = shared.mutate(all_n=lambda t: t.n.sum().over(), all_good=lambda t: t.good.sum().over())
    rest = every.mutate(
        rest_n=lambda t: _number(t.all_n - t.n).nullif(0.0), rest_good=lambda t: _number(t.all_good - t.good)
    )
    pooled = rest.mutate(pool=lambda t: _number(t.all_good) / _number(t.all_n).nullif(0.0))
    spread = pooled.mutate(
        error=lambda t: (t.pool * (1 - t.pool) * (1 / _number(t.n).nullif(0.0) + 1 / t.rest_n)).sqrt().nullif(0.0)
    )
    told = spread.mutate(sure=lambda t: (t.share - t.rest_good / t.rest_n) / t.error)
    return told.drop("all_n", "all_good", "rest_n", "rest_good", "pool", "error")


def concessions(tables: Tables) -> Table:
    """What is accepted as it is, by whom, and how the name was proved; only concessions that still stand."""
    return (
        tables.decisions.filter(lambda t: t.stands)
        .group_by("procedure", "step", "by", "role", "proof")
        .aggregate(n=lambda t: t.count(), jobs=lambda t: t.job.nunique(), reason=lambda t: t.reason.min())
    )


def mishearings(tables: Tables) -> Table:
    """How readings that were given by voice fared: asked about, and corrected afterwards."""
    heard = tables.readings.filter(lambda t: (t.way == "voice") & ~t.again)
    later = _next(tables)
    table = heard.left_join(later, [heard.job == later.later_job, heard.replaced_by == later.later_seq])
    counted = table.group_by("procedure", "reading").aggregate(
        n=lambda t: t.count(),
        asked=lambda t: _count(t.confirmed.fill_null("") != ""),
        corrected=lambda t: _count((t.later_value != t.value).fill_null(False)),
        doubtful=lambda t: _count(t.others.notnull()),
        confidence=lambda t: t.confidence.mean(),
    )
    return _share(counted, "corrected", "n", "share")


def confusions(tables: Tables) -> Table:
    """What was taken by voice, and what it was corrected to: the pairs that come most often."""
    heard = tables.readings.filter(lambda t: (t.way == "voice") & t.replaced_by.notnull())
    later = _next(tables)
    table = heard.join(later, [heard.job == later.later_job, heard.replaced_by == later.later_seq])
    return (
        table.filter(lambda t: t.later_value != t.value)
        .group_by("value", "later_value")
        .aggregate(n=lambda t: t.count(), said=lambda t: t.said.min())
    )


def _next(tables: Tables) -> Table:
    """Corrections, to be joined to what they replaced."""
    corrections = tables.readings.filter(lambda t: t.replaces.notnull())
    return corrections.select(later_job="job", later_seq="seq", later_value="value")


def oddities(tables: Tables) -> Table:
    """What to ask about: how many jobs each oddity was seen in, of each crew."""
    return tables.oddities.group_by("code", "crew").aggregate(
        jobs=lambda t: t.job.nunique(), n=lambda t: t.count(), entries=lambda t: t.entries.sum()
    )


def overview(tables: Tables) -> Table:
    """How many jobs came to what."""
    return tables.jobs.group_by("procedure", "outcome").aggregate(
        jobs=lambda t: t.count(), entries=lambda t: t.lines.sum(), vouched=lambda t: _count(t.vouched > 0)
    )


def asked(question: Question, tables: Tables) -> Table:
    """The whole expression of a question: its columns, in its order, no more rows than it has."""
    import ibis

    table = question.ask(tables).select(*question.columns)
    order: list[Any] = []
    named = [name.strip("-~") for name in question.order]
    for name in (*question.order, *(key for key in question.keys if key not in named)):
        if name.startswith("-"):
            order.append(ibis.desc(name[1:]))
        elif name.startswith("~"):
            order.append(ibis.desc(table[name[1:]].abs().fill_null(-1.0)))
        else:
            order.append(ibis.asc(name))
    table = table.order_by(*order)
    return table.limit(question.most) if question.most else table


_PART: dict[str, Shape] = {"share": "share", "share_low": "share", "share_high": "share"}
_CHECK: dict[str, Shape] = {"procedure": "text", "step": "text"}
_COMPARED: dict[str, Shape] = {
    "jobs": "count", "finished": "count", "conceded": "count", "n": "count", "good": "count", **_PART,
    "sure": "sure", "seconds": "seconds", "oddities": "count",
}  # fmt: skip
QUESTIONS: dict[str, Question] = {
    one.name: one
    for one in (
        Question(
            "jobs",
            overview,
            {"procedure": "text", "outcome": "text", "jobs": "count", "entries": "count", "vouched": "count"},
            keys=("procedure", "outcome"),
        ),
        Question(
            "first-try",
            first_try,
            {**_CHECK, "n": "count", "failed": "count", **_PART, "conceded": "count", "unfinished": "count"},
            ("share", "share_low", "share_high"),
            ("procedure", "step"),
            order=("-share", "-n"),
        ),
        Question(
            "rounds",
            rounds,
            {
                **_CHECK,
                "n": "count",
                "never": "count",
                "mean": "number",
                "median": "number",
                "ninth": "number",
                "most": "count",
                "out": "count",
            },
            ("mean", "", ""),
            ("procedure", "step"),
            order=("-out",),
        ),
        Question(
            "time",
            time,
            {**_CHECK, "n": "count", "median": "seconds", "ninth": "seconds", "all": "seconds", "waited": "seconds"},
            ("median", "", ""),
            ("procedure", "step"),
            order=("procedure", "-median"),
        ),
        Question(
            "drift",
            drift,
            {
                "instrument": "text",
                "crew": "text",
                "procedure": "text",
                "reading": "text",
                "unit": "text",
                "n": "count",
                "days": "number",
                "mean": "amount",
                "month": "amount",
                "month_error": "amount",
                "sure": "sure",
            },
            keys=("instrument", "crew", "procedure", "reading", "unit"),
            order=("~sure",),
        ),
        Question(
            "crews",
            crews,
            {"crew": "text", **_COMPARED},
            ("share", "share_low", "share_high"),
            ("crew",),
            order=("-jobs",),
        ),
        Question(
            "procedures",
            procedures,
            {"procedure": "text", "version": "text", **_COMPARED},
            ("share", "share_low", "share_high"),
            ("procedure", "version"),
            order=("-jobs",),
        ),
        Question(
            "concessions",
            concessions,
            {**_CHECK, "by": "text", "role": "text", "proof": "text", "n": "count", "jobs": "count", "reason": "text"},
            keys=("procedure", "step", "by", "role", "proof"),
            order=("-n",),
        ),
        Question(
            "mishearings",
            mishearings,
            {
                "procedure": "text",
                "reading": "text",
                "n": "count",
                "asked": "count",
                "doubtful": "count",
                "corrected": "count",
                **_PART,
                "confidence": "number",
            },
            ("share", "share_low", "share_high"),
            ("procedure", "reading"),
            order=("-share", "-n"),
        ),
        Question(
            "confusions",
            confusions,
            {"value": "text", "later_value": "text", "n": "count", "said": "text"},
            keys=("value", "later_value"),
            order=("-n",),
            most=50,
        ),
        Question(
            "oddities",
            oddities,
            {"code": "text", "crew": "text", "jobs": "count", "n": "count", "entries": "count"},
            keys=("code", "crew"),
            order=("-jobs",),
        ),
    )
}
"""Every question, in the order they are told."""
