"""Everything that goes into the walk machine and everything that comes out of it.

Inputs are facts that happened outside; effects are wishes that the session carries out. Both
are plain frozen data: the same inputs in the same order give the same effects.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from voicewalk.language.meaning import NO_CALL, Expectation, Meaning

Json = dict[str, object]

INSPECTOR, SECOND = "inspector", "second"
"""Who spoke, known by the way that the call came in and never guessed from its words."""


# --- inputs -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Start:
    """Begin a walk. ``identity`` is of the inspected thing (tail number, vehicle number).

    Attributes:
        boot: names the start of the machine that monotonic time counts from; "" for unknown.
        earlier: what earlier records say of the same thing, as ``earlier.Earlier`` writes it.
        second: who confirms what the card marks so, "" for nobody.
        device, rate: name of the microphone, and Hz at which it is open; "" and 0 for none.
    """

    identity: str
    inspector: str
    boot: str = ""
    earlier: Json = field(default_factory=dict)
    second: str = ""
    device: str = ""
    rate: int = 0


@dataclass(frozen=True, slots=True)
class Call:
    """An understood call.

    Attributes:
        words: as heard or typed.
        heard: evidence for the record, JSON-ready (see ``hearing.heard.Heard``): how, clip,
            probability, listeners, versions.
        by: ``INSPECTOR`` or ``SECOND``.
        asked: number of what had been told (``Put``) when the call began; ``None`` where it began
            after all that was told, as what is typed does. It is never recorded as such.
    """

    meaning: Meaning
    words: str
    heard: Json = field(default_factory=dict)
    by: str = INSPECTOR
    asked: int | None = None


@dataclass(frozen=True, slots=True)
class Unclear:
    """A call that needs asking back. ``candidates`` are (meaning, words), best first; empty
    where nothing is worth asking about. ``by`` and ``asked`` as in ``Call``.

    Raises:
        ValueError: a candidate is no call (``meaning.NO_CALL``): confirmed, it would be a result.
    """

    candidates: tuple[tuple[Meaning, str], ...]
    heard: Json = field(default_factory=dict)
    by: str = INSPECTOR
    asked: int | None = None

    def __post_init__(self) -> None:
        if any(meaning.act in NO_CALL for meaning, _ in self.candidates):
            raise ValueError("a candidate to ask about is no call")


@dataclass(frozen=True, slots=True)
class RemarkSpoken:
    """Free speech after the command "remark". ``transcript`` is a help and no evidence."""

    transcript: str
    heard: Json = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Appended:
    """The record has kept the oldest pending entry, under this number."""

    seq: int


@dataclass(frozen=True, slots=True)
class AppendFailed:
    """The record could not keep the oldest pending entry."""

    reason: str


@dataclass(frozen=True, slots=True)
class Spoken:
    """A prompt has been spoken to its end (or dropped because of "stop")."""

    prompt: str


@dataclass(frozen=True, slots=True)
class Tick:
    """A timer that the machine set has run out."""

    timer: str


@dataclass(frozen=True, slots=True)
class Interrupted:
    """The program was stopped and now goes on from its record.

    Attributes:
        gap_ms: since its last entry, by wall time.
        boot: as in ``Start``.
        age_ms: since the walk began, by wall time.
        device, rate: as in ``Start``.
    """

    gap_ms: int
    boot: str = ""
    age_ms: int = 0
    device: str = ""
    rate: int = 0


@dataclass(frozen=True, slots=True)
class ClockStepped:
    """Wall time and monotonic time drifted apart by this much between two entries."""

    by_ms: int


@dataclass(frozen=True, slots=True)
class DeviceLost:
    """The microphone or headset is gone."""

    reason: str


@dataclass(frozen=True, slots=True)
class DeviceBack:
    """It is there again, or another one in its place.

    Attributes:
        device, rate: as in ``Start``, of the microphone; "" and 0 for the headset's ear piece.
    """

    device: str = ""
    rate: int = 0


@dataclass(frozen=True, slots=True)
class SoundLost:
    """Some of the sound went missing while the microphone was there: what was said in it was not
    heard.

    Attributes:
        lost_ms: how much; 0 where nobody knows.
        before: number of the sample that follows the gap, the last one of them where there were
            several; samples are counted as for clips.
    """

    lost_ms: int
    before: int


Input = (
    Start
    | Call
    | Unclear
    | RemarkSpoken
    | Appended
    | AppendFailed
    | Spoken
    | Tick
    | Interrupted
    | ClockStepped
    | DeviceLost
    | DeviceBack
    | SoundLost
)

# --- effects ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Say:
    """Speak a message. ``prompt`` names it in the wording file of ``voice``; ``args`` are
    its variables, already plain strings (numbers as decimal strings, names as on the card)."""

    prompt: str
    args: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Append:
    """Keep an entry. ``body`` is JSON-ready: strings, booleans, integers, lists, objects.

    ``body["kind"]`` names the entry and ``body["input"]`` holds the input that caused it, so
    that a record can be played into a fresh machine and must reproduce itself.
    """

    body: Json


@dataclass(frozen=True, slots=True)
class Put:
    """What is asked of a person just now, and all else that an answer of theirs may refer to.

    Attributes:
        number: another one for whatever is asked anew; 0 for nothing yet.
        says: it is told once any of these has been put to the loudspeaker, or shown where there
            is none; at once where there are none.
    """

    number: int = 0
    says: tuple[Say, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Listen:
    """What would be understood from now on. ``remark`` asks for free speech instead.
    ``second`` is what the second person is asked for, ``None`` for nothing. ``put`` is what the
    inspector's answers may refer to, ``second_put`` the second person's."""

    expectation: Expectation
    remark: bool = False
    second: Expectation | None = None
    put: Put = Put()
    second_put: Put = Put()


@dataclass(frozen=True, slots=True)
class SetTimer:
    """Send ``Tick(timer)`` after ``seconds``, unless the same timer is set anew."""

    timer: str
    seconds: float


@dataclass(frozen=True, slots=True)
class Finished:
    """The walk is closed; the session ends."""


Effect = Say | Append | Listen | SetTimer | Finished
