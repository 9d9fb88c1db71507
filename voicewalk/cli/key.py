"""``voicewalk key``: keys that people sign with, and the recorder's own."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from voicewalk.record import keys
from voicewalk.record.seal import fingerprint, public_hex

app = typer.Typer(help="Make and show keys for signatures.", no_args_is_help=True)


@app.command()
def new(file: Annotated[Path, typer.Argument(help="The new key's file.")]) -> None:
    """Make a key of your own to sign with; it is kept under a passphrase."""
    passphrase = typer.prompt("Passphrase", hide_input=True, confirmation_prompt=True, err=True)
    _tell(public_hex(keys.make_key(file, passphrase)))


@app.command()
def show(
    file: Annotated[
        Path | None, typer.Argument(help="A person's key; else this recorder's own is shown.")
    ] = None,
) -> None:
    """Show the public part of a key, and its fingerprint."""
    if file is None:
        key = keys.recorder_key()
    else:
        key = keys.person_key(file, typer.prompt("Passphrase", hide_input=True, err=True))
    _tell(public_hex(key))


def _tell(public: str) -> None:
    typer.echo(f"public key  {public}")
    typer.echo(f"fingerprint {fingerprint(public)}")
