"""``voicewalk recover FILE``: a new record from what is whole in a damaged one."""

from __future__ import annotations

import platform
from pathlib import Path
from typing import Annotated

import typer


def recover(
    file: Annotated[Path, typer.Argument(help="The damaged file; it is not touched.")],
    to: Annotated[Path | None, typer.Option(help="The new record; else it is named here.")] = None,
) -> None:
    """Save what is whole in a damaged record into a new one, which says what is missing."""
    from voicewalk import __version__
    from voicewalk.clock import now
    from voicewalk.record.afterwards import recovery_words
    from voicewalk.record.recovery import recover as recovered

    new = to or file.with_name(f"{file.stem}-recovered{file.suffix}")
    program = f"voicewalk {__version__}"
    told = recovered(file, new, program=program, recorder=platform.node(), at=now())
    typer.echo(f"{new}: {recovery_words(told)}")
    typer.echo(f"Look at it: voicewalk show {new}")
