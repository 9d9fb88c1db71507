"""``voicewalk sign RECORD``: a person's signature on a closed record."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from voicewalk.record.signing import Role


def sign(
    record: Annotated[Path, typer.Argument(help="The record file.")],
    role: Annotated[Role, typer.Option(help="In what capacity.")],
    name: Annotated[str, typer.Option(help="Who signs.")],
    key: Annotated[Path, typer.Option(help="The person's key, from 'voicewalk key new'.")],
) -> None:
    """Sign a record whose walk is closed, with your own key and its passphrase."""
    from voicewalk.clock import now
    from voicewalk.record.file import RecordFile
    from voicewalk.record.keys import person_key
    from voicewalk.record.seal import fingerprint, public_hex
    from voicewalk.record.signing import sign as signed

    with RecordFile.open(record) as file:
        passphrase = typer.prompt("Passphrase", hide_input=True, err=True)
        own = person_key(key, passphrase)
        seq = signed(file, role, name, own, now())
        typer.echo(f"entry {seq}: signed as {role.value} by {name}")
        typer.echo(f"key {fingerprint(public_hex(own))}")
        typer.echo(f"head {file.head()}")
