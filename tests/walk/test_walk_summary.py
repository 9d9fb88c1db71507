"""The record's summary, which counts from the entries by itself, agrees with the walk."""

from __future__ import annotations

from test_walk_dialogues import Dialogue, by_title
from walk_booth import run

from voicewalk.clock import Instant
from voicewalk.record.chain import Entry
from voicewalk.record.summary import summary

AT = Instant("2031-05-04T06:00:00.000Z", 0)


@by_title
def test_both_have_the_same_present_results(dialogue: Dialogue):
    booth = run(dialogue.card, dialogue.talk)
    counted = summary(Entry(seq, 1, AT, body) for seq, body in booth.record)
    lines = booth.walk.view().lines
    assert counted.results == {line.item: line.result for line in lines if line.result}
