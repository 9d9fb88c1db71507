"""``voicewalk account``: who may come in to the lead's pages."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from voicewalk.record.signing import Role

app = typer.Typer(help="Say who may come in to the lead's pages.", no_args_is_help=True)

_File = Annotated[Path, typer.Argument(help="The file of accounts.")]
_Name = Annotated[str, typer.Option(help="Whose.")]


@app.command()
def add(
    file: _File,
    name: _Name,
    role: Annotated[Role, typer.Option(help="In what capacity.")],
    key: Annotated[Path | None, typer.Option(help="Their key to sign with.")] = None,
) -> None:
    """Add an account, or give one another password, role or key; the password is asked for."""
    from voicewalk.review.accounts import Account, folded, hashed, read_accounts, write_accounts

    accounts = read_accounts(file) if file.exists() else {}
    shown = " ".join(name.split())
    password = typer.prompt("Password", hide_input=True, confirmation_prompt=True, err=True)
    path = str(key.resolve()) if key else ""
    accounts[folded(shown)] = Account(shown, role, hashed(password), path)
    write_accounts(file, accounts.values())
    typer.echo(f"{shown}, {role.value}: kept in {file}")


@app.command()
def remove(file: _File, name: _Name) -> None:
    """Remove an account."""
    from voicewalk.review.accounts import AccountFault, folded, read_accounts, write_accounts

    accounts = read_accounts(file)
    if accounts.pop(folded(name), None) is None:
        raise AccountFault(
            f"{file}: there is no account of {name}", "Look up the name in the file."
        )
    write_accounts(file, accounts.values())
    typer.echo(f"{name}: removed from {file}")
