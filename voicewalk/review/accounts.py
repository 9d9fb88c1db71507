"""Who may open the pages, in which role: a file of names, roles and argon2 hashes.

The file is for its owner only, and written whole or not at all. Sessions and the count of wrong
passwords are ``sessions``'.
"""

from __future__ import annotations

import json
import os
import stat
import tempfile
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from voicewalk.errors import VoicewalkError
from voicewalk.record.signing import Role

LEAST_PASSWORD = 12
"""Signs. NIST SP 800-63B asks for 8 at the least and for 15 where nothing else is asked; from
memory. Wrong ones are slowed down too."""
_MOST_FILE = 1_000_000
_HASHER = PasswordHasher()
"""Argon2id with the library's defaults, which are those of RFC 9106, section 4, second choice."""


class AccountFault(VoicewalkError):  # noqa: N818 - it names a finding about a file
    """A file of accounts that cannot be read, written or trusted."""


@dataclass(frozen=True, slots=True)
class Account:
    """One person.

    Attributes:
        name: as it stands in what they answer and sign.
        password: its argon2 hash.
        key: path of the person's key on this machine; "" for none: then they cannot sign here.
    """

    name: str
    role: Role
    password: str
    key: str = ""


def folded(name: str) -> str:
    """A name as it is compared: blanks and upper case make no other person."""
    return " ".join(name.split()).casefold()


def hashed(password: str) -> str:
    """The argon2 hash of a new password.

    Raises:
        AccountFault: it is too short.
    """
    if len(password) < LEAST_PASSWORD:
        raise AccountFault(
            "the password is too short", f"Choose one of {LEAST_PASSWORD} signs or more."
        )
    return _HASHER.hash(password)


def matches(account: Account | None, password: str) -> bool:
    """Whether it is the password of the account. An unknown name takes as long as a known one."""
    try:
        fits = _HASHER.verify(account.password if account else _nobody(), password)
    except (VerificationError, InvalidHashError):
        return False
    return fits and account is not None


@cache
def _nobody() -> str:
    """The hash of a password that nobody has."""
    return _HASHER.hash(os.urandom(32).hex())


def read_accounts(path: Path) -> dict[str, Account]:
    """The accounts of a file, by folded name.

    Raises:
        AccountFault: it cannot be read, others may read it, or it is no such file.
    """
    try:
        with path.open("rb") as file:
            mode = stat.S_IMODE(os.fstat(file.fileno()).st_mode)
            if mode & 0o077:
                raise AccountFault(
                    f"{path}: others than its owner may read or write it (mode {mode:04o})",
                    f"Make it yours alone: chmod 600 {path}",
                )
            data = json.loads(file.read(_MOST_FILE))
        accounts = [
            Account(
                _text(one, "name"),
                Role(_text(one, "role")),
                _text(one, "password"),
                _text(one, "key"),
            )
            for one in data["accounts"]
        ]
    except OSError as error:
        raise AccountFault(
            f"{path}: {error.strerror}", "Make it with 'voicewalk account add'."
        ) from error
    except (ValueError, LookupError, TypeError) as error:
        raise AccountFault(
            f"{path}: it is no file of accounts ({error})", "Make it anew: 'voicewalk account add'."
        ) from error
    return {folded(one.name): one for one in accounts}


def _text(one: object, name: str) -> str:
    value = one.get(name, "") if isinstance(one, dict) else None
    if not isinstance(value, str):
        raise ValueError(f"'{name}' is no text")
    return value


def write_accounts(path: Path, accounts: Iterable[Account]) -> None:
    """Put the accounts in the place of what the file held; mode 600.

    Raises:
        AccountFault: it cannot be written.
    """
    text = json.dumps({"accounts": [asdict(one) for one in accounts]}, indent=1) + "\n"
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".accounts-")  # mode 0600
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise AccountFault(
            f"{path}: {error.strerror}", "Check the folder and its rights."
        ) from error
