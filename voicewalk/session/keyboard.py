"""The typed twin of the microphone: lines of the keyboard, or of a pipe, become calls.

The same walk and the same record as with sound; each call is marked as typed. A line that begins
with "second:" is the second person's.
"""

from __future__ import annotations

import os
import select
from collections.abc import Callable
from typing import Protocol

from voicewalk.hearing.heard import Candidate, Heard, Verdict
from voicewalk.hearing.typed import read_typed
from voicewalk.language.build import IDENTITY
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.parse import parse
from voicewalk.session.events import CallHeard, RemarkHeard, Trouble
from voicewalk.session.loop import Loop, input_of
from voicewalk.session.opening import MOST_IDENTITY
from voicewalk.walk.messages import INSPECTOR, SECOND, RemarkSpoken

MOST_LETTERS = 1000
"""Of a typed line: calls are far shorter (``hearing.typed``), remarks may be some sentences. A
longer line is refused whole: of one that was cut, a "not" may be missing."""
_MOST_BYTES = 4 * (MOST_LETTERS + 1)
"""So many bytes of UTF-8 (RFC 3629: at most four a letter) are a line that is too long."""
_SHOWN = 60


class Lines(Protocol):
    """Typed lines; ``Keyboard`` has them."""

    def read(self, seconds: float | None) -> str | None:
        """The next line; ``None`` where none came for so long.

        Raises:
            EOFError: there will be none any more.
        """


class Keyboard:
    """Lines of a file descriptor, waited for no longer than wanted.

    Args:
        descriptor: 0 is standard input.
        prompt: called before a line is waited for, where somebody sees it.
    """

    def __init__(self, descriptor: int = 0, prompt: Callable[[], None] | None = None) -> None:
        self._descriptor = descriptor
        self._prompt = prompt
        self._rest = b""
        self._ended = False
        self._skipping = False  # the rest of a line that was too long

    def read(self, seconds: float | None) -> str | None:
        """As ``Lines.read``. What follows the last line end counts as a line.

        Of a line that is too long the beginning comes as soon as that is known, itself too long;
        the rest of it is dropped, and ``None`` comes meanwhile, so that timers go on.
        """
        if self._prompt is not None:
            self._prompt()
        while b"\n" not in self._rest and not self._ended:
            if len(self._rest) > _MOST_BYTES:
                begins, self._rest, self._skipping = self._rest, b"", True
                return begins.decode("utf-8", errors="replace")
            if not select.select([self._descriptor], [], [], seconds)[0]:
                return None
            more = os.read(self._descriptor, 65536)
            self._ended = not more
            if self._skipping:
                _, end, more = more.partition(b"\n")
                self._skipping = not end
                if self._skipping and not self._ended:
                    return None
            self._rest += more
        if not self._rest:
            raise EOFError
        line, _, self._rest = self._rest.partition(b"\n")
        return line.decode("utf-8", errors="replace")


def type_calls(loop: Loop, graph: PhraseGraph, lines: Lines) -> None:
    """Take typed calls until there are no more or the walk is closed."""
    while not loop.finished:
        try:
            line = lines.read(loop.seconds_left())
        except EOFError:
            return
        loop.pass_time()
        if line is not None and len(line) > MOST_LETTERS:
            _refuse(loop, line)
        elif line is not None and line.strip():
            _take(loop, graph, line.strip())


_SECOND = "second:"


def _refuse(loop: Loop, line: str) -> None:
    """Say that a line is not taken; a question that waits is asked again."""
    told = f"a line of more than {MOST_LETTERS} letters is no call: nothing of it is taken"
    loop.tell(Trouble(loop.now(), told))
    begins = f"{line[:_SHOWN].strip()} ..."
    evidence: dict[str, object] = {"how": "typed", "text": begins}
    _give(loop, Heard(Verdict.UNCLEAR, (), 0.0, "typed", evidence=evidence), INSPECTOR)


def _take(loop: Loop, graph: PhraseGraph, line: str) -> None:
    if line.casefold().startswith(_SECOND):
        _give(loop, read_typed(graph, line[len(_SECOND) :].strip()), SECOND)
        return
    if loop.listen.remark:
        loop.tell(RemarkHeard(loop.now(), line))
        loop.give(RemarkSpoken(line, {"how": "typed", "text": line}))
        return
    heard = read_typed(graph, line)
    known = len(line) <= MOST_IDENTITY
    if loop.listen.expectation.identity and known and not _is_command(heard):
        heard = _identity(graph, line)
    _give(loop, heard, INSPECTOR)


def _give(loop: Loop, heard: Heard, by: str) -> None:
    loop.tell(CallHeard(loop.now(), heard, heard.verdict, by=by))
    if (given := input_of(heard, heard.verdict, heard.evidence, by)) is not None:
        loop.give(given)


def _is_command(heard: Heard) -> bool:
    commands = (Act.COMMAND, Act.IDENTITY)
    return heard.verdict is Verdict.UNDERSTOOD and heard.candidates[0].meaning.act in commands


def _identity(graph: PhraseGraph, line: str) -> Heard:
    """A line that was asked for as an identity: in words as it would be said, else as it is."""
    starts = [graph.entries[IDENTITY]] if IDENTITY in graph.entries else []
    said = parse(graph, line, starts) or [Meaning(Act.IDENTITY, value=line)]
    candidate = Candidate(said[0], line)
    evidence: dict[str, object] = {"how": "typed", "text": line}
    return Heard(Verdict.UNDERSTOOD, (candidate,), 1.0, "typed", evidence=evidence)
