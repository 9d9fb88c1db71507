"""What the tests of the pages share beside their fixtures."""

from __future__ import annotations

from concurrent.futures import Executor, Future

ORIGIN = "http://testserver"
"""Where the test client finds the pages."""


class AtOnce(Executor):
    """Does what it is given while it is given it."""

    def submit(self, fn, /, *args, **kwargs):
        future = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:  # noqa: BLE001 - as an executor does
            future.set_exception(error)
        return future
