"""What is signed in a record, and whether a signature holds: Ed25519 (RFC 8032).

Pure. Every message begins with what it is for, so that no signature passes for another. Where
keys come from is ``record.keys``'s; which entry carries what is ``record.chain``'s.
"""

from __future__ import annotations

import base64
import hashlib

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from voicewalk.record.canonical import canonical

_HEAD_DOMAIN = b"voicewalk head 2\x00"
_SIGNATURE_DOMAIN = b"voicewalk signature 2\x00"

FINGERPRINT_BITS = 80
"""Sixteen letters and digits. To find a second key with the same one takes 2**80 trials."""


def head_message(root: str, size: int, head: str) -> bytes:
    """What a recorder signs with each entry, and what a time stamp is of.

    Args:
        root: the record's root (hex).
        size: how many entries.
        head: the Merkle tree head (hex) over their hashes.
    """
    return _HEAD_DOMAIN + canonical({"root": root, "size": size, "head": head})


def signature_message(root: str, size: int, head: str, role: str, name: str, wall: str) -> bytes:
    """What a person signs: all entries so far, in a role, by a name, at a time.

    Raises:
        ValueError: role or name is no Unicode.
    """
    signed = {"root": root, "size": size, "head": head, "role": role, "name": name, "wall": wall}
    return _SIGNATURE_DOMAIN + canonical(signed)


def public_hex(key: Ed25519PrivateKey | Ed25519PublicKey) -> str:
    """The public key, 32 bytes in hex."""
    public = key.public_key() if isinstance(key, Ed25519PrivateKey) else key
    return public.public_bytes_raw().hex()


def holds(key: str, signature: str, message: bytes) -> bool:
    """Whether a signature (hex) of a message is by a public key (hex)."""
    try:
        public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(key))
        public.verify(bytes.fromhex(signature), message)
    except (ValueError, InvalidSignature):
        return False
    return public_hex(public) == key  # one spelling only: no blank, no upper case


def fingerprint(key: str) -> str:
    """A public key (hex) in short, to be read out by the spelling alphabet: K7QA-2MXD-...

    The first 80 bits of the SHA-256 of its 32 bytes in base32 (RFC 4648): letters, and the
    digits 2 to 7, none of which is taken for a letter. Of what is no key: "no key".
    """
    try:
        raw = bytes.fromhex(key)
    except ValueError:
        raw = b""
    if len(raw) != 32:
        return "no key"
    short = base64.b32encode(hashlib.sha256(raw).digest()[: FINGERPRINT_BITS // 8]).decode()
    return "-".join(short[place : place + 4] for place in range(0, len(short), 4))
