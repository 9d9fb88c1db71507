"""``voicewalk bench``: measuring the ears and learning the judge, from folders of recordings."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from voicewalk.errors import VoicewalkError

app = typer.Typer(
    help="Measure the ears and learn the judge, from recordings.",
    no_args_is_help=True,
)

Cards = Annotated[str, typer.Option("--card", help="A card's name or file.")]
Clips = Annotated[
    list[Path], typer.Option("--clips", help="A folder with manifest.tsv; may be repeated.")
]
Noise = Annotated[Path, typer.Option("--noise", help="A folder of noise recordings.")]
Snr = Annotated[str, typer.Option(help='Levels to mix noise at: "clean" or decibels.')]
Seed = Annotated[int, typer.Option(help="Of the mixing.")]
Jobs = Annotated[int, typer.Option(min=1, help="Processes that listen side by side.")]
Deal = Annotated[bool, typer.Option("--deal", help="Hear each clip at one level only, in turn.")]

LISTENERS = ("ears", "peers")


@app.command()
def hearing(
    clips: Clips,
    noise: Noise,
    card: Cards = "jet-trainer",
    snr: Snr = "clean,20,10,5,0",
    listeners: Annotated[
        str, typer.Option(help='"ears" (all listeners with the judge), "peers" (others).')
    ] = "ears",
    seed: Seed = 1,
    jobs: Jobs = 1,
    deal: Deal = False,
    out: Annotated[Path | None, typer.Option("--json", help="Write all groups here.")] = None,
) -> None:
    """Measure what is understood, asked back, refused, and entered wrongly, of calls and of
    speech near them."""
    from voicewalk.bench.observe import Setting, observe
    from voicewalk.bench.report import claim, groups_as_json, report
    from voicewalk.bench.tasks import levels, tasks_of

    chosen = [name.strip() for name in listeners.split(",")]
    if unknown := set(chosen) - set(LISTENERS):
        raise VoicewalkError(
            f"there are no listeners named {', '.join(sorted(unknown))}",
            f"Choose from {', '.join(LISTENERS)}.",
        )
    tasks = tasks_of(clips, levels(snr), deal=deal)
    setting = Setting(card, noise, seed, "peers" in chosen)
    if out is not None:
        claim(out)
    trials = list(observe(setting, tasks, jobs))
    if out is not None:
        out.write_text(json.dumps(groups_as_json(setting, trials), indent=1) + "\n")
    typer.echo(report(setting, trials))


@app.command()
def calibrate(
    clips: Clips,
    noise: Noise,
    card: Annotated[
        list[str],
        typer.Option(
            "--card",
            help="A card's name or file; may be repeated: each folder of clips "
            "belongs to the card that has most of its calls.",
        ),
    ],
    snr: Snr = "clean,10,5,0",
    seed: Seed = 1,
    jobs: Jobs = 1,
    deal: Deal = False,
    out: Annotated[Path | None, typer.Option(help="The file to write.")] = None,
) -> None:
    """Learn the judge's probability and thresholds, and write its calibration file."""
    from voicewalk.bench.calibrate import calibration_of
    from voicewalk.bench.observe import Setting, observe
    from voicewalk.bench.report import claim
    from voicewalk.bench.tasks import by_card, levels, tasks_of
    from voicewalk.hearing.calibration import CALIBRATION
    from voicewalk.hearing.ears import TRAITS

    if out is not None:
        claim(out)
    trials = [
        trial
        for name, folders in by_card(card, clips).items()
        for trial in observe(
            Setting(name, noise, seed), tasks_of(folders, levels(snr), deal=deal), jobs
        )
    ]
    deep = [one.name for one in TRAITS if one.deep]
    text, told = calibration_of(trials, [folder.name for folder in clips], seed, deep)
    (out or CALIBRATION).write_text(text, encoding="utf-8")
    typer.echo("\n".join(told))
