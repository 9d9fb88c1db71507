import base64
import hashlib
import json

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from voicewalk.record.seal import (
    fingerprint,
    head_message,
    holds,
    public_hex,
    signature_message,
)

# RFC 8032 section 7.1, test 1 (the seed from memory, the rest recomputed from it).
SEED = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"
PUBLIC = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
SIGNATURE = (
    "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555"
    "fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
)
KEY = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(SEED))


def test_rfc8032_test_1():
    assert public_hex(KEY) == PUBLIC
    assert KEY.sign(b"").hex() == SIGNATURE
    assert holds(PUBLIC, SIGNATURE, b"")


@pytest.mark.parametrize(
    ("key", "signature", "message"),
    [
        (PUBLIC, SIGNATURE, b"x"),
        (PUBLIC, "00" + SIGNATURE[2:], b""),
        (PUBLIC, SIGNATURE[:-2], b""),
        (PUBLIC, "", b""),
        (PUBLIC.upper(), SIGNATURE, b""),
        (f" {PUBLIC}", SIGNATURE, b""),
        ("00" * 32, SIGNATURE, b""),
        ("", SIGNATURE, b""),
        ("no key", SIGNATURE, b""),
    ],
)
def test_a_signature_that_does_not_hold(key, signature, message):
    assert not holds(key, signature, message)


def by_hand(domain, value):
    """Sorted keys and no blanks are RFC 8785 for plain ASCII and small whole numbers."""
    return domain + b"\x00" + json.dumps(value, sort_keys=True, separators=(",", ":")).encode()


def test_what_is_signed_is_as_documented():
    assert head_message("aa", 3, "bb") == by_hand(
        b"voicewalk head 2", {"root": "aa", "size": 3, "head": "bb"}
    )
    signed = {
        "root": "aa",
        "size": 3,
        "head": "bb",
        "role": "lead",
        "name": "Tamsin Orlo",
        "wall": "w",
    }
    assert signature_message("aa", 3, "bb", "lead", "Tamsin Orlo", "w") == by_hand(
        b"voicewalk signature 2", signed
    )


def test_a_fingerprint_is_eighty_bits_to_be_read_out():
    short = hashlib.sha256(bytes.fromhex(PUBLIC)).digest()[:10]
    groups = fingerprint(PUBLIC).split("-")
    assert [len(group) for group in groups] == [4, 4, 4, 4]
    assert base64.b32decode("".join(groups)) == short
    assert set("".join(groups)) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567")


@pytest.mark.parametrize("key", ["", "00", "xyz", PUBLIC[:-1]])
def test_what_is_no_key_has_no_fingerprint(key):
    assert fingerprint(key) == "no key"
