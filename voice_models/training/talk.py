"""What is no reading: commands, alarms, talk that is for nobody (much of it with numbers), and ordinary sentences."""

from __future__ import annotations

import random
from collections.abc import Sequence
from functools import cache
from pathlib import Path

from guide.talk.expect import Expect
from guide.talk.say import whole
from guide.talk.templates import Phrase, Slot
from guide.talk.understand import understand
from guide.talk.words import hear
from training.lines import Said, target_of
from training.readings import phrases
from training.texts import fits, part_of

LEADS = ("okay", "um", "uh", "so", "well", "hey guide", "right so", "guide", "please")
CRIES = (
    "hey",
    "quick",
    "oh no",
    "listen",
    "stop",
    "guys",
    "I think",
    "oh god",
    "help",
    "we need you",
    "come here",
    "wait",
)

_FILL: dict[str, tuple[str, ...]] = {
    "crowd": ("guys", "people", "men", "of them", "of those", "of us", "kids", "customers", "trucks", "boxes", "sheets", "boards", "doors",
              "windows", "screws", "bags", "buckets", "lads", "houses", "jobs", "calls", "tickets"),
    "did": ("showed up", "went home", "were on that site", "came by this morning", "got wet", "are still missing", "broke", "left early",
            "were waiting outside", "never called back", "stood around all day", "are in the van", "cost too much", "didn't fit"),
    "who": ("he", "she", "my brother", "the boss", "that guy", "the inspector", "our neighbour", "the driver", "my wife", "the plumber",
            "his cousin", "the customer", "somebody", "the electrician", "the other crew", "the lady upstairs"),
    "said": ("told me", "said", "reckons", "thinks", "swears", "says", "heard"),
    "thing": ("the truck", "that ladder", "the radio", "a coffee", "my lunch", "the game", "the weather", "this job", "the paint", "that saw",
              "the delivery", "the van", "his phone", "the invoice", "the parking", "the gate", "the generator", "the cord", "the dumpster",
              "the roof", "the kitchen", "the fence"),
    "when": ("this morning", "yesterday", "last week", "tomorrow", "on Monday", "on Friday", "tonight", "next year", "in March", "at noon",
             "before lunch", "after work", "over the weekend", "last summer", "a while ago", "every day"),
    "where": ("out back", "in the van", "across the street", "on the roof", "at the shop", "downtown", "in the basement", "by the gate", "at home",
              "on the highway", "upstairs", "next door", "at the yard", "in the garage"),
    "verb": ("moved", "fixed", "ordered", "painted", "lost", "found", "sold", "borrowed", "dropped", "checked", "forgot", "loaded", "bought",
             "cleaned", "returned"),
    "unit": ("minutes", "hours", "days", "weeks", "miles", "bucks", "dollars", "percent", "years", "pounds", "degrees", "times", "yards", "seconds",
             "months", "gallons", "blocks"),
    "feel": ("tired", "hungry", "busy", "late", "cold", "happy", "annoyed", "lucky", "early", "stuck", "broke", "ready to go home"),
}  # fmt: skip

_NUMBERED = (
    "{n} {crowd} {did}", "there were {n} {crowd} {where}", "{n} {crowd} {did} {when}", "it took {n} {unit} to get here",
    "{who} {said} it was {n} {unit}", "{who} owes me {n} dollars", "we've got {n} {unit} before the truck", "I paid {n} bucks for {thing}",
    "{who} did {n} of those {when}", "about {n} {crowd} {did}", "half of the {crowd} {did}", "a quarter of the {crowd} {did}",
    "two of those should do it", "{n} of those and {n} of the other", "give me {n} {unit}", "half an hour {when}", "{who} is {n} years old",
    "turn to channel {d}", "meet me at {h} thirty", "it's {h} fifteen already", "be there by {h} o'clock", "lunch is at half past {h}",
    "{who} lives at number {n} {where}", "his number ends in {d} {d} {d}", "we did {d} doors {when}", "{d} times out of ten it works",
    "the game ended {d} to {d}", "it's {n} degrees {where}", "that was in nineteen {t}", "back in two thousand {n}",
    "{who} drove {n} miles for {thing}", "put the radio on {n} point {d}", "there's a sale until the {o}", "the {o} of the month",
    "the {o} one on the left is mine", "first thing {when}", "{who} came in {o}", "I've told you {n} times", "grab {d} more of those {where}",
    "one of these days I'll fix {thing}", "{n} percent of the {crowd} {did}", "buy one get one half off {when}", "take five everybody",
    "{who} counted {n} {crowd}", "the second coat goes on {when}", "page {n} of the manual", "route {n} was closed {when}",
    "only {n} {crowd} left {where}", "{thing} weighs {n} pounds", "{who} works {n} hours a week", "a hundred and {n} {crowd} {did}",
    "you were {n} {unit} late {when}", "{n} and counting", "bus {n} is late again", "apartment {n} has no power", "{who} sold {n} last year",
    "a third of a tank left", "a sixteenth of the price", "an eighth of the {crowd} {did}", "one in {d} {crowd} {did}",
    "and the score is {d} {d}", "traffic on the {n} is backed up", "your caller number {n}", "it's {n} past {h}", "the top {n} songs {when}",
)  # fmt: skip

_PLAIN = (
    "{who} {verb} {thing} {when}", "did you see {thing} {where}", "{who} {said} {thing} is {where}", "I'm {feel} {when}",
    "{who} was {feel} {when}", "can you hold this end", "hand me {thing} would you", "where did {who} put {thing}",
    "{who} {verb} {thing} {where}", "watch {thing}", "mind your head on that ladder", "is anyone using this outlet",
    "turn that up I like this song", "{who} never {verb} {thing}", "who left {thing} {where}", "they said rain {when}",
    "I don't know what {who} wants", "we should have {verb} {thing} {when}", "tell {who} about {thing}", "has {who} {verb} {thing} yet",
    "and then {who} just left", "so anyway {who} {verb} {thing}", "you should see {thing} {where}", "{who} wants {thing} painted green",
    "is that dog always so loud", "what time is lunch {when}", "I can't find {thing} {where}", "{who} forgot {thing} again",
    "leave the keys {where}", "somebody {verb} {thing} and didn't tell me", "it's too hot for this {when}", "coming up next the news",
    "traffic is bad {where} {when}", "call us now for a free quote", "and that's the weather {when}", "nobody told me about {thing}",
    "don't let {who} near {thing}", "why is {thing} {where}", "I thought {who} {verb} {thing}", "put {thing} {where} for me",
)  # fmt: skip

_ORDINALS = (
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "eighth",
    "tenth",
    "twelfth",
    "fourteenth",
    "sixteenth",
    "twentieth",
    "thirty first",
)


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
        if name in _FILL:
            found = chance.choice(_FILL[name])
        elif name == "n":
            found = _number(chance)
        elif name == "d":
            found = whole(chance.randrange(2, 10))
        elif name == "h":
            found = whole(chance.randrange(1, 13))
        elif name == "t":
            found = whole(chance.randrange(60, 100))
        else:
            found = chance.choice(_ORDINALS)
        words.append(found + rest)
    return " ".join(words)


def talk(chance: random.Random, split: str) -> Said | None:
    """Talk that is for nobody: neither a reading nor anything that the guide understands."""
    text = _filled(chance, chance.choice(_NUMBERED if chance.random() < 0.65 else _PLAIN))
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
        text = f"{chance.choice(LEADS)} {text}"
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
        text = f"{chance.choice(CRIES)} {text}"
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
        return chance.choice(sorted(word for word in phrases().classes[part[1:-1]] if word.isalpha()))
    return part


@cache
def _sentences() -> Sequence[str]:
    return tuple((Path(__file__).parent / "ordinary.txt").read_text(encoding="utf-8").splitlines())


def ordinary(chance: random.Random, split: str) -> Said | None:
    """A sentence that has nothing to do with the job."""
    text = chance.choice(_sentences())
    part = part_of(text)
    return Said("ordinary", text, target_of(text), texts=part) if fits(part, split) else None
