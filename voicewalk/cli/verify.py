"""``voicewalk verify RECORD``: whether a record file is whole, and the one that is meant."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from voicewalk.errors import RecordError
from voicewalk.record.body import TIME_STAMPED, kind
from voicewalk.record.chain import Entry
from voicewalk.record.claims import by_head, by_key, head_noted
from voicewalk.record.keys import KeyFault, public_of
from voicewalk.record.report import trust
from voicewalk.record.verify import Report, examine, unopened


def verify(
    record: Annotated[Path, typer.Argument(help="The record file.")],
    key: Annotated[
        str, typer.Option(help="It must be by this recorder: its public key in hex, or a PEM file.")
    ] = "",
    head: Annotated[
        str, typer.Option(help="A head noted earlier, in hex: it must have stood in the record.")
    ] = "",
    tsa_certificate: Annotated[
        Path | None, typer.Option(help="Check time stamps by this authority's root (PEM).")
    ] = None,
) -> None:
    """Check that a record is whole, and that it is the one you know.

    Structure, chain, signatures, entries, sounds, card. Exit code 0: whole, and as claimed;
    1: something is wrong, or cannot be read; 2: the command was given wrongly. A walk that is not
    closed is told, and no fault.
    """
    wanted = _public(key)
    noted = _noted(head)
    try:
        examined = examine(record)
        report, entries = examined.report, examined.entries
    except RecordError as error:
        report, entries = unopened(record, error), ()
    report = _stamped(report, entries, tsa_certificate)
    if wanted:
        report = by_key(report, wanted)
    if noted:
        report = by_head(report, entries, noted)
    if report.ok:
        typer.echo("\n".join(f"{record}: {line}" for line in trust(report)))
        typer.echo(f"{record}: head {report.head}")
    warn(record, report)


def warn(record: Path, report: Report) -> None:
    """End with exit code 1 where the record is not whole, and say so on standard error."""
    if not report.ok:
        typer.echo("\n".join(f"{record}: {line}" for line in trust(report)), err=True)
        raise typer.Exit(1)


def _stamped(report: Report, entries: tuple[Entry, ...], certificate: Path | None) -> Report:
    """The report with what the time stamps say."""
    if certificate is None and all(kind(entry.body) != TIME_STAMPED for entry in entries):
        return report
    from voicewalk.record.timestamp import read_certificate, stamps

    trusted = None if certificate is None else read_certificate(certificate)
    wrong, said = stamps(report.root, entries, trusted)
    if certificate is not None and not wrong and not said:
        wrong = ["it has no time stamp"]
    findings = (*report.findings, *wrong)
    return replace(report, ok=not findings, findings=findings, notes=(*report.notes, *said))


def _public(key: str) -> str:
    try:
        return public_of(key) if key else ""
    except KeyFault as error:
        raise typer.BadParameter(str(error), param_hint="--key") from error


def _noted(head: str) -> str:
    try:
        return head_noted(head) if head else ""
    except ValueError as error:
        raise typer.BadParameter(str(error), param_hint="--head") from error
