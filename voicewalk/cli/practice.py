"""``voicewalk practice CARD``: which words of a caller are weak, and what would be safer."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from voicewalk.errors import VoicewalkError

if TYPE_CHECKING:
    from voicewalk.language.phrases import Phrase
    from voicewalk.practice.trial import Trial
    from voicewalk.session.practice import Practice


def practice(
    card: Annotated[str, typer.Argument(help="A card's name ('voicewalk cards') or file.")],
    count: Annotated[int, typer.Option(min=1, help="How many phrases.")] = 20,
    seed: Annotated[int, typer.Option(help="The same seed draws the same phrases.")] = 1,
    only_list: Annotated[
        bool, typer.Option("--list", help="Only list the phrases, to be recorded.")
    ] = False,
    source: Annotated[
        Path | None,
        typer.Option(
            "--from",
            help="Hear a sound file with the phrases in their order, or a folder of recordings "
            "with manifest.tsv; else the microphone.",
        ),
    ] = None,
    to: Annotated[
        Path | None, typer.Option("--json", help="A new file: write the report as JSON.")
    ] = None,
) -> None:
    """Say phrases of a card, and see which words are weak and what would be safer."""
    from voicewalk.practice.report import as_json, report
    from voicewalk.record.export import write_new
    from voicewalk.session.practice import Practice

    if to is not None and to.exists():
        raise VoicewalkError(f"{to}: there is such a file already", "Give another name.")
    practising = Practice(card)
    phrases = practising.draw(count, seed)
    if only_list:
        typer.echo("\n".join(phrase.text for phrase in phrases))
        return
    trials = _trials(practising, phrases, source)
    typer.echo("\n".join(("", *report(trials, practising.terms))))
    if to is not None:
        write_new(to, json.dumps(as_json(trials, practising.terms), indent=2).encode() + b"\n")


def _trials(practising: Practice, phrases: list[Phrase], source: Path | None) -> list[Trial]:
    from voicewalk.bench.clips import read_manifest, read_sound
    from voicewalk.session.practice import Spoken

    if source is None:
        typer.echo('Say each phrase when it has been spoken. "Next", "say again", "stop" lead.')
        return practising.at_microphone(phrases, typer.echo)
    if not source.is_dir():
        return practising.from_file(phrases, source, typer.echo)
    recordings = (
        Spoken(str(one.path), one.text, read_sound(one.path)) for one in read_manifest(source)
    )
    return practising.from_recordings(recordings, typer.echo)
