"""``voicewalk walk CARD --aircraft ID``: a walkaround, by voice, from a file or typed."""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console

from voicewalk.errors import VoicewalkError

if TYPE_CHECKING:
    from voicewalk.session.paper import Paper
    from voicewalk.session.walking import Outcome


class Channel(StrEnum):
    """Which channel of the sound holds the calls; "stereo" for two people."""

    LEFT = "left"
    RIGHT = "right"
    MIX = "mix"
    STEREO = "stereo"


ChannelOption = Annotated[
    Channel,
    typer.Option(help="The sound's channel with the calls; stereo: inspector left, second right."),
]
SecondOption = Annotated[
    str, typer.Option(help="Who confirms what the card marks for a second person.")
]


def walk(
    card: Annotated[
        str | None, typer.Argument(help="A card's name ('voicewalk cards') or file.")
    ] = None,
    identity: Annotated[
        str, typer.Option("--identity", "--aircraft", help="What is inspected: its own number.")
    ] = "",
    inspector: Annotated[str, typer.Option(help="Who inspects.")] = "",
    second: SecondOption = "",
    record: Annotated[
        Path | None, typer.Option(help="The new record file; else it is named here.")
    ] = None,
    earlier: Annotated[
        Path | None,
        typer.Option(help="A folder of earlier records: what they leave open is told first."),
    ] = None,
    resume: Annotated[Path | None, typer.Option(help="Go on with the walk of this record.")] = None,
    audio: Annotated[Path | None, typer.Option(help="Hear the calls of this sound file.")] = None,
    channel: ChannelOption = Channel.MIX,
    typed: Annotated[bool, typer.Option("--typed", help="Take typed calls, line by line.")] = False,
    paper: Annotated[
        str, typer.Option(help="They are of a paper card: date and time written on it.")
    ] = "",
    typist: Annotated[str, typer.Option(help="Who types the paper card in.")] = "",
    device: Annotated[
        str, typer.Option(help="The microphone: part of its name, or its number.")
    ] = "",
    no_voice: Annotated[
        bool, typer.Option("--no-voice", help="Show prompts and do not speak them.")
    ] = False,
    show_refused: Annotated[
        bool, typer.Option("--show-refused", help="Show the words of speech that is not taken.")
    ] = False,
) -> None:
    """Walk around, calling each item; the microphone hears, unless told otherwise."""
    from voicewalk.clock import now
    from voicewalk.session.equipment import Calls
    from voicewalk.session.events import Tally
    from voicewalk.session.keyboard import Keyboard
    from voicewalk.session.terminal import Terminal
    from voicewalk.session.walking import begin_walk, resume_walk

    _must_fit(card, identity, record or earlier, resume, audio, typed)
    written = _paper(paper, typist, typed)
    if resume is not None and second:
        raise VoicewalkError("a walk that goes on keeps its second person", "Leave out --second.")
    console = Console(highlight=False)
    terminal = Terminal(console, progress=not typed, refused=show_refused)
    keyboard = Keyboard(0, terminal.prompt if sys.stdin.isatty() else None)
    calls = Calls(keyboard if typed else None, audio, channel.value, device, not no_voice, written)
    tally = Tally()
    with terminal:
        if resume is not None:
            outcome = resume_walk(resume, card, calls, (tally, terminal), now)
        else:
            name = card or ""
            outcome = begin_walk(
                name, identity, inspector, record, calls, (tally, terminal), now, earlier, second
            )
    _end(outcome)


def _must_fit(
    card: str | None,
    identity: str,
    record: Path | None,
    resume: Path | None,
    audio: Path | None,
    typed: bool,
) -> None:
    if typed and audio is not None:
        raise VoicewalkError("calls are either typed or heard", "Leave out --typed or --audio.")
    if resume is not None and (identity or record is not None):
        raise VoicewalkError(
            "a walk that goes on keeps its identity and its record",
            "Leave out --aircraft, --record and --earlier, or begin a new walk without --resume.",
        )
    if resume is None and not card:
        raise VoicewalkError(
            "no card is named", "Name one of those that 'voicewalk cards' lists, or a file."
        )
    if resume is None and not identity.strip():
        raise VoicewalkError(
            "it is not said what is inspected",
            "Give its own number with --aircraft or --identity, such as --aircraft M07.",
        )


def _paper(written: str, typist: str, typed: bool) -> Paper | None:
    from voicewalk.session.paper import Paper

    if not written and not typist:
        return None
    if not typed:
        raise VoicewalkError("a paper card is typed in, not heard", "Add --typed.")
    return Paper(written, typist)


def _end(outcome: Outcome) -> None:
    """Say where the record is and how to go on. Ends with 1 where something was not kept, with
    130, as shells do, after Ctrl-C."""
    for line in outcome.lines():
        typer.echo(line)
    if outcome.unkept:
        raise typer.Exit(1)
    if outcome.interrupted:
        raise typer.Exit(130)
