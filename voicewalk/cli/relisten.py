"""``voicewalk relisten RECORD|FOLDER``: sounds heard again, and what no longer agrees."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from voicewalk.record.relistened import Relistened
    from voicewalk.session.relisten import Done


def relisten(
    records: Annotated[Path, typer.Argument(help="A record file, or a folder of them.")],
    jobs: Annotated[
        int, typer.Option(min=1, help="Processes at once; two or three cores are busy with each.")
    ] = max(1, (os.cpu_count() or 1) // 2),
) -> None:
    """Hear every call again, with a wider search, and tell what no longer agrees.

    What is found is written beside each record, which stays as it is. After Ctrl-C the same
    command goes on. Exit code 1: something could not be heard again.
    """
    from rich.console import Console
    from rich.progress import Progress

    from voicewalk.record.wording import plain
    from voicewalk.session.relistening import records_of, relisten_all

    found = records_of(records)
    screen = Console(stderr=True)
    with Progress(console=screen, disable=not screen.is_terminal, transient=True) as progress:
        task = progress.add_task("heard again", total=None)

        def told(record: Path, line: Relistened) -> None:
            progress.update(task, advance=1, description=plain(f"{record.name} #{line.seq}"))

        done = relisten_all(found, jobs, told)
    typer.echo("\n".join(_report(done)))
    if any(one.stopped for one in done):
        raise typer.Exit(130)
    if any(one.trouble for one in done):
        raise typer.Exit(1)


def _report(done: list[Done]) -> list[str]:
    """What is worth a look, the most worrying first; then how much was heard."""
    from voicewalk.record.relistened import Finding
    from voicewalk.record.wording import plain

    worst = sorted(
        ((line, one.record) for one in done for line in one.lines if line.worry),
        key=lambda pair: (-pair[0].worry, pair[1], pair[0].seq),
    )
    every = [line.finding for one in done for line in one.lines]
    counted = ", ".join(f"{every.count(one)} {one}" for one in Finding if one in every)
    told = [f"{record}: {plain(_words(line))}" for line, record in worst]
    told += [f"{one.record}: not heard again: {one.trouble}" for one in done if one.trouble]
    told += [
        f"{one.record}: {one.without_sound} entries have no sound any more"
        for one in done
        if one.without_sound
    ]
    total = f"{len(done)} {'record' if len(done) == 1 else 'records'}, {len(every)} calls in sound"
    told.append(f"{total}: {counted}" if counted else total)
    if any(one.stopped for one in done):
        told.append("Stopped. The same command goes on.")
    return told


def _words(line: Relistened) -> str:
    """One line of the file in words."""
    about = f"#{line.seq} {line.name}".rstrip()
    was = f'"{line.was}" ({line.was_probability or "no probability"})'
    now = " or ".join(f'"{one}"' for one in line.now) or "nothing"
    critical = ", critical" if line.critical else ""
    heard = f"{now} ({line.probability})"
    return f"{line.finding.upper()}{critical}: {about}: was {was}, now {heard}: {line.reason}"
