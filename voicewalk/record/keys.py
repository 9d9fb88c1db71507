"""Keys as files: the recorder's own, made on first use, and people's, under a passphrase.

Ed25519, PKCS#8 in PEM (RFC 8410, RFC 5958). What is signed with them is ``record.seal``'s; asking
for a passphrase is left to the commands.
"""

from __future__ import annotations

import os
import re
import stat
import tempfile
from pathlib import Path

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from voicewalk import private
from voicewalk.errors import VoicewalkError
from voicewalk.record.seal import public_hex

FOLDER_VARIABLE = "VOICEWALK_KEYS"
"""Environment: the folder of the recorder's key."""
FILE = "recorder.pem"

_PUBLIC = re.compile(r"[0-9a-f]{64}", re.ASCII)
_LEAST_PASSPHRASE = 8
"""Letters. A shorter one is found by trying, whatever it is stretched with. Common practice, no
source."""


class KeyFault(VoicewalkError):  # noqa: N818 - it names a finding about a key
    """A key that cannot be read, made, or trusted."""


def folder() -> Path:
    """Where the recorder's key lies: ``VOICEWALK_KEYS``, else the user's data folder (XDG)."""
    named = os.environ.get(FOLDER_VARIABLE)
    if named:
        return Path(named)
    data = os.environ.get("XDG_DATA_HOME")
    return (Path(data) if data else Path.home() / ".local" / "share") / "voicewalk"


def recorder_key() -> Ed25519PrivateKey:
    """The key of this recorder; made where there is none yet.

    Raises:
        KeyFault: it cannot be made or read, others may read it, or it is no such key.
    """
    path = folder() / FILE
    try:
        if not path.exists():
            made = [each for each in path.parents if not each.exists()]
            private.make_folder(path.parent)
            _write_new(path, _pem(Ed25519PrivateKey.generate(), None))
            for each in made:  # a power cut must not take the key's folder away
                _sync_folder(each.parent)
    except FileExistsError:
        pass  # another walk made it a moment ago
    except OSError as error:
        raise KeyFault(
            f"{path}: the recorder's key cannot be made: {error.strerror}",
            f"Give a folder that you may write to in the variable {FOLDER_VARIABLE}.",
        ) from error
    return _private(path, None)


def make_key(path: Path, passphrase: str) -> Ed25519PrivateKey:
    """Make a person's key in a new file, readable with the passphrase only.

    Raises:
        KeyFault: the passphrase is too short, the file exists or cannot be written.
    """
    if len(passphrase) < _LEAST_PASSPHRASE:
        raise KeyFault(
            "the passphrase is too short", f"Choose one of {_LEAST_PASSPHRASE} letters or more."
        )
    key = Ed25519PrivateKey.generate()
    try:
        _write_new(path, _pem(key, passphrase))
    except FileExistsError:
        raise KeyFault(
            f"{path}: there is such a file already", "Give another name: a key is never replaced."
        ) from None
    except OSError as error:
        raise KeyFault(f"{path}: {error.strerror}", "Check the folder and its rights.") from error
    return key


def person_key(path: Path, passphrase: str) -> Ed25519PrivateKey:
    """A person's key.

    Raises:
        KeyFault: no such file, others may read it, no such key, no or another passphrase.
    """
    return _private(path, passphrase)


def public_of(text: str) -> str:
    """A public key (hex) from what a person gives: the hex itself, or a PEM file.

    The file holds a public key, or a private one without a passphrase. Of a person's key
    'voicewalk key show' tells the public part.

    Raises:
        KeyFault: neither.
    """
    if _PUBLIC.fullmatch(text.lower()):
        return text.lower()
    path = Path(text)
    data = _read(path)
    try:
        if b"PUBLIC KEY" in data:
            key: object = serialization.load_pem_public_key(data)
        else:
            key = serialization.load_pem_private_key(data, None)
    except TypeError as error:  # as the library answers for a file under a passphrase
        raise KeyFault(
            f"{path}: the key is under a passphrase",
            f"Give its public part in hexadecimal: voicewalk key show {path}",
        ) from error
    except (ValueError, UnsupportedAlgorithm) as error:
        raise _no_key(path) from error
    if not isinstance(key, Ed25519PrivateKey | Ed25519PublicKey):
        raise _no_key(path)
    return public_hex(key)


def _private(path: Path, passphrase: str | None) -> Ed25519PrivateKey:
    data = _read(path, secret=True)
    try:
        key = serialization.load_pem_private_key(
            data, None if passphrase is None else passphrase.encode("utf-8", "surrogateescape")
        )
    except TypeError as error:  # a passphrase where none is needed, or none where one is
        wanted = "is under no passphrase" if passphrase else "is under a passphrase"
        raise KeyFault(
            f"{path}: this key {wanted}",
            "Give a person's key to sign with, made by 'voicewalk key new'; the recorder's own"
            " lies open to its user.",
        ) from error
    except (ValueError, UnsupportedAlgorithm) as error:
        if passphrase is not None and b"ENCRYPTED" in data:
            raise KeyFault(
                f"{path}: the passphrase does not open it", "Type it again; mind upper case."
            ) from error
        raise _no_key(path) from error
    if not isinstance(key, Ed25519PrivateKey):
        raise _no_key(path)
    return key


def _read(path: Path, *, secret: bool = False) -> bytes:
    try:
        with path.open("rb") as file:
            mode = stat.S_IMODE(os.fstat(file.fileno()).st_mode)
            if secret and mode & 0o077:
                raise KeyFault(
                    f"{path}: others than its owner may read or write this key (mode {mode:04o})",
                    f"If nobody has had it: chmod 600 {path}. Else remove it; a new one is made.",
                )
            return file.read(100_000)  # a key is a few hundred bytes
    except OSError as error:
        raise KeyFault(f"{path}: {error.strerror}", "Check the path and the rights.") from error


def _no_key(path: Path) -> KeyFault:
    return KeyFault(
        f"{path}: it is no Ed25519 key in PEM",
        "Give the right file. A recorder's key that is damaged: move it away, a new one is made.",
    )


def _pem(key: Ed25519PrivateKey, passphrase: str | None) -> bytes:
    locked = (
        serialization.NoEncryption()
        if passphrase is None
        else serialization.BestAvailableEncryption(passphrase.encode("utf-8", "surrogateescape"))
    )
    return key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, locked)


def _write_new(path: Path, data: bytes) -> None:
    """Whole or not at all, for its owner only, and never in the place of another file."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".key-")  # mode 0600, less the umask
    try:
        os.fchmod(handle, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.link(name, path)
    finally:
        Path(name).unlink()
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
