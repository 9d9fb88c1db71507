"""Entries in words, for reports and lists on screen and paper.

Pure. Texts from a record are shown as they are but for signs that steer a terminal or a
printer. What is spoken is worded in ``voice``, not here.
"""

from __future__ import annotations

from collections.abc import Iterable

from voicewalk.record import body as bodies
from voicewalk.record.afterwards import answer_words, recovery_words, signature_words
from voicewalk.record.chain import Entry
from voicewalk.walk.messages import Json

CAUTION = (
    "This record does not declare the {subject} airworthy or fit for use. It keeps what was"
    " called and heard. The {subject}'s technical orders, local rules and licensed practice"
    " decide."
)
"""Where the record itself has no caution yet: its walk was never closed."""


def plain(text: str) -> str:
    """One line of signs that can be seen; anything else becomes U+FFFD."""
    line = " ".join(text.split())
    return "".join(sign if sign.isprintable() else "\ufffd" for sign in line)


def clock(wall: str) -> str:
    """The time of day of an entry, in UTC."""
    return plain(wall[11:19])


def date_and_time(wall: str) -> str:
    """Date and time of an entry, in UTC."""
    return plain(f"{wall[:10]} {wall[11:19]} UTC") if wall else "never"


def result(body: Json) -> str:
    """The result of an item's entry with all that was found."""
    details = (
        bodies.text(body, "state"),
        defect(body),
        reading(body),
        count(body),
        bodies.text(body, "reading", "why"),
        bodies.text(body, "reason"),
        _person(body, "with", "owner"),
        _person(body, "by", "by"),
        bodies.text(body, "reading", "then"),
        _seen_before(body),
    )
    found = "; ".join(dict.fromkeys(detail for detail in details if detail))
    said = bodies.text(body, "result")
    return plain(f"{said}: {found}" if found else said)


def _seen_before(body: Json) -> str:
    when = bodies.text(body, "seen_before")
    return f"seen before on {date_and_time(when)}" if when else ""


def _person(body: Json, how: str, field: str) -> str:
    name = bodies.text(body, field)
    return f"{how} {name}" if name else ""


def accepted(body: Json) -> str:
    """How a call came to be accepted, where it was not understood at once from its sound."""
    how = bodies.text(body, "accepted")
    told = [how] * (how not in ("", "understood")) + ["from paper"] * bool(paper(body))
    return f" ({plain(', '.join(told))})" if told else ""


def remark(body: Json) -> str:
    """Free speech as it was written down, or typed, and what it rests on."""
    said = plain(bodies.text(body, "transcript")) or "no transcript"
    if bodies.clip_of(body):
        return f"{said} (the sound is the remark)"
    return f"{said} (typed, from paper)" if paper(body) else f"{said} (typed)"


def paper(body: Json) -> str:
    """The paper card that a call was typed from, and by whom; "" for none."""
    card = bodies.part(body, "input", "heard", "paper")
    written, typist = bodies.text(card, "written"), bodies.text(card, "typist")
    return plain(f"written {written}, typed in by {typist}") if written else ""


def defect(body: Json) -> str:
    """A discrepancy: what, where, how large, of which class by which scheme."""
    found = bodies.part(body, "discrepancy")
    what, place = bodies.text(found, "defect"), bodies.text(found, "place")
    size = f"{bodies.text(found, 'size')} {bodies.text(found, 'size_unit')}".strip()
    scheme = bodies.text(found, "scheme")
    grade = f"{bodies.text(found, 'grade') or 'no class'} by {scheme}" if scheme else ""
    return ", ".join(one for one in (what, place, size, grade) if one)


def reading(body: Json) -> str:
    """A reading with the limit that it was judged by."""
    found = bodies.part(body, "reading")
    value = f"{bodies.text(found, 'value')} {bodies.text(found, 'unit')}".strip()
    before, guess = bodies.text(found, "before"), bodies.text(found, "estimate")
    told = (
        f"before {before}, added {bodies.text(found, 'added')}" if before else "",
        limit(bodies.part(found, "limit")),
        f"about {guess} by the gas law, an estimate" if guess else "",
    )
    return f"{value} ({'; '.join(one for one in told if one)})" if found else ""


def limit(bounds: Json) -> str:
    """A limit with its reference."""
    low, high = bodies.text(bounds, "low"), bodies.text(bounds, "high")
    if low and high:
        span = f"{low} to {high}"
    elif low or high:
        span = f"at least {low}" if low else f"at most {high}"
    else:
        return "no limit"
    told = f"limit {span} {bodies.text(bounds, 'unit')}".strip()
    reference = bodies.text(bounds, "reference")
    return f"{told}, {reference}" if reference else told


def judgement(body: Json) -> str:
    """Whether a reading is within its limit."""
    within = bodies.part(body, "reading").get("within")
    if not isinstance(within, bool):
        return "not judged"
    return "within limit" if within else "OUT OF LIMIT"


def count(body: Json) -> str:
    """How many were seen of how many."""
    seen, expected = bodies.text(body, "count", "seen"), bodies.text(body, "count", "expected")
    return f"{seen} of {expected}" if expected else seen


def candidates(body: Json) -> str:
    """What an unclear call may have been."""
    given = body.get("candidates")
    words = [bodies.text(one, "words") for one in given] if isinstance(given, list) else []
    return plain(" or ".join(f'"{one}"' for one in words)) or "say again"


def _identity(body: Json) -> str:
    matches = "as begun" if body.get("matches") is True else "NOT the one of this walk"
    return f"{bodies.text(body, 'said')}: {matches}"


def _status(body: Json) -> str:
    was = bodies.text(body, "was")
    lowered = f", LOWERED from {was}" if was else ""
    told = f"{bodies.text(body, 'status')} for #{bodies.number(body, 'entry')}"
    return f"{told}{lowered} (proposed {bodies.text(body, 'proposed')})"


def _acknowledged(body: Json) -> str:
    of = bodies.part(body, "of")
    told = ", ".join(str(of[name]) for name in of if name != "when" and of[name])
    when = date_and_time(bodies.text(of, "when")) if bodies.text(of, "when") else ""
    what = " ".join(part for part in (bodies.text(body, "told"), when) if part)
    return f"{what}: {told} (by {bodies.text(body, 'by')})"


def _confirmation(body: Json) -> str:
    said = bodies.text(body, "said")
    answer = f', second person: "{said}"' if said else ""
    of = f"#{bodies.number(body, 'entry')}, {bodies.text(body, 'entered')}"
    return f"{of}: {bodies.text(body, 'finding')}{answer}"


def inspectors(started: Json, handed_over: Iterable[Entry]) -> str:
    """Who walked, one after the other."""
    others = (f"{bodies.text(entry.body, 'to')} from #{entry.seq}" for entry in handed_over)
    return plain(", ".join([bodies.text(started, "inspector"), *others]))


def telling(entry: Entry) -> tuple[str, str]:
    """What an entry is about and what it says, for a list of all entries."""
    body = entry.body
    kind = bodies.kind(body)
    if kind == bodies.ITEM:
        return plain(bodies.text(body, "name")), f"{result(body)}{accepted(body)}"
    said = {
        bodies.STARTED: f"{bodies.text(body, 'identity')}, {bodies.text(body, 'card', 'title')}",
        bodies.REMARK: bodies.text(body, "transcript"),
        bodies.ASKED_BACK: candidates(body),
        bodies.DISREGARDED: f"#{bodies.number(body, 'entry')} is withdrawn",
        "interrupted": f"for {bodies.number(body, 'gap_ms') / 1000:.0f} s",
        "stood by": f"for more than {bodies.number(body, 'seconds')} s",
        "silent": f"for more than {bodies.number(body, 'seconds')} s",
        bodies.HANDED_OVER: f"by {bodies.text(body, 'by')} to {bodies.text(body, 'to')},"
        f" {bodies.number(body, 'open')} open",
        "acknowledged": _acknowledged(body),
        bodies.CONFIRMATION: _confirmation(body),
        bodies.STATUS: _status(body),
        "identity": _identity(body),
        bodies.CLOSED: "every item has a result",
        "question": bodies.text(body, "question"),
        "command": bodies.text(body, "command"),
        bodies.CLOCK_STEPPED: f"by {bodies.number(body, 'by_ms')} ms",
        "device lost": bodies.text(body, "reason"),
        "device back": _device(body),
        "sound lost": _gap(body),
        bodies.SIGNED: signature_words(body),
        bodies.TIME_STAMPED: f"by {bodies.text(body, 'server')}",
        bodies.REDACTED: f"the sound of #{bodies.number(body, 'entry')} is taken out:"
        f" {bodies.text(body, 'reason')}",
        bodies.RECOVERED: recovery_words(body),
    }
    return plain(kind), plain(said.get(kind, "") or answer_words(body))


def _device(body: Json) -> str:
    """The microphone that is in use from now on; "" where it is not known."""
    device, rate = bodies.text(body, "device"), bodies.number(body, "rate")
    told = f"{device}, {rate} Hz" if device else ""
    return f"another microphone: {told}" if body.get("other") is True else told


def _gap(body: Json) -> str:
    lost = bodies.number(body, "lost_ms")
    return f"{lost / 1000:.1f} s" if lost else "some"
