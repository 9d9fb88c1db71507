"""``voicewalk card``: what can be said to a card, and the card on paper."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(help="Look into a card.", no_args_is_help=True)


@app.callback()
def _card() -> None:
    """Look into a card."""


@app.command()
def phrases(
    card: Annotated[str, typer.Argument(help="A card's name ('voicewalk cards') or file.")],
    count: Annotated[int, typer.Option(min=1, help="How many calls.")] = 20,
    seed: Annotated[int, typer.Option(help="The same seed draws the same calls.")] = 1,
    as_json: Annotated[
        bool, typer.Option("--json", help="With kind, meaning, and what must be asked for it.")
    ] = False,
    near: Annotated[
        bool,
        typer.Option("--near", help="Speech near a call instead, which must never become one."),
    ] = False,
) -> None:
    """Draw calls as people make them, likelier ones oftener."""
    from voicewalk.card.load import card_path, load_card
    from voicewalk.language.near import draw_near_calls
    from voicewalk.language.phrases import draw_phrases
    from voicewalk.language.vocabulary import vocabulary_of

    loaded = load_card(card_path(card))
    words = vocabulary_of(loaded)
    if near:
        beside = draw_near_calls(loaded, words, count, seed)
        told = [one.to_json() for one in beside]
        lines = [f"{one.kind}\t{one.text}" for one in beside]
    else:
        drawn = draw_phrases(loaded, words, count, seed)
        told = [phrase.to_json() for phrase in drawn]
        lines = [phrase.text for phrase in drawn]
    typer.echo(json.dumps(told, indent=2) if as_json else "\n".join(lines))


@app.command("print")
def print_(
    card: Annotated[str, typer.Argument(help="A card's name ('voicewalk cards') or file.")],
    out: Annotated[Path, typer.Argument(help="A new PDF file.")],
) -> None:
    """Write a card as pages to be filled in by hand."""
    from voicewalk.card.load import card_path, load_card
    from voicewalk.card.sheet import card_sheet
    from voicewalk.clock import now
    from voicewalk.language.vocabulary import vocabulary_of
    from voicewalk.paper.typeset import Template, typeset
    from voicewalk.record.export import write_new
    from voicewalk.record.pdf import seconds

    loaded = load_card(card_path(card))
    words = vocabulary_of(loaded)
    results = (words.satisfactory.name, words.not_inspected.name, words.not_applicable.name)
    wall = now().wall
    data = card_sheet(loaded, results, printed=wall[:10])
    write_new(out, typeset(Template.CARD, data, seconds(wall)))
