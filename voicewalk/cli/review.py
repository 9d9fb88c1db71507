"""``voicewalk review FOLDER``: the lead's pages on a folder of records."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def review(
    folder: Annotated[Path, typer.Argument(help="The folder of records.")],
    lead: Annotated[
        str, typer.Option(help="The lead at this machine; without it the pages are only read.")
    ] = "",
    key: Annotated[
        Path | None, typer.Option(help="The lead's key to sign with, from 'voicewalk key new'.")
    ] = None,
    accounts: Annotated[
        Path | None, typer.Option(help="Who may come in, from 'voicewalk account add'.")
    ] = None,
    address: Annotated[str, typer.Option(help="Where to listen.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(help="At which port; 0 for any.")] = 8700,
    certificate: Annotated[
        Path | None, typer.Option(help="Certificate (PEM) for TLS; others must reach it so.")
    ] = None,
    private_key: Annotated[Path | None, typer.Option(help="The certificate's key (PEM).")] = None,
) -> None:
    """Serve the lead's pages: what needs the lead first, then walks, entries, answers.

    Only this machine reaches them, by a link that works once, unless there are --certificate,
    --private-key and --accounts.
    """
    from voicewalk.clock import now
    from voicewalk.record.signing import Role
    from voicewalk.review.serve import Serving, serve
    from voicewalk.review.sessions import Person

    guest = Person(lead, Role.LEAD, str(key or "")) if lead else Person("reader", None)
    asked = Serving(folder, address, port, guest, accounts, certificate, private_key)
    serve(asked, now, typer.echo)
