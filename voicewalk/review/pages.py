"""The pages that are read: the first one, one walk, one entry, one sound."""

from __future__ import annotations

import json
import re
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from voicewalk.errors import RecordError
from voicewalk.record import body as bodies
from voicewalk.record import wording
from voicewalk.record.afterwards import gone
from voicewalk.record.file import RecordReader
from voicewalk.record.plan import plan_svg
from voicewalk.review import sound
from voicewalk.review.board import board, latest
from voicewalk.review.desk import Desk
from voicewalk.review.glance import State, Walked, read
from voicewalk.review.needs import Grade
from voicewalk.review.timeline import timeline
from voicewalk.review.views import entry_grades, entry_view, listed, stations, told

LAST_WALKS = 40
MOST_ROWS = 150
"""More aircraft than one lead looks after; the page stays quick with any folder."""
_CLIP = re.compile(r"[0-9a-f]{64}", re.ASCII)


def first_page(desk: Desk, request: Request) -> Response:
    """What needs the lead, across aircraft; then the last walks.

    A page that is open already asks with ``changes``, and is told 204 where nothing is new.
    """
    desk.session(request)
    desk.catalogue.scan()
    state = f"{desk.catalogue.changes}-{desk.catalogue.waiting}"
    if request.query_params.get("changes") == state:
        return Response(status_code=204)
    glances = desk.catalogue.glances()
    rows = board(glances)
    return desk.page(
        request,
        "first.html",
        rows=rows[:MOST_ROWS],
        more=len(rows) - MOST_ROWS,
        tally=[(grade, sum(row.grade is grade for row in rows)) for grade in Grade],
        walks=latest(glances)[:LAST_WALKS],
        count=len(glances),
        waiting=desk.catalogue.waiting,
        state=state,
    )


def path_of(desk: Desk, request: Request) -> Path:
    """The file of the record that a request names.

    Raises:
        HTTPException: the folder holds none of this name.
    """
    path = desk.catalogue.path(request.path_params["name"])
    if path is None:
        raise HTTPException(404, "There is no such record in this folder.")
    return path


def walk_of(desk: Desk, path: Path) -> Walked:
    """A record of the folder, read.

    Raises:
        RecordError: it cannot be read.
    """
    walked = read(path, desk.catalogue.known(path.stem))
    desk.catalogue.put(walked.glance)
    return walked


def walk_page(desk: Desk, request: Request) -> Response:
    """One walk: exceptions, the lead's answers, plan, stations, timeline, all entries."""
    desk.session(request)
    walked = walk_of(desk, path_of(desk, request))
    entries = told(walked, walked.entries)
    numbers = {one.id: n for n, one in enumerate(walked.card.stations, 1)} if walked.card else {}
    grades = entry_grades(walked.glance.needs)
    return desk.page(
        request,
        "walk.html",
        walked=walked,
        glance=walked.glance,
        needs=walked.glance.needs,
        stations=stations(walked, entries),
        plan=plan_svg(walked.card, walked.told) if walked.card else "",
        line=timeline(walked.entries, grades, numbers),
        entries=entries,
        counted=listed((n, name) for name, n in walked.glance.counts.items() if name != "items"),
        answers=[one for one in entries if bodies.kind(one.entry.body) in _ANSWERS],
        grades=grades,
        sounds={e.seq: clip for e in walked.entries if (clip := bodies.clip_of(e.body))},
        gone=gone(walked.entries),
        live=walked.glance.state is State.UNDER_WAY,
    )


_ANSWERS = (*bodies.BY_THE_LEAD, bodies.SIGNED)


def entry_page(desk: Desk, request: Request) -> Response:
    """One entry: its sound, what each listener heard, the judge's reasons, its history."""
    desk.session(request)
    path = path_of(desk, request)
    walked = walk_of(desk, path)
    entry = walked.entry(request.path_params["seq"])
    if entry is None:
        raise HTTPException(404, "There is no such entry in this record.")
    view = entry_view(walked, entry)
    flac = _flac(path, view.clip) if view.clip and not view.gone else b""
    return desk.page(
        request,
        "entry.html",
        walked=walked,
        glance=walked.glance,
        entry=entry,
        view=view,
        item=wording.plain(bodies.text(entry.body, "item")),
        needs=[need for need in walked.glance.needs if need.seq == entry.seq],
        curve=sound.curve(flac) if flac else [],
        heard=walked.answers.heard.get(entry.seq),
        raw=json.dumps(entry.body, ensure_ascii=True, indent=1, sort_keys=True),
    )


def _flac(path: Path, clip: str) -> bytes:
    """The sound; nothing where it is missing or changed, which the check has found."""
    try:
        with RecordReader.open(path) as record:
            return record.clip(clip)
    except RecordError:
        return b""


def clip_sound(desk: Desk, request: Request) -> Response:
    """A sound that an entry of the record names, as WAV, whole or in part."""
    desk.session(request)
    path, clip = path_of(desk, request), request.path_params["clip"]
    if not _CLIP.fullmatch(clip):
        raise HTTPException(404, "There is no such sound.")
    try:
        with RecordReader.open(path) as record:
            data = sound.wav(record.clip(clip))
    except (RecordError, ValueError) as error:
        raise HTTPException(404, "There is no such sound, or it has been changed.") from error
    headers = {"Accept-Ranges": "bytes"}
    try:
        part = sound.part_of(request.headers.get("range", ""), len(data))
    except sound.RangeOutside:
        headers["Content-Range"] = f"bytes */{len(data)}"
        return Response(status_code=416, headers=headers)
    if part is None:
        return Response(data, media_type="audio/wav", headers=headers)
    headers["Content-Range"] = part.header
    return Response(data[part.first : part.last + 1], 206, headers, "audio/wav")
