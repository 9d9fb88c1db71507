"""What follows from an interruption: which identity is asked for, and what is done again.

Pure. Only a card that names its rule (``after_interruption``) asks. The identity is asked for and
never told before: whoever stands at another aircraft would only repeat it.
"""

from __future__ import annotations

from voicewalk.card.model import GoBack
from voicewalk.walk import balance, commands, handover, whereabouts
from voicewalk.walk.entries import Entry
from voicewalk.walk.handlers import Said, Step
from voicewalk.walk.memory import Memory
from voicewalk.walk.messages import Call, Json, Say, Tick, Unclear
from voicewalk.walk.turns import FellSilent, Identified, StoodBy, signs

STEPS_BACK = 3
"""FAA aviation maintenance technician handbook, chapter 14: after a distraction go back three
steps (second-hand, a verbatim quote)."""


def going_on(memory: Memory, said: Said) -> Step:
    """The command is kept as such; after an interruption the identity is asked for first."""
    return ask_identity(memory, said) if memory.identify else commands.plain_command(memory, said)


def ask_identity(memory: Memory, given: object) -> Step:
    """The identity that is waited for is asked for again; else nothing is said. Where noise or the
    microphone may be why it was not understood, that is told first: in a loud place asking again
    helps nobody."""
    says = whereabouts.awaited(memory)
    how = _hearing(memory, given.heard) if says and isinstance(given, Unclear) else ""
    return Step(say=says if how in ("", "good") else (Say("hearing", {"heard": how}), *says))


def identity(memory: Memory, said: Said) -> Step:
    """The walk goes on where it is that of this walk, sign by sign; or another inspector has
    been named."""
    if memory.handing:
        return handover.successor(memory, said)
    if not memory.identify:
        return Step()
    sound = said.cause.heard if isinstance(said.cause, Call) else {}
    heard, how = said.meaning.value, _hearing(memory, sound)
    if signs(heard) != signs(memory.identity):
        return said.of(Identified(heard, matches=False, hearing=how))
    called = _called(memory)
    again = _again(memory, called)
    return said.of(Identified(heard, True, next(iter(called), ""), again, how))


def stood_by(memory: Memory, given: Tick) -> Step:
    """Standing by has become an interruption, which is kept."""
    return Step((Entry(StoodBy(memory.card.stand_by_seconds or 0), given),))


def silent(memory: Memory, given: Tick) -> Step:
    """Saying nothing has become one."""
    return Step((Entry(FellSilent(memory.card.silent_seconds or 0), given),))


def _hearing(memory: Memory, heard: Json) -> str:
    """How well calls will be heard here, by the sound of the identity: its level, whether it was
    clipped, and how far the noise lay below it; "" where it was typed."""
    sound, settings = heard.get("sound"), memory.settings
    if not isinstance(sound, dict) or not sound.get("snr_db"):
        return ""
    snr, level = (int(str(sound.get(name, "0"))) for name in ("snr_db", "level_dbfs"))
    if "clipped" in (sound.get("notes") or ()):
        return "clipped"
    if level < settings.quiet_dbfs:
        return "quiet"
    return (
        "good" if snr >= settings.fair_snr_db else "fair" if snr >= settings.poor_snr_db else "poor"
    )


def _called(memory: Memory) -> tuple[str, ...]:
    """The items that have a result or something known of them, the one called last first.

    Those opened again are among them: a second interruption goes no further back.
    """
    last = {item: kept[-1].seq for item, kept in memory.ledger.standing.items() if kept}
    return tuple(sorted(last, key=last.__getitem__, reverse=True))


def _again(memory: Memory, called: tuple[str, ...]) -> tuple[str, ...]:
    """Ids of the closed items that are to be done again, in card order."""
    match memory.card.after_interruption:
        case GoBack.STATION:
            here = memory.item(called[0]).station if called else ""
            some = {item.id for item in memory.card if item.station == here}
        case GoBack.THREE:
            some = set(called[:STEPS_BACK])
        case _:
            some = set()
    some |= set(balance.shaken(memory.card, memory.ledger, some))
    return tuple(i for i in memory.card.by_id if i in some and not memory.ledger.is_open(i))
