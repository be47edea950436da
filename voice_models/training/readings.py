"""Readings in every way of saying them, with carriers, directions, places, a hair over or under; corrections; pairs.

The reader of words has the last word on each: what it does not read as the truth is not said.
"""

from __future__ import annotations

import random
import re
from dataclasses import replace
from fractions import Fraction
from functools import cache

from guide.procedure.model import About, Sign
from guide.quantity import Quantity
from guide.talk.expect import Expect
from guide.talk.phrases import Phrases
from guide.talk.say import spoken, ways, whole
from guide.talk.understand import understand
from guide.talk.vocabulary import language
from guide.talk.words import hear
from training.lines import Asked, Said, Value, target_of
from training.texts import fits, part_of_amount

SIGNED: tuple[tuple[About, tuple[str, str, tuple[str, ...], tuple[str, ...]]], ...] = (
    ("level", ("the right end is high", "the left end is high", ("right",), ("left",))),
    ("plumb", ("the top leans to the right", "the top leans to the left", ("right",), ("left",))),
    ("plumb", ("the top leans to the outside", "the top leans to the inside", ("outside",), ("inside",))),
    ("flush", ("proud of the wall", "behind the wall", (), ())),
    (
        "square",
        (
            "open at the far end of the leg",
            "open at the corner",
            ("far end", "end", "toe"),
            ("corner", "in the corner"),
        ),
    ),
)
"""What readings with a direction are about, and what their sides are called, as the procedures have it."""
PLACES = (
    ("top", "middle", "bottom"),
    ("left", "middle", "right"),
    ("left", "right"),
    ("top", "bottom"),
    ("top hinge", "middle hinge", "bottom hinge"),
    ("hinge side", "latch side"),
    ("top left", "top right", "bottom left", "bottom right"),
    ("head", "latch", "sill"),
)
CORRECTING = (
    "correction",
    "no it's",
    "no wait it's",
    "no make that",
    "no sorry",
    "sorry it's",
    "sorry make that",
    "make that",
    "make it",
    "wait that's",
    "scratch that it's",
    "strike that make it",
    "I meant",
    "I mean",
    "it should be",
    "actually it's",
    "change that to",
)
_TEENS = (13, 14, 15, 16, 17, 18, 19)


@cache
def _lists() -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    around = language()["around"]
    return (
        tuple(one for one in (*around["before"], *around["before-unless-side"]) if one not in ("a", "an", "the")),
        tuple(around["behind"]),
        tuple(one for one in around["anywhere"] if one.strip("hm")),  # "hmm" is spelt out by some voices
    )


@cache
def phrases() -> Phrases:
    """What a crew can say."""
    return Phrases.load("en")


def value(chance: random.Random) -> Quantity:
    """A reading as a tape shows it; teens and tens, and sixteenths, oftener than chance has them."""
    kind = chance.random()
    if kind < 0.50:
        return Quantity(Fraction(chance.randrange(16 * 12, 16 * 100), 16), "in")
    if kind < 0.60:
        return Quantity(
            Fraction(16 * chance.choice((*_TEENS, 30, 40, 50, 60, 70, 80, 90)) + chance.randrange(16), 16), "in"
        )
    if kind < 0.76:
        return Quantity(Fraction(chance.randrange(1, 48), 16), "in")
    if kind < 0.80:
        return Quantity(Fraction(chance.randrange(1, 160), 32), "in")
    if kind < 0.86:
        return Quantity(Fraction(chance.randrange(1, 121)), "in")
    if kind < 0.89:
        return Quantity(Fraction(chance.randrange(16 * 100, 16 * 130), 16), "in")
    if kind < 0.92:
        return Quantity(Fraction(chance.randrange(2, 60)), "mm")
    return Quantity(Fraction(chance.randrange(60, 2500)), "mm")


def _plain(way: str) -> bool:
    return bool(way) and all(char.isalpha() or char in " -'," for char in way) and "," not in way


def amount_words(chance: random.Random, of: Quantity, split: str) -> tuple[str, bool]:
    """A way of saying a value, and whether it is the usual one: any of all ways otherwise, oftener in train."""
    usual = chance.random() < (0.6 if split == "train" else 0.8)
    if usual:
        said = spoken(of, feet=of.unit == "in" and chance.random() < 0.12)
        if (
            chance.random() < 0.3
            and " and " in said
            and of.magnitude > 1
            and not said.endswith(("half", "quarter", "eighth"))
        ):
            said = said.replace(" and ", " ", 1)
        if chance.random() < 0.2 and of.unit == "in":
            said += " inches" if of.magnitude > 1 else " of an inch"
        if of.unit == "mm" and chance.random() < 0.3:
            said = whole(int(of.magnitude))
    else:
        every = [way for way in ways(of) if _plain(way)]
        said = chance.choice(every) if every else spoken(of)
    return said.replace("-", " "), usual


def around_it(chance: random.Random, amount: str) -> str:
    """Words before and behind."""
    before, behind, anywhere = _lists()
    kind = chance.random()
    if kind < 0.60:
        return amount
    if kind < 0.82:
        text = f"{contracted(chance, chance.choice(before))} {amount}"
    elif kind < 0.91:
        text = f"{amount} {chance.choice(behind)}"
    else:
        text = f"{contracted(chance, chance.choice(before))} {amount} {chance.choice(behind)}"
    return f"{chance.choice(anywhere)} {text}" if chance.random() < 0.12 else text


_SHORT = (
    ("it is", "it's"),
    ("that is", "that's"),
    ("i have", "I've"),
    ("we have", "we've"),
    ("i am", "I'm"),
    ("we are", "we're"),
)


def contracted(chance: random.Random, words: str) -> str:
    """As people say it: "it's"."""
    for long, short in _SHORT:
        if words.startswith(long) and chance.random() < 0.8:
            words = short + words[len(long) :]
    return words.replace("let us", "let's")


def expected(chance: random.Random, of: Quantity, signed: bool = False) -> tuple[str, str, str]:
    """A range that a step might expect: 3 in (75 mm) wide, the value in it 95 times of 100, else up to 5 in outside."""
    unit = of.unit
    width = Fraction(75) if unit == "mm" else Fraction(3) if abs(of.magnitude) > 2 else Fraction(1)
    low = of.magnitude - width * Fraction(chance.randrange(0, 101), 100)
    if chance.random() < 0.05:
        low += chance.choice([-1, 1]) * width * Fraction(chance.randrange(100, 170), 100)
    low = Fraction(round(low * 8), 8) if unit == "in" else Fraction(round(low))
    if not signed:
        low = max(Fraction(0), low)
    return unit, str(low), str(low + width)


def _exact(of: Quantity) -> str:
    return str(of.to("in").magnitude)


def _value(of: Quantity, place: str | None = None, hair: int = 0) -> Value:
    return place, str(of.magnitude), of.unit, {1: "over", -1: "under"}.get(hair)


_NOBODY_SAYS = re.compile(r"\b(a|an|the) (a|an|the|in|on|at)\b")


def _reads(text: str, expect: Expect, of: Quantity, hair: int = 0) -> bool:
    if _NOBODY_SAYS.search(text):
        return False
    found = hear(text, expect)
    return len(found) == 1 and any(one.value.base == of.base and one.hair == hair for one in found[0].meanings)


def reading(chance: random.Random, split: str) -> Said | None:
    """One length."""
    of = value(chance)
    amount, usual = amount_words(chance, of, split)
    part = part_of_amount(amount)
    if not fits(part, split):
        return None
    hair, text = 0, amount
    if of.unit == "in" and chance.random() < (0.2 if split == "train" else 0.10):
        hair = chance.choice((1, -1))
        key = ("over" if hair > 0 else "under") + chance.choice(("-before", "-behind"))
        words = chance.choice(language()["hair"][key])
        text = f"{words} {amount}" if key.endswith("before") else f"{amount} {words}"
    text = around_it(chance, text)
    unit = of.unit
    if not _reads(text, Expect(unit=unit, metric=unit == "mm"), of, hair):
        return None
    return Said(
        "reading",
        text,
        target_of(text),
        _exact(of),
        (_value(of, hair=hair),),
        expected(chance, of),
        None,
        part,
        _pair(text),
        usual=usual and not hair,
    )


def _pair(text: str) -> str | None:
    """The word that would make it another value and sounds alike."""
    teens = dict(zip((whole(one) for one in _TEENS), (whole(10 * (one - 10)) for one in _TEENS), strict=True))
    alike = {**teens, **{ten: teen for teen, ten in teens.items()}, "sixth": "sixteenth"}
    return next((alike[word] for word in text.split() if word in alike), None)


def side(chance: random.Random, split: str) -> Said | None:
    """A reading with its direction, or nothing to be measured."""
    about, sign = chance.choice(SIGNED)
    named = Sign(*sign)
    of = Quantity(
        Fraction(
            chance.choice((1, -1)) * chance.choice((1, 1, 2, 2, 3, 4, 5, 6, 8, 10, 12)), chance.choice((16, 16, 32))
        ),
        "in",
    )
    if chance.random() < 0.1:
        of = Quantity(Fraction(chance.choice((1, -1)) * chance.randrange(1, 12)), "mm")
    every = [way for way in ways(of, about, named) if _plain(way.replace(",", ""))]
    if not every:
        return None
    text = chance.choice(every).replace("-", " ")
    part = part_of_amount(text)
    if not fits(part, split):
        return None
    if chance.random() < 0.3:
        text = f"{contracted(chance, chance.choice(_lists()[0]))} {text}"
    unit = of.unit
    expect = Expect(unit=unit, metric=unit == "mm", about=about, sign=named)
    if not _reads(text, expect, of):
        return None
    asked = Asked(about, sign)
    return Said(
        "side", text, target_of(text), _exact(of), (_value(of),), expected(chance, of, signed=True), asked, part
    )


def places(chance: random.Random, split: str) -> Said | None:
    """Several readings by place."""
    names = chance.choice(PLACES)
    first = Quantity(Fraction(chance.randrange(16 * 14, 16 * 99), 16), "in")
    small = chance.random() < 0.3
    values = []
    for _ in names:
        off = Fraction(chance.randrange(-6, 7), 16)
        values.append(
            Quantity(Fraction(chance.randrange(1, 9), 16), "in") if small else Quantity(first.magnitude + off, "in")
        )
    order = list(zip(names, values, strict=True))
    if chance.random() < 0.2:
        chance.shuffle(order)
    if chance.random() < 0.35:
        order = order[: chance.randrange(1, len(order))]
    amounts = [spoken(of) for _, of in order]
    part = part_of_amount(" ".join(amounts))
    if not fits(part, split):
        return None
    link = chance.choice(("", "", " is", " at"))
    text = ", ".join(f"{name}{link} {amount}" for (name, _), amount in zip(order, amounts, strict=True))
    likely = first.magnitude if not small else Fraction(1, 4)
    low = max(Fraction(0), Fraction(round(likely)) - Fraction(3, 2))
    wanted = ("in", str(low), str(low + 3))
    expect = Expect(
        places=names,
        likely_low=Quantity(low, "in"),
        likely_high=Quantity(low + 3, "in"),
        about="gap" if small else "length",
    )
    found = hear(text, expect)
    if [one.place for one in found] != [name for name, _ in order]:
        return None
    if any(
        all(meaning.value.base != of.base for meaning in one.meanings)
        for one, (_, of) in zip(found, order, strict=True)
    ):
        return None
    asked = Asked(expect.about, None, names)
    told = tuple(_value(of, name) for name, of in order)
    truth = _exact(order[0][1]) if len(order) == 1 else ""
    return Said("places", text, target_of(text), truth, told, wanted, asked, part)


def correction(chance: random.Random, split: str) -> Said | None:
    """The last reading put right."""
    of = value(chance)
    amount, _ = amount_words(chance, of, split)
    part = part_of_amount(amount)
    if not fits(part, split):
        return None
    head = chance.choice(CORRECTING)
    text = f"{head} {amount}"
    if understand(text, phrases()).intent != "correct":
        return None
    if not _reads(amount, Expect(unit=of.unit, metric=of.unit == "mm"), of):
        return None
    return Said("correction", text, target_of(text), "correct", (_value(of),), expected(chance, of), None, part)


def pair(chance: random.Random, split: str) -> Said | None:
    """A reading that another one sounds like."""
    for _ in range(20):
        found = reading(chance, split)
        if found is not None and found.pair is not None:
            return replace(found)
    return None


def cuttable(said: Said) -> bool:
    """Whether it is long enough to be cut short."""
    return len(said.text.split()) > 2


def recorded(chance: random.Random, split: str) -> Said | None:
    """A reading of which every word has been recorded: whole numbers, eighths and sixteenths."""
    of = Quantity(Fraction(chance.randrange(16 * 12, 16 * 100), 16), "in")
    number = of.magnitude
    if number % 1 and (number % 1).denominator not in (8, 16):
        return None
    text = whole(int(number))
    if number % 1:
        part = number % 1
        name = {8: "eighth", 16: "sixteenth"}[part.denominator]
        text += f" {whole(part.numerator)} {name}{'s' if part.numerator > 1 else ''}"
    split_of = part_of_amount(text)
    if not fits(split_of, split) or not _reads(text, Expect(), of):
        return None
    return Said(
        "reading",
        text,
        target_of(text),
        _exact(of),
        (_value(of),),
        expected(chance, of),
        None,
        split_of,
        _pair(text),
        usual=True,
    )
