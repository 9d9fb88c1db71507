"""Sets pages from plain data: PDF/A-2b (ISO 19005-2), the same bytes for the same data.

The templates lie beside this module as ``.typ`` files; data reaches them as values, so that no
text in it is ever markup. What stands on the pages is told by who makes the data. Only the fonts
that the typesetter carries are used, and those of the machine for signs that they lack.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path
from typing import Final

import typst

from voicewalk.errors import VoicewalkError

_FOLDER = Path(__file__).resolve().parent
_STANDARD: Final = "a-2b"
_UNSHOWN = re.compile(r'the text `"(.*?)"` could not be displayed', re.DOTALL)
_ESCAPED = re.compile(r"\\u\{([0-9a-f]+)\}")
_SYLLABLE = "HANGUL SYLLABLE "

NO_FONT = (
    "There is no font here for some signs: they are written in brackets, in Latin letters or by"
    " their Unicode numbers."
)
"""Stands on the pages, as ``unshown`` of the data, where it is so."""


class Template(StrEnum):
    """The pages that there are."""

    SUMMARY = "summary.typ"
    CARD = "card.typ"


def typeset(template: Template, data: Mapping[str, object], made: int) -> bytes:
    """The pages as a PDF.

    Args:
        data: what JSON can hold; every text is shown as itself. A sign that no font can show is
            written in brackets, and the pages say so.
        made: seconds since 1970 that the file says it was made at.

    Raises:
        VoicewalkError: the pages cannot be set.
    """
    for fonts_here in (False, True):
        pdf, missing = _set(template, {**data, "unshown": ""}, made, fonts_here)
        if pdf is not None:
            return pdf
    lacking: set[str] = set()
    while missing - lacking:
        lacking |= missing
        shown = _shown({**data, "unshown": NO_FONT}, lacking)
        pdf, missing = _set(template, shown, made, True)
        if pdf is not None:
            return pdf
    raise VoicewalkError(
        f"no font shows {', '.join(sorted(missing))}", "Write the record as text instead."
    )


def _set(
    template: Template, data: object, made: int, fonts_here: bool
) -> tuple[bytes | None, set[str]]:
    """The PDF, or the signs for want of which there is none."""
    try:
        pdf = typst.compile(
            _FOLDER / template.value,
            root=_FOLDER,
            format="pdf",
            ignore_system_fonts=not fonts_here,
            sys_inputs={"data": json.dumps(data)},
            pdf_standards=_STANDARD,
            timestamp=made,
        )
    except typst.TypstError as error:
        missing = _missing(error.diagnostic)
        if not missing:
            raise VoicewalkError(
                f"the pages cannot be set: {error.message}", "Write the record as text instead."
            ) from error
        return None, missing
    assert isinstance(pdf, bytes)
    return pdf, set()


def _missing(diagnostic: str) -> set[str]:
    """The signs that a typesetter's message complains of."""
    texts = "".join(_UNSHOWN.findall(diagnostic))
    return set(_ESCAPED.sub(lambda found: chr(int(found[1], 16)), texts))


def _shown(data: object, missing: set[str]) -> object:
    """The data with all its texts ``spelled``."""
    if isinstance(data, str):
        return spelled(data, missing)
    if isinstance(data, Mapping):
        return {key: _shown(value, missing) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_shown(value, missing) for value in data]
    return data


def spelled(text: str, missing: set[str]) -> str:
    """The text with each run of missing signs in brackets: a Korean syllable by the letters of
    its Unicode name, anything else by its number."""
    run = re.compile(f"[{re.escape(''.join(sorted(missing)))}]+")
    return run.sub(lambda found: f"[{'-'.join(map(_spelled, found[0]))}]", text)


def _spelled(sign: str) -> str:
    name = unicodedata.name(sign, "")
    if name.startswith(_SYLLABLE):
        return name.removeprefix(_SYLLABLE).lower()
    return f"U+{ord(sign):04X}"
