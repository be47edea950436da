"""Makes `ordinary.txt`: bible -f gen1:1-rev22:21 | PYTHONPATH=voice_models:. python -m training.sentences [COUNT].

The text is the King James Version as Debian's `bible-kjv` prints it; its copyright has expired. Kept are clauses of 4
to 13 words with no word that nobody says any more, few names and no very long word.
"""

from __future__ import annotations

import random
import re
import sys
from collections.abc import Iterable
from pathlib import Path

OLD = re.compile(r"eth\b|unto|\bye\b|thee|thou|thy|hath|doth|saith|thine|shalt|\w{11}", re.IGNORECASE)
PLAIN = re.compile(r"[A-Za-z ',]+")


def clauses(verses: Iterable[str]) -> list[str]:
    """What can be said of verses, each once, in order of the alphabet."""
    found = set()
    for verse in verses:
        text = verse.partition(" ")[2]
        for clause in re.split(r"[.:;?!]\s*", text):
            said = re.sub(r"[()\[\]]", "", " ".join(clause.strip().strip(",").split()))
            words = said.split()
            sayable = 4 <= len(words) <= 13 and PLAIN.fullmatch(said) and not OLD.search(said)
            if sayable and sum(word[0].isupper() for word in words[1:]) <= 1:
                found.add(said)
    return sorted(found)


def main() -> None:
    """Write so many of them."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    every = clauses(sys.stdin)
    random.Random(3).shuffle(every)
    Path(__file__).with_name("ordinary.txt").write_text("\n".join(sorted(every[:count])) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
