"""The Merkle tree head over a list of entries, RFC 6962 section 2.1 (the same in RFC 9162).

Pure. A head of 32 bytes stands for the whole list: whoever noted it down can tell later
whether a record still holds the same entries, and all of them. What the leaves are is
``record.chain``'s.

    MTH({})     = SHA-256()
    MTH({d0})   = SHA-256(0x00 || d0)
    MTH(D[n])   = SHA-256(0x01 || MTH(D[0:k]) || MTH(D[k:n])),  k the largest power of two < n
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable


def leaf_hash(leaf: bytes) -> bytes:
    """Hash of one leaf. The 0x00 keeps a leaf from passing for an inner node."""
    return hashlib.sha256(b"\x00" + leaf).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Hash of an inner node over the hashes of its two subtrees."""
    return hashlib.sha256(b"\x01" + left + right).digest()


Peaks = tuple[tuple[int, bytes], ...]
"""The complete subtrees of a list as (size, hash), sizes falling from left to right like the
ones of its length written in binary: all that is needed to go on with the tree."""


def grown(peaks: Peaks, leaf: bytes) -> Peaks:
    """The peaks of the list with one more leaf at its end; O(log n)."""
    size, joined = 1, leaf_hash(leaf)
    while peaks and peaks[-1][0] == size:
        joined = node_hash(peaks[-1][1], joined)
        peaks, size = peaks[:-1], size * 2
    return (*peaks, (size, joined))


def head_of(peaks: Peaks) -> bytes:
    """The head (32 bytes) of the list with these peaks.

    Joining them from the right gives the tree of the RFC, because its cut ``k`` is the size of
    the leftmost of them.
    """
    if not peaks:
        return hashlib.sha256(b"").digest()
    head = peaks[-1][1]
    for _, peak in reversed(peaks[:-1]):
        head = node_hash(peak, head)
    return head


def tree_head(leaves: Iterable[bytes]) -> bytes:
    """The head (32 bytes) of the tree over ``leaves``, in one pass."""
    peaks: Peaks = ()
    for leaf in leaves:
        peaks = grown(peaks, leaf)
    return head_of(peaks)


def size_of(peaks: Peaks) -> int:
    """How many leaves the list with these peaks has."""
    return sum(size for size, _ in peaks)
