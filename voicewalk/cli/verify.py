"""``voicewalk verify RECORD``: whether a record file is whole."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from voicewalk.record.report import trust
from voicewalk.record.verify import Report
from voicewalk.record.verify import verify as check


def verify(record: Annotated[Path, typer.Argument(help="The record file.")]) -> None:
    """Check that a record is whole: structure, chain, entries, sounds."""
    report = check(record)
    if report.ok:
        typer.echo("\n".join(f"{record}: {line}" for line in trust(report)))
        typer.echo(f"{record}: head {report.head}")
    warn(record, report)


def warn(record: Path, report: Report) -> None:
    """End with exit code 1 where the record is not whole, and say so on standard error."""
    if not report.ok:
        typer.echo("\n".join(f"{record}: {line}" for line in trust(report)), err=True)
        raise typer.Exit(1)
