"""Time stamps by somebody else's clock (RFC 3161) on the head of a record.

The answer of the server is kept in an entry. Asking is the only thing in this room that uses the
network, and only when a person names a server. The message stamped is the one that the recorder
signs (``seal.head_message``), of all entries before the stamp's own.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import urllib.error
import urllib.request
from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from cryptography import x509
from rfc3161_client import (
    HashAlgorithm,
    TimestampRequestBuilder,
    TimeStampResponse,
    VerificationError,
    VerifierBuilder,
    decode_timestamp_response,
)

from voicewalk.clock import Instant
from voicewalk.errors import RecordError, VoicewalkError
from voicewalk.record import body as bodies
from voicewalk.record.chain import Entry, root
from voicewalk.record.file import RecordFile
from voicewalk.record.merkle import Peaks, grown, head_of, size_of
from voicewalk.record.seal import head_message

_SECONDS = 30.0
"""So long a server may take. Common practice, no source."""
_MOST_BYTES = 1_000_000
"""An answer has a few thousand bytes."""


class Post(Protocol):
    """Sends a request to a server; what came back."""

    def __call__(self, url: str, data: bytes) -> bytes:
        """Raises ``OSError``."""


def post(url: str, data: bytes) -> bytes:
    """HTTP, as RFC 3161 section 3.4 has it.

    Raises:
        OSError: no such server, or it does not answer so.
    """
    kind = {"Content-Type": "application/timestamp-query"}
    request = urllib.request.Request(url, data, kind)
    with urllib.request.urlopen(request, timeout=_SECONDS) as answer:
        data = answer.read(_MOST_BYTES)
    return bytes(data)


def stamp(record: RecordFile, server: str, at: Instant, send: Post = post) -> str:
    """Have the head stamped and keep the answer; the server's time (UTC, RFC 3339).

    Raises:
        RecordError: the server does not answer, or not with a stamp on this head; the entry
            cannot be kept.
    """
    if not server.startswith(("https://", "http://")):
        raise RecordError(f"{server}: it is no server", "Give an address as https://...")
    size, head = len(record.entries()), record.head()
    message = head_message(root(record.meta()), size, head)
    request = TimestampRequestBuilder().data(message).hash_algorithm(HashAlgorithm.SHA256).build()
    try:
        answer = send(server, request.as_bytes())
        response = decode_timestamp_response(answer)
        fault = _misfit(response, message)
    except OSError as error:
        raise RecordError(
            f"{server}: it does not answer ({error})", "Try again later, or name another server."
        ) from error
    except ValueError as error:
        fault = f"no time stamp ({error})"
    if not fault and response.tst_info.nonce != request.nonce:
        fault = "an answer to another question"
    if fault:
        raise RecordError(f"{server}: it sent {fault}", "Name a server that speaks RFC 3161.")
    kept = {"size": size, "head": head, "response": base64.b64encode(answer).decode()}
    record.append({"kind": bodies.TIME_STAMPED, "server": server, **kept}, at)
    return _time(response)


def _misfit(response: TimeStampResponse, message: bytes) -> str:
    """Why a response is no stamp on the message; "" where it is."""
    if response.status != 0:
        return f"a refusal (status {response.status})"
    if response.tst_info.message_imprint.message != hashlib.sha256(message).digest():
        return "a stamp on something else"
    return ""


def _time(response: TimeStampResponse) -> str:
    return response.tst_info.gen_time.isoformat().replace("+00:00", "Z")


def read_certificate(path: Path) -> x509.Certificate:
    """The certificate (PEM) of a time stamp authority.

    Raises:
        VoicewalkError: it cannot be read, or is none.
    """
    try:
        return x509.load_pem_x509_certificate(path.read_bytes())
    except OSError as error:
        raise VoicewalkError(f"{path}: {error.strerror}", "Check the path.") from error
    except ValueError as error:
        raise VoicewalkError(
            f"{path}: it is no certificate in PEM", "Ask the authority for its root certificate."
        ) from error


def stamps(
    root_hash: str, entries: Sequence[Entry], certificate: x509.Certificate | None
) -> tuple[list[str], list[str]]:
    """What is wrong with the time stamps of a record, and what they say.

    Args:
        root_hash: the record's root (hex).
        entries: all of them, in order.
        certificate: the authority's root; without it the stamps' own signatures are not checked.
    """
    wrong: list[str] = []
    said: list[str] = []
    peaks: Peaks = ()
    carried = max((e.seq for e in entries if bodies.kind(e.body) == bodies.RECOVERED), default=0)
    for entry in entries:
        if bodies.kind(entry.body) == bodies.TIME_STAMPED and entry.seq < carried:
            said.append(f"entry {entry.seq}: a time stamp on the damaged record; not checked")
        elif bodies.kind(entry.body) == bodies.TIME_STAMPED:
            message = head_message(root_hash, size_of(peaks), head_of(peaks).hex())
            fault, time = _judged(entry, message, certificate)
            if fault:
                wrong.append(f"entry {entry.seq}: its time stamp: {fault}")
            else:
                by = "the authority given" if certificate else "a server; its seal was not checked"
                said.append(f"entries 1 to {size_of(peaks)} were there at {time}, says {by}")
        peaks = grown(peaks, bytes.fromhex(entry.hash))
    return wrong, said


def _judged(entry: Entry, message: bytes, certificate: x509.Certificate | None) -> tuple[str, str]:
    """What is wrong with one stamp ("" for nothing), and its time."""
    try:
        answer = base64.b64decode(bodies.text(entry.body, "response"), validate=True)
        response = decode_timestamp_response(answer)
        fault = _misfit(response, message)
        if fault:
            return f"it is {fault}", ""
        if certificate is not None:
            verifier = VerifierBuilder().add_root_certificate(certificate).build()
            verifier.verify_message(response, message)
    except (binascii.Error, ValueError, VerificationError) as error:
        return str(error), ""
    return "", _time(response)
