"""``voicewalk redact RECORD``: take sound out of a record, in the open."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def redact(
    record: Annotated[Path, typer.Argument(help="The record file.")],
    entry: Annotated[
        int | None, typer.Option(min=1, help="The number of the entry whose sound goes.")
    ] = None,
    reason: Annotated[str, typer.Option(help="Why; the record keeps it.")] = "",
    older_than: Annotated[
        int | None, typer.Option(min=0, help="Instead: all sounds kept more than so many days ago.")
    ] = None,
) -> None:
    """Take sound out of a record; its hash stays, and an entry that says so."""
    from voicewalk.clock import now
    from voicewalk.record.file import RecordFile
    from voicewalk.record.redaction import redact_entry, redact_older

    if (entry is None) == (older_than is None):
        raise typer.BadParameter("give either --entry with --reason, or --older-than")
    with RecordFile.open(record) as file:
        if entry is not None:
            said = [redact_entry(file, entry, reason, now())]
        else:
            said = redact_older(file, older_than or 0, now())
        typer.echo(f"{len(said)} sounds taken out; {record} says so and why")
        typer.echo(f"head {file.head()}")
