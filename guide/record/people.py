"""People with a PIN: a name typed is a name claimed, a PIN proves it.

Kept in the user's own data folder, readable by nobody else; of a PIN only a salted scrypt hash (RFC 7914) is kept,
and nothing of it ever reaches a job's record.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
from pathlib import Path

from guide.problems import Problem, ProblemError

ROLES = ("crew", "lead", "inspector")
SHORTEST_PIN = 4
_COST = {"n": 2**14, "r": 8, "p": 1, "dklen": 32}


def people_file() -> Path:
    """Where the list lives: $GUIDE_DATA, else the user's data folder."""
    base = os.environ.get("GUIDE_DATA")
    if base:
        return Path(base) / "people.json"
    share = os.environ.get("XDG_DATA_HOME")
    return (Path(share) if share else Path.home() / ".local" / "share") / "guide" / "people.json"


class PeopleList:
    """The list in one file; a missing file is an empty list. Names are compared without case."""

    def __init__(self, path: Path | None = None) -> None:
        self.path = path if path is not None else people_file()

    def role(self, name: str) -> str | None:
        """The role of a person on the list, or None."""
        found = self._load().get(_key(name))
        return found["role"] if found else None

    def proves(self, name: str, pin: str) -> bool:
        """Whether this is that person's PIN."""
        found = self._load().get(_key(name))
        if not found:
            return False
        return hmac.compare_digest(bytes.fromhex(found["hash"]), _hash(pin, bytes.fromhex(found["salt"])))

    def names(self) -> list[tuple[str, str]]:
        """Names and roles, sorted."""
        return sorted((one["name"], one["role"]) for one in self._load().values())

    def put(self, name: str, role: str, pin: str) -> None:
        """Add a person, or give them a new role and PIN; raises `ProblemError` for a bad one."""
        name = " ".join(name.split())
        if not name or role not in ROLES:
            raise ProblemError(
                [Problem("people-bad", f"a person needs a name and one of the roles {', '.join(ROLES)}")]
            )
        if len(pin) < SHORTEST_PIN:
            raise ProblemError([Problem("pin-short", f"a PIN needs at least {SHORTEST_PIN} characters")])
        salt = secrets.token_bytes(16)
        people = self._load()
        people[_key(name)] = {"name": name, "role": role, "salt": salt.hex(), "hash": _hash(pin, salt).hex()}
        self._save(people)

    def remove(self, name: str) -> bool:
        """Take a person off the list; False if they are not on it."""
        people = self._load()
        if people.pop(_key(name), None) is None:
            return False
        self._save(people)
        return True

    def _load(self) -> dict[str, dict[str, str]]:
        try:
            people = json.loads(self.path.read_text(encoding="utf-8"))
            return {key: _checked(one) for key, one in people.items()}
        except FileNotFoundError:
            return {}
        except (OSError, ValueError, AttributeError, KeyError, TypeError) as fault:
            message = f"the list of people can't be read: {self.path}: {fault}"
            raise ProblemError([Problem("people-unreadable", message, hint="Mend or remove the file.")]) from None

    def _save(self, people: dict[str, dict[str, str]]) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            beside = self.path.with_suffix(f".{os.getpid()}")
            handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
            with os.fdopen(handle, "w", encoding="utf-8") as out:
                json.dump(people, out, indent=1, sort_keys=True)
            os.replace(beside, self.path)
        except OSError as fault:
            message = f"the list of people can't be written: {self.path}: {fault.strerror}"
            raise ProblemError([Problem("people-unwritable", message)]) from None


def _checked(one: dict[str, str]) -> dict[str, str]:
    bytes.fromhex(one["salt"]), bytes.fromhex(one["hash"])
    return {"name": str(one["name"]), "role": str(one["role"]), "salt": one["salt"], "hash": one["hash"]}


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()


def _hash(pin: str, salt: bytes) -> bytes:
    return hashlib.scrypt(pin.encode(), salt=salt, n=_COST["n"], r=_COST["r"], p=_COST["p"], dklen=_COST["dklen"])
