"""The program ``voicewalk``: its commands, and what is shown when one cannot go on."""

from __future__ import annotations

import sys

import typer

from voicewalk import __version__, private
from voicewalk.audio import driver
from voicewalk.cli import account, bench, card, key
from voicewalk.cli.cards import cards
from voicewalk.cli.demo import demo
from voicewalk.cli.devices import devices
from voicewalk.cli.export import export
from voicewalk.cli.practice import practice
from voicewalk.cli.recover import recover
from voicewalk.cli.redact import redact
from voicewalk.cli.relisten import relisten
from voicewalk.cli.review import review
from voicewalk.cli.show import show
from voicewalk.cli.sign import sign
from voicewalk.cli.timestamp import timestamp
from voicewalk.cli.verify import verify
from voicewalk.cli.walk import walk
from voicewalk.errors import VoicewalkError

app = typer.Typer(
    help="Records a walkaround inspection by voice, hands-free and offline.",
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)
for command in (
    *(walk, demo, show, export, verify),
    *(sign, timestamp, redact, recover),
    *(review, cards, devices, practice, relisten),
):
    app.command()(command)
app.add_typer(key.app, name="key")
app.add_typer(account.app, name="account")
app.add_typer(card.app, name="card")
app.add_typer(bench.app, name="bench")


@app.callback(invoke_without_command=True)
def _options(version: bool = typer.Option(False, "--version", help="Show the version.")) -> None:
    if version:
        typer.echo(f"voicewalk {__version__}")
        raise typer.Exit


def main() -> int:
    """Run the program; errors that a person can put right are shown without a trace."""
    private.by_default()
    code = 0
    try:
        app()
    except VoicewalkError as error:
        typer.echo(f"voicewalk: {error}", err=True)
        code = 1
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    driver.leave(code, "ears")  # after Ctrl-C, a call may still be heard
    return code


if __name__ == "__main__":
    sys.exit(main())
