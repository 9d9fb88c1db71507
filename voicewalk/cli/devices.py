"""``voicewalk devices``: microphones and headsets."""

from __future__ import annotations

import typer


def devices() -> None:
    """List the sound devices."""
    from voicewalk.session.equipment import device_lines

    lines = device_lines()
    typer.echo("\n".join(lines) if lines else "no sound devices")
