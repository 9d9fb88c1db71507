"""Words each message of ``walk.prompts`` in a language: the text that is spoken.

The texts are in Fluent files beside this module; how names, numbers and units in them are
said is ``aloud``; the sound is ``synthesis``.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fluent.runtime import FluentBundle, FluentResource

from voicewalk.errors import VoicewalkError
from voicewalk.language import spelling
from voicewalk.voice import aloud
from voicewalk.walk.messages import Say
from voicewalk.walk.prompts import PROMPTS

FILES = {"en": "english.ftl", "ko": "korean.ftl"}

_FUNCTIONS: dict[str, Callable[..., Any]] = {
    "ALOUD": aloud.aloud,
    "DIGITS": aloud.digits,
    "UNIT": aloud.unit,
    "SPELLED": spelling.aloud,
    "WHEN": aloud.when,
    "JOINED": lambda names, word: word.join(map(aloud.aloud, names.split(", "))),
    "GIVEN": lambda text: "yes" if text.strip() else "no",
}


class Wording:
    """The messages in one language.

    Args:
        language: BCP 47 tag ("en").

    Raises:
        VoicewalkError: there is no wording for it.
    """

    def __init__(self, language: str) -> None:
        if language not in FILES:
            raise VoicewalkError(
                f"there is no wording for the language '{language}'",
                f"Use a card in one of these: {', '.join(FILES)}.",
            )
        self._bundle = FluentBundle([language], functions=_FUNCTIONS, use_isolating=False)
        text = Path(__file__).with_name(FILES[language]).read_text(encoding="utf-8")
        self._bundle.add_resource(FluentResource(text))

    def text(self, say: Say) -> str:
        """What is spoken for ``say``, on one line.

        Raises:
            RuntimeError: the message is not in the catalogue, or its variables are not those
                that the catalogue names, or one cannot be said.
        """
        if set(say.args) != set(PROMPTS.get(say.prompt, ())) or say.prompt not in PROMPTS:
            raise RuntimeError(f"{say} is not as the catalogue has it")
        pattern = self._bundle.get_message(say.prompt).value
        if pattern is None:
            raise RuntimeError(f"message '{say.prompt}' has no text")
        text, faults = self._bundle.format_pattern(pattern, say.args)
        if faults:
            raise RuntimeError(f"{say} cannot be worded") from faults[0]
        # A text of the card's may end with a full stop of its own.
        return re.sub(r"\.{2,}", ".", " ".join(str(text).split()).replace(" ,", ","))
