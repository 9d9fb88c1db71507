"""``voicewalk cards``: the cards that come with the program."""

from __future__ import annotations

import typer

from voicewalk.card.load import card_path, load_card, shipped


def cards() -> None:
    """List the cards that come with the program."""
    for name in shipped():
        card = load_card(card_path(name))
        typer.echo(f"{name}: {card.title}, {len(card)} items, version {card.version}")
