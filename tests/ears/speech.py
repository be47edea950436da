"""What is said in the evaluation set: readings, commands, and talk that is for nobody."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from guide.quantity import Quantity
from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.talk.say import ways, whole
from guide.talk.vocabulary import language
from guide.talk.words import hear

LEADS = ("it's", "call it", "I get", "okay", "we have", "the reading is", "um")
ENDS = ("please", "here", "on the tape")

TALK = (
    "two of those should do it", "we've got half an hour before the truck", "bring me three more of those",
    "there were fifteen guys on that site", "it cost me forty bucks", "the game starts at seven thirty",
    "I told him a hundred times", "grab a couple of two by fours", "he's been here since six this morning",
    "that was nineteen ninety eight", "lunch is at half past twelve", "put the radio on ninety eight point five",
    "my brother has four kids", "we need another box of screws", "mind your head on that ladder",
    "did you see the weather for tomorrow", "the van is parked across the street",
    "one of these days I'll fix that saw", "she wants the door painted green", "hand me the level would you",
    "there's a sale on until the thirty first", "it takes about twenty minutes to dry", "first thing in the morning",
    "give me a second", "just a minute", "five more minutes and we're off", "I'd say ten to one he's late",
    "the other two are out back", "a quarter of them were broken", "half of this is rotten",
    "turn left at the second light", "his number ends in four four seven", "what time is it now",
    "I'm going up the ladder", "can you hold this end", "that dog is loud", "where did the coffee go",
    "we did eight doors last week", "nine times out of ten it works", "the boss called twice",
    "it's thirty degrees out there", "he owes me twenty", "one two three lift", "take five everybody",
    "I counted sixteen in the box", "these are three eighths bolts I think we need bigger ones",
    "he drove sixty miles for that", "channel four had the news on", "the second coat goes on tonight",
    "and then he said no way", "so anyway that's what happened", "yeah I know right",
    "pass me that hammer", "watch the cord", "don't step there", "is anyone using this outlet",
    "we'll be out of here by three", "my knee hurts when it rains", "buy one get one half off",
    "seventy two percent of people agree", "this song came out in eighty four",
)  # fmt: skip
"""Site talk, much of it with numbers in it: none of it is a reading or a command."""


@dataclass(frozen=True)
class Said:
    """One utterance of the set."""

    kind: str
    """"reading", "command", "talk", "cut" or "noise"."""
    text: str
    truth: str = ""
    """A reading's exact inches, a command's intent."""
    expect: tuple[str, str, str] | None = None
    """Unit, low and high: what a step might expect."""


def readings(chance: random.Random, count: int, plain: bool = False) -> Iterator[Said]:
    """Readings as crews say them; `plain` keeps to what recorded number words can say."""
    for _ in range(count):
        value = _value(chance)
        if plain:
            value = Quantity(Fraction(16 * chance.randrange(14, 99) + chance.randrange(0, 16), 16), "in")
        text = _recorded(value) if plain else _said(chance, value)
        if text is not None:
            yield Said("reading", text, str(value.to("in").magnitude), _expected(chance, value))


def _value(chance: random.Random) -> Quantity:
    kind = chance.random()
    if kind < 0.62:
        return Quantity(Fraction(chance.randrange(16 * 18, 16 * 100), 16), "in")
    if kind < 0.80:
        return Quantity(Fraction(chance.randrange(1, 32), 16), "in")
    if kind < 0.84:
        return Quantity(Fraction(chance.randrange(1, 48), 32), "in")
    if kind < 0.90:
        return Quantity(Fraction(chance.randrange(2, 100)), "in")
    return Quantity(Fraction(chance.randrange(150, 2400)), "mm")


def _said(chance: random.Random, value: Quantity) -> str | None:
    """A way of saying the value that the reader reads back as it, the usual way most of the time."""
    every = [way for way in ways(value) if not any(char.isdigit() for char in way)]
    number = value.magnitude
    if value.unit == "in" and number % 1 and chance.random() < 0.85:
        link = " and " if (number % 1).numerator == 1 or chance.random() < 0.75 else " "
        text = f"{whole(int(number))}{link}" if number > 1 else ""
        text += _part(number % 1) + chance.choice(["", "", " inches" if number > 1 else " of an inch"])
    elif value.unit == "mm" and chance.random() < 0.85:
        text = whole(int(number)) + chance.choice([" millimetres", ""])
    else:
        text = whole(int(number)) if number % 1 == 0 and chance.random() < 0.6 else chance.choice(every)
    if chance.random() < 0.2:
        text = f"{chance.choice(LEADS)} {text}" if chance.random() < 0.7 else f"{text} {chance.choice(ENDS)}"
    unit = value.unit
    found = hear(text, Expect(unit=unit, metric=unit == "mm"))
    meant = {meaning.value.base for one in found for meaning in one.meanings}
    return text if value.base in meant else None


def _part(part: Fraction) -> str:
    names = language()["parts"]
    one = next(name for name, size in names.items() if size == part.denominator and not name.endswith("s"))
    if part.numerator == 1:
        return f"{'an' if one == 'eighth' else 'a'} {one}"
    return f"{whole(part.numerator)} {one}s"


def _recorded(value: Quantity) -> str | None:
    """Whole numbers, eighths and sixteenths, without "and": what has been recorded."""
    number = value.magnitude
    if number % 1 and (number % 1).denominator not in (8, 16):
        return None
    if not number % 1:
        return whole(int(number))
    return f"{whole(int(number))} {_part(number % 1)}".replace(" a ", " one ").replace(" an ", " one ")


def _expected(chance: random.Random, value: Quantity) -> tuple[str, str, str]:
    """A range that a step might expect: 3 in (75 mm) wide, the value in it 95 times of 100, else up to 5 in outside."""
    unit = value.unit
    width = Fraction(75) if unit == "mm" else Fraction(3) if value.magnitude > 2 else Fraction(1)
    low = value.magnitude - width * Fraction(chance.randrange(0, 101), 100)
    if chance.random() < 0.05:
        low += chance.choice([-1, 1]) * width * Fraction(chance.randrange(100, 170), 100)
    low = max(Fraction(0), Fraction(round(low * 8), 8) if unit == "in" else Fraction(round(low)))
    return unit, str(low), str(low + width)


def commands(chance: random.Random, count: int) -> Iterator[Said]:
    """Phrases of the conversation that may be said by voice."""
    phrases = Phrases.load("en")
    found = sorted(
        {
            (" ".join(str(word) for word in way), intent.name)
            for intent in phrases.intents.values()
            for way in intent.ways
            if phrases.plain.get(" ".join(str(word) for word in way), ("", ()))[0] == intent.name
            and intent.safe_by_voice(way)
            and len(" ".join(str(word) for word in way)) > 3
        }
    )
    for text, intent in chance.sample(found, min(count, len(found))):
        yield Said("command", text, intent)


def talk(chance: random.Random, count: int) -> Iterator[Said]:
    """Talk that is for nobody."""
    for _ in range(count):
        yield Said("talk", chance.choice(TALK))


def cuts(chance: random.Random, count: int) -> Iterator[Said]:
    """Readings that will be cut short while they are said."""
    for one in readings(chance, 3 * count):
        if " and " in one.text and count:
            count -= 1
            yield Said("cut", one.text, one.truth, one.expect)
