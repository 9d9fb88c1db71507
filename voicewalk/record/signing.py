"""A person's signature on a record: over all its entries so far, with a key of their own.

The signature is an entry like any other. Whether it holds is told by ``record.afterwards``.
"""

from __future__ import annotations

from enum import StrEnum

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.record import body as bodies
from voicewalk.record.afterwards import role_faults
from voicewalk.record.chain import root
from voicewalk.record.file import RecordFile
from voicewalk.record.seal import public_hex, signature_message


class Role(StrEnum):
    """In what capacity somebody signs."""

    INSPECTOR = "inspector"
    SECOND = "second"
    LEAD = "lead"


def sign(record: RecordFile, role: Role, name: str, key: Ed25519PrivateKey, at: Instant) -> int:
    """Append a person's signature; returns its entry's number.

    Raises:
        RecordError: the walk is not closed, the name is empty or no Unicode, the person has
            signed in another role, or the entry cannot be kept.
    """
    entries = record.entries()
    shown = " ".join(name.split())
    if not shown:
        raise RecordError("nobody is named", "Give the name of who signs with --name.")
    if all(bodies.kind(entry.body) != bodies.CLOSED for entry in entries):
        raise RecordError(
            f"{record.path}: the walk is not closed",
            "Close the walk first: what is signed must not change any more.",
        )
    signed = {"role": role.value, "name": shown, "key": public_hex(key)}
    signers: dict[str, str] = {}
    for entry in entries:
        if bodies.kind(entry.body) == bodies.SIGNED:
            list(role_faults(signers, entry.body))
    for fault in role_faults(signers, signed):
        raise RecordError(f"{record.path}: {fault}", "Let another person sign in this role.")
    size, head = len(entries), record.head()
    try:
        message = signature_message(root(record.meta()), size, head, role.value, shown, at.wall)
    except ValueError as error:
        raise RecordError(
            f"the name cannot be kept ({error})", "Type it again, in letters that are Unicode."
        ) from error
    seal = {"size": size, "head": head, "signature": key.sign(message).hex()}
    return record.append({"kind": bodies.SIGNED, **signed, **seal}, at)
