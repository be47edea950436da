"""Keys to sign with: a person's own Ed25519 key (RFC 8032), and the list of public keys that are known.

Both lie in the user's data folder, in `keys/` (0700): `NAME.pem` (0600) is a private key in PKCS #8, encrypted if the
person gave a passphrase; `known.json` (0600) has the public keys. Anything that others may read, or change, is refused.
What this does not protect: without a passphrase whoever uses this account, or reads the disk, can sign as that person;
with one, whoever watches it being typed. A known key says which key a name is taken for here, and nothing more: that
it is that person's is for people to find out (read the key to each other).
"""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING
from urllib.parse import quote

from guide.problems import Problem, ProblemError
from guide.record.people import people_file

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

LONGEST_NAME = 60
SHORTEST_PASSPHRASE = 8
_KNOWN = "known.json"


@dataclass(frozen=True, slots=True)
class KnownKey:
    """A public key and whose it is taken for; `own` where its private key was made here."""

    name: str
    key: str
    """32 bytes in hexadecimal."""
    own: bool = False


def keys_folder() -> Path:
    """Where the keys lie, beside the list of people."""
    return people_file().parent / "keys"


class Keys:
    """The keys of one folder; a missing folder has none. Names are compared without case."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder if folder is not None else keys_folder()

    def known(self) -> list[KnownKey]:
        """Every public key that is known, by name."""
        return sorted(self._load(), key=lambda one: (_same(one.name), one.key))

    def named(self, key: str) -> str | None:
        """The name a public key is known by."""
        return next((one.name for one in self._load() if one.key == key), None)

    def make(self, name: str, passphrase: str = "") -> KnownKey:
        """Make a person's key pair and put its public half on the list; never over one that is there."""
        ed25519, serialization = _library()
        name = _name(name)
        path = self._private(name)
        if os.path.lexists(path):
            raise _problem(
                "key-exists", f"{name} has a key already: {path}.", "Sign with it: guide sign DIR --who NAME"
            )
        if passphrase and len(passphrase) < SHORTEST_PASSPHRASE:
            raise _problem("passphrase-short", f"a passphrase needs at least {SHORTEST_PASSPHRASE} characters.")
        private = ed25519.Ed25519PrivateKey.generate()
        locked = (
            serialization.BestAvailableEncryption(passphrase.encode()) if passphrase else serialization.NoEncryption()
        )
        pem = private.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, locked)
        made = KnownKey(name, private.public_key().public_bytes_raw().hex(), own=True)
        with self._writing():
            self._refuse_taken(made)
            _write_new(path, pem)
            try:
                self._save([*self._load(), made])
            except BaseException:
                path.unlink()
                raise
        return made

    def add(self, name: str, key: str) -> KnownKey:
        """Put somebody's public key (64 hexadecimal digits) on the list."""
        text = "".join(key.split()).lower()
        try:
            right = len(bytes.fromhex(text)) == 32
        except ValueError:
            right = False
        if not right:
            raise _problem(
                "key-bad", "a public key is 64 hexadecimal digits.", "guide keys shows it where it was made."
            )
        added = KnownKey(_name(name), text)
        with self._writing():
            self._refuse_taken(added)
            self._save([*self._load(), added])
        return added

    def forget(self, name: str) -> bool:
        """Take a name's public keys off the list; a private key stays where it is. False if there were none."""
        with self._writing():
            known = self._load()
            kept = [one for one in known if _same(one.name) != _same(name)]
            self._save(kept)
        return len(kept) < len(known)

    def has(self, name: str) -> bool:
        """Whether the person has a private key here."""
        return os.path.lexists(self._private(_name(name)))

    def locked(self, name: str) -> bool:
        """Whether that key asks for a passphrase."""
        return b"ENCRYPTED" in self._read_private(name)

    def private(self, name: str, passphrase: str = "") -> Ed25519PrivateKey:
        """A person's private key; raises `ProblemError` when it is missing, loose, damaged, or the passphrase wrong."""
        ed25519, serialization = _library()
        pem = self._read_private(name)
        try:
            key = serialization.load_pem_private_key(pem, passphrase.encode() if passphrase else None)
        except TypeError:
            wanted = "it asks for a passphrase" if not passphrase else "it has no passphrase"
            raise _problem("passphrase", f"the key of {name} can't be opened: {wanted}.") from None
        except ValueError:
            why = "the passphrase is wrong, or the file is damaged" if passphrase else "the file is damaged"
            raise _problem("passphrase", f"the key of {name} can't be opened: {why}.") from None
        if not isinstance(key, ed25519.Ed25519PrivateKey):
            raise _problem("key-bad", f"{self._private(name)} holds a key of another kind.")
        private: Ed25519PrivateKey = key
        return private

    def spelled(self, name: str) -> str:
        """The name as it is on the list."""
        return next((one.name for one in self._load() if one.own and _same(one.name) == _same(name)), _name(name))

    def _read_private(self, name: str) -> bytes:
        path = self._private(_name(name))
        if not os.path.lexists(path):
            raise _problem("no-key", f"{_name(name)} has no key here.", f'Make one: guide keys --make "{_name(name)}"')
        self._refuse_loose(self.folder)
        return self._read(path)

    def _private(self, name: str) -> Path:
        return self.folder / f"{quote(_same(name), safe=' ').replace('.', '%2E')}.pem"

    def _load(self) -> list[KnownKey]:
        path = self.folder / _KNOWN
        if not os.path.lexists(path):
            return []
        self._refuse_loose(self.folder)
        try:
            found = [KnownKey(**one) for one in json.loads(self._read(path))]
            if any(type(one.own) is not bool or len(bytes.fromhex(one.key)) != 32 or not one.name for one in found):
                raise ValueError("an entry has another form")
            return found
        except (ValueError, TypeError, AttributeError) as fault:
            raise _problem("keys-unreadable", f"{path} can't be read: {fault}.", "Mend or remove the file.") from None

    def _save(self, known: list[KnownKey]) -> None:
        path = self.folder / _KNOWN
        beside = path.with_suffix(f".{os.getpid()}")
        with contextmanager(_gone_at_the_end)(beside):
            _write_new(beside, (json.dumps([asdict(one) for one in known], indent=1) + "\n").encode())
            os.replace(beside, path)

    def _refuse_taken(self, wanted: KnownKey) -> None:
        for one in self._load():
            if one.key == wanted.key:
                raise _problem("key-known", f"that key is known already, as that of {one.name}.")
            if _same(one.name) == _same(wanted.name):
                hint = f'If it is replaced: guide keys --forget "{one.name}", then add the new one.'
                raise _problem("name-known", f"{one.name} is known by another key already.", hint)

    @contextmanager
    def _writing(self) -> Iterator[None]:
        try:
            self.folder.parent.mkdir(parents=True, exist_ok=True)
            self.folder.mkdir(mode=0o700, exist_ok=True)
            self._refuse_loose(self.folder)
            yield
        except OSError as fault:
            raise _problem("keys-unwritable", f"the keys can't be kept in {self.folder}: {fault.strerror}.") from None

    def _read(self, path: Path) -> bytes:
        try:
            self._refuse_loose(path)
            return path.read_bytes()
        except OSError as fault:
            raise _problem("keys-unreadable", f"{path} can't be read: {fault.strerror}.") from None

    def _refuse_loose(self, path: Path) -> None:
        """Refuse what others can read or change, what is somebody else's, and links."""
        status = os.lstat(path)
        wanted = 0o700 if stat.S_ISDIR(status.st_mode) else 0o600
        if not (stat.S_ISDIR(status.st_mode) or stat.S_ISREG(status.st_mode)):
            raise _problem("keys-loose", f"{path} is a link or no ordinary file.", "Put the file itself there.")
        if status.st_mode & 0o077:
            message = f"others may read or change {path} (its permissions are {stat.S_IMODE(status.st_mode):o})."
            raise _problem(
                "keys-loose", message, f"If nobody has had it: chmod {wanted:o} '{path}'. Else make a new key."
            )
        if status.st_uid != os.geteuid():
            raise _problem("keys-loose", f"{path} belongs to somebody else.", "Use a data folder of your own.")


def _gone_at_the_end(path: Path) -> Iterator[None]:
    try:
        yield
    finally:
        path.unlink(missing_ok=True)


def _write_new(path: Path, data: bytes) -> None:
    """Write a file that nobody else can read, durable before it counts."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600)
    with os.fdopen(handle, "wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())


def _name(name: str) -> str:
    shown = " ".join(name.split())
    if not shown or len(shown) > LONGEST_NAME:
        raise _problem("name-bad", f"a name has 1 to {LONGEST_NAME} characters.")
    return shown


def _same(name: str) -> str:
    return " ".join(name.split()).casefold()


def _library() -> tuple[ModuleType, ModuleType]:
    """Ed25519 and its file formats, loaded when they are needed."""
    try:
        from cryptography.hazmat.primitives import serialization
        from cryptography.hazmat.primitives.asymmetric import ed25519
    except ModuleNotFoundError:
        raise _problem(
            "no-cryptography", "signing needs the package cryptography.", "pip install 'guide[report]'"
        ) from None
    return ed25519, serialization


def _problem(code: str, message: str, hint: str | None = None) -> ProblemError:
    return ProblemError([Problem(code, message, hint=hint)])
