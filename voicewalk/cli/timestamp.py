"""``voicewalk timestamp RECORD``: somebody else's clock on a record's head."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def timestamp(
    record: Annotated[Path, typer.Argument(help="The record file.")],
    server: Annotated[str, typer.Option(help="The time stamp server's address (RFC 3161).")],
) -> None:
    """Have a record's head stamped by a server: the only command that uses a network."""
    from voicewalk.clock import now
    from voicewalk.record.file import RecordFile
    from voicewalk.record.timestamp import stamp

    with RecordFile.open(record) as file:
        typer.echo(f"stamped at {stamp(file, server, now())} by {server}")
        typer.echo(f"head {file.head()}")
