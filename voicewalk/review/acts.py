"""What a lead does on the pages. Each act is one entry added to the record; none changes another.

The record's own room writes them: ``record.review`` and ``record.signing``.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from voicewalk.clock import Instant
from voicewalk.record import body as bodies
from voicewalk.record import review
from voicewalk.record.file import RecordFile
from voicewalk.record.keys import KeyFault, person_key
from voicewalk.record.signing import Role, sign
from voicewalk.review.desk import Desk
from voicewalk.review.door import too_soon
from voicewalk.review.glance import Walked
from voicewalk.review.guard import Form, form_of
from voicewalk.review.pages import path_of, walk_of
from voicewalk.review.sessions import Person

Act = Callable[[Desk, Path, Form, Person, Instant], None]


def act(desk: Desk, roles: tuple[Role, ...], do: Act) -> Callable[[Request], object]:
    """The handler of an act: who may, then what; then back to the page it came from."""

    async def handle(request: Request) -> Response:
        form = await form_of(request)
        session = desk.may(request, form.text("form"), *roles)
        path = path_of(desk, request)

        def kept() -> None:
            with desk.writing:
                do(desk, path, form, session.person, desk.now())

        await run_in_threadpool(kept)
        back = request.url_for("walk", name=path.stem).path
        return RedirectResponse(f"{back}#answers", 303)

    return handle


def agree(desk: Desk, path: Path, form: Form, person: Person, at: Instant) -> None:
    """Heard and agreed: the entries chosen."""
    with RecordFile.open(path) as record:
        review.agree(record, person.name, form.numbers("entry"), at)


def send_back(desk: Desk, path: Path, form: Form, person: Person, at: Instant) -> None:
    """Items to be inspected again."""
    chosen = [item for item in form.texts("item") if item]
    known = _items(walk_of(desk, path))
    if not set(chosen) <= known:
        raise HTTPException(422, "An item is sent back that is not of this walk's card.")
    with RecordFile.open(path) as record:
        review.send_back(record, person.name, chosen, form.text("reason"), at)


def _items(walked: Walked) -> set[str]:
    if walked.card:
        return set(walked.card.by_id)
    return {bodies.text(line.entry.body, "item") for line in walked.told.lines}


def remark(desk: Desk, path: Path, form: Form, person: Person, at: Instant) -> None:
    """A remark on the walk, or on one entry."""
    on = next(iter(form.numbers("entry")), 0)
    with RecordFile.open(path) as record:
        review.remark(record, person.name, form.text("text"), at, entry=on)


def decide(desk: Desk, path: Path, form: Form, person: Person, at: Instant) -> None:
    """Released for maintenance action or not, in the card's own words."""
    walked = walk_of(desk, path)
    words = walked.card.release if walked.card else None
    decision = form.text("decision")
    if words is None or decision not in ("released", "not released"):
        raise HTTPException(422, "This card has no words for such a decision.")
    with RecordFile.open(path) as record:
        review.decide(record, person.name, words, at, released=decision == "released")


def sign_record(desk: Desk, path: Path, form: Form, person: Person, at: Instant) -> None:
    """A signature by the person's own key; wrong passphrases are slowed down like passwords."""
    if not person.key or person.role is None:
        raise HTTPException(422, "No key to sign with is named for you on this machine.")
    who = (f"key {person.key}",)
    too_soon(desk, who)
    try:
        key = person_key(Path(person.key), form.text("passphrase"))
    except KeyFault:
        desk.failures.wrong(who, desk.now_ms())
        raise
    desk.failures.right(who)
    with RecordFile.open(path) as record:
        sign(record, person.role, person.name, key, at)
