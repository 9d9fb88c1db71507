"""``voicewalk demo``: a whole walkaround of an invented aircraft, from recorded calls."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console


def demo(
    out: Annotated[
        Path | None, typer.Option(help="The folder for what it leaves; else it is named here.")
    ] = None,
) -> None:
    """Walk around an invented aircraft with recorded calls, from sound to record."""
    from voicewalk.clock import now
    from voicewalk.session.demo import demo as walk_demo
    from voicewalk.session.demo import files, summary
    from voicewalk.session.events import Tally
    from voicewalk.session.terminal import Terminal

    folder = out or Path("demo-out", now().wall.replace(":", "."))
    tally = Tally()
    with Terminal(Console(highlight=False), refused=True) as terminal:  # nobody's own words
        outcome = walk_demo(folder, (tally, terminal), now)
    typer.echo("\n".join(("", *summary(folder, tally), *files(folder))))
    if not outcome.closed:
        raise typer.Exit(1)
