"""What stands before every page: which host, which origin, how large a body; and what every
answer says to the browser about itself.

A page of another site that is open in the same browser can send requests here: by this address
(told by Origin), or by a name of its own that it points here (told by Host).
"""

from __future__ import annotations

import logging
from collections.abc import Collection, Iterator
from urllib.parse import parse_qsl

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from voicewalk.record.wording import plain

log = logging.getLogger("voicewalk.review")

MOST_BODY = 64 * 1024
"""Bytes: the longest form is a page of text and a list of items."""
MOST_FIELDS = 2_000
FORM = "application/x-www-form-urlencoded"
ONLY_READING = ("GET", "HEAD")

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; media-src 'self';"
    " connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
"""No style or script within a page, and nothing from elsewhere (CSP Level 3)."""
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
}


class TooLarge(HTTPException):
    """A body beyond ``MOST_BODY``."""

    def __init__(self) -> None:
        super().__init__(413, "The form is too large.")


class Guard:
    """ASGI middleware around the pages."""

    def __init__(self, app: ASGIApp, origins: Collection[str]) -> None:
        """``origins`` are those that the pages are reached by, as "http://127.0.0.1:8700"."""
        self._app = app
        self._origins = frozenset(origins)
        self._hosts = frozenset(origin.partition("://")[2] for origin in origins)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or pass on."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        told = _telling(send)
        refused = self._refused(scope)
        if refused:
            status, why = refused
            refusal(scope, status, why)
            await PlainTextResponse(f"{why}\n", status)(scope, receive, told)
            return
        await self._app(scope, _limited(receive), told)

    def _refused(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        if headers.get("host", "") not in self._hosts:
            return 400, "These pages are not reached by this name."
        if scope["method"] in ONLY_READING:
            return None
        if headers.get("origin", "") not in self._origins:
            return 403, "The form does not come from these pages."
        if headers.get("content-type", "").partition(";")[0].strip().lower() != FORM:
            return 415, "Only forms are taken."
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > MOST_BODY:
            return 413, "The form is too large."
        return None


def refusal(scope: Scope, status: int, why: str) -> None:
    """Write one line about a request that was refused; nothing in it steers a terminal."""
    client = scope.get("client") or ("unknown", 0)
    path = plain(scope.get("path", ""))[:200]
    log.warning("refused %d, %s: %s %s from %s", status, why, scope["method"], path, client[0])


def _limited(receive: Receive) -> Receive:
    """The same, up to ``MOST_BODY`` bytes: a body may come without telling its length."""
    taken = 0

    async def limited() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > MOST_BODY:
            raise TooLarge
        return message

    return limited


def _telling(send: Send) -> Send:
    """The same, with our headers on every answer that does not say otherwise itself."""

    async def told(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return told


class Form:
    """Fields of a form, each a list of texts."""

    def __init__(self, fields: Iterator[tuple[str, str]] | list[tuple[str, str]]) -> None:
        """Of pairs in their order."""
        self._fields: dict[str, list[str]] = {}
        for name, value in fields:
            self._fields.setdefault(name, []).append(value)

    def text(self, name: str) -> str:
        """The first value; "" where there is none."""
        return next(iter(self.texts(name)), "")

    def texts(self, name: str) -> list[str]:
        """All values."""
        return self._fields.get(name, [])

    def numbers(self, name: str) -> list[int]:
        """All values that are whole numbers of entries.

        Raises:
            HTTPException: one of them is none.
        """
        values = self.texts(name)
        if not all(value.isascii() and value.isdigit() and len(value) < 10 for value in values):
            raise HTTPException(422, "A number of an entry is wrong.")
        return [int(value) for value in values]


async def form_of(request: Request) -> Form:
    """The form that came with a request.

    Raises:
        HTTPException: it is too large, or no form.
    """
    try:
        body = (await request.body()).decode("ascii")
        fields = parse_qsl(
            body, keep_blank_values=True, errors="strict", max_num_fields=MOST_FIELDS
        )
    except ValueError as error:
        raise HTTPException(422, "The form cannot be read.") from error
    return Form(fields)
