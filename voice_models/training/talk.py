"""What is no reading: commands, alarms, talk that is for nobody (much of it with numbers), and ordinary sentences."""

from __future__ import annotations

import random
import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from guide.talk.expect import Expect
from guide.talk.say import whole
from guide.talk.templates import Phrase, Slot
from guide.talk.understand import understand
from guide.talk.words import hear
from training.lines import Said, target_of
from training.readings import phrases
from training.texts import fits, part_of


@cache
def lists() -> Mapping[str, Any]:
    """What talk is made of."""
    return tomllib.loads((Path(__file__).parent / "talk.toml").read_text(encoding="utf-8"))


def _number(chance: random.Random) -> str:
    kind = chance.random()
    if kind < 0.4:
        return whole(chance.randrange(2, 20))
    if kind < 0.75:
        return whole(chance.randrange(20, 100))
    if kind < 0.9:
        return whole(10 * chance.randrange(2, 10))
    return whole(chance.randrange(100, 1000))


def _filled(chance: random.Random, template: str) -> str:
    words = []
    for word in template.split():
        if not word.startswith("{"):
            words.append(word)
            continue
        name, _, rest = word[1:].partition("}")
        if name in lists()["fill"]:
            found = chance.choice(lists()["fill"][name])
        elif name == "n":
            found = _number(chance)
        elif name == "d":
            found = whole(chance.randrange(2, 10))
        elif name == "h":
            found = whole(chance.randrange(1, 13))
        elif name == "t":
            found = whole(chance.randrange(60, 100))
        else:
            found = chance.choice(lists()["ordinals"])
        words.append(found + rest)
    return " ".join(words)


def talk(chance: random.Random, split: str) -> Said | None:
    """Talk that is for nobody: neither a reading nor anything that the guide understands."""
    text = _filled(chance, chance.choice(lists()["numbered" if chance.random() < 0.65 else "plain"]))
    part = part_of(text)
    if not fits(part, split) or understand(text, phrases()).intent:
        return None
    if hear(text, Expect()) or hear(text, Expect(unit="mm", metric=True)):
        return None
    return Said("talk", text, target_of(text), texts=part)


@cache
def _commands() -> tuple[tuple[str, str], ...]:
    """Every plain phrase of more than three letters, and what it means."""
    found = {
        (text, intent)
        for text, (intent, _) in phrases().plain.items()
        if len(text) > 3 and intent != "hurt" and all(char.isalpha() or char in " '" for char in text)
    }
    return tuple(sorted(found))


def command(chance: random.Random, split: str) -> Said | None:
    """A phrase of the conversation, with a courtesy now and then. All of them are closed."""
    text, intent = chance.choice(_commands())
    if chance.random() < 0.25:
        text = f"{chance.choice(lists()['leads'])} {text}"
    elif chance.random() < 0.1:
        text = f"{text} {chance.choice(('please', 'thanks', 'mate'))}"
    if understand(text, phrases()).intent != intent:
        return None
    text = _pronouns(text)
    return Said("command", text, target_of(text), intent)


def _pronouns(text: str) -> str:
    return " ".join("I" + word[1:] if word == "i" or word.startswith("i'") else word for word in text.split())


@cache
def _alarms() -> tuple[Phrase, ...]:
    intent = phrases().intents["hurt"]
    return (*intent.ways, *intent.anywhere)


def alarm(chance: random.Random, split: str) -> Said | None:
    """Someone is hurt, in one of the ways of the phrase set, with words around it."""
    way = chance.choice(_alarms())
    words = [_word(chance, part) for part in way]
    text = " ".join(words)
    if len(words) > 1 and chance.random() < 0.35:
        text = f"{chance.choice(lists()['cries'])} {text}"
    part = "closed" if len(text.split()) <= 3 else part_of(text)
    if not fits(part, split) or understand(text, phrases()).intent != "hurt":
        return None
    text = _pronouns(text)
    if not all(char.isalpha() or char in " '" for char in text):
        return None
    return Said("alarm", text, target_of(text), "hurt", texts=part)


def _word(chance: random.Random, part: str | Slot) -> str:
    if isinstance(part, Slot):
        return phrases().kind(part).example
    if part.startswith("<"):
        words = [str(word) for word in sorted(phrases().classes[part[1:-1]])]
        return chance.choice([word for word in words if word.isalpha()])
    return part


@cache
def _sentences() -> Sequence[str]:
    return tuple((Path(__file__).parent / "ordinary.txt").read_text(encoding="utf-8").splitlines())


def ordinary(chance: random.Random, split: str) -> Said | None:
    """A sentence that has nothing to do with the job."""
    text = chance.choice(_sentences())
    part = part_of(text)
    return Said("ordinary", text, target_of(text), texts=part) if fits(part, split) else None
