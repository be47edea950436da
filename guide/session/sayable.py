"""What a crew can say to a numbered choice: its number, its place in the row, or its words on the screen."""

from __future__ import annotations

from collections.abc import Iterator

from guide.session.naming import option_named
from guide.session.turns import Ask
from guide.talk.say import whole
from guide.talk.understand import normal
from guide.talk.vocabulary import language

WORDS_MOST = 6
"""Words of a choice that are said in one go."""


def choice_answers(ask: Ask) -> tuple[tuple[str, str], ...]:
    """Words, each with the number of the choice that they name; what could be two of them names none."""
    found: dict[str, set[str]] = {}
    for number in range(1, len(ask.choices) + 1):
        for said in (*_numbers(number, len(ask.choices)), *_shown(ask, number)):
            found.setdefault(said, set()).add(str(number))
    return tuple((said, *numbers) for said, numbers in found.items() if len(numbers) == 1)  # type: ignore[misc]


def _numbers(number: int, all_: int) -> Iterator[str]:
    ways = language()["choices"]
    yield from (way.format(number=whole(number)) for way in ways["number"])
    row = ways["ordinals"].split()
    if number <= len(row):
        yield from (way.format(ordinal=row[number - 1]) for way in ways["ordinal"])
    if number == all_ > 1:
        yield from ways["last"]


def _shown(ask: Ask, number: int) -> Iterator[str]:
    """The choice's own words, and such of them as name it alone; a size as it is written."""
    option = ask.choices[number - 1]
    label = (ask.labels or ask.choices)[number - 1]
    for text in dict.fromkeys((option, label)):
        if any(c.isdigit() for c in text):
            yield text
            continue
        words = normal(text.replace("-", " ")).split()
        for start in range(len(words)):
            for end in range(start + 1, min(len(words), start + WORDS_MOST) + 1):
                said = " ".join(words[start:end])
                if option_named(said, ask.choices, ask.labels) == option:
                    yield from (said, f"the {said}", f"{said} one", f"the {said} one")
