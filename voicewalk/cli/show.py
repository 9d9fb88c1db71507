"""``voicewalk show RECORD``: a record on the screen, or as plain lines in a pipe."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from voicewalk.cli.verify import warn
from voicewalk.record.export import card_of
from voicewalk.record.screen import show_on
from voicewalk.record.verify import examine


def show(
    record: Annotated[Path, typer.Argument(help="The record file.")],
    card: Annotated[
        str | None, typer.Option(help="The card of the walk: names the open items.")
    ] = None,
) -> None:
    """Show a record: every entry, then the present results."""
    examined = examine(record)
    show_on(Console(highlight=False), examined, card_of(examined, card))
    warn(record, examined.report)
