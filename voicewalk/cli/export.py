"""``voicewalk export RECORD``: a record in another form, and its sounds."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from voicewalk.cli.verify import warn
from voicewalk.errors import VoicewalkError
from voicewalk.record.export import Form, exported, write_clips, write_new
from voicewalk.record.verify import examine


def export(
    record: Annotated[Path, typer.Argument(help="The record file.")],
    to: Annotated[Form, typer.Option(help="The form to write.")] = Form.TEXT,
    out: Annotated[Path | None, typer.Option(help="A new file; else the terminal.")] = None,
    without_sound: Annotated[
        bool, typer.Option("--without-sound", help="Leave the sounds out of the JSON.")
    ] = False,
    clips: Annotated[
        Path | None, typer.Option(help="A folder: write each entry's sound there as FLAC.")
    ] = None,
) -> None:
    """Write a record in another form."""
    if out is None and not to.written and sys.stdout.isatty():
        raise VoicewalkError(f"a terminal shows no {to.value}", "Name a new file with --out.")
    examined = examine(record)
    data = exported(record, examined, to, sound=not without_sound)
    if out is None:
        typer.echo(data, nl=False)
    else:
        write_new(out, data)
    if clips is not None:
        write_clips(record, examined, clips)
    warn(record, examined.report)
