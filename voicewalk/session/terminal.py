"""Shows the talk on a terminal, or as plain lines in a pipe.

Every line says in words what it is; colour only repeats it. On a terminal a last line tells how
far the walk is.
"""

from __future__ import annotations

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TaskID, TextColumn
from rich.text import Text

from voicewalk.clock import Instant
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.record import body as bodies
from voicewalk.record import wording
from voicewalk.record.chain import Entry
from voicewalk.session.events import (
    CallHeard,
    Event,
    Kept,
    NotKept,
    Refused,
    RemarkHeard,
    Said,
    Trouble,
)
from voicewalk.walk.messages import SECOND

_INDENT = " " * 10
_WHO = 9


class Terminal:
    """An onlooker that prints. Use it as a context: at its end the progress line stays.

    Args:
        progress: show the progress line; it would be in the way of typing.
        refused: show the words of speech that is not taken; else only that there was some. It is
            nobody's but the speakers', and a terminal keeps what it shows.
    """

    def __init__(self, console: Console, *, progress: bool = True, refused: bool = False) -> None:
        self._console = console
        self._refused = refused
        self._live = progress and console.is_terminal
        self._progress = Progress(
            TextColumn("{task.description}"),
            BarColumn(),
            MofNCompleteColumn(),
            TextColumn("items have a result"),
            console=console,
            auto_refresh=False,
            disable=not self._live,
        )
        self._task: TaskID | None = None

    def __enter__(self) -> Terminal:
        """Begin to show progress."""
        self._progress.start()
        return self

    def __exit__(self, *raised: object) -> None:
        """Leave the last progress line where it is."""
        self._progress.stop()

    def __call__(self, event: Event) -> None:
        """As ``events.Observer``."""
        match event:
            case CallHeard(heard=heard):
                self._line(event.at, _who(event.by), _listeners(heard))
                if heard.how != "typed" or event.verdict is not Verdict.UNDERSTOOD:
                    self._more(_made_of(event))
            case Refused(heard=heard, why=why):
                told = f"refused: {why}; nothing of it is kept"
                if self._refused:
                    self._line(event.at, _who(event.by), _listeners(heard))
                    self._more(told, "yellow")
                else:
                    self._line(event.at, _who(event.by), told, "yellow")
            case RemarkHeard(transcript=transcript):
                self._line(event.at, "caller", f'remark: "{wording.plain(transcript)}"')
            case Said(text=text):
                self._line(event.at, "tool", text, "cyan")
            case Kept():
                self._kept(event)
            case NotKept(reason=reason):
                self._line(event.at, "record", f"NOT KEPT: {reason}", "bold red")
            case Trouble(text=text):
                self._line(event.at, "sound", wording.plain(text), "red")

    def prompt(self) -> None:
        """Ask for a typed line."""
        self._console.print("> ", end="")

    def _kept(self, event: Kept) -> None:
        about, said = wording.telling(Entry(event.seq, 1, event.at, event.body))
        bad = bodies.text(event.body, "result") == "discrepancy"
        total = event.closed + event.still_open
        count = "" if self._live else f"  [{event.closed}/{total} items]"
        text = f"#{event.seq} {about}: {said}".rstrip(": ")
        self._line(event.at, "record", text + count, "red" if bad else "green")
        if self._task is None:
            self._task = self._progress.add_task("walk", total=total)
        self._progress.update(self._task, completed=event.closed, refresh=True)

    def _line(self, at: Instant, who: str, text: str, style: str = "") -> None:
        self._print(f"{wording.clock(at.wall)}  {who:<{_WHO}}", text, style)

    def _more(self, text: str, style: str = "") -> None:
        self._print(_INDENT + " " * _WHO, text, style)

    def _print(self, head: str, text: str, style: str) -> None:
        # No markup in what was heard, and no breaks at a width that no pipe has.
        self._console.print(Text.assemble((head, "dim"), (text, style)), soft_wrap=True)


def _who(by: str) -> str:
    return "second" if by == SECOND else "caller"


def _listeners(heard: Heard) -> str:
    """What each listener heard, with its score; a typed line as it was typed."""
    typed = bodies.text(heard.evidence, "text")
    if typed:
        return f'typed "{wording.plain(typed)}"'
    listeners = heard.evidence.get("listeners")
    return " | ".join(
        f'{one["name"]} "{wording.plain(str(one["text"]))}" {one["score"]}'.rstrip()
        for one in (listeners if isinstance(listeners, list) else [])
    )


def _made_of(event: CallHeard) -> str:
    """What is made of a call, in words."""
    words = [f'"{wording.plain(one.words)}"' for one in event.heard.candidates]
    notes = "".join(f", sound {note}" for note in event.notes)
    judged = "probability" in event.heard.evidence  # one listener alone claims none
    sure = f" {event.heard.probability:.3f}" if judged else ""
    match event.verdict:
        case Verdict.UNDERSTOOD:
            return f"understood{sure} {words[0]}{notes}"
        case Verdict.ASK:
            return f"asked back{sure} {' or '.join(words)}{notes}"
        case _:
            return f"not understood{sure}{notes}"
