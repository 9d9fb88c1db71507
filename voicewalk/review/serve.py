"""Serving the pages: on this machine alone, or with TLS and accounts to others.

What the server answers is ``app``'s; how it is started is asked for by the command.
"""

from __future__ import annotations

import ipaddress
import logging
import multiprocessing
import os
import signal
import socket
from collections.abc import Callable, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from threading import Thread

import uvicorn
from cryptography import x509

from voicewalk.clock import Instant
from voicewalk.errors import VoicewalkError
from voicewalk.review.accounts import Account, read_accounts
from voicewalk.review.app import make_app
from voicewalk.review.catalogue import Catalogue
from voicewalk.review.desk import Desk
from voicewalk.review.sessions import Person

HERE_ALONE = "127.0.0.1"


class ServeFault(VoicewalkError):  # noqa: N818 - it names a finding about how it was asked for
    """The pages cannot be served in the way that was asked for."""


@dataclass(frozen=True)
class Serving:
    """How the pages are served.

    Attributes:
        guest: who comes in by the link that the terminal shows; only on this machine.
        accounts: file of accounts; ``None`` for none.
        certificate, private_key: of TLS, in PEM.
    """

    folder: Path
    address: str = HERE_ALONE
    port: int = 8700
    guest: Person | None = None
    accounts: Path | None = None
    certificate: Path | None = None
    private_key: Path | None = None


def serve(asked: Serving, now: Callable[[], Instant], tell: Callable[[str], None]) -> None:
    """Serve until the program is stopped.

    Args:
        tell: is given the lines for the terminal: where the pages are, and each new link.

    Raises:
        VoicewalkError: it cannot be done, or not safely.
    """
    accounts = allowed(asked)
    tls = asked.certificate is not None
    logging.basicConfig(format="%(asctime)s %(message)s", level=logging.WARNING)
    with listening(asked) as listener:
        port = listener.getsockname()[1]
        where = origins(asked, port)
        with ProcessPoolExecutor(
            1, multiprocessing.get_context("spawn"), _end_with_parent
        ) as reader:
            desk = Desk(
                catalogue=Catalogue(asked.folder, reader),
                now=now,
                accounts=accounts,
                guest=None if accounts else asked.guest,
                secure=tls,
                on_link=lambda secret: tell(f"next link, for once: {where[0]}/door?link={secret}"),
            )
            desk.catalogue.scan()
            tell(f"pages of {asked.folder}: {where[0]}/")
            if desk.guest:
                desk.on_link(desk.sessions.new_link())
            config = uvicorn.Config(
                make_app(desk, where),
                log_level="warning",
                server_header=False,
                proxy_headers=False,
                ssl_certfile=str(asked.certificate) if tls else None,
                ssl_keyfile=str(asked.private_key) if tls else None,
                timeout_graceful_shutdown=1,
                limit_concurrency=200,
                h11_max_incomplete_event_size=32_768,
            )
            # The server hands on the signal that ended it: the reader is to be ended too.
            signal.signal(signal.SIGTERM, _stop)
            try:
                uvicorn.Server(config).run(sockets=[listener])
            finally:
                reader.shutdown(wait=False, cancel_futures=True)


def _stop(number: int, frame: object) -> None:
    raise SystemExit(0)


def _end_with_parent() -> None:
    """In the process that reads: end when the one that serves is gone, however it ended."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the one that serves

    def watch() -> None:
        parent = multiprocessing.parent_process()
        if parent:
            parent.join()
        os._exit(1)

    Thread(target=watch, daemon=True).start()


def allowed(asked: Serving) -> Mapping[str, Account]:
    """The accounts, where the pages may be served so at all.

    Raises:
        ServeFault: to others, and not with TLS and accounts.
        AccountFault: the file of accounts cannot be used.
    """
    tls = asked.certificate is not None and asked.private_key is not None
    if (asked.certificate is None) != (asked.private_key is None):
        raise ServeFault(
            "a certificate goes with its private key", "Give both --certificate and --private-key."
        )
    if not is_here(asked.address) and not (tls and asked.accounts):
        raise ServeFault(
            f"{asked.address} can be reached by others",
            "Give --certificate, --private-key and --accounts, or leave --address out.",
        )
    accounts = read_accounts(asked.accounts) if asked.accounts else {}
    if asked.accounts and not accounts:
        raise ServeFault(
            f"{asked.accounts}: nobody has an account", "Add one with 'voicewalk account add'."
        )
    return accounts


def is_here(address: str) -> bool:
    """Whether only this machine can reach an address."""
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return False


def listening(asked: Serving) -> socket.socket:
    """A socket at the address.

    Raises:
        ServeFault: it is no address, or taken.
    """
    try:
        family = socket.AF_INET6 if ":" in asked.address else socket.AF_INET
        return socket.create_server((asked.address, asked.port), family=family)
    except (OSError, OverflowError) as error:
        raise ServeFault(
            f"{asked.address}, port {asked.port}: {error}", "Choose another --port or --address."
        ) from error


def origins(asked: Serving, port: int) -> list[str]:
    """What the pages are reached by, the first to be shown: this machine's names, or those that
    the certificate stands for.

    Raises:
        ServeFault: the certificate cannot be read, or names nothing.
    """
    if asked.certificate is None:
        return [f"http://{name}:{port}" for name in (_bracketed(asked.address), "localhost")]
    names = certificate_names(asked.certificate)
    ports = [f":{port}", *([""] if port == 443 else [])]
    return [f"https://{_bracketed(name)}{end}" for name in names for end in ports]


def _bracketed(name: str) -> str:
    return f"[{name}]" if ":" in name else name


def certificate_names(path: Path) -> list[str]:
    """The names and addresses that a certificate stands for (RFC 5280, section 4.2.1.6).

    Raises:
        ServeFault: it cannot be read, or has none.
    """
    try:
        certificate = x509.load_pem_x509_certificate(path.read_bytes())
        found = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (OSError, ValueError, x509.ExtensionNotFound) as error:
        raise ServeFault(
            f"{path}: no certificate with names can be read from it ({error})",
            "Give a certificate in PEM that names this machine (subjectAltName).",
        ) from error
    names = found.get_values_for_type(x509.DNSName)
    addresses = map(str, found.get_values_for_type(x509.IPAddress))
    return [*names, *addresses]
