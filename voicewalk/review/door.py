"""Coming in and going out: by a link that works once, or by name and password."""

from __future__ import annotations

import math

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from voicewalk.review.accounts import folded, matches
from voicewalk.review.desk import Desk
from voicewalk.review.guard import form_of, refusal
from voicewalk.review.sessions import Person


def door(desk: Desk, request: Request) -> Response:
    """The page to come in by; with a link's secret, the way in itself."""
    secret = request.query_params.get("link", "")
    if not secret or desk.guest is None:
        return desk.page(request, "door.html", wrong="", by_name=bool(desk.accounts))
    if not desk.sessions.use_link(secret):
        refusal(request.scope, 403, "a link that was used before, or never made")
        used = "This link was used before. The terminal shows the next one."
        return desk.page(request, "door.html", 403, wrong=used, by_name=bool(desk.accounts))
    desk.on_link(desk.sessions.new_link())
    return _in(desk, desk.guest)


async def come_in(desk: Desk, request: Request) -> Response:
    """Name and password."""
    form = await form_of(request)
    name, password = form.text("name"), form.text("password")
    client = request.client.host if request.client else "unknown"
    who = (f"from {client}", f"as {folded(name)[:200]}")
    too_soon(desk, who)
    account = desk.accounts.get(folded(name))
    if not await run_in_threadpool(matches, account, password) or account is None:
        desk.failures.wrong(who, desk.now_ms())
        refusal(request.scope, 403, f"wrong name or password for {folded(name)[:80]!r}")
        wrong = "Name or password is wrong."
        return desk.page(request, "door.html", 403, wrong=wrong, by_name=True)
    desk.failures.right(who)
    return _in(desk, Person(account.name, account.role, account.key))


async def go_out(desk: Desk, request: Request) -> Response:
    """End the session."""
    form = await form_of(request)
    session = desk.session(request)
    if not session.fits(form.text("form")):
        raise HTTPException(403, "The form is not of this session. Open the page again.")
    desk.sessions.end(request.cookies.get(desk.cookie, ""))
    response = RedirectResponse("/door", 303)
    response.delete_cookie(desk.cookie, path="/", secure=desk.secure, httponly=True)
    return response


def too_soon(desk: Desk, who: tuple[str, ...]) -> None:
    """Refuse, unread, what comes before the wait after wrong ones is over.

    Raises:
        HTTPException: 429, with how long to wait.
    """
    wait = desk.failures.wait_ms(who, desk.now_ms())
    if wait:
        seconds = math.ceil(wait / 1000)
        raise HTTPException(
            429,
            f"Too many wrong passwords. Try again in {seconds} seconds.",
            {"Retry-After": str(seconds)},
        )


def _in(desk: Desk, person: Person) -> Response:
    response = RedirectResponse("/", 303)
    desk.let_in(response, person)
    return response
