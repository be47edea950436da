"""The commands of trust: whether a record is whole, keys, and a signature under a record."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from guide.problems import Problem, ProblemError, visible

HELD_MOST = 32_000_000
"""Bytes of a record up to which it is looked through for what to ask about; a longer one is verified line by line."""

UNPROTECTED = (
    "Without a passphrase whoever uses this account, or reads this disk, can sign as {name}. "
    "With one (guide keys --make NAME --passphrase), only whoever knows it."
)


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the commands to the command line."""
    verify = commands.add_parser("verify", help="see whether a record is whole, who signed it, and what to ask about")
    verify.add_argument("job", metavar="DIR", type=Path)
    verify.add_argument("--json", action="store_true", help="one JSON object")
    verify.set_defaults(command=_verify)

    sign = commands.add_parser("sign", help="sign a finished or stopped job: the installer, then the supervisor")
    sign.add_argument("job", metavar="DIR", type=Path)
    sign.add_argument("--who", metavar="NAME", required=True, help="whose key signs")
    sign.add_argument("--role", choices=("installer", "supervisor"), help="(default: the installer first)")
    sign.set_defaults(command=_sign)

    keys = commands.add_parser("keys", help="keys to sign with, and whose keys are known")
    do = keys.add_mutually_exclusive_group()
    do.add_argument("--make", metavar="NAME", help="make a key of this person's own")
    do.add_argument("--add", nargs=2, metavar=("NAME", "KEY"), help="put somebody's public key on the list")
    do.add_argument("--forget", metavar="NAME", help="take a name's public keys off the list")
    keys.add_argument("--passphrase", action="store_true", help="with --make: protect the key with a passphrase")
    keys.set_defaults(command=_keys)


def _verify(arguments: argparse.Namespace) -> int:
    import json

    from guide.record.check_words import check_value
    from guide.record.keys import Keys
    from guide.record.oddities import Oddity, oddities
    from guide.record.signatures import examine, signature_lines, weigh
    from guide.record.verify import Kept, report_lines, verify

    kept = Kept() if _small(arguments.job) else None
    found = verify(arguments.job, kept)
    signed = examine(arguments.job, found, Keys())
    weigh(found, signed)
    odd: list[Oddity] = []
    if found.ok and kept is not None and kept.procedure is not None:
        odd = oddities(kept.procedure, kept.entries)
    if arguments.json:
        data = found.as_data() | {"check_value": check_value(found.last_hash), "signed": signed.as_data()}
        print(json.dumps(data | {"oddities": [one.as_data() for one in odd]}, indent=1))
    else:
        lines = report_lines(found)
        if found.last_hash:
            lines += [f"Check value: {check_value(found.last_hash)}", *signature_lines(signed)]
        for line in [*lines, *(f"To ask about: {one.text}" for one in odd)]:
            print(visible(line))
    return 0 if found.ok and signed.ok else 1


def _small(job: Path) -> bool:
    """Whether the record may be held whole, to look for what to ask about."""
    try:
        return (job / "record.jsonl").lstat().st_size <= HELD_MOST
    except OSError:
        return False


def _sign(arguments: argparse.Namespace) -> int:
    from datetime import datetime

    from guide.record.check_words import check_value
    from guide.record.keys import Keys
    from guide.record.signatures import sign

    keys = Keys()
    passphrase = ""
    if keys.has(arguments.who) and keys.locked(arguments.who):
        passphrase = _secret(f"Passphrase of {arguments.who}: ")
    now = datetime.now().astimezone()
    made = sign(arguments.job, arguments.who, arguments.role, now, keys, passphrase)
    print(visible(f"{made.name} signed as {made.role}: {made.lines} lines, hash {made.hash}"))
    print(f"Check value: {check_value(made.hash)}")
    return 0


def _keys(arguments: argparse.Namespace) -> int:
    from guide.record.check_words import check_value
    from guide.record.keys import Keys

    keys = Keys()
    if arguments.passphrase and not arguments.make:
        raise ProblemError([Problem("usage", "--passphrase goes with --make.")])
    if arguments.make:
        passphrase = _new_passphrase() if arguments.passphrase else ""
        made = keys.make(arguments.make, passphrase)
        if not passphrase:
            print(visible(UNPROTECTED.format(name=made.name)))
    elif arguments.add:
        keys.add(*arguments.add)
        print("Read its words to that person: only if they are the same is the key theirs.")
    elif arguments.forget and not keys.forget(arguments.forget):
        raise ProblemError([Problem("nobody", f'no key is known by the name "{arguments.forget}".')])
    for one in keys.known():
        print(visible(f"{one.name}: {one.key}{' (made here)' if one.own else ''}"))
        print(f"  in words: {check_value(one.key)}")
    return 0


def _new_passphrase() -> str:
    first = _secret("Passphrase: ")
    if sys.stdin.isatty() and _secret("Again: ") != first:
        raise ProblemError([Problem("passphrase", "the two are not the same; no key was made.")])
    if not first:
        raise ProblemError([Problem("passphrase", "an empty passphrase protects nothing; no key was made.")])
    return first


def _secret(prompt: str) -> str:
    from getpass import getpass

    return getpass(prompt) if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
