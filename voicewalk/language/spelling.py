"""The identity of what is inspected, said sign by sign in the spelling alphabet.

Pure. Which further ways to say a sign are understood is a vocabulary's.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence

from voicewalk.language.numbers import PLAIN_DIGITS, SOUND_ALIKE, Words

# ICAO Annex 10 vol. II 5.2.1.3; the same words in SERA.14020, table S14-2.
_ALPHABET = """
    alfa bravo charlie delta echo foxtrot golf hotel india juliett kilo lima mike november
    oscar papa quebec romeo sierra tango uniform victor whiskey x-ray yankee zulu
"""

SIGNS = {word[0]: word for word in _ALPHABET.split()} | {
    str(digit): word for digit, word in enumerate((*PLAIN_DIGITS[:9], "niner"))
}
"""How each letter and digit is read back."""


def signs(identity: str) -> str:
    """The letters and digits of an identity, which alone are said: "M07" of "m-07".

    Letters are upper case, without the marks of other alphabets than the English one.
    """
    plain = unicodedata.normalize("NFKD", identity.casefold())
    return "".join(sign for sign in plain if sign.isalnum()).upper()


def aloud(identity: str) -> str:
    """A tail or vehicle number as it is read back: "mike zero seven" for "M07".

    A letter of another script is left as it is.
    """
    return " ".join(SIGNS.get(sign, sign) for sign in signs(identity).lower())


def near_signs(words: Sequence[str]) -> Iterator[Words]:
    """The words of an identity with one of its digits taken for another, or one sign lost or
    doubled. For which others a letter is taken is left to the listeners."""
    for at, word in enumerate(words):
        head, tail = tuple(words[:at]), tuple(words[at + 1 :])
        for other in SOUND_ALIKE.get(word, ()):
            yield (*head, other, *tail)
        yield (*head, *tail)
        yield (*head, word, word, *tail)
