"""A session without microphone, headset and file: it talks to a walk and writes the talk down.

Transcripts read so:
    > what comes in      (see ``given``)
    + what is kept       number, kind, fields that matter
    " what is said       message | its variables in the catalogue's order
    ! the end
"""

from __future__ import annotations

import copy
from dataclasses import replace

from walk_cards import EARLIER, READ_BEFORE, SHIFTS_READ

from voicewalk.card.model import Card
from voicewalk.language.meaning import Act, Command, Meaning
from voicewalk.settings import WalkSettings
from voicewalk.walk.earlier import Earlier
from voicewalk.walk.early import EARLY
from voicewalk.walk.machine import APPEND_TIMER, Walk
from voicewalk.walk.memory import WalkState
from voicewalk.walk.messages import (
    SECOND,
    Append,
    Appended,
    AppendFailed,
    Call,
    ClockStepped,
    DeviceBack,
    DeviceLost,
    Effect,
    Finished,
    Input,
    Interrupted,
    Json,
    Listen,
    RemarkSpoken,
    Say,
    SetTimer,
    SoundLost,
    Spoken,
    Start,
    Tick,
    Unclear,
)
from voicewalk.walk.prompts import PROMPTS
from voicewalk.walk.replay import replay
from voicewalk.walk.table import Cue, cue_of

SETTINGS = WalkSettings()
COMMANDS = {command.value for command in Command}


class Booth:
    """Answers the walk as a session would, at once and in order."""

    def __init__(self, card: Card) -> None:
        self.card = card
        self.walk = Walk(card, SETTINGS)
        self.record: list[tuple[int, Json]] = []
        self.talk: list[str] = []
        self.moves: set[tuple[WalkState, Cue, WalkState]] = set()  # (from, by, to)
        self.timer = self.stand_by = self.silent = self.second_timer = ""
        self.listen: Listen | None = None
        self.fails = False  # the record cannot keep anything
        self.holds = False  # the record has not answered yet
        self.keeps_one = False  # the next entry, and then it does not answer
        self.held: list[Append] = []

    def hear(self, line: str) -> None:
        """One incoming line of a transcript."""
        self.talk.append(f"> {line}")
        match line.split():
            case ["record", "fails"]:
                self.fails = True
            case ["record", "works"]:
                self.fails = False
                self.receive(Tick(APPEND_TIMER))
            case ["record", "waits"]:
                self.holds = True
            case ["record", "keeps", "one", "more"]:
                self.keeps_one = True
            case ["record", "answers"]:
                self.holds = False
                held, self.held = self.held, []
                self.effects(tuple(held))
            case ["program", "stops"]:
                self.walk = replay(self.card, self.record, SETTINGS)
                self.held = []
                self.holds = self.fails = False
            case ["stand", "by", "too", "long"]:
                self.receive(Tick(self.stand_by))
            case ["silent", "too", "long"]:
                self.receive(Tick(self.silent))
            case ["second", "silence"]:
                self.receive(Tick(self.second_timer))
            case ["silence"]:
                self.receive(Tick(self.timer))
            case _:
                self.receive(given(line))

    def receive(self, given: Input) -> None:
        before, cue = self.walk.memory, None
        if not isinstance(given, Appended | AppendFailed | Spoken):
            cue = cue_of(before, given)
        self.effects(self.walk.receive(given))
        if cue is not None and not self.walk.view().waiting:
            self.moves.add((before.state, cue, self.walk.memory.state))

    def effects(self, effects: tuple[Effect, ...]) -> None:
        for effect in effects:
            match effect:
                case Say():
                    self.talk.append(f'" {spoken(effect)}')
                case Listen():
                    self.listen = effect
                case SetTimer(timer) if timer.startswith("stand-by"):
                    self.stand_by = timer
                case SetTimer(timer) if timer.startswith("silence"):
                    self.silent = timer
                case SetTimer(timer) if timer.startswith("second-"):
                    self.second_timer = timer
                case SetTimer(timer) if timer != APPEND_TIMER:
                    self.timer = timer
                case Finished():
                    self.talk.append("! finished")
                case Append() if self.holds:
                    self.held.append(effect)
                case Append() if self.fails:
                    self.receive(AppendFailed("disk full"))
                case Append():
                    self.holds, self.keeps_one = self.keeps_one, False
                    self.keep(effect)

    def keep(self, append: Append) -> None:
        seq = len(self.record) + 1
        self.record.append((seq, copy.deepcopy(append.body)))
        self.talk.append(f"+ {seq} {kept(append.body)}")
        self.receive(Appended(seq))


def run(card: Card, transcript: str) -> Booth:
    """A booth that has started, after the incoming lines of ``transcript``.

    Cards of shifts have earlier records, and their talk begins with what is told of those.
    """
    booth = Booth(card)
    after = READ_BEFORE if card == SHIFTS_READ else EARLIER if card.id == "shifts" else Earlier()
    second = "second B" if card.second else ""
    device = "Headset" if "> device back " in transcript else ""
    booth.receive(Start("EX-1", "inspector A", "", after.to_json(), second, device))
    if after != EARLIER:
        booth.talk.clear()
    for line in transcript.strip().splitlines():
        if line.startswith("> "):
            booth.hear(line.removeprefix("> ").strip())
    return booth


# --- incoming lines ------------------------------------------------------------------------


def given(line: str) -> Input:
    """``item: result``, ``@group: result``, ``: result``; "left"; a command; and

    - ``both @group: result``; "both"
    - ``item: talk``, ``item: mixed``: what comes near a call
    - ``count removed 3``, ``count fitted by ramp 3``, ``has it ramp``, ``vague done``
    - "first", "second"; ``identity EX1``, ``identity EX1 at 12`` dB, ``... at 40 quiet``
    - ``? a | b``: an unclear call with its candidates; ``typed ? a`` by keyboard
    - ``: reading 221 (two twenty one)``: the words that were heard
    - ``remark> words``: free speech
    - ``clock 5000``, ``interrupted 240000``, ``device lost``, ``device back``, ``device back Desk``
    - ``sound lost 8000``
    - ``typed ...``: the same by keyboard; ``second> ...``: the same by the second person
    - ``roger``
    - ``early> ...``: the same, begun before what is asked now was told
    """
    match line.split():
        case ["typed", "?", *_]:
            return replace(given(line.removeprefix("typed ")), heard={"how": "typed"})
        case ["second>" | "early>" as mark, *_]:
            call = given(line.removeprefix(f"{mark} "))
            early = {EARLY: True} if mark == "early>" else {}
            by = SECOND if mark == "second>" else call.by
            return replace(call, by=by, heard={**call.heard, **early})
        case ["typed", *_]:
            return Call(meaning(line.removeprefix("typed ")), line, {"how": "typed"})
        case ["clock", by]:
            return ClockStepped(int(by))
        case ["interrupted", gap, *aged]:
            return Interrupted(int(gap), age_ms=int(aged[1]) if aged else 0)
        case ["device", "lost"]:
            return DeviceLost("unplugged")
        case ["device", "back", *name]:
            return DeviceBack(" ".join(name), 16000 if name else 0)
        case ["sound", "lost", ms]:
            return SoundLost(int(ms), 16_000)
        case ["identity", *signs]:
            said, _, noise = " ".join(signs).partition(" at ")
            snr, _, more = noise.partition(" ")
            level = {"quiet": "-60"}.get(more, "-20")
            sound = {"snr_db": snr, "level_dbfs": level, "notes": [more] if more else []}
            heard = {"how": "sound", "clip": "ab", "sound": sound}
            return Call(Meaning(Act.IDENTITY, value=said), line, heard)
        case ["remark>", *words]:
            return RemarkSpoken(" ".join(words), {"how": "sound", "clip": "aa"})
        case ["?", *_]:
            texts = [text.strip() for text in line.removeprefix("?").split("|") if text.strip()]
            return Unclear(tuple((meaning(text), text) for text in texts), {"how": "sound"})
    said, _, words = line.removesuffix(")").partition(" (")
    return Call(meaning(said), words or line, {"how": "sound", "clip": "ab"})


def meaning(text: str) -> Meaning:
    """What a line of the shorthand means."""
    if text.startswith("correction, "):
        said = meaning(text.removeprefix("correction, "))
        return Meaning(**{**_fields(said), "corrects": True})
    if text in COMMANDS:
        return Meaning(Act.COMMAND, command=text)
    if text in ("left", "right", "both"):
        return Meaning(Act.SIDE, side=text)
    if text == "roger":
        return Meaning(Act.ACKNOWLEDGED, state=text)
    if text in ("first", "second"):
        return Meaning(Act.CHOICE, choice=text)
    name, _, result = text.partition(":")
    of = {"group": name[1:]} if name.startswith("@") else {"item": name}
    if name.startswith("both @"):
        of = {"group": name.removeprefix("both @"), "side": "both"}
    return Meaning(**{**_result(result.split()), **of})


def _fields(said: Meaning) -> dict[str, object]:
    return {name: getattr(said, name) for name in Meaning.__dataclass_fields__}


def _result(words: list[str]) -> dict[str, object]:
    match words:
        case []:
            return {"act": Act.ITEM}
        case ["satisfactory" | "talk" | "mixed" as act]:
            return {"act": Act(act)}
        case ["not", "applicable"]:
            return {"act": Act.NOT_APPLICABLE}
        case ["not", "inspected", *reason]:
            return {"act": Act.NOT_INSPECTED, "reason": " ".join(reason)}
        case ["count", *counted, seen]:
            state, _, owner = " ".join(counted).partition(" by ")
            return {"act": Act.COUNT, "state": state, "value": seen, "owner": owner}
        case ["has", "it", *owner]:
            return {"act": Act.PROMISED, "owner": " ".join(owner)}
        case ["vague" | "status" as act, *words]:
            return {"act": Act(act), "state": " ".join(words)}
        case ["state", *state]:
            return {"act": Act.STATE, "state": " ".join(state)}
        case ["quantity", state, value, *unit]:
            return {"act": Act.READING, "state": state, "value": value, "unit": " ".join(unit)}
        case ["reading", value, *unit]:
            return {"act": Act.READING, "value": value, "unit": " ".join(unit)}
        case ["defect", defect, *where]:
            return {"act": Act.DISCREPANCY, "defect": defect, **_where(where)}
    raise ValueError(f"unknown shorthand: {words}")


def _where(words: list[str]) -> dict[str, str]:
    match words:
        case ["size", size, unit, *place]:
            return {"size": size, "size_unit": unit, "place": " ".join(place)}
    return {"place": " ".join(words)}


# --- outgoing lines ------------------------------------------------------------------------


def spoken(say: Say) -> str:
    """A message with its variables in the catalogue's order; both must fit."""
    assert set(say.args) == set(PROMPTS[say.prompt]), say
    return " | ".join([say.prompt, *(say.args[name] for name in PROMPTS[say.prompt])]).rstrip()


def kept(body: Json) -> str:
    """The kind and the fields of an entry, but for those that the tests of bodies look at."""
    left_out = ("kind", "input", "name", "station", "call")
    facts = {name: value for name, value in body.items() if name not in left_out}
    if facts.get("accepted") == "understood":
        del facts["accepted"]
    return " ".join([body["kind"], *(f"{name}={_brief(value)}" for name, value in facts.items())])


def _brief(value: object) -> str:
    match value:
        case {"meaning": _, "words": words}:
            return f"'{words}'"
        case {"spoken": _, "value": number, "unit": unit, **judged}:
            within = {True: " within", False: " outside", None: ""}[judged.get("within")]
            return f"'{number} {unit}{within}'"
        case dict():
            return f"'{' '.join(str(one) for one in value.values())}'"
        case list():
            return f"[{', '.join(_brief(one) for one in value)}]"
        case str() if " " in value or not value:
            return f"'{value}'"
    return str(value)
