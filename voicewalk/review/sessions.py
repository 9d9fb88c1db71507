"""Who is at a browser: sessions kept in memory, links that open one, and wrong passwords counted.

Time is an argument, in milliseconds of a clock that never runs back. A browser holds a random
token; here only its hash is kept.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from dataclasses import dataclass, field
from threading import Lock

from voicewalk.record.signing import Role

IDLE_MS = 60 * 60_000
"""A tablet left on a bench for an hour asks again."""
WHOLE_MS = 12 * 60 * 60_000
"""A shift. Both are common practice, no source."""
MOST_SESSIONS = 1_000
FREE_TRIES = 5
"""So many wrong passwords cost nothing: people mistype."""
FIRST_WAIT_MS = 10_000
LONGEST_WAIT_MS = 15 * 60_000
"""After them the wait doubles up to this with each wrong one. A day's trying comes to about a
hundred passwords (NIST SP 800-63B, section 5.2.2: no more than 100 in a row; from memory)."""
FORGET_MS = 24 * 60 * 60_000
MOST_COUNTED = 10_000


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody at a browser.

    Attributes:
        role: ``None`` for who may only read.
        key: path of their key; "" for none.
    """

    name: str
    role: Role | None
    key: str = ""


@dataclass(slots=True)
class Session:
    """An open session. ``form`` is a second secret, which every form must bring back."""

    person: Person
    begun_ms: int
    seen_ms: int
    form: str = field(default_factory=secrets.token_urlsafe)

    def fits(self, form: str) -> bool:
        """Whether a form came from a page of this session."""
        return hmac.compare_digest(self.form.encode(), form.encode("utf-8", "replace"))


def _name(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


class Sessions:
    """All open sessions, and the link that opens the next one."""

    def __init__(self) -> None:
        """None is open yet."""
        self._open: dict[str, Session] = {}
        self._link = ""
        self._lock = Lock()

    def begin(self, person: Person, now_ms: int) -> str:
        """Open a session; returns the token for the browser."""
        token = secrets.token_urlsafe(32)
        with self._lock:
            self._drop_old(now_ms)
            if len(self._open) >= MOST_SESSIONS:  # the one longest unseen gives way
                del self._open[min(self._open, key=lambda name: self._open[name].seen_ms)]
            self._open[_name(token)] = Session(person, now_ms, now_ms)
        return token

    def of(self, token: str, now_ms: int) -> Session | None:
        """The session of a token; ``None`` where there is none any more."""
        with self._lock:
            self._drop_old(now_ms)
            session = self._open.get(_name(token)) if token else None
            if session:
                session.seen_ms = now_ms
            return session

    def end(self, token: str) -> None:
        """Close a session."""
        with self._lock:
            self._open.pop(_name(token), None)

    def new_link(self) -> str:
        """The secret of a link that opens one session, once; an earlier one is void."""
        with self._lock:
            self._link = secrets.token_urlsafe(32)
            return self._link

    def use_link(self, secret: str) -> bool:
        """Whether it is the link's secret; it is none afterwards."""
        with self._lock:
            fits = bool(self._link) and hmac.compare_digest(
                self._link.encode(), secret.encode("utf-8", "replace")
            )
            if fits:
                self._link = ""
            return fits

    def _drop_old(self, now_ms: int) -> None:
        self._open = {
            name: one
            for name, one in self._open.items()
            if now_ms - one.seen_ms < IDLE_MS and now_ms - one.begun_ms < WHOLE_MS
        }


class Failures:
    """Counts wrong passwords, by whom they are for and by where they come from."""

    def __init__(self) -> None:
        """None so far."""
        self._counts: dict[str, tuple[int, int]] = {}
        self._lock = Lock()

    def wait_ms(self, who: tuple[str, ...], now_ms: int) -> int:
        """How long until a password is looked at again; 0 for at once."""
        with self._lock:
            return max((self._wait(one, now_ms) for one in who), default=0)

    def wrong(self, who: tuple[str, ...], now_ms: int) -> None:
        """A wrong one was given."""
        with self._lock:
            if len(self._counts) >= MOST_COUNTED:
                fresh = (one for one in self._counts.items() if now_ms - one[1][1] < FORGET_MS)
                self._counts = dict(list(fresh)[-MOST_COUNTED // 2 :])
            for one in who:
                count = self._counts.get(one, (0, 0))[0]
                self._counts[one] = (count + 1, now_ms)

    def right(self, who: tuple[str, ...]) -> None:
        """The right one was given."""
        with self._lock:
            for one in who:
                self._counts.pop(one, None)

    def _wait(self, one: str, now_ms: int) -> int:
        count, last = self._counts.get(one, (0, 0))
        if count < FREE_TRIES or now_ms - last >= FORGET_MS:
            return 0
        doubled = FIRST_WAIT_MS << min(count - FREE_TRIES, 20)
        return max(last + min(doubled, LONGEST_WAIT_MS) - now_ms, 0)
