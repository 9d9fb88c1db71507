"""A walk as it is spoken: the page for a tablet, and the stream that tells when it has grown."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from voicewalk.record import body as bodies
from voicewalk.review.desk import Desk
from voicewalk.review.glance import stamp_of
from voicewalk.review.pages import path_of, walk_of
from voicewalk.review.views import entry_grades, stations, told

LAST_ENTRIES = 12
LOOK_SECONDS = 0.4
"""How often a file is looked at: a call comes every few seconds."""
STREAM_SECONDS = 600.0
"""A stream ends then, and the browser asks again: so a session that has ended is noticed."""
QUIET_LOOKS = 40
"""After so many looks without news a line is sent all the same, to notice who has gone."""
MOST_STREAMS = 30


def live_page(desk: Desk, request: Request) -> Response:
    """The last entries, the exceptions so far, and what is open; large."""
    desk.session(request)
    walked = walk_of(desk, path_of(desk, request))
    entries = told(walked, walked.entries)
    walk = [one for one in entries if bodies.of_the_walk(one.entry.body)]
    return desk.page(
        request,
        "live.html",
        walked=walked,
        glance=walked.glance,
        latest=walk[-LAST_ENTRIES:][::-1],
        needs=walked.glance.needs,
        grades=entry_grades(walked.glance.needs),
        stations=stations(walked, entries),
    )


async def growth(desk: Desk, request: Request) -> Response:
    """Server-sent events: "grown" whenever the record's file has changed."""
    desk.session(request)
    path = path_of(desk, request)
    if desk.streams >= MOST_STREAMS:
        raise HTTPException(503, "Too many tablets look at walks just now.")
    return StreamingResponse(_grown(desk, path), media_type="text/event-stream")


async def _grown(desk: Desk, path: Path) -> AsyncIterator[bytes]:
    desk.streams += 1
    try:
        seen, quiet = stamp_of(path), 0
        yield b"retry: 1000\n\n"
        for _ in range(round(STREAM_SECONDS / LOOK_SECONDS)):
            await asyncio.sleep(LOOK_SECONDS)
            now = stamp_of(path)
            quiet = 0 if now != seen else quiet + 1
            if now != seen:
                yield b"event: grown\ndata: \n\n"
            elif quiet % QUIET_LOOKS == 0:
                yield b": quiet\n\n"
            seen = now
    finally:
        desk.streams -= 1
