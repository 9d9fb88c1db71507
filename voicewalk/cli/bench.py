"""``voicewalk bench``: measuring the ears and learning the judge, from folders of recordings."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(help="Learn the judge and the lexicon from recordings.", no_args_is_help=True)

Cards = Annotated[str, typer.Option("--card", help="A card's name or file.")]
Clips = Annotated[
    list[Path], typer.Option("--clips", help="A folder with manifest.tsv; may be repeated.")
]


@app.command()
def calibrate(
    clips: Clips,
    noise: Annotated[Path, typer.Option("--noise", help="A folder of noise recordings.")],
    card: Cards = "jet-trainer",
    snr: Annotated[str, typer.Option(help="Levels to mix noise at, in dB.")] = "clean,10,5",
    seed: Annotated[int, typer.Option(help="Of the mixing.")] = 1,
    out: Annotated[Path | None, typer.Option(help="The file to write.")] = None,
) -> None:
    """Learn the judge's probability and thresholds, and write its calibration file."""
    from voicewalk.bench.calibrate import calibration_of
    from voicewalk.bench.clips import read_manifest, read_noises
    from voicewalk.bench.listening import listeners_of
    from voicewalk.bench.observe import observe
    from voicewalk.hearing.judge import CALIBRATION

    recordings = [recording for folder in clips for recording in read_manifest(folder)]
    noises = read_noises(noise)
    observations = list(observe(listeners_of(card), recordings, snr.split(","), noises, seed))
    text, report = calibration_of(observations, [folder.name for folder in clips], seed)
    (out or CALIBRATION).write_text(text, encoding="utf-8")
    typer.echo("\n".join(report))


@app.command()
def pronounce(clips: Clips, card: Cards = "jet-trainer") -> None:
    """Suggest pronunciations for the lexicon, from recordings of known calls."""
    from voicewalk.bench.clips import read_manifest
    from voicewalk.bench.listening import lexicon_of
    from voicewalk.bench.pronunciations import heard_words, suggestions

    model, lexicon = lexicon_of(card)
    recordings = [r for folder in clips for r in read_manifest(folder) if r.text]
    for word, ways in suggestions(lexicon, heard_words(model, lexicon, recordings)).items():
        for way, count in ways:
            typer.echo(f"{word}\t{' '.join(way)}\t{count}")
