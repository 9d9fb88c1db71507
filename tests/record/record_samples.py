"""Bodies, clips and whole records for the tests of this room. All names are invented."""

from __future__ import annotations

import datetime
import hashlib
from dataclasses import replace
from pathlib import Path

import numpy as np

from voicewalk.clock import Instant
from voicewalk.record.chain import Entry
from voicewalk.record.clip import Clip, encode_clip
from voicewalk.record.file import RecordFile
from voicewalk.record.verify import Examined, Report

CAUTION = "This record does not declare the aircraft airworthy."


def at(ms: int) -> Instant:
    """The instant ``ms`` milliseconds (below one minute) after a moment of the scenario."""
    return Instant(f"2031-04-02T06:00:{ms // 1000:02}.{ms % 1000:03}Z", 7_000 + ms)


def tone(number: int = 1, samples: int = 1600) -> Clip:
    """A tenth of a second of sound, another for each number."""
    time = np.arange(samples, dtype=np.float32) / 16_000
    return encode_clip(0.3 * np.sin(time * np.float32(300 * number)), start=number * 16_000)


def heard(clip: str = "") -> dict[str, object]:
    return {
        "how": "sound" if clip else "typed",
        "clip": clip,
        "probability": "0.9871",
        "listeners": [{"name": "letters", "text": "left main tyre", "score": "-1.2345"}],
        "judge": {"gap": "2.5"},
        "versions": {"letters": "1"},
    }


def call(words: str = "left main tyre satisfactory", clip: str = "") -> dict[str, object]:
    meaning = {"act": "satisfactory", "item": "left-main-tyre"}
    return {"type": "call", "meaning": meaning, "words": words, "heard": heard(clip)}


CARD = b"id: sample"
"""Stands for the bytes of a card's file."""


def started(items: int = 4, card: bytes = b"") -> dict[str, object]:
    digest = {"digest": hashlib.sha256(card).hexdigest()} if card else {}
    return {
        "kind": "started",
        "input": {"type": "start", "identity": "VW 012", "inspector": "Tamsin Orlo"},
        "subject": "aircraft",
        "identity": "VW 012",
        "inspector": "Tamsin Orlo",
        "card": {"id": "sample", "title": "Sample preflight", "version": "3", **digest},
        "items": items,
    }


def item(name: str = "left main tyre", result: str = "satisfactory", clip: str = "", **more):
    return {
        "kind": "item",
        "input": call(f"{name} {result}", clip),
        "item": name.replace(" ", "-"),
        "name": name,
        "station": "left-gear",
        "result": result,
        "accepted": "understood" if clip else "typed",
        **more,
    }


def reading(value: str, within: bool, **more):
    limit = {"low": "174", "high": "184", "unit": "psi", "reference": "sample card, tyres"}
    read = {"spoken": value, "value": value, "unit": "psi", "within": within, "limit": limit}
    result = "satisfactory" if within else "discrepancy"
    return item("left tyre pressure", result, reading=read, **more)


def make_record(path: Path, entries: int = 4) -> Path:
    """A closed file: a start, then calls with sound."""
    with RecordFile.create(
        path, program="voicewalk 0", recorder="post 1", at=at(0), texts=[CARD]
    ) as record:
        record.append(started(card=CARD), at(1))
        for number in range(2, entries + 1):
            clip = tone(number)
            record.append(item(clip=clip.sha256), at(number), clip)
    return path


def examined(*bodies, **report) -> Examined:
    """Entries that were never in a file, as whole as told."""
    entries = tuple(Entry(seq, 1, at(seq * 1000), body) for seq, body in enumerate(bodies, 1))
    whole = {"ok": True, "findings": (), "entries": len(entries), "trusted_up_to": len(entries)}
    return Examined(Report(**{**whole, "head": "ab" * 32, **report}), None, entries)


def long_walk(entries: int) -> Examined:
    """A walk of a card of 1,000 items, called again and again, one a second."""
    calls = (
        item(f"tyre number {number % 1000}", station=f"station {number % 1000 // 50}")
        for number in range(1, entries)
    )
    walk = examined(started(items=1000), *calls)
    begun = datetime.datetime(2031, 4, 2, 6, tzinfo=datetime.UTC)
    walls = (begun + datetime.timedelta(seconds=one.seq) for one in walk.entries)
    times = (Instant(f"{wall:%Y-%m-%dT%H:%M:%S}.000Z", 0) for wall in walls)
    moved = (replace(one, at=when) for one, when in zip(walk.entries, times, strict=True))
    return replace(walk, entries=tuple(moved))
