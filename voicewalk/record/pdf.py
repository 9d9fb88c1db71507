"""A record's summary as pages to be printed and kept (PDF/A-2b)."""

from __future__ import annotations

import datetime

from voicewalk.card.model import Card
from voicewalk.paper.typeset import Template, typeset
from voicewalk.record import body as bodies
from voicewalk.record import wording
from voicewalk.record.code import head_svg
from voicewalk.record.sheet import summary_sheet
from voicewalk.record.summary import summary
from voicewalk.record.verify import Examined


def summary_pdf(examined: Examined, card: Card | None) -> bytes:
    """The pages; the same record makes the same bytes. With the card, what is open is named and
    there is a plan.

    Raises:
        VoicewalkError: the pages cannot be set.
    """
    told, report = summary(examined.entries), examined.report
    identity = wording.plain(bodies.text(told.started, "identity"))
    code = head_svg(identity, report.entries, report.head) if report.head else ""
    data = summary_sheet(examined, card, code)
    return typeset(Template.SUMMARY, data, seconds(told.ended))


def seconds(wall: str) -> int:
    """A wall time as seconds since 1970; 0 for none."""
    try:
        return int(datetime.datetime.fromisoformat(wall).timestamp())
    except ValueError:
        return 0
