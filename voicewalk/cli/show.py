"""``voicewalk show RECORD``: a record on the screen, or as plain lines in a pipe."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from voicewalk.cli.verify import warn
from voicewalk.record import body as bodies
from voicewalk.record import wording
from voicewalk.record.code import head_code
from voicewalk.record.export import card_of
from voicewalk.record.screen import show_on
from voicewalk.record.summary import summary
from voicewalk.record.verify import examine


def show(
    record: Annotated[Path, typer.Argument(help="The record file.")],
    qr: Annotated[
        bool, typer.Option("--qr", help="Its head as a code to scan, to be kept elsewhere.")
    ] = False,
) -> None:
    """Show a record: every entry, then the present results."""
    examined = examine(record)
    show_on(Console(highlight=False), examined, card_of(examined))
    if qr and examined.report.head:
        told = summary(examined.entries)
        identity = wording.plain(bodies.text(told.started, "identity"))
        typer.echo(head_code(identity, examined.report.entries, examined.report.head))
    warn(record, examined.report)
