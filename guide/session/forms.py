"""Small dialogues inside a session: a few questions whose answers together make one command.

A form lives in memory only. Nothing of it is in the record until it is complete and decided, so a crash or a
"never mind" in the middle loses nothing that was acknowledged.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from guide.session.turns import Ask, Turn

Values = dict[str, str]


@dataclass(frozen=True, slots=True)
class Field:
    """One question: how it is put, whether it is needed given the answers so far, and what is wrong with one."""

    key: str
    ask: Callable[[Values], Ask]
    needed: Callable[[Values], bool] = lambda values: True
    wrong: Callable[[str, Values], str | None] = lambda answer, values: None
    read: Callable[[str], str | None] = lambda text: None
    """Other words that stand for one of the answers."""


@dataclass(slots=True)
class Form:
    """Questions in order, and what to do with the answers. `kind` names it for screens and tests."""

    kind: str
    fields: tuple[Field, ...]
    finish: Callable[[Values], list[Turn]]
    values: Values = field(default_factory=dict)
    optional: bool = True
    """Whether "never mind" leaves it; a form the job itself asks for is only put again."""

    def current(self) -> Field | None:
        """The question to put now, or None when all are answered."""
        for one in self.fields:
            if one.key not in self.values and one.needed(self.values):
                return one
        return None
