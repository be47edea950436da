"""What a store holds: its tables and their columns, one place for whoever writes, reads or asks.

Amounts stand twice: as exact text ("36 3/16 in"), and as a number in the base unit of their kind (in, s, lb, deg).
Times are UTC. A column is never renamed or given another meaning: a newer format adds.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

FORMAT = 1
"""The format of the rows and of the manifests; a newer one is refused."""

Kind = Literal["text", "int", "float", "bool", "time"]

COMMON: Mapping[str, Kind] = MappingProxyType(
    {
        "format": "int",
        "batch": "int",  # a job's rows in the newest batch that has it are what counts
        "job": "text",  # the hash of the record's first line
        "month": "text",  # when the job began, as the folder says too
        "procedure": "text",
        "version": "text",  # the beginning of the hash of the procedure's text
        "crew": "text",  # who spoke first
        "invented": "bool",
        "pretended": "bool",
    }
)

_OWN: Mapping[str, Mapping[str, Kind]] = {
    "jobs": {
        "place": "text",  # the folder it was gathered from
        "title": "text",
        "guide": "text",
        "lead": "text",
        "began": "time",
        "ended": "time",
        "seconds": "float",  # from the first line to the last; none on a pretended clock
        "status": "text",
        "outcome": "text",  # good, conceded, open
        "lines": "int",
        "bytes": "int",
        "modified": "int",  # when the file was last written, in nanoseconds since 1970
        "final_hash": "text",
        "sealed": "bool",
        "torn": "int",
        "clock_back": "int",
        "signatures": "text",  # SHA-256 of the file of signatures, "" without one
        "vouched": "int",  # signatures by known keys over the record as it is
        "readings": "int",
        "oddities": "int",
    },
    "readings": {
        "seq": "int",
        "at": "time",
        "day": "float",  # days since 2000-01-01, for lines through time
        "who": "text",
        "step": "text",
        "part": "text",
        "reading": "text",
        "ask": "text",
        "place": "text",
        "instrument": "text",
        "about": "text",
        "value": "text",
        "number": "float",
        "unit": "text",
        "low": "text",
        "high": "text",
        "low_number": "float",
        "high_number": "float",
        "expanded": "float",  # U = 2 u of the instrument, where the record says enough
        "verdict": "text",
        "round": "int",
        "first": "bool",  # the first value at its place in this job
        "again": "bool",  # read again with nothing moved, and the same
        "surprising": "bool",
        "replaces": "int",
        "replaced_by": "int",
        "way": "text",  # typed, voice, touch
        "said": "text",
        "others": "text",  # what else it could have been, one a line
        "confidence": "float",
        "confirmed": "text",
        "unsure": "bool",
        "hair": "int",
    },
    "steps": {
        "step": "text",
        "part": "text",
        "check": "bool",
        "safety": "bool",
        "standing": "text",  # of a check when the record ends: fresh, stale, out, conceded, or "" if not finished
        "first_try": "bool",  # a check: good with nothing corrected before; none if never judged
        "rounds": "int",  # a check: rounds until it was good for the first time; none if it never was
        "out": "int",  # rounds that were out, in all
        "times": "int",  # how often it was done, or good
        "seconds": "float",  # the time before each of its entries, waits and pauses left out; none if pretended
        "waited": "float",  # from its end to the end of its wait
    },
    "moves": {"seq": "int", "at": "time", "set": "text", "step": "text", "point": "text", "move": "text",
              "number": "float", "direction": "text"},
    "decisions": {"seq": "int", "at": "time", "step": "text", "decision": "text", "by": "text", "role": "text",
                  "proof": "text", "reason": "text", "stands": "bool"},
    "oddities": {"code": "text", "told": "text", "entries": "int", "first": "int"},
}  # fmt: skip

TABLES: Mapping[str, Mapping[str, Kind]] = MappingProxyType(
    {name: MappingProxyType({**COMMON, **own}) for name, own in _OWN.items()}
)
"""Every table with its columns in order: the common ones, then its own."""

Row = tuple[object, ...]
"""The values of a table's own columns, in order; the common ones are put before them when a job is taken."""


def own(table: str) -> tuple[str, ...]:
    """The names of a table's own columns, in the order of a `Row`."""
    return tuple(_OWN[table])
