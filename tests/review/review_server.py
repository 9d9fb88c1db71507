"""The pages served in a thread, for a real browser."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import uvicorn
from review_walks import Clock

from voicewalk.review.app import make_app
from voicewalk.review.catalogue import Catalogue
from voicewalk.review.desk import Desk
from voicewalk.review.serve import Serving, listening, origins
from voicewalk.review.sessions import Person


@dataclass(frozen=True)
class Served:
    """Pages at ``url``."""

    url: str
    desk: Desk
    folder: Path

    def link(self) -> str:
        """A link that lets the desk's guest in, once."""
        return f"{self.url}/door?link={self.desk.sessions.new_link()}"


@contextlib.contextmanager
def served(folder: Path, guest: Person) -> Iterator[Served]:
    """Serves a folder until the end."""
    asked = Serving(folder, port=0)
    with listening(asked) as listener, ThreadPoolExecutor(1) as reader:
        where = origins(asked, listener.getsockname()[1])
        desk = Desk(Catalogue(folder, reader), Clock("08:00"), guest=guest)
        config = uvicorn.Config(
            make_app(desk, where), log_level="error", timeout_graceful_shutdown=1
        )
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        try:
            yield Served(where[0], desk, folder)
        finally:
            server.should_exit = True
            thread.join()
