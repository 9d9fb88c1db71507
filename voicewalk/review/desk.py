"""What all pages share: the records, who is there, and how a page is made of a template.

Who may do what is decided here: ``person`` for reading, ``may`` for answering.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from urllib.parse import quote

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from voicewalk.clock import Instant
from voicewalk.record import wording
from voicewalk.record.signing import Role
from voicewalk.review.accounts import Account
from voicewalk.review.catalogue import Catalogue
from voicewalk.review.needs import Grade
from voicewalk.review.sessions import Failures, Person, Session, Sessions

HERE = Path(__file__).parent
_COOKIE = "voicewalk"


class NoSession(Exception):  # noqa: N818 - a way to the door, and no error
    """Nobody has come in at this browser."""


@dataclass
class Desk:
    """What all pages share.

    Attributes:
        accounts: by folded name; empty where only a link leads in.
        guest: who comes in by the link; ``None`` where there is none.
        secure: the pages are reached by TLS.
        on_link: is told the secret of each new link.
        writing: held while an answer is appended.
        streams: how many tablets look on at a walk just now.
    """

    catalogue: Catalogue
    now: Callable[[], Instant]
    accounts: Mapping[str, Account] = field(default_factory=dict)
    guest: Person | None = None
    secure: bool = False
    on_link: Callable[[str], None] = lambda secret: None
    sessions: Sessions = field(default_factory=Sessions)
    failures: Failures = field(default_factory=Failures)
    writing: Lock = field(default_factory=Lock)
    streams: int = 0

    def __post_init__(self) -> None:
        """Read the templates."""
        self._pages = Environment(
            loader=FileSystemLoader(HERE / "templates"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self._pages.filters |= {
            "plain": wording.plain,
            "clock": wording.clock,
            "moment": lambda wall: wording.plain(f"{wall[:10]} {wall[11:16]} UTC" if wall else ""),
            "segment": lambda name: quote(name, safe=""),
        }
        self._pages.globals["Grade"] = Grade

    @property
    def cookie(self) -> str:
        """The cookie's name; a browser holds one with this prefix to TLS and host (RFC 6265bis)."""
        return f"__Host-{_COOKIE}" if self.secure else _COOKIE

    def now_ms(self) -> int:
        """The clock of sessions."""
        return self.now().monotonic_ms

    def session(self, request: Request) -> Session:
        """The session of this browser.

        Raises:
            NoSession: there is none.
        """
        session = self.sessions.of(request.cookies.get(self.cookie, ""), self.now_ms())
        if session is None:
            raise NoSession
        return session

    def may(self, request: Request, form: str, *roles: Role) -> Session:
        """The session, where it may answer in one of these roles by this form.

        Raises:
            NoSession: there is none.
            HTTPException: another role, or the form is of no page of this session.
        """
        session = self.session(request)
        if not session.fits(form):
            raise HTTPException(403, "The form is not of this session. Open the page again.")
        if session.person.role not in roles:
            raise HTTPException(403, f"This is for the {' or '.join(roles)}.")
        return session

    def page(
        self, request: Request, template: str, status: int = 200, **values: object
    ) -> HTMLResponse:
        """A page, or a part of one, of a template."""
        session = self.sessions.of(request.cookies.get(self.cookie, ""), self.now_ms())
        shared = {
            "person": session.person if session else None,
            "form": session.form if session else "",
            "folder": self.catalogue.folder.resolve().name,
        }
        html = self._pages.get_template(template).render(shared | values)
        return HTMLResponse(html.encode("utf-8", "replace"), status)

    def let_in(self, response: Response, person: Person) -> None:
        """Give the browser a session."""
        response.set_cookie(
            self.cookie,
            self.sessions.begin(person, self.now_ms()),
            httponly=True,
            secure=self.secure,
            samesite="strict",
            path="/",
        )
