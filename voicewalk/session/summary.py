"""What a walk came to, in a few lines for the end of a session."""

from __future__ import annotations

from collections.abc import Iterator

from voicewalk.card.model import Card
from voicewalk.record import body as bodies
from voicewalk.record import wording
from voicewalk.record.report import caution, counts, item_line
from voicewalk.record.summary import Summary, open_items
from voicewalk.session.events import Tally


def summary_lines(told: Summary, card: Card, tally: Tally) -> Iterator[str]:
    """Counts, discrepancies, readings, open items, and what no record holds."""
    yield from counts(told)
    yield f"{'speech refused':<18}{tally.refused:>4}  (not for the tool; nothing of it is kept)"
    yield "discrepancies:"
    yield from map(item_line, told.discrepancies)
    yield "readings:"
    for line in told.readings:
        body = line.entry.body
        name = wording.plain(bodies.text(body, "name"))
        yield f"  {name}: {wording.plain(wording.reading(body))}: {wording.judgement(body)}"
    yield "open items:"
    yield from (f"  {item.name}" for item in open_items(card, told))
    yield caution(told)
