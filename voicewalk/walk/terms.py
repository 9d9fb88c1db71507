"""The closed lists of a walk's entries: results, how a call was accepted, what is asked. Pure."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

from voicewalk.language.meaning import Meaning
from voicewalk.walk.messages import Json


class Result(StrEnum):
    """The result of an item."""

    SATISFACTORY = "satisfactory"
    DISCREPANCY = "discrepancy"
    NOT_INSPECTED = "not inspected"
    NOT_APPLICABLE = "not applicable"
    OPEN = "open"  # something is known or promised, and the item is not done


class Accepted(StrEnum):
    """How a call came to be accepted."""

    UNDERSTOOD = "understood"
    CONFIRMED = "confirmed"  # asked back, and "affirm" was said
    CHOSEN = "chosen"  # asked back with two readings, and the caller said which
    REPEATED = "repeated"  # asked back, said again, and heard the same again
    TYPED = "typed"


class Ask(StrEnum):
    """What a question asks for."""

    WHICH_SIDE = "which side"
    WHICH_ITEM = "which item"
    UNIT = "unit"
    VALUE = "value"
    REASON = "reason"
    OWNER = "owner"
    STATUS = "status"  # of a discrepancy on the form
    CONFIRM = "confirm"  # an understood call is read back before it is kept
    HEARD = "asked back"  # an unclear call: was it this, or one of these two
    CORRECTION = "correction"
    REMARK = "remark"


class Finding(StrEnum):
    """What the second person's answer came to. Only the first is a confirmation."""

    CONFIRMED = "confirmed"
    DIFFERS = "differs"  # another value or state was said; the item is open again
    NEGATIVE = "negative"  # the item is open again
    NO_ANSWER = "no answer"  # something was said that tells neither, such as "roger"
    UNCLEAR = "not understood"
    SILENCE = "silence"


class Way(StrEnum):
    """In which way an unclear call is asked for."""

    PLAIN = ""
    CHOICE = "first or second"
    DIGITS = "digit by digit"
    DUE = "what is due"


class Utterance(NamedTuple):
    """A meaning and the words it was said in."""

    meaning: Meaning
    words: str

    def to_json(self) -> Json:
        """As the record keeps it."""
        return {"meaning": self.meaning.to_json(), "words": self.words}
