"""The pages put together: which address leads where, and what an error looks like."""

from __future__ import annotations

from collections.abc import Callable, Collection
from functools import partial

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from voicewalk.errors import VoicewalkError
from voicewalk.record.signing import Role
from voicewalk.review import acts, door, live, pages
from voicewalk.review.desk import HERE, Desk, NoSession
from voicewalk.review.guard import Guard, refusal

ANYBODY = (Role.INSPECTOR, Role.SECOND, Role.LEAD)


def make_app(desk: Desk, origins: Collection[str]) -> Starlette:
    """The application. ``origins`` are those that the pages are reached by."""

    def read(path: str, page: Callable[[Desk, Request], Response], name: str) -> Route:
        return Route(path, partial(page, desk), name=name)

    def answer(path: str, do: acts.Act, roles: tuple[Role, ...] = (Role.LEAD,)) -> Route:
        return Route(f"/walk/{{name}}/{path}", acts.act(desk, roles, do), methods=["POST"])

    routes = [
        read("/", pages.first_page, "first"),
        read("/door", door.door, "door"),
        Route("/in", partial(door.come_in, desk), methods=["POST"]),
        Route("/out", partial(door.go_out, desk), methods=["POST"]),
        read("/walk/{name}", pages.walk_page, "walk"),
        read("/walk/{name}/entry/{seq:int}", pages.entry_page, "entry"),
        read("/walk/{name}/sound/{clip}.wav", pages.clip_sound, "sound"),
        read("/walk/{name}/live", live.live_page, "live"),
        Route("/walk/{name}/growth", partial(live.growth, desk), name="growth"),
        answer("agree", acts.agree),
        answer("send-back", acts.send_back),
        answer("remark", acts.remark),
        answer("decide", acts.decide),
        answer("sign", acts.sign_record, ANYBODY),
        Mount("/static", StaticFiles(directory=HERE / "static"), name="static"),
    ]
    handlers = {
        HTTPException: partial(_refused, desk),
        VoicewalkError: partial(_cannot, desk),
        NoSession: _to_the_door,
    }
    return Starlette(
        routes=routes,
        middleware=[Middleware(Guard, origins=origins)],
        exception_handlers=handlers,  # type: ignore[arg-type]  # each takes its own exception
    )


def _refused(desk: Desk, request: Request, error: HTTPException) -> Response:
    """What a browser asked and does not get."""
    refusal(request.scope, error.status_code, error.detail)
    page = desk.page(
        request, "refused.html", error.status_code, message=error.detail, what_to_do=""
    )
    page.headers.update(error.headers or {})
    return page


def _cannot(desk: Desk, request: Request, error: VoicewalkError) -> Response:
    """What a person can put right."""
    message = str(error.args[0])
    refusal(request.scope, 422, message)
    return desk.page(request, "refused.html", 422, message=message, what_to_do=error.what_to_do)


def _to_the_door(request: Request, error: Exception) -> Response:
    refusal(request.scope, 401, "no session")
    if request.method in ("GET", "HEAD") and "hx-request" not in request.headers:
        return RedirectResponse("/door", 303)
    return Response("Come in again.\n", 401, {"HX-Redirect": "/door"}, "text/plain")
