"""Whom or what the crew's words name: an option, a person."""

from __future__ import annotations

from guide.talk.understand import Understanding

NAME_LONGEST = 60

_FILLERS = frozenset({"the", "one", "a", "an", "it", "it's", "its", "is", "they", "there"})


def option_named(text: str, options: tuple[str, ...], labels: tuple[str, ...]) -> str | None:
    """The option that the words name: by itself, by its words or some that only it has, or by its number."""
    plain = " ".join(text.strip(" .!").lower().split())
    for number, option in enumerate(options, 1):
        names = {option.lower(), option.replace("-", " ").lower(), str(number), f"number {number}"}
        if labels:
            names.add(labels[number - 1].lower())
        if plain in names:
            return option
    said = set(plain.split()) - _FILLERS
    known = [
        set(f"{option} {label}".lower().replace("-", " ").replace(",", " ").split())
        for option, label in zip(options, labels or options, strict=True)
    ]
    fitting = [option for option, words in zip(options, known, strict=True) if said and said <= words]
    return fitting[0] if len(fitting) == 1 else None


def person_named(text: str, heard: Understanding, speaker: str) -> str | None:
    """The name that the words give, tidied, or None: "yes", "done" and "all clear" are nobody's."""
    if heard.intent and "name" not in heard.slots:
        return None
    name = heard.slots.get("name", text)
    name = " ".join(name.strip(" .,!").split())
    if name.lower() in ("me", "myself", "i am", "i do", "i"):
        name = speaker
    return name if 0 < len(name) <= NAME_LONGEST and any(c.isalpha() for c in name) else None
