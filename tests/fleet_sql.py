"""What a review answers, as SQL for DuckDB written by hand from what each question means; not from its expressions.

It reads the Parquet files by their pattern, as anybody could, and lets the newest batch of each job count. `{store}` is
filled in. Every query gives the question's columns in their order.
"""

from __future__ import annotations

import math
from decimal import Decimal
from pathlib import Path
from typing import Any

WITH = """
with newest as (select job, max(batch) batch from read_parquet('{store}/jobs/*/*.parquet') group by job),
jobs as (select j.* from read_parquet('{store}/jobs/*/*.parquet') j join newest using (job, batch) where invented),
steps as (select s.* from read_parquet('{store}/steps/*/*.parquet') s join newest using (job, batch) where invented),
readings as
  (select r.* from read_parquet('{store}/readings/*/*.parquet') r join newest using (job, batch) where invented),
decisions as
  (select d.* from read_parquet('{store}/decisions/*/*.parquet') d join newest using (job, batch) where invented),
odd as (select o.* from read_parquet('{store}/oddities/*/*.parquet') o join newest using (job, batch) where invented)
"""
PLAIN = """
with jobs as (select * from read_parquet('{store}/jobs/*/*.parquet') where invented),
steps as (select * from read_parquet('{store}/steps/*/*.parquet') where invented),
readings as (select * from read_parquet('{store}/readings/*/*.parquet') where invented),
decisions as (select * from read_parquet('{store}/decisions/*/*.parquet') where invented),
odd as (select * from read_parquet('{store}/oddities/*/*.parquet') where invented)
"""
"""The same for a store in which no job was gathered twice."""

_WILSON = """{k} / {n}::double share,
  ({k} + 1.959963984540054^2 / 2 - 1.959963984540054 * sqrt({k} * ({n} - {k}) / {n}::double + 1.959963984540054^2 / 4))
    / ({n} + 1.959963984540054^2) share_low,
  ({k} + 1.959963984540054^2 / 2 + 1.959963984540054 * sqrt({k} * ({n} - {k}) / {n}::double + 1.959963984540054^2 / 4))
    / ({n} + 1.959963984540054^2) share_high"""


def _wilson(k: str, n: str) -> str:
    return _WILSON.format(k=k, n=n)


def _compared(keys: str) -> str:
    return f"""
, c as (select {keys}, count(*) n, count(*) filter (where first_try) good
        from steps where "check" and first_try is not null group by {keys}),
a as (select {keys}, count(*) jobs, count(*) filter (where outcome <> 'open') finished,
        count(*) filter (where outcome = 'conceded') conceded,
        quantile_cont(seconds, 0.5) filter (where outcome <> 'open') as seconds, sum(oddities) as oddities
      from jobs group by {keys}),
total as (select sum(n) n, sum(good) good from c)
select {", ".join(f"a.{key.strip()}" for key in keys.split(","))}, jobs, finished, conceded, c.n, c.good,
  {_wilson("c.good", "c.n")},
  (c.good / c.n::double - (total.good - c.good) / (total.n - c.n)::double)
    / sqrt(total.good / total.n::double * (1 - total.good / total.n::double)
           * (1.0 / c.n + 1.0 / (total.n - c.n))) sure,
  a.seconds, a.oddities
from a join c using ({keys}), total order by jobs desc, {keys}"""


QUERIES: dict[str, str] = {
    "jobs": """select procedure, outcome, count(*) jobs, sum(lines) entries, count(*) filter (where vouched > 0) vouched
from jobs group by all order by procedure, outcome""",
    "first-try": f"""select procedure, step, n, failed, {_wilson("failed", "n")}, conceded, unfinished from
(select procedure, step, count(*) n, count(*) filter (where not first_try) failed,
   count(*) filter (where standing = 'conceded') conceded,
   count(*) filter (where standing not in ('fresh', 'conceded')) unfinished
 from steps where "check" and first_try is not null group by all)
order by share desc, n desc, procedure, step""",
    "rounds": """select procedure, step, count(rounds) n, count(*) - count(rounds) never, avg(rounds) mean,
  quantile_cont(rounds, 0.5) median, quantile_cont(rounds, 0.9) ninth, max(rounds) most, sum("out") "out"
from steps where "check" and first_try is not null group by all order by "out" desc, procedure, step""",
    "time": """select procedure, step, count(*) n,
  quantile_cont(seconds, 0.5) median, quantile_cont(seconds, 0.9) ninth,
  sum(seconds) "all", quantile_cont(waited, 0.5) waited
from steps where seconds is not null and times > 0 group by all order by procedure, median desc, step""",
    "drift": """
, f as (select coalesce(instrument, '') instrument, crew, procedure, reading, unit, day,
          number - case when low_number is null then high_number when high_number is null then low_number
                        else (low_number + high_number) / 2 end o
        from readings where first and replaced_by is null and number is not null and not pretended
          and coalesce(low_number, high_number) is not null),
line as (select instrument, crew, procedure, reading, unit, count(*) n, max(day) - min(day) as days, avg(o) as mean,
           regr_slope(o, day) slope, regr_syy(o, day) syy, regr_sxy(o, day) sxy, regr_sxx(o, day) sxx
         from f group by all having count(*) >= 20 and max(day) > min(day)),
e as (select *, sqrt(greatest(syy - slope * sxy, 0) / (n - 2) / sxx) error from line)
select instrument, crew, procedure, reading, unit, n, days, mean, slope * 30 as month, error * 30 month_error,
  slope / nullif(error, 0) sure
from e order by coalesce(abs(slope / nullif(error, 0)), -1) desc, instrument, crew, procedure, reading, unit""",
    "crews": _compared("crew"),
    "procedures": _compared("procedure, version"),
    "concessions": """select procedure, step, "by", role, proof,
  count(*) n, count(distinct job) jobs, min(reason) reason
from decisions where stands group by all order by n desc, procedure, step, "by", role, proof""",
    "mishearings": f"""
, l as (select job, seq, "value" later from readings where replaces is not null),
h as (select r.*, l.later from readings r left join l on l.job = r.job and l.seq = r.replaced_by
        where r.way = 'voice' and not r."again")
select procedure, reading, n, asked, doubtful, corrected, {_wilson("corrected", "n")}, confidence from
(select procedure, reading, count(*) n, count(*) filter (where confirmed <> '') asked, count(others) doubtful,
   count(*) filter (where later <> "value") corrected, avg(confidence) confidence from h group by all)
order by share desc, n desc, procedure, reading""",
    "confusions": """select r."value", l."value" later_value, count(*) n, min(r.said) said
from readings r join (select * from readings where replaces is not null) l
  on l.job = r.job and l.seq = r.replaced_by
where r.way = 'voice' and r."value" <> l."value" group by all order by n desc, 1, 2 limit 50""",
    "oddities": """select code, crew, count(distinct job) jobs, count(*) n, sum(entries) entries
from odd group by all order by jobs desc, code, crew""",
}


def asked(connection: Any, store: Path, name: str, head: str = WITH) -> list[dict[str, Any]]:
    """The answer of a question, by hand."""
    query = QUERIES[name]
    text = head.format(store=store) + query
    found = connection.execute(text)
    names = [one[0] for one in found.description]
    return [dict(zip(names, row, strict=True)) for row in found.fetchall()]


def unlike(ours: list[dict[str, Any]], theirs: list[dict[str, Any]]) -> str:
    """What two answers differ in, beyond the last digits of a number worked out in another order; "" for nothing."""
    if len(ours) != len(theirs):
        return f"{len(ours)} rows and {len(theirs)}"
    for at, (one, other) in enumerate(zip(ours, theirs, strict=True)):
        if list(one) != list(other):
            return f"row {at}: columns {list(one)} and {list(other)}"
        for name, value in one.items():
            also = other[name]
            numbers = isinstance(value, int | float) and isinstance(also, int | float | Decimal)
            if not (math.isclose(value, also, rel_tol=1e-9, abs_tol=1e-12) if numbers else value == also):
                return f"row {at}, {name}: {value!r} and {also!r}"
    return ""
