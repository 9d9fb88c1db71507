"""Calls into sound drivers, which may never come back: in threads of their own, with deadlines.

A headset that went to sleep, or a sound server that hangs, keeps whoever plays, closes, or lists
the devices. So nobody here calls a driver in a thread that something else waits for.
"""

from __future__ import annotations

import contextlib
import os
import sys
import threading
from collections.abc import Callable, Iterator
from typing import Generic, TypeVar

from voicewalk.errors import AudioError

T = TypeVar("T")

_THREAD = "driver"
_ASLEEP = "See that the headset is on and in reach; plug it in again, or choose another one."


class Task(Generic[T]):
    """A driver's work in a thread of its own, which no end of the program waits for."""

    def __init__(self, work: Callable[[], T]) -> None:
        self._work = work
        self._guard = threading.Lock()
        self._ended = threading.Event()
        self._result: T | None = None
        self._raised: BaseException | None = None
        self._undo: Callable[[T], object] | None = None
        threading.Thread(target=self._run, name=_THREAD, daemon=True).start()

    def ended(self, seconds: float = 0.0) -> bool:
        """Whether it has come back, or comes back within so many seconds."""
        return self._ended.wait(seconds)

    def result(self) -> T:
        """What the work gave, once it has ended; raises what it raised."""
        if not self._ended.is_set():
            raise RuntimeError("it has not ended")
        if self._raised is not None:
            raise self._raised
        return self._result  # type: ignore[return-value]  # it has ended, so this is a T

    def forsake(self, undo: Callable[[T], object]) -> None:
        """Nobody waits any more: where it comes back after all, what it gave goes to ``undo``, in
        a thread of the driver's."""
        with self._guard:
            self._undo = undo
            late = self._ended.is_set()
        if late and self._raised is None:
            Task(lambda: undo(self.result()))

    def _run(self) -> None:
        try:
            self._result = self._work()
        # Whatever it is, it belongs to whoever asks for the result.
        except BaseException as error:  # noqa: BLE001
            self._raised = error
        with self._guard:
            self._ended.set()
            undo = self._undo
        if undo is not None and self._raised is None:
            undo(self._result)  # type: ignore[arg-type]  # as in ``result``


def leave(code: int, *others: str) -> None:
    """End the program here and now where a driver still holds one of its threads: to end in good
    order, the libraries of that driver would be taken down under it, which crashes. Otherwise
    nothing happens. To be called when all that is kept is kept.

    Args:
        others: beginnings of names of threads that nobody is to wait for either.
    """
    if any(thread.name.startswith((_THREAD, *others)) for thread in threading.enumerate()):
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(OSError, ValueError):  # nobody reads any more
                stream.flush()
        os._exit(code)


def call(
    work: Callable[[], T], seconds: float, what: str, undo: Callable[[T], object] | None = None
) -> T:
    """The result of a driver's work, which may take so long.

    Args:
        what: a name for those who read that it did not come back.
        undo: takes what it gives too late.

    Raises:
        AudioError: it did not come back.
    """
    task = Task(work)
    try:
        if task.ended(seconds):
            return task.result()
        raise AudioError(f"{what} does not answer within {seconds:g} s", _ASLEEP)
    except BaseException:  # a Ctrl-C among them: what is opened too late is closed again
        task.forsake(undo or (lambda _: None))
        raise


class Gate:
    """Keeps those who use devices and those who list them anew apart.

    PortAudio lists devices once, when it is initialised, and initialising it anew ends every
    stream, those that another thread is inside of as well.
    """

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._users = 0
        self._listing = False

    def enter(self, seconds: float) -> None:
        """Use devices from now on, once nobody lists them.

        Raises:
            AudioError: the listing does not end within so many seconds.
        """
        with self._changed:
            if not self._changed.wait_for(lambda: not self._listing, seconds):
                raise AudioError("the sound system does not answer", _ASLEEP)
            self._users += 1

    def leave(self) -> None:
        """Use them no more."""
        with self._changed:
            self._users -= 1

    @contextlib.contextmanager
    def alone(self) -> Iterator[bool]:
        """Whether nobody uses a device; and then nobody does until the end."""
        with self._changed:
            free = not self._users and not self._listing
            self._listing = self._listing or free
        try:
            yield free
        finally:
            if free:
                with self._changed:
                    self._listing = False
                    self._changed.notify_all()
